"""Where each part of the drawing of a head lies.

Shape and places are a plain sign of a head, not a pattern to build from.
"""

from __future__ import annotations

from shop.craft.hardware import Hand, Head, SpecFacts, TunerFamily, TunerSet
from shop.craft.head.drawing import KEY_LINE, WIDTH, Box, Dot, Drawing, Point, Run, View
from shop.craft.head.stringing import PAIRED, Post, at_nut, posts, ratios

CENTRE = WIDTH // 2
COLUMN = 70  # from the centre line to a column of posts
TIP_Y = 102
SHORT_COLUMN = 3  # posts on a side that leave room for the wider pitch
PITCH, LONG_PITCH = 84, 78  # between posts along the head
RATIO_ROW = 26  # what a ratio under each post adds to the pitch
TIP_TO_POST = {Head.SOLID: 66, Head.SLOTTED: 88}
POST_TO_NUT = {Head.SOLID: 86, Head.SLOTTED: 130}
PLATE_ROOM = 8  # what a plate on the back adds at either end
RADIUS = {Head.SOLID: 30, Head.SLOTTED: 28}
SLOT_HALF, SLOT_BEYOND_POST = 42, 64
BUTTON_OUT = {Head.SOLID: 76, Head.SLOTTED: 80}  # from a post to the middle of its button
PLATE_HALF, PLATE_BEYOND_POST = 37, 48  # on the back of a solid head
STRIP_IN, STRIP_OUT, STRIP_BEYOND_POST = 124, 133, 40  # along the edge of a slotted one
NUT_HALF = 54
NUT_TO_FOOT = 58
STRING_STEP, PAIR_GAP = 14, 6  # between strings, or pairs, at the nut
SHOULDER_RISE, NECK_RISE, CROWN = 62, 14, 26
# What a finger may tap: from beyond the button to beyond the ring, the whole pitch high.
TARGET_BEYOND_BUTTON, TARGET_BEYOND_POST, TARGET_ABOVE_POST = 20, 44, 45


def draw(spec: SpecFacts, view: View, machines: TunerSet | None = None) -> Drawing:
    """The head of a spec seen from the front or the back.

    With the set of ``machines`` that is fitted, it shows what that set has: plates, marks and
    ratios on the back, posts that fall toward the tip. Without it, plates are drawn where the
    spec asks for them. Raises ``ValueError`` for another view.
    """
    if view not in ("front", "back"):
        raise ValueError(f"No head is drawn from {view!r}: name the front or the back.")
    front = _front(spec, machines)
    return front if view == "front" else front.turned_over()


def _front(spec: SpecFacts, machines: TunerSet | None) -> Drawing:
    geared = ratios(spec, machines)
    marked = machines is not None and machines.marked
    staggered = machines is not None and machines.staggered
    carried = machines.carried if machines else spec.tuner_family
    room = PLATE_ROOM if carried is TunerFamily.PLATE else 0
    row = RATIO_ROW if geared else 0
    rows = max(spec.left_posts, spec.right_posts)
    pitch = row + (PITCH if rows <= SHORT_COLUMN else LONG_PITCH)
    high_y = TIP_Y + TIP_TO_POST[spec.head] + room
    low_y = high_y + (rows - 1) * pitch
    nut_y = low_y + POST_TO_NUT[spec.head] + room + row
    across = _across(spec)
    dots = tuple(
        _dot(
            spec,
            post,
            across[post.string],
            low_y - (post.order - 1) * pitch,
            pitch,
            mark=post.mark if marked else "",
            ratio=geared.get(post.string, ""),
        )
        for post in posts(spec)
    )
    lines = (spec.strings == PAIRED) + staggered + marked
    return Drawing(
        view="front",
        bass="right" if spec.hand is Hand.LEFT else "left",
        height=nut_y + NUT_TO_FOOT + KEY_LINE * lines,
        nut_x=CENTRE - NUT_HALF,
        nut_y=nut_y,
        nut_width=2 * NUT_HALF,
        edge=_line_edge(dots, nut_y)
        if spec.tuner_family is TunerFamily.LINE
        else _even_edge(nut_y),
        slots=_slots(high_y, low_y + row) if spec.head is Head.SLOTTED else (),
        plates=_plates(spec, carried, high_y, low_y, row),
        dots=dots,
        runs=tuple(_run(dot, across[dot.post.string], nut_y) for dot in dots),
        staggered=staggered,
    )


def _across(spec: SpecFacts) -> dict[str, int]:
    """Where each string crosses the nut."""
    strings = at_nut(spec)
    if spec.strings == PAIRED:
        offsets = [STRING_STEP * (place // 2) + PAIR_GAP * (place % 2) for place in range(PAIRED)]
    else:
        offsets = [STRING_STEP * place for place in range(len(strings))]
    start = CENTRE - offsets[-1] // 2
    return {string: start + offset for string, offset in zip(strings, offsets, strict=True)}


def _dot(
    spec: SpecFacts, post: Post, across: int, y: int, pitch: int, *, mark: str, ratio: str
) -> Dot:
    """In line, each post stands where its string runs straight; else posts stand in columns."""
    outward = -1 if post.side == "left" else 1
    radius = RADIUS[spec.head]
    x = (
        across + outward * radius
        if spec.tuner_family is TunerFamily.LINE
        else CENTRE + outward * COLUMN
    )
    button_x = x + outward * BUTTON_OUT[spec.head]
    left, right = sorted(
        (button_x + outward * TARGET_BEYOND_BUTTON, x - outward * TARGET_BEYOND_POST)
    )
    return Dot(
        post=post,
        view="front",
        side=post.side,
        x=x,
        y=y,
        radius=radius,
        button_x=button_x,
        target=Box(x=left, y=y - TARGET_ABOVE_POST, width=right - left, height=pitch),
        mark=mark,
        ratio=ratio,
    )


def _run(dot: Dot, across: int, nut_y: int) -> Run:
    return Run(
        string=dot.label, nut=(across, nut_y), post=(dot.x - dot.outward * dot.radius, dot.y)
    )


def _slots(high_y: int, low_y: int) -> tuple[Box, ...]:
    top = high_y - SLOT_BEYOND_POST
    height = low_y + SLOT_BEYOND_POST - top
    return tuple(
        Box(x=middle - SLOT_HALF, y=top, width=2 * SLOT_HALF, height=height)
        for middle in (CENTRE - COLUMN, CENTRE + COLUMN)
    )


def _plates(
    spec: SpecFacts, carried: TunerFamily, high_y: int, low_y: int, row: int
) -> tuple[Box, ...]:
    """One plate on each side, where the machines are carried by plates that suit the head."""
    if carried is TunerFamily.PLATE and spec.head is Head.SOLID:
        inner, outer, beyond = COLUMN - PLATE_HALF, COLUMN + PLATE_HALF, PLATE_BEYOND_POST
    elif carried is TunerFamily.SLOT and spec.head is Head.SLOTTED:
        inner, outer, beyond, row = STRIP_IN, STRIP_OUT, STRIP_BEYOND_POST, 0
    else:
        return ()
    width, height = outer - inner, low_y + row - high_y + 2 * beyond
    left = Box(x=CENTRE - outer, y=high_y - beyond, width=width, height=height)
    return left, left.turned_over()


def _even_edge(nut_y: int) -> tuple[Point, ...]:
    """The edge of a head with posts on both sides, the same left and right."""
    left = (
        (CENTRE - NUT_HALF, nut_y),
        (CENTRE - NUT_HALF, nut_y - NECK_RISE),
        (CENTRE - 118, nut_y - SHOULDER_RISE),
        (CENTRE - 122, TIP_Y + CROWN),
        (CENTRE - 62, TIP_Y),
    )
    return left + tuple((WIDTH - x, y) for x, y in reversed(left))


def _line_edge(dots: tuple[Dot, ...], nut_y: int) -> tuple[Point, ...]:
    """The edge of a head with all posts on one side, sloping with them on that side."""
    outward = dots[0].outward
    posts_side = (
        (CENTRE + outward * NUT_HALF, nut_y),
        (CENTRE + outward * NUT_HALF, nut_y - NECK_RISE),
        (dots[0].x + outward * 54, nut_y - SHOULDER_RISE),
        (dots[-1].x + outward * 56, TIP_Y + CROWN),
        (dots[-1].x + outward * 20, TIP_Y),
    )
    far_side = (
        (CENTRE - outward * 42, TIP_Y),
        (CENTRE - outward * 62, TIP_Y + CROWN),
        (CENTRE - outward * NUT_HALF, nut_y - NECK_RISE),
        (CENTRE - outward * NUT_HALF, nut_y),
    )
    return posts_side + far_side
