"""A route: the operations of one spec and what must come before what.

A precedence may carry a wait (glue, oil, strings at pitch, the case hold) and may ask for
another person. Waits are worked out from the stored moment an operation was done, in
elapsed time, and never counted, so a power cut or a change of the clocks moves nothing.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from functools import cached_property
from typing import Literal

from shop.craft.finding import Finding, stop
from shop.craft.when import in_utc, on_the_minute, span_words, when_words
from shop.craft.words import listed

Needs = Literal["tray", "neck", ""]
Glue = Literal["white", "yellow", ""]
Weight = Literal["stop", "warn", ""]  # of a finish that is too young for this operation


@dataclass(frozen=True, slots=True)
class OperationFacts:
    """One operation: where it is done, what must be scanned for it, its touch minutes."""

    code: str
    name: str
    station: str
    needs: Needs
    irreversible: bool
    touch_min: Decimal
    gauges: tuple[str, ...] = ()  # quantities measured here, keys of craft.gauging
    positions: bool = False  # each machine's post is checked and photographed first
    glue: Glue = ""
    finish_age: Weight = ""
    papers: bool = False  # nothing leaves without the papers its woods need

    @property
    def words(self) -> str:
        return f"{self.code} {self.name}"


@dataclass(frozen=True, slots=True)
class Precedence:
    """``after`` may start once ``before`` is done and ``wait`` has passed since.

    With ``other_person``, nobody who did ``before`` may do ``after``.
    """

    before: str
    after: str
    wait: timedelta = timedelta()
    other_person: bool = False


@dataclass(frozen=True)
class Route:
    """Operations in shop order and their precedences."""

    name: str
    operations: tuple[OperationFacts, ...]
    precedences: tuple[Precedence, ...]

    def find(self, code: str) -> OperationFacts | None:
        return self._by_code.get(code)

    def into(self, code: str) -> tuple[Precedence, ...]:
        """The precedences that end at an operation."""
        return self._by_end.get(code, ())

    @cached_property
    def _by_code(self) -> dict[str, OperationFacts]:
        # From the back: of two with one code (a fault of the route) the first one counts.
        return {one.code: one for one in reversed(self.operations)}

    @cached_property
    def _by_end(self) -> dict[str, tuple[Precedence, ...]]:
        ends: dict[str, list[Precedence]] = {}
        for one in self.precedences:
            ends.setdefault(one.after, []).append(one)
        return {code: tuple(found) for code, found in ends.items()}


@dataclass(frozen=True, slots=True)
class Done:
    """An operation recorded on one instrument: by which badge, at what (aware) moment."""

    operation: str
    by: str
    at: datetime


def faults(route: Route) -> list[str]:
    """What is wrong with the route itself, each with what to do; empty for a sound one."""
    circle = _circle(route)
    return [
        *_operation_faults(route),
        *_precedence_faults(route),
        *(
            [f"{' > '.join(circle)} is a circle, none of them could ever start: take one line out."]
            if circle
            else []
        ),
    ]


def next_up(route: Route, done: Collection[Done]) -> tuple[str, ...]:
    """The operations not done whose predecessors all are, in shop order, waits aside."""
    behind = {one.operation for one in done}
    return tuple(
        one.code
        for one in route.operations
        if one.code not in behind and all(step.before in behind for step in route.into(one.code))
    )


def ready_at(route: Route, operation: str, done: Collection[Done]) -> datetime | None:
    """The moment (UTC) from which all that comes before an operation is done and waited out.

    ``None`` when there is no such moment: nothing comes before it, or something is not done.
    An operation done more than once counts from its last time.
    Raises ``ValueError`` for a moment without a time zone.
    """
    moments = [_ready(step, done) for step in route.into(operation)]
    known = [moment for moment in moments if moment is not None]
    return max(known) if known and len(known) == len(moments) else None


def may_start(
    route: Route, operation: str, done: Collection[Done], by: str, now: datetime
) -> tuple[Finding, ...]:
    """Every reason why a person may not do an operation now; nothing when they may.

    An operation off the route, or one already recorded, has that single reason.
    Raises ``ValueError`` for a moment without a time zone.
    """
    in_utc(now)
    facts = route.find(operation)
    if facts is None:
        return (_off_route(route, operation, done),)
    earlier = [one for one in done if one.operation == operation]
    if earlier:
        return (_recorded(route, facts, max(earlier, key=lambda one: in_utc(one.at)), done, now),)
    return (
        *_order(route, facts, done),
        *_wait(route, facts, done, now),
        *_person(route, facts, done, by),
    )


def _off_route(route: Route, operation: str, done: Collection[Done]) -> Finding:
    return stop(
        "route",
        f"{operation} is not on the route {route.name}.",
        _onward(route, done) or "Check the serial, or ask the lead to add it to the route.",
    )


def _recorded(
    route: Route, facts: OperationFacts, last: Done, done: Collection[Done], now: datetime
) -> Finding:
    return stop(
        "done",
        f"{facts.words} was recorded {when_words(last.at, now)} by {last.by}.",
        f"{_onward(route, done)} If it must be done again, the lead opens it.".strip(),
    )


def _order(route: Route, facts: OperationFacts, done: Collection[Done]) -> Iterator[Finding]:
    behind = {one.operation for one in done}
    missing = [step.before for step in route.into(facts.code) if step.before not in behind]
    if missing:
        named = listed([_at_station(route, code) for code in dict.fromkeys(missing)])
        yield stop(
            "order",
            f"{facts.words} comes after {named}, not recorded yet.",
            f"{_onward(route, done)} If the work is really done, the lead records it late.".strip(),
        )


def _wait(
    route: Route, facts: OperationFacts, done: Collection[Done], now: datetime
) -> Iterator[Finding]:
    running = [
        (moment, step)
        for step in route.into(facts.code)
        if (moment := _ready(step, done)) is not None and moment > in_utc(now)
    ]
    if running:
        moment, step = max(running, key=lambda pair: pair[0])
        before = route.find(step.before)
        since = before.words if before else step.before
        ready = when_words(on_the_minute(moment), now)
        yield stop(
            "wait",
            f"Ready {ready}. {span_words(moment - in_utc(now))} left after {since}.",
            f"Take another instrument and come back {ready}.",
        )


def _person(
    route: Route, facts: OperationFacts, done: Collection[Done], by: str
) -> Iterator[Finding]:
    apart = {step.before for step in route.into(facts.code) if step.other_person}
    yours = {one.operation for one in done if one.operation in apart and one.by == by}
    if yours:
        named = listed([one.words for one in route.operations if one.code in yours])
        yield stop(
            "person",
            f"You did {named} on this guitar. {facts.words} needs other eyes.",
            f"Hand it to another person who may do {facts.code}, or ask the lead for one.",
        )


def _ready(step: Precedence, done: Collection[Done]) -> datetime | None:
    moments = [in_utc(one.at) for one in done if one.operation == step.before]
    return max(moments) + step.wait if moments else None


def _at_station(route: Route, code: str) -> str:
    facts = route.find(code)
    return f"{facts.words} ({facts.station})" if facts else code


def _onward(route: Route, done: Collection[Done]) -> str:
    up = next_up(route, done)
    return f"Next up: {listed([_at_station(route, code) for code in up])}." if up else ""


def _operation_faults(route: Route) -> Iterator[str]:
    if not route.operations:
        yield f"Route {route.name} has no operation: add at least one."
    codes = Counter(one.code for one in route.operations)
    tied = {code for step in route.precedences for code in (step.before, step.after)}
    for code, times in codes.items():
        if times > 1:
            yield f"{code} stands {times} times on the route: keep one."
        if len(codes) > 1 and code not in tied:
            yield f"{code} is tied to no other operation: say what comes before or after it."


def _precedence_faults(route: Route) -> Iterator[str]:
    codes = {one.code for one in route.operations}
    pairs = Counter((step.before, step.after) for step in route.precedences)
    for (before, after), times in pairs.items():
        if times > 1:
            yield f"{before} before {after} stands {times} times: keep one, with the longest wait."
        for code in dict.fromkeys((before, after)):
            if code not in codes:
                yield f"{before} before {after}: {code} is not on the route. Add it or drop this."
    for step in route.precedences:
        if step.wait < timedelta():
            yield f"{step.before} before {step.after}: the wait is below 0. Give 0 or more."


def _circle(route: Route) -> list[str]:
    """The codes of one circle of precedences in order, from its least back to it; or none.

    Operations with nothing before them are taken off until none is left to take. What
    remains always has something before it, so walking backwards must come round.
    """
    before: dict[str, set[str]] = {}
    for step in route.precedences:
        before.setdefault(step.after, set()).add(step.before)
        before.setdefault(step.before, set())
    while free := [code for code, earlier in before.items() if not earlier]:
        for code in free:
            del before[code]
        for earlier in before.values():
            earlier.difference_update(free)
    if not before:
        return []
    walked = [min(before)]
    while (back := min(before[walked[-1]])) not in walked:
        walked.append(back)
    circle = walked[walked.index(back) :][::-1]
    first = circle.index(min(circle))
    return [*circle[first:], *circle[: first + 1]]
