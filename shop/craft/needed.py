"""When each operation can start at the earliest: by when its parts have to be there.

Touch minutes pass in working time only; clamps, cures and the days in the case run on the
clock, nights and weekends too. Queues are left out, and so is that one person has two hands:
of two operations that may be done in either order, each is reckoned as if it came first.
So no part is needed before the moment told here, and many are needed later.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from types import MappingProxyType
from typing import Final

from shop.craft.route import Route, topological
from shop.craft.when import in_utc

DAY: Final = timedelta(days=1)
MINUTES: Final = 24 * 60
NOTHING: Final[Mapping[str, datetime]] = MappingProxyType({})

# What comes in on a day lies in its bin by noon. Common practice, no source.
ON_THE_SHELF: Final = time(12)


@dataclass(frozen=True, slots=True)
class Shift:
    """The working time: from when on, for how many minutes net of breaks, on which days
    (Monday is 0). Breaks are not placed: they are taken off its end.

    Raises ``ValueError`` where no work could ever be done in it, or it runs past midnight.
    """

    starts: time = time(7)
    net_min: int = 450
    days: frozenset[int] = frozenset(range(5))

    def __post_init__(self) -> None:
        if not self.days or not self.days <= set(range(7)):
            raise ValueError("A shift needs at least one day, Monday 0 to Sunday 6.")
        begins = self.starts.hour * 60 + self.starts.minute
        if self.net_min < 1 or begins + self.net_min > MINUTES:
            raise ValueError(f"{self.net_min} min from {self.starts:%H:%M}: end it by midnight.")

    def opens(self, moment: datetime) -> datetime:
        """The moment itself in working time, else the next start of it, on the clock of
        ``moment``."""
        day = moment.date()
        while True:
            if day.weekday() in self.days:
                start, end = self._on(day, moment)
                if in_utc(moment) < in_utc(end):
                    return max(moment, start, key=in_utc)
            day += DAY

    def spent(self, begins: datetime, minutes: timedelta) -> datetime:
        """When so much working time has passed since ``begins``, on the clock of ``begins``."""
        at = self.opens(begins)
        left = minutes
        while left > (there := in_utc(self._on(at.date(), at)[1]) - in_utc(at)):
            left -= there
            at = self.opens(at + there)
        return at + left

    def _on(self, day: date, moment: datetime) -> tuple[datetime, datetime]:
        start = datetime.combine(day, self.starts, moment.tzinfo)
        return start, start + timedelta(minutes=self.net_min)


SHIFT: Final = Shift()


def starts(
    route: Route,
    done_codes: Collection[str],
    begins: datetime,
    shift: Shift = SHIFT,
    not_before: Mapping[str, datetime] = NOTHING,
) -> dict[str, datetime]:
    """The earliest start of every operation that is not done yet, on the clock of ``begins``.

    Work begins at ``begins``, or when the shift next does. What is done costs nothing; a
    clock that runs from it still is said in ``not_before``, by the operation it keeps back.
    Raises ``ValueError`` for a moment without a time zone, or a route that is a circle.
    """
    from_when = in_utc(begins)
    found: dict[str, datetime] = {}
    ends: dict[str, datetime] = {}
    for code in topological(route):
        facts = route.find(code)
        if code in done_codes or facts is None:
            continue
        free = [from_when]
        free += [ends[it.before] + it.binding for it in route.into(code) if it.before in ends]
        free += [in_utc(not_before[code])] if code in not_before else []
        found[code] = shift.opens(max(free).astimezone(begins.tzinfo))
        ends[code] = in_utc(shift.spent(found[code], timedelta(minutes=float(facts.touch_min))))
    return found


def on_the_shelf(day: date, clock: datetime) -> datetime:
    """From when pieces that come in on a day can be counted on, on the clock of a moment."""
    return datetime.combine(day, ON_THE_SHELF, clock.tzinfo)
