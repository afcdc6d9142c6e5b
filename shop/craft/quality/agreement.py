"""How far two inspectors agree, on panels where it is known what is wrong with them.

Two who call everything good agree on much by chance alone: Cohen's kappa takes that out. What
either missed or saw where nothing was says which way to train. J. Cohen, A Coefficient of
Agreement for Nominal Scales, Educational and Psychological Measurement 20, 1960. The interval
is that of many panels, about which so few as 20 are only a guide.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import isfinite
from typing import Final

from shop.craft.finding import Finding, note, warn
from shop.craft.formula import Symbol, formula
from shop.craft.quality.yields import wilson
from shop.craft.words import several

PANELS: Final = 20  # that an agreement is judged by; common practice, no source
WANTED: Final = 0.80  # of panels on which both agree; common practice, no source
COHEN: Final = "J. Cohen, Educational and Psychological Measurement 20, 1960"

Interval = tuple[float, float]


@formula(
    "cohens-kappa",
    "Cohen's kappa, agreement beyond chance",
    "κ = (p − c) / (1 − c)",
    Symbol("p", "agreed", "share on which both agree", ""),
    Symbol("c", "by_chance", "share on which they would by chance", ""),
    Symbol("κ", "", "agreement beyond chance, 1 at the most", ""),
    source=COHEN,
    given={"agreed": 0.7, "by_chance": 0.5},
)
def kappa(agreed: float, by_chance: float) -> float:
    """Agreement beyond chance. Raises ``ValueError`` where chance alone explains all of it.

    >>> round(kappa(0.7, 0.5), 2)
    0.4
    """
    if by_chance >= 1:
        raise ValueError(f"{by_chance} by chance: nothing is left to agree on.")
    return (agreed - by_chance) / (1 - by_chance)


@formula(
    "agreement-by-chance",
    "Agreement by chance",
    "c = (a · b + (n − a) · (n − b)) / n²",
    Symbol("a", "first", "panels the first calls defective", ""),
    Symbol("b", "second", "panels the second calls defective", ""),
    Symbol("n", "panels", "panels that both looked at", ""),
    Symbol("c", "", "share on which they would agree by chance", ""),
    source=COHEN,
    given={"first": 25, "second": 30, "panels": 50},
)
def by_chance(first: int, second: int, panels: int) -> float:
    """The share on which two agree who call so many defective without looking.

    >>> by_chance(25, 30, 50)
    0.5
    """
    return (first * second + (panels - first) * (panels - second)) / panels**2


@dataclass(frozen=True, slots=True)
class Panel:
    """A panel: whether a defect was put on it, and whether either inspector called one."""

    seeded: bool
    first: bool
    second: bool


@dataclass(frozen=True, slots=True)
class Against:
    """One inspector against what is known: defects missed of those put there, and defects
    called on panels that have none."""

    missed: int
    seeded: int
    false_alarms: int
    clean: int

    @property
    def missed_share(self) -> float | None:
        return self.missed / self.seeded if self.seeded else None

    @property
    def false_alarm_share(self) -> float | None:
        return self.false_alarms / self.clean if self.clean else None


@dataclass(frozen=True, slots=True)
class Agreement:
    """What two inspectors called on the same panels.

    ``both``, ``only_first``, ``only_second`` and ``neither`` count panels by who called a
    defect. ``kappa`` is ``None`` where both called the same on every panel, whichever it
    was: chance explains that as well. Its interval is ``None`` also where one of them called
    all alike. Intervals are of 95 %.
    """

    both: int
    only_first: int
    only_second: int
    neither: int
    kappa: float | None
    kappa_interval: Interval | None
    first: Against
    second: Against

    @property
    def panels(self) -> int:
        return self.both + self.only_first + self.only_second + self.neither

    @property
    def agreed(self) -> int:
        """Panels that both called the same."""
        return self.both + self.neither

    @property
    def share(self) -> float:
        return self.agreed / self.panels

    @property
    def interval(self) -> Interval:
        """What the true share lies between, after Wilson."""
        return wilson(self.agreed, self.panels)

    @property
    def finding(self) -> Finding:
        """Whether they agree well enough, in words."""
        words = f"{self.agreed} of {several(self.panels, 'panel')} called the same."
        if self.panels < PANELS:
            return note("AG1", words, f"Look at {PANELS} or more before you judge.")
        if self.share < WANTED:
            wanted = f"{100 * WANTED:.0f}"
            then = f"It takes {wanted} %: look at the others together, under the same light."
            return warn("AG1", words, then)
        return note("AG1", words)


def agreement(panels: Sequence[Panel]) -> Agreement | None:
    """How far two inspectors agree; ``None`` for no panels."""
    if not panels:
        return None
    both = sum(one.first and one.second for one in panels)
    only_first = sum(one.first and not one.second for one in panels)
    only_second = sum(one.second and not one.first for one in panels)
    neither = len(panels) - both - only_first - only_second
    value, interval = _kappa(both, only_first, only_second, neither)
    return Agreement(
        both, only_first, only_second, neither, value, interval,
        first=_against(panels, lambda one: one.first),
        second=_against(panels, lambda one: one.second),
    )  # fmt: skip


def _kappa(
    both: int, only_first: int, only_second: int, neither: int
) -> tuple[float | None, Interval | None]:
    panels = both + only_first + only_second + neither
    if panels in (both, neither):
        return None, None
    # Slow to import (0.8 s beyond SciPy, 30 MB), and only wanted where panels are judged.
    import numpy as np
    from statsmodels.stats.inter_rater import cohens_kappa

    # A spread that is 0 rounds to just below it at times, and then has no root.
    with np.errstate(invalid="ignore", divide="ignore"):
        found = cohens_kappa([[both, only_first], [only_second, neither]])
    value, low, high = float(found.kappa), float(found.kappa_low), float(found.kappa_upp)
    first, second = both + only_first, both + only_second
    if {0, panels} & {first, second}:  # one of them called all alike: that has no spread
        return value, None
    return value, (max(low, -1.0), min(high, 1.0)) if isfinite(low) else (value, value)


def _against(panels: Sequence[Panel], called: Callable[[Panel], bool]) -> Against:
    seeded = [called(one) for one in panels if one.seeded]
    clean = [called(one) for one in panels if not one.seeded]
    return Against(seeded.count(False), len(seeded), clean.count(True), len(clean))
