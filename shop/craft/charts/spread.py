"""Mean and spread of readings, true to the last figure they carry.

Both are worked about the mean in two passes, with sums that lose nothing: the short form of
one pass (squares less the square of the sum) leaves nothing of a small spread about a large
mean.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import fsum, sqrt

from shop.craft.formula import Symbol, formula

HANDBOOK = "NIST/SEMATECH e-Handbook of Statistical Methods"
LEAST = 2  # readings that have a spread


@formula(
    "mean",
    "Mean",
    "m = Σxᵢ / n",
    Symbol("xᵢ", "values", "the readings", "mm"),
    Symbol("m", "", "their mean", "mm"),
    source=f"{HANDBOOK}, 1.3.5.1",
    given={"values": (2.4, 2.5, 2.3)},
)
def mean(values: Sequence[float]) -> float:
    """The mean of one reading or more. Raises ``ValueError`` for none.

    >>> mean((2.4, 2.5, 2.3))
    2.4
    """
    if not values:
        raise ValueError("no readings")
    about = values[0]
    return about + fsum(one - about for one in values) / len(values)


@formula(
    "standard-deviation",
    "Standard deviation",
    "s = √(Σ(xᵢ − m)² / (n − 1))",
    Symbol("xᵢ", "values", "the readings", "mm"),
    Symbol("s", "", "their standard deviation", "mm"),
    source=f"{HANDBOOK}, 1.3.5.6",
    given={"values": (2.4, 2.5, 2.3)},
    places=3,
)
def sd(values: Sequence[float]) -> float:
    """The standard deviation of two readings or more. Raises ``ValueError`` for fewer.

    >>> round(sd((2.4, 2.5, 2.3)), 3)
    0.1
    """
    if len(values) < LEAST:
        raise ValueError(f"{len(values)} of the {LEAST} readings that a spread needs")
    about = mean(values)
    off = [one - about for one in values]
    # What rounding left in the mean is taken out again.
    squares = fsum(one * one for one in off) - fsum(off) ** 2 / len(off)
    return sqrt(max(squares, 0.0) / (len(off) - 1))
