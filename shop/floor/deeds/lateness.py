"""Steps recorded after they were done: what moment can be believed, and what is not proven."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Final

from django.utils.timezone import localtime

from shop.catalogue.book import StopSheet
from shop.craft import gauging
from shop.craft.finding import Finding, Severity, any_stop, stop, warn
from shop.craft.start import Asking
from shop.craft.when import span_words, when_words
from shop.craft.words import listed
from shop.floor.deeds.gating import area_gate, move_gate, neck_gate, neckless
from shop.floor.state import RAISED, State

WEEK: Final = timedelta(days=7)


def lateness(
    now: State, operation: str, done_at: datetime, counts: datetime, at: datetime
) -> tuple[Finding, ...]:
    """What stands against the moment at which a step is said to have been done, and against
    the one from which it is to count."""
    said = when_words(done_at, localtime(at))
    if done_at > at:
        words = f"{operation} done {said}: that moment is still to come."
        return (stop("late", words, "Say when it was done.", call=""),)
    if at - done_at > WEEK:
        words = f"{operation} done {said}: more than a week ago."
        return (stop("late", words, "Say when it was done, or ask the lead."),)
    before = {one.before for one in now.sheet.route.into(operation)}
    for one in now.done:
        was = one.claimed or one.at
        if one.operation in before and (was > done_at or one.at > counts):
            since = when_words(was if was > done_at else one.at, localtime(at))
            done = "was done" if was > done_at else "counts from"
            words = f"{operation} done {said}, but {one.operation} before it {done} {since}."
            return (stop("late", words, "Say when it was really done.", call=""),)
    if (sent := _sent_on(now, operation)) is not None and min(done_at, counts) <= sent:
        words = (
            f"{operation} done {said}, but it is done again after {now.serial} went to Repair "
            f"{when_words(sent, localtime(at))}."
        )
        return (stop("late", words, "Say when it was done again.", call=""),)
    words = f"{operation} is recorded {span_words(at - done_at)} after it was done."
    return (warn("late", words, "Say why it comes late."),)


def _sent_on(now: State, operation: str) -> datetime | None:
    """When it went on the loop that does this operation again, or was repaired since."""
    if now.rework is None or operation not in now.rework.redo:
        return None
    return max([now.rework.since, *(one.at for one in now.repairs)])


def late_gates(now: State, sheet: StopSheet, neck_code: str, asking: Asking) -> tuple[Finding, ...]:
    """What keeps work that was done before from being recorded: what stands against it, what
    moved too far between the looks, and a pair is never made from memory. Scans and measures
    that are missing leave it unproven."""
    stood = (one for raised in RAISED for one in now.standing.get(raised, ()))
    stops = tuple(one for one in stood if one.severity is Severity.STOP)
    needs_neck = neckless(now, sheet) or sheet.facts.needs == "neck"
    moved = move_gate(now, sheet, asking)
    return (*stops, *moved, *(neck_gate(now, neck_code) if needs_neck else ()))


def unproven(now: State, sheet: StopSheet) -> str:
    """What a step that is recorded late lacks to be proven; empty where it lacks nothing."""
    facts = sheet.facts
    left = gauging.missing(now.sheet.spec, facts.gauges, now.readings, sheet.code)
    here = now.checked_version == now.tray_version and now.checked_station == sheet.station_code
    lacks = [
        *(["its tray was not scanned there"] if facts.needs == "tray" and not here else []),
        *(["not measured"] if left else []),
        *(["the posts were not looked at"] if facts.positions and not now.placed else []),
        *(["its areas were not looked at"] if any_stop(area_gate(now, sheet)) else []),
    ]
    return f"recorded late, {listed(lacks)}" if lacks else ""
