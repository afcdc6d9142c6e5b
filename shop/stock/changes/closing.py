"""A tray is closed, opened again, parked, or given up.

Once it is closed what lies in it is out of its bins; opened again, what is not fitted is back
in them by the figures, and kept for it.
"""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from shop.stock.answers.lots import held_words
from shop.stock.changes.balance import OutOfStep, held_tray, move
from shop.stock.changes.trays import UNCHECKED, give_back, lots_of
from shop.stock.models import Lot, Tray, TrayLine


def close_tray(tray_id: int, by: int, at: datetime) -> Tray:
    """Close the tray: what lies in it leaves the shelf, once.

    Raises ``OutOfStep`` when lines are still to pick or to check, it is closed already, or a
    bin holds less than the tray took.
    """
    with transaction.atomic():
        tray = held_tray(tray_id)
        if tray.state == "closed":
            raise OutOfStep(f"Tray of {tray.serial} is closed already; stock went down then.")
        lots = lots_of(tray.lines.all())
        lines = list(tray.lines.select_related("item", "put_in"))
        if left := [line.item.key for line in lines if line.state == "open"]:
            raise OutOfStep(f"Still to pick: {', '.join(left)}. Take them or mark them short.")
        if unchecked := [line.item.key for line in lines if to_check(line)]:
            raise OutOfStep(f"Still to check: {', '.join(unchecked)}. Scan or count each.")
        # All reservations first: a line may have been filled from what another line kept.
        for line in lines:
            if line.reserved and line.reserved_lot_id:
                give_back(tray, line, lots[line.reserved_lot_id], by, at)
        for line in lines:
            _deduct(tray, line, lots, by, at)
        _close(tray, by, at)
    return tray


def to_check(line: TrayLine) -> bool:
    """Whether the line lies in the tray and nobody checked it since it was put in."""
    return line.state == "taken" and not line.checked_how and not (line.fitted or line.returned)


def open_tray(tray_id: int, by: int, at: datetime) -> Tray:
    """Open a closed tray again: a line that was short follows, or one is exchanged. What is
    not fitted yet is in its bin again by the figures, and kept for this tray.

    Raises ``OutOfStep`` when it is open, or was given up.
    """
    with transaction.atomic():
        tray = held_tray(tray_id)
        if tray.state != "closed":
            raise OutOfStep(f"Tray of {tray.serial} is open already.")
        lots = lots_of(tray.lines.all())
        lines = list(tray.lines.select_related("item"))
        for line in lines:
            if line.state != "taken" or line.lot_id is None:
                continue
            if rest := line.quantity - line.fitted - line.returned:
                lot = lots[line.lot_id]
                move(lot, "returned", on_hand=rest, out=-rest, at=at, tray=tray, line=line, by=by)
                own = line if rest == line.quantity else _rest_of(line, rest)
                move(lot, "reserved", reserved=rest, at=at, tray=tray, line=own, by=by)
                own.reserved, own.reserved_lot = rest, lot
                own.save(update_fields=["reserved", "reserved_lot"])
        # It is in no wave any more: what follows may be picked in another.
        tray.lines.filter(state__in=("open", "short")).update(walk=None)
        tray.state, tray.closed_at, tray.closed_by_id, tray.wave = "picked", None, None, None
        tray.version += 1
        tray.save(update_fields=["state", "closed_at", "closed_by", "version", "wave"])
    return tray


def _rest_of(line: TrayLine, rest: int) -> TrayLine:
    """A line of its own for what still lies there of one that was fitted or returned in part,
    so that it can be taken out, exchanged or closed again like any other."""
    parts = TrayLine.objects.filter(tray=line.tray_id, item=line.item_id)
    last = parts.order_by("-part").values_list("part", flat=True).first() or 1
    line.quantity -= rest
    line.save(update_fields=["quantity"])
    return TrayLine.objects.create(
        tray_id=line.tray_id, item_id=line.item_id, part=last + 1, quantity=rest,
        used_at=line.used_at, state="taken", put_in_id=line.put_in_id, lot_id=line.lot_id,
        checked_how=line.checked_how, checked_count=rest, checked_by_id=line.checked_by_id,
        checked_at=line.checked_at, second_lot_by_id=line.second_lot_by_id,
        second_lot_why=line.second_lot_why,
    )  # fmt: skip


def give_up_tray(tray_id: int, by: int, at: datetime) -> Tray:
    """Give up a tray whose instrument is not built any more: nothing lies in it, nothing is
    kept for it, and it is closed so. What was picked never left the count of its bin.

    Raises ``OutOfStep`` when it is closed already.
    """
    with transaction.atomic():
        tray = held_tray(tray_id)
        if tray.state == "closed":
            raise OutOfStep(f"Tray of {tray.serial} is closed already; stock went down then.")
        lots = lots_of(tray.lines.all())
        lines = list(tray.lines.select_related("item"))
        for line in lines:
            if line.reserved and line.reserved_lot_id:
                give_back(tray, line, lots[line.reserved_lot_id], by, at)
        nothing: dict[str, None] = dict.fromkeys(("put_in", "lot", "left_counted", "right_counted"))
        tray.lines.filter(fitted=0, returned=0).update(state="short", **nothing, **UNCHECKED)
        _close(tray, by, at)
    return tray


def park_tray(tray_id: int, slot: str) -> None:
    """Note the numbered slot of the rack where the tray stands. Raises ``OutOfStep``."""
    place = slot.strip().upper()
    if len(place) > 6:
        raise OutOfStep(f"{place} is no slot of the rack: 6 letters or digits at most.")
    Tray.objects.filter(pk=tray_id).update(slot=place)


def _close(tray: Tray, by: int, at: datetime) -> None:
    tray.state, tray.closed_at, tray.closed_by_id = "closed", at, by
    tray.version += 1
    tray.save(update_fields=["state", "closed_at", "closed_by", "version"])


def _deduct(tray: Tray, line: TrayLine, lots: dict[int, Lot], by: int, at: datetime) -> None:
    """Deduct what was really put in and is not fitted already."""
    rest = line.quantity - line.fitted - line.returned
    if line.state != "taken" or not rest:
        return
    if line.lot_id is None:
        raise OutOfStep(
            f"No bin holds {line.quantity} of {line.put_in}. Count the bin, or mark it short."
        )
    lot = lots[line.lot_id]
    if lot.held:
        raise OutOfStep(f"{held_words(lot.code, lot.held)} Take another lot, or mark it short.")
    if lot.on_hand - lot.reserved < rest:
        raise OutOfStep(
            f"{lot}: {lot.on_hand} on hand, {lot.reserved} reserved for others, "
            f"{rest} wanted. Count the bin, or mark the line short."
        )
    move(lot, "deducted", on_hand=-rest, out=rest, at=at, tray=tray, line=line, by=by)
