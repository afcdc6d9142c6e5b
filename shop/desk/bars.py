"""Bars of a figure, each with its words: nothing is told by its length alone."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from django.http import HttpResponse

from shop.craft.quality.yields import ENOUGH, Yield
from shop.craft.spreadsheet import cells
from shop.craft.words import THIN

FEW: Final = f"Fewer than {ENOUGH}: a first guess."


@dataclass(frozen=True, slots=True)
class Bar:
    """One figure as a bar. ``words`` and ``name`` say what it is of, in the reader's language or
    the shop's own words; ``figure``, ``of`` and ``between`` what it comes to, ``remarks`` what
    to keep in mind: those are sentences as the record has them. ``length`` is of 100; ``low``
    and ``high`` are the ends of its interval, "" where it has none. ``href`` leads to what is
    behind it."""

    words: str
    figure: str
    length: str
    href: str = ""
    name: str = ""
    of: str = ""
    between: str = ""
    low: str = ""
    high: str = ""
    remarks: tuple[str, ...] = ()
    few: bool = False


def percent(share: float) -> str:
    return f"{100 * share:.1f}{THIN}%"


def on_a_hundred(often: float) -> str:
    return f"{often:.1f} on a hundred"


def between(ends: tuple[float, float]) -> str:
    """An interval in words, as shares of a hundred."""
    low, high = map(percent, ends)
    return f"between {low} and {high}"


def surely(found: str, least: str, most: str) -> str:
    """A figure with its interval of 95 %."""
    return f"{found}, between {least} and {most} with 95{THIN}% confidence"


def yield_bar(
    words: str, counted: Yield, href: str, name: str = "", remarks: tuple[str, ...] = ()
) -> Bar:
    """How many of those started passed with no rework, with its interval."""
    passed, started = counted.passed, counted.started
    share, ends = counted.share, counted.interval
    if share is None or ends is None:
        return Bar(words, "none started", "0", href, name, remarks=remarks)
    return Bar(
        words,
        percent(share),
        long(share),
        href,
        name,
        of=f"{passed} of {started} passed",
        between=between(ends),
        low=long(ends[0]),
        high=long(ends[1]),
        remarks=remarks,
        few=not counted.enough,
    )


def long(share: float) -> str:
    """A share as the length of a bar; one above all of it ends where the drawing does."""
    return f"{100 * min(max(share, 0.0), 1.0):.1f}"


def sheet(name: str, rows: Iterable[Sequence[object]]) -> HttpResponse:
    """Rows of a table as CSV; the first names the columns."""
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="{name}.csv"'
    table = csv.writer(response)
    for row in rows:
        table.writerow(cells(*row))
    return response
