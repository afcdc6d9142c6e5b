"""What happened to an instrument, told by taps: a fall, its strings, its case, its repair."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from shop.bench.views import ground, stopped
from shop.catalogue import book
from shop.craft.clocks import What
from shop.craft.clocks.holding import CHECK
from shop.craft.clocks.spans import AWAY, GLANCE
from shop.craft.finding import Finding, any_stop, warn
from shop.craft.gauging.entering import whole
from shop.craft.start import may_start
from shop.craft.when import in_utc, span_words, when_words
from shop.craft.words import THIN, listed
from shop.floor import board
from shop.floor.board import State
from shop.floor.door import (
    Act,
    CaseOpened,
    CaseShut,
    Dropped,
    Happened,
    Outcome,
    RepairDone,
    record,
)
from shop.people.gate import BadgeRequest, may, needs

WHY_OUT: Final = (
    "Opened by mistake",
    "The lead asked to see it",
    "Looked for a noise or a smell",
    "Its case was changed",
)
WHY_SHUT: Final = ("Done in its open case", "Taken out, and nobody noted it")
OUT_MIN: Final = (15, 30, 40, 60, 90, 120)  # out for so long, as it is guessed
LONG_OUT_H: Final = (3, 4, 8, 12, 24, 48)


cost, days_words = board.loop_cost, board.hold_words


# --- what happened ---


@dataclass(frozen=True, slots=True)
class Event:
    """Something one may tell with two taps: what it is called, what of, what it does, and
    what is recorded."""

    words: str
    more: str
    does: Callable[[State, datetime], tuple[str, ...]]
    deed: Callable[[int], Dropped | Happened]
    cased_only: bool = True


def _falls(now: State, at: datetime) -> tuple[str, ...]:
    loop = book.loop(What.DROPPED)
    if loop is None:
        words = "Work on it stops until the lead has looked."
        return (words, *board.again_if(now, What.DROPPED, at))
    return cost(now, loop)


def _begins_again(now: State, at: datetime) -> tuple[str, ...]:
    words = f"The {days_words(now)} in the case begin again."
    return (words, *board.again_if(now, What.RESTRUNG, at))


def _checked(now: State, at: datetime) -> tuple[str, ...]:
    ready = when_words(in_utc(at) + CHECK, at)
    words = f"A last check of {span_words(CHECK)}: not ready before {ready}."
    return (words, *board.again_if(now, What.TRIMMED, at))


def _nothing(now: State, at: datetime) -> tuple[str, ...]:
    return ("The days in the case go on.",)


def _noted(what: What) -> Callable[[int], Happened]:
    return lambda number: Happened(number, what.value)


EVENTS: Final[dict[str, Event]] = {
    "dropped": Event(
        "It was dropped", "Or something fell on it.", _falls, Dropped, cased_only=False
    ),
    "restrung": Event(
        "Strings replaced or slack",
        f"All of them; or slack for more than 30{THIN}min.",
        _begins_again,
        _noted(What.RESTRUNG),
    ),
    "string": Event("One string replaced", "", _checked, _noted(What.STRING)),
    "trimmed": Event(
        "Saddle lowered or rod turned",
        "The rod by a quarter turn at most.",
        _checked,
        _noted(What.TRIMMED),
    ),
    "rack": Event(
        "Moved to another rack", "In its case, the lid shut.", _nothing, _noted(What.RACK)
    ),
}
"""What may be told, by its name in an address."""


@never_cache
@require_http_methods(["GET", "POST"])
@needs("event.report")
def happened(request: BadgeRequest, code: str) -> HttpResponse:
    """What happened? One tap says it, a second one records it."""
    now, at = ground(code), timezone.localtime()
    asking = board.asking(request, at)
    what = request.POST.get("what") or request.GET.get("what") or ""
    event = EVENTS.get(what)
    if request.method == "POST" and event is not None:
        act = Act.of(request, at)
        return answer(request, code, now, act, record(act, event.deed(now.id)))
    shown = page(code, now, asking, "bench:happened")
    if event is not None and not (event.cased_only and now.cased_at is None):
        more = {"event": event, "what": what, "does": event.does(now, at)}
        return render(request, "bench/happened.html", shown | more)
    told = {name: one for name, one in EVENTS.items() if now.cased_at or not one.cased_only}
    held = board.hold(now, at)
    more = {
        "events": told,
        "may_report": may(request.user, "defect.report"),
        "out": held is not None and held.out_since is not None,
    }
    return render(request, "bench/happened.html", shown | more)


# --- the case ---


@never_cache
@require_http_methods(["GET", "POST"])
@needs("event.report")
def case(request: BadgeRequest, code: str) -> HttpResponse:
    """Out of its case, back in it, or out for a while that nobody noted."""
    now, at = ground(code), timezone.localtime()
    if request.method == "POST":
        return _case_told(request, code, now, at)
    return _case_shown(request, code, now, at)


def _case_told(request: BadgeRequest, code: str, now: State, at: datetime) -> HttpResponse:
    act, do = Act.of(request, at), request.POST.get("do", "")
    if do in {"out", "touch-up"}:
        opened = CaseOpened(now.id, touch_up=do == "touch-up")
        return answer(request, code, now, act, record(act, opened))
    if do == "back":
        outcome = record(act, CaseShut(now.id))
    elif minutes := _guessed(request.POST.get("out", "")):
        # What is guessed is told back from now. Sent again it is told from a later moment, and
        # is the same act all the same: so each guess has a key of its own, and an answer.
        act = act.also(minutes)
        outcome = record(act, CaseShut(now.id, at - timedelta(minutes=minutes)))
        if any(one.rule == "key" for one in outcome.findings):
            return redirect(f"/{code}?after={act.key}")
    else:
        return redirect(f"{reverse('bench:case', args=[code])}?was=out")
    if outcome.done or any_stop(outcome.findings):
        return answer(request, code, now, act, outcome, "bench:case")
    return _case_shown(request, code, now, at, outcome.findings)


def _guessed(text: str) -> int:
    """The minutes that were tapped; 0 for none of those on the page."""
    known = (*OUT_MIN, *(60 * hours for hours in LONG_OUT_H))
    return next((one for one in known if str(one) == text), 0)


def _case_shown(
    request: BadgeRequest,
    code: str,
    now: State,
    at: datetime,
    told: tuple[Finding, ...] = (),
) -> HttpResponse:
    held, sent = board.hold(now, at), request.POST.get("out", "")
    shown = page(code, now, board.asking(request, at), "bench:case") | {
        "held": held,
        "told": told,
        "reasons": WHY_OUT,
        "reason": request.POST.get("reason", ""),
        "out": sent,
        "days": days_words(now),
    }
    if held and held.out_since:
        long = in_utc(at) - in_utc(held.out_since)
        why = bool(told) or (long >= GLANCE and not held.touch_up)
        shown |= {"out_for": span_words(long), "why": why}
    elif held and ("was" in request.GET or told):
        assert now.cased_at is not None  # its hold has begun
        cased = in_utc(at) - in_utc(now.cased_at)
        shown |= {
            "guesses": _guesses(timedelta(0), AWAY, cased),
            "long_guesses": (longer := _guesses(AWAY, cased, cased)),
            "long": any(str(minutes) == sent for minutes, _ in longer),
            "cased_words": when_words(now.cased_at, at),
            "was_out": True,
            "again": _again_if_out(now, at, cased),
        }
    elif held:
        loop = book.loop(now.rework.loop) if now.rework else None
        shown["touch_up"] = loop is not None and loop.keeps_hold
    status = 422 if told else 200
    return render(request, "bench/case.html", shown, status=status)


def _again_if_out(now: State, at: datetime, cased: timedelta) -> tuple[str, ...]:
    """From which of the guesses on its look is taken again, and what else; a sentence each."""
    told: tuple[str, ...] = ()
    for minutes, words in reversed(_guesses(timedelta(0), cased, cased)):
        again = board.again_if_out(now, at - timedelta(minutes=minutes), at)
        if not again:  # nor for any that is shorter
            break
        told = (f"Out of its case for {words} or more:", *again)
    return told


def _guesses(more: timedelta, most: timedelta, cased: timedelta) -> list[tuple[int, str]]:
    """What may be guessed between two limits, no more than it was in its case at all."""
    known = [timedelta(minutes=one) for one in OUT_MIN]
    known += [timedelta(hours=one) for one in LONG_OUT_H]
    return [
        (int(one / timedelta(minutes=1)), _said(one))
        for one in known
        if more < one <= min(most, cased)
    ]


def _said(span: timedelta) -> str:
    """As it is guessed: by minutes up to an hour and a half."""
    minutes = int(span / timedelta(minutes=1))
    return f"{minutes}{THIN}min" if minutes < OUT_MIN[-1] else f"{minutes // 60}{THIN}h"


# --- the repair ---


@never_cache
@require_http_methods(["GET", "POST"])
@needs("step.record", "step.learn")
def repair(request: BadgeRequest, code: str) -> HttpResponse:
    """What is to be repaired, and that it is. Who could still take the second look is told
    what the first one found only once they say that they repair it."""
    now, at = ground(code), timezone.localtime()
    asking = board.asking(request, at)
    told: tuple[Finding, ...] = ()
    if request.method == "POST":
        act = Act.of(request, at)
        took = request.POST.get("minutes", "").strip()
        minutes = whole(took) if took else 0
        if minutes is None:
            words = f"{took[:9]} is no whole number of minutes."
            told = (warn("minutes", words, "Enter the minutes again, or leave them out."),)
        else:
            outcome = record(act, RepairDone(now.id, minutes))
            if outcome.done or any_stop(outcome.findings):
                return answer(request, code, now, act, outcome, "bench:repair")
            told = outcome.findings
    elif now.frozen:
        found = may_start(now.stands(at), "", asking)
        frozen = tuple(one for one in found if one.rule == "frozen")
        return stopped(request, code, now, frozen, "bench:route", "What is done")
    pending, held = board.to_repair(now.id), board.hold(now, at)
    mine = request.method == "POST" or "mine" in request.GET
    shown = page(code, now, asking, "bench:repair") | {
        "pending": pending,
        "kept": not mine and board.loop_is_kept(now, asking),
        "where": listed([*dict.fromkeys(one["station"] for one in pending)]) if pending else "",
        "repairs_here": any(one["station_code"] == asking.station for one in pending),
        "in_case": held is not None and not held.passed and held.out_since is None,
        "caution": book.caution(pending[0]["station_code"]) if pending else "",
        "wants_beside": asking.who.learns and asking.signer is None,
        "again": now.rework.redo if now.rework else (),
        "told": told,
        "minutes": request.POST.get("minutes", ""),
        "reason": request.POST.get("reason", ""),
        "reasons": WHY_SHUT,
    }
    return render(request, "bench/repair.html", shown, status=422 if told else 200)


# --- around every page of them ---


def page(code: str, now: State, asking: board.Asking, name: str) -> dict[str, Any]:
    """What each of these pages shows, and the key its one act will have."""
    return {
        "code": code,
        "here": reverse(name, args=[code]),
        "now": now,
        "spec": now.sheet.spec,
        "beside": asking.beside.code if asking.beside else "",
        "key": uuid.uuid4(),
    }


def answer(
    request: BadgeRequest,
    code: str,
    now: State,
    act: Act,
    outcome: Outcome,
    back: str = "bench:happened",
) -> HttpResponse:
    """The instrument as it stands after what was told, or the stop that says why not."""
    if outcome.done:
        return redirect(f"/{code}?after={act.key}")
    return stopped(request, code, now, outcome.findings, back, "Choose again")
