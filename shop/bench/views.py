"""The operator at a bench: scan, see the kit, check the tray, record."""

from __future__ import annotations

import uuid
from typing import Any

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shop.bench import drawings
from shop.catalogue import book
from shop.craft.code import Kind, Reading, read
from shop.craft.finding import Finding, any_stop
from shop.floor import board, tags
from shop.floor.board import State
from shop.floor.door import Act, CallMade, Outcome, StepDone, TrayChecked, record
from shop.people.gate import BadgeRequest, may, needs

REASONS = (
    "The lead agreed",
    "Looked at and measured: it fits",
    "The missing part follows before it is needed",
)
LAST_TAGS = 3
# Rows of the journal under the list of what is done.
NEWEST = 20


def reading_of(request: HttpRequest, text: str) -> Reading:
    """The code in a scanned or typed text, read as forgivingly as is safe."""
    own = {request.get_host().lower(), settings.ADDRESS.split("://")[1].lower()}
    return read(text, own)


@never_cache
@require_http_methods(["GET", "POST"])
@needs("tag.scan")
def scan(request: BadgeRequest) -> HttpResponse:
    """The scan screen; with a code, the way to what it stands for."""
    text = request.POST.get("code") or request.GET.get("code") or ""
    if not text and request.method == "GET":
        return render(request, "bench/scan.html", {"seen": request.session.get("seen_tags", [])})
    reading = reading_of(request, text)
    finding = reading.finding
    if finding is None and reading.kind is not None:
        found = tags.find(reading.code, reading.kind)
        finding = found.finding
        if found.body_tag:
            return redirect("bench:instrument", found.body_tag)
    shown = {"finding": finding, "seen": request.session.get("seen_tags", []), "text": text}
    return render(request, "bench/scan.html", shown)


@never_cache
@require_http_methods(["GET", "POST"])
@needs("tag.scan")
def station(request: BadgeRequest) -> HttpResponse:
    """Where this phone is: one tap."""
    known = book.stations()
    if request.method == "POST" and request.POST.get("station") in dict(known):
        request.session["station"] = request.POST["station"]
        return redirect("bench:scan")
    return render(request, "bench/station.html", {"stations": known})


def ground(code: str) -> State:
    """The instrument of a live body tag, or the plain page that says why there is none."""
    now = board.by_tag(code)
    if now is None:
        raise Http404
    return now


@never_cache
@require_safe
@needs("tag.scan")
def instrument(request: BadgeRequest, code: str) -> HttpResponse:
    """The instrument this tag hangs on, as it stands at the phone's station."""
    now = board.by_tag(code)
    if now is None:
        return _elsewhere(request, code)
    _remember(request, code, now)
    shown = page(request, code, now) | {
        "kit": drawings.kit(now, request.user.units),
        "outcome": _after(request),
    }
    return render(request, "bench/instrument.html", shown)


def _elsewhere(request: HttpRequest, code: str) -> HttpResponse:
    """A code that is no live body tag: lead on to the one that is, or say what it is."""
    reading = reading_of(request, code)
    finding = reading.finding
    if finding is None and reading.kind is Kind.CARD:
        return redirect("bench:scan")
    if finding is None and reading.kind is not None:
        found = tags.find(reading.code, reading.kind)
        if found.body_tag:
            return redirect("bench:instrument", found.body_tag)
        finding = found.finding
    return render(request, "bench/scan.html", {"finding": finding, "text": code}, status=404)


def _remember(request: HttpRequest, code: str, now: State) -> None:
    seen = request.session.get("seen_tags", [])
    if seen[:1] != [[code, now.serial]]:
        rest = [one for one in seen if one[0] != code]
        request.session["seen_tags"] = [[code, now.serial], *rest][:LAST_TAGS]


def page(request: BadgeRequest, code: str, now: State) -> dict[str, Any]:
    """What the instrument page and its partials show."""
    at = timezone.localtime()
    neck = _neck_asked(request)
    work = board.work(now, request.session.get("station", ""), request.user.code, at, neck)
    return {
        "code": code,
        "here": reverse("bench:instrument", args=[code]),
        "now": now,
        "spec": now.sheet.spec,
        "work": work,
        "measured_wrong": board.measured_wrong(now, work),
        "neck": neck,
        "at": at,
        "key": uuid.uuid4(),
        "reasons": REASONS,
        "may_record": may(request.user, "step.record"),
        "may_check": may(request.user, "tray.check"),
        "progress": drawings.progress(now, work),
    }


def _with_key(shown: dict[str, Any]) -> dict[str, Any]:
    """The scanner's form carries the key of the act it will be."""
    return shown | {"key_field": {"key": shown["key"]}}


def _after(request: HttpRequest) -> dict[str, Any] | None:
    """The answer to the act this page is shown after, where the phone has no script."""
    try:
        return board.answered(uuid.UUID(request.GET.get("after", "")))
    except ValueError:
        return None  # no act, or not one of ours: the page stands without it


def _neck_asked(request: HttpRequest) -> str:
    text = request.POST.get("neck") or request.GET.get("neck") or ""
    return reading_of(request, text).code if text else ""


@never_cache
@require_http_methods(["GET", "POST"])
@needs("tray.check")
def tray(request: BadgeRequest, code: str) -> HttpResponse:
    """Scan the tray beside the body: whose is it, and does it fit?"""
    now = ground(code)
    text = request.POST.get("code") or request.GET.get("code") or ""
    if not text or "key" not in request.POST:  # a code out of a photo is sent on by a tap
        return render(
            request, "bench/tray.html", _with_key(page(request, code, now)) | {"asked": text}
        )
    reading = reading_of(request, text)
    if reading.finding is not None:
        return stopped(request, code, now, (reading.finding,), "bench:tray")
    act = Act.of(request, timezone.localtime())
    outcome = record(act, TrayChecked(now.id, reading.code))
    return _after_scan(request, code, outcome, "bench:tray")


@never_cache
@require_http_methods(["GET", "POST"])
@needs("step.record")
def neck(request: BadgeRequest, code: str) -> HttpResponse:
    """Scan the neck that is to be paired with this body."""
    now = ground(code)
    text = request.POST.get("code") or request.GET.get("code") or ""
    shown = page(request, code, now)
    if not text:
        return render(request, "bench/neck.html", _with_key(shown))
    reading = reading_of(request, text)
    findings = (reading.finding,) if reading.finding else board.neck_fits(now, reading.code)
    if not findings:
        return redirect(f"{shown['here']}?neck={reading.code}")
    pairing = now.sheet.pairing
    if "key" in request.POST and reading.code and pairing:
        # The wrong attempt itself goes into the journal; the gates refuse it there again.
        attempt = StepDone(now.id, pairing.code, reading.code)
        record(Act.of(request, timezone.localtime()), attempt)
    return stopped(request, code, now, findings, "bench:neck")


@require_POST
@needs("step.record")
def record_step(request: BadgeRequest, code: str) -> HttpResponse:
    """Record the operation. The answer is the same page, one step further."""
    number = board.number_of(code)
    if number is None:
        raise Http404
    act = Act.of(request, timezone.localtime())
    neck_code = _neck_asked(request)
    outcome = record(act, StepDone(number, request.POST.get("operation", ""), neck_code))
    if not request.htmx:
        return redirect(f"/{code}?after={act.key}")
    shown = page(request, code, outcome.after or ground(code)) | {"outcome": outcome}
    return render(request, "bench/_work.html", shown)


@require_POST
@needs("help.call")
def call(request: BadgeRequest, code: str) -> HttpResponse:
    """Call the clerk or the lead to this bench."""
    now = ground(code)
    whom, words = request.POST.get("whom", ""), request.POST.get("words", "")
    outcome = record(Act.of(request, timezone.localtime()), CallMade(now.id, whom, words))
    shown = {"code": code, "now": now, "whom": whom, "outcome": outcome}
    return render(request, "bench/called.html", shown)


@never_cache
@require_safe
@needs("tag.scan")
def route(request: BadgeRequest, code: str) -> HttpResponse:
    """The fingerboard spelled out: every operation, who did it and when."""
    now = ground(code)
    done = {one.operation: one for one in now.done}
    rows = [(stop, done.get(stop.code)) for stop in now.sheet.stops]
    shown = {
        "code": code,
        "now": now,
        "rows": rows,
        "journal": board.journal(now.id, NEWEST),
        "photos": board.photos(now.id),
    }
    return render(request, "bench/route.html", shown)


def _after_scan(request: BadgeRequest, code: str, outcome: Outcome, back: str) -> HttpResponse:
    now = ground(code)
    if any_stop(outcome.findings):
        return stopped(request, code, now, outcome.findings, back)
    shown = page(request, code, now) | {"checked": outcome}
    return render(request, "bench/checked.html", shown)


def stopped(
    request: BadgeRequest,
    code: str,
    now: State,
    findings: tuple[Finding, ...],
    back: str,
    again: str = "Scan again",
) -> HttpResponse:
    """A stop fills the screen: what is so, what to do, whom to call, and the way back."""
    first = findings[0]
    shown = {
        "code": code,
        "now": now,
        "first": first,
        "rest": findings[1:],
        "key": uuid.uuid4(),
        "back": back,
        "again": again,
        "words": f"{first.words} {first.then}"[:300],
    }
    return render(request, "bench/stop.html", shown)
