"""Release: all that still stands against it on one page, and one act that freezes the record."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Final, Literal

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from shop.craft import leaving, looks
from shop.craft.finding import Finding, any_stop, any_warn
from shop.craft.route import OperationFacts, last_of
from shop.craft.start import is_of_the_hold
from shop.craft.when import when_words
from shop.floor import board
from shop.floor.board import State
from shop.floor.door import Act, StepDone, record
from shop.inspection.tagged import tagged
from shop.people.gate import BadgeRequest, needs

Mark = Literal["clear", "stop", "warn", "wait", "note"]

REASONS: Final = (
    "Looked at and measured: it fits",
    "The lead agreed",
)
# What lines of the page say already, and is not said again below them.
SAID: Final = frozenset({"undecided", "rework"})


@dataclass(frozen=True, slots=True)
class Line:
    """One thing that release asks for: what it is, how it stands, and the page that clears it.
    ``way`` is an address, "" where there is none to go to."""

    mark: Mark
    title: str
    words: str
    way: str = ""
    way_words: str = ""


@never_cache
@require_http_methods(["GET", "POST"])
@needs("step.record", "step.learn")
def release(request: BadgeRequest, code: str) -> HttpResponse:
    """What stands against release, and the act."""
    now, at = tagged(code), timezone.localtime()
    asking = board.asking(request, at)
    operation = next_release(now)
    told: tuple[Finding, ...] = ()
    if request.method == "POST" and operation:
        outcome = record(Act.of(request, at), StepDone(now.id, operation))
        if outcome.done:
            return redirect("inspection:release", code)
        told = outcome.findings
    found = told or (board.against(now, operation, asking) if operation else ())
    kept = None if operation else board.as_built(now.id)
    shown = {
        "code": code,
        "here": reverse("inspection:release", args=[code]),
        "now": now,
        "spec": now.sheet.spec,
        "beside": asking.beside.code if asking.beside else "",
        "key": uuid.uuid4(),
        "operation": now.sheet.stop(operation) if operation else None,
        "lines": tuple(_lines(now, code, asking)),
        "rest": tuple(one for one in found if not _is_said(one)),
        "stopped": any_stop(found),
        "warned": any_warn(found),
        "reasons": REASONS,
        "refused": bool(told),
        "wants_beside": any(one.rule in board.SIGNED_BESIDE for one in found),
        "record": kept is not None,
        "boxing": bool(leaving.boxing(now.sheet.route)),
    }
    return render(request, "inspection/release.html", shown, status=422 if told else 200)


def next_release(now: State) -> str:
    """The operation that releases it, where that is still to be done; "" otherwise."""
    codes = leaving.releasing(now.sheet.route)
    return next((one for one in codes if one not in now.done_codes), "")


def _lines(now: State, code: str, asking: board.Asking) -> Iterator[Line]:
    at = asking.at
    yield from _defects(now, code, asking)
    loop = board.loop_untold(now, asking).rework
    if loop is not None:
        mark: Mark = "stop" if loop.stage == "repair" else "wait"
        yield Line(
            mark,
            "Repair",
            loop.words,
            reverse("bench:repair", args=[code]),
            "Go to its repair",
        )
    yield _days(now, at)
    for first, second in looks.pairs(now.sheet.route):
        yield _look(now, first, "First look", at)
        yield _look(now, second, "Second look", at, reverse("inspection:looks", args=[code]))
        for one in (first, second):
            yield from _checklist(now, one)
    yield from _papers(now)


def _is_said(one: Finding) -> bool:
    """Whether a line of the page says it: of the waits only that of the days in the case."""
    return one.rule in SAID or is_of_the_hold(one)


def _defects(now: State, code: str, asking: board.Asking) -> Iterator[Line]:
    """Those that nobody decided, by their words where whoever asks may see them. What is below
    the limit keeps nothing back."""
    rows = board.defects_with_fresh_eyes(board.defects_of(now.id), now, asking)
    words_of = {one.number: one.word for one in rows}
    weighs = [one for one in now.undecided if one.weighs]
    seen = [one for one in weighs or now.undecided if one.number in words_of]
    named = ", ".join(words_of[one.number] for one in seen)
    way = reverse("inspection:defects", args=[code])
    if weighs:
        words = f"Waits for a decision: {named}." if named else "A defect waits for a decision."
        yield Line("stop", "Defects", words, way, "Decide the defect")
    elif named:
        words = f"Below the limit and not decided: {named}. Nothing waits for it."
        yield Line("note", "Defects", words, way, "Decide the defect")
    elif now.undecided:
        yield Line("clear", "Defects", "None keeps it back.")
    else:
        yield Line("clear", "Defects", "None waits for a decision.")


def _days(now: State, at: datetime) -> Line:
    """Also after the second look: what is done to the strings then begins a last check."""
    held = board.hold(now, at)
    if held is None:
        if now.sheet.route.hold is None:
            return Line("clear", "Days in the case", "Its route asks for none.")
        return Line("stop", "Days in the case", "Not cased yet.")
    return Line("clear" if held.passed else "wait", "Days in the case", held.words)


def _look(now: State, one: OperationFacts, title: str, at: datetime, way: str = "") -> Line:
    done = last_of(one.code, now.done)
    if done is None:
        before = last_of(one.code, now.past)
        if before is None:
            return Line("stop", title, f"{one.words} is not recorded yet.")
        when = when_words(before.at, at)
        return Line("stop", title, f"{one.words} was recorded {when} and is to be done again.")
    words = f"{one.words}: {', '.join(done.hands)}, {when_words(done.at, at)}"
    return Line("clear", title, words, way, "Both looks" if way else "")


def _checklist(now: State, one: OperationFacts) -> Iterator[Line]:
    """How far a look's areas are answered, where it asks for them or some are."""
    answered = board.area_looks(now, one.code)
    if answered is None or not (one.checklist or answered.answered):
        return
    whole = answered.next is None
    words = f"{one.code}: {answered.answered} of {len(answered.rows)} areas answered."
    yield Line("clear" if whole else "stop" if one.checklist else "note", "Checklist", words)


def _papers(now: State) -> Iterator[Line]:
    """Papers do not keep back the release but the carton."""
    papers = board.papers(now)
    if not papers:
        yield Line("clear", "Papers", "It needs none where it goes.")
    for one in papers:
        if one.numbers:
            words = f"{one.wood.name}: {', '.join(one.numbers)}"
            yield Line("clear", "Papers", words)
        else:
            words = f"The paper for {one.wood.name} is not noted: its carton is held until it is."
            yield Line("warn", "Papers", words)
