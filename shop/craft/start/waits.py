"""What must dry, settle or rest before an operation, and until when."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Final

from shop.craft.clocks import Held
from shop.craft.finding import Basis, Finding, note, stop, warn
from shop.craft.route import HOLD, HOLD_H, OperationFacts, Precedence, hold_of, last_of
from shop.craft.start.standing import Standing
from shop.craft.when import in_utc, on_the_minute, span_words, when_words

WAIT: Final = "wait"
OF_THE_HOLD: Final = "of the hold"
DAYS: Final = "Days in the case"  # what a wait of the hold rests on, and no other wait does

_Wait = tuple[datetime, str]  # when it ends, in UTC, and what it is of


def ready_at(now: Standing, operation: str) -> datetime | None:
    """The moment (UTC) from which no clock keeps an operation back.

    ``None`` when there is no such moment: no clock belongs to it, something before it is not
    done, or its hold stands still. Raises ``ValueError`` for a moment without a time zone.
    """
    facts = now.route.find(operation)
    if facts is None or _halted(now, facts):
        return None
    behind = {one.operation for one in now.counted}
    if any(step.before not in behind for step in now.route.into(operation)):
        return None
    ends = [end for end, _ in _waits(now, facts)]
    if (rested := _rested(now, facts)) is not None:
        ends.append(rested)
    return max(ends, default=None)


def is_of_the_hold(one: Finding) -> bool:
    """Whether a finding is the wait for the days in the case, and not another one."""
    return one.rule == WAIT and one.basis is not None and one.basis.title == DAYS


def against(now: Standing, facts: OperationFacts, at: datetime) -> Iterator[Finding]:
    """The clocks that keep an operation back at a moment, the last to end of those that run
    together; what is only said; and whether to look for cracks."""
    yield from _running(now, facts, at)
    yield from _resting(now, facts, at)
    hold = hold_of(now.route)
    if now.held and now.held.crack_check and hold and hold.after == facts.code:
        yield warn(
            "crack check",
            f"The air round {now.serial} was dry or damp enough to crack wood.",
            "Look for cracks all over first, and say what you saw.",
        )
    for step in now.route.into(facts.code):
        if step.noted and (end := _end(now, step, step.wait)) and end > in_utc(at):
            name = step.clock or _words(now, step.before)
            yield note(WAIT, f"{name}: Ready {when_words(on_the_minute(end), at)}.")


def _running(now: Standing, facts: OperationFacts, at: datetime) -> Iterator[Finding]:
    if halted := _halted(now, facts):
        then = "Take another instrument until then."
        yield stop(WAIT, halted, then, basis=_basis(now.held, at))
        return
    running = [(end, what) for end, what in _waits(now, facts) if end > in_utc(at)]
    if running:
        end, what = max(running)
        ready = when_words(on_the_minute(end), at)
        yield stop(
            WAIT,
            f"Ready {ready}. {span_words(end - in_utc(at))} left {what}.",
            f"Take another instrument and come back {ready}.",
            basis=_basis(now.held, at) if what == OF_THE_HOLD else None,
        )


def _resting(now: Standing, facts: OperationFacts, at: datetime) -> Iterator[Finding]:
    """A part that came in rests in the room before work on it begins."""
    rested = _rested(now, facts)
    if facts.rests and rested is not None and rested > in_utc(at):
        which = f"The neck of {now.serial}" if facts.rests == "neck" else now.serial
        came = when_words(now.arrived[facts.rests], at)
        long = span_words(timedelta(hours=facts.rest_h))
        ready = when_words(on_the_minute(rested), at)
        yield stop(
            "rest",
            f"{which} came in {came} and rests {long}: Ready {ready}.",
            f"Take another instrument and come back {ready}.",
        )


def _waits(now: Standing, facts: OperationFacts) -> Iterator[_Wait]:
    """Every clock that may keep an operation back, run down or not."""
    for step in now.route.into(facts.code):
        if step.clock == HOLD and now.held is not None:
            continue  # it follows what happened to the case and the room
        if (end := _end(now, step, step.binding)) is not None:
            yield end, f"after {_words(now, step.before)}"
    if _in_the_hold(now, facts) and now.held and now.held.ready:
        yield now.held.ready, OF_THE_HOLD
    if now.rework and now.rework.dry_until:
        yield in_utc(now.rework.dry_until), "after the repair"


def _end(now: Standing, step: Precedence, wait: timedelta) -> datetime | None:
    """When a precedence's wait, with what the lead added to its clock, has passed."""
    last = last_of(step.before, now.counted)
    if last is None:
        return None
    added = now.longer.get(step.clock, timedelta()) if step.clock and wait else timedelta()
    return in_utc(last.at) + wait + max(added, timedelta())


def _in_the_hold(now: Standing, facts: OperationFacts) -> bool:
    """Whether an operation is kept until the days in the case are over."""
    hold = hold_of(now.route)
    return hold is not None and facts.code in {hold.after, *now.route.after(hold.after)}


def _halted(now: Standing, facts: OperationFacts) -> str:
    return now.held.halted if now.held and _in_the_hold(now, facts) else ""


def _rested(now: Standing, facts: OperationFacts) -> datetime | None:
    came = now.arrived.get(facts.rests) if facts.rests else None
    return None if came is None else in_utc(came) + timedelta(hours=facts.rest_h)


def _basis(held: Held | None, at: datetime) -> Basis | None:
    if held is None:
        return None
    sides = [("begun", when_words(held.started, at))]
    if held.paused:
        sides.append(("stood still", span_words(held.paused)))
    least = f"{span_words(timedelta(hours=HOLD_H))} at least"
    reckoning = " ".join(held.because)
    return Basis(DAYS, tuple(sides), reckoning, least, "common practice")


def _words(now: Standing, code: str) -> str:
    facts = now.route.find(code)
    return facts.words if facts else code
