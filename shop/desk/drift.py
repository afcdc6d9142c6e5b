"""What moved between the first look and the second, over all instruments."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from shop.craft.charts.drift import MOST, Drift, drift, moved
from shop.craft.gauging import Place, Quantity
from shop.craft.spreadsheet import cells
from shop.craft.words import THIN
from shop.desk.plotting import Level, Panel, Row, drawing
from shop.floor import board
from shop.floor.board import Moved
from shop.people.gate import BadgeRequest, needs
from shop.people.languages import say

NEWEST: Final = 60  # instruments drawn


@dataclass(frozen=True, slots=True)
class Part:
    """One place that is measured at both looks, newest instruments last."""

    quantity: Quantity
    place: Place
    rows: tuple[Moved, ...]
    found: Drift

    @property
    def summary(self) -> tuple[tuple[str, str], ...]:
        """What was worked out, line by line."""
        it = self.found
        lines = [("Median", _signed(it.median_mm))]
        if it.quarters_mm is not None:
            least, most = map(_signed, it.quarters_mm)
            lines.append(("Middle half", f"{least} to {most}"))
        if it.interval_mm is not None:
            least, most = map(_signed, it.interval_mm)
            lines.append((f"Median, with 95{THIN}% confidence", f"{least} to {most}"))
        lines.append(
            (f"Further than {it.most_mm:g}{THIN}mm", f"{len(it.beyond)} of {len(it.moves_mm)}")
        )
        return tuple(lines)

    @property
    def lines(self) -> tuple[tuple[Moved, str, bool], ...]:
        """Each instrument, newest first, with what it moved and whether that is too far."""
        moves = self.found.moves_mm
        beyond = set(self.found.beyond)
        rows = [(row, _signed(moves[at], 3), at in beyond) for at, row in enumerate(self.rows)]
        return tuple(rows[::-1])

    def drawn(self) -> str:
        """What each moved, in the order of the second looks."""
        it = self.found
        numbers = list(range(1, len(it.moves_mm) + 1))
        far = [numbers[at] for at in it.beyond]
        row = Row(numbers, it.moves_mm, joined=False, dot="disc")
        marked = Row(
            far, [it.moves_mm[at] for at in it.beyond], ink="stop", joined=False, dot="square",
            large=True,
        )  # fmt: skip
        levels = [
            Level(0.0, dashed=False),
            Level(it.median_mm, say("median"), ink="note"),
            Level(it.most_mm, say("limit"), left=True),
            Level(-it.most_mm, say("limit"), left=True),
        ]
        what = f"{say(self.quantity.words)}, {say(self.place.words)}"
        panel = Panel(f"{what}, {say('moved')}, mm", [row, *([marked] if far else [])], levels)
        return drawing(f"{self.quantity.key}-{self.place.key}", what, [panel], say("Instrument"))


@never_cache
@require_safe
@needs("chart.see")
def drifts(request: BadgeRequest) -> HttpResponse:
    """Relief and action before and after the days in the case, spec by spec or together."""
    rows = board.moved()
    spec = request.GET.get("spec", "")
    shown = {
        "parts": _parts([row for row in rows if spec in ("", row.spec)]),
        "spec": spec,
        "specs": sorted({row.spec for row in rows}),
    }
    return render(request, "desk/drift.html", shown)


@never_cache
@require_safe
@needs("chart.see")
def drift_csv(request: BadgeRequest) -> HttpResponse:
    spec = request.GET.get("spec", "")
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="drift.csv"'
    sheet = csv.writer(response)
    sheet.writerow(
        ["serial", "spec", "quantity", "place", "first mm", "second mm", "moved mm", "read"]
    )
    for row in board.moved():
        if spec in ("", row.spec):
            by = moved(float(row.first), float(row.second))
            read = timezone.localtime(row.at).isoformat(timespec="minutes")
            sheet.writerow(
                cells(
                    row.serial, row.spec, row.quantity.key, row.place.key, row.first.normalize(),
                    row.second.normalize(), f"{by:.3f}", read,
                )
            )  # fmt: skip
    return response


def _parts(rows: Sequence[Moved]) -> list[Part]:
    """The rows by what was measured and where, the newest of each."""
    by: dict[tuple[str, str], list[Moved]] = {}
    for row in rows:
        by.setdefault((row.quantity.key, row.place.key), []).append(row)
    parts = []
    for _, them in sorted(by.items()):
        newest = them[-NEWEST:]
        last = newest[-1]
        pairs = [(float(row.first), float(row.second)) for row in newest]
        if found := drift(pairs, MOST[last.quantity.key]):
            parts.append(Part(last.quantity, last.place, tuple(newest), found))
    return parts


def _signed(value_mm: float, places: int = 2) -> str:
    sign = "+" if value_mm > 0 else "\u2212" if value_mm < 0 else ""
    return f"{sign}{abs(value_mm):.{places}f}{THIN}mm"
