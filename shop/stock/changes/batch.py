"""What goes to a bench by batch and not in a tray: strings, guard, case."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from django.db import transaction

from shop.catalogue import book
from shop.craft.lots import Need, choose
from shop.stock.changes.balance import facts, move, to_pick_from
from shop.stock.changes.trays import Ask, Fitted
from shop.stock.models import Lot


def use_batch(
    asks: Sequence[Ask], serial: str, by: int, at: datetime
) -> tuple[tuple[Fitted, ...], tuple[str, ...]]:
    """These were fitted out of a batch at the bench: each leaves the oldest lot that has all of
    it free, else the oldest ones that have it together.

    Nobody is held up at a bench by a figure: what no lot has free by the figures leaves none,
    and its key is given back beside, for the clerk to count.
    """
    items = [one.item_id for one in asks]
    articles = book.articles(items)
    with transaction.atomic():
        lots = to_pick_from(items)
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
