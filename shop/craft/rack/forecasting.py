"""What the rack will hold each night, when it is short of slots, and what would help.

The days are walked through as planned; then again with fewer casings, and with as many second
looks as there are cases due, so that only what helps is suggested. Where nothing that is due
waits, more looks help nothing: the days in the case have to pass.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import partial
from typing import Final

from shop.craft.finding import Finding, note, warn
from shop.craft.rack.hours import Hours
from shop.craft.rack.looking import Inspectors, slots_wanted
from shop.craft.rack.simulating import Day, Planned, Walked, walk
from shop.craft.when import WEEKDAYS, in_utc
from shop.craft.words import THIN, several

HOLD: Final = timedelta(hours=96)  # of a spec that says nothing else; common practice, no source
AHEAD: Final = 14  # days that are told
SOON: Final = 7  # days in which the worst is looked for


@dataclass(frozen=True, slots=True)
class Lump:
    """More cases due on one day than are looked at in it: ``minutes`` for all of them,
    ``people`` who do ``finished``, ``needed`` who would do all."""

    day: date
    due: int
    minutes: int
    people: int
    finished: int
    needed: int


@dataclass(frozen=True, slots=True)
class Forecast:
    """The rack in the days to come, today first.

    ``mean_hold_d`` is how many days those stayed that were cased and looked at within these
    days, ``None`` for none. ``still`` of those in the rack now have no moment to plan with, and
    are reckoned as staying. ``findings`` say what to do, the shortage first.
    """

    slots: int
    days: tuple[Day, ...]
    still: int
    mean_hold_d: float | None
    lump: Lump | None
    findings: tuple[Finding, ...]

    @property
    def peak(self) -> Day:
        """The fullest night, the first of several."""
        return max(self.days, key=lambda one: one.in_rack)

    @property
    def short_from(self) -> date | None:
        """The first night on which a case has no slot."""
        return next((one.day for one in self.days if one.short), None)

    @property
    def slots_wanted(self) -> int:
        """Slots for the fullest night, with some to spare."""
        return int(slots_wanted(self.peak.in_rack))


def forecast(
    now: datetime,
    slots: int,
    held: Sequence[datetime | None],
    planned: Planned,
    inspectors: Inspectors | None = None,
    hours: Hours | None = None,
    hold: timedelta = HOLD,
    days: int = AHEAD,
) -> Forecast:
    """The rack from today on, on the clock of ``now``.

    ``held``: when each case that is in it is ready, ``None`` where its hold stands still. The
    whole of today is reckoned: say in ``on`` of ``planned`` and ``inspectors`` what is left
    of it. Raises ``ValueError`` for moments without a time zone, no days or slots below 0.
    """
    in_utc(now)
    if days < 1 or slots < 0:
        raise ValueError(f"{slots} slots over {days} days: give 0 or more, over 1 or more.")
    who, when = inspectors or Inspectors(), hours or Hours()
    walked = partial(walk, now, held, hours=when, hold=hold, slots=slots, days=days)
    as_planned = walked(planned, who)
    told = as_planned.days
    lump = _lump(told[:SOON], who)
    still = sum(one is None for one in held)
    findings = []
    if any(one.short for one in told):
        findings.append(_short(told, slots, planned, lambda plan: walked(plan, who)))
        findings.append(_more_looks(told, walked(planned, _all_that_are_due(who)).days))
    if lump is not None:
        findings.append(_said(lump, who))
    if still:
        words = f"{several(still, 'case')} in the rack with the hold standing still."
        findings.append(note("HR4", words, "They are reckoned as staying: see what keeps them."))
    stays = as_planned.stays_d
    mean = sum(stays) / len(stays) if stays else None
    return Forecast(slots, told, still, mean, lump, tuple(findings))


def _short(
    told: Sequence[Day], slots: int, planned: Planned, walked: Callable[[Planned], Walked]
) -> Finding:
    """That there are not enough slots: from when, and by how many at the worst."""
    first = next(one for one in told if one.short)
    worst = max(told, key=lambda one: one.short)
    words = (
        f"{day_words(first.day)}: {first.in_rack} in the rack at night, {slots} slots: "
        f"{first.short} too many."
    )
    if worst.short > first.short:
        words += f" {day_words(worst.day)}: {worst.short} too many."
    most = max(one.cased for one in told)

    def fails(cap: int) -> bool:
        return any(one.short for one in walked(replace(planned, at_most=cap)).days)

    cap = bisect_right(range(most + 1), 0, key=fails) - 1  # it fails from some cap on
    then = f"Put up {several(worst.short, 'slot')} more."
    if cap > 0:
        then += f" Or case {cap} a day at most."
    elif cap == 0:
        then += " Or case none in these days."
    return warn("HR1", words, then, "lead")


def _more_looks(told: Sequence[Day], all_looked: Sequence[Day]) -> Finding:
    """Whether second looks would free slots on the nights that are short of them."""
    freed = [
        (before.day, before.short - after.short)
        for before, after in zip(told, all_looked, strict=True)
        if before.short > after.short
    ]
    if not freed:
        words = "None of those without a slot is due for its second look."
        return note("HR2", words, "More second looks do not help.")
    day, most = max(freed, key=lambda one: one[1])
    words = f"{day_words(day)}: {most} without a slot while cases that are due wait."
    return note("HR2", words, f"Look again at {most} more by then.", "lead")


def _all_that_are_due(who: Inspectors) -> Inspectors:
    """As if a look took no time."""
    return replace(who, people=1, net_min=10**9, each_min=1, on={}, net_on={})


def _lump(told: Sequence[Day], who: Inspectors) -> Lump | None:
    """The day with the most due, where that is more than is finished on it."""
    worst = max(told, key=lambda one: one.due)
    people, finished = who.there(worst.day), who.a_day(worst.day)
    if worst.due <= finished:
        return None
    minutes, needed = worst.due * who.each_min, who.needed(worst.due, worst.day)
    return Lump(worst.day, worst.due, minutes, people, finished, needed)


def _said(lump: Lump, who: Inspectors) -> Finding:
    due, each = lump.due, who.each_min
    words = f"{day_words(lump.day)}: {due} due × {each}{THIN}min = {lump.minutes}{THIN}min."
    if lump.people == 1:
        words += f" One inspector does {lump.finished}."
    else:
        words += f" {lump.people} inspectors do {lump.finished}."
    if (left := who.minutes(lump.day)) < who.net_min:
        words += f" Each has {left}{THIN}min left of that day."
    more = lump.needed - lump.people
    then = "Ask for a second one." if lump.people == more == 1 else f"Ask for {more} more."
    if more < 1:  # the day is over: nobody could do any
        then = "They wait for the next day."
    return warn("HR3", words, then, "lead")


def day_words(day: date) -> str:
    """A day with its weekday.

    >>> day_words(date(2031, 3, 10))
    'Mon 2031-03-10'
    """
    return f"{WEEKDAYS[day.weekday()]} {day.isoformat()}"
