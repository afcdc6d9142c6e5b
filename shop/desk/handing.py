"""The end of a shift and the return of the power: what is open, and in whose hands."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.text import format_lazy
from django.utils.translation import gettext_lazy as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shop.craft.start import OpenStep
from shop.craft.when import in_utc, span_words, when_words
from shop.craft.words import listed, several
from shop.desk.matters.matter import moment, taps
from shop.desk.settling import age_words, done_before
from shop.floor import board
from shop.floor.board import State
from shop.floor.door import Act, PowerCut, StepHanded, record
from shop.people import badges
from shop.people.gate import BadgeRequest, needs

AGO_MIN: Final = (5, 10, 15, 30, 60, 120)
NOW: Final = "0"
AGO: Final = [(str(one), format_lazy(_("{minutes} min ago"), minutes=one)) for one in AGO_MIN]


@dataclass(frozen=True, slots=True)
class InHand:
    """One open step as it is told at the end of a shift."""

    now: State
    step: OpenStep
    name: str
    station: str
    machine: bool
    since: str
    age: str


def _in_hand(at: datetime) -> list[InHand]:
    """Every open step, the one begun first at the head."""
    begun = [(one, one.open) for one in board.all_open() if one.open]
    begun.sort(key=lambda pair: (in_utc(pair[1].since), pair[0].serial))
    return [_told_step(now, step, at) for now, step in begun]


def _told_step(now: State, step: OpenStep, at: datetime) -> InHand:
    sheet = now.sheet.stop(step.operation)
    return InHand(
        now=now,
        step=step,
        name=sheet.facts.name if sheet else "",
        station=sheet.facts.station if sheet else "",
        machine=sheet is not None and sheet.facts.machine,
        since=when_words(step.since, at),
        age=age_words(step.since, at),
    )


@never_cache
@require_safe
@needs("step.hand")
def handover(request: BadgeRequest) -> HttpResponse:
    """Every step that is open at the end of a shift, and who has it."""
    rows = _in_hand(timezone.localtime())
    shown = {"rows": rows, "to_park": sum(not one.step.parked for one in rows), "key": uuid.uuid4()}
    return render(request, "desk/handover.html", shown)


@never_cache
@require_http_methods(["GET", "POST"])
@needs("step.hand")
def hand(request: BadgeRequest, serial: str) -> HttpResponse:
    """One open step goes into other hands with a tap on their badge, or is parked."""
    at = timezone.localtime()
    now = board.by_serial(serial)
    if now is None:
        raise Http404
    if request.method == "POST" and done_before(request, at):
        return redirect("desk:handover")
    if now.open is None:
        messages.error(request, f"{serial} has no step open any more.")
        return redirect("desk:handover")
    shown: dict[str, Any] = {"now": now, "key": uuid.uuid4(), "note": now.open.note}
    if request.method == "POST":
        to, note = (request.POST.get(name, "").strip() for name in ("to", "note"))
        outcome = record(Act.of(request, at), StepHanded(now.id, to, note))
        if outcome.done:
            operation = now.open.operation
            if to:
                messages.success(request, f"{operation} of {serial} is with {to} now.")
            else:
                messages.success(request, f"{operation} of {serial} is parked now.")
            return redirect("desk:handover")
        shown |= {"findings": outcome.findings, "note": note}
    shown |= {"hand": _told_step(now, now.open, at), "people": _people(now, now.open, at)}
    return render(request, "desk/hand.html", shown)


def _people(now: State, step: OpenStep, at: datetime) -> dict[str, list[dict[str, str]]]:
    """Who a step can be handed to: those signed off for its station first."""
    sheet = now.sheet.stop(step.operation)
    station = sheet.station_code if sheet else ""
    here = {
        one.code for one in badges.signed_off() if one.station == station and one.until >= at.date()
    }
    found: dict[str, dict[str, str]] = {}
    for right in ("step.record", "step.learn"):
        found |= {one["code"]: one for one in badges.on_the_floor(right)}
    if not step.parked:
        found.pop(step.by, None)
    people = [found[code] for code in sorted(found)]
    return {
        "here": [one for one in people if one["code"] in here],
        "others": [one for one in people if one["code"] not in here],
    }


@require_POST
@needs("step.hand")
def park_all(request: BadgeRequest) -> HttpResponse:
    """Whatever is in hand is parked, with one note for all."""
    act = Act.of(request, timezone.localtime())
    note = request.POST.get("note", "").strip()
    parked: list[str] = []
    left: list[str] = []
    for one in board.open_steps():
        now = None if one.parked else board.by_serial(one.serial)
        if now is None:
            continue
        # One key for each guitar: sent twice, none is parked a second time.
        outcome = record(act.also(now.id), StepHanded(now.id, "", note))
        (parked if outcome.done else left).append(f"{one.operation} of {one.serial}")
        if not outcome.done:
            for it in outcome.findings:
                messages.error(request, f"{one.serial}: {it.words} {it.then}")
    if parked:
        messages.success(request, f"Parked: {listed(parked)}.")
    elif not left:
        messages.success(request, "Nothing was in hand any more.")
    return redirect("desk:handover")


class PowerForm(forms.Form):
    """When the power went, and when it came back: by taps, or by the clock."""

    went = taps(_("The power went"), AGO, required=False)
    went_at = moment(_("Or it went at"))
    came = taps(_("It came back"), [(NOW, _("just now")), *AGO], required=False)
    came_at = moment(_("Or it came back at"))

    def __init__(self, at: datetime, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.at = at

    def clean(self) -> dict[str, Any]:
        known: dict[str, Any] = super().clean() or {}
        for tap, words in (
            ("went", _("Tap when the power went, or give day and time.")),
            ("came", _("Tap when it came back, or give day and time.")),
        ):
            clock = f"{tap}_at"
            if known.get(tap) and known.get(clock):
                self.add_error(clock, _("Two moments are given. Empty this one, or tap none."))
            elif not known.get(tap) and not known.get(clock) and clock not in self.errors:
                self.add_error(tap, words)
        return known

    def deed(self) -> PowerCut:
        return PowerCut(self._moment("went"), self._moment("came"))

    def _moment(self, tap: str) -> datetime:
        known = self.cleaned_data
        given: datetime | None = known[f"{tap}_at"]
        return given or self.at - timedelta(minutes=int(known[tap]))


@never_cache
@require_http_methods(["GET", "POST"])
@needs("power.cut")
def power(request: BadgeRequest) -> HttpResponse:
    """Note a power cut; below, the last ones and how the cuts in them were found."""
    at = timezone.localtime()
    if request.method == "POST" and done_before(request, at):
        return redirect("desk:power")
    form = PowerForm(at, request.POST or None)
    shown: dict[str, Any] = {"form": form, "key": uuid.uuid4()}
    if request.method == "POST" and form.is_valid():
        outcome = record(Act.of(request, at), form.deed())
        if outcome.done:
            messages.success(request, "The power cut is noted. Every clock ran on through it.")
            return redirect("desk:power")
        shown["findings"] = outcome.findings
    shown |= {"open": _in_hand(at), "cuts": _cuts(at)}
    return render(request, "desk/power.html", shown)


def _cuts(at: datetime) -> list[dict[str, Any]]:
    """The last power cuts in words, each with what was open in it."""
    cuts = board.power_cuts()
    tags = board.tags_of([line.serial for cut in cuts for line in cut.lines])
    return [
        {
            "began": when_words(cut.began, at),
            "ended": when_words(cut.ended, at),
            "took": span_words(in_utc(cut.ended) - in_utc(cut.began)),
            "by": cut.by,
            "unknown": several(cut.unknown, "cut") if cut.unknown else "",
            "lines": [{"line": it, "tag": tags[it.serial].get("body", "")} for it in cut.lines],
        }
        for cut in cuts
    ]
