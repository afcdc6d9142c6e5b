"""The lines by which a guitar is recognised on a drawing: frets, rosette, bridge, machines."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import hypot
from typing import Final

from shop.craft.inspecting.body_view import Axes, Stroke, drawn, placed
from shop.craft.inspecting.shapes import (
    Loop,
    Point,
    cubic,
    ellipse,
    line,
    loop,
    mirrored,
    rectangle,
    winding,
)
from shop.craft.inspecting.silhouette import NUT_MM, Silhouette
from shop.craft.set_up.scale import fret_place

DOTS: Final = (3, 5, 7, 9, 12, 15, 17)  # frets with a marker before them
PINS: Final = 6


def lines(axes: Axes, kind: str, found: Iterable[Sequence[Point]]) -> list[Stroke]:
    """Open lines of the wood as they are drawn."""
    return [Stroke(kind, line(one, lambda point: placed(axes, point))) for one in found]


def shapes(axes: Axes, kind: str, found: Iterable[Loop]) -> list[Stroke]:
    """Closed lines of the wood as they are drawn."""
    return [Stroke(kind, drawn((one,), axes)) for one in found]


def board(it: Silhouette, axes: Axes, end: float) -> list[Stroke]:
    """The nut, the frets and their markers as far as ``end``."""
    half = it.half_board(it.nut)
    found = shapes(axes, "dark", [rectangle(-half, it.nut - NUT_MM, half, it.nut)])
    rows = [it.nut, *(it.nut + fret_place(it.scale, fret) for fret in range(1, 25))]
    rows = [row for row in rows if row < end - 2]
    found += lines(axes, "thin", [[(-it.half_board(y), y), (it.half_board(y), y)] for y in rows])
    middles = [(rows[fret - 1] + rows[fret]) / 2 for fret in DOTS if fret < len(rows)]
    return found + shapes(axes, "dark", [ellipse((0, y), 3, 3, 10) for y in middles])


def top(it: Silhouette, axes: Axes) -> list[Stroke]:
    """The soundhole with its rosette, the pickguard, the bridge."""
    rings = [ellipse((0, it.hole_y), it.hole_half + by, it.hole_half + by, 36) for by in (6, 11)]
    found = shapes(axes, "thin", rings)
    found += shapes(axes, "ground", [ellipse((0, it.hole_y), it.hole_half, it.hole_half, 36)])
    if guard := it.pickguard():
        found += shapes(axes, "guard", [guard])
    found += shapes(axes, "bridge", [loop(_bridge(it))])
    half = float(it.spec.saddle_slot_length_mm) / 2
    found += lines(axes, "saddle", [[(-half, 0.8), (half, -0.8)]])
    spread = min(0.8 * half, 32)
    pins = [(-spread + 2 * spread * at / (PINS - 1), 12.0) for at in range(PINS)]
    if it.spec.pin_taper_deg is None:
        return found + lines(axes, "thin", [[(x, y - 5), (x, y + 3)] for x, y in pins])
    return found + shapes(axes, "dark", [ellipse(one, 2.6, 2.6, 10) for one in pins])


def _bridge(it: Silhouette) -> list[Point]:
    """The bridge: broad in the middle, thin wings, its back a shallow curve."""
    out, inner = it.bridge_half, it.bridge_half - 34
    half: list[Point] = [(0, -14), (inner, -14)]
    half += cubic(half[-1], (inner + 8, -14), (inner + 8, -9), (inner + 16, -9))
    half.append((out - 4, -9))
    half += cubic(half[-1], (out, -9), (out, 13), (out - 4, 13))
    half.append((inner + 16, 13))
    half += cubic(half[-1], (inner - 4, 13), (inner - 16, 21), (0, 21))
    return half + mirrored(half)[1:-1]


def head(it: Silhouette, axes: Axes, *, behind: bool = False) -> list[Stroke]:
    """The slots and their rollers, or the posts; from behind the housings of the machines."""
    posts = [post for post, _shaft, _button in it.machines()]
    if slots := it.head_slots():
        rollers = [rectangle(x - 7.5, y - 3, x + 7.5, y + 3) for x, y in posts]
        return shapes(axes, "ground", slots) + shapes(axes, "metal", rollers)
    size = min(6.5, 0.38 * float(it.spec.pitch_mm))
    broad = 1.4 * size if behind else size
    found = shapes(axes, "metal", [ellipse(one, broad, 1.1 * size) for one in posts])
    return found + shapes(axes, "dark", [ellipse(one, 2.2, 2.2, 10) for one in posts])


def braces(it: Silhouette, axes: Axes, body: Loop) -> list[Stroke]:
    """What holds the top from inside: a cross beyond the soundhole, bars above and below."""
    cross = (0.0, it.hole_y + it.hole_half + 30)
    found = []
    for to_x, to_y in ((0.78, -0.72), (-0.78, -0.72), (0.78, 0.72), (-0.78, 0.72)):
        found.append([cross, _until_edge(body, cross, (to_x, to_y))])
    bar = it.hole_y - it.hole_half - 20
    found.append([_until_edge(body, (0, bar), (way, 0)) for way in (-1.0, 1.0)])
    low = cross[1] + 0.55 * (it.tail - cross[1])
    found += [[(side * 26, low - 44), (side * 4, low + 60)] for side in (-1, 1)]
    rings = [ellipse((0, it.hole_y), it.hole_half, it.hole_half, 36)]
    return lines(axes, "brace", found) + shapes(axes, "thin", rings)


def _until_edge(body: Loop, start: Point, way: Point) -> Point:
    """Where a line of this way comes within a finger's breadth of the edge."""
    step = 4 / hypot(*way)
    x, y = start
    while winding([body], x + 3 * step * way[0], y + 3 * step * way[1]):
        x, y = x + step * way[0], y + step * way[1]
    return x, y
