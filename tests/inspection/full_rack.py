"""A hold rack with more in it than the demo's, to see it full."""

from __future__ import annotations

from datetime import datetime

from shop.floor import board
from shop.floor.models import Instrument, Step


def in_their_cases(count: int, at: datetime) -> None:
    """So many of those that were added are cased."""
    like = Step.objects.filter(operation__code="I20")[0]
    them = Instrument.objects.filter(body__serial__startswith="Q-20").order_by("pk")[:count]
    Step.objects.bulk_create(
        Step(
            instrument=one, operation_id=like.operation_id, by_id=like.by_id, at=at, seq=1000,
            entry_id=like.entry_id,
        )
        for one in them
    )  # fmt: skip


def in_slots() -> None:
    """As many of them as there are free slots for."""
    free = [one.code for one in board.slots() if not one.serial]
    them = Instrument.objects.filter(body__serial__startswith="Q-20").order_by("pk")
    for one, code in zip(them, free, strict=False):
        one.slot = code
        one.save(update_fields=["slot"])
