"""What passed the first time: by operation, station, spec and week. Never by person."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Final, cast

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from shop.catalogue import book
from shop.craft.charts.attributes import Counted, p_chart, share_limit
from shop.craft.quality.spells import too_few
from shop.craft.quality.yields import Yield, first_pass, rolled
from shop.desk.bars import Bar, percent, sheet, yield_bar
from shop.desk.plotting import Level, Panel, Row, drawing
from shop.desk.span import Asked, asking, operation_of
from shop.floor import board
from shop.floor.board import By, OfGroup
from shop.people.gate import BadgeRequest, needs
from shop.people.languages import say

BYS: Final = {
    "": "By operation",
    "station": "By station",
    "spec": "By spec",
    "week": "By week",
}

# --- yields ---


@never_cache
@require_safe
@needs("figure.see")
def figures(request: BadgeRequest) -> HttpResponse:
    """First-pass and rolled yield of the days asked for."""
    asked, by = Asked.of(request, timezone.localtime()), _by(request)
    groups = board.yields(asked.spell, by)
    counted = [one.counted for one in groups]
    started: Counter[str] = Counter()
    for group in groups:
        started.update({one.operation: one.counted.started for one in group.operations})
    every = Yield(sum(one.passed for one in counted), sum(one.started for one in counted))
    total = yield_bar("", every, asked.to("figures-behind", what="failed"))
    bars = _of_groups(asked, by, groups) if by else _of_operations(asked, groups)
    shown = {
        "by": by,
        "bys": [(words, f"?{asked.query(by=key)}", key == by) for key, words in BYS.items()],
        "every": total if len(started) == 1 else _of_several(total),
        "several": len(started) > 1,
        "lined": any(one.low for one in bars),
        "few": too_few(max(started.values(), default=0)),
        "rolled": percent(groups[0].rolled) if groups and not by else "",
        "fewest": _fewest(groups[0]) if groups and not by else "",
        "bars": bars,
        "table": list(_lines(by, groups)),
        "groups": groups,
        "csv": asked.to("figures-csv", by=by),
        "formulas": (first_pass, rolled),
    }
    return render(request, "desk/figures.html", shown | asking(asked, "figures", by=by))


@never_cache
@require_safe
@needs("figure.see")
def figures_csv(request: BadgeRequest) -> HttpResponse:
    asked, by = Asked.of(request, timezone.localtime()), _by(request)
    return sheet("yields", board.yield_rows(board.yields(asked.spell, by), by))


def _by(request: BadgeRequest) -> By:
    by = request.GET.get("by", "")
    return cast("By", by if by in BYS else "")


def _of_operations(asked: Asked, groups: Sequence[OfGroup]) -> list[Bar]:
    names = dict(book.stations())
    return [
        yield_bar(
            one.operation,
            one.counted,
            asked.to("figures-behind", what="failed", operation=one.operation),
            names.get(one.station, one.station),
        )
        for group in groups
        for one in group.operations
    ]


def _of_groups(asked: Asked, by: By, groups: Sequence[OfGroup]) -> list[Bar]:
    """A bar a group, which leads to its operations."""
    names = dict(book.stations()) if by == "station" else {}
    bars = []
    for one in groups:
        bar = yield_bar(
            names.get(one.key, one.key),
            one.counted,
            _inside(asked, by, one.key),
            remarks=(f"{percent(one.rolled)} pass all of its operations at once", _fewest(one)),
        )
        # One guitar at twenty operations is started twenty times, and is one guitar.
        bar = replace(bar, few=too_few(one.most))
        bars.append(bar if len(one.operations) == 1 else _of_several(bar))
    return bars


def _of_several(bar: Bar) -> Bar:
    """Without an interval: one guitar that comes back goes over several operations again, and
    so many starts are not as sure as so many guitars."""
    return replace(bar, between="", low="", high="")


def _fewest(group: OfGroup) -> str:
    """That a share which passes all at once hangs on few, where it does."""
    if not too_few(group.fewest):
        return ""
    return f"Where the fewest were started it was {group.fewest}: that share is a first guess."


def _inside(asked: Asked, by: By, key: str) -> str:
    if by == "week":
        return asked.to_week("figures", monday_of(key))
    return asked.to("figures", **{by: key})


def _lines(by: By, groups: Sequence[OfGroup]) -> Iterator[tuple[str, str, str, Bar]]:
    """The table behind the bars: group, operation and station of each."""
    names = dict(book.stations())
    for group in groups:
        key = names.get(group.key, group.key) if by == "station" else group.key
        for one in group.operations:
            station = names.get(one.station, one.station)
            yield key, one.operation, station, yield_bar(one.operation, one.counted, "")


def monday_of(key: str) -> date:
    """The Monday of a week that is written "2031-W10".

    >>> monday_of("2031-W10").isoformat()
    '2031-03-03'
    """
    year, _, number = key.partition("-W")
    return date.fromisocalendar(int(year), int(number), 1)


# --- week by week ---


@dataclass(frozen=True, slots=True)
class Week:
    """What came back of what was started in a week, at one operation or at several: of several
    each start counts. ``limits`` are what chance alone would do, "" where that cannot be told;
    ``out``: beyond them."""

    key: str
    monday: date
    failed: int
    started: int
    href: str
    share: str = ""
    limits: str = ""
    out: bool = False


@never_cache
@require_safe
@needs("figure.see")
def weeks(request: BadgeRequest) -> HttpResponse:
    """A p chart: the share that came back, week by week, of one operation against what chance
    alone would do."""
    asked, operation = Asked.of(request, timezone.localtime()), operation_of(request)
    rows, found, operations = _weeks(asked, operation)
    shown = {
        "operation": operation,
        "weeks": rows,
        "chart": found,
        "limited": any(one.limits for one in rows),
        "operations": [(one, asked.to("figures-weeks", operation=one)) for one in operations]
        if len(operations) > 1
        else (),
        "centre": percent(found.centre) if found else "",
        "out": [one for one in rows if one.out],
        "drawing": _drawn(rows, found) if found and len(rows) > 1 else "",
        "csv": asked.to("figures-weeks-csv", operation=operation),
        "every": asked.to("figures-weeks"),
        "formulas": (first_pass, share_limit),
    }
    more = asking(asked, "figures-weeks", operation=operation)
    return render(request, "desk/figures_weeks.html", shown | more)


@never_cache
@require_safe
@needs("figure.see")
def weeks_csv(request: BadgeRequest) -> HttpResponse:
    asked, operation = Asked.of(request, timezone.localtime()), operation_of(request)
    rows, found, operations = _weeks(asked, operation)
    # Of one operation these are guitars; of several a guitar once at each of them.
    counted = (operations[0], "guitars") if len(operations) == 1 else ("all", "starts")
    table: list[Sequence[object]] = [
        ("week", "from", "operation", "counted", "started", "sent back", "share",
         "lower", "upper", "beyond")
    ]  # fmt: skip
    for at, one in enumerate(rows):
        assert found is not None  # there is a chart where there are rows
        limits = (found.lower[at], found.upper[at]) if one.limits else ()
        said = [f"{limit:.4f}" for limit in limits] or ["", ""]
        share, beyond = f"{found.points[at]:.4f}", "yes" if one.out else ""
        started = (one.started, one.failed)
        table.append((one.key, one.monday, *counted, *started, share, *said, beyond))
    return sheet("weeks", table)


def _weeks(asked: Asked, operation: str) -> tuple[list[Week], Counted | None, list[str]]:
    """The weeks in which anything was started, the oldest first, their chart, and the
    operations that it counts, along the floor.

    What chance alone would do is told for one operation. Of several together it cannot be: one
    guitar that comes back is sent back over many at once, as chance by itself would not. Nor is
    it told of one week, which has no other beside it.
    """
    found = []
    counted: set[str] = set()
    for group in board.yields(asked.spell, "week"):
        them = [one.counted for one in group.operations if operation in ("", one.operation)]
        started, passed = sum(one.started for one in them), sum(one.passed for one in them)
        if started:
            found.append((group.key, started - passed, started))
            counted |= {one.operation for one in group.operations}
    charted = p_chart([failed for _, failed, _ in found], [started for *_, started in found])
    if charted is None:
        return [], None, []
    if operation:
        counted = {operation}
    limited = len(counted) == 1 and len(found) > 1
    out = set(charted.out) if limited else set()
    rows = []
    for at, (key, failed, started) in enumerate(found):
        monday = monday_of(key)
        href = asked.to_week("figures-behind", monday, what="failed", operation=operation)
        low, high = percent(charted.lower[at]), percent(charted.upper[at])
        limits = f"{low} – {high}" if limited else ""
        share = percent(charted.points[at])
        rows.append(Week(key, monday, failed, started, href, share, limits, at in out))
    along = [code for _, code, _ in book.operations() if code in counted]
    return rows, charted, along or sorted(counted)


LEAST_SHOWN: Final = 5.0  # of a hundred, so that a chart of hardly any looks like one


def _drawn(rows: Sequence[Week], found: Counted) -> str:
    """Shares of a hundred, week by week, between their limits where they have any."""
    xs = list(range(1, len(rows) + 1))
    points, lower, upper = (
        [100 * one for one in them] for them in (found.points, found.lower, found.upper)
    )
    drawn = [Row(xs, points, dot="disc")]
    if any(one.limits for one in rows):
        drawn = [Row(xs, upper, ink="faint"), Row(xs, lower, ink="faint"), *drawn]
    if out := [at for at, one in enumerate(rows) if one.out]:
        beyond = [points[at] for at in out]
        drawn.append(
            Row([xs[at] for at in out], beyond, "stop", joined=False, dot="square", large=True)
        )
    what = say("Sent back, of a hundred started")
    every = Level(100 * found.centre, say("all"), dashed=False)
    panel = Panel(what, drawn, [every], shown=(0.0, LEAST_SHOWN))
    along = f"{say('Week')}, {rows[0].key} – {rows[-1].key}"
    return drawing("weeks", f"{what}: {rows[0].key} – {rows[-1].key}", [panel], along)
