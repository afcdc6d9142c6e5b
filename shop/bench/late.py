"""Recording what was done before: each operation in its order, with when and why so late."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import Final

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from shop.bench import views
from shop.catalogue.book import StopSheet
from shop.craft.finding import Finding, warn
from shop.craft.start import Asking
from shop.craft.when import in_utc, span_words, when_words
from shop.floor import board
from shop.floor.board import State
from shop.floor.door import Act, StepDone, record
from shop.people.gate import BadgeRequest, needs

REASONS: Final = ("The network was down", "I forgot to scan", "The phone was flat")
AGO: Final = tuple(timedelta(minutes=one) for one in (15, 30, 60, 120, 240))
YESTERDAY: Final = (time(15), time(10))


@dataclass(frozen=True, slots=True)
class Moment:
    """A moment to tap: as the form carries it, on the clock, and in words."""

    value: str
    clock: str
    words: str


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked about: one operation that was done earlier (``operation``), all that comes
    before one (``before``), or all between where the guitar should be and where it is."""

    operation: str = ""
    before: str = ""

    @classmethod
    def of(cls, request: BadgeRequest) -> Asked:
        sent = request.POST if request.method == "POST" else request.GET
        return cls(sent.get("only", ""), sent.get("before", ""))

    def stops(self, now: State, station: str) -> tuple[StopSheet, ...]:
        """The operations to ask about, the first one first."""
        if self.operation:
            one = now.sheet.stop(self.operation)
            return (one,) if one and one.code not in now.done_codes else ()
        if self.before:
            return board.skipped(now, self.before)
        return board.gap(now, station)

    @property
    def query(self) -> str:
        """What the address carries along."""
        if self.operation:
            return f"?only={self.operation}"
        return f"?before={self.before}" if self.before else ""


@never_cache
@require_http_methods(["GET", "POST"])
@needs("step.record", "step.learn")
def late(request: BadgeRequest, code: str) -> HttpResponse:
    """Was it done? Not done leads back; done takes about when, and why it comes late."""
    now = views.ground(code)
    asked = Asked.of(request)
    if request.method == "GET":
        return _page(request, code, now, asked)
    at = timezone.localtime()
    moment = _said(request)
    if moment is None:
        words = f"Nobody has said yet when {request.POST.get('operation', '')[:8]} was done."
        told = warn("late", words, "Tap when it was, about.")
        return _page(request, code, now, asked, (told,))
    act = Act.of(request, at)
    outcome = record(act, StepDone(now.id, request.POST.get("operation", ""), done_at=moment))
    if not outcome.done:
        return _page(request, code, now, asked, outcome.findings)
    if asked.stops(views.ground(code), act.station):
        return redirect(f"{reverse('bench:late', args=[code])}{asked.query}")
    return redirect(f"/{code}?after={act.key}")


def _page(
    request: BadgeRequest,
    code: str,
    now: State,
    asked: Asked,
    told: tuple[Finding, ...] = (),
) -> HttpResponse:
    """The first operation that is asked about, with what was sent and could not be taken."""
    asking = board.asking(request, timezone.localtime())
    stops = asked.stops(now, asking.station)
    if not stops:
        return redirect("bench:instrument", code)
    first = stops[0]
    shown = views.page(request, code, now) | {
        "here": f"{reverse('bench:late', args=[code])}{asked.query}",
        "asked": asked,
        "stop": first,
        "stops": stops,
        "elsewhere": first.station_code != asking.station,
        "held": board.against_late(now, first.code, asking),
        "told": told,
        "moments": moments(now, first.code, asking),
        "when": request.POST.get("when", ""),
        "time": request.POST.get("time", ""),
        "why": REASONS,
        "reason": request.POST.get("reason", ""),
    }
    return render(request, "bench/late.html", shown, status=422 if told else 200)


def moments(now: State, operation: str, asking: Asking) -> list[Moment]:
    """About when it was, to tap: no moment before what comes right before it counts as done."""
    at = asking.at
    ago = [(in_utc(at - one).replace(second=0, microsecond=0), one) for one in AGO]
    found = [(moment, f"{span_words(one)} ago") for moment, one in ago]
    yesterday = (in_utc(at) - timedelta(days=1)).astimezone(at.tzinfo).date()
    for clock in YESTERDAY:
        moment = timezone.make_aware(datetime.combine(yesterday, clock))
        found.append((in_utc(moment), "yesterday"))
    earliest = board.done_before(now, operation)
    fits = [one for one in found if earliest is None or one[0] >= earliest]
    return [
        Moment(moment.isoformat(), when_words(moment, at), words)
        for moment, words in ((in_utc(at), "by now, not sure when"), *fits)
    ]


def _said(request: BadgeRequest) -> datetime | None:
    """The moment that was tapped, or the one that was entered in its place."""
    text = request.POST.get("time", "").strip() or request.POST.get("when", "")
    try:
        moment = parse_datetime(text)
    except ValueError:
        return None  # 31 February
    if moment is None or timezone.is_aware(moment):
        return moment
    return timezone.make_aware(moment)
