"""What chance alone seldom does: single readings far out, and runs of them.

The four rules of the Western Electric Statistical Quality Control Handbook (1956), as the
NIST/SEMATECH e-Handbook, 6.3.2, gives them. A side of the centre is three standard deviations
to its limit, in three thirds. With all four a steady process gives a false alarm once in
91.75 readings (Champ and Woodall, Technometrics 29, 1987), with the first alone once in 370.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from shop.craft.formula import Symbol, formula

CLOSE: Final = 1e-9  # standard deviations; what differs by less lies on the line


@dataclass(frozen=True, slots=True)
class Rule:
    """``many`` of the last ``among`` readings lie beyond ``sigmas``, all on one side."""

    key: str
    words: str
    many: int
    among: int
    sigmas: float


RULES: Final = (
    Rule("beyond", "Beyond the limit", 1, 1, 3.0),
    Rule("outer", "2 of 3 in a row in the outer third or beyond", 2, 3, 2.0),
    Rule("middle", "4 of 5 in a row outside of the inner third", 4, 5, 1.0),
    Rule("side", "8 in a row on one side of the centre", 8, 8, 0.0),
)


@dataclass(frozen=True, slots=True)
class Signal:
    """A rule that a reading broke: the reading, counted from 0, and all that count for it.

    ``side`` is 1 above the centre and −1 below it.
    """

    rule: Rule
    at: int
    side: int
    readings: tuple[int, ...]


@formula(
    "chart-distance",
    "Distance of a reading from the centre",
    "z = (x − m) / s",
    Symbol("x", "value", "the reading", "mm"),
    Symbol("m", "centre", "mean of the readings", "mm"),
    Symbol("s", "sd", "standard deviation", "mm"),
    Symbol("z", "", "distance in standard deviations", ""),
    source="NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2",
    given={"value": 2.6, "centre": 2.4, "sd": 0.08},
)
def distance(value: float, centre: float, sd: float) -> float:
    """How many standard deviations a reading lies above the centre.

    >>> round(distance(2.6, 2.4, 0.08), 2)
    2.5
    """
    return (value - centre) / sd


def signals(values: Sequence[float], centre: float, sd: float) -> tuple[Signal, ...]:
    """Each rule that each reading breaks, in the order of readings; the reading itself always
    counts for it. Readings without any spread break none.

    >>> [(one.rule.key, one.at) for one in signals((0.0, 2.5, 0.0, 2.2), 0.0, 1.0)]
    [('outer', 3)]
    """
    if sd <= 0:
        return ()
    far = [distance(one, centre, sd) for one in values]
    return tuple(_broken(far))


def _broken(far: Sequence[float]) -> Iterator[Signal]:
    for at, one in enumerate(far):
        side = 1 if one > 0 else -1
        for rule in RULES:
            first = max(at - rule.among + 1, 0)
            count = tuple(
                index for index in range(first, at + 1) if far[index] * side > rule.sigmas + CLOSE
            )
            if len(count) >= rule.many and count[-1] == at:
                yield Signal(rule, at, side, count)
