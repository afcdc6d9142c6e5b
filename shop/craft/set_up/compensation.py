"""Where the bridge goes: the saddle stands a little beyond the scale, bass further than treble.

A string is stretched when it is pressed down, which makes it sharp; the longer string makes it
flat again. Two readings from the nut to the saddle line, one on each side, show whether the
bridge stands right before anything is cut, and how far the octave would be out if it were.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from shop.craft.finding import Finding, note, stop, warn
from shop.craft.formula import Symbol, formula
from shop.craft.set_up.figures import FINER, above_zero, figure, judged, known, length, signed
from shop.craft.set_up.scale import saddle_cents

Material = Literal["steel", "nylon"]

# The middle of the saddle beyond the scale: 3.8 from published bridge placement tables, which
# give 3.81 (0.15 in) for scales of 635 to 654, and about 4 for 630.
MIDDLE_MM: Final = 3.8
MIDDLE_SHORT_MM: Final = 4.0
SHORT_BELOW_MM: Final = 635.0
NYLON_MIDDLE_MM: Final = 1.5  # between treble and bass
SLANT_MM: Final = 3.0  # of a straight steel saddle, 2.5 to 3.5; common practice, no source
NYLON_SLANT_MM: Final = 1.0
LIMIT_MM: Final = 0.5  # either way; common practice, no source
SKEW_MM: Final = 0.3  # of one side against the other; common practice, no source
STRANGE_MM: Final = 15.0  # further out than that, another scale was measured or set

# Common practice, no source; nylon about 1 at the treble and 2 at the bass by a published table
# of one maker's practice, with even steps between.
STEEL_MM: Final = {"1": 1.8, "2": 3.0, "3": 2.2, "4": 3.2, "5": 4.0, "6": 5.0}
PLAIN_THIRD_MM: Final = 4.0
NYLON_MM: Final = {"1": 1.0, "2": 1.2, "3": 1.4, "4": 1.6, "5": 1.8, "6": 2.0}


@formula(
    "bridge-place",
    "Where the saddle stands",
    "x = L + C",
    Symbol("x", "", "from the front of the nut to the middle of the saddle", "mm"),
    Symbol("L", "scale_mm", "scale length", "mm"),
    Symbol("C", "compensation_mm", "compensation at the middle of the saddle", "mm"),
    source="published bridge placement tables: 3.8 mm for scales of 635 to 654 mm",
    given={"scale_mm": 645.0, "compensation_mm": 3.8},
    places=1,
)
def bridge_place(scale_mm: float, compensation_mm: float) -> float:
    """From the nut to the middle of the saddle, in millimetres.

    >>> bridge_place(645.0, 3.8)
    648.8
    """
    above_zero(scale_mm=scale_mm)
    known(compensation_mm=compensation_mm)
    return scale_mm + compensation_mm


@dataclass(frozen=True, slots=True)
class Spot:
    """One side of the saddle line: where it should be, where it was read, what that costs.

    ``off_mm`` is positive beyond its target, away from the nut; ``flat_cents`` is what the
    octave of that side would be flat, negative where it would be sharp.
    """

    side: Literal["bass", "treble"]
    target_mm: float
    read_mm: float
    off_mm: float
    flat_cents: float


@dataclass(frozen=True, slots=True)
class BridgePlace:
    """What two readings say of a bridge. ``refused``: nothing may be cut as it stands."""

    bass: Spot
    treble: Spot
    refused: bool
    reckoning: tuple[str, ...]
    told: tuple[Finding, ...]


def usual_middle(scale_mm: float, material: Material = "steel") -> float:
    """The compensation to begin with at the middle of the saddle, in millimetres.

    >>> usual_middle(645.0), usual_middle(630.0), usual_middle(650.0, "nylon")
    (3.8, 4.0, 1.5)
    """
    above_zero(scale_mm=scale_mm)
    if material == "nylon":
        return NYLON_MIDDLE_MM
    return MIDDLE_SHORT_MM if scale_mm < SHORT_BELOW_MM else MIDDLE_MM


def starting(material: Material = "steel", *, third_wound: bool = True) -> dict[str, float]:
    """The compensation of each string to begin with, in millimetres, by its number.

    >>> starting()["3"], starting(third_wound=False)["3"], starting("nylon")["6"]
    (2.2, 4.0, 2.0)
    """
    if material == "nylon":
        return dict(NYLON_MM)
    return STEEL_MM | ({} if third_wound else {"3": PLAIN_THIRD_MM})


def straight(
    compensation_mm: float, slant_mm: float, strings: Sequence[str] = tuple("654321")
) -> dict[str, float]:
    """The compensation a straight saddle gives each string, in millimetres.

    ``strings`` stand from the bass side to the treble side at even distances, whichever hand
    the guitar is; ``slant_mm`` is how much longer the first is than the last.

    >>> straight(3.8, 3.0)["6"], straight(3.8, 3.0)["1"]
    (5.3, 2.3)
    """
    known(compensation_mm=compensation_mm, slant_mm=slant_mm)
    last = max(1, len(strings) - 1)
    return {
        string: judged(compensation_mm + slant_mm * (0.5 - place / last))
        for place, string in enumerate(strings)
    }


def judge(
    scale_mm: float,
    compensation_mm: float,
    bass_mm: float,
    treble_mm: float,
    *,
    slant_mm: float = 0.0,
    limit_mm: float = LIMIT_MM,
    skew_mm: float = SKEW_MM,
) -> BridgePlace:
    """Whether a bridge may be cut for, by two readings from the nut to its saddle line.

    ``slant_mm`` is how much longer the bass side should read than the treble side: 0 where
    both are read to the middle of the saddle.
    """
    middle = bridge_place(scale_mm, compensation_mm)
    known(limit_mm=limit_mm, skew_mm=skew_mm)  # a lead may set 0
    known(bass_mm=bass_mm, treble_mm=treble_mm, slant_mm=slant_mm)
    bass = _spot("bass", middle + slant_mm / 2, bass_mm, scale_mm)
    treble = _spot("treble", middle - slant_mm / 2, treble_mm, scale_mm)
    told = tuple(_told(bass, treble, limit_mm, skew_mm))
    reckoning = (
        f"{figure(scale_mm)} + {figure(compensation_mm)} = {length(middle)}",
        *(_reckoned(one, scale_mm) for one in (bass, treble)),
    )
    out = any(abs(one.off_mm) > limit_mm for one in (bass, treble))
    return BridgePlace(bass, treble, out, reckoning, told)


def _spot(
    side: Literal["bass", "treble"], target_mm: float, read_mm: float, scale_mm: float
) -> Spot:
    off = judged(read_mm - target_mm)
    return Spot(side, judged(target_mm), read_mm, off, saddle_cents(off, scale_mm))


def _reckoned(one: Spot, scale_mm: float) -> str:
    read, target = figure(one.read_mm, FINER), figure(one.target_mm, FINER)
    off, cents = figure(one.off_mm, FINER), figure(one.flat_cents, 1)
    return (
        f"{read} \u2212 {target} = {signed(one.off_mm, FINER)}; "
        f"1731 × {off} / {figure(scale_mm)} = {cents}"
    )


def _told(bass: Spot, treble: Spot, limit_mm: float, skew_mm: float) -> Iterator[Finding]:
    out = [one for one in (bass, treble) if abs(one.off_mm) > limit_mm]
    for one in out:
        yield _out(one, limit_mm)
    skew = judged(bass.off_mm - treble.off_mm)
    if not out and abs(skew) > skew_mm:
        by = length(abs(skew), FINER)
        words = (
            f"The bass side is {by} further from the nut than it should be "
            "against the treble side: the bridge stands askew."
            if skew > 0
            else f"The treble side is {by} further from the nut than it should be "
            "against the bass side: the bridge stands askew."
        )
        then = "Turn the bridge square, clamp it and read both sides again."
        yield warn("bridge-skew", words, then)
    if not out:
        yield note(
            "bridge-place",
            f"The bridge stands within {length(limit_mm)} of its place on both sides: "
            f"bass {signed(bass.off_mm)}, treble {signed(treble.off_mm)}.",
        )


def _out(one: Spot, limit_mm: float) -> Finding:
    side, away = one.side, length(abs(one.off_mm), FINER)
    read, target = length(one.read_mm, FINER), length(one.target_mm, FINER)
    if abs(one.off_mm) > STRANGE_MM:
        return stop(
            "bridge-place",
            f"{read} on the {side} side is {away} off {target}.",
            "Cut nothing. See that the jig is set for this scale, and measure again from the "
            "nut end of this neck.",
        )
    costs, limit = figure(abs(one.flat_cents), 1), length(limit_mm)
    if one.off_mm > 0:
        return stop(
            "bridge-place",
            f"{read} on the {side} side is {away} beyond {target}, more than {limit}: "
            f"the octave would be {costs} cents flat.",
            f"Cut nothing. Move the {side} side {away} towards the nut, clamp it and read both "
            "sides again.",
        )
    return stop(
        "bridge-place",
        f"{read} on the {side} side is {away} short of {target}, more than {limit}: "
        f"the octave would be {costs} cents sharp.",
        f"Cut nothing. Move the {side} side {away} away from the nut, clamp it and read both "
        "sides again.",
    )
