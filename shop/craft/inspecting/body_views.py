"""Each view of an instrument, laid out: its zones, and what stands round them."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Final

from shop.craft.hardware import Hand, SpecFacts
from shop.craft.inspecting import body_strokes as strokes
from shop.craft.inspecting.body_view import (
    Axes,
    Badge,
    Label,
    Stroke,
    View,
    ZoneShape,
    drawn,
    measured,
    placed,
)
from shop.craft.inspecting.shapes import (
    Loop,
    Point,
    between,
    cubic,
    hole,
    loop,
    mirrored,
    rectangle,
    rounded_rectangle,
)
from shop.craft.inspecting.silhouette import BRIDGE_ROUND_MM, HEEL_MM, NUT_MM, Silhouette
from shop.craft.zones import ZONES

NAMES: Final = dict(pair for zones in ZONES.values() for pair in zones)
FLAT: Final[Axes] = ((1.0, 0.0), (0.0, 1.0))
WHOLE_MM: Final = 540.0  # how wide the page of a whole guitar is
HEAD_MM: Final = 190.0  # and that of a head
BESIDE_MM: Final = 160.0  # from the centre line to what stands beside the neck
FINGER_MM: Final = 37.5  # half of what a gloved finger needs on the page of a whole guitar
STUB_MM: Final = 62.0  # how much of the neck the head is shown with
SHEET_MM: Final = (210.0, 297.0)  # A4, ISO 216


def _upright(spec: SpecFacts, *, behind: bool = False) -> Axes:
    """The page of a guitar that stands on its tail: the treble side is on the right, but for
    a left-handed one, and for one seen from behind."""
    return ((-1.0 if (spec.hand is Hand.LEFT) != behind else 1.0, 0.0), (0.0, 1.0))


def _sides(axes: Axes, x: float, y: float) -> tuple[Label, Label]:
    """Which side is which, at the same height."""
    right = axes[0][0] * x
    return Label("bass", -right, round(y, 1)), Label("treble", right, round(y, 1))


def _front(spec: SpecFacts, key: str) -> View:
    it = Silhouette(spec)
    upper, lower = it.cuts
    edge = it.body_edge(upper, lower)
    shoulder, tongue = edge[0], (it.half_board(it.tongue), it.tongue)
    top, waist, belly = (
        between(edge, from_y, to_y)
        for from_y, to_y in ((it.joint, upper), (upper, lower), (lower, it.tail))
    )
    left, bridge_top, right, bridge_end = it.bridge_zone
    bridge = rounded_rectangle(left, bridge_top, right, bridge_end, 12)
    neck = loop([*_neck_end(it), shoulder, tongue, *mirrored([shoulder, tongue])])
    head_y, neck_y = (it.nut + it.tip) / 2, (it.nut + it.joint) / 2
    page = _Page(key, "Front", _upright(spec), it.nut)
    page.add(1, (0, head_y), *_head(it), badge=(BESIDE_MM, head_y))
    page.add(2, (0, neck_y), neck, badge=(BESIDE_MM, neck_y))
    page.add(3, (-tongue[0] - FINGER_MM, upper - FINGER_MM),
             loop([*top, *mirrored(top), (-tongue[0], tongue[1]), tongue]))  # fmt: skip
    page.add(4, (0, it.hole_y), loop([*waist, *mirrored(waist)]))
    page.add(6, (0, (bridge_end + it.tail) / 2), loop([*belly, *mirrored(belly)]), hole(bridge))
    page.add(5, (42 - it.bridge_half - BRIDGE_ROUND_MM, 2), loop(bridge))
    page.strokes += strokes.board(it, page.axes, it.tongue)
    page.strokes += strokes.top(it, page.axes) + strokes.head(it, page.axes)
    outline = loop([*edge, *mirrored(edge), *it.head_edge()[::-1]])
    labels = _sides(page.axes, BESIDE_MM, it.joint - 46)
    return page.laid((outline, *_head(it)[1:]), labels, WHOLE_MM)


def _back(spec: SpecFacts, key: str) -> View:
    it = Silhouette(spec)
    edge = it.body_edge(it.waist)
    upper, lower = between(edge, it.joint, it.waist), between(edge, it.waist, it.tail)
    heel_y = it.joint - HEEL_MM
    heel = (it.half_board(heel_y), heel_y)
    head_y, neck_y = (it.nut + it.tip) / 2, it.nut + 84
    page = _Page(key, "Back", _upright(spec, behind=True), it.nut)
    page.add(7, (0, head_y), *_head(it), badge=(BESIDE_MM, head_y))
    page.add(8, (0, neck_y), loop([*_neck_end(it), heel, *mirrored([heel])]),
             badge=(BESIDE_MM, neck_y))  # fmt: skip
    page.add(13, (0, it.joint - 38), loop([heel, edge[0], *mirrored([heel, edge[0]])]),
             badge=(-BESIDE_MM, it.joint - 62))  # fmt: skip
    page.add(9, (0, (it.joint + it.waist) / 2), loop([*upper, *mirrored(upper)]))
    page.add(10, (0, (it.waist + it.tail) / 2 + 10), loop([*lower, *mirrored(lower)]))
    side = heel[0] - 0.5
    sweep = cubic((side, heel_y), (side - 3, heel_y + 58), (14, heel_y + 40), (13, it.joint))
    seams = [[(x, it.joint), (x, it.tail)] for x in (-3, 3)]
    page.strokes += strokes.lines(page.axes, "thin", [sweep, mirrored(sweep), *seams])
    page.strokes += strokes.head(it, page.axes, behind=True)
    outline = loop([*edge, *mirrored([heel, *edge]), *it.head_edge()[::-1], heel])
    labels = _sides(page.axes, BESIDE_MM, it.nut + 168)
    return page.laid((outline, *_head(it)[1:]), labels, WHOLE_MM)


def _side(spec: SpecFacts, key: str) -> View:
    """A side, its front face up. Of a right-handed guitar the neck is then on the left where
    the bass side is seen, and on the right where the treble side is."""
    it = Silhouette(spec)
    along = 1.0 if (key == "bass side") == (spec.hand is not Hand.LEFT) else -1.0
    deep, shallow, heel = it.deep, 0.85 * it.deep, it.joint - HEEL_MM
    foot = shallow - 4
    bottom = cubic((deep - 3, it.tail), (deep + 3, it.tail - 0.45 * it.long),
                   (shallow + 8, it.joint + 0.3 * it.long), (shallow, it.joint))  # fmt: skip
    curve = [(foot, it.joint - 22)]
    curve += cubic(curve[0], (0.5 * foot, it.joint - 26), (22, it.joint - 38), (20, heel))
    middle = (it.joint + it.tail) / 2
    title = "Bass side, front face up" if key == "bass side" else "Treble side, front face up"
    page = _Page(key, title, ((0.0, 1.0), (along, 0.0)), it.nut)
    body = loop([(0, it.joint), (0, it.tail), (deep - 3, it.tail), *bottom, (foot, it.joint)])
    page.add(11 if key == "bass side" else 12, (0.47 * deep, middle), body)
    page.add(13, (0.3 * foot, it.joint - 16),
             loop([(0, heel), (0, it.joint), (foot, it.joint), *curve]),
             badge=(deep + 44, it.joint - 40))  # fmt: skip
    torn: list[Point] = [
        (-6, heel),
        (-6, heel - 20),
        (2, heel - 26),
        (9, heel - 18),
        (20, heel - 23),
        (20, heel),
    ]
    board: list[Point] = [(-6, heel), (-6, it.tongue), (0, it.tongue)]
    linings: list[list[Point]] = [[(5, it.joint), (5, it.tail)], [(x - 5, y) for x, y in bottom]]
    page.strokes += strokes.lines(page.axes, "thin", [torn, board, *linings])
    page.strokes += strokes.shapes(page.axes, "bridge", [rectangle(-8, -14, 0, 21)])
    page.strokes += strokes.lines(page.axes, "saddle", [[(-8, 0), (-12, 0)]])
    if spec.tail != "none":
        pin = rounded_rectangle(deep / 2 - 6, it.tail, deep / 2 + 6, it.tail + 9, 3)
        page.strokes += strokes.shapes(page.axes, "metal", [loop(pin)])
    outline = loop(
        [(0, heel), (0, it.tail), (deep - 3, it.tail), *bottom, (foot, it.joint), *curve]
    )
    labels = (
        Label("front", round(along * middle, 1), -30),
        Label("back", round(along * middle, 1), round(deep + 40, 1)),
    )
    return page.laid((outline,), labels, 0, room=(42, 60, 26, 96))


def _one_head(spec: SpecFacts, key: str) -> View:
    """The head alone, larger, with as much of the neck as a finger needs."""
    it = Silhouette(spec)
    behind = key == "head back"
    end = it.nut + STUB_MM
    page = _Page(key, "Head, back" if behind else "Head, front",
                 _upright(spec, behind=behind), it.nut)  # fmt: skip
    low = (it.half_board(end), end)
    page.add(7 if behind else 1, (0, (it.tip + it.nut) / 2), *_head(it))
    page.add(
        8 if behind else 2, (0, it.nut + STUB_MM / 2), loop([*_neck_end(it), low, *mirrored([low])])
    )
    if not behind:
        page.strokes += strokes.board(it, page.axes, end)
    page.strokes += strokes.head(it, page.axes, behind=behind)
    outline = loop([low, *mirrored([low]), *it.head_edge()[::-1]])
    labels = _sides(page.axes, 0.33 * HEAD_MM, it.nut + 40)
    return page.laid((outline, *_head(it)[1:]), labels, HEAD_MM)


def _inside(spec: SpecFacts, key: str) -> View:
    """The inside of the body, as though the top were of glass."""
    it = Silhouette(spec)
    edge = it.body_edge()
    body = loop([*edge, *mirrored(edge)])
    page = _Page(key, "Inside, through the top", _upright(spec), it.nut)
    page.add(14, (0, it.hole_y), body)
    page.strokes += strokes.braces(it, page.axes, body)
    blocks = [
        rectangle(-38, it.joint + 2, 38, it.joint + 34),
        rectangle(-38, it.tail - 22, 38, it.tail - 2),
    ]
    page.strokes += strokes.shapes(page.axes, "bridge", blocks)
    labels = _sides(page.axes, 0.4 * it.wide, it.joint - 10)
    return page.laid((body,), labels, 0, room=(20, 34, 20, 14))


def _case(spec: SpecFacts, key: str) -> View:
    """The case with its lid up, lying with its handle toward the reader."""
    it = Silhouette(spec)
    end, neck, body = (it.tail - it.tip) / 2 + 26, 92.0, it.wide / 2 + 30
    joint = end - it.long - 90
    upper: list[Point] = [(-end, 0)]
    upper += cubic((-end, 0), (-end, -0.8 * neck), (-end + 10, -neck), (-end + 50, -neck))
    upper.append((joint - 90, -neck - 8))
    upper += cubic(upper[-1], (joint - 10, -neck - 8), (joint - 10, -body), (joint + 110, -body))
    upper.append((end - 110, -body))
    upper += cubic(upper[-1], (end - 20, -body), (end, -0.6 * body), (end, 0))
    lid = loop([*upper, *((x, -y) for x, y in reversed(upper))])
    middle = (joint + end) / 2 + 20
    grip = [loop(rounded_rectangle(middle - 62, body - 1, middle + 62, body + 26, 12))]
    page = _Page(key, "Case, its lid up", FLAT, 0)
    page.add(15, (0, 0), lid, *grip)
    latches = [rectangle(x - 12, body - 26, x + 12, body - 2) for x in (middle - 120, middle + 120)]
    latches.append(rectangle(-end + 130, neck - 22, -end + 154, neck - 1))
    page.strokes += strokes.shapes(FLAT, "metal", latches)
    page.strokes += strokes.lines(FLAT, "thin", [[(0.94 * x, 0.88 * y) for x, y in [*lid, lid[0]]]])
    return page.laid((lid, *grip), (), 0)


def _paper(spec: SpecFacts, key: str) -> View:
    """A sheet of the instrument's papers."""
    wide, high = SHEET_MM
    page = _Page(key, "Papers", FLAT, 0)
    page.add(16, (wide / 2, 0.62 * high), rectangle(0, 0, wide, high))
    rows = [[(24, y), (wide - 24 - 40 * (y % 36 == 0), y)] for y in range(72, 276, 18)]
    page.strokes += strokes.lines(FLAT, "thin", rows)
    page.strokes += strokes.shapes(FLAT, "thin", [rectangle(wide - 64, 20, wide - 24, 56)])
    page.strokes += strokes.lines(FLAT, "saddle", [[(24, 32), (118, 32)]])
    return page.laid((rectangle(0, 0, wide, high),), (), 0)


def _neck_end(it: Silhouette) -> list[Point]:
    """Where the neck meets the head, from the bass side to the treble side."""
    half, y = it.half_board(it.nut), it.nut - NUT_MM
    return [(-half, y), (half, y)]


def _head(it: Silhouette) -> tuple[Loop, ...]:
    """The head and what of its machines stands beyond it."""
    machines = [part for _post, shaft, button in it.machines() for part in (shaft, button)]
    return (loop(it.head_edge()), *machines)


class _Page:
    """A view while it is laid out. ``nut``: where the nut lies along the wood."""

    def __init__(self, key: str, title: str, axes: Axes, nut: float) -> None:
        self.key, self.title, self.axes, self.nut = key, title, axes, nut
        self.zones: list[ZoneShape] = []
        self.strokes: list[Stroke] = []

    def add(self, number: int, centre: Point, *loops: Loop, badge: Point | None = None) -> None:
        """A zone; where it is too small for a finger, its number stands at ``badge``."""
        x, y = self._placed(centre)
        beside = None if badge is None else Badge(*self._placed(badge), x, y)
        reference = measured(self.key, number)
        if reference.key == "nut":
            reference = replace(reference, origin=(0.0, self.nut))
        self.zones.append(
            ZoneShape(
                number=number, name=NAMES[number], d=drawn(loops, self.axes), centre=centre,
                page_centre=(x, y), loops=loops, reference=reference, badge=beside,
            )
        )  # fmt: skip

    def _placed(self, point: Point) -> Point:
        x, y = placed(self.axes, point)
        return round(x, 1), round(y, 1)

    def laid(
        self,
        outline: tuple[Loop, ...],
        labels: tuple[Label, ...],
        least_wide: float,
        room: tuple[float, float, float, float] = (14, 14, 14, 14),
    ) -> View:
        """The view round its outline, with so much room left, above, right and below."""
        points = [placed(self.axes, point) for one in outline for point in one]
        left, right = _ends(x for x, _y in points)
        top, bottom = _ends(y for _x, y in points)
        left, top, right, bottom = left - room[0], top - room[1], right + room[2], bottom + room[3]
        # Left and right of the centre line alike, so that both hands have the same page.
        if least_wide:
            half = max(least_wide / 2, -left, right)
            left, right = -half, half
        return View(
            key=self.key, title=self.title, left=round(left, 1), top=round(top, 1),
            size_mm=(round(right - left, 1), round(bottom - top, 1)),
            outline=drawn(outline, self.axes), loops=outline, zones=tuple(self.zones),
            reference=self.zones[-1].reference, strokes=tuple(self.strokes), labels=labels,
            axes=self.axes,
        )  # fmt: skip


def _ends(values: Iterable[float]) -> tuple[float, float]:
    found = list(values)
    return min(found), max(found)


DRAWN: Final[dict[str, Callable[[SpecFacts, str], View]]] = {
    "front": _front,
    "back": _back,
    "bass side": _side,
    "treble side": _side,
    "head front": _one_head,
    "head back": _one_head,
    "inside": _inside,
    "case": _case,
    "paper": _paper,
}
"""How each view is drawn, in the order one turns an instrument."""
