"""The step that is open: begun, joined, handed on, taken over, left, looked at after a cut."""

from __future__ import annotations

from typing import Any, Final

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from shop.bench import views
from shop.craft.finding import Finding
from shop.floor.board import State
from shop.floor.door import (
    Act,
    CutSeen,
    StepHanded,
    StepJoined,
    StepLeft,
    StepStarted,
    StepTaken,
    record,
)
from shop.people import badges
from shop.people.gate import BadgeRequest, needs

NOTES: Final = ("My shift ends", "Half done", "Waits for a part", "Waits for the lead")
BY_MISTAKE: Final = ("Wrong guitar", "Wrong operation", "Tapped by accident")
# How a cut may stand: what is answered, what it is called, what follows.
CUTS: Final = (
    ("whole", "The cut is whole", "Go on and record it."),
    ("again", "It must be cut again", "It stays open until it is cut and recorded."),
    ("spoilt", "It is spoilt", "Nothing more is done on it until the lead has looked."),
)


@require_POST
@needs("step.record", "step.learn")
def start(request: BadgeRequest, code: str) -> HttpResponse:
    """Begin the operation: from now on it is in your hands."""
    deed = StepStarted(views.number_of(code), request.POST.get("operation", ""))
    return views.answered(request, code, Act.of(request, timezone.localtime()), deed)


@require_POST
@needs("step.record", "step.learn")
def join(request: BadgeRequest, code: str) -> HttpResponse:
    """Help with what another has open."""
    deed = StepJoined(views.number_of(code))
    return views.answered(request, code, Act.of(request, timezone.localtime()), deed)


@require_POST
@needs("step.record", "step.learn")
def take(request: BadgeRequest, code: str) -> HttpResponse:
    """Take a parked step over."""
    deed = StepTaken(views.number_of(code))
    return views.answered(request, code, Act.of(request, timezone.localtime()), deed)


@never_cache
@require_http_methods(["GET", "POST"])
@needs("step.hand")
def hand(request: BadgeRequest, code: str) -> HttpResponse:
    """Hand the open step to a badge, or park it."""
    now = views.ground(code)
    if now.open is None:
        return redirect("bench:instrument", code)
    if request.method == "GET":
        return _hand(request, code, now)
    note = request.POST.get("words", "").strip() or request.POST.get("note", "")
    act = Act.of(request, timezone.localtime())
    outcome = record(act, StepHanded(now.id, request.POST.get("to", ""), note))
    if not outcome.done:
        return _hand(request, code, now, outcome.findings)
    return redirect(f"/{code}?after={act.key}")


def _hand(
    request: BadgeRequest, code: str, now: State, told: tuple[Finding, ...] = ()
) -> HttpResponse:
    """Who may take it: those of its own station first, the others behind a fold."""
    shown = views.page(request, code, now)
    opened = shown["offers"].opened
    home = opened.stop.station_code if opened.stop else ""
    holder = "" if opened.step.parked else opened.step.by
    on_the_floor = [one for one in badges.on_the_floor("step.record") if one["code"] != holder]
    more: dict[str, Any] = {
        "told": told,
        "notes": NOTES,
        "note": request.POST.get("note", ""),
        "words": request.POST.get("words", ""),
        "near": [one for one in on_the_floor if one["home"] == home],
        "others": [one for one in on_the_floor if one["home"] != home],
    }
    return render(request, "bench/hand.html", shown | more, status=422 if told else 200)


@never_cache
@require_http_methods(["GET", "POST"])
@needs("step.record", "step.learn")
def left(request: BadgeRequest, code: str) -> HttpResponse:
    """The step was begun by mistake: say how, and it is open no more."""
    now = views.ground(code)
    if now.open is None:
        return redirect("bench:instrument", code)
    told: tuple[Finding, ...] = ()
    if request.method == "POST":
        act = Act.of(request, timezone.localtime())
        outcome = record(act, StepLeft(now.id))
        if outcome.done:
            return redirect(f"/{code}?after={act.key}")
        told = outcome.findings
    shown = views.page(request, code, now) | {"told": told, "why": BY_MISTAKE}
    return render(request, "bench/left.html", shown, status=422 if told else 200)


@never_cache
@require_http_methods(["GET", "POST"])
@needs("step.record", "step.learn")
def cut(request: BadgeRequest, code: str) -> HttpResponse:
    """The power went while it was cut: look at it, and say how it stands."""
    now = views.ground(code)
    if now.open is None or not now.open.unsure:
        return redirect("bench:instrument", code)
    told: tuple[Finding, ...] = ()
    if request.method == "POST":
        act = Act.of(request, timezone.localtime())
        outcome = record(act, CutSeen(now.id, request.POST.get("answer", "")))
        if outcome.done:
            return redirect(f"/{code}?after={act.key}")
        told = outcome.findings
    shown = views.page(request, code, now) | {"told": told, "cuts": CUTS}
    return render(request, "bench/cut.html", shown, status=422 if told else 200)
