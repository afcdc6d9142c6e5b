"""The week ahead of the hold rack as a drawing: what lies in it each night, what is due each day.

It is worked out here in the units of ``templates/drawing/rack_week.svg``, which draws it and
nothing else; the table behind it says the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from shop.craft.rack import Day

DAYS: Final = 7
WIDTH: Final = 360.0
FLOOR: Final = 162.0  # where the bars stand
HIGH: Final = 150.0  # the highest there can be
NIGHT: Final = 36.0  # wide
DUE: Final = 14.0
MONDAY: Final = 0


@dataclass(frozen=True, slots=True)
class Column:
    """One day: its night as a bar up to the slots, ``over`` what has no slot on top of it, and
    what is due on it as a narrow bar before it. ``x`` is its middle."""

    day: date
    monday: bool
    night: int
    x: float
    top: float
    high: float
    over: float
    due_top: float
    due_high: float

    @property
    def left(self) -> float:
        return round(self.x - NIGHT / 2, 1)

    @property
    def due_left(self) -> float:
        return round(self.x - DUE / 2, 1)

    @property
    def over_top(self) -> float:
        return round(self.top - self.over, 1)


@dataclass(frozen=True, slots=True)
class Week:
    """The drawing: its days, and how far down the line of all slots lies."""

    columns: tuple[Column, ...]
    slots: int
    line: float


def week(days: Sequence[Day], slots: int) -> Week:
    """The first seven of these days."""
    shown = days[:DAYS]
    most = max(slots, 1, *(max(one.in_rack, one.due) for one in shown))
    step = WIDTH / max(len(shown), 1)

    def high(cases: int) -> float:
        return round(HIGH * cases / most, 1)

    return Week(
        columns=tuple(
            Column(
                day=one.day,
                monday=one.day.weekday() == MONDAY,
                night=one.in_rack,
                x=round(step * (number + 0.5), 1),
                top=round(FLOOR - high(one.in_rack - one.short), 1),
                high=high(one.in_rack - one.short),
                over=high(one.short),
                due_top=round(FLOOR - high(one.due), 1),
                due_high=high(one.due),
            )
            for number, one in enumerate(shown)
        ),
        slots=slots,
        line=round(FLOOR - high(slots), 1),
    )
