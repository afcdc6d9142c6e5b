"""What is fitted: out of a closed tray, or out of what went to a bench by batch and not in a
tray: strings, guard, case."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction
from django.db.models import F

from shop.catalogue import book
from shop.craft.lots import Need, choose
from shop.stock.answers.stock import batch_lots
from shop.stock.changes.balance import facts, held_lots, held_tray, move, to_pick_from
from shop.stock.changes.trays import Ask
from shop.stock.models import Lot, TrayLine


@dataclass(frozen=True, slots=True)
class Fitted:
    """So many of an item and lot were fitted out of a tray."""

    key: str
    lot: str
    quantity: int


def consume(
    tray_id: int, operation: str | None, by: int, at: datetime, why: str = ""
) -> tuple[Fitted, ...]:
    """What this operation fits out of a closed tray is fitted: it is out of the shop's stock
    for good. ``operation`` None: all that is left in it. Twice is as good as once."""
    with transaction.atomic():
        rows = TrayLine.objects.filter(tray_id=tray_id, tray__state="closed", state="taken")
        if operation is not None:
            rows = rows.filter(used_at=operation)
        held_tray(tray_id)
        left = rows.filter(quantity__gt=F("fitted") + F("returned"), lot__isnull=False)
        lines = list(left.select_related("put_in", "tray"))
        if not lines:
            return ()
        lots = held_lots([line.lot_id for line in lines if line.lot_id])
        done = []
        for line in lines:
            lot, rest = lots[line.lot_id or 0], line.quantity - line.fitted - line.returned
            move(
                lot, "consumed", out=-rest, at=at, tray=line.tray, line=line, by=by, why=why
            )  # fmt: skip
            line.fitted += rest
            line.save(update_fields=["fitted"])
            done.append(Fitted(line.put_in.key if line.put_in else "", lot.code, rest))
    return tuple(done)


def use_batch(
    asks: Sequence[Ask], serial: str, by: int, at: datetime
) -> tuple[tuple[Fitted, ...], tuple[str, ...]]:
    """These were fitted out of a batch at the bench: each leaves the oldest lot that has all of
    it free, else the oldest ones that have it together.

    Nobody is held up at a bench by a figure: what no lot has free by the figures leaves none,
    and its key is given back beside, for the clerk to count. What this instrument has already
    is on it, whether its step was struck or is done again: twice is as good as once.
    """
    items = [one.item_id for one in asks]
    articles = book.articles(items)
    with transaction.atomic():
        lots = to_pick_from(items)
        already = batch_lots(serial)
        asks = [one for one in asks if one.item_id not in already]
        needs = [Need(one.item_id, one.quantity) for one in asks]
        chosen = choose(needs, [facts(lot) for lot in lots.values()])
        fitted, uncounted = [], []
        for ask in asks:
            key, found = articles[ask.item_id].key, chosen[ask.item_id]
            of_item = [one for one in lots.values() if one.item_id == ask.item_id]
            of_item.sort(key=lambda one: (one.received_on, one.pk))
            some = [lots[found.id]] if found else of_item
            if sum(_free(one) for one in some) < ask.quantity:
                uncounted.append(key)
                continue
            left = ask.quantity
            for lot in some:
                if taken := min(left, _free(lot)):
                    move(lot, "consumed", on_hand=-taken, at=at, serial=serial, by=by)
                    fitted.append(Fitted(key, lot.code, taken))
                    left -= taken
    return tuple(fitted), tuple(uncounted)


def _free(lot: Lot) -> int:
    return lot.on_hand - lot.reserved
