"""The kitting clerk: which trays are wanted, bin by bin, closed and labelled."""

from __future__ import annotations

import csv
import uuid
from collections.abc import Sequence
from datetime import date, timedelta

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from shop.catalogue import book
from shop.craft.finding import any_stop, any_warn
from shop.craft.hardware import Family
from shop.craft.spreadsheet import cells
from shop.floor import board
from shop.floor.door import Act, TrayClosed, record
from shop.kitting.forms import PickForm
from shop.people.gate import BadgeRequest, needs
from shop.stock import ledger, shelf

REASONS = ("The missing part follows before it is needed", "The lead agreed to go on")


def wanted_by() -> date:
    """Trays are picked for what is released up to tomorrow."""
    return timezone.localdate() + timedelta(days=1)


@never_cache
@require_safe
@needs("tray.pick")
def trays(request: BadgeRequest) -> HttpResponse:
    """The trays wanted for release up to tomorrow, and what they lack."""
    day = wanted_by()
    rows = shelf.trays(day)
    for row in rows:
        row["short"] = [
            line["article"]
            for line in row["lines"]
            if line["state"] == "short" or (line["state"] == "open" and not line["reserved"])
        ]
        row["open"] = sum(line["state"] == "open" for line in row["lines"])
    return render(request, "kitting/trays.html", {"trays": rows, "day": day})


@never_cache
@require_safe
@needs("tray.pick")
def trays_csv(request: BadgeRequest) -> HttpResponse:
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="trays.csv"'
    sheet = csv.writer(response)
    sheet.writerow(
        ["release", "serial", "spec", "tray", "item", "name", "quantity", "state", "bin"]
    )
    for row in shelf.trays(wanted_by()):
        for line in row["lines"]:
            state = "short" if line["state"] == "open" and not line["reserved"] else line["state"]
            sheet.writerow(
                cells(
                    row["wanted_on"], row["serial"], row["spec"], row["code"],
                    line["article"].key, line["article"].name, line["quantity"], state,
                    line["bin"] or "",
                )
            )  # fmt: skip
    return response


@never_cache
@require_safe
@needs("tray.pick")
def walk(request: BadgeRequest) -> HttpResponse:
    """One bin at a time: take so many, for these trays."""
    chosen = [int(one) for one in request.GET.getlist("tray") if one.isdecimal()]
    open_trays = [row["id"] for row in shelf.trays(wanted_by())]
    ids = [one for one in chosen if one in open_trays] or open_trays
    stops = shelf.walk(ids)
    if not stops:
        return render(request, "kitting/walked.html", {"chosen": chosen})
    passed = request.GET.get("passed", "0")
    place = int(passed) % len(stops) if passed.isdecimal() else 0
    shown = {
        "stop": stops[place],
        "place": place,
        "left": len(stops),
        "trays": len(ids),
        "chosen": chosen,
        "way": _way(chosen),
        "items": book.items(),
    }
    return render(request, "kitting/bin.html", shown)


def _way(chosen: Sequence[int]) -> str:
    asked = "&".join(f"tray={one}" for one in chosen)
    return f"{reverse('kitting:walk')}?{asked}"


@require_POST
@needs("tray.pick")
def pick(request: BadgeRequest) -> HttpResponse:
    """Taken, or short: for every tray that shares this bin's stop."""
    form = PickForm(request.POST)
    back = _back(request)
    if not form.is_valid():
        messages.error(request, form.first_fault())
        return redirect(back)
    for tray_id, picks in form.by_tray().items():
        try:
            ledger.put_in(tray_id, picks)
        except ledger.OutOfStep as why:
            messages.error(request, str(why))
    return redirect(back)


def _back(request: HttpRequest) -> str:
    if code := request.POST.get("tray_code"):
        return reverse("kitting:tray", args=[code])
    chosen = [int(one) for one in request.POST.getlist("chosen") if one.isdecimal()]
    return _way(chosen)


def _tray_or_404(code: str) -> shelf.TrayRow:
    row = shelf.tray(code)
    if row is None:
        raise Http404
    return row


@never_cache
@require_safe
@needs("tray.pick")
def tray(request: BadgeRequest, code: str) -> HttpResponse:
    """One tray: what lies in it, what stands against closing it, its label."""
    row = _tray_or_404(code)
    findings = () if row["state"] == "closed" else board.tray_outlook(row["serial"])
    shown = {
        "tray": row,
        "findings": findings,
        "stopped": any_stop(findings),
        "warned": any_warn(findings),
        "reasons": REASONS,
        "key": uuid.uuid4(),
        "tuners": Family.TUNERS,
        "partial": [line for line in row["lines"] if line["state"] == "short"],
    }
    return render(request, "kitting/tray.html", shown)


@never_cache
@require_safe
@needs("tray.pick")
def line(request: BadgeRequest, code: str, line_id: int) -> HttpResponse:
    """Change what was put in for one line."""
    row = _tray_or_404(code)
    chosen = next((one for one in row["lines"] if one["id"] == line_id), None)
    if chosen is None or row["state"] == "closed":
        raise Http404
    shown = {"tray": row, "line": chosen, "items": book.items(), "tuners": Family.TUNERS}
    return render(request, "kitting/line.html", shown)


@require_POST
@needs("tray.pick")
def close(request: BadgeRequest, code: str) -> HttpResponse:
    """Close the tray: it is checked, and what lies in it leaves the shelf once."""
    row = _tray_or_404(code)
    try:
        outcome = record(Act.of(request, timezone.localtime()), TrayClosed(row["id"]))
        against = () if outcome.done else outcome.findings
        told = [f"{one.words} {one.then}" for one in against]
    except ledger.OutOfStep as why:  # another tray emptied the bin at this very moment
        told = [str(why)]
    for words in told:
        messages.error(request, words)
    return redirect("kitting:tray", code)
