"""Readings of many instruments, laid down as if each had been taken at its bench."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from decimal import Decimal
from random import Random
from typing import Final

from shop.catalogue.models import Operation
from shop.floor.models import Entry, Instrument, Reading, Step
from tests.bench.crowd import add_instruments
from tests.floor.morning import NOW

CROWD: Final = 24


def serial_of(number: int) -> str:
    """The serial of the so many-th instrument of ``tests.bench.crowd``, counted from 0."""
    return f"Q-{20000 + number}"


def measured(
    values: Sequence[str],
    operation: str = "I10",
    quantity: str = "action",
    place: str = "bass",
    hours: int = 0,
) -> None:
    """One value for each of the crowd, a minute after the one before, so many hours on."""
    entries = _entries(len(values))
    Reading.objects.bulk_create(
        Reading(
            instrument_id=entry.number,
            quantity=quantity,
            place=place,
            value=Decimal(value),
            by_id=entry.by_id,
            at=NOW + timedelta(hours=hours, minutes=at),
            operation=operation,
            entry=entry,
        )
        for at, (entry, value) in enumerate(zip(entries, values, strict=True))
    )


def looked_at_twice(count: int, second: str = "I30") -> None:
    """The second look at the first so many of the crowd is done."""
    operation = Operation.objects.get(code=second)
    Step.objects.bulk_create(
        Step(
            instrument_id=entry.number,
            operation=operation,
            by_id=entry.by_id,
            at=NOW,
            seq=1,
            entry=entry,
        )
        for entry in _entries(count)
    )


def _entries(count: int) -> list[Entry]:
    """The first row of each of the crowd."""
    serials = [serial_of(number) for number in range(count)]
    crowd = Instrument.objects.filter(body__serial__in=serials)
    assert crowd.count() == count
    rows = Entry.objects.filter(instrument__in=crowd, seq=1)
    return list(rows.order_by("instrument__body__serial"))


def lay_out() -> None:
    """Two dozen instruments that have left the floor, with their actions; once is enough."""
    if Instrument.objects.filter(body__serial=serial_of(0)).exists():
        return
    add_instruments(CROWD, like="Q-1043")
    crowd = Instrument.objects.filter(body__serial__in=map(serial_of, range(CROWD)))
    crowd.update(finished_at=NOW)
    dice = Random(4)
    actions = [f"{dice.gauss(2.40, 0.04):.2f}" for _ in range(CROWD - 1)] + ["2.75"]
    measured(actions, operation="U30", hours=-200)
    measured(actions, operation="I10", hours=-150)
    later = [f"{float(one) + dice.gauss(0.09, 0.04):.2f}" for one in actions]
    measured(later, operation="I30", hours=-50)
    looked_at_twice(CROWD)
