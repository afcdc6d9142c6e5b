"""Charts of what is measured: what is usual, what is not, and what the work is good for."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from shop.catalogue import book
from shop.craft.charts.allowed import Allowed, allowed
from shop.craft.charts.capability import Capability, capability, cp, cpk_end, to_limit
from shop.craft.charts.individuals import Chart, chart, upper_limit
from shop.craft.charts.runs import distance
from shop.craft.finding import Finding, warn
from shop.craft.spreadsheet import cells
from shop.craft.words import THIN
from shop.desk.plotting import Level, Panel, Row, drawing
from shop.floor import board
from shop.floor.board import Run, Value
from shop.people.gate import BadgeRequest, needs
from shop.people.languages import say

FORMULAS: Final = (upper_limit, distance, cp, to_limit, cpk_end)
JUMP: Final = "Too far from the one before"


@dataclass(frozen=True, slots=True)
class Line:
    """One reading as a row of the table. ``broke`` are the rules it breaks, in words."""

    number: int
    value: Value
    said: str  # with its unit
    moved: float | None
    broke: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Charted:
    """A characteristic at one place with all that is worked out of it."""

    run: Run
    chart: Chart | None
    wanted: Allowed | None
    capability: Capability | None

    @classmethod
    def of(cls, run: Run) -> Charted:
        values = [float(one.value) for one in run.values]
        wanted = allowed(run.quantity.key, run.place.key, run.sheet.spec)
        ends = (wanted.lower, wanted.upper) if wanted and wanted.has_room else (None, None)
        return cls(run, chart(values), wanted, capability(values, *ends))

    @property
    def without_room(self) -> Finding | None:
        """That the spec leaves nothing between its limits, where it does not."""
        if self.wanted is None or self.wanted.has_room:
            return None
        lower, upper = self.said(self.wanted.lower), self.said(self.wanted.upper)
        return warn(
            "limits",
            f"{lower} to {upper} is wanted: there is no room between these limits.",
            "Have the next revision of the spec give the most more than the least.",
        )

    @property
    def lines(self) -> tuple[Line, ...]:
        ranges = self.chart.ranges if self.chart else ()
        return tuple(
            Line(
                at + 1,
                value,
                self.run.quantity.said(value.value),
                ranges[at - 1] if at else None,
                self._broke(at),
            )
            for at, value in enumerate(self.run.values)
        )

    def _broke(self, at: int) -> tuple[str, ...]:
        if self.chart is None:
            return ()
        jumped = (JUMP,) if at in self.chart.jumps else ()
        return (*(one.rule.words for one in self.chart.signals if one.at == at), *jumped)

    def said(self, figure: float) -> str:
        """A figure that was worked out, with its unit."""
        places = 3 if self.run.quantity.is_length else 2
        return self.run.quantity.said(Decimal(f"{figure:.{places}f}"))


@never_cache
@require_safe
@needs("chart.see")
def charts(request: BadgeRequest) -> HttpResponse:
    """All that is measured, along the floor."""
    along = dict(book.stations())
    at_station = book.stations_of_operations()
    stations: dict[str, list[Any]] = {name: [] for name in along.values()}
    for one in board.characteristics():
        code = at_station.get(one.operation, "")
        stations.setdefault(along.get(code, code), []).append(one)
    shown = [(name, rows) for name, rows in stations.items() if rows]
    return render(request, "desk/charts.html", {"stations": shown})


@never_cache
@require_safe
@needs("chart.see")
def one_chart(request: BadgeRequest, spec: str, operation: str, quantity: str) -> HttpResponse:
    """One characteristic at one of its places: drawn, judged, and the readings behind it."""
    found = _charted(request, spec, operation, quantity)
    run = found.run
    stop = run.sheet.stop(operation)
    shown = {
        "run": run,
        "found": found,
        "places": run.quantity.places(run.sheet.spec),
        "station": dict(book.stations()).get(stop.station_code, "") if stop else "",
        "stop": stop,
        "summary": _summary(found),
        "drawing": _drawn(found) if found.chart else "",
        "formulas": FORMULAS,
        "kept_back": any(not one.serial for one in run.values),
    }
    return render(request, "desk/chart.html", shown)


@never_cache
@require_safe
@needs("chart.see")
def chart_csv(request: BadgeRequest, spec: str, operation: str, quantity: str) -> HttpResponse:
    found = _charted(request, spec, operation, quantity)
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    name = f"{spec}-{operation}-{quantity}-{found.run.place.key}.csv"
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    sheet = csv.writer(response)
    sheet.writerow(["number", "read", "serial", "value", "unit", "moving range", "broke"])
    for one in found.lines:
        read = timezone.localtime(one.value.at).isoformat(timespec="minutes")
        moved = "" if one.moved is None else f"{one.moved:.4g}"
        sheet.writerow(
            cells(
                one.number, read, one.value.serial, one.value.value.normalize(),
                found.run.quantity.unit, moved, "; ".join(one.broke),
            )
        )  # fmt: skip
    return response


def _charted(request: BadgeRequest, spec: str, operation: str, quantity: str) -> Charted:
    run = board.run(spec, operation, quantity, request.GET.get("place", ""))
    if run is None:
        raise Http404
    return Charted.of(run)


def _summary(found: Charted) -> list[tuple[str, str]]:
    """What was worked out, line by line."""
    if found.chart is None:
        return []
    it, able = found.chart, found.capability
    lines = [
        ("Mean", found.said(it.centre)),
        ("Limits of the work", f"{found.said(it.lower)} to {found.said(it.upper)}"),
        ("Standard deviation, by moving ranges", found.said(it.sd)),
        ("Mean moving range", found.said(it.mean_range)),
    ]
    if found.wanted:
        ends = f"{found.said(found.wanted.lower)} to {found.said(found.wanted.upper)}"
        lines.append(("Wanted", ends))
    if able:
        lines.append(("Standard deviation, of all", found.said(able.sd)))
        if able.cp is not None and able.cp_interval is not None:
            lines.append(("Cp", _between(able.cp, able.cp_interval)))
        lines.append(("Cpk", _between(able.cpk, able.cpk_interval)))
    return lines


def _between(figure: float, ends: tuple[float, float]) -> str:
    least, most, found = (f"{one:.2f}".replace("-", "\u2212") for one in (*ends, figure))
    return f"{found}, between {least} and {most} with 95{THIN}% confidence"


def _drawn(found: Charted) -> str:
    """Readings with their limits, moving ranges below."""
    it = found.chart
    assert it is not None  # asked before
    run = found.run
    numbers = list(range(1, len(it.values) + 1))
    unit = f", {say(run.quantity.unit)}" if run.quantity.unit else ""
    what = f"{say(run.quantity.words)}, {say(run.place.words)}"
    odd = sorted({one.at for one in it.signals})
    far = [at - 1 for at in it.jumps]
    readings = [
        Row(numbers, it.values, dot="disc"),
        *([_marked([numbers[at] for at in odd], [it.values[at] for at in odd])] if odd else []),
    ]
    ranges = [
        Row(numbers[1:], it.ranges, dot="ring"),
        *([_marked([numbers[at + 1] for at in far], [it.ranges[at] for at in far])] if far else []),
    ]
    levels = [
        Level(it.centre, dashed=False),
        Level(it.lower, say("limit")),
        Level(it.upper, say("limit")),
    ]
    if found.wanted:
        levels += [
            Level(end, say("wanted"), ink="note", left=True)
            for end in (found.wanted.lower, found.wanted.upper)
        ]
    panels = [
        Panel(f"{what}{unit}", readings, levels),
        Panel(
            f"{say('Moving range')}{unit}",
            ranges,
            [Level(it.mean_range, dashed=False), Level(it.upper_range, say("limit"))],
            share=0.7,
        ),
    ]
    return drawing(
        "chart", f"{what}: {run.sheet.spec.key}, {run.operation}", panels, say("Reading")
    )


def _marked(xs: list[int], ys: list[float]) -> Row:
    return Row(xs, ys, ink="stop", joined=False, dot="square", large=True)
