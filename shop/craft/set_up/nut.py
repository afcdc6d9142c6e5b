"""Where the slots of a nut go, and how wide they are.

Places are millimetres from the bass edge of the nut, or from its left end seen from the
front. How deep the slots are is in ``slot_depth``.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from shop.craft.finding import Finding, stop, warn
from shop.craft.formula import COMMON, Symbol, formula
from shop.craft.hardware import Hand
from shop.craft.set_up.figures import figure, judged, length

# Common practice, no source.
MARGIN_LEAST_MM: Final = 2.8  # from the edge of the nut to the outside of its string
MARGIN_MOST_MM: Final = 3.5
MARGIN_MM: Final = 3.2
PAIR_GAP_MM: Final = 2.0
PAIR_LEAST_MM: Final = 1.8
PAIR_MOST_MM: Final = 2.2
ROOM_LEAST_MM: Final = 0.05  # of a string in its slot
ROOM_MOST_MM: Final = 0.15

GAP_SOURCE: Final = "theguitarmechanic.com, Nut Spacing"


@formula(
    "nut-gap",
    "Equal gaps between strings at the nut",
    "g = (X \u2212 ΣW)/(n \u2212 1)",
    Symbol("X", "outside_mm", "outside to outside of the outer strings", "mm"),
    Symbol("ΣW", "widths_mm", "all strings side by side", "mm"),
    Symbol("n", "count", "how many strings, or pairs, each pair one body", ""),
    Symbol("g", "", "gap between two neighbours", "mm"),
    source=GAP_SOURCE,
    given={"outside_mm": 38.1, "widths_mm": 4.547, "count": 6},
)
def equal_gap(outside_mm: float, widths_mm: float, count: int) -> float:
    """The gap between neighbours when all gaps are alike.

    >>> round(equal_gap(38.1, 4.547, 6), 2)
    6.71
    """
    return (outside_mm - widths_mm) / (count - 1)


@formula(
    "octave-lift",
    "How much the octave string of a pair is raised",
    "r = (df \u2212 do)/2",
    Symbol("df", "thick_mm", "diameter of the thick string", "mm"),
    Symbol("do", "thin_mm", "diameter of its octave string", "mm"),
    Symbol("r", "", "slot floor of the octave string over that of the thick one", "mm"),
    source=COMMON,
    given={"thick_mm": 1.19, "thin_mm": 0.69},
)
def octave_lift(thick_mm: float, thin_mm: float) -> float:
    """The lift by which the finger meets both strings of a pair.

    >>> round(octave_lift(1.19, 0.69), 2)
    0.25
    """
    return (thick_mm - thin_mm) / 2


@dataclass(frozen=True, slots=True)
class NutString:
    """A string by its name, "6" to "1", "6o" or "1'" in a pair, and its diameter in mm."""

    name: str
    diameter_mm: float


Course = tuple[NutString, ...]  # one string, or the two of a pair from the bass side


@dataclass(frozen=True, slots=True)
class Slot:
    """One slot: its middle along the nut, the files that cut it, its lift in a pair."""

    string: str
    diameter_mm: float
    from_bass_mm: float
    from_left_mm: float  # seen from the front
    lift_mm: float = 0.0

    @property
    def file_least_mm(self) -> float:
        return self.diameter_mm + ROOM_LEAST_MM

    @property
    def file_most_mm(self) -> float:
        return self.diameter_mm + ROOM_MOST_MM


@dataclass(frozen=True, slots=True)
class NutPlan:
    """The slots from the bass edge on, the gap between neighbours, how it was worked out.

    ``slots`` is empty where the strings do not fit on the nut; ``findings`` say so.
    """

    slots: tuple[Slot, ...]
    gap_mm: float
    outside_mm: float
    arithmetic: tuple[str, ...]
    findings: tuple[Finding, ...]

    @property
    def from_left(self) -> tuple[Slot, ...]:
        """The slots left to right, seen from the front."""
        return tuple(sorted(self.slots, key=lambda one: one.from_left_mm))


def place(
    courses: Sequence[Course],
    nut_mm: float,
    hand: Hand = Hand.RIGHT,
    bass_margin_mm: float = MARGIN_MM,
    treble_margin_mm: float = MARGIN_MM,
    pair_gap_mm: float = PAIR_GAP_MM,
) -> NutPlan:
    """The middles of the slots by equal gaps.

    ``courses`` stand from the bass edge on; a margin runs from the edge of the nut to the
    outside of its string. The two strings of a pair lie ``pair_gap_mm`` apart and count as
    one body. Raises ``ValueError`` for fewer than two courses or a string of no thickness.
    """
    _sensible(courses)
    widths = [_width(course, pair_gap_mm) for course in courses]
    outside = nut_mm - bass_margin_mm - treble_margin_mm
    gap = equal_gap(outside, sum(widths), len(courses))
    margins = f"{figure(bass_margin_mm)} \u2212 {figure(treble_margin_mm)}"
    said = (
        f"{figure(nut_mm)} \u2212 {margins} = {length(outside)}",
        f"({figure(outside)} \u2212 {figure(sum(widths), 3)})/{len(courses) - 1} = {length(gap)}",
    )
    if gap <= 0:
        return NutPlan((), gap, outside, said, (_no_room(outside, sum(widths)),))
    slots = tuple(_slots(courses, nut_mm, hand, bass_margin_mm, pair_gap_mm, gap))
    paired = any(len(course) > 1 for course in courses)
    findings = (
        *_margins(bass_margin_mm, treble_margin_mm),
        *(_pair_gap(pair_gap_mm, gap) if paired else ()),
    )
    return NutPlan(slots, gap, outside, said, findings)


def _sensible(courses: Sequence[Course]) -> None:
    if len(courses) < 2:
        raise ValueError(f"Gaps take two courses or more, not {len(courses)}.")
    for course in courses:
        if len(course) not in (1, 2) or any(one.diameter_mm <= 0 for one in course):
            raise ValueError(f"A course is one or two strings with a diameter, not {course}.")


def _width(course: Course, pair_gap_mm: float) -> float:
    return sum(one.diameter_mm for one in course) + pair_gap_mm * (len(course) - 1)


def _slots(
    courses: Sequence[Course],
    nut_mm: float,
    hand: Hand,
    margin_mm: float,
    pair_gap_mm: float,
    gap_mm: float,
) -> Iterator[Slot]:
    edge = margin_mm
    for course in courses:
        thickest = max(one.diameter_mm for one in course)
        for one in course:
            middle = edge + one.diameter_mm / 2
            from_left = nut_mm - middle if hand is Hand.LEFT else middle
            lift = octave_lift(thickest, one.diameter_mm)
            yield Slot(one.name, one.diameter_mm, middle, from_left, lift)
            edge += one.diameter_mm + pair_gap_mm
        edge += gap_mm - pair_gap_mm


def _no_room(outside_mm: float, widths_mm: float) -> Finding:
    return stop(
        "nut gap",
        f"{length(outside_mm)} between the margins do not hold strings {length(widths_mm)} wide.",
        "Check the width of the nut, the margins and the diameters.",
    )


def _margins(bass_mm: float, treble_mm: float) -> Iterator[Finding]:
    for side, margin_mm in (("bass", bass_mm), ("treble", treble_mm)):
        if margin_mm < MARGIN_LEAST_MM:
            yield warn(
                "nut margin",
                f"{length(margin_mm)} at the {side} edge: under {length(MARGIN_LEAST_MM)} "
                "the string slips off the board.",
                "Move the outer string in.",
            )
        elif margin_mm > MARGIN_MOST_MM:
            yield warn(
                "nut margin",
                f"{length(margin_mm)} at the {side} edge: over {length(MARGIN_MOST_MM)} "
                "the strings crowd.",
                "Move the outer string out.",
            )


def _pair_gap(pair_mm: float, gap_mm: float) -> Iterator[Finding]:
    least, most = PAIR_LEAST_MM, PAIR_MOST_MM
    if pair_mm < least:
        yield warn(
            "pair gap",
            f"{length(pair_mm)} between the strings of a pair: under {length(least)} they touch.",
            "Set the pairs further apart.",
        )
    elif pair_mm > most:
        yield warn(
            "pair gap",
            f"{length(pair_mm)} between the strings of a pair: over {length(most)} "
            "the finger misses one.",
            "Set the pairs closer.",
        )
    if gap_mm <= pair_mm:
        yield stop(
            "pair gap",
            f"{length(gap_mm)} between two pairs is no more than {length(pair_mm)} inside one.",
            "Check the width of the nut and the margins.",
        )


def file_for(string: NutString, file_mm: float) -> tuple[Finding, ...]:
    """A nut file of this width against the string that its slot is for.

    The slot is wider than the string by 0.05 to 0.15 mm; common practice.
    """
    room = file_mm - string.diameter_mm
    least, most = ROOM_LEAST_MM, ROOM_MOST_MM
    said = f"String {string.name} of {length(string.diameter_mm)} in a slot of {length(file_mm)}"
    wanted = f"{length(string.diameter_mm + least)} to {length(string.diameter_mm + most)}"
    if judged(room) < least:
        return (warn("nut file", f"{said} binds.", f"Use a file of {wanted}."),)
    if judged(room) > most:
        return (warn("nut file", f"{said} rattles.", f"Use a file of {wanted}."),)
    return ()
