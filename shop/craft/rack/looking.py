"""How many cases are looked at again in a day, and how many slots a rack wants."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from math import ceil, floor
from typing import Final

from shop.craft.formula import COMMON, Symbol, formula

SPARE_PCT: Final = 10  # slots beyond the fullest night; common practice, no source
CLOSE: Final = 1e-9


@formula(
    "second-looks-a-day",
    "Second looks in a day",
    "n = ⌊p · m / t⌋",
    Symbol("p", "people", "people at it", ""),
    Symbol("m", "net_min", "minutes that each has, net of breaks", "min"),
    Symbol("t", "each_min", "minutes that a look takes", "min"),
    Symbol("n", "", "looks that are finished", ""),
    source=COMMON,
    given={"people": 1, "net_min": 450, "each_min": 12},
    places=0,
)
def looks(people: int, net_min: int, each_min: int) -> float:
    """How many looks are finished in a day.

    >>> looks(1, 450, 12)
    37
    """
    return floor(people * net_min / each_min)


@formula(
    "rack-slots",
    "Slots that a rack wants",
    "s = ⌈f · (1 + r / 100)⌉",
    Symbol("f", "fullest", "cases on the fullest night", ""),
    Symbol("r", "spare_pct", "slots to spare", "%"),
    Symbol("s", "", "slots", ""),
    source=COMMON,
    given={"fullest": 96, "spare_pct": 10},
    places=0,
)
def slots_wanted(fullest: int, spare_pct: int = SPARE_PCT) -> float:
    """How many slots hold the fullest night with some to spare.

    >>> slots_wanted(96)
    106
    """
    return ceil(fullest * (100 + spare_pct) / 100 - CLOSE)


@dataclass(frozen=True, slots=True)
class Inspectors:
    """Who looks again: so many people each working day, each with ``net_min`` minutes, at
    ``each_min`` a look. ``on`` says it for single days: two on a Monday, none in a holiday week.
    ``net_on`` says the minutes of single days, such as what is left of today.

    Raises ``ValueError`` for people or minutes that nobody has.
    """

    people: int = 1
    net_min: int = 450
    each_min: int = 12
    on: Mapping[date, int] = field(default_factory=dict)
    net_on: Mapping[date, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        least = min(self.people, self.net_min, *self.on.values(), *self.net_on.values())
        if least < 0 or self.each_min < 1:
            raise ValueError(
                f"{self.people} people, {self.net_min} min, {self.each_min} min a look: "
                "give 0 or more people and minutes, and 1 or more a look."
            )

    def there(self, day: date) -> int:
        """People at it on a working day."""
        return self.on.get(day, self.people)

    def minutes(self, day: date) -> int:
        """What each of them has on a working day."""
        return self.net_on.get(day, self.net_min)

    def a_day(self, day: date) -> int:
        """Looks they finish on a working day."""
        return int(looks(self.there(day), self.minutes(day), self.each_min))

    def needed(self, cases: int, day: date) -> int:
        """People it takes to look at so many on a day; 0 where nothing is left of it."""
        minutes = self.minutes(day)
        return ceil(cases * self.each_min / minutes) if minutes else 0
