"""Operations that measure, whatever the demo asks for, and values entered at a bench."""

from __future__ import annotations

from datetime import datetime

from shop.catalogue import revising
from shop.catalogue.models import Gauging, Operation
from shop.floor import door
from shop.floor.models import Instrument, Reading
from tests.floor.morning import NOW, act, now

STRINGS = tuple("654321")


def measures(operation: str, *quantities: str) -> None:
    """Let this operation, and no other, ask for these quantities, in this order; nothing
    was measured on any instrument yet."""
    Reading.objects.all().delete()
    Instrument.objects.update(gauged=[], standing={})
    touched = set(Gauging.objects.values_list("operation_id", flat=True))
    Gauging.objects.all().delete()
    one = Operation.objects.get(code=operation)
    Gauging.objects.bulk_create(
        Gauging(operation=one, quantity=key, place=place) for place, key in enumerate(quantities, 1)
    )
    for number in {one.pk, *touched}:
        revising.operation_changed(number)


def gauge(
    serial: str,
    values: dict[str, str],
    operation: str = "N40",
    by: str = "P-11",
    station: str = "N",
    at: datetime = NOW,
    sure: tuple[str, ...] = (),
    inch: bool = False,
    tool: str = "",
) -> door.Outcome:
    """Enter values by the names of their spots: ``gauge("Q-1043", {"hole 6": "8.73"})``."""
    spots = {_spot(name): text for name, text in values.items()}
    ticked = frozenset(_spot(name) for name in sure)
    deed = door.Gauged(now(serial).id, operation, spots, ticked, inch=inch, tool=tool)
    return door.record(act(by, station, at), deed)


def holes(**different: str) -> dict[str, str]:
    """All six holes as the spec of TARN has them: ``holes(at_3="8.95")`` but for one."""
    return {f"hole {string}": different.get(f"at_{string}", "8.73") for string in STRINGS}


def _spot(name: str) -> tuple[str, str]:
    quantity, _, place = name.partition(" ")
    return quantity, place
