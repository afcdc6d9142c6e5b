"""How deep the slots of a nut are to be, from what is read at the first fret.

Heights are millimetres above the fret plane, the plane through the tops of the frets of a
straight neck. Relief is left out: within the first fret it is a hundredth.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from shop.craft.finding import Finding, Severity, note, stop, warn
from shop.craft.formula import Symbol, formula
from shop.craft.set_up.figures import figure, length, rounded
from shop.craft.set_up.heights import clearance
from shop.craft.words import listed

# Common practice, no source.
PRESSED_LEAST_MM: Final = 0.03  # over fret 1, the string pressed at fret 3
PRESSED_MOST_MM: Final = 0.10
WANTED_LEAST_MM: Final = 0.25  # over fret 1, the string open: a plain one
WANTED_MOST_MM: Final = 0.55  # a wound one
START_PLAIN_MM: Final = 0.30  # where to start, before the string is played
START_WOUND_MM: Final = 0.51
TOUCHING_MM: Final = 0.005  # half a hundredth: what a feeler gauge calls nothing


@formula(
    "slot-floor",
    "Floor of a nut slot over the fret plane",
    "y0 = (c1 \u2212 ys · x1/L)/(1 \u2212 x1/L)",
    Symbol("c1", "clearance_mm", "string over fret 1, open", "mm"),
    Symbol("ys", "saddle_mm", "string over the fret plane at the saddle", "mm"),
    Symbol("x1", "fret_1_mm", "nut to fret 1", "mm"),
    Symbol("L", "scale_mm", "scale length", "mm"),
    Symbol("y0", "", "slot floor over the fret plane", "mm"),
    source="derived: the string is a straight line from the slot floor to the saddle",
    given={"clearance_mm": 0.40, "saddle_mm": 4.8, "fret_1_mm": 36.20, "scale_mm": 645.0},
)
def slot_floor(clearance_mm: float, saddle_mm: float, fret_1_mm: float, scale_mm: float) -> float:
    """How high the floor of a slot lies for this clearance over fret 1.

    >>> round(slot_floor(0.40, 4.8, 36.20, 645.0), 2)
    0.14
    """
    along = fret_1_mm / scale_mm
    return (clearance_mm - saddle_mm * along) / (1 - along)


@formula(
    "pressed-gap",
    "String over fret 1 when it is pressed at fret 3",
    "p = y0 · (1 \u2212 x1/x3)",
    Symbol("y0", "floor_mm", "slot floor over the fret plane", "mm"),
    Symbol("x1", "fret_1_mm", "nut to fret 1", "mm"),
    Symbol("x3", "fret_3_mm", "nut to fret 3", "mm"),
    Symbol("p", "", "gap over fret 1", "mm"),
    source="derived: the string is a straight line from the slot floor to fret 3",
    given={"floor_mm": 0.14, "fret_1_mm": 36.20, "fret_3_mm": 102.63},
)
def pressed_gap(floor_mm: float, fret_1_mm: float, fret_3_mm: float) -> float:
    """The gap that shows the depth of a slot without any reading of the saddle.

    >>> round(pressed_gap(0.14, 36.20, 102.63), 2)
    0.09
    """
    return floor_mm * (1 - fret_1_mm / fret_3_mm)


@dataclass(frozen=True, slots=True)
class FirstFret:
    """What was read at one string: over fret 1 open, and over it pressed at fret 3.

    ``wanted_mm`` is the clearance over fret 1 that it is to have open, ``saddle_mm`` the
    string over the fret plane at the saddle.
    """

    string: str
    clearance_mm: float
    wanted_mm: float
    saddle_mm: float
    pressed_mm: float | None = None


@dataclass(frozen=True, slots=True)
class SlotDepth:
    """How one slot stands: its floor now and as wanted, over the fret plane.

    ``cut_mm`` is how much deeper it is to be, negative where it is too deep already;
    ``stack_mm`` are the feelers, on the board before the nut, that the file stops on.
    """

    string: str
    floor_now_mm: float
    floor_mm: float
    cut_mm: float
    stack_mm: float
    pressed_mm: float  # what the gap over fret 1 will be, pressed at fret 3
    arithmetic: tuple[str, ...]
    findings: tuple[Finding, ...]

    @property
    def may_be_cut(self) -> bool:
        """Whether nothing speaks against a file in it: whatever is found, but for what is only
        noted, says to leave it as it is or to do something else first."""
        return all(one.severity is Severity.NOTE for one in self.findings)


def depth(
    read: FirstFret, scale_mm: float, fret_1_mm: float, fret_3_mm: float, fret_height_mm: float
) -> SlotDepth:
    """How deep one slot is to be, from what was read at the first fret."""
    floor = slot_floor(read.wanted_mm, read.saddle_mm, fret_1_mm, scale_mm)
    share = f"{figure(fret_1_mm)}/{figure(scale_mm)}"
    over = f"({figure(read.wanted_mm)} \u2212 {figure(read.saddle_mm)} × {share})"
    said = f"{over}/(1 \u2212 {share}) = {length(floor)}"
    made = _deep(read, floor, said, scale_mm, fret_1_mm, fret_3_mm, fret_height_mm)
    return replace(made, findings=(*_asked(read), *made.findings))


def raised(
    read: FirstFret,
    beside: SlotDepth,
    lift_mm: float,
    scale_mm: float,
    fret_1_mm: float,
    fret_3_mm: float,
    fret_height_mm: float,
) -> SlotDepth:
    """How deep the slot of an octave string is to be: its floor lies ``lift_mm`` over the one
    wanted of the thick string ``beside`` it, whatever ``read`` wants. What it will have open
    over fret 1 follows."""
    floor = beside.floor_mm + lift_mm
    over_1 = clearance(floor, read.saddle_mm, 0.0, 0.0, fret_1_mm, scale_mm)
    said = f"{figure(beside.floor_mm)} + {figure(lift_mm)} = {length(floor)}"
    wanted = replace(read, wanted_mm=over_1)
    made = _deep(wanted, floor, said, scale_mm, fret_1_mm, fret_3_mm, fret_height_mm)
    return replace(made, findings=(*_beside(read.string, beside), *made.findings))


def _deep(
    read: FirstFret,
    floor_mm: float,
    said: str,
    scale_mm: float,
    fret_1_mm: float,
    fret_3_mm: float,
    fret_height_mm: float,
) -> SlotDepth:
    """A slot whose floor is to lie there, which ``said`` works out."""
    now = slot_floor(read.clearance_mm, read.saddle_mm, fret_1_mm, scale_mm)
    stack = fret_height_mm + floor_mm
    return SlotDepth(
        read.string,
        now,
        floor_mm,
        now - floor_mm,
        stack,
        pressed_gap(floor_mm, fret_1_mm, fret_3_mm),
        (said, f"{figure(fret_height_mm)} + {figure(floor_mm)} = {length(stack)}"),
        tuple(_judged(read, now, floor_mm)),
    )


def _asked(read: FirstFret) -> Iterator[Finding]:
    if not WANTED_LEAST_MM <= read.wanted_mm <= WANTED_MOST_MM:
        yield note(
            "first fret",
            f"String {read.string}: {length(read.wanted_mm)} over fret 1 is asked for; usual are "
            f"{length(WANTED_LEAST_MM)} to {length(WANTED_MOST_MM)}.",
        )


def _beside(string: str, thick: SlotDepth) -> Iterator[Finding]:
    if rounded(thick.floor_mm) < 0:
        yield stop(
            "slot floor",
            f"String {string} goes by string {thick.string}, whose slot floor would lie below "
            "the frets.",
            "Lower the saddle first, or ask for more over fret 1.",
        )


def _judged(read: FirstFret, now_mm: float, floor_mm: float) -> Iterator[Finding]:
    string = read.string
    if rounded(floor_mm) < 0:  # as it is told, to a hundredth
        yield stop(
            "slot floor",
            f"String {string}: {length(read.wanted_mm)} over fret 1 would put the slot floor "
            f"{length(-floor_mm)} below the frets.",
            "Lower the saddle first, or ask for more over fret 1.",
        )
    if read.pressed_mm is not None:
        yield from _pressed(string, read.pressed_mm)
    if rounded(now_mm) < 0:
        yield stop(
            "slot floor",
            f"String {string}: its slot floor lies {length(-now_mm)} below the frets.",
            "Do not cut. Fill the slot or fit a new nut.",
        )
    elif floor_mm - now_mm > TOUCHING_MM:
        yield warn(
            "slot floor",
            f"String {string}: its slot is {length(floor_mm - now_mm)} deeper than wanted.",
            "Do not cut it. Try it for back buzz; fill the slot if it buzzes.",
        )


def _pressed(string: str, gap_mm: float) -> Iterator[Finding]:
    if gap_mm < TOUCHING_MM:
        yield stop(
            "pressed gap",
            f"String {string} lies on fret 1 when it is pressed at fret 3.",
            "Do not cut. Fill the slot or fit a new nut.",
        )
    elif gap_mm < PRESSED_LEAST_MM:
        yield warn(
            "pressed gap",
            f"String {string}: {length(gap_mm)} over fret 1 when pressed at fret 3, "
            f"under {length(PRESSED_LEAST_MM)}. It may buzz behind the finger.",
            "Do not cut it.",
        )
    elif gap_mm > PRESSED_MOST_MM:
        yield note(
            "pressed gap",
            f"String {string}: {length(gap_mm)} over fret 1 when pressed at fret 3, "
            f"over {length(PRESSED_MOST_MM)}.",
            "Cut it deeper, a stroke at a time.",
        )


def summary(depths: Sequence[SlotDepth]) -> str:
    """What is to be cut, in a sentence; not what may not be cut as it stands."""
    cuts = [
        f"string {one.string} {length(one.cut_mm)}"
        for one in depths
        if one.cut_mm > TOUCHING_MM and one.may_be_cut
    ]
    return f"Cut deeper: {listed(cuts)}." if cuts else "No slot is to be cut deeper."
