"""The repairer's list: what waits for its repair, how long, and what is checked after it."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from datetime import datetime
from urllib.parse import urlencode

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from shop.craft.spreadsheet import cells
from shop.craft.when import span_words, when_words
from shop.floor import board
from shop.floor.board import RepairRow
from shop.people.gate import BadgeRequest, fresh, needs


@dataclass(frozen=True, slots=True)
class Row:
    """One instrument that waits for its repair, and the way to it."""

    repair: RepairRow
    tag: str
    age: str
    since: str

    @property
    def serial_head(self) -> str:
        return self.repair.serial[:-4]

    @property
    def last_four(self) -> str:
        return self.repair.serial[-4:]


@never_cache
@require_safe
@needs("floor.see")
def repairs(request: BadgeRequest) -> HttpResponse:
    """Every instrument with a repair still to be done, the longest wait first."""
    at = timezone.localtime()
    station = request.GET.get("station", "")[:40]
    asking = board.asking(request, at)
    # Ages go on by themselves: the page is another one every quarter of an hour. What is kept
    # back depends on who asks, and where.
    who = f"{asking.who.code} {asking.station}"
    mark = f"{board.mark(at)} {who} {station} {at:%Y-%m-%d %H} {at.minute // 15}"

    def draw(tag: str) -> HttpResponse:
        every = board.repair_list(at, asking)
        known = sorted({one for row in every for one in row.stations})
        chosen = station if station in known else ""
        rows = _rows(_at(every, chosen), at)
        shown = {
            "rows": rows,
            "minutes": sum(one.repair.minutes for one in rows),
            "stations": [(one, urlencode({"station": one}), one == chosen) for one in known],
            "chosen": chosen,
            "at": at,
            "fresh": tag,
        }
        return render(request, "inspection/repairs.html", shown)

    return fresh(request, mark, draw)


@never_cache
@require_safe
@needs("floor.see")
def repairs_csv(request: BadgeRequest) -> HttpResponse:
    at = timezone.localtime()
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="repairs.csv"'
    sheet = csv.writer(response)
    sheet.writerow(
        [
            "serial", "urgent", "since", "age h", "stations", "repairs", "defects", "worst class",
            "usual min", "spent min", "done again after it", "frozen",
        ]
    )  # fmt: skip
    rows = board.repair_list(at, board.asking(request, at))
    for one in _at(rows, request.GET.get("station", "")):
        since = timezone.localtime(one.since).isoformat(timespec="minutes")
        sheet.writerow(
            cells(
                one.serial, "urgent" if one.urgent else "", since,
                round(one.age.total_seconds() / 3600, 1), "; ".join(one.stations),
                "; ".join(one.loops), "; ".join(one.defects), one.worst or "", one.minutes,
                one.spent, " ".join(one.recheck), "frozen" if one.frozen else "",
            )
        )  # fmt: skip
    return response


def _at(rows: tuple[RepairRow, ...], station: str) -> list[RepairRow]:
    """Those that are repaired at a station; all where none is named."""
    return [one for one in rows if not station or station in one.stations]


def _rows(rows: list[RepairRow], at: datetime) -> list[Row]:
    tags = board.tags_of([one.serial for one in rows])
    return [
        Row(
            one,
            tags[one.serial].get("body", ""),
            span_words(one.age),
            when_words(one.since, at),
        )
        for one in rows
    ]
