"""A bin is counted, and the figures follow what lies there.

Within the tolerance they follow at once. Beyond it a second person counts, without knowing
the first one's number; when both say the same, the figures follow with a reason.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from django.db import transaction

from shop.craft import counting
from shop.craft.counting import CountJudged
from shop.stock.answers.counts import count_rule, in_open_trays
from shop.stock.changes.balance import MOVED, OutOfStep, held_lot, move, reason
from shop.stock.models import Lot, LotCount, StockRule, TrayLine

MOST: Final = 99_999  # more pieces than lie in any bin
WITHIN: Final = "within tolerance"
FEWER: Final = "fewer counted than were kept"


@dataclass(frozen=True, slots=True)
class Counted:
    """What a count came to. ``ended``: as the figures say, adjusted, the two counts apart; empty
    where a second person is to count. ``short``: the instruments that nothing is kept for now.
    """

    id: int
    ended: str
    judged: CountJudged
    short: tuple[str, ...] = ()


def count(lot_id: int, counted: int, by: int, at: datetime, *, after: int | None = None) -> Counted:
    """So many pieces of a lot were counted: in its bin, and with them in trays not closed yet.

    ``after``: the last count of the lot that the asker knew of; the same number by the same
    person since then is the same tap come twice, and that count is given back.
    Raises ``OutOfStep``, and keeps nothing, where a second count is waited for, or fewer are
    counted than lie in open trays.
    """
    with transaction.atomic():
        lot = held_lot(lot_id)
        if after is not None and (twin := _twin(lot, counted, by, after)):
            return Counted(twin.pk, twin.ended, _judged(lot, twin.expected, counted))
        _believable(lot, counted)
        if LotCount.objects.filter(lot=lot, ended="").exists():
            raise OutOfStep(f"{lot.bin} waits for a second count. Another person counts it now.")
        judged = _judged(lot, lot.on_hand, counted)
        row = LotCount(lot=lot, expected=lot.on_hand, counted=counted, by_id=by, at=at)
        short: tuple[str, ...] = ()
        if not judged.difference:
            row.ended = "agreed"
        elif judged.within:
            row.ended, row.why = "adjusted", WITHIN
            short = _adjust(lot, judged.difference, by, at, WITHIN)
        row.save()
    return Counted(row.pk, row.ended, judged, short)


def second_count(count_id: int, counted: int, by: int, at: datetime, why: str = "") -> Counted:
    """A second person counted the same lot. The same number: the figures follow, with the
    reason. Another one: nothing moves, and both count again together.

    What went in or out by the figures between the two counts is no difference.
    Raises ``OutOfStep``, and keeps nothing, for the person who counted first, where the count
    has ended, or without a reason for what is adjusted.
    """
    with transaction.atomic():
        row = LotCount.objects.filter(pk=count_id).first()
        if row is None:
            raise OutOfStep("This count is not here. Open the bin again.")
        lot = held_lot(row.lot_id)
        row.refresh_from_db()
        if row.ended:
            raise OutOfStep(f"{lot.bin} was counted twice already. Nothing more to do.")
        if row.by_id == by:
            raise OutOfStep(f"You counted {lot.bin} first. Another person counts it now.")
        _believable(lot, counted)
        judged = _judged(lot, lot.on_hand, counted)
        row.second, row.second_by_id, row.second_at = counted, by, at
        short: tuple[str, ...] = ()
        if judged.difference != row.counted - row.expected:
            row.ended = "apart"
        else:
            row.ended, row.why = "adjusted", reason(why, "the figures were off")[:MOVED]
            short = _adjust(lot, judged.difference, by, at, row.why)
        row.save()
    return Counted(row.pk, row.ended, judged, short)


def _twin(lot: Lot, counted: int, by: int, after: int) -> LotCount | None:
    """The same first count by the same person, made since ``after``."""
    rows = LotCount.objects.filter(lot=lot, pk__gt=after, by_id=by, counted=counted, second=None)
    return rows.first()


def _believable(lot: Lot, counted: int) -> None:
    if not 0 <= counted <= MOST:
        raise OutOfStep(f"{counted} pieces cannot lie in {lot.bin}. Count again.")
    trays = in_open_trays([lot.pk])[lot.pk]
    if counted < sum(one.quantity for one in trays):
        told = ", ".join(f"{one.quantity} in that of {one.serial}" for one in trays)
        raise OutOfStep(f"Trays not closed yet hold more: {told}. Count them with the bin.")


def _judged(lot: Lot, expected: int, counted: int) -> CountJudged:
    kept = StockRule.objects.filter(item=lot.item_id).first()
    tolerance = count_rule(lot.item.family, kept).tolerance_pct
    return counting.judge(expected, counted, tolerance)


def _adjust(lot: Lot, difference: int, by: int, at: datetime, why: str) -> tuple[str, ...]:
    """The figures follow the count. What is kept beyond it is given up first: the serials that
    are short by it."""
    over = lot.reserved - (lot.on_hand + difference)
    short = _let_go(lot, over, by, at) if over > 0 else ()
    move(lot, "adjusted", on_hand=difference, at=at, by=by, why=why)
    return short


def _let_go(lot: Lot, over: int, by: int, at: datetime) -> tuple[str, ...]:
    """Give up what is kept of a lot until ``over`` pieces are: of trays not picked, the latest
    release first and urgent ones last, then what is promised without a tray."""
    rows = TrayLine.objects.filter(reserved_lot=lot)
    kept = list(rows.filter(reserved__gt=0).select_related("tray"))
    promised = lot.reserved - sum(one.reserved for one in kept)
    short = []
    for line in _to_give_up(kept, lot):
        if over <= 0:
            break
        over -= line.reserved
        move(
            lot, "released", reserved=-line.reserved, at=at, tray=line.tray, line=line, by=by,
            why=FEWER,
        )  # fmt: skip
        line.reserved = 0
        line.save(update_fields=["reserved"])
        if line.state != "taken":
            short.append(line.tray.serial)
    if over > 0 and promised > 0:
        given = min(over, promised)
        over -= given
        move(lot, "released", reserved=-given, at=at, by=by, why=FEWER)
    if over > 0:
        raise OutOfStep(f"Trays not closed yet hold {lot.reserved} of {lot}. Count them with it.")
    return tuple(dict.fromkeys(short))


def _to_give_up(kept: Sequence[TrayLine], lot: Lot) -> list[TrayLine]:
    """In which order lines give up what is kept for them. A line filled out of another lot does
    not need it any more; one filled out of this lot has it in its tray."""
    elsewhere = [one for one in kept if one.state == "taken" and one.lot_id != lot.pk]
    waiting = [one for one in kept if one.state != "taken"]
    waiting.sort(key=lambda one: (one.tray.wanted_on, one.tray.serial, one.pk), reverse=True)
    waiting.sort(key=lambda one: one.tray.urgent)
    return [*elsewhere, *waiting]
