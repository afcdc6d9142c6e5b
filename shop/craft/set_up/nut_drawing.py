"""A nut with its slots as it is seen from the front, to be drawn by a template.

Coordinates are tenths of a millimetre from the left end.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from shop.craft.head.stringing import PAIRED
from shop.craft.set_up.nut import NutPlan

TENTHS: Final = 10
HEIGHT: Final = 124
NUT: Final = 48  # how deep the nut is drawn
LINES: Final = (80, 116)  # where names stand; those of a pair in turn, or they would touch


@dataclass(frozen=True, slots=True)
class Mark:
    """A slot as drawn: its string, its middle, where it begins, how wide, where its name is."""

    string: str
    x: float
    begins: float
    width: float
    name_y: int


@dataclass(frozen=True, slots=True)
class NutDrawing:
    width: float
    height: int
    nut: int
    marks: tuple[Mark, ...]

    @property
    def words(self) -> str:
        """The strings left to right, seen from the front."""
        return " ".join(one.string for one in self.marks)


def draw(plan: NutPlan, nut_mm: float) -> NutDrawing:
    """The drawing of a plan, the slots left to right."""
    paired = len(plan.slots) > PAIRED // 2
    marks = tuple(
        Mark(
            one.string,
            round(one.from_left_mm * TENTHS, 1),
            round((one.from_left_mm - one.diameter_mm / 2) * TENTHS, 1),
            round(one.diameter_mm * TENTHS, 1),
            LINES[at % 2 if paired else 0],
        )
        for at, one in enumerate(plan.from_left)
    )
    return NutDrawing(round(nut_mm * TENTHS, 1), HEIGHT if paired else LINES[0] + 8, NUT, marks)
