"""What goes to a bench by batch and not in a tray: strings, guard, case."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from django.db import transaction

from shop.catalogue import book
from shop.craft.lots import Need, choose
from shop.stock.changes.balance import facts, move, to_pick_from
from shop.stock.changes.trays import Ask, Fitted


def use_batch(
    asks: Sequence[Ask], serial: str, by: int, at: datetime
) -> tuple[tuple[Fitted, ...], tuple[str, ...]]:
    """These were fitted out of a batch at the bench: each leaves the oldest lot that has it free.

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
            if found is None:
                uncounted.append(key)
                continue
            lot = lots[found.id]
            move(lot, "consumed", on_hand=-ask.quantity, at=at, serial=serial, by=by)
            fitted.append(Fitted(key, lot.code, ask.quantity))
    return tuple(fitted), tuple(uncounted)
