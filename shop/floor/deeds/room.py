"""Reading the room: its temperature and its humidity."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, ClassVar, Final

from django.db import transaction

from shop.craft.finding import Finding, stop
from shop.craft.size import plain
from shop.craft.words import THIN
from shop.floor import conditions
from shop.floor.deeds.deed import Act, Deed, Ground
from shop.floor.models import Entry, RoomReading

# Between these a room that people work in can lie; what is beyond was misread or mistyped.
TEMP_C: Final = (Decimal(5), Decimal(45))
RH_PCT: Final = (Decimal(5), Decimal(95))


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
