"""Figures of set-up as they are judged and as they are read.

What was worked out is judged after rounding it finer than any gauge of the bench reads, so
that 0.1 and 0.2 of a millimetre are 0.3 and not a hair more.
"""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from math import isfinite
from typing import Final

from shop.craft.size import plain
from shop.craft.words import mm

FINER: Final = 3  # decimals that are judged: a thousandth of a millimetre, of a cent


def rounded(value: float, places: int = 2) -> Decimal:
    """A number to so many places, halves away from zero, as it is written by hand.

    >>> rounded(0.125), rounded(-0.001), rounded(1.2000000000000002)
    (Decimal('0.13'), Decimal('0.00'), Decimal('1.20'))
    """
    return Decimal(repr(float(value))).quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP) + 0


def judged(value: float) -> float:
    """A number as it is held against a limit.

    >>> 0.1 + 0.2 > 0.3, judged(0.1 + 0.2) > 0.3, judged(-0.0001)
    (True, False, 0.0)
    """
    return float(rounded(value, FINER))


def figure(value: float, places: int = 2) -> str:
    """A number without idle zeros.

    >>> figure(1.2000000000000002), figure(-0.5)
    ('1.2', '−0.5')
    """
    return plain(rounded(value, places))


def signed(value: float, places: int = 2) -> str:
    """A number that says which way it goes.

    >>> signed(1.3), signed(-0.5), signed(0.0)
    ('+1.3', '−0.5', '0')
    """
    said = figure(value, places)
    return f"+{said}" if rounded(value, places) > 0 else said


def length(value_mm: float, places: int = 2) -> str:
    """A length with its unit, to a hundredth of a millimetre if nothing else is told.

    >>> from shop.craft.words import THIN
    >>> length(357.693).replace(THIN, " ")
    '357.69 mm'
    """
    return mm(rounded(value_mm, places))


def known(**values: float) -> None:
    """Raises ``ValueError`` where one of these is no number: a fault of the program, for what
    people type is read before it comes here."""
    for name, value in values.items():
        if not isfinite(value):
            raise ValueError(f"{name} is {value!r}, no number")


def above_zero(**values: float) -> None:
    """The same, and raises it where one is not above zero."""
    known(**values)
    for name, value in values.items():
        if value <= 0:
            raise ValueError(f"{name} is {value!r}: it has to be above zero")
