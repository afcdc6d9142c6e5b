"""What waits for the lead, and all that a lead can settle about one instrument."""

from __future__ import annotations

import uuid
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any, Final

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from shop.craft.when import in_utc, span_words, when_words
from shop.craft.words import several
from shop.desk.matters import MATTERS, offered
from shop.floor import board
from shop.floor.board import State
from shop.floor.door import Act, Outcome, record
from shop.people.gate import BadgeRequest, needs

CLAIMS_SHOWN: Final = timedelta(days=14)
LONG: Final = timedelta(hours=48)  # from here on an age is told in days
# What has a place of its own beside what waits, and needs none in the list of what can be done.
WITH_WHAT_WAITS: Final = frozenset({"free", "confirm", "neck"})


def age_words(since: datetime, at: datetime) -> str:
    """How long ago: in hours and minutes, in days from two days on."""
    span = max(in_utc(at) - in_utc(since), timedelta())
    return several(span.days, "day") if span >= LONG else span_words(span)


@never_cache
@require_safe
@needs("instrument.settle")
def settle(request: BadgeRequest) -> HttpResponse:
    """Everything that waits for the lead, what stands still first."""
    at = timezone.localtime()
    steps = board.open_steps()
    lists: dict[str, list[Any]] = {
        "frozen": board.frozen_list(),
        "cuts": [one for one in steps if one.unsure],
        "doubts": board.doubts(),
        "neckless": board.neckless(),
        "reworks": board.reworks_open(),
        "steps": [one for one in steps if not one.unsure],
    }
    shown: dict[str, Any] = {
        name: [_since(one, at) for one in rows] for name, rows in lists.items()
    }
    shown["lost"] = board.lost_parts(at)
    claims, more = board.claims(at - CLAIMS_SHOWN)
    shown["claims"] = [_since(one, at) for one in claims]
    shown["claims_more"], shown["claims_all"] = more, len(claims) + more
    shown["count"] = len(shown["lost"]) + sum(
        len(rows) for name, rows in lists.items() if name != "steps"
    )
    return render(request, "desk/settle.html", shown)


def _since(row: Any, at: datetime) -> dict[str, Any]:
    """A row with its moment and age in words."""
    if row.since is None:
        return {"row": row, "since": "", "age": ""}
    return {"row": row, "since": when_words(row.since, at), "age": age_words(row.since, at)}


@never_cache
@require_safe
@needs("instrument.settle")
def one(request: BadgeRequest, serial: str) -> HttpResponse:
    """One instrument: what of it waits for the lead, and what else can be settled."""
    at = timezone.localtime()
    now = _found(serial)
    open_for = offered(now)
    loop = next((it for it in board.reworks_open() if it.serial == serial), None)
    shown = {
        "now": now,
        "tag": board.tags_of([serial])[serial].get("body", ""),
        "doubts": board.doubtful(now.id) if "confirm" in open_for else [],
        "frozen": _since(now.frozen, at) if now.frozen else None,
        "open": _since(now.open, at) if now.open else None,
        "loop": _since(loop, at) if loop else None,
        "neckless": "neck" in open_for,
        "waits": board.waiting_of(now, at),
        "matters": {name: it.title for name, it in open_for.items() if name not in WITH_WHAT_WAITS},
    }
    return render(request, "desk/settle_one.html", shown)


@never_cache
@require_http_methods(["GET", "POST"])
@needs("instrument.settle")
def matter(request: BadgeRequest, serial: str, name: str) -> HttpResponse:
    """One matter of one instrument: why, and one button. What cannot be undone is asked once
    more, with what will happen."""
    at = timezone.localtime()
    now, kind = _found(serial), MATTERS.get(name)
    if kind is None:
        raise Http404
    if request.method == "POST" and done_before(request, at):
        return redirect("desk:settle-one", serial)
    if not kind.open_for(now):
        messages.error(request, f"{serial}: nothing to do under “{kind.title}” any more.")
        return redirect("desk:settle-one", serial)
    form = kind(now, at, request.POST or None, initial={"row": request.GET.get("row", "")})
    shown: dict[str, Any] = {"now": now, "form": form, "key": uuid.uuid4()}
    if request.method == "POST" and form.is_valid():
        if form.for_good and "sure" not in request.POST:
            return render(request, "desk/matter_sure.html", shown | {"sent": _sent(request)})
        said = form.said()  # while what it speaks of still stands
        outcome = record(replace(Act.of(request, at), reason=form.reason), form.deed())
        if outcome.done:
            messages.success(request, " ".join([said, *_left_to_do(outcome)]))
            return redirect("desk:settle-one", serial)
        shown["findings"] = outcome.findings
    return render(request, "desk/matter.html", shown)


def _found(serial: str) -> State:
    now = board.by_serial(serial)
    if now is None:
        raise Http404
    return now


def _left_to_do(outcome: Outcome) -> list[str]:
    """What is still to be done by hand."""
    return [f"{it.words} {it.then}".strip() for it in outcome.findings]


def _sent(request: BadgeRequest) -> list[tuple[str, str]]:
    """What the form said, to be said again by the page that asks once more."""
    kept = {"csrfmiddlewaretoken", "key", "clock"}
    return [
        (name, value)
        for name in request.POST
        if name not in kept
        for value in request.POST.getlist(name)
    ]


def done_before(request: BadgeRequest, at: datetime) -> bool:
    """Whether this very form was sent before and did its work, as on a second tap."""
    sent = board.answered(Act.of(request, at).key)
    return sent is not None and sent["result"] == "recorded"
