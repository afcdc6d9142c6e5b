"""The woods of a guitar, and how far each moves across its grain.

Along the grain wood moves so little that no bench has to ask. Figures of the handbook's
tables are of its edition of 2010; where nobody had the page at hand when they were put in,
the source says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from shop.craft.formula import Symbol, formula

TABLES: Final = "Wood Handbook, Forest Products Laboratory, FPL-GTR-190 (2010), tables 4-3 and 13-5"
RECALLED: Final = f"{TABLES}; recalled, look it up before you go by it"
RECKONED: Final = (
    "Wood Handbook, Forest Products Laboratory, FPL-GTR-190 (2010), table 4-4; recalled, "
    "and worked out from the whole shrinkage"
)


class Cut(StrEnum):
    """How the year rings lie in a part, and so which way it is measured across its grain."""

    QUARTERED = "quartered"  # rings stand upright: its width runs across them, radial
    FLAT = "flat-sawn"  # rings lie flat: its width runs along them, tangential


@formula(
    "wood-coefficient",
    "Movement for 1 % of moisture, from the whole shrinkage",
    "C = 1/(3000/S − 20)",
    Symbol("S", "shrinkage_pct", "shrinkage from green to dry, of the green width", "%"),
    Symbol("C", "", "part of its width that wood moves for 1 % of moisture", "1/%"),
    source=f"{TABLES}: equation 13-3 at 10 % moisture, which agrees with both tables",
    given={"shrinkage_pct": 7.0},
    places=5,
)
def coefficient(shrinkage_pct: float) -> float:
    """The part of its width that wood moves for each per cent of moisture, round 10 %.

    Raises ``ValueError`` for a shrinkage that no wood has.

    >>> round(coefficient(7.8), 5)
    0.00274
    """
    check_shrinkage(shrinkage_pct)
    return 1 / (3000 / shrinkage_pct - 20)


def check_shrinkage(shrinkage_pct: float) -> None:
    """Raises ``ValueError`` for a shrinkage that no wood has."""
    if not 0 < shrinkage_pct < 50:
        raise ValueError(f"A shrinkage of {shrinkage_pct} % is not between 0 and 50.")


@dataclass(frozen=True, slots=True)
class Species:
    """One wood. ``radial`` and ``tangential``: the part of its width that it moves for 1 %
    of moisture; the two ``…_pct`` its whole shrinkage from green to dry, in per cent."""

    key: str
    name: str
    radial: float
    tangential: float
    radial_pct: float
    tangential_pct: float
    source: str = TABLES

    def per_pct(self, cut: Cut) -> float:
        return self.radial if cut is Cut.QUARTERED else self.tangential

    def shrinkage_pct(self, cut: Cut) -> float:
        return self.radial_pct if cut is Cut.QUARTERED else self.tangential_pct


def _reckoned(key: str, name: str, radial_pct: float, tangential_pct: float) -> Species:
    """A wood of which only the whole shrinkage is tabled."""
    moves = (coefficient(radial_pct), coefficient(tangential_pct))
    return Species(key, name, *moves, radial_pct, tangential_pct, RECKONED)


# For mahogany and redcedar the two tables do not agree by the cross-table rule: those woods
# stop moving at a lower moisture than the 30 % it goes by. Their own coefficients count.
SPECIES: Final = (
    Species("sitka-spruce", "Sitka spruce", 0.00148, 0.00263, 4.3, 7.5, RECALLED),
    Species("engelmann-spruce", "Engelmann spruce", 0.0013, 0.00248, 3.8, 7.1, RECALLED),
    Species("western-redcedar", "western redcedar", 0.00111, 0.00234, 2.4, 5.0, RECALLED),
    Species("mahogany", "mahogany", 0.00172, 0.00238, 3.0, 4.1, RECALLED),
    Species("african-mahogany", "African mahogany", 0.00141, 0.00201, 2.5, 4.5, RECALLED),
    Species("sugar-maple", "sugar maple", 0.00165, 0.00353, 4.8, 9.9),
    Species("bigleaf-maple", "bigleaf maple", 0.00126, 0.00248, 3.7, 7.1),
    Species("black-walnut", "black walnut", 0.0019, 0.00274, 5.5, 7.8),
    Species("black-cherry", "black cherry", 0.00126, 0.00248, 3.7, 7.1),
    _reckoned("indian-rosewood", "Indian rosewood", 2.7, 5.8),
    _reckoned("east-indian-ebony", "East Indian ebony", 5.4, 8.8),
    _reckoned("african-ebony", "African ebony", 9.2, 10.8),
)

BY_KEY: Final = {one.key: one for one in SPECIES}
