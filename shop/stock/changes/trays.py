"""A tray from its asking to its check: kept for it, put in, checked.

What becomes of it then is in ``closing`` and ``fitting``.
"""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction
from django.db.models import F, Max, QuerySet

from shop.catalogue import book
from shop.craft.code import Kind, mint
from shop.craft.lots import Need, choose
from shop.stock.answers.lots import held_words
from shop.stock.changes.balance import (
    OutOfStep,
    facts,
    held_items,
    held_lot,
    held_lots,
    held_tray,
    held_trays,
    move,
    reason,
    to_pick_from,
)
from shop.stock.models import Lot, Tray, TrayLine

PUT_IN = (
    "state", "put_in", "left_counted", "right_counted", "lot",
    "checked_how", "checked_count", "checked_by", "checked_at",
)  # fmt: skip
UNCHECKED = {"checked_how": "", "checked_count": None, "checked_by": None, "checked_at": None}


@dataclass(frozen=True, slots=True)
class Ask:
    """One line a tray is to hold. ``used_at``: the operation that fits it."""

    item_id: int
    quantity: int
    used_at: str = ""


@dataclass(frozen=True, slots=True)
class PutIn:
    """What the clerk put in for one line. ``item_id`` None: the bin was short.

    ``lot_id``: the lot that was scanned; without one it is the lot that covers the line.
    """

    line_id: int
    item_id: int | None
    left_counted: int | None = None
    right_counted: int | None = None
    lot_id: int | None = None


def ask_tray(
    serial: str,
    revision_id: int,
    wanted_on: date,
    asks: Sequence[Ask],
    by: int | None,
    at: datetime,
    urgent: bool = False,
) -> Tray:
    """A tray for one instrument; reserves what is free, plated parts out of one plating lot.

    What is not free stays visible as short.
    """
    with transaction.atomic():
        tray = Tray.objects.create(
            code=_fresh_code(),
            serial=serial,
            revision_id=revision_id,
            wanted_on=wanted_on,
            asked_at=at,
            urgent=urgent,
        )
        lines = [
            TrayLine.objects.create(
                tray=tray, item_id=ask.item_id, quantity=ask.quantity, used_at=ask.used_at
            )
            for ask in asks
        ]
        reserve(tray, lines, by, at)
    return tray


def reserve(tray: Tray, lines: Sequence[TrayLine], by: int | None, at: datetime) -> None:
    """Keep what is free for these lines of one tray, each whole and out of one lot."""
    items = [line.item_id for line in lines]
    articles = book.articles(items)
    lots = to_pick_from(items)
    needs = [Need(one.item_id, one.quantity, articles[one.item_id].metal) for one in lines]
    chosen = choose(needs, [facts(lot) for lot in lots.values()])
    for line in lines:
        found = chosen[line.item_id]
        if found is None:
            continue
        lot = lots[found.id]
        if lot.on_hand - lot.reserved < line.quantity:
            continue  # another line of this tray took the last of it
        move(lot, "reserved", reserved=line.quantity, at=at, tray=tray, line=line, by=by)
        line.reserved, line.reserved_lot = line.quantity, lot
        line.save(update_fields=["reserved", "reserved_lot"])


def let_go(line_ids: Sequence[int], by: int | None, at: datetime, why: str) -> None:
    """Give up what is kept for these lines, so that others can have it: they are short again.

    What already lies in a tray is not let go. Raises ``OutOfStep`` then.
    """
    with transaction.atomic():
        rows = TrayLine.objects.filter(pk__in=line_ids)
        held_trays(list(rows.values_list("tray_id", flat=True)))
        lots = lots_of(rows)
        for line in rows.select_related("tray", "item"):
            if line.state == "taken":
                raise OutOfStep(
                    f"{line.item.key} lies in the tray of {line.tray.serial} already. "
                    "Take it out there first."
                )
            if line.reserved and line.reserved_lot_id:
                lot = lots[line.reserved_lot_id]
                give_back(line.tray, line, lot, by, at, why)


def put_in(tray_id: int, picks: Sequence[PutIn]) -> Tray:
    """Note what the clerk put into the tray, or could not. Stock moves at close, not here.

    Raises ``OutOfStep`` when the tray is closed, a line is not its own, the lot named is held
    or of another item, or a second plating lot would go in that nobody accepted.
    """
    with transaction.atomic():
        tray = _open_tray(tray_id)
        lines = {
            line.pk: line
            for line in tray.lines.select_related("item", "put_in", "lot", "reserved_lot")
        }
        for pick in picks:
            if pick.line_id not in lines:
                raise OutOfStep(f"Line {pick.line_id} is not a line of the tray of {tray.serial}.")
            line = lines[pick.line_id]
            if line.fitted or line.returned:
                raise OutOfStep(f"{line.item.key} of {tray.serial} is fitted or returned already.")
            lot = None if pick.item_id is None else _lot_for(line, pick.item_id, pick.lot_id)
            line.state = "short" if pick.item_id is None else "taken"
            line.put_in_id = pick.item_id
            line.left_counted, line.right_counted = pick.left_counted, pick.right_counted
            line.lot = lot
            for name, value in UNCHECKED.items():
                setattr(line, name, value)
            line.save(update_fields=PUT_IN)
        _of_one_bath(list(lines.values()), {pick.line_id for pick in picks})
        _changed(tray)
    return tray


def _of_one_bath(lines: Sequence[TrayLine], just_in: set[int]) -> None:
    """Plated parts that show come from one plating lot, unless a second was accepted (R27)."""
    taken = [
        line
        for line in lines
        if line.state == "taken" and line.lot is not None and line.quantity > line.returned
    ]
    articles = book.articles([line.put_in_id for line in taken if line.put_in_id])
    for line in taken:
        if line.pk not in just_in or line.second_lot_by_id or line.lot is None:
            continue
        metal = articles[line.put_in_id or 0].metal
        for other in taken:
            if metal is None or other.lot is None or other.second_lot_by_id:
                continue
            bath, its = plating_of(line.lot), plating_of(other.lot)
            if articles[other.put_in_id or 0].metal is metal and bath != its:
                raise OutOfStep(
                    f"Plating lot {bath}, but {articles[other.put_in_id or 0].key} in this tray "
                    f"is of {its}: two shades of {metal.value}. Take {its}, or ask the lead to "
                    "accept a second lot."
                )


def plating_of(lot: Lot) -> str:
    """The bath a lot was plated in: its own code, where no plating lot is told."""
    return lot.plating or lot.code


def accept_second_lot(line_id: int, why: str, by: int, at: datetime) -> None:
    """A second plating lot may go in for this line. Raises ``OutOfStep`` without a reason, or
    where the tray is closed."""
    with transaction.atomic():
        line = _line(line_id)
        line.second_lot_why = reason(why, "a second plating lot is accepted")[:120]
        line.second_lot_by_id = by
        line.save(update_fields=["second_lot_by", "second_lot_why"])


def split_line(line_id: int, first: int, by: int, at: datetime) -> int:
    """Fill one line out of two lots: it keeps ``first`` of its quantity, a new line takes the
    rest. Returns the new line's id. Raises ``OutOfStep`` where there is nothing to split."""
    with transaction.atomic():
        line = _line(line_id)
        rest = line.quantity - first
        if first < 1 or rest < 1:
            raise OutOfStep(f"{line.quantity} of {line.item.key}: {first} is no part of it.")
        if line.state == "taken":
            raise OutOfStep(f"{line.item.key} lies in the tray already. Take it out first.")
        if line.reserved and line.reserved_lot_id:
            lot = held_lot(line.reserved_lot_id)
            give_back(line.tray, line, lot, by, at, "filled out of two lots")
        parts = TrayLine.objects.filter(tray=line.tray_id, item=line.item_id)
        last = parts.order_by("-part").values_list("part", flat=True).first() or 1
        line.quantity, line.state = first, "open"
        line.save(update_fields=["quantity", "state"])
        more = TrayLine.objects.create(
            tray=line.tray, item=line.item, part=last + 1, quantity=rest,
            used_at=line.used_at, walk=line.walk,
        )  # fmt: skip
        reserve(line.tray, [line], by, at)
        reserve(line.tray, [more], by, at)
        _changed(line.tray)
    return more.pk


def swap_line(tray_id: int, out_id: int, in_id: int, by: int, at: datetime) -> None:
    """The tray is to hold another item than it was asked for: what was kept of the one is
    free, and of the other as much is kept as is free. A closed tray is left as it is.

    Raises ``OutOfStep`` where the one lies in it already.
    """
    with transaction.atomic():
        tray = _open_tray(tray_id)
        held_items([out_id, in_id])
        # What came back whole is no part of this tray any more.
        rows = tray.lines.filter(item_id=out_id).exclude(state="taken", returned=F("quantity"))
        lines = list(rows.select_related("item"))
        # It may be there already, for another line it stands in for: these are further parts.
        last = tray.lines.filter(item_id=in_id).aggregate(last=Max("part"))["last"] or 0
        for part, line in enumerate(lines, last + 1):
            if line.state == "taken":
                raise OutOfStep(f"{line.item.key} lies in the tray already. Take it out first.")
            if line.reserved and line.reserved_lot_id:
                give_back(tray, line, held_lot(line.reserved_lot_id), by, at, "another goes in")
            line.item_id, line.part, line.state, line.reserved_lot = in_id, part, "open", None
            line.save(update_fields=["item", "part", "state", "reserved_lot"])
        reserve(tray, lines, by, at)
        _changed(tray)


def check_line(line_id: int, how: str, count: int, by: int, at: datetime) -> None:
    """The tray check of one line: it was scanned, counted or weighed, and so many are there.

    Raises ``OutOfStep``, and checks nothing, where it is not in the tray, or there are more or
    fewer than it is to hold.
    """
    with transaction.atomic():
        line = _line(line_id)
        if line.state != "taken":
            raise OutOfStep(f"{line.item.key} is not in the tray. Take it, or leave it short.")
        if count != line.quantity:
            raise OutOfStep(
                f"{line.item.key}: {count} counted, {line.quantity} wanted. Count again, and "
                "put right what is in the tray."
            )
        line.checked_how, line.checked_count = how, count
        line.checked_by_id, line.checked_at = by, at
        line.save(update_fields=["checked_how", "checked_count", "checked_by", "checked_at"])


def rename_tray(tray_id: int, revision_id: int) -> None:
    """The tray counts as picked to another revision, which asks for the same; each part is
    used where that revision fits it."""
    with transaction.atomic():
        Tray.objects.filter(pk=tray_id).update(revision_id=revision_id, version=F("version") + 1)
        used_at = {one.item_id: one.used_at for one in book.kit_lines(revision_id)}
        for line in TrayLine.objects.filter(tray_id=tray_id, item_id__in=used_at):
            if line.used_at != used_at[line.item_id]:
                line.used_at = used_at[line.item_id]
                line.save(update_fields=["used_at"])


def lots_of(lines: QuerySet[TrayLine]) -> dict[int, Lot]:
    """The lots these lines keep of or lie there from, kept from other writers. Lines are to be
    read after them: whoever counts a bin may just have given up what was kept."""
    pairs = lines.values_list("reserved_lot_id", "lot_id")
    return held_lots([pk for pair in pairs for pk in pair if pk is not None])


def _open_tray(tray_id: int) -> Tray:
    tray = held_tray(tray_id)
    if tray.state == "closed":
        raise OutOfStep(f"Tray of {tray.serial} is closed. Nothing goes in or out any more.")
    return tray


def _line(line_id: int) -> TrayLine:
    """A line of a tray that is open, kept from other writers."""
    tray_id = TrayLine.objects.filter(pk=line_id).values_list("tray_id", flat=True).first()
    if tray_id is None:
        raise OutOfStep("This line is not here any more. Open the tray again.")
    _open_tray(tray_id)
    lots_of(TrayLine.objects.filter(pk=line_id))
    return TrayLine.objects.select_related("item", "tray", "walk").get(pk=line_id)


def _changed(tray: Tray) -> None:
    """What lies in the tray changed: its state says so, and its version rises."""
    waiting = tray.lines.filter(state="open").exists()
    tray.state = "asked" if waiting else "picked"
    tray.version += 1
    tray.save(update_fields=["state", "version"])


def give_back(
    tray: Tray, line: TrayLine, lot: Lot, by: int | None, at: datetime, why: str = ""
) -> None:
    """Give the line's reservation back."""
    move(lot, "released", reserved=-line.reserved, at=at, tray=tray, line=line, by=by, why=why)
    line.reserved, line.reserved_lot = 0, None
    line.save(update_fields=["reserved", "reserved_lot"])


def _lot_for(line: TrayLine, item_id: int, lot_id: int | None) -> Lot | None:
    """The lot the clerk scanned, else the one kept for the line, else the oldest that covers."""
    if lot_id is not None:
        lot = Lot.objects.filter(pk=lot_id).select_related("item").first()
        if lot is None or lot.item_id != item_id or lot.piece:
            raise OutOfStep("That lot is of another item. Scan the lot's own label again.")
        if lot.held:
            raise OutOfStep(f"{held_words(lot.code, lot.held)} Take another lot.")
        return lot
    own = line.reserved_lot if line.reserved and item_id == line.item_id else None
    if own is not None and not own.held:
        return own
    rows = Lot.objects.filter(
        item_id=item_id, held="", piece="", on_hand__gte=F("reserved") + line.quantity
    )
    return rows.order_by("received_on", "id").first()


def _fresh_code() -> str:
    while Tray.objects.filter(code=(code := mint(Kind.TRAY, secrets.randbelow))).exists():
        continue
    return code
