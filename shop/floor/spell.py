"""What is asked for when figures are: from when to when, and of which part of the floor."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from typing import Final, TypeVar

from django.utils.timezone import get_current_timezone, localtime

from shop.craft.when import in_utc

Row = TypeVar("Row")

SHOWN: Final = 50  # instruments on a page
WEEK: Final = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class Spell:
    """From ``since`` on and before ``until``, at one station and of one spec where they are
    named. Raises ``ValueError`` for moments without a time zone, or in the wrong order."""

    since: datetime
    until: datetime
    station: str = ""
    spec: str = ""

    def __post_init__(self) -> None:
        if in_utc(self.since) > in_utc(self.until):
            raise ValueError(f"{self.since.isoformat()} is after {self.until.isoformat()}.")

    @property
    def weeks(self) -> tuple[date, ...]:
        """The Mondays of its weeks by the shop's calendar, the oldest first."""
        first, last = localtime(self.since).date(), localtime(self.until).date()
        monday = first - timedelta(days=first.weekday())
        return tuple(monday + WEEK * n for n in range((last - monday) // WEEK + 1))

    def of_week(self, monday: date) -> Spell:
        """The part of it that lies in the week of a Monday."""
        return replace(
            self,
            since=max(self.since, begins(monday)),
            until=min(self.until, begins(monday + WEEK)),
        )


def begins(day: date) -> datetime:
    """The moment a day begins on the shop's clock."""
    return datetime.combine(day, time(), get_current_timezone())


@dataclass(frozen=True, slots=True)
class One:
    """An instrument behind a figure: when it came to count in it, and at which operation or
    station. ``words`` say what it was. ``serial`` is "" while somebody has yet to look at it
    a second time, who is not to know what the first look found."""

    serial: str
    spec: str
    at: datetime
    where: str
    words: str = ""


@dataclass(frozen=True, slots=True)
class Ones:
    """A page of the instruments behind a figure. ``later`` is the next page, ``None`` on the
    last."""

    rows: tuple[One, ...]
    later: int | None


def page_of(rows: Sequence[Row], page: int, shown: int = 0) -> tuple[Sequence[Row], int | None]:
    """So many of the rows as a page shows, of rows that were asked for by ``span``."""
    many = shown or SHOWN
    return rows[:many], max(page, 1) + 1 if len(rows) > many else None


def span(page: int, shown: int = 0) -> slice:
    """The rows of a page, counted from 1, and one more that tells of a next. ``shown``: so many
    on a page, where it is not as a screen shows them."""
    many = shown or SHOWN
    first = many * (max(page, 1) - 1)
    return slice(first, first + many + 1)
