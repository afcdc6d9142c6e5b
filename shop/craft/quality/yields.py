"""What passes without rework: of one operation, of defects counted, of a whole route.

How sure a yield is goes by E. B. Wilson's interval (Journal of the American Statistical
Association 22, 1927; from memory), as SciPy works it out: it stays within 0 and 1 and says
something sensible where all have passed.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import prod
from typing import Final

from shop.craft.finding import Finding, note
from shop.craft.formula import COMMON, Symbol, formula
from shop.craft.words import several

ENOUGH: Final = 20  # units from which a yield says something; common practice, no source
COVERED: Final = 0.95


@formula(
    "first-pass-yield",
    "First-pass yield",
    "Y = p / n",
    Symbol("p", "passed", "units that passed with no rework", ""),
    Symbol("n", "started", "units that were started", ""),
    Symbol("Y", "", "share that passed at once", ""),
    source=COMMON,
    given={"passed": 228, "started": 240},
    places=3,
)
def first_pass(passed: int, started: int) -> float:
    """The share that passed with no rework. Raises ``ValueError`` where none was started, or
    more passed than were.

    >>> first_pass(228, 240)
    0.95
    """
    if not 0 <= passed <= started or not started:
        raise ValueError(f"{passed} of {started} units passed: give 0 to {started}, of 1 or more.")
    return passed / started


@formula(
    "throughput-yield",
    "Yield from defects",
    "Y = (N − d) / N",
    Symbol("N", "units", "units looked at", ""),
    Symbol("d", "defects", "defects found on them", ""),
    Symbol("Y", "", "share without a defect; 0 where defects outnumber units", ""),
    source="Sigmapedia, term 1104, throughput yield",
    given={"units": 100, "defects": 13},
)
def throughput(units: int, defects: int) -> float:
    """The share without a defect, each unit with one at the most. Raises ``ValueError`` for no
    units or a count below 0.

    >>> throughput(100, 13)
    0.87
    """
    if units < 1 or defects < 0:
        raise ValueError(f"{defects} defects on {units} units: count 0 or more on 1 or more.")
    return max(units - defects, 0) / units


@formula(
    "rolled-yield",
    "Rolled yield",
    "R = Y₁ · Y₂ · … = ∏Yᵢ",
    Symbol("Yᵢ", "yields", "the yield of each operation", ""),
    Symbol("R", "", "share that passes all of them at once", ""),
    source="mfgcalcs.com, rolled throughput yield",
    given={"yields": (0.98, 0.97, 0.99, 0.96)},
    places=4,
)
def rolled(yields: Sequence[float]) -> float:
    """The share that passes every operation with no rework; 1 for none.

    >>> round(rolled((0.98, 0.97, 0.99, 0.96)), 4)
    0.9035
    """
    return prod(yields)


@formula(
    "defects-per-hundred",
    "Defects per hundred",
    "h = 100 · d / N",
    Symbol("d", "defects", "defects found", ""),
    Symbol("N", "units", "units looked at", ""),
    Symbol("h", "", "defects on a hundred units", ""),
    source=COMMON,
    given={"defects": 6, "units": 240},
)
def per_hundred(defects: int, units: int) -> float:
    """Defects on a hundred units. Raises ``ValueError`` for no units.

    >>> per_hundred(6, 240)
    2.5
    """
    if units < 1:
        raise ValueError(f"{units} units: defects are counted on 1 or more.")
    return 100 * defects / units


@dataclass(frozen=True, slots=True)
class Yield:
    """How many of those started passed with no rework. Raises ``ValueError`` for more passed
    than started."""

    passed: int
    started: int

    def __post_init__(self) -> None:
        if not 0 <= self.passed <= self.started:
            raise ValueError(f"{self.passed} of {self.started} units passed.")

    @property
    def share(self) -> float | None:
        """The first-pass yield; ``None`` where none was started."""
        return first_pass(self.passed, self.started) if self.started else None

    @property
    def interval(self) -> tuple[float, float] | None:
        """What the true yield lies between with 95 % confidence."""
        return wilson(self.passed, self.started) if self.started else None

    @property
    def enough(self) -> bool:
        """Whether there are units enough to go by."""
        return self.started >= ENOUGH

    @property
    def finding(self) -> Finding | None:
        """What to keep in mind where the yield is made from few units."""
        if self.enough:
            return None
        words = f"{several(self.started, 'unit')}: the yield is a first guess."
        return note("YL1", words, f"It says something from at least {ENOUGH} units on.")


def wilson(count: int, of: int) -> tuple[float, float]:
    """Wilson's interval of a share, 95 %.

    >>> [round(one, 3) for one in wilson(20, 20)]
    [0.839, 1.0]
    """
    # Slow to import, and only wanted where it is asked for.
    from scipy.stats import binomtest

    found = binomtest(count, of).proportion_ci(confidence_level=COVERED, method="wilson")
    return float(found.low), float(found.high)


@dataclass(frozen=True, slots=True)
class PerHundred:
    """A defect word, how often it was found, and how often on a hundred units."""

    family: str
    word: str
    count: int
    per_hundred: float


def by_word(found: Iterable[tuple[str, str]], units: int) -> tuple[PerHundred, ...]:
    """Defects on a hundred units by word, the commonest first, else as they came. ``found``:
    family and word of each defect, on so many ``units`` looked at; nothing for no units.

    >>> [(one.word, one.per_hundred) for one in by_word([("finish", "chip")] * 3, 120)]
    [('chip', 2.5)]
    """
    if not units:
        return ()
    return tuple(
        PerHundred(family, word, count, per_hundred(count, units))
        for (family, word), count in Counter(found).most_common()
    )
