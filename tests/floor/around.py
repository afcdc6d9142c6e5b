"""What the tests put round an operation: glue, a finish, woods, a room that was read."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from decimal import Decimal

from shop.catalogue.models import Operation, SpecRevision, Wood
from shop.floor import door
from shop.floor.models import Body, Instrument, Permit, RoomReading
from tests.floor.morning import NOW, act, forget, step

SERIAL, SPEC = "Q-1050", "HOLM"
NEXT = "J20"  # what Q-1050 is at: nothing is scanned or measured for it
NIGRA = "Dalbergia nigra"


def bare() -> None:
    """Nothing stands round any operation, nobody has read the room, nothing goes abroad."""
    Operation.objects.update(glue="", finish_age="", papers=False)
    RoomReading.objects.all().delete()
    Permit.objects.all().delete()
    Instrument.objects.update(destination="")
    Body.objects.update(coated_on=None)
    SpecRevision.woods.through.objects.all().delete()
    forget()


def asks(glue: str = "", finish_age: str = "", papers: bool = False, code: str = NEXT) -> None:
    """What the operation is done with from now on."""
    row = Operation.objects.filter(code=code)
    row.update(glue=glue, finish_age=finish_age, papers=papers)
    forget()


def coated(coat: str, on: date | None, spec: str = SPEC, serial: str = SERIAL) -> None:
    SpecRevision.objects.filter(spec__key=spec).update(coat=coat)
    Body.objects.filter(serial=serial).update(coated_on=on)
    forget()


def built_of(*botanical: str, spec: str = SPEC, permit: bool = True) -> None:
    """The spec's woods, each of which needs a paper, or none does."""
    for revision in SpecRevision.objects.filter(spec__key=spec):
        for name in botanical:
            wood, _ = Wood.objects.update_or_create(
                botanical=name, defaults={"name": f"wood of {name}"[:40], "permit": permit}
            )
            revision.woods.add(wood)
    forget()


def goes_to(country: str, serial: str = SERIAL) -> None:
    Instrument.objects.filter(body__serial=serial).update(destination=country)


def read_room(
    temp_c: str = "21", rh_pct: str = "48", at: datetime = NOW - timedelta(hours=1)
) -> door.Outcome:
    return door.record(act("P-16", "J", at), door.RoomRead(Decimal(temp_c), Decimal(rh_pct)))


def do(reason: str = "", at: datetime = NOW) -> door.Outcome:
    """P-16 records the operation Q-1050 is at."""
    return step(SERIAL, NEXT, "P-16", "J", at, reason=reason)
