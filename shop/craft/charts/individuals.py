"""Single readings in the order they were taken, and how far each lies from the one before.

The moving range tells the spread that is usual from one instrument to the next; three of
those standard deviations to both sides of the mean are the limits. What lies outside, or
runs in a way chance does not (``runs.py``), has a cause to look for. Limits say what the work
does; what a spec allows is another matter (``capability.py``).

NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from shop.craft.charts.runs import Signal, signals
from shop.craft.charts.spread import HANDBOOK, mean
from shop.craft.finding import Finding, note
from shop.craft.formula import Symbol, formula
from shop.craft.words import several

# As the handbook prints them: limits worked out anywhere with them agree to the last figure.
D2: Final = 1.128
D4: Final = 3.267
SIGMAS: Final = 3
LEAST: Final = 2
SETTLED: Final = 20  # readings from which limits hold; common practice, no source


@formula(
    "chart-limit",
    "Limit of single readings",
    "U = m + 3 · R / 1.128",
    Symbol("m", "centre", "mean of the readings", "mm"),
    Symbol("R", "mean_moving_range", "mean of the moving ranges", "mm"),
    Symbol("U", "", "upper limit; the lower lies as far below the mean", "mm"),
    source=f"{HANDBOOK}, 6.3.2.2",
    given={"centre": 50.81, "mean_moving_range": 1.8778},
    places=4,
)
def upper_limit(centre: float, mean_moving_range: float) -> float:
    """The upper limit.

    >>> round(upper_limit(50.81, 1.8778), 4)
    55.8041
    """
    return centre + SIGMAS * mean_moving_range / D2


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart of single readings and of their moving ranges, in the unit of the readings.

    ``ranges`` has one value less than ``values``. ``signals`` are what chance does not do.
    """

    values: tuple[float, ...]
    ranges: tuple[float, ...]
    centre: float
    sd: float  # as the moving ranges tell it
    lower: float
    upper: float
    mean_range: float
    upper_range: float
    signals: tuple[Signal, ...]

    @property
    def jumps(self) -> tuple[int, ...]:
        """The readings, counted from 0, that lie too far from the one before."""
        beyond = self.upper_range
        return tuple(at for at, one in enumerate(self.ranges, 1) if one > beyond)

    @property
    def steady(self) -> bool:
        """Whether nothing speaks against chance alone."""
        return not self.signals and not self.jumps

    @property
    def settled(self) -> bool:
        """Whether there are enough readings for limits that hold."""
        return len(self.values) >= SETTLED

    @property
    def finding(self) -> Finding | None:
        """What to keep in mind where the limits are made from few readings."""
        if self.settled:
            return None
        words = f"{several(len(self.values), 'reading')}: the limits are a first guess."
        return note("SP1", words, f"They hold from {SETTLED} readings on.")


def chart(values: Sequence[float]) -> Chart | None:
    """The chart of readings in the order they were taken; ``None`` for fewer than two.

    >>> chart((2.4, 2.5, 2.3, 2.4)).jumps
    ()
    """
    if len(values) < LEAST:
        return None
    ranges = tuple(abs(after - before) for before, after in pairwise(values))
    centre, mean_range = mean(values), mean(ranges)
    upper = upper_limit(centre, mean_range)
    sd = mean_range / D2
    return Chart(
        values=tuple(values),
        ranges=ranges,
        centre=centre,
        sd=sd,
        lower=2 * centre - upper,
        upper=upper,
        mean_range=mean_range,
        upper_range=D4 * mean_range,
        signals=signals(values, centre, sd),
    )
