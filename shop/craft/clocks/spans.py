"""The spans in which a hold stands still: out of the case, and the room outside its limits.

All limits are common practice, without a published source. A span lasts from the first that
is told of it to the first that ends it; one that nothing has ended yet lasts until now.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from decimal import Decimal
from enum import Enum, IntEnum
from itertools import groupby
from operator import itemgetter
from typing import Final

from shop.craft.clocks.told import Air, Happening, What
from shop.craft.when import in_utc

GLANCE: Final = timedelta(minutes=15)  # out of the case for less does nothing
AWAY: Final = timedelta(hours=2)  # out of the case for more begins the hold again
TOUCH_UP: Final = timedelta(hours=72)  # the same, where the finish is touched up
ROOM_IN_ALL: Final = timedelta(hours=24)  # the room outside for more, in all, does so too
DANGER: Final = timedelta(hours=4)  # and the room in danger for more at a stretch

RH_PCT: Final = (Decimal(40), Decimal(60))  # both limits are still inside
TEMP_C: Final = (Decimal(16), Decimal(27))
SAFE_RH_PCT: Final = (Decimal(37), Decimal(65))  # beyond these wood cracks or swells


_RH_LEAST, _RH_MOST = RH_PCT
_TEMP_LEAST, _TEMP_MOST = TEMP_C
_SAFE_LEAST, _SAFE_MOST = SAFE_RH_PCT


class _Room(IntEnum):
    """The room as one reading has it, the better first."""

    INSIDE = 0
    OUTSIDE = 1
    IN_DANGER = 2


class Kind(Enum):
    """Why a hold stands still."""

    TOUCHED_UP = "touched up"
    OUT = "out"
    ROOM = "room"
    DANGER = "danger"


@dataclass(frozen=True, slots=True)
class Span:
    """From ``start`` to ``end`` in UTC; where it is ``going_on``, ``end`` is now.

    ``began`` is where it began, also where only what is left of it counts.
    """

    kind: Kind
    start: datetime
    end: datetime
    going_on: bool
    began: datetime

    @property
    def length(self) -> timedelta:
        return self.end - self.start

    def since(self, moment: datetime) -> Span:
        """What of it comes after a moment."""
        start = max(self.start, moment)
        return replace(self, start=start, end=max(self.end, start))


def out_of_the_case(
    happenings: Iterable[Happening], started: datetime, now: datetime
) -> tuple[Span, ...]:
    """The spans out of the case. Putting it in its case at ``started`` ends all that is still
    going on from before; one told to end before it begins has no length."""
    kinds = {What.TOUCHED_UP: Kind.TOUCHED_UP, What.OUT: Kind.OUT}
    told = [
        _span(kind, in_utc(one.at), None if one.until is None else in_utc(one.until), now)
        for one in happenings
        if (kind := kinds.get(one.what)) is not None
    ]
    within = [
        one.since(started)
        for one in told
        if one.start >= started or (one.end > started and not one.going_on)
    ]
    return tuple(
        one for kind in kinds.values() for one in _merged([it for it in within if it.kind is kind])
    )


def outside(air: Iterable[Air], started: datetime, now: datetime) -> tuple[Span, ...]:
    """The spans since ``started`` in which the room was in danger, and outside its limits."""
    told: dict[datetime, _Room] = {}
    for one in air:
        at, room = in_utc(one.at), _room(one)
        told[at] = max(room, told.get(at, room))  # of two readings of one moment the worse counts
    changes = [next(same) for _, same in groupby(sorted(told.items()), key=itemgetter(1))]
    found = (
        one.since(started)
        for kind, least in ((Kind.DANGER, _Room.IN_DANGER), (Kind.ROOM, _Room.OUTSIDE))
        for one in _stretches(kind, [(at, room >= least) for at, room in changes], now)
    )
    return tuple(one for one in found if one.end > one.start or one.going_on)


def net(span: Span, touched_up: Iterable[Span]) -> timedelta:
    """How long a span lasted, without what it shares with a touch-up of the finish."""
    shared = (
        min(span.end, one.end) - max(span.start, one.start)
        for one in touched_up
        if one.start < span.end and span.start < one.end
    )
    return span.length - sum(shared, timedelta())


def standing_still(spans: Sequence[Span], start: datetime) -> Iterator[tuple[datetime, datetime]]:
    """From when to when something stood still after ``start``, oldest first, each hour once."""
    last = start
    for one in sorted(spans, key=lambda it: it.start):
        begin = max(one.start, last)
        if one.end > begin:
            yield begin, one.end
            last = one.end


def _room(air: Air) -> _Room:
    if not _SAFE_LEAST <= air.rh_pct <= _SAFE_MOST:
        return _Room.IN_DANGER
    inside = _RH_LEAST <= air.rh_pct <= _RH_MOST and _TEMP_LEAST <= air.temp_c <= _TEMP_MOST
    return _Room.INSIDE if inside else _Room.OUTSIDE


def _stretches(
    kind: Kind, states: Sequence[tuple[datetime, bool]], now: datetime
) -> Iterator[Span]:
    begin = None
    for at, is_so in states:
        if is_so and begin is None:
            begin = at
        elif not is_so and begin is not None:
            yield _span(kind, begin, at, now)
            begin = None
    if begin is not None:
        yield _span(kind, begin, None, now)


def _span(kind: Kind, start: datetime, end: datetime | None, now: datetime) -> Span:
    return Span(kind, start, max(start, now if end is None else end), end is None, start)


def _merged(spans: Iterable[Span]) -> Iterator[Span]:
    """Spans that touch or overlap as one."""
    last: Span | None = None
    for one in sorted(spans, key=lambda it: (it.start, it.end, it.going_on)):
        if last is None or one.start > last.end:
            if last is not None:
                yield last
            last = one
        else:
            end = max(last.end, one.end)
            last = replace(last, end=end, going_on=last.going_on or one.going_on)
    if last is not None:
        yield last
