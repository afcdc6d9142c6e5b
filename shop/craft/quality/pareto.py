"""Which few defects make most of the trouble: by how often, and by how long in all.

Ranked by count, what is quickly wiped off comes first. The minutes in all are the count times
the minutes of each: what costs most. That the few are those that make 80 % is common practice,
no source.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import accumulate
from math import fsum
from typing import Final

FEW: Final = 0.80  # of all; common practice, no source
CLOSE: Final = 1e-9  # what differs by less is reached


@dataclass(frozen=True, slots=True)
class Found:
    """A defect that was found, and the minutes its rework took."""

    word: str
    family: str
    minutes: float


@dataclass(frozen=True, slots=True)
class Bar:
    """A defect word with its count and its minutes in all. ``weight`` is what it is ranked by,
    ``share`` its part of all weights, ``cumulative`` that of all bars up to and with this
    one."""

    word: str
    family: str
    count: int
    minutes: float
    weight: float
    share: float
    cumulative: float


@dataclass(frozen=True, slots=True)
class Ranking:
    """The bars, the heaviest first; what weighs the same stands as it came."""

    bars: tuple[Bar, ...]

    @property
    def few(self) -> tuple[Bar, ...]:
        """The fewest bars that make 80 % of the weight; none where nothing weighs anything."""
        before = (0.0, *(one.cumulative for one in self.bars))
        return tuple(
            one
            for one, so_far in zip(self.bars, before, strict=False)
            if one.weight > 0 and so_far < FEW - CLOSE
        )


@dataclass(frozen=True, slots=True)
class Pareto:
    """The same defects ranked by count, and by minutes in all."""

    by_count: Ranking
    by_minutes: Ranking


def pareto(rows: Sequence[Found]) -> Pareto:
    """The defects by word in its family, ranked both ways. Raises ``ValueError`` for minutes
    below 0.

    >>> found = pareto([Found("chip", "finish", 40), *[Found("buzz", "setup", 5)] * 3])
    >>> [one.word for one in found.by_count.bars], [one.word for one in found.by_minutes.bars]
    (['buzz', 'chip'], ['chip', 'buzz'])
    """
    minutes: dict[tuple[str, str], list[float]] = {}
    for one in rows:
        if not one.minutes >= 0:
            raise ValueError(f"{one.minutes} min for {one.word}: give 0 or more.")
        minutes.setdefault((one.word, one.family), []).append(one.minutes)
    return Pareto(
        by_count=_ranked(minutes, len),
        by_minutes=_ranked(minutes, fsum),
    )


def _ranked(
    minutes: dict[tuple[str, str], list[float]], weight: Callable[[list[float]], float]
) -> Ranking:
    weighed = [(float(weight(each)), key, each) for key, each in minutes.items()]
    weighed.sort(key=lambda one: -one[0])  # a sort that leaves what is equal in its order
    total = fsum(one[0] for one in weighed) or 1.0
    sums = accumulate(one[0] for one in weighed)
    return Ranking(
        tuple(
            Bar(word, family, len(each), fsum(each), heavy, heavy / total, min(so_far / total, 1.0))
            for (heavy, (word, family), each), so_far in zip(weighed, sums, strict=True)
        )
    )
