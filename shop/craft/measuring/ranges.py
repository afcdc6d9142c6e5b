"""The same study from ranges alone, as it is worked with pencil and paper.

The mean range of the repeats stands for repeatability, the range of the people's means for
reproducibility, that of the parts' means for the parts. Less sharp than the analysis of
variance, and blind to an interaction: it is the check beside it.

AIAG, Measurement Systems Analysis, 4th ed. (2010), form of the range method; its factors are
the reciprocals of d₂* to four places (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import fsum, sqrt
from typing import Final

from shop.craft.measuring.study import Values, lacking

OF_TRIALS: Final = {2: 0.8862, 3: 0.5908}
OF_PEOPLE: Final = {2: 0.7071, 3: 0.5231}
OF_PARTS: Final = {
    2: 0.7071,
    3: 0.5231,
    4: 0.4467,
    5: 0.4030,
    6: 0.3742,
    7: 0.3534,
    8: 0.3375,
    9: 0.3249,
    10: 0.3146,
}


@dataclass(frozen=True, slots=True)
class ByRanges:
    """Standard deviations by ranges, in the unit that was measured in."""

    sd_repeat: float
    sd_people: float
    sd_parts: float

    @property
    def sd_gauge(self) -> float:
        return sqrt(self.sd_repeat**2 + self.sd_people**2)

    @property
    def sd_total(self) -> float:
        return sqrt(self.sd_gauge**2 + self.sd_parts**2)

    @property
    def study_pct(self) -> float:
        return 100 * self.sd_gauge / self.sd_total if self.sd_total else 0.0


def by_ranges(values: Values) -> ByRanges | None:
    """The study by ranges; ``None`` where the factors do not reach: they are for 2 or 3
    trials, 2 or 3 people and 2 to 10 parts.

    Raises ``ValueError`` for what ``study.lacking`` speaks of.
    """
    if told := lacking(values):
        raise ValueError(" ".join(told))
    parts, people, trials = len(values), len(values[0]), len(values[0][0])
    if trials not in OF_TRIALS or people not in OF_PEOPLE or parts not in OF_PARTS:
        return None
    cells = [[[float(one) for one in cell] for cell in part] for part in values]
    mean_range = fsum(_range(cell) for part in cells for cell in part) / (parts * people)
    of_people = [
        fsum(one for part in cells for one in part[person]) / (parts * trials)
        for person in range(people)
    ]
    of_parts = [fsum(one for cell in part for one in cell) / (people * trials) for part in cells]
    repeat = mean_range * OF_TRIALS[trials]
    between = (_range(of_people) * OF_PEOPLE[people]) ** 2 - repeat**2 / (parts * trials)
    return ByRanges(repeat, sqrt(max(between, 0.0)), _range(of_parts) * OF_PARTS[parts])


def _range(values: list[float]) -> float:
    return max(values) - min(values)
