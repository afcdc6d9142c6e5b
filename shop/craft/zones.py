"""The zones of a guitar: where on it a defect is, by number and by name.

The words of a defect carry the zone as ``PLACES`` has it ("zone 3 upper bout"); the drawing
with the same numbers is ``templates/drawing/zones.svg``.
"""

from __future__ import annotations

import re
from typing import Final

ZONES: Final[dict[str, tuple[tuple[int, str], ...]]] = {
    "Front": (
        (1, "peghead face"),
        (2, "neck and frets"),
        (3, "upper bout"),
        (4, "waist and soundhole"),
        (5, "bridge"),
        (6, "lower bout"),
    ),
    "Back": (
        (7, "peghead back"),
        (8, "neck back"),
        (9, "upper back"),
        (10, "lower back"),
    ),
    "Sides": ((11, "bass side"), (12, "treble side")),
    "Elsewhere": ((13, "heel"), (14, "inside"), (15, "case"), (16, "papers")),
}
"""The zones by where one stands to see them, numbered through."""

PLACES: Final = {
    number: f"zone {number} {name}" for zones in ZONES.values() for number, name in zones
}

_TOLD: Final = re.compile(r"\bzone (\d{1,2})\b", re.IGNORECASE)


def told(words: str) -> tuple[int, ...]:
    """The zones that words name, each once, in their order; empty where they name none.

    >>> told("fret, zone 2 neck and frets"), told("zone 16 and Zone 4, zone 17"), told("ozone 3")
    ((2,), (16, 4), ())
    """
    numbers = (int(number) for number in _TOLD.findall(words))
    return tuple(dict.fromkeys(number for number in numbers if number in PLACES))
