"""What one cell of a list says: words, a number, a day, yes or no."""

from __future__ import annotations

import re
from datetime import date
from decimal import Decimal
from typing import Final

from shop.craft.spreadsheet import FORMULA

_WHOLE: Final = re.compile(r"\+?([0-9]{1,12})")
_EXACT: Final = re.compile(r"([+\-\u2212]?)([0-9]{0,9})(?:[.,]([0-9]{0,12}))?")
_DAY: Final = re.compile(r"([0-9]{4}-[0-9]{2}-[0-9]{2})(?:[T ]00:00(?::00)?)?")
_YES: Final = {"yes": True, "true": True, "1": True, "no": False, "false": False, "0": False}
_QUOTED: Final = 30  # characters of a cell that are said back


class NotSo(ValueError):
    """The cell does not say such a thing; the message says what it says and what to write."""


def bare(text: str) -> str:
    """The words of a cell, one space between them. The apostrophe that was put before a
    formula to make it text (``spreadsheet.cells``) is taken off again.

    >>> bare("  open-gear   set "), bare("'=1+1"), bare("'tis")
    ('open-gear set', '=1+1', "'tis")
    """
    if text.startswith("'") and text[1:].startswith(FORMULA):
        text = text[1:]
    return " ".join(text.split())


def words(text: str, most: int) -> str:
    """The words, if they are not longer than may be kept. Raises ``NotSo``."""
    if len(text) > most:
        raise NotSo(f"{quoted(text)} has {len(text)} characters. Say it in {most}.")
    return text


def whole(text: str, least: int = 1, most: int = 1_000_000) -> int:
    """A whole number between two others. Raises ``NotSo``.

    A comma or point is refused: nobody knows whether 1,000 is one or a thousand.
    """
    found = _WHOLE.fullmatch(text)
    if found is None:
        raise NotSo(f"{quoted(text)} is no whole number. Write it as 1200.")
    value = int(found[1])
    if not least <= value <= most:
        raise NotSo(f"{value} cannot be: it lies between {least} and {most}.")
    return value


def exact(text: str) -> Decimal:
    """A number with a comma or a point. Raises ``NotSo``.

    >>> exact("8,73"), exact("-0.02")
    (Decimal('8.73'), Decimal('-0.02'))
    """
    found = _EXACT.fullmatch(text)
    if found is None or not (found[2] or found[3]):
        raise NotSo(f"{quoted(text)} is no number. Write it as 8.73 or 8,73.")
    sign = "-" if found[1] in {"-", "\u2212"} else ""
    return Decimal(f"{sign}{found[2] or 0}.{found[3] or 0}")


def day(text: str) -> date:
    """A day as ISO 8601 writes it, with midnight behind it or without. Raises ``NotSo``."""
    found = _DAY.fullmatch(text)
    try:
        return date.fromisoformat(found[1] if found else text)
    except ValueError:
        raise NotSo(f"{quoted(text)} is no date. Write it as 2031-03-04.") from None


def yes(text: str) -> bool:
    """Yes or no, as the words or as a spreadsheet writes them. Raises ``NotSo``."""
    if (said := _YES.get(text.casefold())) is None:
        raise NotSo(f"{quoted(text)} is neither yes nor no. Write yes or no.")
    return said


def quoted(text: str) -> str:
    """The beginning of a cell, to say it back."""
    return text if len(text) <= _QUOTED else f"{text[:_QUOTED]}\u2026"
