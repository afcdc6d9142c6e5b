"""Of which days, which station and which spec figures are asked for, as the address says it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, Final
from urllib.parse import urlencode

from django.http import HttpRequest
from django.urls import reverse
from django.utils.dateparse import parse_date
from django.utils.timezone import get_current_timezone

from shop.catalogue import book
from shop.craft.needed import SHIFT
from shop.floor import board
from shop.floor.board import Spell

DAY: Final = timedelta(days=1)
WEEK: Final = timedelta(days=7)
SPANS: Final = {"5d": "5 working days", "4w": "4 weeks", "26w": "26 weeks"}
USUAL: Final = "4w"
LONGEST: Final = 5 * 366  # days that can be asked for at once
# The first and the last year a day may be of: others were mistyped.
YEARS: Final = range(2000, 2200)

PAGES: Final = (
    ("figures", "First-pass yield"),
    ("figures-weeks", "Week by week"),
    ("figures-defects", "Defects per hundred"),
    ("figures-pareto", "What costs most"),
    ("figures-escapes", "Escapes"),
    ("figures-rework", "Open rework"),
)


@dataclass(frozen=True, slots=True)
class Asked:
    """From the first day to the last, both within. ``span`` is the one that was tapped, ""
    where days were given; ``wrong`` says why days that were given are not taken."""

    first: date
    last: date
    span: str
    station: str = ""
    spec: str = ""
    wrong: str = ""

    @classmethod
    def of(cls, request: HttpRequest, at: datetime) -> Asked:
        """As the address says it; where it says nothing that we know, the last four weeks, all
        stations and all specs. ``at`` is now, on the shop's clock."""
        sent, today = request.GET, at.date()
        station, spec = sent.get("station", ""), sent.get("spec", "")
        where = {
            "station": station if station in dict(book.stations()) else "",
            "spec": spec if spec in specs() else "",
        }
        wrong = ""
        if sent.get("from") or sent.get("to"):
            first, last, wrong = _days(sent.get("from", ""), sent.get("to", ""), today)
            if not wrong:
                return cls(first, last, "", **where)
        span = sent.get("span", "")
        span = span if span in SPANS else USUAL
        return cls(_since(span, today), today, span, wrong=wrong, **where)

    @property
    def spell(self) -> Spell:
        return Spell(_begins(self.first), _begins(self.last + DAY), self.station, self.spec)

    def query(self, **changes: str) -> str:
        """What to ask of the same days, and the same station and spec but for ``changes``."""
        first, last = ("", "") if self.span else (self.first.isoformat(), self.last.isoformat())
        asked = {"span": self.span, "from": first, "to": last}
        asked |= {"station": self.station, "spec": self.spec} | changes
        return urlencode({name: one for name, one in asked.items() if one})

    def week(self, monday: date, **changes: str) -> str:
        """The same of the part of these days that lies in one week."""
        first, last = max(monday, self.first), min(monday + 6 * DAY, self.last)
        days = {"span": "", "from": first.isoformat(), "to": last.isoformat()}
        return self.query(**days, **changes)

    def to(self, name: str, **changes: str) -> str:
        """The address of a page of the desk that asks the same."""
        return f"{reverse(f'desk:{name}')}?{self.query(**changes)}"

    def to_week(self, name: str, monday: date, **changes: str) -> str:
        return f"{reverse(f'desk:{name}')}?{self.week(monday, **changes)}"


def specs() -> list[str]:
    """The specs that were ever built, by their keys."""
    return list(board.specs_built())


def operation_of(request: HttpRequest) -> str:
    """The operation that is asked for; "" for all of them."""
    asked = request.GET.get("operation", "")
    return asked if asked in {code for _, code, _ in book.operations()} else ""


def page_of(request: HttpRequest) -> int:
    """The page that is asked for, counted from 1."""
    page = request.GET.get("page", "")
    return max(int(page), 1) if page.isascii() and page.isdecimal() and len(page) < 6 else 1


def asking(asked: Asked, page: str, **kept: str) -> dict[str, Any]:
    """What a page needs to ask for other days, stations and specs, and to lead to its
    neighbours. ``kept`` is asked for beside them."""
    more = {"from": "", "to": ""} | kept
    return {
        "asked": asked,
        "page": page,
        "kept": kept,
        "pages": [(words, asked.to(name), name == page) for name, words in PAGES],
        "spans": [
            (words, f"?{asked.query(**more, span=span)}", span == asked.span)
            for span, words in SPANS.items()
        ],
        "stations": book.stations(),
        "specs": specs(),
        "narrowed": bool(asked.station or asked.spec or not asked.span),
    }


def _since(span: str, today: date) -> date:
    """The first day of a span that ends today. Weeks are whole ones, from their Monday on."""
    count = int(span[:-1])
    if span.endswith("w"):
        return today - timedelta(days=today.weekday()) - WEEK * (count - 1)
    day, left = today, count
    while True:
        left -= day.weekday() in SHIFT.days
        if not left:
            return day
        day -= DAY


def _days(begin: str, end: str, today: date) -> tuple[date, date, str]:
    """The days that were typed; a last one that is left out is today, a first one the same day."""
    last = _day(end) if end else today
    first = _day(begin) if begin else last
    if first is None or last is None:
        return today, today, "Write both days as 2031-03-14. These are the last weeks."
    if first > last:
        return today, today, f"{first} is after {last}. These are the last weeks."
    if (last - first).days > LONGEST:
        words = f"{first} to {last} is more than five years. These are the last weeks."
        return today, today, words
    return first, last, ""


def _day(text: str) -> date | None:
    try:
        found = parse_date(text)
    except ValueError:  # 31 February
        return None
    return found if found and found.year in YEARS else None


def _begins(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, tzinfo=get_current_timezone())
