"""What is counted, not measured: the share of defective guitars, and defects on each.

A p chart holds the share of each sample against three standard deviations of chance about the
share of all; samples may differ in size, and each then has limits of its own. A c chart does
the same for defects counted on samples that are all alike.

NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.3.1 and 6.3.3.2.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, sqrt

from shop.craft.charts.individuals import SETTLED, SIGMAS
from shop.craft.charts.runs import CLOSE
from shop.craft.charts.spread import HANDBOOK
from shop.craft.finding import Finding, note
from shop.craft.formula import Symbol, formula
from shop.craft.words import several


@formula(
    "chart-share-limit",
    "Limit of shares, p chart",
    "G = p + k · 3 · √(p · (1 − p) / n)",
    Symbol("p", "centre", "share of all samples together", ""),
    Symbol("n", "size", "units in the sample", ""),
    Symbol("k", "side", "1 for the upper limit, −1 for the lower", ""),
    Symbol("G", "", "the limit; one below 0 or above 1 is none", ""),
    source=f"{HANDBOOK}, 6.3.3.2",
    given={"centre": 0.2313, "size": 50, "side": 1},
    places=4,
)
def share_limit(centre: float, size: int, side: int) -> float:
    """The limit on a side.

    >>> round(share_limit(0.2313, 50, -1), 4)
    0.0524
    """
    return centre + side * SIGMAS * sqrt(centre * (1 - centre) / size)


@formula(
    "chart-count-limit",
    "Limit of counts, c chart",
    "G = c + k · 3 · √c",
    Symbol("c", "centre", "mean of the counts", ""),
    Symbol("k", "side", "1 for the upper limit, −1 for the lower", ""),
    Symbol("G", "", "the limit; one below 0 is none", ""),
    source=f"{HANDBOOK}, 6.3.3.1",
    given={"centre": 16.0, "side": 1},
    places=1,
)
def count_limit(centre: float, side: int) -> float:
    """The limit on a side.

    >>> count_limit(16.0, 1), count_limit(16.0, -1)
    (28.0, 4.0)
    """
    return centre + side * SIGMAS * sqrt(centre)


@dataclass(frozen=True, slots=True)
class Counted:
    """A p or c chart: the points in their order, and for each its lower and upper limit.

    ``out`` are the points, counted from 0, that lie beyond theirs.
    """

    points: tuple[float, ...]
    centre: float
    lower: tuple[float, ...]
    upper: tuple[float, ...]

    @property
    def out(self) -> tuple[int, ...]:
        limits = enumerate(zip(self.points, self.lower, self.upper, strict=True))
        return tuple(
            at for at, (one, low, high) in limits if one < low - CLOSE or one > high + CLOSE
        )

    @property
    def finding(self) -> Finding | None:
        """What to keep in mind where the limits are made from few samples."""
        if len(self.points) >= SETTLED:
            return None
        words = f"{several(len(self.points), 'sample')}: the limits are a first guess."
        return note("SP2", words, f"They hold from {SETTLED} samples on.")


def p_chart(defective: Sequence[int], sizes: int | Sequence[int]) -> Counted | None:
    """The chart of shares: how many were defective in each sample, of how many. ``None`` for no
    samples. Raises ``ValueError`` for more defective than looked at, or samples of none.

    >>> p_chart((2, 1, 20), (50, 20, 50)).out
    (2,)
    """
    of = [sizes] * len(defective) if isinstance(sizes, int) else list(sizes)
    for bad, size in zip(defective, of, strict=True):
        if not 0 <= bad <= size or not size:
            raise ValueError(f"{bad} of {size} defective: give 0 to {size}, of 1 or more.")
    if not defective:
        return None
    centre = sum(defective) / sum(of)
    return Counted(
        points=tuple(bad / size for bad, size in zip(defective, of, strict=True)),
        centre=centre,
        lower=tuple(_within(share_limit(centre, size, -1), 1.0) for size in of),
        upper=tuple(_within(share_limit(centre, size, 1), 1.0) for size in of),
    )


def c_chart(counts: Sequence[int]) -> Counted | None:
    """The chart of defects counted on samples that are all alike; ``None`` for no samples.
    Raises ``ValueError`` for a count below 0.

    >>> c_chart((4, 3, 5, 4, 3, 5, 14)).out
    (6,)
    """
    if any(one < 0 for one in counts):
        raise ValueError(f"{min(counts)} defects: a count is 0 or more.")
    if not counts:
        return None
    centre, many = sum(counts) / len(counts), len(counts)
    return Counted(
        points=tuple(map(float, counts)),
        centre=centre,
        lower=(_within(count_limit(centre, -1), inf),) * many,
        upper=(count_limit(centre, 1),) * many,
    )


def _within(limit: float, most: float) -> float:
    """A limit beyond what can be counted is the end of it."""
    return min(max(limit, 0.0), most)
