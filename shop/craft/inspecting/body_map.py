"""The drawing of an instrument on which a place is tapped, and the place in words.

``draw`` a view, take a tap by ``from_fraction``, say it by ``Place.words``. The zones are
those of ``shop.craft.zones``; millimetres are from the bridge centre, or from the nut for
the neck and the head, as the record of a defect keeps them.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from math import isfinite
from typing import Final

from shop.craft.hardware import SpecFacts
from shop.craft.inspecting.body_view import (
    GLOVE_MM,
    NARROW_PX,
    TARGET_PX,
    Reference,
    View,
    ZoneShape,
    measured,
    zone_at,
)
from shop.craft.inspecting.body_views import DRAWN
from shop.craft.inspecting.shapes import Point
from shop.craft.words import mm
from shop.craft.zones import PLACES

__all__ = [
    "GLOVE_MM", "NARROW_PX", "SHOWN", "TARGET_PX", "VIEWS", "Place", "View", "ZoneShape",
    "draw", "from_fraction", "on_page", "views_of", "zone_at",
]  # fmt: skip

VIEWS: Final = tuple(DRAWN)
"""The keys of the views, in the order one turns an instrument."""

SHOWN: Final[dict[str, tuple[int, ...]]] = {
    "front": (1, 2, 3, 4, 6, 5),
    "back": (7, 8, 13, 9, 10),
    "bass side": (11, 13),
    "treble side": (12, 13),
    "head front": (1, 2),
    "head back": (7, 8),
    "inside": (14,),
    "case": (15,),
    "paper": (16,),
}
"""The zones that each view shows."""


@lru_cache(maxsize=128)  # a spec is drawn again with every tap
def draw(spec: SpecFacts, view: str) -> View:
    """One view of a spec. Raises ``ValueError`` for a view there is none of."""
    if view not in DRAWN:
        raise ValueError(f"There is no view {view!r}: name one of {', '.join(VIEWS)}.")
    return DRAWN[view](spec, view)


def views_of(zone: int) -> tuple[str, ...]:
    """The views that show a zone, the one to begin with first.

    >>> views_of(13), views_of(5), views_of(1)
    (('back', 'bass side', 'treble side'), ('front',), ('front', 'head front'))
    """
    return tuple(key for key, numbers in SHOWN.items() if zone in numbers)


@dataclass(frozen=True, slots=True)
class Place:
    """Where on an instrument: a zone, and millimetres from its reference, whole ones where it
    was tapped; or no more than the zone. x is toward the treble side, on a side from the front
    edge toward the back; y is toward the tail. On a case or a paper they are to the right and
    down.
    """

    view: str
    zone: int
    x_mm: int | Decimal | None = None
    y_mm: int | Decimal | None = None

    def __post_init__(self) -> None:
        if self.zone not in SHOWN.get(self.view, ()):
            raise ValueError(f"Zone {self.zone!r} does not show in the view {self.view!r}.")
        if (self.x_mm is None) != (self.y_mm is None):
            raise ValueError(f"A place has both lengths or none: {self.x_mm!r}, {self.y_mm!r}.")

    @property
    def measured_from(self) -> Reference:
        """What it is measured from; where that lies is the drawing's to say."""
        return measured(self.view, self.zone)

    @property
    def words(self) -> str:
        """The place in words.

        >>> from shop.craft.words import THIN
        >>> Place("front", 5, 12, 30).words.replace(THIN, " ")
        'zone 5 bridge, 12 mm to the treble side, 30 mm toward the tail from the bridge centre'
        """
        said = [PLACES[self.zone]]
        if self.x_mm is not None and self.y_mm is not None:
            said += [_across(self.measured_from, self.x_mm), _along(self.measured_from, self.y_mm)]
        return ", ".join(said)


def from_fraction(view: View, fx: float, fy: float) -> Place | None:
    """The place of a tap, given as parts of the drawing's width and height from its upper
    left corner; none where there is nothing of the instrument."""
    if not (isfinite(fx) and isfinite(fy)):
        return None
    page = view.left + fx * view.size_mm[0], view.top + fy * view.size_mm[1]
    x, y = view.from_page(*page)
    zone = zone_at(view, x, y)
    if zone is None:
        return None
    from_x, from_y = zone.reference.origin
    return Place(view.key, zone.number, round(x - from_x), round(y - from_y))


def on_page(view: View, place: Place) -> Point | None:
    """Where a place lies on the drawing of a view, to be marked there: at the number of its
    zone where it has no millimetres; none where the view does not show the zone, or measures
    it another way."""
    zone = view.zone(place.zone)
    if zone is None:
        return None
    if place.x_mm is None or place.y_mm is None:
        return zone.page_centre
    if zone.reference.across != place.measured_from.across:
        return None
    x, y = zone.reference.origin
    page = view.on_page((float(place.x_mm) + x, float(place.y_mm) + y))
    return round(page[0], 1), round(page[1], 1)


def _across(reference: Reference, x_mm: int | Decimal) -> str:
    length = mm(abs(Decimal(x_mm)))
    match reference.across:
        case "front edge":
            ways = f"{length} in front of the front edge", f"{length} from the front edge"
            level = "on the front edge"
        case "middle":
            ways, level = (f"{length} to the left", f"{length} to the right"), "in the middle"
        case "corner":
            ways = f"{length} left of the sheet", f"{length} from the left edge"
            level = "on the left edge"
        case _:
            ways = f"{length} to the bass side", f"{length} to the treble side"
            level = "on the centre line"
    return level if x_mm == 0 else ways[x_mm > 0]


def _along(reference: Reference, y_mm: int | Decimal) -> str:
    length = mm(abs(Decimal(y_mm)))
    match reference.key:
        case "case":
            ways = (
                f"{length} up from the middle of the lid",
                f"{length} down from the middle of the lid",
            )
            level = "level with the middle of the lid"
        case "paper":
            ways = f"{length} above the sheet", f"{length} down from the upper edge"
            level = "on the upper edge"
        case "nut":
            ways = f"{length} toward the tip from the nut", f"{length} toward the tail from the nut"
            level = "level with the nut"
        case _:
            ways = (
                f"{length} toward the head from the bridge centre",
                f"{length} toward the tail from the bridge centre",
            )
            level = "level with the bridge centre"
    return level if y_mm == 0 else ways[y_mm > 0]
