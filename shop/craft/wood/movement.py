"""How far a top, a hole and a board move when the air round them changes.

A hole moves as the wood that was taken out of it would have: narrower across the grain when
the wood dries, and as it was along it. What is told is what a part comes to once it has
stood in the other air for weeks.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from typing import Final

from shop.craft.formula import Symbol, formula
from shop.craft.size import plain
from shop.craft.wood.moisture import moisture_pct
from shop.craft.wood.species import TABLES, Cut, Species, check_shrinkage
from shop.craft.words import THIN, mm

HOLDS_PCT: Final = (6.0, 14.0)  # the moistures that the handbook gives its coefficients for

_HUNDREDTH: Final = Decimal("0.01")


@formula(
    "wood-movement",
    "Movement across the grain",
    "D = W · C · (M2 − M1)",
    Symbol("W", "width_mm", "width across the grain before", "mm"),
    Symbol("C", "per_pct", "part of its width that this wood moves for 1 % of moisture", "1/%"),
    Symbol("M1", "from_pct", "moisture before", "%"),
    Symbol("M2", "to_pct", "moisture after", "%"),
    Symbol("D", "", "how much wider it is then; below 0: narrower", "mm"),
    source=f"{TABLES}: equation 13-2, for 6 to 14 % moisture",
    given={"width_mm": 232.0, "per_pct": 0.00245, "from_pct": 8.0, "to_pct": 11.0},
)
def moved_mm(width_mm: float, per_pct: float, from_pct: float, to_pct: float) -> float:
    """How much wider wood is after its moisture changed, in mm; below 0: narrower.

    >>> round(moved_mm(232, 0.00245, 8, 11), 4)
    1.7052
    """
    return width_mm * per_pct * (to_pct - from_pct)


@formula(
    "wood-movement-whole",
    "Movement across the grain, from the whole shrinkage",
    "D = W · (M2 − M1)/(3000/S − 30 + M1)",
    Symbol("W", "width_mm", "width across the grain before", "mm"),
    Symbol("S", "shrinkage_pct", "shrinkage from green to dry, of the green width", "%"),
    Symbol("M1", "from_pct", "moisture before", "%"),
    Symbol("M2", "to_pct", "moisture after", "%"),
    Symbol("D", "", "how much wider it is then; below 0: narrower", "mm"),
    source=f"{TABLES}: equation 13-3",
    given={"width_mm": 232.0, "shrinkage_pct": 7.0, "from_pct": 8.0, "to_pct": 11.0},
    places=3,
)
def moved_of_shrinkage_mm(
    width_mm: float, shrinkage_pct: float, from_pct: float, to_pct: float
) -> float:
    """The same for a wood of which only the whole shrinkage is known.

    Raises ``ValueError`` for a shrinkage that no wood has.

    >>> round(moved_of_shrinkage_mm(232, 7.0, 8, 11), 3)
    1.712
    """
    check_shrinkage(shrinkage_pct)
    return width_mm * (to_pct - from_pct) / (3000 / shrinkage_pct - 30 + from_pct)


class Part(StrEnum):
    """What moves."""

    TOP = "top"
    HOLE = "hole"
    BOARD = "board"


@dataclass(frozen=True, slots=True)
class Climate:
    """The air that a part has stood in for weeks: °C and %RH."""

    temp_c: float
    rh_pct: float

    @property
    def wood_pct(self) -> float:
        return moisture_pct(self.temp_c, self.rh_pct)

    @property
    def words(self) -> str:
        return f"{_said(self.temp_c, 1)}{THIN}°C, {_said(self.rh_pct, 1)}{THIN}%RH"


@dataclass(frozen=True, slots=True)
class Move:
    """How a part moves from one air to another; ``moved_mm`` below 0 is narrower."""

    part: Part
    species: Species
    cut: Cut
    width_mm: float
    before: Climate
    after: Climate

    @property
    def moved_mm(self) -> float:
        return moved_mm(
            self.width_mm,
            self.species.per_pct(self.cut),
            self.before.wood_pct,
            self.after.wood_pct,
        )

    @property
    def moved(self) -> Decimal:
        """The same to the hundredth, as it is told."""
        return Decimal(repr(self.moved_mm)).quantize(_HUNDREDTH)

    @property
    def words(self) -> str:
        """What it comes to, in a sentence."""
        width = Decimal(repr(self.width_mm)).quantize(_HUNDREDTH)
        if not self.moved:
            return f"{mm(width)} of {self.species.name}, {self.cut}, stay as they are."
        how = "narrower" if self.moved < 0 else "wider"
        return (
            f"{mm(width)} of {self.species.name}, {self.cut}, come to {mm(width + self.moved)}: "
            f"{mm(abs(self.moved))} {how} across the grain."
        )

    @property
    def moisture_words(self) -> str:
        return (
            f"Moisture {_said(self.before.wood_pct, 1)}{THIN}% before, "
            f"{_said(self.after.wood_pct, 1)}{THIN}% after."
        )

    @property
    def reckoning(self) -> str:
        """The arithmetic, figure by figure."""
        per = plain(Decimal(f"{self.species.per_pct(self.cut):.5f}"))
        before, after = (_said(one.wood_pct, 2) for one in (self.before, self.after))
        width = plain(Decimal(repr(self.width_mm)))
        return f"{width} × {per} × ({after} − {before}) = {plain(self.moved)}{THIN}mm"

    @property
    def doubt(self) -> str:
        """Why the figure is rough, where it is."""
        least, most = HOLDS_PCT
        low, high = sorted((self.before.wood_pct, self.after.wood_pct))
        if least <= low and high <= most:
            return ""
        out = _said(low if low < least else high, 1)
        return (
            f"{out}{THIN}% moisture lies outside {least:g} to {most:g}{THIN}%, for which the "
            "coefficients are given. Take the figure as rough."
        )

    @property
    def then(self) -> str:
        """What to look at on the part; "" where it does not move."""
        return _THEN[self.part, self.moved > 0] if self.moved else ""


_THEN: Final = {
    (Part.TOP, False): "The top sinks and may crack: look along the grain under a raking light, "
    "and measure the action again.",
    (Part.TOP, True): "The top rises and the strings with it: measure the action again.",
    (Part.HOLE, False): "The hole squeezes its bushing across the grain, and the bushing may be "
    "loose once the wood is damp again: try each by finger then.",
    (Part.HOLE, True): "The press loses as much across the grain: try each bushing by finger.",
    (Part.BOARD, False): "Fret ends stand out: feel along both edges, and look at the relief.",
    (Part.BOARD, True): "The board swells: look at the relief and at the joint with the neck.",
}


def _said(value: float, places: int) -> str:
    """A figure rounded to so many places, without idle zeros.

    >>> _said(8.4567, 1), _said(21.0, 1)
    ('8.5', '21')
    """
    return plain(Decimal(f"{value:.{places}f}"))
