"""A walk through the days to come: what is cased, what is due, what is looked at, what stays.

Every case keeps its slot from the day it is cased until it is looked at again; then it leaves,
whatever is found. Whichever has been ready longest is looked at first. Nights are counted as
they are after both: in the middle of a day there may be more.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from heapq import heapify, heappop, heappush

from shop.craft.rack.hours import DAY, Hours
from shop.craft.rack.looking import Inspectors
from shop.craft.when import in_utc


@dataclass(frozen=True, slots=True)
class Planned:
    """Casings to come: so many each working day, and on single days as ``on`` says, today with
    what is left of it. ``at_most`` is a cap for every day.

    Raises ``ValueError`` for a count below 0.
    """

    a_day: int
    on: Mapping[date, int] = field(default_factory=dict)
    at_most: int | None = None

    def __post_init__(self) -> None:
        least = min(self.a_day, *self.on.values(), self.at_most or 0)
        if least < 0:
            raise ValueError(f"{least} casings: a count is 0 or more.")

    def of(self, day: date, *, works: bool) -> int:
        """Casings of a day that is worked on or not."""
        planned = self.on.get(day, self.a_day if works else 0)
        return planned if self.at_most is None else min(planned, self.at_most)


@dataclass(frozen=True, slots=True)
class Day:
    """A day of the rack: ``due`` come due on it, ``looked`` are looked at again, ``waiting``
    are due and are not; ``in_rack`` are there at night, of which ``short`` have no slot."""

    day: date
    works: bool
    cased: int
    due: int
    looked: int
    waiting: int
    in_rack: int
    free: int
    short: int


@dataclass(frozen=True, slots=True)
class Walked:
    """The days, and how many each of those cased in them and looked at stayed."""

    days: tuple[Day, ...]
    stays_d: tuple[int, ...]


def walk(
    now: datetime,
    held: Sequence[datetime | None],
    planned: Planned,
    inspectors: Inspectors,
    hours: Hours,
    hold: timedelta,
    slots: int,
    days: int,
) -> Walked:
    """The rack from today on. ``held``: when each case in it is ready, ``None`` where its hold
    stands still and nobody can say."""
    today = now.date()
    # When it is due, when it is ready, when it was cased (those of before: never).
    cases: list[tuple[date, datetime, date | None]] = [
        (hours.first(max(ready, now, key=in_utc).astimezone(now.tzinfo)), in_utc(ready), None)
        for ready in held
        if ready is not None
    ]
    heapify(cases)
    still = len(held) - len(cases)
    told, stays = [], []
    for day in (today + DAY * at for at in range(days)):
        works = hours.work_on(day) and (day > today or now.time() < hours.ends)
        cased = planned.of(day, works=works)
        ready = in_utc(hours.middle(day, now)) + hold
        due_on = hours.first(ready.astimezone(now.tzinfo))
        for _ in range(cased):
            heappush(cases, (due_on, ready, day))
        due = sum(one[0] == day for one in cases)
        looked, most = 0, inspectors.a_day(day) if works else 0
        while looked < most and cases and cases[0][0] <= day:
            since = heappop(cases)[2]
            looked += 1
            if since is not None:
                stays.append((day - since).days)
        waiting = sum(one[0] <= day for one in cases)
        in_rack = len(cases) + still
        free, short = max(slots - in_rack, 0), max(in_rack - slots, 0)
        told.append(Day(day, works, cased, due, looked, waiting, in_rack, free, short))
    return Walked(tuple(told), tuple(stays))
