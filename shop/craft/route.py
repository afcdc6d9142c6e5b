"""A route: the operations of one spec and what must come before what.

A precedence may carry a wait (glue, oil, strings at pitch, the case hold) and may ask for
another person. Waits are worked out from the stored moment an operation was done, in
elapsed time, and never counted, so a power cut or a change of the clocks moves nothing.
An operation recorded more than once counts from its last time.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from decimal import Decimal
from functools import cached_property
from typing import Final, Literal

from shop.craft import order
from shop.craft.when import in_utc, span_words

Needs = Literal["tray", "neck", ""]
Glue = Literal["white", "yellow", ""]
Weight = Literal["stop", "warn", ""]  # of a finish that is too young for this operation
Part = Literal["body", "neck", ""]

HOLD: Final = "hold"  # the clock of the days in the case
HOLD_H: Final = 96  # its least hours; a spec may ask for more, never for less


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
    station_code: str = ""
    rests: Part = ""  # the part that comes in here, and must have rested in the room first
    rest_h: int = 0  # for so many hours since it arrived
    machine: bool = False  # a power cut leaves its cut unknown until a person looks
    trained: bool = False  # only people signed off for its station
    proves: bool = False  # all that was recorded before it has to be proven
    freezes: bool = False  # the as-built record is frozen with it
    checklist: bool = False  # a look: every area is answered before it is recorded

    @property
    def words(self) -> str:
        return f"{self.code} {self.name}"


@dataclass(frozen=True, slots=True)
class Precedence:
    """``after`` may start once ``before`` is done and ``wait`` has passed since.

    ``clock`` names the wait ("neck clamp", "hold"); the one named ``HOLD`` follows what
    happens to the case and the room (``craft.clocks``). With ``noted`` the wait does not
    keep ``after`` back and is only said. With ``other_person``, nobody who did ``before``
    may do ``after``; with ``apart_days`` only those who did it within so many days.
    """

    before: str
    after: str
    wait: timedelta = timedelta()
    other_person: bool = False
    clock: str = ""
    noted: bool = False
    apart_days: int | None = None

    @property
    def binding(self) -> timedelta:
        """How long ``after`` is kept back: a hold never less than its least, a wait that is
        only said not at all."""
        if self.clock == HOLD:
            return max(self.wait, timedelta(hours=HOLD_H))
        return timedelta() if self.noted else self.wait


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

    def before(self, code: str) -> frozenset[str]:
        """All that comes before an operation, however far back."""
        return self._earlier.get(code, frozenset())

    def after(self, code: str) -> frozenset[str]:
        """All that comes after an operation, however far on."""
        return self._later.get(code, frozenset())

    @cached_property
    def pairs(self) -> tuple[order.Pair, ...]:
        """Each precedence as the two codes it ties."""
        return tuple((step.before, step.after) for step in self.precedences)

    @cached_property
    def hold(self) -> Precedence | None:
        """The precedence of the days in the case, with the wait that binds."""
        for step in self.precedences:
            if step.clock == HOLD:
                return replace(step, wait=step.binding)
        return None

    @cached_property
    def leaves_rack(self) -> str:
        """The operation by which a case leaves the hold rack for good: the release that comes
        after the days in the case, else what these are waited for. "" without such days."""
        if self.hold is None:
            return ""
        after = self.hold.after
        later = {after} | self.after(after)
        releases = (one.code for one in self.operations if one.freezes and one.code in later)
        return next(releases, after)

    @cached_property
    def of_the_neck(self) -> frozenset[str]:
        """What is done again with another neck: the neck's own operations, the one that makes
        the pair, and all after it."""
        pairing = next((one.code for one in self.operations if one.needs == "neck"), None)
        if pairing is None:
            return frozenset()
        comes_in = frozenset(one.code for one in self.operations if one.rests == "neck")
        own = comes_in.union(*(self.after(code) for code in comes_in)) & self.before(pairing)
        return own | {pairing} | self.after(pairing)

    @cached_property
    def _later(self) -> dict[str, frozenset[str]]:
        return order.reach(self.pairs)

    @cached_property
    def _earlier(self) -> dict[str, frozenset[str]]:
        return order.reach((after, before) for before, after in self.pairs)

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
    """An operation recorded on one instrument: by which badge, at what (aware) moment.

    ``others`` are the badges that had a hand in it: a helper, a trainer. ``doubt`` says why
    it must still be confirmed, empty where it is sure. ``seq`` is its journal row.
    ``claimed``: when it is said to have been done, of one recorded late.
    """

    operation: str
    by: str
    at: datetime
    others: tuple[str, ...] = ()
    doubt: str = ""
    seq: int = 0
    claimed: datetime | None = None

    @property
    def hands(self) -> tuple[str, ...]:
        """Every badge that had a hand in it."""
        return (self.by, *self.others)


def faults(route: Route) -> list[str]:
    """What is wrong with the route itself, each with what to do; empty for a sound one."""
    circle = order.circle(route.pairs)
    round_about = (
        f"{' > '.join(circle)} is a circle, none of them could ever start: take one line out."
    )
    return [
        *_operation_faults(route),
        *_precedence_faults(route),
        *_hold_faults(route),
        *([round_about] if circle else [*_end_faults(route), *_join_faults(route)]),
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
    The hold runs here as if nothing happened in it: ``start.ready_at`` knows better. Raises
    ``ValueError`` for a moment without a time zone.
    """
    ends = []
    for step in route.into(operation):
        last = last_of(step.before, done)
        if last is None:
            return None
        ends.append(in_utc(last.at) + step.binding)
    return max(ends, default=None)


def last_of(operation: str, done: Collection[Done]) -> Done | None:
    """The last time an operation was done, ``None`` when it was not."""
    times = [one for one in done if one.operation == operation]
    return max(times, key=lambda one: in_utc(one.at)) if times else None


def hold_of(route: Route) -> Precedence | None:
    """The precedence of the days in the case, with the wait that binds; ``None`` without one."""
    return route.hold


def topological(route: Route) -> tuple[str, ...]:
    """The operations, each after all that comes before it, else in shop order.

    Raises ``ValueError`` for a route that goes round in a circle.
    """
    return order.topological([one.code for one in route.operations], route.pairs)


def _operation_faults(route: Route) -> Iterator[str]:
    if not route.operations:
        yield f"Route {route.name} has no operation: add at least one."
    codes = Counter(one.code for one in route.operations)
    tied = {code for pair in route.pairs for code in pair}
    for code, times in codes.items():
        if times > 1:
            yield f"{code} stands {times} times on the route: keep one."
        if len(codes) > 1 and code not in tied:
            yield f"{code} is tied to no other operation: say what comes before or after it."


def _precedence_faults(route: Route) -> Iterator[str]:
    codes = {one.code for one in route.operations}
    for (before, after), times in Counter(route.pairs).items():
        if times > 1:
            yield f"{before} before {after} stands {times} times: keep one, with the longest wait."
        for code in dict.fromkeys((before, after)):
            if code not in codes:
                yield f"{before} before {after}: {code} is not on the route. Add it or drop this."
    for step in route.precedences:
        if step.wait < timedelta() and step.clock != HOLD:
            yield f"{step.before} before {step.after}: the wait is below 0. Give 0 or more."


def _hold_faults(route: Route) -> Iterator[str]:
    holds = [step for step in route.precedences if step.clock == HOLD]
    least = span_words(timedelta(hours=HOLD_H))
    for step in holds:
        pair = f"{step.before} before {step.after}"
        if step.wait < step.binding:
            yield f"{pair}: the hold is {span_words(step.wait)}. Give {least} or more."
        if step.noted:
            yield f"{pair}: a hold that is only noted holds nothing. Take noted off."
    if len({(step.before, step.after) for step in holds}) > 1:
        named = [f"{step.before} before {step.after}" for step in holds]
        yield f"The hold stands {len(holds)} times: {', '.join(named)}. Keep one."


def _end_faults(route: Route) -> Iterator[str]:
    """Lines that begin or end where none may."""
    befores, afters = ({pair[side] for pair in route.pairs} for side in (0, 1))
    tied = [one for one in route.operations if one.code in befores | afters]
    if any(one.rests for one in route.operations):
        for one in tied:
            if one.code not in afters and not one.rests:
                yield f"{one.code} has nothing before it: say what comes before it."
    for code in [*dict.fromkeys(one.code for one in tied)][:-1]:
        if code not in befores:
            yield f"{code} has nothing after it: say what comes after it."


def _join_faults(route: Route) -> Iterator[str]:
    """Neck and body meet once, and each gets there."""
    pairing = [one.code for one in route.operations if one.needs == "neck"]
    if len(set(pairing)) > 1:
        yield f"{' and '.join(dict.fromkeys(pairing))} both pair neck and body: keep one."
    starts = {
        part: [
            one.code for one in route.operations if one.rests == part and not route.into(one.code)
        ]
        for part in ("body", "neck")
    }
    if not pairing or not all(starts.values()):
        return
    for part, codes in starts.items():
        if not any(code in route.before(pairing[0]) for code in codes):
            yield (
                f"{codes[0]} does not lead to {pairing[0]}, so the {part} never gets there: "
                "say what comes in between."
            )
