"""How far off a measured value may be, from all that makes it uncertain.

Each contribution is a standard uncertainty: a standard deviation in the unit of the result.
They add by their squares; the degrees of freedom of the sum come from theirs, and with them
the factor that covers a wanted share of what may be.

JCGM 100:2008, Guide to the expression of uncertainty in measurement (GUM), 4.3, 5.1, 6.2 and
Annex G.4.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor, fsum, inf, isinf, sqrt

from shop.craft.formula import Symbol, formula

GUM = "JCGM 100:2008 (GUM)"
CLOSE = 1e-9  # degrees of freedom differ by rounding alone below this


@dataclass(frozen=True, slots=True)
class Contribution:
    """One thing that makes a result uncertain: its words, its standard uncertainty in the
    result's unit, its degrees of freedom (infinite where its limits are known for sure).

    Raises ``ValueError`` for an uncertainty below 0 or for no degrees of freedom.
    """

    words: str
    standard: float
    freedom: float = inf

    def __post_init__(self) -> None:
        if not self.standard >= 0 or not self.freedom > 0:
            raise ValueError(f"{self.words}: {self.standard} with {self.freedom} of freedom")


@dataclass(frozen=True, slots=True)
class Budget:
    """All contributions to one result, in its unit.

    ``freedom`` are the effective degrees of freedom; ``factor`` covers ``covered_pct`` of
    what may be.
    """

    contributions: tuple[Contribution, ...]
    covered_pct: float
    standard: float
    freedom: float
    factor: float

    @property
    def expanded(self) -> float:
        """What is said with a result: ± so much."""
        return self.factor * self.standard


@formula(
    "uncertainty-rectangular",
    "Standard uncertainty of what lies within limits",
    "u = a / √3",
    Symbol("a", "half_width", "half of the distance between the limits", "mm"),
    Symbol("u", "", "standard uncertainty", "mm"),
    source=f"{GUM}, 4.3.7",
    given={"half_width": 0.005},
    places=5,
)
def within_limits(half_width: float) -> float:
    """For limits within which any value is as likely, such as a gauge's last figure.

    >>> round(within_limits(0.005), 5)
    0.00289
    """
    return half_width / sqrt(3)


@formula(
    "uncertainty-combined",
    "Combined standard uncertainty",
    "u = √(Σuᵢ²)",
    Symbol("uᵢ", "standards", "standard uncertainties that do not depend on each other", "mm"),
    Symbol("u", "", "combined standard uncertainty", "mm"),
    source=f"{GUM}, 5.1.2",
    given={"standards": (0.003, 0.004)},
    places=4,
)
def combined(standards: Sequence[float]) -> float:
    """Root of the sum of squares.

    >>> combined((3.0, 4.0))
    5.0
    """
    return sqrt(fsum(one * one for one in standards))


@formula(
    "uncertainty-freedom",
    "Effective degrees of freedom",
    "f = u⁴ / Σ(uᵢ⁴ / fᵢ), u by uᵢ together",
    Symbol("uᵢ", "standards", "standard uncertainties", "mm"),
    Symbol("fᵢ", "freedoms", "their degrees of freedom", ""),
    Symbol("f", "", "effective degrees of freedom", ""),
    source=f"{GUM}, G.4.1, after Welch and Satterthwaite",
    given={"standards": (3.0, 4.0), "freedoms": (10.0, 20.0)},
    places=1,
)
def effective_freedom(standards: Sequence[float], freedoms: Sequence[float]) -> float:
    """Infinite where all of them are, or where nothing is uncertain.

    >>> round(effective_freedom((3.0, 4.0), (10.0, 20.0)), 1)
    29.9
    """
    below = fsum(u**4 / freedom for u, freedom in zip(standards, freedoms, strict=True))
    return combined(standards) ** 4 / below if below else inf


def coverage_factor(freedom: float, covered_pct: float) -> float:
    """So many standard uncertainties to both sides cover that many per cent: Student's t, with
    the degrees of freedom cut to a whole number as the Guide says (G.4.1 note 1).

    >>> round(coverage_factor(16.7, 99), 2)
    2.92
    """
    # Slow to import, and only wanted where it is asked for.
    from scipy.stats import norm
    from scipy.stats import t as t_distribution

    up_to = 1 - (1 - covered_pct / 100) / 2
    if isinf(freedom):
        return float(norm.ppf(up_to))
    return float(t_distribution.ppf(up_to, max(floor(freedom + CLOSE), 1)))


def budget(contributions: Sequence[Contribution], covered_pct: float = 95.0) -> Budget:
    """What the contributions come to together.

    Raises ``ValueError`` for a share that is not between 0 and 100.
    """
    if not 0 < covered_pct < 100:
        raise ValueError(f"{covered_pct} % covered")
    standards = [one.standard for one in contributions]
    freedom = effective_freedom(standards, [one.freedom for one in contributions])
    return Budget(
        tuple(contributions),
        covered_pct,
        combined(standards),
        freedom,
        coverage_factor(freedom, covered_pct),
    )
