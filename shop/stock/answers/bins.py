"""The bins, where they stand, and what lies in them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from shop.catalogue import book
from shop.craft.aisles import Place, Shelf, way
from shop.craft.hardware import Article
from shop.craft.size import plain
from shop.craft.words import THIN
from shop.stock.models import Bin, Lot

# From the middle of one aisle to the next. The aisles end so far behind the farthest bin.
GAP_M: Final = Decimal("2.0")
END_M: Final = Decimal(1)


@dataclass(frozen=True, slots=True)
class Lies:
    """A lot that lies in a bin."""

    lot_id: int
    lot: str
    article: Article
    piece: str  # "", or "L" or "R" of a broken set
    on_hand: int
    held: bool


@dataclass(frozen=True, slots=True)
class BinRow:
    """One bin: its place, None where it has none yet, and what lies in it, oldest first."""

    code: str
    place: Place | None
    lies: tuple[Lies, ...]

    @property
    def where(self) -> str:
        """Its place in words, or that it has none."""
        if self.place is None:
            return "no place yet"
        return f"aisle {self.place.aisle}, {plain(self.place.along_m)}{THIN}m along"


def bins() -> tuple[BinRow, ...]:
    """Every bin in walking order, in three statements for any number of them."""
    places = _places()
    lying: dict[str, list[Lies]] = defaultdict(list)
    lots = list(
        Lot.objects.filter(on_hand__gt=0).values_list(
            "bin__code", "item_id", "pk", "code", "piece", "on_hand", "held"
        )
    )
    articles = book.articles(list({item_id for _, item_id, *_ in lots}))
    for code, item_id, lot_id, lot, piece, on_hand, held in lots:
        lying[code].append(Lies(lot_id, lot, articles[item_id], piece, on_hand, bool(held)))
    return tuple(BinRow(code, places[code], tuple(lying[code])) for code in _ordered(places))


def walking_order(bin_codes: Sequence[str]) -> list[str]:
    """These bins in the order of the shortest walk past them from the kitting table and back;
    those without a place come last by code, as do codes that are no bin's. One statement."""
    placed = _places()
    asked = {code: placed.get(code) for code in bin_codes}
    return list(way(asked, _shelf(placed)).order)


def _places() -> dict[str, Place | None]:
    """Every bin's place by its code."""
    return {
        code: None if aisle is None or along_m is None else Place(aisle, along_m)
        for code, aisle, along_m in Bin.objects.values_list("code", "aisle", "along_m")
    }


def _ordered(places: Mapping[str, Place | None]) -> tuple[str, ...]:
    return way(places, _shelf(places)).order


def _shelf(places: Mapping[str, Place | None]) -> Shelf:
    """The shelf that all these bins stand on."""
    farthest = max((one.along_m for one in places.values() if one is not None), default=Decimal(0))
    return Shelf(GAP_M, farthest + END_M)
