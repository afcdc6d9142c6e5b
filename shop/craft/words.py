"""Numbers and lists as people on the floor read them."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from shop.craft.size import Size, plain

THIN = "\u202f"  # narrow space that never breaks, between a number and its unit


def mm(value_mm: Decimal | Size) -> str:
    """A length, or both limits of one, with its unit and without idle zeros.

    >>> mm(Decimal("44.50")).replace(THIN, " ")
    '44.5 mm'
    """
    said = str(value_mm) if isinstance(value_mm, Size) else plain(value_mm)
    return f"{said}{THIN}mm"


def several(count: int, noun: str) -> str:
    """A count with its noun in the right number.

    >>> several(1, "machine"), several(12, "machine")
    ('1 machine', '12 machines')
    """
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def listed(parts: Sequence[str]) -> str:
    """The parts as one phrase.

    >>> listed(["N40", "N50", "N60"])
    'N40, N50 and N60'
    """
    *most, last = parts
    return f"{', '.join(most)} and {last}" if most else last
