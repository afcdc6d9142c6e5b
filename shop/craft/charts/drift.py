"""What moved between the first look and the second, in all instruments together.

Each instrument was measured before its days in the case and after them. One may move for its
own reasons; where the median moves, they all do, and setting up can allow for it. The median
and the quarters are used because a single fall or a misread gauge does not bend them.

The interval about the median needs no distribution: W. J. Conover, Practical Nonparametric
Statistics, 3rd ed., 3.2 (binomial; from memory). What one instrument may move: common
practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from statistics import median, quantiles
from typing import Final

from shop.craft.finding import Finding, note, warn
from shop.craft.formula import COMMON, Symbol, formula
from shop.craft.words import THIN, several

MOST_MM: Final = Decimal("0.15")  # either way at the second look; common practice, no source
MOST: Final = {"action": MOST_MM, "relief": Decimal("0.10")}
"""The same by what was measured; of relief, common practice too."""
COVERED: Final = 0.95
ALLOW_LOWER: Final = "They rise together: set up that much lower."
ALLOW_HIGHER: Final = "They sink together: set up that much higher."
QUARTERED: Final = 4  # values that quarters are made from, at least


@formula(
    "drift",
    "What moved between two looks",
    "d = b − a",
    Symbol("a", "first_mm", "read at the first look", "mm"),
    Symbol("b", "second_mm", "read at the second look", "mm"),
    Symbol("d", "", "what it moved, above 0 where it rose", "mm"),
    source=COMMON,
    given={"first_mm": 2.40, "second_mm": 2.65},
)
def moved(first_mm: float, second_mm: float) -> float:
    """What one reading moved, rounded to a thousandth so that figures read in hundredths
    leave nothing behind.

    >>> moved(2.40, 2.65)
    0.25
    """
    return round(second_mm - first_mm, 3)


@dataclass(frozen=True, slots=True)
class Drift:
    """What moved over many instruments, in millimetres, above 0 where it rose.

    ``quarters`` hold the middle half, ``None`` for fewer than four. ``interval`` holds the
    true median with at least 95 % confidence, ``None`` where there are too few for that.
    ``beyond`` are those, counted from 0, that moved more than ``most_mm`` either way.
    """

    moves_mm: tuple[float, ...]
    most_mm: float
    median_mm: float
    quarters_mm: tuple[float, float] | None
    interval_mm: tuple[float, float] | None
    beyond: tuple[int, ...]

    @property
    def spread_mm(self) -> float | None:
        """The width of the middle half."""
        return None if self.quarters_mm is None else self.quarters_mm[1] - self.quarters_mm[0]

    @property
    def creeps(self) -> bool:
        """Whether they moved together, and not by chance."""
        if self.interval_mm is None:
            return False
        low, high = self.interval_mm
        return low > 0 or high < 0

    @property
    def finding(self) -> Finding:
        """Whether setting up has to allow for it, in words."""
        words = f"Median {_signed(self.median_mm)} over {several(len(self.moves_mm), 'move')}."
        if self.creeps and abs(self.median_mm) > self.most_mm:
            return warn("DR1", words, "All of them move too far: look for the cause.")
        if self.creeps:
            rose = self.median_mm > 0
            return note("DR1", words, ALLOW_LOWER if rose else ALLOW_HIGHER)
        if self.interval_mm is None:
            return note("DR1", words, "Too few to tell a common move from chance.")
        return note("DR1", words, "No common move.")


def drift(pairs: Sequence[tuple[float, float]], most_mm: Decimal | float = MOST_MM) -> Drift | None:
    """What moved from the first of each pair to its second, in millimetres; ``None`` for none.

    >>> drift([(2.40, 2.65), (2.38, 2.45), (2.41, 2.50)]).median_mm
    0.09
    """
    if not pairs:
        return None
    moves = tuple(moved(first, second) for first, second in pairs)
    quarters = quantiles(moves, n=4, method="inclusive") if len(moves) >= QUARTERED else None
    most = float(most_mm)
    return Drift(
        moves_mm=moves,
        most_mm=most,
        median_mm=round(median(moves), 4),
        quarters_mm=None if quarters is None else (quarters[0], quarters[2]),
        interval_mm=_interval(sorted(moves)),
        beyond=tuple(at for at, one in enumerate(moves) if abs(one) > most),
    )


def _interval(ordered: Sequence[float]) -> tuple[float, float] | None:
    """From the k-th least to the k-th most, the narrowest that still covers enough."""
    count = len(ordered)
    # Slow to import, and only wanted where it is asked for.
    from scipy.stats import binom

    # Values below the median follow B(n, 1/2); k of them or fewer has half of what is left out.
    k = int(binom.ppf((1 - COVERED) / 2, count, 0.5))
    if k == 0:
        return None
    return ordered[k - 1], ordered[count - k]


def _signed(value_mm: float) -> str:
    sign = "+" if value_mm > 0 else "\u2212" if value_mm < 0 else ""
    return f"{sign}{abs(value_mm):.2f}{THIN}mm"
