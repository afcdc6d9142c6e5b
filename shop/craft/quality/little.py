"""Little's law: how much is in the works follows from how fast it flows and how long it stays.

It holds for whatever keeps its level over a long time, in whichever order things leave.
"""

from __future__ import annotations

from shop.craft.formula import Symbol, formula


@formula(
    "littles-law",
    "Little's law, work in process",
    "L = λ · W",
    Symbol("λ", "rate", "units that come in", "1/d"),
    Symbol("W", "stay", "time that each stays", "d"),
    Symbol("L", "", "units that are there at once, in the mean", ""),
    source="J. D. C. Little, Operations Research 9, 1961",
    given={"rate": 17.143, "stay": 4.6},
    places=1,
)
def in_process(rate: float, stay: float) -> float:
    """How many are there in the mean; rate and stay in the same unit of time.

    >>> round(in_process(17.143, 4.6), 1)
    78.9
    """
    return rate * stay
