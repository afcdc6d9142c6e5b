"""Reading the room: its temperature and its humidity, by a person or a sensor's log."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any, ClassVar

from django.db import transaction

from shop.craft.clocks import Air
from shop.craft.finding import Finding, stop
from shop.craft.size import plain
from shop.craft.when import in_utc, when_words
from shop.craft.wood.log import AHEAD, MOST_ROWS, MOST_SENSOR
from shop.craft.wood.room import RH_PCT, TEMP_C
from shop.craft.words import THIN, several
from shop.floor import conditions
from shop.floor.deeds.deed import Act, Deed, Ground
from shop.floor.models import Entry, RoomReading


@dataclass(frozen=True, slots=True)
class RoomRead(Deed):
    """Somebody read the room: degrees Celsius, per cent of relative humidity."""

    kind: ClassVar[str] = "room"
    temp_c: Decimal
    rh_pct: Decimal

    def plain(self) -> dict[str, Any]:
        return {"temp_c": str(self.temp_c), "rh_pct": str(self.rh_pct)}

    def ground(self) -> Ground:
        return Ground("room")

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        return (
            *_unlikely("temperature", self.temp_c, "°C", TEMP_C),
            *_unlikely("humidity", self.rh_pct, "%RH", RH_PCT),
        )

    @classmethod
    def follow(cls, row: Entry) -> None:
        RoomReading.objects.create(
            temp_c=Decimal(row.data["temp_c"]),
            rh_pct=Decimal(row.data["rh_pct"]),
            by_id=row.by_id,
            at=row.at,
            entry=row,
        )
        transaction.on_commit(conditions.forget_room)


@dataclass(frozen=True, slots=True)
class RoomLogged(Deed):
    """Somebody brought in what a sensor noted: its name, and its readings, oldest first.

    What that sensor is known to have noted is not noted twice: a log may begin again where
    the last one ended, or before.
    """

    kind: ClassVar[str] = "room log"
    sensor: str
    readings: tuple[Air, ...]

    def plain(self) -> dict[str, Any]:
        return {
            "sensor": self.sensor,
            "readings": [[stamp, str(temp), str(rh)] for stamp, (temp, rh) in self._said().items()],
        }

    def ground(self) -> Ground:
        if not self.readings:
            return Ground("room", facts={})
        moments = [one.at for one in self.readings]
        rows = RoomReading.objects.filter(
            sensor=self.sensor, at__gte=min(moments), at__lte=max(moments)
        ).exclude(sensor="")
        known = rows.values_list("at", "temp_c", "rh_pct")
        return Ground("room", facts={_stamp(at): (temp, rh) for at, temp, rh in known})

    def said_before(self, act: Act, ground: Ground) -> bool:
        said = self._said()
        return bool(said) and all(ground.facts.get(at) == it for at, it in said.items())

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        return (*self._unnamed(), *self._unbelievable(act), *self._at_odds(ground))

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> Mapping[str, Any]:
        return {"known": [at for at in self._said() if at in ground.facts]} if recorded else {}

    @classmethod
    def follow(cls, row: Entry) -> None:
        known = set(row.data["known"])
        RoomReading.objects.bulk_create(
            RoomReading(
                temp_c=Decimal(temp),
                rh_pct=Decimal(rh),
                sensor=row.data["sensor"],
                by_id=row.by_id,
                at=datetime.fromisoformat(at),
                entry=row,
            )
            for at, temp, rh in row.data["readings"]
            if at not in known
        )
        transaction.on_commit(conditions.forget_room)

    def _said(self) -> dict[str, tuple[Decimal, Decimal]]:
        return {_stamp(one.at): (one.temp_c, one.rh_pct) for one in self.readings}

    def _unnamed(self) -> Iterator[Finding]:
        if not 0 < len(self.sensor) <= MOST_SENSOR:
            yield stop(
                "sensor",
                f"A sensor goes by a name of 1 to {MOST_SENSOR} characters.",
                "Say which one it is of.",
                call="",
            )
        if not 0 < len(self._said()) <= MOST_ROWS:
            yield stop(
                "log",
                f"The log has {several(len(self.readings), 'reading')}; {MOST_ROWS} at most are "
                "brought in at once.",
                "Choose it again, or bring it in as several files.",
                call="",
            )

    def _unbelievable(self, act: Act) -> Iterator[Finding]:
        """The first reading that cannot be, and the first that is still to come."""
        for one in self.readings:
            if found := (
                *_unlikely("temperature", one.temp_c, "°C", TEMP_C),
                *_unlikely("humidity", one.rh_pct, "%RH", RH_PCT),
            ):
                yield from found
                break
        latest = in_utc(act.at) + AHEAD
        if ahead := next((one for one in self.readings if in_utc(one.at) > latest), None):
            yield stop(
                "log",
                f"{when_words(ahead.at, act.at)} is still to come.",
                "Set the clock of the sensor, and correct the log.",
                call="",
            )

    def _at_odds(self, ground: Ground) -> Iterator[Finding]:
        said = self._said()
        odd = [at for at, was in ground.facts.items() if at in said and said[at] != was]
        if odd:
            yield stop(
                "log",
                f"Sensor {self.sensor} has noted another thing before of "
                f"{several(len(odd), 'moment')} of this log.",
                "Look whether it is the log of this sensor.",
                call="",
            )


def _stamp(moment: datetime) -> str:
    return in_utc(moment).isoformat()


def _unlikely(
    what: str, value: Decimal, unit: str, between: tuple[Decimal, Decimal]
) -> Iterator[Finding]:
    least, most = between
    if not least <= value <= most:
        yield stop(
            what,
            f"{plain(value)}{THIN}{unit} is no {what} of a room that is worked in: "
            f"{plain(least)} to {plain(most)}{THIN}{unit} can be.",
            "Read it again.",
            call="",
        )
