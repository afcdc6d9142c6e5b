"""A head as drawn in one view: all a template needs to draw it, and to say it.

Coordinates are whole units, two to a pixel of a drawing 170 px wide, from the upper left;
the nut is at the bottom, the tip at the top.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from shop.craft.head.stringing import ORDINALS, PAIRED, Post, Side, Turn

View = Literal["front", "back"]
Point = tuple[int, int]

WIDTH = 340
BUTTON_HALF = 16
ARC = 42  # radius of the turn arrow over a ring
OTHER_SIDE: dict[Side, Side] = {"left": "right", "right": "left"}


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

    @property
    def label(self) -> str:
        return self.post.string

    @property
    def label_y(self) -> int:
        """The base line that puts figures in the middle of the ring."""
        return self.y + 13

    @property
    def corner(self) -> Point:
        """Upper left corner of the machine's housing, seen from the back."""
        return self.x - self.radius, self.y - self.radius

    @property
    def housing(self) -> int:
        return 2 * self.radius

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
        x, y, r = self.x, self.y, self.radius
        if self.turn == "front face toward the tip":
            return f"M{x} {y - r - 4}V{y - r - 20}"
        if self.turn == "back face toward the nut":
            return f"M{x} {y + r + 4}V{y + r + 20}"
        sense, sweep = (-1, 0) if self.turn == "counter-clockwise" else (1, 1)
        return f"M{x - sense * 36} {y - 21}A{ARC} {ARC} 0 0 {sweep} {x + sense * 36} {y - 21}"

    @property
    def arrow_tip(self) -> str:
        """The arrow's head as a path."""
        x, y, r = self.x, self.y, self.radius
        if self.turn == "front face toward the tip":
            return f"M{x} {y - r - 30}l10 14h-20z"
        if self.turn == "back face toward the nut":
            return f"M{x} {y + r + 30}l10 -14h-20z"
        sense = -1 if self.turn == "counter-clockwise" else 1
        return f"M{x + sense * 44} {y - 6}l{-sense * 18} -10l{sense * 20} -11z"

    @property
    def spoken(self) -> str:
        string = self.post.string.replace("o", " octave").replace("'", " second of the pair")
        hand = "left" if self.post.machine == "L" else "right"
        order = ORDINALS[self.post.order - 1]
        place = f"{self.side} side, {order} from the nut"
        return f"String {string}: {place}, {hand} machine, turns {self.turn}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """A slot of a slotted head."""

    x: int
    y: int
    width: int
    height: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A string from the nut to where it meets its post."""

    string: str
    nut: Point
    post: Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """A head seen from one side, all a template needs to draw it and to say it."""

    view: View
    bass: Side  # as seen in this view
    height: int
    nut_x: int  # the nut lies in the middle, alike in both views
    nut_y: int
    nut_width: int
    edge: tuple[Point, ...]
    slots: tuple[Slot, ...]
    dots: tuple[Dot, ...]
    runs: tuple[Run, ...]

    @property
    def width(self) -> int:
        return WIDTH

    @property
    def heading(self) -> str:
        return self.view.upper()

    @property
    def facing(self) -> tuple[str, str]:
        """What faces the reader, in two lines."""
        return ("strings" if self.view == "front" else "buttons and gears", "facing you")

    @property
    def title(self) -> str:
        return f"{self.heading} — {' '.join(self.facing)}"

    @property
    def outline(self) -> str:
        return "M" + "L".join(f"{x} {y}" for x, y in self.edge) + "Z"

    @property
    def edges(self) -> tuple[str, str]:
        """The words at the nut, left and right."""
        return ("bass", "treble") if self.bass == "left" else ("treble", "bass")

    @property
    def nut_end_x(self) -> int:
        return self.nut_x + self.nut_width

    @property
    def words_y(self) -> int:
        """The base line of the words below the nut."""
        return self.nut_y + 46

    @property
    def key_y(self) -> int:
        return self.words_y + 38

    @property
    def key(self) -> str:
        """What the marks of paired strings mean; empty where there are no pairs."""
        return "o octave · ' second" if len(self.dots) == PAIRED else ""

    @property
    def summary(self) -> str:
        """The drawing in words, for who does not see it."""
        spoken = " ".join(f"{dot.spoken}." for dot in self.dots)
        return f"Nut at the bottom, tip at the top, bass strings on the {self.bass}. {spoken}"

    def turned_over(self) -> Drawing:
        """The same head from its other side: left and right change places, turns reverse."""
        view: View = "back" if self.view == "front" else "front"
        return replace(
            self,
            view=view,
            bass=OTHER_SIDE[self.bass],
            edge=tuple((WIDTH - x, y) for x, y in self.edge),
            slots=tuple(replace(one, x=WIDTH - one.x - one.width) for one in self.slots),
            dots=tuple(
                replace(
                    one,
                    view=view,
                    side=OTHER_SIDE[one.side],
                    x=WIDTH - one.x,
                    button_x=WIDTH - one.button_x,
                )
                for one in self.dots
            ),
            runs=tuple(
                replace(
                    one,
                    nut=(WIDTH - one.nut[0], one.nut[1]),
                    post=(WIDTH - one.post[0], one.post[1]),
                )
                for one in self.runs
            ),
        )
