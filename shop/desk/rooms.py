"""The room: noting it by hand, by a small gauge or by a sensor's log, and its last days."""

from __future__ import annotations

import codecs
import csv
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Any, Final

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from shop.craft.spreadsheet import cells
from shop.craft.when import in_utc, span_words, when_words
from shop.craft.wood import log
from shop.craft.wood import room as air
from shop.craft.words import several
from shop.desk.forms import RoomForm
from shop.desk.room_chart import chart
from shop.floor import board
from shop.floor.door import Act, RoomLogged, record
from shop.people.gate import BadgeRequest, needs

DAYS: Final = (1, 7, 31)
MOST_BYTES: Final = 1024 * 1024  # of a log; the most rows that are taken have a fifth of it


@never_cache
@require_http_methods(["GET", "POST"])
@needs("room.log")
def room(request: BadgeRequest) -> HttpResponse:
    """Note what thermometer and hygrometer show; the last reading stands above with its age."""
    at = timezone.localtime()
    form = RoomForm(_read_off(request.POST)) if request.method == "POST" else RoomForm()
    shown: dict[str, Any] = {"form": form, "typed": _typed(request.POST)}
    shown |= {"key": uuid.uuid4(), "gauge_key": uuid.uuid4()}
    if request.method == "POST" and form.is_valid():
        outcome = record(Act.of(request, at), form.deed())
        if outcome.done:
            messages.success(request, "The room is noted.")
            return redirect("desk:room")
        shown["findings"] = outcome.findings
    if last := board.room(fresh=True):
        ago = span_words(max(at - last.at, timedelta(0)))
        shown |= {"last": last, "read": when_words(last.at, at), "ago": ago}
    return render(request, "desk/room.html", shown)


def _typed(sent: Mapping[str, str]) -> str:
    """What a small gauge typed, where it is no reading: it is shown again."""
    text = sent.get("typed", "")
    return text if text.strip() and log.typed(text) is None else ""


def _read_off(sent: Mapping[str, str]) -> Mapping[str, str]:
    """Both figures of a form: out of what a small gauge typed, where it did."""
    found = log.typed(sent.get("typed", ""))
    return {"temp_c": str(found[0]), "rh_pct": str(found[1])} if found else sent


@never_cache
@require_http_methods(["GET", "POST"])
@needs("room.log")
def room_log(request: BadgeRequest) -> HttpResponse:
    """Bring in what a sensor noted: all of it, or nothing and what to put right."""
    at = timezone.localtime()
    sensor = request.POST.get("sensor", "").replace("\0", "")  # PostgreSQL keeps it in no text
    shown: dict[str, Any] = {"key": uuid.uuid4(), "sensor": sensor}
    shown |= {"most": log.MOST_ROWS, "sample": log.SAMPLE}
    if request.method == "POST":
        found = log.read(_text(request).replace("\0", ""), at, sensor)
        if not found.faults:
            deed = RoomLogged(found.sensor, found.readings)
            outcome = record(Act.of(request, at), deed)
            if outcome.done:
                count = several(len(found.readings), "reading")
                messages.success(request, f"{count} of sensor {found.sensor}: noted.")
                return redirect("desk:room-days")
            shown["findings"] = outcome.findings
        shown["faults"] = found.faults
    return render(request, "desk/room_log.html", shown)


def _text(request: HttpRequest) -> str:
    """The text of the file that was sent; "" where there is none, which is told like an
    empty one. Of a file that is too large so much is read that it is told as too long."""
    sent = request.FILES.get("file")
    content = sent.read(MOST_BYTES) if sent else b""
    if content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return content.decode("utf-16", errors="replace")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("cp1252", errors="replace")


@dataclass(frozen=True, slots=True)
class Days:
    """How far back is looked, and for which glue."""

    days: int
    glue: str

    @classmethod
    def asked(cls, request: HttpRequest) -> Days:
        """As the address says it; a week and white glue where it says nothing we know."""
        known = {str(one): one for one in DAYS}
        glue = request.GET.get("glue", "")
        return cls(
            known.get(request.GET.get("days", ""), DAYS[1]), glue if glue in air.GLUES else "white"
        )


@never_cache
@require_safe
@needs("room.log")
def room_days(request: BadgeRequest) -> HttpResponse:
    """The last days of the room: drawn, then the same as words and tables."""
    at, asked = timezone.localtime(), Days.asked(request)
    since = at - timedelta(days=asked.days)
    every = [row.air for row in board.room_log(since)]
    within = [one for one in every if in_utc(one.at) >= in_utc(since)]
    windows = air.windows(every, asked.glue, at)
    alarms = air.excursions(every, at)
    touched = air.touched(board.room_waits(since, at), alarms) if alarms else ()
    shown: dict[str, Any] = {
        "asked": asked,
        "spans": DAYS,
        "glues": tuple(air.GLUES),
        "days": air.by_day(within, at),
        "chart": chart(every, windows, since, at),
        "limits": air.limits_words(),
        "windows": [(one, span_words(one.length)) for one in reversed(windows)],
        "alarms": [one.words(at) for one in reversed(alarms)],
        "touched": [(one, span_words(one.shared.length)) for one in touched],
    }
    return render(request, "desk/room_days.html", shown)


@require_safe
@needs("room.log")
def room_csv(request: BadgeRequest) -> HttpResponse:
    """Every reading of these days, in the form that a log is brought in."""
    since = timezone.localtime() - timedelta(days=Days.asked(request).days)
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="room.csv"'
    table = csv.writer(response)
    table.writerow([*log.COLUMNS, log.SENSOR])
    for one in board.room_log(since):
        when = timezone.localtime(one.at).isoformat()
        table.writerow(cells(when, one.temp_c, one.rh_pct, one.sensor))
    return response
