"""Lengths as a person reads them: in millimetres, in inches, or in both.

The shop keeps millimetres. An inch is 25.4 mm exactly, by the international yard and pound
agreement of 1959, so nothing is lost on the way there and back; only what is shown is
rounded, to a ten-thousandth of an inch.
"""

from __future__ import annotations

import re
from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from shop.craft.size import plain
from shop.craft.words import THIN

MM_PER_INCH: Final = Decimal("25.4")
SHOWN_IN: Final = Decimal("0.0001")
UNITS: Final = ("mm", "both", "inch")
"""How a person may have lengths: millimetres, the inch beside them, inches alone."""

# A number or a range of two, then mm: "8.73 mm", "8.73–8.745 mm", "5 to 13 mm".
_NUMBER: Final = r"[\u2212-]?\d+(?:\.\d+)?"
_LENGTH: Final = re.compile(
    rf"(?<![\w.,])(?P<first>{_NUMBER})"
    r"(?:(?P<to>\s?[\u2013-]\s?|\sto\s)(?P<last>\d+(?:\.\d+)?))?[ \u00a0\u202f]?mm\b"
)
# What of a sentence without its lengths may still be a length: a decimal of no other unit.
_BARE: Final = re.compile(
    r"\d\.\d+(?![\d.]*(?:[\u2013-]\d+(?:\.\d+)?)?[ \u00a0\u202f]?"
    r"(?:N|g|kg|h|min|s|turns|cents|Hz)\b)"
    r"(?![\d.]*[ \u00a0\u202f]?[%\u00b0])"
)


def inches(value_mm: Decimal) -> str:
    """A length in inches without its unit, to a ten-thousandth.

    >>> inches(Decimal("8.73")), inches(Decimal("-12.7"))
    ('0.3437', '−0.5000')
    """
    rounded = (value_mm / MM_PER_INCH).quantize(SHOWN_IN, ROUND_HALF_UP)
    return _true_minus(f"{rounded:f}")


def length(value_mm: Decimal, units: str, places: int | None = None) -> str:
    """One length in a person's units; its millimetres to so many places, if told.

    >>> length(Decimal("8.7"), "both", 2).replace(THIN, " ")
    '8.70 mm (0.3425 in)'
    """
    said = plain(value_mm) if places is None else _true_minus(f"{value_mm:.{places}f}")
    in_mm, in_inch = f"{said}{THIN}mm", f"{inches(value_mm)}{THIN}in"
    if units == "inch":
        return in_inch
    return f"{in_mm} ({in_inch})" if units == "both" else in_mm


def in_units(words: str, units: str) -> str:
    """A sentence with each of its lengths in a person's units.

    A sentence that leaves the unit off some figure keeps its millimetres, with the inch
    beside: one figure in inches next to a bare one in millimetres would mislead.

    >>> in_units("Ream to 8.73 mm.", "inch").replace(THIN, " ")
    'Ream to 0.3437 in.'
    """
    if units == "mm" or units not in UNITS:
        return words
    beside = units == "both" or _BARE.search(_LENGTH.sub("", words)) is not None
    return _LENGTH.sub(lambda found: _said(found, beside), words)


def beside(words: str, units: str) -> str:
    """The same for arithmetic: it is done in millimetres, so the inch only stands beside."""
    return in_units(words, "mm" if units == "mm" else "both")


def _said(found: re.Match[str], beside: bool) -> str:
    ends = [_of(found["first"]), *([_of(found["last"])] if found["last"] else [])]
    said = f"{(found['to'] or '').join(inches(one) for one in ends)}{THIN}in"
    return f"{found[0]} ({said})" if beside else said


def _true_minus(figure: str) -> str:
    return figure.replace("-", "\u2212")


def _of(text: str) -> Decimal:
    return Decimal(text.replace("\u2212", "-"))
