"""What the work is good for: its spread against what a spec allows.

Cp compares the widths, Cpk also where the middle lies. From few readings either is a guess;
how good a guess the interval says, and the judgement goes by its ends.

NIST/SEMATECH e-Handbook of Statistical Methods, 6.1.6; the intervals as in D. C. Montgomery,
Introduction to Statistical Quality Control, 8.3.4 (Cp by χ², Cpk after A. F. Bissell, Applied
Statistics 39, 1990). They hold for readings that are steady and normally distributed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Final

from shop.craft.charts.spread import HANDBOOK, LEAST, mean, sd
from shop.craft.finding import Finding, note, stop, warn
from shop.craft.formula import Symbol, formula
from shop.craft.words import THIN, several

WANTED: Final = 1.33  # of Cpk; common practice, no source
KEPT: Final = 1.0  # below it the spread reaches beyond the limits
COVERED_PCT: Final = 95.0

Interval = tuple[float, float]


@formula(
    "capability-width",
    "Cp, width allowed against spread",
    "Cp = (U − L) / (6 · s)",
    Symbol("L", "lower", "least that is allowed", "mm"),
    Symbol("U", "upper", "most that is allowed", "mm"),
    Symbol("s", "spread", "standard deviation", "mm"),
    Symbol("Cp", "", "widths of six standard deviations that are allowed", ""),
    source=f"{HANDBOOK}, 6.1.6",
    given={"lower": 8.0, "upper": 20.0, "spread": 2.0},
)
def cp(lower: float, upper: float, spread: float) -> float:
    """The width that is allowed, in six standard deviations.

    >>> cp(8.0, 20.0, 2.0)
    1.0
    """
    return (upper - lower) / (6 * spread)


@formula(
    "capability-side",
    "Cpk on one side, distance to a limit",
    "C = k · (G − m) / (3 · s)",
    Symbol("G", "limit", "the limit on that side", "mm"),
    Symbol("m", "centre", "mean of the readings", "mm"),
    Symbol("s", "spread", "standard deviation", "mm"),
    Symbol("k", "side", "1 for an upper limit, −1 for a lower", ""),
    Symbol("C", "", "distance in three standard deviations; Cpk is the lesser of both", ""),
    source=f"{HANDBOOK}, 6.1.6",
    given={"limit": 20.0, "centre": 16.0, "spread": 2.0, "side": 1},
    places=4,
)
def to_limit(limit: float, centre: float, spread: float, side: int) -> float:
    """How far the mean lies inside of a limit, in three standard deviations.

    >>> round(to_limit(20.0, 16.0, 2.0, 1), 4), round(to_limit(8.0, 16.0, 2.0, -1), 4)
    (0.6667, 1.3333)
    """
    return side * (limit - centre) / (3 * spread)


@formula(
    "capability-interval-width",
    "End of the interval about Cp",
    "C = Cp · √(χ²(p; n − 1) / (n − 1))",
    Symbol("Cp", "found", "Cp as it was found", ""),
    Symbol("n", "count", "readings", ""),
    Symbol("p", "share", "chance that the true one lies below", ""),
    Symbol("C", "", "end of the interval", ""),
    source="D. C. Montgomery, Introduction to Statistical Quality Control, 8.3.4",
    given={"found": 2.2857, "count": 20, "share": 0.025},
)
def cp_end(found: float, count: int, share: float) -> float:
    """The value that the true Cp lies below with this chance.

    >>> round(cp_end(2.2857, 20, 0.025), 2), round(cp_end(2.2857, 20, 0.975), 2)
    (1.56, 3.01)
    """
    freedom = count - 1
    # Slow to import, and only wanted where it is asked for.
    from scipy.stats import chi2

    return found * sqrt(float(chi2.ppf(share, freedom)) / freedom)


@formula(
    "capability-interval",
    "End of the interval about Cpk",
    "C = Cpk + z(p) · √(1 / (9 · n) + Cpk² / (2 · (n − 1)))",
    Symbol("Cpk", "found", "Cpk as it was found", ""),
    Symbol("n", "count", "readings", ""),
    Symbol("p", "share", "chance that the true one lies below", ""),
    Symbol("C", "", "end of the interval", ""),
    source="A. F. Bissell, Applied Statistics 39 (1990)",
    given={"found": 1.33, "count": 20, "share": 0.025},
)
def cpk_end(found: float, count: int, share: float) -> float:
    """The value that the true Cpk lies below with this chance, about.

    >>> round(cpk_end(1.33, 20, 0.025), 2), round(cpk_end(1.33, 20, 0.975), 2)
    (0.88, 1.78)
    """
    spread = sqrt(1 / (9 * count) + found**2 / (2 * (count - 1)))
    # Slow to import, and only wanted where it is asked for.
    from scipy.stats import norm

    return found + float(norm.ppf(share)) * spread


@dataclass(frozen=True, slots=True)
class Capability:
    """What readings come to against limits; a limit that is not there is ``None``, and so is
    Cp without both. ``sd`` is that of all readings."""

    count: int
    mean: float
    sd: float
    lower: float | None
    upper: float | None
    covered_pct: float
    cp: float | None
    cp_interval: Interval | None
    cpk: float
    cpk_interval: Interval

    @property
    def finding(self) -> Finding:
        """What it means: good, not good, or not to be told from so few readings."""
        least, most = self.cpk_interval
        words = (
            f"Cpk {_two(self.cpk)} from {several(self.count, 'reading')}: between {_two(least)} "
            f"and {_two(most)} with {self.covered_pct:g}{THIN}% confidence."
        )
        if least >= WANTED:
            return note("SP2", words, "The work keeps its limits with room to spare.")
        if most < KEPT:
            return stop("SP2", words, "The work does not keep its limits: find out why.")
        if self.cpk >= WANTED:
            return note("SP2", words, "It looks good, but more readings are needed to be sure.")
        return warn("SP2", words, "Bring the middle nearer or the spread down.")


def capability(
    values: Sequence[float],
    lower: float | None,
    upper: float | None,
    covered_pct: float = COVERED_PCT,
) -> Capability | None:
    """Readings against what is allowed; ``None`` for fewer than two, for readings without any
    spread, and where nothing is allowed or forbidden.

    Raises ``ValueError`` for limits the wrong way round.
    """
    if lower is not None and upper is not None and lower >= upper:
        raise ValueError(f"The lower limit {lower} is not below {upper}.")
    if len(values) < LEAST or (lower is None and upper is None):
        return None
    centre, spread, count = mean(values), sd(values), len(values)
    if not spread:
        return None
    sides = ((lower, -1), (upper, 1))
    cpk = min(to_limit(limit, centre, spread, way) for limit, way in sides if limit is not None)
    both = None if lower is None or upper is None else cp(lower, upper, spread)
    low = (1 - covered_pct / 100) / 2
    return Capability(
        count=count,
        mean=centre,
        sd=spread,
        lower=lower,
        upper=upper,
        covered_pct=covered_pct,
        cp=both,
        cp_interval=(
            None if both is None else (cp_end(both, count, low), cp_end(both, count, 1 - low))
        ),
        cpk=cpk,
        cpk_interval=(cpk_end(cpk, count, low), cpk_end(cpk, count, 1 - low)),
    )


def _two(figure: float) -> str:
    return f"{figure:.2f}".replace("-", "\u2212")
