"""Which lot a kit is taken from: the oldest that covers it, plated parts out of one bath.

Plating lots differ in shade, and that shows side by side. So the parts of one metal that
show are taken from one plating lot where one covers them all, the oldest such. Common
practice, no source.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from shop.craft.hardware import Metal


@dataclass(frozen=True, slots=True)
class Need:
    """So many of one item for one instrument. ``metal``: the colour it shows, where it does."""

    item_id: int
    quantity: int
    metal: Metal | None = None


@dataclass(frozen=True, slots=True)
class LotFacts:
    """A lot that can be picked from: ``free`` is on hand less what is kept for others."""

    id: int
    item_id: int
    code: str
    plating: str  # the lot's own code, where no plating lot is told
    received_on: date
    free: int


def choose(needs: Sequence[Need], lots: Iterable[LotFacts]) -> dict[int, LotFacts | None]:
    """The lot for each item; ``None`` where no single lot covers it.

    >>> from datetime import date
    >>> old, new = date(2031, 1, 7), date(2031, 2, 4)
    >>> lots = [LotFacts(1, 7, "a", "31-07A", old, 1), LotFacts(2, 8, "b", "31-09B", old, 5),
    ...         LotFacts(3, 7, "c", "31-09B", new, 4)]
    >>> needs = [Need(7, 1, Metal.GOLD), Need(8, 2, Metal.GOLD)]
    >>> [one.code for one in choose(needs, lots).values()]  # the older T would need two shades
    ['c', 'b']
    """
    covering: dict[int, list[LotFacts]] = defaultdict(list)
    wanted = {one.item_id: one.quantity for one in needs}
    for lot in sorted(lots, key=lambda one: (one.received_on, one.id)):
        if lot.free >= wanted.get(lot.item_id, lot.free + 1):
            covering[lot.item_id].append(lot)
    chosen: dict[int, LotFacts | None] = {}
    for metal in dict.fromkeys(one.metal for one in needs):
        group = [one for one in needs if one.metal is metal]
        bath = _bath(group, covering) if metal else ""
        for one in group:
            of_bath = [lot for lot in covering[one.item_id] if lot.plating == bath]
            chosen[one.item_id] = next(iter(of_bath or covering[one.item_id]), None)
    return {one.item_id: chosen[one.item_id] for one in needs}


def _bath(group: Sequence[Need], covering: dict[int, list[LotFacts]]) -> str:
    """The plating lot that covers the most of these parts, the oldest of those that do."""
    reach: dict[str, list[LotFacts]] = defaultdict(list)
    for one in group:
        first_of: dict[str, LotFacts] = {}
        for lot in covering[one.item_id]:
            first_of.setdefault(lot.plating, lot)
        for plating, lot in first_of.items():
            reach[plating].append(lot)
    if not reach:
        return ""
    return min(
        reach,
        key=lambda plating: (
            -len(reach[plating]),
            min(lot.received_on for lot in reach[plating]),
            plating,
        ),
    )
