"""The room over the last days: its log, and the clocks that ran meanwhile."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from django.db.models import DateTimeField, Subquery, Value
from django.db.models.functions import Coalesce

from shop.craft.clocks import Air
from shop.craft.route import HOLD, last_of
from shop.craft.when import in_utc
from shop.craft.wood.room import Stretch, Wait
from shop.floor import states
from shop.floor.models import RoomReading
from shop.floor.state import State

CASE = "days in the case"


@dataclass(frozen=True, slots=True)
class RoomRow:
    """One reading: when, °C, %RH, the sensor that noted it ("": a person), whose badge."""

    at: datetime
    temp_c: Decimal
    rh_pct: Decimal
    sensor: str
    by: str

    @property
    def air(self) -> Air:
        return Air(self.at, self.temp_c, self.rh_pct)


def room_log(since: datetime) -> tuple[RoomRow, ...]:
    """What was read of the room from a moment on, oldest first, and before it what was read
    last until then; one statement."""
    before = RoomReading.objects.filter(at__lte=since).values("at")[:1]
    first = Coalesce(Subquery(before), Value(since, DateTimeField()))
    rows = RoomReading.objects.filter(at__gte=first).order_by("at", "id")
    return tuple(
        RoomRow(*row) for row in rows.values_list("at", "temp_c", "rh_pct", "sensor", "by__code")
    )


def room_waits(since: datetime, at: datetime) -> tuple[Wait, ...]:
    """The days in the case and the glue clocks of every open instrument that ran from a moment
    on, in the order of its route; the same few statements for any number. ``at`` is now."""
    every = (wait for now in states.all_open() for wait in _waits(now, at))
    return tuple(one for one in every if one.stretch.end > in_utc(since))


def _waits(now: State, at: datetime) -> tuple[Wait, ...]:
    """Of one instrument: each clock from the last time that what it waits for was done."""
    route = now.sheet.route
    ends: dict[tuple[str, datetime], datetime] = {}
    for one in route.precedences:
        facts, last = route.find(one.before), last_of(one.before, now.done)
        if not one.clock or one.clock == HOLD or facts is None or not facts.glue or last is None:
            continue
        start = in_utc(last.at)
        end = start + one.wait + now.longer.get(one.clock, timedelta())
        ends[one.clock, start] = max(end, ends.get((one.clock, start), end))
    found = [Wait(now.serial, clock, Stretch(start, end)) for (clock, start), end in ends.items()]
    if now.cased_at and (held := now.held(at)):
        end = held.ready or in_utc(at)
        stretch = Stretch(in_utc(now.cased_at), end, held.ready is None)
        found.append(Wait(now.serial, CASE, stretch))
    return tuple(found)
