"""The lead's desk: release work, answer calls, look along the floor."""

from __future__ import annotations

import csv
import uuid
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shop.catalogue import book
from shop.craft.code import Kind
from shop.craft.finding import Finding
from shop.craft.phrasebook import searched
from shop.craft.spreadsheet import cells
from shop.desk.forms import ArrivalForm, ReleaseForm
from shop.floor import board, tags
from shop.floor.board import FloorRow, State, WaitRow
from shop.floor.door import Act, CallAnswered, PermitNoted, TagReplaced, record
from shop.people import badges
from shop.people.gate import BadgeRequest, fresh, may, needs
from shop.people.languages import say

# Words that narrow the floor list by a tap.
FILTERS = ("late", "waiting", "frozen", "rework", "hold", "open")
REASONS = ("The missing parts are promised in time", "Start without them; the tray follows")


@dataclass(frozen=True, slots=True)
class Line:
    """One instrument on the floor list, with all it waits for."""

    row: FloorRow
    waits: WaitRow
    lost: tuple[str, ...] = ()  # what others got that was kept for it, with both dates

    @property
    def first(self) -> Finding | None:
        """The first reason why what comes next on it cannot start now."""
        return self.waits.first(self.row.operation)

    @property
    def kept_back(self) -> list[str]:
        """The codes of all that comes next and cannot start now."""
        return [one.code for one in self.waits.nexts if one.reasons]

    @property
    def short_words(self) -> str:
        """Words a filter looks in."""
        return " ".join([self.row.short_words, *self.waits.marks, "lost" if self.lost else ""])


def _filtered(request: HttpRequest) -> tuple[list[Line], str]:
    """The floor list narrowed to the words asked for; every word must be found."""
    asked = request.GET.get("words", "").strip()
    at = timezone.localtime()
    waits = {one.serial: one for one in board.waiting_list(at)}
    lost: dict[str, tuple[str, ...]] = {}
    for short in board.lost_parts(at):
        lost[short.serial] = (*lost.get(short.serial, ()), short.why)
    rows = [
        Line(row, waits[row.serial], lost.get(row.serial, ()))
        for row in board.floor_list(at, timezone.localdate())
        if row.serial in waits  # it was there for both
    ]
    words = asked.lower().split()
    found = [row for row in rows if all(one in searched(row.short_words, say) for one in words)]
    return found, asked


@never_cache
@require_safe
@needs("floor.see")
def floor(request: BadgeRequest) -> HttpResponse:
    """Every instrument on the floor, by station."""
    at = timezone.localtime()
    mark = board.mark(at)

    def draw(tag: str) -> HttpResponse:
        rows, asked = _filtered(request)
        along = [name for _, name in book.stations()]
        at_each = {name: [it for it in rows if it.row.station == name] for name in along}
        stations = {name: found for name, found in at_each.items() if found}
        if finished := [it for it in rows if it.row.station not in along]:
            stations["Done"] = finished
        shown = {
            "stations": stations,
            "count": len(rows),
            "words": asked,
            "filters": FILTERS,
            "may_settle": may(request.user, "instrument.settle"),
            "at": at,
            "fresh": tag,
        }
        return render(request, "desk/floor.html", shown)

    return fresh(request, mark, draw)


@never_cache
@require_safe
@needs("floor.see")
def floor_csv(request: BadgeRequest) -> HttpResponse:
    rows, _ = _filtered(request)
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="floor.csv"'
    sheet = csv.writer(response)
    sheet.writerow(
        [
            "serial", "spec", "station", "operation", "ready", "due", "days late", "tray", "order",
            "waits for",
        ]
    )  # fmt: skip
    for line in rows:
        row = line.row
        ready = timezone.localtime(row.ready).isoformat(timespec="minutes") if row.ready else ""
        sheet.writerow(
            cells(
                row.serial, row.spec, row.station, row.operation, ready, row.due_on,
                max(0, row.days_late), row.tray_state, row.order,
                " ".join([line.waits.words, *line.lost]).strip(),
            )
        )  # fmt: skip
    return response


@never_cache
@require_http_methods(["GET", "POST"])
@needs("instrument.release")
def release(request: BadgeRequest) -> HttpResponse:
    """Release a body, a neck and a kit; what is missing is said first."""
    parts = board.waiting_parts()
    form = ReleaseForm(request.POST or None)
    shown: dict[str, Any] = {"form": form, "parts": parts, "key": uuid.uuid4(), "reasons": REASONS}
    if (body := request.POST.get("body")) and _done_before(request):
        return redirect("desk:released", body)
    if request.method == "POST" and form.is_valid():
        outcome = record(Act.of(request, timezone.localtime()), form.deed())
        if outcome.done:
            for one in outcome.findings:  # what it took from whom, a list that is closed
                messages.warning(request, f"{one.words} {one.then}".strip())
            return redirect("desk:released", form.cleaned_data["body"])
        shown["findings"] = outcome.findings
        shown["ask_reason"] = all(one.severity != "stop" for one in outcome.findings)
    return render(request, "desk/release.html", shown)


def _done_before(request: BadgeRequest) -> bool:
    """Whether this very form was sent before and did its work, as on a second tap: by now
    the parts are not to choose any more, and the tag in use is another one."""
    sent = board.answered(Act.of(request, timezone.localtime()).key)
    return sent is not None and sent["result"] == "recorded"


@never_cache
@require_safe
@needs("instrument.release")
def released(request: BadgeRequest, serial: str) -> HttpResponse:
    """The instrument just released, with what to print for it."""
    now = board.by_serial(serial)
    if now is None:
        raise Http404
    return _released(request, now)


def _released(request: BadgeRequest, now: State, **more: Any) -> HttpResponse:
    papers = [{"paper": one, "key": uuid.uuid4()} for one in board.papers(now)]
    may_note = may(request.user, "paper.note")
    shown = {"now": now, "spec": now.sheet.spec, "papers": papers, "may_note": may_note} | more
    return render(request, "desk/released.html", shown)


@require_POST
@needs("paper.note")
def note_paper(request: BadgeRequest, serial: str) -> HttpResponse:
    """The number of the paper that one of its woods needs to cross a border."""
    now = board.by_serial(serial)
    if now is None:
        raise Http404
    wood, number = (request.POST.get(name, "").strip() for name in ("wood", "number"))
    outcome = record(Act.of(request, timezone.localtime()), PermitNoted(now.id, wood, number))
    if outcome.done:
        messages.success(request, f"{number} is noted for {wood}.")
        return redirect("desk:released", serial)
    return _released(request, now, findings=outcome.findings, wood=wood, number=number)


@never_cache
@require_http_methods(["GET", "POST"])
@needs("instrument.release")
def arrivals(request: BadgeRequest) -> HttpResponse:
    """Book a body or a neck in."""
    form = ArrivalForm(request.POST or None, initial={"part": "body"})
    shown: dict[str, Any] = {"form": form, "parts": board.waiting_parts(), "key": uuid.uuid4()}
    if request.method == "POST" and form.is_valid():
        outcome = record(Act.of(request, timezone.localtime()), form.deed())
        if outcome.done:
            messages.success(request, f"{outcome.subject} is booked in.")
            return redirect("desk:arrivals")
        shown["findings"] = outcome.findings
    return render(request, "desk/arrivals.html", shown)


@never_cache
@require_safe
@needs("help.answer")
def calls(request: BadgeRequest) -> HttpResponse:
    """Who calls, from where, about what."""
    return render(request, "desk/calls.html", _calls(request))


def _calls(request: BadgeRequest) -> dict[str, Any]:
    whom = ["clerk"] if not may(request.user, "instrument.release") else ["clerk", "lead"]
    rows = board.calls(whom)
    for row in rows:
        row["key"] = uuid.uuid4()
    return {"calls": rows}


@require_POST
@needs("help.answer")
def answer(request: BadgeRequest, call_id: int) -> HttpResponse:
    """I am coming."""
    try:
        outcome = record(Act.of(request, timezone.localtime()), CallAnswered(call_id))
    except LookupError as why:
        raise Http404 from why
    if not outcome.done:
        for one in outcome.findings:
            messages.error(request, f"{one.words} {one.then}")
    if request.htmx:
        return render(request, "desk/_calls.html", _calls(request))
    return redirect("desk:calls")


@never_cache
@require_safe
@needs("badge.unlock")
def badge_list(request: BadgeRequest) -> HttpResponse:
    return render(request, "desk/badges.html", {"locked": badges.locked()})


@require_POST
@needs("badge.unlock")
def unlock(request: BadgeRequest) -> HttpResponse:
    code = request.POST.get("badge", "")
    if badges.unlock(code):
        messages.success(request, f"Badge {code} is unlocked.")
    else:
        messages.error(request, f"Badge {code} was not locked.")
    return redirect("desk:badges")


@never_cache
@require_http_methods(["GET", "POST"])
@needs("tag.replace")
def replace_tag(request: BadgeRequest, serial: str) -> HttpResponse:
    """A lost or spoilt tag: void for ever, and a new one to print. Of a lost one the mark on
    the part is read first, so that the new tag hangs where it belongs."""
    code = tags.of_serial(serial)
    if code is None:
        raise Http404
    reason, mark = request.POST.get("reason", ""), request.POST.get("mark", "")
    shown: dict[str, Any] = {"serial": serial, "reason": reason, "mark": mark}
    if request.method == "POST" and _done_before(request):
        return _tagged(serial)
    if request.method == "POST":
        deed = TagReplaced(code, "lost" if reason == "lost" else "spoilt", mark)
        outcome = record(Act.of(request, timezone.localtime()), deed)
        if outcome.done:
            messages.success(
                request, f"The old tag of {serial} is void. Print and hang the new one."
            )
            return _tagged(serial)
        shown["findings"] = outcome.findings
    shown |= {
        "key": uuid.uuid4(),
        "place": "neck block" if code.startswith(Kind.BODY.value) else "heel",
        "made": tags.made(serial),
        "marks": tags.marks(),
        "body": tags.body_of(serial),
    }
    return render(request, "desk/replace_tag.html", shown)


def _tagged(serial: str) -> HttpResponse:
    """Where the new tag is printed: at the instrument of this body or neck. A part that
    waits in store gets its papers with its release."""
    body = tags.body_of(serial)
    return redirect("desk:released", body) if body else redirect("desk:arrivals")
