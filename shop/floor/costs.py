"""What a rework loop brings with it for one instrument, told before anybody confirms it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from shop.catalogue import book
from shop.craft.rework import LoopFacts
from shop.craft.route import HOLD, hold_of
from shop.craft.when import span_words
from shop.craft.words import THIN, listed, mm
from shop.floor.state import State


def days_words(now: State) -> str:
    """How long its hold is in all: "96 h"."""
    return span_words(now.sheet.hold + now.longer.get(HOLD, timedelta()))


def cost(now: State, loop: LoopFacts) -> tuple[str, ...]:
    """What the loop brings with it for this instrument, one sentence each."""
    return tuple(_cost(now, loop))


def still(now: State) -> tuple[str, ...]:
    """What the loop it is on still brings with it, one sentence each; nothing where it is on
    none. What is done again is not done any more, so the loop alone cannot tell it."""
    loop = book.loop(now.rework.loop) if now.rework else None
    if loop is None or now.rework is None:
        return ()
    again = now.rework.redo
    goes = _goes(loop) if now.rework.stage == "repair" else ()
    return (*goes, _again_words(again), *_cost_in_days(now, loop, again))


def _again_after(now: State, loop: LoopFacts) -> tuple[str, ...]:
    """What is done again after the loop. The cut that made the pair never is."""
    pairing = now.sheet.pairing
    redo = loop.redo_of(now.sheet.route, now.done_codes)
    return tuple(code for code in redo if pairing is None or code != pairing.code)


def _cost(now: State, loop: LoopFacts) -> Iterator[str]:
    yield from _goes(loop)
    again = _again_after(now, loop)
    yield _again_words(again)
    yield from _cost_in_days(now, loop, again)
    if loop.unpairs:
        yield "Neck and body may come apart for good: the lead decides."


def _again_words(again: tuple[str, ...]) -> str:
    return f"Then again: {listed(again)}." if again else "Nothing is done again."


def _goes(loop: LoopFacts) -> Iterator[str]:
    if loop.work:
        yield f"Goes to {loop.station}, about {loop.minutes}{THIN}min: {loop.work}"
    if loop.per_mm is not None:
        most = f", {loop.most_h}{THIN}h at most" if loop.most_h else ""
        yield f"Dries {loop.dry_h}{THIN}h for each {mm(loop.per_mm)} of depth{most}."
    elif loop.dry_h:
        yield f"Dries {loop.dry_h}{THIN}h."


def _cost_in_days(now: State, loop: LoopFacts, again: tuple[str, ...]) -> Iterator[str]:
    """What becomes of its days in the case, where they have begun."""
    days = hold_of(now.sheet.route)
    if days is None or now.cased_at is None:
        return
    if days.before in again:
        yield f"The {days_words(now)} in the case begin again."
    elif loop.keeps_hold and days.after not in now.done_codes:
        yield "Strings stay at pitch: the days in the case stand still while it is out."
