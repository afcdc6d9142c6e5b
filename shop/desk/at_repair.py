"""What is at repair now, or waits to be done again, and for how long. Never by person."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from statistics import median_low
from typing import Final

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from shop.catalogue import book
from shop.craft.when import span_words
from shop.craft.words import several
from shop.desk.bars import Bar, long, sheet
from shop.desk.behind import TOLD
from shop.desk.span import Asked, asking, page_of
from shop.floor import board
from shop.floor.board import OpenRework
from shop.people.gate import BadgeRequest, may, needs
from shop.people.languages import say

DAY: Final = timedelta(days=1)
SHOWN: Final = 50  # instruments on a page
# How old what is at repair is: from so much on, up to the next. Common practice, no source.
AGES: Final = (timedelta(0), DAY, 3 * DAY, 7 * DAY)


@dataclass(frozen=True, slots=True)
class Line:
    """An instrument on a loop, with its tag and its age in words."""

    row: OpenRework
    tag: str
    age: str
    station: str


@never_cache
@require_safe
@needs("figure.see")
def rework(request: BadgeRequest) -> HttpResponse:
    """What is on a loop now, the oldest first, and how old it is."""
    at = timezone.localtime()
    asked, age, page = Asked.of(request, at), _age(request), page_of(request)
    rows = board.open_rework(at, asked.station, asked.spec)
    within = _within(rows, age)
    first = SHOWN * (page - 1)
    some = within[first : first + SHOWN]
    tags = board.tags_of([one.serial for one in some])
    names = dict(book.stations())
    kept = {} if age is None else {"age": str(age)}
    to = asked.to
    shown = {
        "rows": rows,
        "lines": [
            Line(
                one, tags[one.serial].get("body", ""), span_words(one.age),
                names.get(one.station, one.station),
            )
            for one in some
        ],
        "median": span_words(_middle(rows)) if rows else "",
        "oldest": span_words(rows[0].age) if rows else "",
        "bars": list(_ages(asked, rows)),
        "age": age,
        "told": may(request.user, TOLD),
        "every": to("figures-rework"),
        "earlier": to("figures-rework", **kept, page=str(page - 1)) if page > 1 else "",
        "later": to("figures-rework", **kept, page=str(page + 1))
        if len(within) > first + SHOWN
        else "",
        "csv": to("figures-rework-csv", **kept),
    }  # fmt: skip
    return render(request, "desk/figures_rework.html", shown | asking(asked, "figures-rework"))


def _age(request: BadgeRequest) -> int | None:
    asked = request.GET.get("age", "")
    return int(asked) if asked in {str(one) for one in range(len(AGES))} else None


def _within(rows: Sequence[OpenRework], age: int | None) -> list[OpenRework]:
    """Those of an age that was tapped; of any where none was."""
    return [one for one in rows if age is None or age == _bucket(one.age)]


def _bucket(age: timedelta) -> int:
    return max((at for at, least in enumerate(AGES) if age >= least), default=0)


def _ages(asked: Asked, rows: Sequence[OpenRework]) -> Iterator[Bar]:
    words = ("Less than a day", "1 to 3 days", "3 to 7 days", "More than 7 days")
    counts = [0] * len(AGES)
    for one in rows:
        counts[_bucket(one.age)] += 1
    for at, count in enumerate(counts):
        share = count / len(rows) if rows else 0
        href = asked.to("figures-rework", age=str(at))
        yield Bar(say(words[at]), several(count, "instrument"), long(share), href)


@never_cache
@require_safe
@needs("figure.see")
def rework_csv(request: BadgeRequest) -> HttpResponse:
    at = timezone.localtime()
    asked = Asked.of(request, at)
    within = _within(board.open_rework(at, asked.station, asked.spec), _age(request))
    table = board.open_rework_rows(within)
    if may(request.user, TOLD):
        return sheet("rework", table)
    hidden = {"loop", "word"}
    head, *rows = table
    shown = [at for at, name in enumerate(head) if name not in hidden]
    return sheet("rework", ([row[at] for at in shown] for row in (head, *rows)))


def _middle(rows: Sequence[OpenRework]) -> timedelta:
    """An age that half of them have not come to; of an even number the younger of the two."""
    return median_low(row.age for row in rows)
