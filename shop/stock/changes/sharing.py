"""What is kept for one tray goes to another."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from shop.stock.answers.lots import held_words
from shop.stock.changes.balance import OutOfStep, held_items, held_lots, move
from shop.stock.changes.trays import let_go, reserve
from shop.stock.models import Tray, TrayLine


@dataclass(frozen=True, slots=True)
class Kept:
    """From now on a line is kept for out of this lot; ``None``: nothing is."""

    line_id: int
    lot_id: int | None


def hold_trays() -> None:
    """Keep every tray that is not closed from other writers until the transaction ends, so
    that nothing goes into one while it is decided who gets what."""
    list(
        Tray.objects.select_for_update(no_key=True)
        .exclude(state="closed")
        .order_by("pk")
        .values("pk")
    )


def reserve_lines(line_ids: Sequence[int], by: int | None, at: datetime) -> tuple[int, ...]:
    """Keep what is free for these lines, each whole and out of one lot, and answer which of
    them are covered now. A line marked short is to be picked again; in a closed tray it stays
    so until the tray is opened.

    Raises ``OutOfStep`` where one lies in its tray already.
    """
    with transaction.atomic():
        lines = _held(line_ids)
        for tray_id in dict.fromkeys(line.tray_id for line in lines):
            of_tray = [line for line in lines if line.tray_id == tray_id and not line.reserved]
            if of_tray:
                reserve(of_tray[0].tray, of_tray, by, at)
        covered = [line for line in lines if line.reserved]
        _to_pick(covered)
    return tuple(line.pk for line in covered)


def share(kept: Sequence[Kept], by: int | None, at: datetime, why: str) -> None:
    """Keep for each of these lines what is said, and no longer what was: all of it or nothing.

    Raises ``OutOfStep`` where a line lies in its tray already, or a lot is held or cannot give
    so many.
    """
    with transaction.atomic():
        lines = {line.pk: line for line in _held([one.line_id for one in kept])}
        let_go(list(lines), by, at, why)
        lots = held_lots([one.lot_id for one in kept if one.lot_id is not None])
        for one in kept:
            line = TrayLine.objects.select_related("item", "tray").get(pk=one.line_id)
            if one.lot_id is None:
                continue
            lot = lots.get(one.lot_id)
            if lot is None or lot.item_id != line.item_id or lot.piece:
                raise OutOfStep(f"The lot of {line.item.key} is another by now. Look again.")
            if lot.held:
                raise OutOfStep(f"{held_words(lot.code, lot.held)} Share out again.")
            if lot.on_hand - lot.reserved < line.quantity:
                raise OutOfStep(
                    f"{lot}: {lot.on_hand - lot.reserved} free, {line.quantity} wanted for "
                    f"{line.tray.serial}. Share out again."
                )
            move(
                lot, "reserved", reserved=line.quantity, at=at, tray=line.tray, line=line, by=by,
                why=why,
            )  # fmt: skip
            line.reserved, line.reserved_lot = line.quantity, lot
            line.save(update_fields=["reserved", "reserved_lot"])
            _to_pick([line])


def _to_pick(lines: Sequence[TrayLine]) -> None:
    """What was short and is kept for now is to be picked, unless its tray is closed."""
    short = [line for line in lines if line.state == "short" and line.tray.state != "closed"]
    for line in short:
        line.state = "open"
        line.save(update_fields=["state"])
    for tray in {line.tray_id: line.tray for line in short}.values():
        tray.state = "asked"
        tray.version += 1
        tray.save(update_fields=["state", "version"])


def _held(line_ids: Sequence[int]) -> list[TrayLine]:
    """These lines, none of them in its tray yet; their trays kept from other writers, always
    locked in the same order. Raises ``OutOfStep``."""
    trays = Tray.objects.filter(lines__in=line_ids).values_list("pk", flat=True)
    list(Tray.objects.select_for_update(no_key=True).filter(pk__in=list(trays)).order_by("pk"))
    held_items(list(TrayLine.objects.filter(pk__in=line_ids).values_list("item_id", flat=True)))
    rows = TrayLine.objects.filter(pk__in=line_ids).select_related("tray", "item").order_by("pk")
    lines = list(rows)
    if len(lines) < len(set(line_ids)):
        raise OutOfStep("A line is not here any more. Look again.")
    for line in lines:
        if line.state == "taken":
            raise OutOfStep(
                f"{line.item.key} lies in the tray of {line.tray.serial} already. Look again."
            )
    return lines
