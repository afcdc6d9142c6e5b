"""Scarce pieces shared out among the trays that want them, and taken for an urgent order."""

from __future__ import annotations

import hashlib
import json
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cached_property
from typing import Literal

from django.utils.timezone import localtime

from shop.catalogue import book
from shop.craft.hardware import Article
from shop.craft.needed import on_the_shelf
from shop.craft.sharing import Shared, Supply, Want, share_out
from shop.floor.shorts import Need, Shelves, Short, as_short, open_needs, reckoned
from shop.stock import ledger, shelf
from shop.stock.shelf import Coming, FreeLot

Change = Literal["gains", "loses", "keeps", "waits"]


@dataclass(frozen=True, slots=True)
class Given:
    """What one instrument gets of a scarce item, and whether that is a change."""

    need: Need
    short: Short  # as it is told: both dates
    shared: Shared
    change: Change

    @property
    def serial(self) -> str:
        return self.need.one.serial


@dataclass(frozen=True, slots=True)
class ItemShare:
    """One scarce item: how many can be shared out now, what is to come, and who gets it."""

    article: Article
    on_hand: int
    coming: tuple[Coming, ...]
    given: tuple[Given, ...]

    @property
    def wanted(self) -> int:
        return sum(one.need.quantity for one in self.given)

    def of(self, change: Change) -> tuple[Given, ...]:
        return tuple(one for one in self.given if one.change == change)


@dataclass(frozen=True)
class Sharing:
    """How the scarce items would best be shared out now."""

    items: tuple[ItemShare, ...]
    moves: tuple[ledger.KeptFor, ...]

    @cached_property
    def mark(self) -> str:
        """Tells one proposal from another: who accepts one has seen that one."""
        rows = [[one.line_id, one.lot_id] for one in self.moves]
        return hashlib.sha256(json.dumps(rows).encode()).hexdigest()[:16]


def sharing(at: datetime) -> Sharing:
    """Every item that not all trays can have, shared out anew among all that want it and that it
    does not lie in yet. What goes to benches by batch is kept for nobody, so it is left out.
    The same few statements for any number."""
    now = localtime(at)
    needs = [one for one in open_needs(now) if one.line]
    scarce = sorted({one.item_id for one in needs if not one.covered})
    wanting = [one for one in needs if one.item_id in scarce]
    articles, coming, lots = book.articles(scarce), shelf.coming(scarce), _to_share(wanting)
    supplies = [
        *(
            Supply(articles[item].key, lot.free, lot=lot.id)
            for item in scarce
            for lot in lots[item]
            if lot.free
        ),
        *(
            Supply(articles[item].key, one.quantity, on_the_shelf(one.due_on, now), one.id)
            for item in scarce
            for one in coming[item]
        ),
    ]
    wants = [
        Want(
            serial=one.one.serial,
            item=articles[one.item_id].key,
            quantity=one.quantity,
            needed_at=one.needed_at,
            due_on=one.one.due_on,
            urgent=one.one.urgent,
            operation=one.operation,
            line=place,
        )
        for place, one in enumerate(wanting)
    ]
    receipts = {one.id: one for rows in coming.values() for one in rows}
    given: dict[int, list[Given]] = defaultdict(list)
    for shared in share_out(wants, supplies, now):
        need, supply = wanting[shared.want.line], shared.supply
        receipt = receipts[supply.lot] if supply and supply.at else None
        here = supply is not None and supply.at is None
        short = as_short(need, articles[need.item_id], receipt, now, here)
        given[need.item_id].append(Given(need, short, shared, _change(need, supply)))
    return Sharing(
        items=tuple(
            ItemShare(
                article=articles[item],
                on_hand=sum(lot.free for lot in lots[item]),
                coming=coming[item],
                given=tuple(sorted(given[item], key=lambda one: one.need.turn)),
            )
            for item in sorted(scarce, key=lambda item: articles[item].key)
        ),
        moves=tuple(_moves([one for rows in given.values() for one in rows], lots)),
    )


def _to_share(wanting: Sequence[Need]) -> dict[int, tuple[FreeLot, ...]]:
    """The lots of each item with all that can be shared out anew: what is free, and what is
    kept for trays that it does not lie in yet."""
    kept: dict[int, int] = defaultdict(int)
    for one in wanting:
        if one.line and one.line.lot_id:
            kept[one.line.lot_id] += one.quantity
    lots = shelf.free_lots(sorted({one.item_id for one in wanting}))
    return {
        item: tuple(replace(lot, free=lot.free + kept[lot.id]) for lot in rows)
        for item, rows in lots.items()
    }


def _change(need: Need, supply: Supply | None) -> Change:
    if supply is not None and supply.at is None:
        return "keeps" if need.covered else "gains"
    return "loses" if need.covered else "waits"


def _moves(
    given: Sequence[Given], lots: Mapping[int, Sequence[FreeLot]]
) -> Iterator[ledger.KeptFor]:
    """What is to be kept for whom from now on; as few lines as can be change their lot."""
    lines = [(one, one.need.line) for one in given if one.need.line]
    loses = [line for one, line in lines if one.change == "loses"]
    gains = [line for one, line in lines if one.change == "gains"]
    room = {lot.id: lot.free for rows in lots.values() for lot in rows}
    for one, line in lines:
        if one.change == "keeps" and line.lot_id:
            room[line.lot_id] -= line.quantity
    found: dict[int, int] = {}
    for line in sorted(gains, key=lambda it: (-it.quantity, it.line_id)):
        fits = (lot.id for lot in lots[line.item_id] if room[lot.id] >= line.quantity)
        if (lot_id := next(fits, None)) is not None:
            room[lot_id] -= line.quantity
            found[line.line_id] = lot_id
    if len(found) == len(gains):
        yield from (ledger.KeptFor(line.line_id, None) for line in loses)
        yield from (ledger.KeptFor(line.line_id, found[line.line_id]) for line in gains)
        return
    # Only with every piece where it was reckoned does all fit.
    for one, line in lines:
        supply = one.shared.supply
        lot = supply.lot if supply and supply.at is None else None
        if lot != line.lot_id:
            yield ledger.KeptFor(line.line_id, lot)


@dataclass(frozen=True, slots=True)
class Taken:
    """A line that gives up what is kept for it to an urgent order."""

    instrument_id: int
    short: Short  # as it stands once the piece is gone


def taking(asks: Sequence[tuple[int, int]], at: datetime) -> dict[int, tuple[Taken, ...]]:
    """For an urgent instrument that wants so many of each item: of each that is not free, from
    whom it is taken. An item that nobody can give is not named.

    Only what does not lie in a tray yet is taken, from nobody who is urgent, and first from
    the one due last, of those from the one that needs it last. Trays are kept from other
    writers until the transaction ends.
    """
    now = localtime(at)
    lots = shelf.free_lots([item for item, _ in asks])
    missing = [(item, n) for item, n in asks if all(one.free < n for one in lots[item])]
    if not missing:
        return {}
    ledger.hold_trays()
    needs = [one for one in open_needs(now) if one.item_id in {item for item, _ in missing}]
    shelves = Shelves.of([item for item, _ in missing])
    gone: dict[int, list[Need]] = {}
    for item, quantity in missing:
        if (found := _givers(item, quantity, lots[item], needs)) is not None:
            lot, givers = found
            gone[item] = givers
            place = lots[item].index(lot)
            shelves.free[item][place] += sum(one.quantity for one in givers) - quantity
    taken = {id(one) for givers in gone.values() for one in givers}
    bare = [
        replace(one, line=replace(one.line, lot_id=None)) if id(one) in taken and one.line else one
        for one in needs
        if id(one) in taken or not one.covered
    ]
    told = {one.line_id: one for one in reckoned(bare, shelves, now) if one.line_id}
    return {
        item: tuple(
            Taken(one.one.id, told[one.line.line_id]) for one in givers if one.line is not None
        )
        for item, givers in gone.items()
    }


def _givers(
    item: int, quantity: int, lots: Sequence[FreeLot], needs: Sequence[Need]
) -> tuple[FreeLot, list[Need]] | None:
    """The lot that can be had with the fewest giving up theirs, and who they are; of two such
    the one whose givers have the most slack."""
    ways = []
    for lot in lots:
        keeping = [
            one
            for one in needs
            if one.line and one.item_id == item and one.line.lot_id == lot.id
            and one.line.tray_open and not one.one.urgent
        ]  # fmt: skip
        keeping.sort(key=lambda one: (one.one.due_on, one.needed_at, one.one.serial), reverse=True)
        free, givers = lot.free, []
        for one in keeping:
            if free >= quantity:
                break
            free += one.quantity
            givers.append(one)
        if free >= quantity:
            ways.append((lot, givers))
    if not ways:
        return None
    return min(
        ways,
        key=lambda way: (len(way[1]), [-one.one.due_on.toordinal() for one in way[1]], way[0].id),
    )
