"""Another way to the surface that takes the least metal, to hold the solver against.

With a given, the best b is the least of (g - a)/x over the points (x, g) of the line, so the
sum over one line is a concave function of a alone, made of straight pieces that meet where an
edge of the lower hull of its points, drawn on, reaches the nut. Such functions are added up line
by line, and the slack between two lines moves the rising pieces of the sum to the left and the
falling ones to the right by that much. The best a lie between a lowest and a highest set, both
of them best; the middle of the two is taken.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from operator import itemgetter
from typing import Final

from shop.craft.set_up.frets.solving import APART_MM, Point, Straight

_NOTHING: Final = 1e-9  # what the rounding of the machine may leave of a slope or an area
_LEVEL: Final = 1e-12  # and of a rise

_Piece = tuple[float, float]
"""An a in millimetres, and by how much the slope of a concave function falls there."""


def highest(
    lines: Sequence[Sequence[Point]], apart_mm: float = APART_MM
) -> tuple[Straight | None, ...]:
    """What ``solving.highest`` is asked for: a straight a line, edge to edge."""
    hulls = [_lower_hull(points) if len(points) > 1 else [] for points in lines]
    best = _best(list(zip(lines, hulls, strict=True)), apart_mm)
    if best is None:
        return (None,) * len(lines)
    return tuple(
        _straight(hull, (low + high) / 2) if hull else None
        for hull, (low, high) in zip(hulls, best, strict=True)
    )


def _straight(hull: Sequence[Point], at_nut_mm: float) -> Straight:
    rise = min((height - at_nut_mm) / place for place, height in hull)
    # What is left of a level board by the rounding of the machine is level.
    return Straight(at_nut_mm, 0.0 if abs(rise) < _LEVEL else rise)


def _lower_hull(points: Sequence[Point]) -> list[Point]:
    """The points no straight from below can touch past (Andrew's monotone chain, 1979)."""
    hull: list[Point] = []
    for place, height in points:
        while len(hull) > 1:
            (x0, g0), (x1, g1) = hull[-2], hull[-1]
            if (g1 - g0) * (place - x0) < (height - g0) * (x1 - x0) - _LEVEL:
                break
            hull.pop()
        hull.append((place, height))
    return hull


def _pieces(points: Sequence[Point], hull: Sequence[Point]) -> tuple[float, list[_Piece]]:
    """The sum over one line as a function of a: its slope far to the left, and where it falls."""
    places = sum(place for place, _ in points)
    pieces = [
        ((g0 * x1 - g1 * x0) / (x1 - x0), places * (1 / x0 - 1 / x1))
        for (x0, g0), (x1, g1) in pairwise(hull)
    ]
    pieces.reverse()
    return len(points) - places / hull[-1][0], pieces


def _best(
    lines: Sequence[tuple[Sequence[Point], Sequence[Point]]], apart_mm: float
) -> list[tuple[float, float]] | None:
    """The lowest and the highest best a of each line; nothing where no line has two points."""
    slope, pieces = 0.0, list[_Piece]()
    tops: list[tuple[float, float] | None] = []
    for points, hull in lines:
        if hull:
            first, more = _pieces(points, hull)
            slope, pieces = slope + first, sorted([*pieces, *more], key=itemgetter(0))
        if not pieces:
            tops.append(None)  # any a is as good as another so far
            continue
        low, high, rising, falling = _cut(slope, pieces)
        tops.append((low, high))
        pieces = [(a - apart_mm, fall) for a, fall in rising]
        pieces += [(a + apart_mm, fall) for a, fall in falling]
    if tops[-1] is None:
        return None
    return _back(tops, apart_mm)


def _cut(slope: float, pieces: Sequence[_Piece]) -> tuple[float, float, list[_Piece], list[_Piece]]:
    """Where a concave function is greatest, from and to, and its pieces before and after it."""
    rising: list[_Piece] = []
    falling: list[_Piece] = []
    for a, fall in pieces:
        if slope <= _NOTHING:
            falling.append((a, fall))
        elif fall <= slope + _NOTHING:
            rising.append((a, fall))
        else:  # the top is a point
            rising.append((a, slope))
            falling.append((a, fall - slope))
        slope -= fall
    # A function of these has a top: it rises from the left and falls to the right.
    low = rising[-1][0] if rising else falling[0][0]
    high = falling[0][0] if falling else low
    return low, high, rising, falling


def _back(tops: Sequence[tuple[float, float] | None], apart_mm: float) -> list[tuple[float, float]]:
    """The best of the last line followed back to the first, lowest and highest at once."""
    found: list[tuple[float, float]] = []
    for top in reversed(tops):
        if found and top is not None:
            least, most = (
                min(max(own, after - apart_mm), after + apart_mm)
                for own, after in zip(top, found[-1], strict=True)
            )
            found.append((least, most))
        else:
            found.append(top or (found[-1][0] - apart_mm, found[-1][1] + apart_mm))
    return found[::-1]
