"""Which string goes on which post, and which way it turns.

One rule gives every head: the outermost string at the nut goes to the post nearest the
nut on its side, so that no string crosses another. The turn follows from the string lying
on the inner side of its post: there the post must move toward the tip, which is
counter-clockwise on the left and clockwise on the right, seen from the front. That rule and
the order of strings are common practice; the turn is derived.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from shop.craft.hardware import Hand, Head, SpecFacts, TunerSet

Side = Literal["left", "right"]
Machine = Literal["L", "R"]
Turn = Literal[
    "counter-clockwise",
    "clockwise",
    "front face toward the tip",
    "back face toward the nut",
]

OTHER_TURN: dict[Turn, Turn] = {
    "counter-clockwise": "clockwise",
    "clockwise": "counter-clockwise",
    "front face toward the tip": "back face toward the nut",
}
ORDINALS = (
    "first", "second", "third", "fourth", "fifth", "sixth",
    "seventh", "eighth", "ninth", "tenth", "eleventh", "twelfth",
)  # fmt: skip
PAIRED = 12  # strings of a guitar strung in pairs
WOUND_PAIRS = (6, 5, 4, 3)  # a pair of an octave and a standard string; 2 and 1 are unison


@dataclass(frozen=True, slots=True, kw_only=True)
class Post:
    """One post, or roller of a slotted head, with its string and its machine.

    ``side`` is seen from the front, ``order`` counts from 1 nearest the nut. ``string`` is
    "1" (thinnest) to "6"; "6o" is the octave string of a pair, "1'" the second of a unison
    pair. ``machine`` is "L" if it belongs on the left of a head seen from the front.
    """

    side: Side
    order: int
    string: str
    machine: Machine
    turn_front: Turn  # which way it turns to tighten

    @property
    def key(self) -> str:
        """The post's short name: "L1" is on the left seen from the front, nearest the nut."""
        return f"{self.machine}{self.order}"

    @property
    def words(self) -> str:
        """Where the post is, seen from the front: "left side, second from the nut"."""
        return f"{self.side} side, {ORDINALS[self.order - 1]} from the nut"

    @property
    def mark(self) -> str:
        """The mark on the machine of a set whose machines differ string by string."""
        return self.string

    @property
    def turn_back(self) -> Turn:
        """The same turn seen from the back."""
        return OTHER_TURN[self.turn_front]


def at_nut(spec: SpecFacts) -> tuple[str, ...]:
    """The strings as they cross the nut, left to right seen from the front."""
    from_bass = _from_bass(spec)
    return tuple(reversed(from_bass) if spec.hand is Hand.LEFT else from_bass)


def ratios(spec: SpecFacts, machines: TunerSet | None) -> dict[str, str]:
    """The ratio at each string of a graduated set; empty for any other, and for a set of
    another number of strings.

    A set tells its ratios from string 6 to string 1, as "34:1" or as "34". For a head strung
    in pairs it tells one for both of a pair, or one for each string from the bass edge.
    """
    if machines is None or not machines.graduated:
        return {}
    strings = _from_bass(spec)
    told = tuple(one if ":" in one else f"{one}:1" for one in machines.ratios)
    if spec.strings == PAIRED and len(told) == PAIRED // 2:
        told = tuple(one for ratio in told for one in (ratio, ratio))
    return dict(zip(strings, told, strict=True)) if len(told) == len(strings) else {}


def posts(spec: SpecFacts) -> tuple[Post, ...]:
    """Every post of the head: the left side from the nut to the tip, then the right side."""
    strings = at_nut(spec)
    left = strings[: spec.left_posts]
    right = strings[spec.left_posts :][::-1]
    rolled: Turn | None = "front face toward the tip" if spec.head is Head.SLOTTED else None
    return (
        *_column("left", "L", left, rolled or "counter-clockwise"),
        *_column("right", "R", right, rolled or "clockwise"),
    )


def _column(side: Side, machine: Machine, strings: Sequence[str], turn: Turn) -> Iterator[Post]:
    for order, string in enumerate(strings, 1):
        yield Post(side=side, order=order, string=string, machine=machine, turn_front=turn)


def _from_bass(spec: SpecFacts) -> list[str]:
    if spec.strings != PAIRED:
        return [str(one) for one in range(spec.strings, 0, -1)]
    strings: list[str] = []
    for number in range(PAIRED // 2, 0, -1):
        if number in WOUND_PAIRS:
            pair = [f"{number}o", f"{number}"]
            strings += pair if spec.octave_on_bass_side else pair[::-1]
        else:
            strings += [f"{number}", f"{number}'"]
    return strings
