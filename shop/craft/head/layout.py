"""Where each part of the drawing of a head lies.

Shape and places are a plain sign of a head, not a pattern to build from.
"""

from __future__ import annotations

from shop.craft.hardware import Hand, Head, SpecFacts, TunerFamily
from shop.craft.head.drawing import WIDTH, Dot, Drawing, Point, Run, Slot, View
from shop.craft.head.stringing import PAIRED, Post, at_nut, posts

CENTRE = WIDTH // 2
COLUMN = 70  # from the centre line to a column of posts
TIP_Y = 136
SHORT_COLUMN = 3  # posts on a side that leave room for the wider pitch
PITCH, LONG_PITCH = 84, 78  # between posts along the head
TIP_TO_POST = {Head.SOLID: 66, Head.SLOTTED: 88}
POST_TO_NUT = {Head.SOLID: 86, Head.SLOTTED: 130}
RADIUS = {Head.SOLID: 30, Head.SLOTTED: 26}
SLOT_HALF, SLOT_BEYOND_POST = 36, 64
BUTTON_OUT = 76  # from a post to the middle of its button
NUT_HALF = 54
NUT_TO_FOOT, KEY_HEIGHT = 58, 40
STRING_STEP, PAIR_GAP = 14, 6  # between strings, or pairs, at the nut
SHOULDER_RISE, NECK_RISE, CROWN = 62, 14, 26


def draw(spec: SpecFacts, view: View) -> Drawing:
    """The head of a spec seen from the front or the back.

    Raises ``ValueError`` for another view.
    """
    if view not in ("front", "back"):
        raise ValueError(f"No head is drawn from {view!r}: name the front or the back.")
    front = _front(spec)
    return front if view == "front" else front.turned_over()


def _front(spec: SpecFacts) -> Drawing:
    rows = max(spec.left_posts, spec.right_posts)
    pitch = PITCH if rows <= SHORT_COLUMN else LONG_PITCH
    low_y = TIP_Y + TIP_TO_POST[spec.head] + (rows - 1) * pitch
    nut_y = low_y + POST_TO_NUT[spec.head]
    across = _across(spec)
    dots = tuple(
        _dot(spec, post, across[post.string], low_y - (post.order - 1) * pitch)
        for post in posts(spec)
    )
    return Drawing(
        view="front",
        bass="right" if spec.hand is Hand.LEFT else "left",
        height=nut_y + NUT_TO_FOOT + (KEY_HEIGHT if spec.strings == PAIRED else 0),
        nut_x=CENTRE - NUT_HALF,
        nut_y=nut_y,
        nut_width=2 * NUT_HALF,
        edge=_line_edge(dots, nut_y)
        if spec.tuner_family is TunerFamily.LINE
        else _even_edge(nut_y),
        slots=_slots(low_y, rows, pitch) if spec.head is Head.SLOTTED else (),
        dots=dots,
        runs=tuple(_run(dot, across[dot.post.string], nut_y) for dot in dots),
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


def _dot(spec: SpecFacts, post: Post, across: int, y: int) -> Dot:
    """In line, each post stands where its string runs straight; else posts stand in columns."""
    outward = -1 if post.side == "left" else 1
    radius = RADIUS[spec.head]
    x = (
        across + outward * radius
        if spec.tuner_family is TunerFamily.LINE
        else CENTRE + outward * COLUMN
    )
    return Dot(
        post=post,
        view="front",
        side=post.side,
        x=x,
        y=y,
        radius=radius,
        button_x=x + outward * BUTTON_OUT,
    )


def _run(dot: Dot, across: int, nut_y: int) -> Run:
    return Run(
        string=dot.label, nut=(across, nut_y), post=(dot.x - dot.outward * dot.radius, dot.y)
    )


def _slots(low_y: int, rows: int, pitch: int) -> tuple[Slot, ...]:
    top = low_y - (rows - 1) * pitch - SLOT_BEYOND_POST
    height = low_y + SLOT_BEYOND_POST - top
    return tuple(
        Slot(x=middle - SLOT_HALF, y=top, width=2 * SLOT_HALF, height=height)
        for middle in (CENTRE - COLUMN, CENTRE + COLUMN)
    )


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
