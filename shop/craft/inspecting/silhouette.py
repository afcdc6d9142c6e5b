"""The lines of a guitar from the lengths of its spec, for a drawing to point at.

Coordinates are millimetres of the wood: x from the centre line toward the treble side, y from
the middle of the saddle toward the tail, so the head lies at negative y. A left-handed guitar
has the same numbers. The shape is a plain sign of a guitar, not a pattern to build from.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from shop.craft.hardware import Hand, Head, SpecFacts, TunerFamily
from shop.craft.inspecting.shapes import (
    Loop,
    Point,
    cubic,
    ellipse,
    loop,
    mirrored,
    rectangle,
    tenths,
    with_cuts,
)
from shop.craft.set_up.scale import fret_place

NUT_MM: Final = 6.0  # how much of the head's end the nut takes
TAPER: Final = 0.0175  # how fast half a fingerboard widens
HEEL_MM: Final = 86.0  # from the body joint to where the heel has run out into the neck
BRIDGE_ROUND_MM: Final = 20.0  # of the top round the bridge that counts as its zone
# A spec that says less is drawn with so much: a drawing is no place to find that out.
LEAST_MM: Final = 250.0
LEAST_DEPTH_MM: Final = 40.0
LEAST_HEAD_MM: Final = 120.0
# The body, as parts of its length and width: where it is widest, narrowest, widest again.
SHOULDER: Final = (0.20, 0.365)
WAIST: Final = (0.41, 0.325)
BELLY: Final = (0.735, 0.5)


@dataclass(frozen=True, slots=True)
class Silhouette:
    """Where the parts of one spec lie."""

    spec: SpecFacts

    @property
    def scale(self) -> float:
        return max(float(self.spec.scale_mm), LEAST_MM)

    @property
    def long(self) -> float:
        """The body's length."""
        return max(float(self.spec.body_length_mm), LEAST_MM)

    @property
    def wide(self) -> float:
        """The body's width."""
        return max(float(self.spec.body_width_mm), LEAST_MM)

    @property
    def deep(self) -> float:
        """The body's depth."""
        return max(float(self.spec.body_depth_mm), LEAST_DEPTH_MM)

    @property
    def nut(self) -> float:
        """The front of the nut."""
        return -(self.scale + float(self.spec.compensation_mm or 0))

    @property
    def joint(self) -> float:
        """Where the neck meets the body."""
        return self.nut + fret_place(self.scale, self.spec.body_joint_fret)

    @property
    def tail(self) -> float:
        return self.joint + self.long

    @property
    def tip(self) -> float:
        left = float(self.spec.overall_mm) - (self.tail - self.nut)
        return self.nut - max(left, LEAST_HEAD_MM)

    @property
    def tongue(self) -> float:
        """The end of the fingerboard over the top, short of the waist."""
        frets = self.spec.frets or self.spec.body_joint_fret + (
            6 if self.spec.body_joint_fret > 12 else 7
        )
        end = self.nut + fret_place(self.scale, frets) + 4
        return min(max(end, self.joint + 10), self.joint + 0.3 * self.long)

    @property
    def hole_half(self) -> float:
        return min(0.1 * self.long, 0.24 * self.wide)

    @property
    def hole_y(self) -> float:
        """The middle of the soundhole, just beyond the fingerboard."""
        return self.tongue + self.hole_half + 14

    @property
    def bridge_half(self) -> float:
        return float(self.spec.saddle_slot_length_mm) / 2 + 44

    @property
    def bridge_zone(self) -> tuple[float, float, float, float]:
        """The bridge with the top round it: left, top, right, bottom."""
        across = self.bridge_half + BRIDGE_ROUND_MM
        return -across, -14 - BRIDGE_ROUND_MM - 4, across, 22 + BRIDGE_ROUND_MM

    @property
    def cuts(self) -> tuple[float, float]:
        """Where the upper bout ends and where the lower bout begins."""
        upper = self.tongue + 6
        waist = self.joint + (WAIST[0] + 0.05) * self.long
        lower = min(max(waist, self.hole_y + self.hole_half + 10), self.bridge_zone[1] - 6)
        return upper, max(lower, upper + 20)

    @property
    def waist(self) -> float:
        """Where the back is divided."""
        return self.joint + WAIST[0] * self.long

    def half_board(self, y: float) -> float:
        """Half the fingerboard's width at a place along it."""
        return float(self.spec.nut_width_mm) / 2 + TAPER * (y - self.nut)

    def body_edge(self, *cuts: float) -> list[Point]:
        """The edge of the body on the treble side, from the neck to the end."""

        def at(down: float, out: float) -> Point:
            return self.wide * out, self.joint + self.long * down

        start = (self.half_board(self.joint), self.joint)
        (s, shoulder), (w, waist), (b, belly) = SHOULDER, WAIST, BELLY
        edge = [start]
        edge += cubic(start, at(0, 0.23), at(0.04, shoulder), at(s, shoulder))
        edge += cubic(at(s, shoulder), at(s + 0.10, shoulder), at(w - 0.08, waist), at(w, waist))
        edge += cubic(at(w, waist), at(w + 0.10, waist), at(b - 0.19, belly), at(b, belly))
        edge += cubic(at(b, belly), at(b + 0.15, belly), at(1, 0.33), at(1, 0))
        return with_cuts(edge, cuts)

    def head_edge(self) -> list[Point]:
        """The edge of the head, from the nut on the treble side round to the bass side."""
        half, foot, tip = self.half_board(self.nut), self.nut - NUT_MM, self.tip
        if self.spec.tuner_family is TunerFamily.LINE:
            return self._line_edge(half, foot, tip)
        low, high = (36.0, 39.0) if self.spec.head is Head.SOLID else (37.0, 35.0)
        edge: list[Point] = [(half, foot)]
        edge += cubic(edge[-1], (half, foot - 18), (low - 3, foot - 16), (low, foot - 40))
        edge.append((high, tip + 20))
        edge += cubic(edge[-1], (high, tip + 9), (high - 5, tip + 8), (high - 13, tip + 8))
        edge += cubic(edge[-1], (14, tip + 8), (15, tip), (0, tip))
        return tenths(edge + mirrored(edge)[1:])

    def _line_edge(self, half: float, foot: float, tip: float) -> list[Point]:
        """A head with all machines on the bass side, or on the other where it is reversed."""
        edge: list[Point] = [(half, foot)]
        edge += cubic(edge[-1], (half - 1, foot - 30), (half - 9, foot - 36), (half - 8, foot - 64))
        edge.append((half + 2, tip + 34))
        edge += cubic(edge[-1], (half + 4, tip + 12), (half - 6, tip), (half - 18, tip))
        edge += cubic(edge[-1], (-10, tip), (-18, tip + 8), (-30, tip + 26))
        edge.append((-half - 20, foot - 40))
        edge += cubic(edge[-1], (-half - 22, foot - 16), (-half, foot - 18), (-half, foot))
        return tenths(mirrored(edge) if self.spec.reversed_line else edge)

    @property
    def on_treble(self) -> int:
        """How many machines stand on the treble side."""
        if self.spec.tuner_family is TunerFamily.LINE:
            return self.spec.strings if self.spec.reversed_line else 0
        return self.spec.strings // 2

    def machines(self) -> Iterator[tuple[Point, Loop, Loop]]:
        """Each machine: its post, the shaft of its button beyond the edge, the button."""
        edge = self.head_edge()
        for side, count in ((1, self.on_treble), (-1, self.spec.strings - self.on_treble)):
            if not count:
                continue
            first, last = self.nut - 52, self.tip + 34
            pitch = min(float(self.spec.pitch_mm), (first - last) / max(count - 1, 1))
            slack = (first - last) - pitch * (count - 1)
            for at in range(count):
                y = first - 0.35 * slack - pitch * at
                out = _reach(edge, y, side)
                post = out - side * (15 if self.spec.head is Head.SOLID else 18)
                inner, outer = sorted((out - side * 0.6, out + side * 11))
                button = ellipse((out + side * 17, y), 8, min(11.5, 0.46 * pitch))
                yield (post, y), rectangle(inner, y - 2.5, outer, y + 2.5), button

    def head_slots(self) -> tuple[Loop, ...]:
        """The long holes of a slotted head; none of a solid one."""
        if self.spec.head is not Head.SLOTTED:
            return ()
        return tuple(
            ellipse_ended(side * 18, self.tip + 26, self.nut - 34, 7.5) for side in (-1, 1)
        )

    def pickguard(self) -> Loop | None:
        """A drop beside the soundhole, on the side the spec has it; none where it has none."""
        guard = self.spec.guard
        if guard is None:
            return None
        side = 1 if guard in (self.spec.hand, Hand.ANY) else -1
        r, y = self.hole_half, self.hole_y
        start = (0.86 * r, y - 0.62 * r)
        edge = cubic(
            start, (1.5 * r, y - 0.75 * r), (1.75 * r, y + 0.1 * r), (2.1 * r, y + 1.2 * r)
        )
        edge += cubic(
            edge[-1], (2.35 * r, y + 2 * r), (1.3 * r, y + 2.05 * r), (0.8 * r, y + 0.85 * r)
        )
        edge += cubic(edge[-1], (1.25 * r, y + 0.4 * r), (1.2 * r, y - 0.3 * r), start)
        return loop((side * x, y) for x, y in edge)


def ellipse_ended(x: float, top: float, bottom: float, half: float) -> Loop:
    """A slot with round ends along the centre line."""
    upper = cubic((x - half, top + half), (x - half, top - half / 3), (x + half, top - half / 3),
                  (x + half, top + half))  # fmt: skip
    lower = cubic((x + half, bottom - half), (x + half, bottom + half / 3),
                  (x - half, bottom + half / 3), (x - half, bottom - half))  # fmt: skip
    return loop([(x - half, top + half), *upper, (x + half, bottom - half), *lower])


def _reach(edge: list[Point], y: float, side: int) -> float:
    """How far the head reaches at a height, on the treble side (1) or the bass side (-1)."""
    found = [
        x0 + (x1 - x0) * (y - y0) / (y1 - y0)
        for (x0, y0), (x1, y1) in pairwise(edge)
        if (y0 <= y) != (y1 <= y)
    ]
    return side * max((side * x for x in found), default=30.0)
