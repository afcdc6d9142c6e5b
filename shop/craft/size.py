"""A dimension between its limits, and the clearance of two of them at their worst.

Names after ISO 286-1: the limits of size are the nominal size plus the lower and the upper
deviation; the clearance of a hole and a shaft is least when the hole is at its lower and
the shaft at its upper limit.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import Any

ZERO = Decimal(0)


@dataclass(frozen=True, slots=True)
class Tolerance:
    """How far a dimension may lie from its nominal, in millimetres, signed.

    Raises ``ValueError`` when the lower deviation is above the upper.
    """

    lower_mm: Decimal
    upper_mm: Decimal

    def __post_init__(self) -> None:
        if self.lower_mm > self.upper_mm:
            raise ValueError(f"The lower deviation {self.lower_mm} is above {self.upper_mm}.")


@dataclass(frozen=True, slots=True)
class Size:
    """A length in millimetres between its least and its most, both possible."""

    least: Decimal
    most: Decimal

    @property
    def exact(self) -> bool:
        return self.least == self.most

    def __sub__(self, other: Size) -> Size:
        """This less another at their worst: the clearance of a hole less its shaft."""
        return Size(self.least - other.most, self.most - other.least)

    def __str__(self) -> str:
        """
        >>> str(Size(Decimal("8.730"), Decimal("8.745")))
        '8.73–8.745'
        """
        if self.exact:
            return plain(self.least)
        return f"{plain(self.least)}–{plain(self.most)}"


@lru_cache(maxsize=8192)
def plain(value_mm: Decimal) -> str:
    """A number without idle zeros, with a true minus sign.

    >>> plain(Decimal("-0.380")), plain(Decimal("10"))
    ('−0.38', '10')
    """
    return f"{value_mm.normalize():f}".replace("-", "\u2212")


def exactly(value_mm: Decimal) -> Size:
    """A size without tolerance: measured, or only its nominal known."""
    return Size(value_mm, value_mm)


def sized(thing: Any, dimension: str, tolerances: tuple[tuple[str, Tolerance], ...]) -> Size:
    """The named dimension of a thing between its limits.

    Raises ``ValueError`` where the thing has no such dimension.
    """
    nominal: Decimal | None = getattr(thing, dimension)
    if nominal is None:
        raise ValueError(f"{thing.key} has no {dimension}.")
    for name, tolerance in tolerances:
        if name == dimension:
            return Size(nominal + tolerance.lower_mm, nominal + tolerance.upper_mm)
    return Size(nominal, nominal)
