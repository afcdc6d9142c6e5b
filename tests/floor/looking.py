"""The areas of a look, answered as an inspector answers them."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from shop.catalogue import revising
from shop.catalogue.models import Operation
from shop.craft.inspecting.areas import Area, areas_of
from shop.craft.inspecting.progress import Answer
from shop.floor import board, door
from tests.floor.casing import SERIAL, moment, said
from tests.floor.morning import now, words

LOOKS = ("I10", "I30")
MON = moment(3, 10, 20)


def asks_for_areas(*operations: str) -> None:
    """These looks, both unless told, ask for the checklist from now on."""
    for one in Operation.objects.filter(code__in=operations or LOOKS):
        one.checklist = True
        one.save(update_fields=["checklist"])
        revising.operation_changed(one.pk)


def area_of(number: int, serial: str = SERIAL) -> Area:
    return next(one for one in areas_of(now(serial).sheet.spec) if one.number == number)


def answers(number: int, serial: str = SERIAL, **differs: str) -> dict[str, str]:
    """All of an area OK, but for the items named by the last part of their key."""
    return {
        item.key: differs.get(item.key.split(".")[1].replace("-", "_"), Answer.OK.value)
        for item in area_of(number, serial).items
    }


def look(
    number: int,
    at: datetime = MON,
    by: str = "P-31",
    station: str = "I",
    operation: str = "I10",
    given: dict[str, str] | None = None,
    told_by: int = 0,
    **differs: str,
) -> door.Outcome:
    """Look at one area of the usual guitar."""
    told = answers(number, **differs) if given is None else given
    deed = door.AreaLooked(now(SERIAL).id, operation, number, told, told_by)
    return said(deed, at, by, station)


def looked(number: int, *more: Any, **differs: Any) -> None:
    """The same, and it is taken."""
    outcome = look(number, *more, **differs)
    assert outcome.result == "recorded", words(outcome)


def look_at_all(
    at: datetime = MON, by: str = "P-31", station: str = "I", operation: str = "I10"
) -> None:
    for one in areas_of(now(SERIAL).sheet.spec):
        looked(one.number, at, by, station, operation)


def kept(operation: str = "I10") -> board.AreaLooks:
    found = board.area_looks(now(SERIAL), operation)
    assert found is not None, f"{operation} is no look"
    return found


def note_one(
    at: datetime = MON, by: str = "P-31", station: str = "I", found_at: str = "I10"
) -> int:
    """A defect of no weight is noted at the look; the number of its row."""
    deed = door.DefectNoted(now(SERIAL).id, "finish", "swirl", 4, 6, found_at=found_at)
    outcome = said(deed, at, by, station)
    assert outcome.seq is not None, words(outcome)
    return outcome.seq
