"""Open defects that a new one may be again: offered to whoever notes it, never forced.

The same word in the same zone, or another word of its family there or in a zone that touches
it; and where both have millimetres that can be compared, near enough for one mark. How near
that is, is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from math import hypot
from typing import Final

from shop.craft.inspecting.body_view import measured
from shop.craft.words import mm

NEAR_MM: Final = 30.0

TOUCHING: Final = frozenset(
    frozenset(pair)
    for pair in (
        (1, 2), (2, 3), (3, 4), (4, 6), (5, 6),  # the front
        (7, 8), (8, 13), (9, 13), (9, 10),  # the back
        (1, 7), (2, 8),  # round the edge of head and neck
        *((side, zone) for side in (11, 12) for zone in (3, 4, 6, 9, 10, 13)),
    )
)  # fmt: skip
"""The zones that meet at a line or round an edge."""


@dataclass(frozen=True, slots=True)
class Spot:
    """A defect as far as it may be another one. ``number`` is its own, 0 for one not noted
    yet; lengths are from the zone's reference in this ``view``, as ``body_map.Place`` has
    them; ``noted`` is when, in words, for whoever reads."""

    family: str
    word: str
    zone: int
    view: str = ""
    x_mm: int | Decimal | None = None
    y_mm: int | Decimal | None = None
    number: int = 0
    by: str = ""
    noted: str = ""


@dataclass(frozen=True, slots=True)
class Alike:
    """An open defect that the new one may be, and why."""

    spot: Spot
    distance_mm: float | None
    words: str


def alike(
    new: Spot, open_ones: Iterable[Spot], bridge_mm: float | None = None
) -> tuple[Alike, ...]:
    """The open defects that a new one may be again, likeliest first.

    ``bridge_mm`` is from the nut to the bridge centre: with it, places measured from either
    can be compared.

    >>> there = Spot("finish", "chip", 1, "front", 4, -80, 7, "P-31", "Tue 10:20")
    >>> from shop.craft.words import THIN
    >>> [one] = alike(Spot("finish", "chip", 1, "front", 4, -84), [there])
    >>> one.words.replace(THIN, " ")
    'chip, zone 1, 4 mm from this one: noted by P-31 Tue 10:20, still open.'
    """
    found = []
    for one in open_ones:
        if not _kin(new, one):
            continue
        apart = distance_mm(new, one, bridge_mm)
        if apart is None or apart < NEAR_MM:
            found.append(Alike(one, apart, _why(new, one, apart)))
    return tuple(sorted(found, key=lambda it: _rank(new, it)))


def distance_mm(one: Spot, other: Spot, bridge_mm: float | None = None) -> float | None:
    """How far two places are apart in the plane of the drawing; none where that is not known:
    a place without lengths, or the two measured in ways that do not meet.

    >>> distance_mm(Spot("", "", 2, "front", 3, 640), Spot("", "", 3, "front", 0, 0), 644)
    5.0
    """
    ends = []
    for spot in (one, other):
        if spot.x_mm is None or spot.y_mm is None:
            return None
        reference = measured(spot.view, spot.zone)
        ends.append((reference, float(spot.x_mm), float(spot.y_mm)))
    (first, x0, y0), (second, x1, y1) = ends
    if first.across != second.across or not _same_face(one, other):
        return None
    if first.key == second.key:
        return hypot(x1 - x0, y1 - y0)
    if bridge_mm is None:
        return None
    shift = bridge_mm if second.key == "bridge" else -bridge_mm
    return hypot(x1 - x0, y1 + shift - y0)


def _same_face(one: Spot, other: Spot) -> bool:
    """Whether a length on one drawing is one on the other: on the front and the back they are
    millimetres through the wood, on the two sides they are as far apart as those."""
    return one.view.split()[-1:] != ["side"] or one.view == other.view


def touch(one: int, other: int) -> bool:
    """Whether two zones are one or meet.

    >>> touch(4, 6), touch(5, 5), touch(1, 6)
    (True, True, False)
    """
    return one == other or frozenset((one, other)) in TOUCHING


def _kin(new: Spot, one: Spot) -> bool:
    """Whether one could be the other by its word and its zone; what has no zone is held
    against every zone."""
    same_word, same_family = new.word == one.word, new.family == one.family
    if not (new.zone and one.zone) or new.zone == one.zone:
        return same_word or (same_family and bool(new.zone and one.zone))
    return same_family and touch(new.zone, one.zone)


def _rank(new: Spot, it: Alike) -> tuple[bool, bool, float, int]:
    """The same word first, then the same zone, then the nearer, then the newer."""
    far = NEAR_MM if it.distance_mm is None else it.distance_mm
    return it.spot.word != new.word, it.spot.zone != new.zone, far, -it.spot.number


def _why(new: Spot, one: Spot, apart: float | None) -> str:
    zone = f"zone {one.zone}" if one.zone else "its zone is not told"
    if apart is not None:
        where = f"{mm(Decimal(round(apart)))} from this one"
    elif not (new.zone and one.zone):
        where = "perhaps this one"
    else:
        where = "in the same zone" if one.zone == new.zone else "in a zone that touches this one"
    if not one.by:
        return f"{one.word}, {zone}, {where}: still open."
    if not one.noted:
        return f"{one.word}, {zone}, {where}: noted by {one.by}, still open."
    return f"{one.word}, {zone}, {where}: noted by {one.by} {one.noted}, still open."
