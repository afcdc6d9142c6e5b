"""When a gauge has to be checked again.

A gauge is good through the day its check runs out, and overdue from the next. One that was
never checked, or that failed its last check, is not to be believed at all. How long before
the day it is asked for: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from typing import Final

SOON_DAYS: Final = 14


class Standing(StrEnum):
    """How a gauge stands, worst first."""

    FAILED = "failed"  # its last check was not passed
    NEVER = "never"  # no check is known
    OVERDUE = "overdue"
    SOON = "soon"  # good, and to be checked within days
    GOOD = "good"


@dataclass(frozen=True, slots=True)
class Due:
    """A gauge on a day. ``until`` is the last day its check is good for, ``days`` those left
    on it, below 0 once it is over; both ``None`` where no passed check is known."""

    standing: Standing
    until: date | None = None
    days: int | None = None

    @property
    def believed(self) -> bool:
        """Whether what it reads can be believed on the day."""
        return self.standing in {Standing.GOOD, Standing.SOON}


def due(
    last: date | None,
    interval_days: int,
    today: date,
    *,
    passed: bool = True,
    soon_days: int = SOON_DAYS,
) -> Due:
    """How a gauge stands today, by its last check and how many days one is good for.

    Raises ``ValueError`` for an interval under one day.

    >>> due(date(2031, 1, 1), 90, date(2031, 4, 2)).days
    -1
    """
    if interval_days < 1:
        raise ValueError(f"{interval_days} days between checks")
    if last is None:
        return Due(Standing.NEVER)
    if not passed:
        return Due(Standing.FAILED)
    until = last + timedelta(days=min(interval_days, (date.max - last).days))
    days = (until - today).days
    if days < 0:
        return Due(Standing.OVERDUE, until, days)
    return Due(Standing.SOON if days <= soon_days else Standing.GOOD, until, days)


def worst_first(several_due: list[tuple[str, Due]]) -> list[tuple[str, Due]]:
    """Gauges by name, those not to be believed before those due soonest."""
    order = list(Standing)
    return sorted(
        several_due,
        key=lambda one: (order.index(one[1].standing), one[1].until or date.min, one[0]),
    )
