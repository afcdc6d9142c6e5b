"""More instruments, each like one of the demo's, to see that no page asks once for each."""

from __future__ import annotations

import uuid

from shop.floor.models import Body, Entry, Instrument, Neck, Step, Tag
from shop.stock.models import Tray, TrayLine
from tests.floor.morning import NOW


def add_instruments(count: int, like: str = "Q-1062") -> None:
    """So many more, with tags, first step and a tray to pick; serials from Q-20000 (invented)."""
    model = Instrument.objects.select_related("body", "neck", "tray").get(body__serial=like)
    assert model.neck is not None
    numbers = range(20000, 20000 + count)
    bodies = Body.objects.bulk_create(
        Body(serial=f"Q-{n}", spec_id=model.body.spec_id, arrived_at=NOW) for n in numbers
    )
    necks = Neck.objects.bulk_create(
        Neck(serial=f"K-{n}", spec_id=model.neck.spec_id, arrived_at=NOW) for n in numbers
    )
    trays = Tray.objects.bulk_create(
        Tray(
            code=f"T{n:06d}",
            serial=f"Q-{n}",
            revision_id=model.revision_id,
            wanted_on=model.tray.wanted_on,
        )
        for n in numbers
    )
    TrayLine.objects.bulk_create(
        TrayLine(tray=tray, item_id=line.item_id, quantity=line.quantity)
        for line in model.tray.lines.all()
        for tray in trays
    )
    made = Instrument.objects.bulk_create(
        Instrument(
            body=body,
            neck=neck,
            tray=tray,
            revision_id=model.revision_id,
            due_on=model.due_on,
            release_on=model.release_on,
            seq=1,
        )
        for body, neck, tray in zip(bodies, necks, trays, strict=True)
    )
    Tag.objects.bulk_create(
        Tag(code=f"B{n:06d}", body=b, made_at=NOW) for n, b in zip(numbers, bodies, strict=True)
    )
    _first_steps(made)


def _first_steps(made: list[Instrument]) -> None:
    done = Step.objects.select_related("entry").filter(operation__code="N10")[0]
    entries = Entry.objects.bulk_create(
        Entry(
            key=uuid.uuid4(),
            fingerprint="",
            subject=one.body.serial,
            instrument=one,
            seq=1,
            kind="step",
            outcome="recorded",
            data={"operation": "N10"},
            by_id=done.by_id,
            at=done.at,
            form=1,
        )
        for one in made
    )
    Step.objects.bulk_create(
        Step(
            instrument=one,
            operation_id=done.operation_id,
            by_id=done.by_id,
            at=done.at,
            seq=1,
            entry=entry,
        )
        for one, entry in zip(made, entries, strict=True)
    )
