"""The subjects of setting an instrument up, and what their pages have in common."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from shop.bench import views
from shop.craft import formulas
from shop.craft.formula import Formula
from shop.floor import board
from shop.floor.board import State
from shop.people.gate import BadgeRequest, needs


@dataclass(frozen=True, slots=True)
class Topic:
    """One subject: its address, its name, what it answers, the keys of its formulas."""

    key: str
    title: str
    words: str
    formulas: tuple[str, ...] = ()


TOPICS: Final[tuple[Topic, ...]] = (
    Topic(
        "bridge",
        "Place of the bridge",
        "Where the saddle stands, and whether the slot may be cut",
        ("bridge-place", "saddle-cents", "fret-place"),
    ),
    Topic(
        "frets",
        "Levelling the frets",
        "Which frets to seat, what comes off the others, and how they stand after",
        ("fret-target", "fret-fall-off", "fret-removal", "fret-remaining", "fret-rise"),
    ),
    Topic(
        "neck",
        "Neck: relief and angle",
        "The next turn of the rod, and whether the neck is set again",
        ("relief-between", "neck-angle", "reset-wedge", "wedge-at-board", "scale-shortening"),
    ),
    Topic(
        "nut",
        "Nut",
        "Where its slots go, which file cuts them, and how deep",
        ("nut-gap", "octave-lift", "slot-floor", "pressed-gap", "saddle-from-readings"),
    ),
    Topic(
        "saddle",
        "Action and saddle",
        "What comes off the saddle, and what is left of it",
        ("saddle-change", "fret-place", "reset-wedge"),
    ),
    Topic(
        "octave",
        "Intonation",
        "How far each string's point on the saddle moves",
        ("cents", "saddle-move", "note-frequency"),
    ),
    Topic(
        "buzz",
        "Buzz",
        "Which note reaches which fret, and what would mend it",
        ("fret-clearance", "pluck-envelope", "neck-curve", "saddle-from-action"),
    ),
    Topic(
        "strings",
        "Tension of the strings",
        "How hard they pull, and what the top bears",
        ("string-tension", "plain-weight", "string-tension-lb"),
    ),
)
"""In the order of the work."""


def find(key: str) -> Topic:
    """The subject of an address; a mistake in it is one of ours."""
    return next(one for one in TOPICS if one.key == key)


def ground(request: HttpRequest, code: str) -> State:
    """The instrument, with the readings that whoever asks may see: the second look is taken
    with fresh eyes, so until it has values of its own, the first look's are not there."""
    now = views.ground(code)
    return board.with_fresh_eyes(now, board.asking(request, timezone.localtime()))


def page(request: BadgeRequest, code: str, now: State, key: str) -> dict[str, Any]:
    """What every subject's page shows: whose it is, its formulas, the way back."""
    topic = find(key)
    return {
        "code": code,
        "here": reverse("bench:instrument", args=[code]),
        "there": reverse("bench:set-up", args=[code]),
        "now": now,
        "spec": now.sheet.spec,
        "topic": topic,
        "formulas": tuple(_formula(one) for one in topic.formulas),
    }


def _formula(key: str) -> Formula[Any]:
    found = formulas.find(key)
    if found is None:
        raise LookupError(f"{key!r} is no formula")
    return found


@never_cache
@require_safe
@needs("tag.scan")
def topics(request: BadgeRequest, code: str) -> HttpResponse:
    """The subjects, each with what it answers."""
    now = ground(request, code)
    shown = {"code": code, "now": now, "spec": now.sheet.spec, "topics": TOPICS}
    return render(request, "bench/set_up/topics.html", shown)
