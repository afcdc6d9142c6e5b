"""What a guitar's set-up aims at: what its spec says, and else what is usual for its kind.

A spec names what it wants otherwise and leaves the rest open. Where it is silent, a guitar
with steel strings, one strung in pairs and one with nylon strings each have usual figures.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from typing import Final, TypeVar

from shop.craft.hardware import SpecFacts
from shop.craft.set_up import compensation

PAIRED: Final = 12  # strings of a guitar strung in pairs
ACTION_OFF_MM: Final = Decimal("0.15")  # either way of what was aimed at; common practice
FALL_OFF_MM: Final = Decimal("0.15")  # at the last fret, 0.10 to 0.25; common practice
FRET_HEIGHT_MM: Final = Decimal("1.10")  # of new wire over the board; common practice
BRIDGE_HEIGHT_MM: Final = Decimal("9.5")  # one maker's published notes on setting necks
BOARD_MM: Final = Decimal("6.5")  # the board at the body joint; common practice

T = TypeVar("T")


class Kind(StrEnum):
    """The kinds of guitar whose set-ups differ."""

    STEEL = "steel"
    PAIRED = "12-string"
    NYLON = "nylon"


@dataclass(frozen=True, slots=True)
class Usual:
    """What is usual for one kind. Lengths in millimetres; common practice, no source, but for
    the action of a steel-string guitar, which is one maker's published figure."""

    relief_least: Decimal
    relief: Decimal
    relief_most: Decimal
    action_bass: Decimal
    action_treble: Decimal
    frets: int


def _d(figure: str) -> Decimal:
    return Decimal(figure)


USUAL: Final[dict[Kind, Usual]] = {
    Kind.STEEL: Usual(_d("0.15"), _d("0.20"), _d("0.25"), _d("2.4"), _d("1.6"), 20),
    Kind.PAIRED: Usual(_d("0.20"), _d("0.25"), _d("0.35"), _d("2.3"), _d("1.6"), 20),
    Kind.NYLON: Usual(_d("0.10"), _d("0.20"), _d("0.30"), _d("4.0"), _d("3.0"), 19),
}


@dataclass(frozen=True, slots=True)
class Aims:
    """What the set-up of one guitar aims at, every figure known. Lengths in millimetres.

    ``action_*`` is the height of the outer strings over fret 12; relief lies between
    ``relief_least_mm`` and ``relief_most_mm``; ``fall_off_mm`` is how far the last fret falls
    below the line to the body joint; ``compensation_mm`` is how far the middle of the saddle
    stands beyond the scale, ``slant_mm`` how much further its bass end does than its treble
    end; ``board_mm`` is the thickness of the fingerboard at the body joint.
    """

    kind: Kind
    scale_mm: Decimal
    frets: int
    body_joint_fret: int
    relief_least_mm: Decimal
    relief_mm: Decimal
    relief_most_mm: Decimal
    action_bass_mm: Decimal
    action_treble_mm: Decimal
    fall_off_mm: Decimal
    fret_height_mm: Decimal
    compensation_mm: Decimal
    slant_mm: Decimal
    bridge_height_mm: Decimal
    board_mm: Decimal
    tension_limit_n: int

    @property
    def bridge_place_mm(self) -> Decimal:
        """From the front of the nut to the middle of the saddle."""
        return self.scale_mm + self.compensation_mm

    def action_mm(self, side: str) -> Decimal:
        """The string height aimed at over fret 12, on the "bass" or the "treble" side."""
        if side not in ("bass", "treble"):
            raise ValueError(f"A side is bass or treble, not {side!r}.")
        return self.action_bass_mm if side == "bass" else self.action_treble_mm


def kind_of(spec: SpecFacts) -> Kind:
    """The kind of guitar by its strings."""
    return kind_by(spec.string_material, spec.strings)


def kind_by(string_material: str, strings: int) -> Kind:
    """The same, of what its strings are made of and how many there are."""
    if string_material == "nylon":
        return Kind.NYLON
    return Kind.PAIRED if strings == PAIRED else Kind.STEEL


def relief_range(
    kind: Kind, relief_mm: Decimal, least_mm: Decimal | None, most_mm: Decimal | None
) -> tuple[Decimal, Decimal]:
    """The least and the most relief that is wanted. Where a spec leaves an end open it is what
    is usual for its kind, or the relief the spec names where that lies beyond.

    >>> relief_range(Kind.STEEL, Decimal("0.30"), None, None)
    (Decimal('0.15'), Decimal('0.30'))
    """
    usual = USUAL[kind]
    return (
        _or(least_mm, min(usual.relief_least, relief_mm)),
        _or(most_mm, max(usual.relief_most, relief_mm)),
    )


def aims(spec: SpecFacts) -> Aims:
    """What this spec's set-up aims at. The range of the relief takes in the relief that the
    spec names, whatever is usual."""
    kind = kind_of(spec)
    usual = USUAL[kind]
    relief = _or(spec.relief_mm, usual.relief)
    least, most = relief_range(kind, relief, spec.relief_least_mm, spec.relief_most_mm)
    material: compensation.Material = "nylon" if kind is Kind.NYLON else "steel"
    beyond = compensation.usual_middle(float(spec.scale_mm), material)
    slant = compensation.NYLON_SLANT_MM if kind is Kind.NYLON else compensation.SLANT_MM
    return Aims(
        kind=kind,
        scale_mm=spec.scale_mm,
        frets=_or(spec.frets, max(usual.frets, spec.body_joint_fret)),
        body_joint_fret=spec.body_joint_fret,
        relief_least_mm=least,
        relief_mm=relief,
        relief_most_mm=most,
        action_bass_mm=_or(spec.action_bass_mm, usual.action_bass),
        action_treble_mm=_or(spec.action_treble_mm, usual.action_treble),
        fall_off_mm=_or(spec.fall_off_mm, FALL_OFF_MM),
        fret_height_mm=_or(spec.fret_height_mm, FRET_HEIGHT_MM),
        compensation_mm=_or(spec.compensation_mm, _d(str(beyond))),
        slant_mm=_or(spec.slant_mm, _d(str(slant))),
        bridge_height_mm=_or(spec.bridge_height_mm, BRIDGE_HEIGHT_MM),
        board_mm=_or(spec.board_mm, BOARD_MM),
        tension_limit_n=spec.tension_limit_n,
    )


def _or(said: T | None, usual: T) -> T:
    return usual if said is None else said
