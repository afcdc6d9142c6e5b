"""The room over time: when glue could be used, when it gave alarm, and what that touched.

Readings are the room's log (``clocks.Air``), each good until the next. What a hold does
about them is decided in ``clocks``; what stops a joint at the moment it is glued is rule
R37, whose limits stand here too. The rest is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from enum import StrEnum
from typing import Final

from shop.craft.clocks import Air
from shop.craft.fit.moment import READ, RH_LEAST, RH_MOST, WHITE, YELLOW
from shop.craft.size import plain
from shop.craft.when import in_utc, span_words, when_words
from shop.craft.words import THIN

AIM_RH_PCT: Final = (Decimal(45), Decimal(50))
AIM_TEMP_C: Final = (Decimal(19), Decimal(23))  # 21 ± 2
ALARM_RH_PCT: Final = (Decimal(42), Decimal(55))  # both limits are still inside

# What a log may say of a room that people work in; what is beyond was misread or mistyped.
TEMP_C: Final = (Decimal(5), Decimal(45))
RH_PCT: Final = (Decimal(5), Decimal(95))

GLUES: Final = {"white": WHITE.value, "yellow": YELLOW.value}
"""The least temperature in °C that each glue is used at, by its kind."""


class Out(StrEnum):
    """How a room gives alarm."""

    DRY = "dry"
    DAMP = "damp"
    COLD = "cold"  # for white glue


@dataclass(frozen=True, slots=True)
class Stretch:
    """From ``start`` to ``end`` in UTC; where it is ``going_on``, ``end`` is now."""

    start: datetime
    end: datetime
    going_on: bool = False

    @property
    def length(self) -> timedelta:
        return self.end - self.start

    def shares(self, other: Stretch) -> Stretch | None:
        """What two stretches have in common, if anything."""
        start, end = max(self.start, other.start), min(self.end, other.end)
        return Stretch(start, end, self.going_on and other.going_on) if start < end else None


@dataclass(frozen=True, slots=True)
class Excursion:
    """A stretch in which the room gave alarm, and the reading that was worst."""

    out: Out
    stretch: Stretch
    worst: Air

    def words(self, now: datetime) -> str:
        """In a sentence, on the clock of ``now``."""
        since = when_words(self.stretch.start, now)
        worst, at = self._worst, when_words(self.worst.at, now)
        if self.stretch.going_on:
            return f"Too {self.out} since {since}, at worst {worst} on {at}."
        long = span_words(self.stretch.length)
        return f"Too {self.out} for {long} from {since}, at worst {worst} on {at}."

    @property
    def _worst(self) -> str:
        if self.out is Out.COLD:
            return f"{plain(self.worst.temp_c)}{THIN}°C"
        return f"{plain(self.worst.rh_pct)}{THIN}%RH"


@dataclass(frozen=True, slots=True)
class Day:
    """One day of the log: how many readings, and the least and the most of them."""

    on: date
    readings: int
    least_c: Decimal
    most_c: Decimal
    least_rh: Decimal
    most_rh: Decimal


@dataclass(frozen=True, slots=True)
class Wait:
    """A clock that runs, or ran: the days in the case or a glue line, whose, and its words."""

    whose: str
    words: str
    stretch: Stretch


@dataclass(frozen=True, slots=True)
class Touched:
    """A wait, an excursion that fell into it, and the stretch they share."""

    wait: Wait
    excursion: Excursion
    shared: Stretch


def why_not_glue(air: Air, glue: str) -> tuple[str, ...]:
    """What keeps this glue from being used in this air, a sentence each; none: use it.

    Raises ``ValueError`` for a glue that is not in ``GLUES``.
    """
    least = _least(glue)
    told = []
    if air.temp_c < least:
        told.append(
            f"{plain(air.temp_c)}{THIN}°C, {glue} glue needs {plain(least)}{THIN}°C. "
            "Warm room, parts and glue, then read the room again."
        )
    if not RH_LEAST.value <= air.rh_pct <= RH_MOST.value:
        told.append(
            f"{plain(air.rh_pct)}{THIN}%RH, gluing needs {plain(RH_LEAST.value)} to "
            f"{plain(RH_MOST.value)}{THIN}%RH. Bring the room there and let the parts rest in it."
        )
    return tuple(told)


def alarms(air: Air) -> tuple[Out, ...]:
    """How the room gives alarm in this air; none where it is inside its limits."""
    return tuple(out for out, (is_out, _) in _ALARMS.items() if is_out(air))


def limits_words() -> str:
    """Where the room gives alarm, and what is aimed at."""
    (dry, damp), (cool, warm) = ALARM_RH_PCT, AIM_TEMP_C
    return (
        f"The room gives alarm below {plain(dry)} and above {plain(damp)}{THIN}%RH; "
        f"{plain(cool)} to {plain(warm)}{THIN}°C is aimed at."
    )


def as_aimed(air: Air) -> bool:
    """Whether the air lies between the set points."""
    return (
        AIM_RH_PCT[0] <= air.rh_pct <= AIM_RH_PCT[1]
        and AIM_TEMP_C[0] <= air.temp_c <= AIM_TEMP_C[1]
    )


def windows(log: Iterable[Air], glue: str, now: datetime) -> tuple[Stretch, ...]:
    """When this glue could be used, oldest first: a reading is good until the next one, and
    no longer than rule R37 takes it for.

    Raises ``ValueError`` for a glue that is not in ``GLUES`` or a moment without a time zone.
    """
    _least(glue)
    good_for = timedelta(hours=float(READ.value))
    end_of_all = in_utc(now)
    rows = _in_order(log)
    found: list[Stretch] = []
    for at, readings, until in _until_next(rows, end_of_all):
        if any(why_not_glue(one, glue) for one in readings):
            continue
        end = min(until, at + good_for)
        one = Stretch(at, end, end == end_of_all)
        if found and found[-1].end == one.start:
            one = Stretch(found.pop().start, one.end, one.going_on)
        if one.end > one.start:
            found.append(one)
    return tuple(found)


def excursions(log: Iterable[Air], now: datetime) -> tuple[Excursion, ...]:
    """When the room gave alarm, oldest first: from the first reading outside to the first one
    inside again. One that nothing has ended lasts until ``now``.

    Raises ``ValueError`` for a moment without a time zone.
    """
    end_of_all = in_utc(now)
    rows = _in_order(log)
    found = (
        one
        for out, (is_out, worse) in _ALARMS.items()
        for one in _excursions(out, is_out, worse, rows, end_of_all)
    )
    return tuple(sorted(found, key=lambda one: (one.stretch.start, one.out)))


def by_day(log: Iterable[Air], now: datetime) -> tuple[Day, ...]:
    """The readings of each day on the clock of ``now``, the newest day first.

    Raises ``ValueError`` for a moment without a time zone.
    """
    days: dict[date, list[Air]] = {}
    for one in log:
        days.setdefault(in_utc(one.at).astimezone(now.tzinfo).date(), []).append(one)
    return tuple(_day(on, days[on]) for on in sorted(days, reverse=True))


def _day(on: date, readings: Sequence[Air]) -> Day:
    temps, humids = ([getattr(one, name) for one in readings] for name in ("temp_c", "rh_pct"))
    return Day(on, len(readings), min(temps), max(temps), min(humids), max(humids))


def touched(waits: Sequence[Wait], found: Sequence[Excursion]) -> tuple[Touched, ...]:
    """Which waits the room's alarms fell into, in the order of the waits."""
    return tuple(
        Touched(wait, one, shared)
        for wait in waits
        for one in found
        if (shared := wait.stretch.shares(one.stretch)) is not None
    )


_ALARMS: Final[dict[Out, tuple[Callable[[Air], bool], Callable[[Air], Decimal]]]] = {
    Out.DRY: (lambda air: air.rh_pct < ALARM_RH_PCT[0], lambda air: -air.rh_pct),
    Out.DAMP: (lambda air: air.rh_pct > ALARM_RH_PCT[1], lambda air: air.rh_pct),
    Out.COLD: (lambda air: air.temp_c < WHITE.value, lambda air: -air.temp_c),
}
"""Whether a reading gives alarm, and a figure that is the higher the worse it is."""


def _least(glue: str) -> Decimal:
    if glue not in GLUES:
        raise ValueError(f"There is no glue {glue!r}: it is one of {', '.join(GLUES)}.")
    return GLUES[glue]


def _in_order(log: Iterable[Air]) -> list[tuple[datetime, list[Air]]]:
    """The readings of each moment, oldest first."""
    told: dict[datetime, list[Air]] = {}
    for one in log:
        told.setdefault(in_utc(one.at), []).append(one)
    return sorted(told.items())


def _until_next(
    rows: Sequence[tuple[datetime, list[Air]]], now: datetime
) -> Iterator[tuple[datetime, list[Air], datetime]]:
    ends = [at for at, _ in rows[1:]] + [now]
    for (at, readings), end in zip(rows, ends, strict=False):
        if at < now:
            yield at, readings, min(end, now)


def _excursions(
    out: Out,
    is_out: Callable[[Air], bool],
    worse: Callable[[Air], Decimal],
    rows: Sequence[tuple[datetime, list[Air]]],
    now: datetime,
) -> Iterator[Excursion]:
    begin: datetime | None = None
    outside: list[Air] = []
    for at, readings in rows:
        if at > now:
            break
        bad = [one for one in readings if is_out(one)]  # of one moment the worse counts
        if bad and begin is None:
            begin = at
        if not bad and begin is not None:
            yield Excursion(out, Stretch(begin, at), max(outside, key=worse))
            begin, outside = None, []
        outside += bad
    if begin is not None:
        yield Excursion(out, Stretch(begin, max(begin, now), True), max(outside, key=worse))
