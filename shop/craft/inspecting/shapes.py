"""Closed lines of points: drawn and asked by the same numbers.

A curve is sampled once, to tenths of a millimetre; what is drawn and what a finger hits are
then the same polygon. A loop that runs the other way round is a hole.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise
from math import cos, hypot, pi, sin
from typing import Final

Point = tuple[float, float]
Loop = tuple[Point, ...]

PARTS: Final = 14  # a curve is drawn by so many straight pieces


def cubic(start: Point, first: Point, second: Point, end: Point) -> list[Point]:
    """A cubic Bezier curve by points, its start left out, its end included.

    >>> cubic((0, 0), (0, 0), (10, 0), (10, 0))[-1]
    (10.0, 0.0)
    """
    found = []
    for at in range(1, PARTS + 1):
        t = at / PARTS
        weights = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
        x, y = (
            sum(w * p[axis] for w, p in zip(weights, (start, first, second, end), strict=True))
            for axis in (0, 1)
        )
        found.append((x, y))
    return found


def ellipse(middle: Point, half_x: float, half_y: float, parts: int = 16) -> Loop:
    """An ellipse by points."""
    angles = (2 * pi * at / parts for at in range(parts))
    return loop((middle[0] + half_x * cos(a), middle[1] + half_y * sin(a)) for a in angles)


def rectangle(left: float, top: float, right: float, bottom: float) -> Loop:
    return loop([(left, top), (right, top), (right, bottom), (left, bottom)])


def rounded_rectangle(
    left: float, top: float, right: float, bottom: float, radius: float
) -> list[Point]:
    """A rectangle with round corners, from its upper left along the top."""
    near = 0.45 * radius  # a quarter of a circle by one curve
    points: list[Point] = [(left + radius, top), (right - radius, top)]
    points += cubic(points[-1], (right - near, top), (right, top + near), (right, top + radius))
    points.append((right, bottom - radius))
    corner = (right - radius, bottom)
    points += cubic(points[-1], (right, bottom - near), (right - near, bottom), corner)
    points.append((left + radius, bottom))
    corner = (left, bottom - radius)
    points += cubic(points[-1], (left + near, bottom), (left, bottom - near), corner)
    points.append((left, top + radius))
    return points + cubic(points[-1], (left, top + near), (left + near, top), points[0])


def tenths(points: Iterable[Point]) -> list[Point]:
    """The points to tenths of a millimetre, without those that fall together.

    >>> tenths([(0.04, 1.26), (0.01, 1.32), (2, 3)])
    [(0.0, 1.3), (2.0, 3.0)]
    """
    found: list[Point] = []
    for x, y in points:
        one = (round(float(x), 1) + 0.0, round(float(y), 1) + 0.0)
        if not found or found[-1] != one:
            found.append(one)
    return found


def loop(points: Iterable[Point]) -> Loop:
    """A closed line to tenths of a millimetre that runs the positive way round."""
    found = tenths(points)
    if len(found) > 1 and found[0] == found[-1]:
        found.pop()
    return tuple(found if area(found) > 0 else found[::-1])


def hole(points: Iterable[Point]) -> Loop:
    """A closed line that runs the other way round: what is inside it is left out."""
    return loop(points)[::-1]


def area(points: Sequence[Point]) -> float:
    """Twice the area a closed line holds, negative where it runs the other way round.

    >>> area([(0, 0), (2, 0), (2, 3), (0, 3)])
    12
    """
    closed = [*points, *points[:1]]
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise(closed))


def winding(loops: Iterable[Loop], x: float, y: float) -> int:
    """How often the loops go round a point; 0 is outside.

    Source: the winding number by crossings of a ray, the rule by which SVG fills a path
    (W3C, Scalable Vector Graphics 1.1, 11.3, fill-rule nonzero).

    >>> square = rectangle(0, 0, 9, 9)
    >>> winding([square], 4, 4), winding([square, hole(rectangle(3, 3, 6, 6))], 4, 4)
    (1, 0)
    """
    turns = 0
    for one in loops:
        for (x0, y0), (x1, y1) in pairwise((*one, one[0])):
            # Of an edge its lower end counts and its upper does not, so that a point on a
            # boundary of two zones lies in one of them.
            if (y0 <= y) != (y1 <= y):
                side = (x1 - x0) * (y - y0) - (x - x0) * (y1 - y0)
                if y1 > y0 and side > 0:
                    turns += 1
                elif y1 < y0 and side < 0:
                    turns -= 1
    return turns


def distance(loops: Iterable[Loop], x: float, y: float) -> float:
    """From a point to the nearest line of these loops.

    >>> distance([rectangle(0, 0, 9, 9)], 12, 13)
    5.0
    """
    return min(
        _to_piece(a, b, x, y) for one in loops for a, b in pairwise((*one, one[0]))
    )  # fmt: skip


def _to_piece(start: Point, end: Point, x: float, y: float) -> float:
    along_x, along_y = end[0] - start[0], end[1] - start[1]
    whole = along_x**2 + along_y**2
    t = ((x - start[0]) * along_x + (y - start[1]) * along_y) / whole if whole else 0.0
    t = min(max(t, 0.0), 1.0)
    return hypot(x - start[0] - t * along_x, y - start[1] - t * along_y)


def with_cuts(edge: Sequence[Point], cuts: Iterable[float]) -> list[Point]:
    """An edge that runs down in y, to tenths, with a point of its own at each of these y."""
    found = tenths(edge)
    for cut in sorted(round(one, 1) for one in cuts):
        for at, ((x0, y0), (x1, y1)) in enumerate(pairwise(found)):
            if y0 < cut < y1:
                x = round(x0 + (x1 - x0) * (cut - y0) / (y1 - y0), 1)
                found.insert(at + 1, (x, cut))
                break
    return found


def between(edge: Iterable[Point], top: float, bottom: float) -> list[Point]:
    """The part of an edge between two of its cuts, both included."""
    return [one for one in edge if round(top, 1) <= one[1] <= round(bottom, 1)]


def mirrored(points: Iterable[Point]) -> list[Point]:
    """The points on the other side of the centre line, in the other order."""
    return [(-x, y) for x, y in points][::-1]


def path(loops: Iterable[Loop], placed: Callable[[Point], Point]) -> str:
    """The loops as the path of a drawing, each point placed on its page."""
    return "".join("M" + "L".join(map(_said, map(placed, one))) + "Z" for one in loops)


def line(points: Iterable[Point], placed: Callable[[Point], Point]) -> str:
    """An open line as the path of a drawing."""
    return "M" + "L".join(_said(placed(one)) for one in tenths(points))


def _said(point: Point) -> str:
    return " ".join(f"{one + 0.0:.1f}".removesuffix(".0") for one in point)
