"""Pages onto sheets: formats of paper, and where on a sheet each page goes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class Format:
    """A page as it is trimmed, in mm."""

    width_mm: float
    height_mm: float


# ISO 216:2007, A series, portrait.
A4: Final = Format(210, 297)
A5: Final = Format(148, 210)
A6: Final = Format(105, 148)
A7: Final = Format(74, 105)
A8: Final = Format(52, 74)
LETTER: Final = Format(215.9, 279.4)  # ANSI/ASME Y14.1, size A
CARD: Final = Format(85.6, 53.98)  # ISO/IEC 7810, ID-1
