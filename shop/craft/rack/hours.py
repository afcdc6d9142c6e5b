"""When somebody is at the rack: cases go in, and are looked at again, in these hours only."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Final

DAY: Final = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Hours:
    """From when to when on which days (Monday is 0), but for holidays. Breaks are no matter
    here: a case that is ready at noon is due that day.

    Raises ``ValueError`` where nobody is ever there.
    """

    starts: time = time(7)
    ends: time = time(15, 30)
    days: frozenset[int] = frozenset(range(5))
    holidays: frozenset[date] = frozenset()

    def __post_init__(self) -> None:
        if not self.days or not self.days <= set(range(7)):
            raise ValueError("Hours need at least one day, Monday 0 to Sunday 6.")
        if self.starts >= self.ends:
            raise ValueError(f"From {self.starts:%H:%M} to {self.ends:%H:%M}: end after the start.")

    def work_on(self, day: date) -> bool:
        """Whether anybody works on a day."""
        return day.weekday() in self.days and day not in self.holidays

    def first(self, ready: datetime) -> date:
        """The day of the first working moment from ``ready`` on, on the clock of ``ready``.

        What is ready when the shift ends is due the next working day.

        >>> from datetime import UTC
        >>> Hours().first(datetime(2031, 3, 8, 10, tzinfo=UTC)).isoformat()  # a Saturday
        '2031-03-10'
        """
        day = ready.date()
        if ready.time() >= self.ends:
            day += DAY
        while not self.work_on(day):
            day += DAY
        return day

    def left(self, now: datetime) -> float:
        """The share of the hours of a day that is still to come at a moment of it.

        >>> from datetime import UTC
        >>> Hours(time(7), time(15)).left(datetime(2031, 3, 3, 13, tzinfo=UTC))
        0.25
        """
        if not self.work_on(now.date()):
            return 0.0
        start, end, at = (_minutes(one) for one in (self.starts, self.ends, now.time()))
        return min(max((end - at) / (end - start), 0.0), 1.0)

    def middle(self, day: date, clock: datetime) -> datetime:
        """The middle of a day's hours, on the clock of ``clock``: when its casings are reckoned."""
        start = datetime.combine(day, self.starts, clock.tzinfo)
        return start + (datetime.combine(day, self.ends, clock.tzinfo) - start) / 2


def _minutes(one: time) -> int:
    return one.hour * 60 + one.minute
