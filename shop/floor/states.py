"""Instruments as they stand now, each read in two statements, all that are open in three."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from django.db import connection

from shop.craft.clocks import Air
from shop.database.statement import Statement
from shop.floor.models import Instrument, Step, Tag
from shop.floor.state import COLUMNS, STEP, State, air_since, departures_of, of_row

_BY_TAG = Statement(
    lambda code: Instrument.objects.filter(
        body__tags__code=code, body__tags__void_at__isnull=True
    ).values_list(*COLUMNS),
    str,
)
_BY_ID = Statement(lambda pk: Instrument.objects.filter(pk=pk).values_list(*COLUMNS), int)
_NUMBER = Statement(
    lambda code: Tag.objects.filter(code=code, void_at__isnull=True).values_list(
        "body__instrument"
    ),
    str,
)
# A struck step never was so. What a loop does again was: its hands still count.
_STEPS = Statement(
    lambda pk: Step.objects.filter(instrument_id=pk, struck=False).values_list(*STEP), int
)


def by_id(instrument_id: int, lock: bool = False) -> State | None:
    """The instrument with this number, held until the transaction ends if ``lock``."""
    if lock and connection.features.has_select_for_update:
        # A row lock alone: what is read after it is what stands.
        held = Instrument.objects.select_for_update(of=("self",)).filter(pk=instrument_id)
        if not held.values_list("pk").first():
            return None
    return _first(_BY_ID.rows(instrument_id))


def by_tag(code: str) -> State | None:
    """The instrument this live body tag hangs on; one statement from the tag's unique code."""
    return _first(_BY_TAG.rows(code))


def number_of(code: str) -> int | None:
    """The number of the instrument this live body tag hangs on."""
    found: list[tuple[int | None]] = _NUMBER.rows(code)
    return found[0][0] if found else None


def by_serial(serial: str) -> State | None:
    """The instrument with this serial. No serial has a NUL, which PostgreSQL takes in no text."""
    if "\0" in serial:
        return None
    rows = Instrument.objects.filter(body__serial=serial).values_list(*COLUMNS)
    return _first(list(rows))


def by_serials(serials: Sequence[str]) -> dict[str, State]:
    """Those of these instruments that there are; the same few statements for any number."""
    asked = [one for one in serials if "\0" not in one]
    rows = Instrument.objects.filter(body__serial__in=asked).values_list(*COLUMNS)
    found = list(rows)
    steps = _steps([row[0] for row in found])
    departures = departures_of([row[0] for row in found])
    them = _aired([of_row(row, steps[row[0]]) for row in found])
    return {one.serial: replace(one, departed=departures[one.id]) for one in them}


def _first(rows: list[tuple[Any, ...]]) -> State | None:
    for row in rows:
        return of_row(row, _STEPS.rows(row[0]))
    return None


def all_open() -> list[State]:
    """Every instrument not finished, by due date; the same few statements for any number."""
    found = list(Instrument.objects.filter(finished_at__isnull=True).values_list(*COLUMNS))
    steps = _steps([row[0] for row in found])
    return _aired([of_row(row, steps[row[0]]) for row in found])


def _aired(them: list[State]) -> list[State]:
    """The same instruments, each with the room since its own hold began: read once for all."""
    cased = [one.cased_at for one in them if one.cased_at]
    air = air_since(min(cased)) if cased else ()
    return [replace(one, air=_since(air, one.cased_at)) if one.cased_at else one for one in them]


def _since(air: tuple[Air, ...], moment: datetime) -> tuple[Air, ...]:
    before = [one for one in air if one.at <= moment]
    return (*before[-1:], *(one for one in air if one.at > moment))


def _steps(ids: list[int]) -> dict[int, list[tuple[Any, ...]]]:
    steps: dict[int, list[tuple[Any, ...]]] = {number: [] for number in ids}
    rows = Step.objects.filter(instrument_id__in=ids, struck=False)
    for number, *step in rows.values_list("instrument_id", *STEP):
        steps[number].append(tuple(step))
    return steps
