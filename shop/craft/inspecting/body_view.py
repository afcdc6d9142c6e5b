"""A view of an instrument with its zones: what a drawing shows, and where a finger hit it.

Coordinates are millimetres of the wood, the same in every view of it: y runs from the bridge
centre toward the tail, so neck and head lie at negative y; x runs from the centre line toward
the treble side, and on a side from the front edge toward the back. A case is measured from the
middle of its lid, a paper from its upper left corner, both to the right and down. Each zone
says from where its own lengths are told: the bridge centre, or the nut. What is called ``page``
is as drawn: to the right and down. A left-handed guitar has the numbers of a right-handed one
on a mirrored page.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from shop.craft.inspecting.shapes import Loop, Point, distance, path, winding
from shop.craft.zones import PLACES

NARROW_PX: Final = 358.0  # how wide a drawing is on a phone 390 wide, without the margins
TARGET_PX: Final = 48.0  # across what a gloved finger needs
GLOVE_MM: Final = 8.0  # beyond the wood that a tap may fall


Axes = tuple[Point, Point]
"""Where x and where y of the wood go on the page: they only turn and mirror."""


@dataclass(frozen=True, slots=True)
class Reference:
    """From where a zone is measured along and across; ``origin`` is where that lies."""

    key: str  # "bridge", "nut", "case" or "paper"
    across: str  # "centre line", "front edge", "middle" or "corner"
    origin: Point = (0.0, 0.0)


FROM_THE_NUT: Final = frozenset({1, 2, 7, 8, 13})
OFF_THE_WOOD: Final = {15: Reference("case", "middle"), 16: Reference("paper", "corner")}


@dataclass(frozen=True, slots=True)
class Badge:
    """A number beside a zone too small for a finger, and where its leader ends, on the page."""

    x: float
    y: float
    to_x: float
    to_y: float


@dataclass(frozen=True, slots=True)
class ZoneShape:
    """A zone as it shows in one view. ``loops`` are its lines, holes among them."""

    number: int
    name: str
    d: str  # its path on the page
    centre: Point  # where its number stands, in millimetres of the wood
    page_centre: Point
    loops: tuple[Loop, ...]
    reference: Reference
    badge: Badge | None = None

    @property
    def words(self) -> str:
        return PLACES[self.number]

    @property
    def number_at(self) -> Point:
        """Where its number stands on the page: beside it where it is too small for a finger."""
        return (self.badge.x, self.badge.y) if self.badge else self.page_centre

    @property
    def points(self) -> Loop:
        """The points of its outer line."""
        return self.loops[0]

    def holds(self, x_mm: float, y_mm: float) -> bool:
        return winding(self.loops, x_mm, y_mm) != 0


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line that is only to be recognised by: frets, rosette, machines. On the page."""

    kind: str  # "thin", "dark", "ground", "guard", "bridge", "saddle", "metal" or "brace"
    d: str


@dataclass(frozen=True, slots=True)
class Label:
    """A word that says which way round the drawing is, on the page."""

    words: str
    x: float
    y: float


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """An instrument from one side. ``axes`` are x and y of the wood on the page."""

    key: str
    title: str
    left: float  # of the page, from the reference
    top: float
    size_mm: tuple[float, float]
    outline: str
    loops: tuple[Loop, ...]
    zones: tuple[ZoneShape, ...]
    reference: Reference
    strokes: tuple[Stroke, ...] = ()
    labels: tuple[Label, ...] = ()
    axes: Axes = ((1.0, 0.0), (0.0, 1.0))

    @property
    def slug(self) -> str:
        """Its name as part of an id or a class."""
        return self.key.replace(" ", "-")

    @property
    def px(self) -> float:
        """Millimetres to one pixel of a phone: what is drawn in pixels is scaled by it."""
        return round(self.size_mm[0] / NARROW_PX, 4)

    @property
    def dot(self) -> float:
        """Half of the dot a leader ends in."""
        return round(4 * self.px, 1)

    @property
    def dash(self) -> str:
        """How the line of a zone is broken that lies over another."""
        return f"{5 * self.px:.1f} {4 * self.px:.1f}"

    @property
    def box(self) -> str:
        """The view box: left, top, width, height."""
        return f"{self.left:g} {self.top:g} {self.size_mm[0]:g} {self.size_mm[1]:g}"

    def zone(self, number: int) -> ZoneShape | None:
        return next((one for one in self.zones if one.number == number), None)

    def on_page(self, point: Point) -> Point:
        """A place of the wood on the page."""
        return placed(self.axes, point)

    def from_page(self, x: float, y: float) -> Point:
        """The place of the wood that lies here on the page: the axes only turn and mirror."""
        (a, b), (c, d) = self.axes
        return a * x + b * y + 0.0, c * x + d * y + 0.0


def measured(view: str, zone: int) -> Reference:
    """What a zone is measured from in a view, wherever that lies.

    >>> measured("front", 5), measured("head back", 7).key, measured("bass side", 11).across
    (Reference(key='bridge', across='centre line', origin=(0.0, 0.0)), 'nut', 'front edge')
    """
    if zone in OFF_THE_WOOD:
        return OFF_THE_WOOD[zone]
    across = "front edge" if view in ("bass side", "treble side") else "centre line"
    return Reference("nut" if zone in FROM_THE_NUT else "bridge", across)


def placed(axes: Axes, point: Point) -> Point:
    """Where a place of the wood lies on a page with these axes."""
    (a, b), (c, d) = axes
    x, y = point
    return a * x + c * y + 0.0, b * x + d * y + 0.0


def drawn(loops: tuple[Loop, ...], axes: Axes) -> str:
    """The loops as a path on a page with these axes."""
    return path(loops, lambda point: placed(axes, point))


def zone_at(view: View, x_mm: float, y_mm: float) -> ZoneShape | None:
    """The zone at a place of the wood, in the view's coordinates; the nearest one for a
    gloved finger just outside; none further out."""
    for one in view.zones:
        if one.holds(x_mm, y_mm):
            return one
    nearest = min(view.zones, key=lambda one: distance(one.loops, x_mm, y_mm))
    return nearest if distance(nearest.loops, x_mm, y_mm) <= GLOVE_MM else None
