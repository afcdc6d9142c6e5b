"""A head as drawn in one view: all a template needs to draw it, and to say it.

Coordinates are whole units from the upper left, 340 across, about one to a CSS pixel on a
phone; the nut is at the bottom, the tip at the top.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from shop.craft.head.stringing import ORDINALS, PAIRED, Post, Side, Turn

View = Literal["front", "back"]
Point = tuple[int, int]

WIDTH = 340
BUTTON_HALF = 16
ARC = 42  # radius of the turn arrow over a ring
ROLLER_HALF = 22  # half the height of a roller
FRAME_IN = 6  # from the edge of a machine to the frame round its mark
RATIO_BELOW, ROLLED_RATIO_BELOW = 58, 78  # from a post to the base line of its ratio
KEY_LINE = 36  # between the lines of the key
OTHER_SIDE: dict[Side, Side] = {"left": "right", "right": "left"}
HANDS = {"L": "left", "R": "right"}
TURNS: dict[Turn, str] = {
    "counter-clockwise": "Turns counter-clockwise to tighten, seen from here.",
    "clockwise": "Turns clockwise to tighten, seen from here.",
    "front face toward the tip": "Its front face turns toward the tip to tighten.",
    "back face toward the nut": "Its back face turns toward the nut to tighten.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """An upright rectangle: a slot, a plate, the place to tap."""

    x: int
    y: int
    width: int
    height: int

    def turned_over(self) -> Box:
        """The same rectangle seen from the other side of the head."""
        return replace(self, x=WIDTH - self.x - self.width)


@dataclass(frozen=True, slots=True, kw_only=True)
class Dot:
    """One post as drawn in one view: a ring with its string, its button, its turn."""

    post: Post
    view: View
    side: Side  # as seen in this view
    x: int
    y: int
    radius: int
    button_x: int
    target: Box  # what a finger may tap for this post
    mark: str = ""  # on the machine, where each has its own
    ratio: str = ""  # of the machine, where each has its own

    @property
    def label(self) -> str:
        return self.post.string

    @property
    def label_y(self) -> int:
        """The base line that puts figures in the middle of the ring."""
        return self.y + 13

    @property
    def rolled(self) -> bool:
        """Whether the string winds on a roller across a slot."""
        return self.post.turn_front == "front face toward the tip"

    @property
    def body(self) -> Box:
        """The roller, or the machine's housing as it is seen from the back."""
        half = ROLLER_HALF if self.rolled else self.radius
        return Box(x=self.x - self.radius, y=self.y - half, width=2 * self.radius, height=2 * half)

    @property
    def frame(self) -> Box:
        """The frame round the mark, inside the machine."""
        body = self.body
        return Box(
            x=body.x + FRAME_IN,
            y=body.y + FRAME_IN,
            width=body.width - 2 * FRAME_IN,
            height=body.height - 2 * FRAME_IN,
        )

    @property
    def ratio_y(self) -> int:
        """The base line of the ratio, clear of the turn arrow."""
        return self.y + (ROLLED_RATIO_BELOW if self.rolled else RATIO_BELOW)

    @property
    def outward(self) -> int:
        return -1 if self.side == "left" else 1

    @property
    def shaft(self) -> Point:
        """Where the button's shaft begins and ends, across the head."""
        return self.button_x - self.outward * BUTTON_HALF, self.x + self.outward * self.radius

    @property
    def turn(self) -> Turn:
        return self.post.turn_front if self.view == "front" else self.post.turn_back

    @property
    def arrow(self) -> str:
        """The turn as a path: over the top of the ring, or along the slot for a roller."""
        x, y = self.x, self.y
        if self.rolled:
            toward = -1 if self.view == "front" else 1
            return f"M{x} {y + toward * 25}v{toward * 13}"
        sense, sweep = (-1, 0) if self.turn == "counter-clockwise" else (1, 1)
        return f"M{x - sense * 36} {y - 21}A{ARC} {ARC} 0 0 {sweep} {x + sense * 36} {y - 21}"

    @property
    def arrow_tip(self) -> str:
        """The arrow's head as a path."""
        x, y = self.x, self.y
        if self.rolled:
            toward = -1 if self.view == "front" else 1
            return f"M{x} {y + toward * 49}l10 {-toward * 13}h-20z"
        sense = -1 if self.turn == "counter-clockwise" else 1
        return f"M{x + sense * 44} {y - 6}l{-sense * 18} -10l{sense * 20} -11z"

    @property
    def place(self) -> str:
        """Where the post is, seen in this view: "right side, second from the nut"."""
        return f"{self.side} side, {ORDINALS[self.post.order - 1]} from the nut"

    @property
    def name(self) -> str:
        """The post in a few words: "String 6o, left side, first from the nut"."""
        return f"String {self.label}, {self.place}"

    @property
    def spoken(self) -> str:
        """String, place, machine and turn of the post as it is seen in this view."""
        string = self.label.replace("o", " octave").replace("'", " second of the pair")
        machine = f"{HANDS[self.post.machine].capitalize()} machine"
        marked = f", marked {self.mark}" if self.mark else ""
        geared = f", {self.ratio}" if self.ratio else ""
        return f"String {string}: {self.place}. {machine}{marked}{geared}. {TURNS[self.turn]}"

    def turned_over(self) -> Dot:
        """The same post seen from the other side of the head."""
        return replace(
            self,
            view="back" if self.view == "front" else "front",
            side=OTHER_SIDE[self.side],
            x=WIDTH - self.x,
            button_x=WIDTH - self.button_x,
            target=self.target.turned_over(),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A string from the nut to where it meets its post."""

    string: str
    nut: Point
    post: Point

    def turned_over(self) -> Run:
        """The same string seen from the other side of the head."""
        return replace(
            self, nut=(WIDTH - self.nut[0], self.nut[1]), post=(WIDTH - self.post[0], self.post[1])
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """A head seen from one side, all a template needs to draw it and to say it."""

    view: View
    bass: Side  # as seen in this view
    nut_x: int  # the nut lies in the middle, alike in both views
    nut_y: int
    nut_width: int
    height: int
    edge: tuple[Point, ...]
    slots: tuple[Box, ...]
    plates: tuple[Box, ...]  # each carries the machines of its side
    dots: tuple[Dot, ...]
    runs: tuple[Run, ...]
    staggered: bool = False  # the posts of its set fall toward the tip

    @property
    def width(self) -> int:
        return WIDTH

    @property
    def heading(self) -> str:
        return self.view.upper()

    @property
    def facing(self) -> str:
        """What faces the reader."""
        return f"{'strings' if self.view == 'front' else 'machines'} facing you"

    @property
    def title(self) -> str:
        return f"{self.heading} — {self.facing}"

    @property
    def outline(self) -> str:
        return "M" + "L".join(f"{x} {y}" for x, y in self.edge) + "Z"

    @property
    def plates_seen(self) -> tuple[Box, ...]:
        """The plates that show in this view: those of a solid head lie on its back, those of
        a slotted head along its edges."""
        return self.plates if self.view == "back" or self.slots else ()

    @property
    def marks_seen(self) -> bool:
        """Whether marks and ratios show in this view: they stand on the back of the machines."""
        return self.view == "back" and any(dot.mark for dot in self.dots)

    @property
    def label_size(self) -> int:
        """The size of type that puts the longest label inside its ring."""
        return 36 if max(len(dot.label) for dot in self.dots) == 1 else 32

    @property
    def edges(self) -> tuple[str, str]:
        """The words at the nut, left and right."""
        return ("bass", "treble") if self.bass == "left" else ("treble", "bass")

    @property
    def hands(self) -> tuple[str, str]:
        """How many machines of which hand stand left and right in this view, as "3 L"."""
        left, right = (
            [dot.post.machine for dot in self.dots if dot.side == side]
            for side in ("left", "right")
        )
        return _counted(left), _counted(right)

    @property
    def hands_y(self) -> int:
        """The base line of the hands, in the corners beside the nut."""
        return self.nut_y - 4

    @property
    def nut_end_x(self) -> int:
        return self.nut_x + self.nut_width

    @property
    def words_y(self) -> int:
        """The base line of the words below the nut."""
        return self.nut_y + 46

    @property
    def keys(self) -> tuple[tuple[int, str], ...]:
        """What the signs of this drawing mean, each line with its base line."""
        lines = [
            "o octave · ' second" if len(self.dots) == PAIRED else "",
            "posts fall toward the tip" if self.staggered else "",
            "double frame: its mark" if self.marks_seen else "",
        ]
        told = [line for line in lines if line]
        return tuple((self.words_y + KEY_LINE * at, line) for at, line in enumerate(told, 1))

    @property
    def summary(self) -> str:
        """The drawing in words, for who does not see it."""
        falling = " Posts fall toward the tip." if self.staggered else ""
        spoken = " ".join(dot.spoken for dot in self.dots)
        where = f"Nut at the bottom, tip at the top, bass strings on the {self.bass}."
        return f"{where}{falling} {spoken}"

    def turned_over(self) -> Drawing:
        """The same head from its other side: left and right change places, turns reverse."""
        return replace(
            self,
            view="back" if self.view == "front" else "front",
            bass=OTHER_SIDE[self.bass],
            edge=tuple((WIDTH - x, y) for x, y in self.edge),
            slots=tuple(one.turned_over() for one in self.slots),
            plates=tuple(one.turned_over() for one in self.plates),
            dots=tuple(one.turned_over() for one in self.dots),
            runs=tuple(one.turned_over() for one in self.runs),
        )


def _counted(hands: Sequence[str]) -> str:
    return f"{len(hands)} {hands[0]}" if hands else ""
