"""Factors of control charts, for groups of n readings that are normally distributed.

Worked out by integration rather than copied; D. C. Montgomery, Introduction to Statistical
Quality Control, App. VI, prints them to three places.
"""

from __future__ import annotations

from functools import lru_cache
from math import gamma, sqrt

from shop.craft.formula import Symbol, formula

MONTGOMERY = "D. C. Montgomery, Introduction to Statistical Quality Control, App. VI"
FAR = 8.0  # standard deviations; beyond them lies less than 1e-15
STEPS = 1601


@formula(
    "mean-range",
    "Mean range of a group of readings",
    "d₂ = ∫ (1 − Φ(x)^n − (1 − Φ(x))^n) dx",
    Symbol("n", "n", "readings in a group", ""),
    Symbol("d₂", "", "mean range in standard deviations", ""),
    source=MONTGOMERY,
    given={"n": 2},
    places=3,
)
def mean_range(n: int) -> float:
    """d₂: how many standard deviations lie between the least and the most of n, on average.

    >>> round(mean_range(2), 3)
    1.128
    """
    return _of_range(n)[0]


@formula(
    "spread-bias",
    "What a small group's standard deviation falls short by",
    "c₄ = √(2 / (n − 1)) · Γ(n/2) / Γ((n − 1)/2)",
    Symbol("n", "n", "readings in a group", ""),
    Symbol("c₄", "", "mean standard deviation of groups, in true ones", ""),
    source=MONTGOMERY,
    given={"n": 5},
    places=4,
)
def spread_bias(n: int) -> float:
    """c₄: the mean of the standard deviations of groups of n, in true standard deviations.

    >>> round(spread_bias(5), 4)
    0.94
    """
    return sqrt(2 / (n - 1)) * gamma(n / 2) / gamma((n - 1) / 2)


def range_limits(n: int) -> tuple[float, float]:
    """D₃ and D₄: the limits of a range, in mean ranges; the lower never below 0.

    >>> tuple(round(one, 2) for one in range_limits(2))
    (0.0, 3.27)
    """
    mean, sd = _of_range(n)
    return max(1 - 3 * sd / mean, 0.0), 1 + 3 * sd / mean


def mean_limit(n: int) -> float:
    """A₂: how far the mean of a group may lie off, in mean ranges.

    >>> round(mean_limit(5), 3)
    0.577
    """
    return 3 / (_of_range(n)[0] * sqrt(n))


@lru_cache(maxsize=64)
def _of_range(n: int) -> tuple[float, float]:
    """Mean and standard deviation of the range of n, in standard deviations.

    From what is beyond r, 1 − F(r), with F(r) = n ∫ φ(x) (Φ(x + r) − Φ(x))ⁿ⁻¹ dx.
    """
    if n < 2:
        raise ValueError(f"a range of {n}")
    # Slow to import, and only wanted where it is asked for.
    import numpy as np
    from scipy.integrate import simpson, trapezoid
    from scipy.stats import norm

    x = np.linspace(-FAR, FAR, STEPS)
    r = np.linspace(0.0, 2 * FAR, STEPS)
    between = norm.cdf(x[None, :] + r[:, None]) - norm.cdf(x)[None, :]
    beyond = 1 - n * trapezoid(norm.pdf(x)[None, :] * between ** (n - 1), x, axis=1)
    mean = float(simpson(beyond, x=r))
    square = float(simpson(2 * r * beyond, x=r))
    return mean, sqrt(square - mean * mean)
