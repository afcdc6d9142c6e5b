"""What happens to an instrument after the look at the end of its hold: that look is taken again.

The look told how it stood after its days in the case. Whatever begins these again, or asks for
a last check, changes what it looked at: strings, saddle, rod, a joint.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any, Final

from shop.craft.clocks import Happening, What
from shop.craft.clocks.holding import AGAIN, CHECK, CHECKED
from shop.craft.finding import Finding, note
from shop.craft.route import HOLD, hold_of, last_of
from shop.craft.when import in_utc
from shop.craft.words import listed
from shop.floor import course
from shop.floor.deeds.loops import unmeasured
from shop.floor.models import Entry, Instrument, Step
from shop.floor.state import State

LASTING: Final = frozenset({What.OUT, What.TOUCHED_UP})
"""What goes on until it is told to be over."""
ANEW: Final = "Its areas are looked at and its values measured anew."


def told_again(again: tuple[str, ...]) -> tuple[Finding, ...]:
    """What is to be done again, for whoever reports."""
    if not again:
        return ()
    return (note("again", f"After that again: {listed(again)}.", ANEW),)


def taken_again(now: State, one: Happening, after: State) -> tuple[str, ...]:
    """The operations that are done again because this happened: the look that ends the hold,
    where its days were not over at that look by the clock as it stands ``after``, and all that
    was done since. In shop order."""
    looked = _looked(now)
    if looked is None or not _undoes(now, one, after, looked):
        return ()
    return _look_and_since(now)


def looked_too_soon(now: State, after: State) -> tuple[str, ...]:
    """The same where nothing happened to it since, but its days turn out not to have been over
    at that look: it was out of its case before, or they are to be more. By the clock as it
    stood they were."""
    looked = _looked(now)
    return _look_and_since(now) if looked and _not_over(now, after, looked) else ()


def _looked(now: State) -> datetime | None:
    """When the look that ends the hold was taken, in UTC."""
    hold = hold_of(now.sheet.route)
    look = last_of(hold.after, now.done) if hold else None
    return in_utc(look.at) if look else None


def _look_and_since(now: State) -> tuple[str, ...]:
    hold = hold_of(now.sheet.route)
    assert hold is not None  # there was a look at its end
    again = {hold.after, *now.sheet.route.after(hold.after)} & now.done_codes
    return tuple(stop.code for stop in now.sheet.stops if stop.code in again)


def _undoes(now: State, one: Happening, after: State, looked: datetime) -> bool:
    hold = hold_of(now.sheet.route)
    if hold is None or one.what not in {*AGAIN, *CHECKED}:
        return False
    days = hold.wait + now.longer.get(HOLD, timedelta())
    length = CHECK if one.what in CHECKED else days
    if in_utc(one.at) + one.cure + length > looked:
        return True
    # It lies further back; but the clock may have stood still since.
    return _not_over(now, after, looked)


def _not_over(now: State, after: State, looked: datetime) -> bool:
    """Whether its days were over at the look by the clock as it stood, and are not ``after``."""
    return _over(now, looked) and not _over(after, looked)


def _over(now: State, looked: datetime) -> bool:
    """Whether its days were over at the look, by what had happened until then: that its case
    was opened for the look, and how long it stayed open, does not take from the days before."""
    if now.cased_at is None:
        return False
    cased = in_utc(now.cased_at)
    until_then = (_until(looked, one, cased) for one in now.happened if in_utc(one.at) <= looked)
    rows = [course.happening_row(one) for one in until_then]
    held = replace(now, happened_kept=rows).held(looked)
    return held is not None and held.ready is not None and held.ready <= looked


def _until(looked: datetime, one: Happening, cased: datetime) -> Happening:
    """What happened, as long as it had lasted at the look. What nobody told to be over before it
    was ``cased`` was over then."""
    lasted = in_utc(one.until) > looked if one.until else in_utc(one.at) >= cased
    return replace(one, until=looked) if one.what in LASTING and lasted else one


def reopened(now: State, again: tuple[str, ...], what: str) -> tuple[State, dict[str, Any]]:
    """The instrument with these to be done again, and what its journal row says of that."""
    voids = [one for one in now.done if one.operation in again]
    opened = now.open
    put_down = opened is not None and not opened.unsure and _follows(now, opened.operation, again)
    after = replace(
        unmeasured(now, again),
        done=tuple(one for one in now.done if one not in voids),
        past=(*now.past, *voids),
        finished_at=None,
        open_step_kept={} if put_down else now.open_step_kept,
    )
    return after, {
        "again": list(again),
        "voids": [one.seq for one in voids],
        "void_why": f"hold: {what}",
        "gauged": [one.row() for one in after.readings.values],
        "standing": after.kept_standing,
        "placed": after.placed_version,
        "puts_down": put_down,
    }


def _follows(now: State, operation: str, again: tuple[str, ...]) -> bool:
    return any(operation in {code, *now.sheet.route.after(code)} for code in again)


def reopen(row: Entry) -> None:
    """Bring the tables to what ``reopened`` said; rows from before it say nothing of it."""
    said = row.data
    if not said.get("again"):
        return
    live = Step.objects.filter(instrument_id=row.number, void_at__isnull=True)
    live.filter(seq__in=said["voids"]).update(void_at=row.at, void_why=said["void_why"])
    more: dict[str, Any] = {"open_step": {}} if said["puts_down"] else {}
    Instrument.objects.filter(pk=row.number).update(
        gauged=said["gauged"],
        standing=said["standing"],
        placed_version=said["placed"],
        finished_at=None,
        **more,
    )
