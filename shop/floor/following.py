"""Making the floor again from its journal.

Every table of the floor but the journal itself follows from the journal: each row's deed says
how. So the tables can be taken away and made again, row by row in the order they were written,
and a floor that differs from what comes out was changed by something other than a deed.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from itertools import zip_longest
from typing import Any, Final

from django.apps import apps
from django.core.exceptions import ObjectDoesNotExist
from django.core.management.color import no_style
from django.db import DatabaseError, connection, models, transaction

from shop.craft.when import in_utc
from shop.floor import verifying
from shop.floor.door import DEEDS
from shop.floor.models import (
    AreaLook,
    AsBuilt,
    Body,
    Carton,
    Defect,
    Deviation,
    Entry,
    FretHeights,
    Gauge,
    GaugeCheck,
    GaugeStudy,
    HelpCall,
    Instrument,
    Manifest,
    Neck,
    Pair,
    Panel,
    PanelCall,
    PanelSet,
    Permit,
    Photo,
    Print,
    Reading,
    Rework,
    RoomReading,
    Slot,
    Step,
    Tag,
)

PAGE: Final = 2000  # rows

# What follows from the journal, each table before those it points to, and by which columns a
# row of it is told from the others.
KEYS: Final[dict[type[models.Model], tuple[str, ...]]] = {
    AsBuilt: ("instrument", "entry"),
    Carton: ("entry",),
    Manifest: ("number",),
    Photo: ("entry",),
    Print: ("instrument", "form", "of", "copy"),
    RoomReading: ("entry", "at"),
    Permit: ("instrument", "wood", "number"),
    HelpCall: ("entry",),
    AreaLook: ("instrument", "number"),
    Defect: ("instrument", "number"),
    Rework: ("entry",),
    Reading: ("entry", "quantity", "place"),
    FretHeights: ("entry",),
    GaugeCheck: ("entry",),
    GaugeStudy: ("entry",),
    Gauge: ("name",),
    Slot: ("code",),
    PanelCall: ("panel", "token"),
    Panel: ("name",),
    PanelSet: ("number",),
    Step: ("instrument", "seq"),
    Pair: ("instrument", "neck", "made_at"),
    Deviation: ("instrument", "words"),
    Instrument: ("body",),
    Tag: ("code",),
    Body: ("serial",),
    Neck: ("serial",),
}

# What a row that others point to is called, where that is not its number.
NAMES: Final = {
    "floor.Body": "serial",
    "floor.Neck": "serial",
    "floor.Gauge": "name",
    "floor.Manifest": "number",
    "floor.Instrument": "body__serial",
    "floor.Rework": "entry",
    "floor.Panel": "name",
    "floor.PanelSet": "number",
    "catalogue.Item": "key",
    "catalogue.Operation": "code",
    "catalogue.Spec": "key",
    "people.Badge": "code",
    "stock.Tray": "code",
}

Picture = dict[str, list[dict[str, str]]]
"""The floor by table: its rows in order, each column in plain words."""


class Unsound(Exception):
    """The journal is not as it was written: nothing is made of it."""


class Lost(Exception):
    """A row of the journal that cannot be followed; the message names it."""


@dataclass(frozen=True, slots=True)
class Made:
    """What the floor was made of again, and how many instruments stand on it."""

    rows: int
    instruments: int


def rebuild() -> Made:
    """Make the floor again from its journal, all of it or nothing.

    Raises ``Unsound`` while the journal does not verify, ``Lost`` for a row that cannot be
    followed.
    """
    with transaction.atomic():
        _alone()
        return _made_again()


def differences() -> tuple[Made, list[str]]:
    """Where the floor is not what its journal says. Nothing is changed.

    Holds the whole floor in memory, twice. Raises as ``rebuild``.
    """
    with transaction.atomic():
        _alone()
        before = picture()
        made = _made_again()
        after = picture()
        transaction.set_rollback(True)
    return made, list(_compared(before, after))


def picture() -> Picture:
    """Every table that follows from the journal, by what its rows say: a row that another
    points to by its name, since it may get another number."""
    return {_title(table): _rows(table) for table in KEYS}


def _alone() -> None:
    """Nothing is recorded until this transaction ends. SQLite has one writer anyway."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute(f"LOCK TABLE {Entry._meta.db_table} IN EXCLUSIVE MODE")


def _made_again() -> Made:
    if verifying.verify(lambda words: None).wrong:
        raise Unsound("The journal is not as it was written.")
    for table in KEYS:
        table._default_manager.all()._raw_delete(connection.alias)
    rows = 0
    for row in Entry.objects.order_by("pk").iterator(PAGE):
        _follow(row)
        rows += 1
    _number_on()
    return Made(rows, Instrument.objects.count())


def _follow(row: Entry) -> None:
    deed = DEEDS.get(row.kind)
    if deed is None:
        raise Lost(f"{row_name(row)}: no deed is called that.")
    try:
        if row.outcome == "recorded" or deed.follows_refused:
            deed.follow(row)
    except (LookupError, ValueError, TypeError, ObjectDoesNotExist, DatabaseError) as why:
        raise Lost(f"{row_name(row)}: {type(why).__name__}: {why}") from why
    if row.instrument_id is not None:
        Instrument.objects.filter(pk=row.instrument_id).update(seq=row.seq, link=row.link)


def row_name(row: Entry) -> str:
    return f"Row {row.pk} ({row.subject}, row {row.seq}, {row.kind})"


def _number_on() -> None:
    """Instruments were made under their own numbers: new ones go on after them."""
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), [Instrument]):
            cursor.execute(statement)


# --- the picture, and two of them compared ---


def _title(table: type[models.Model]) -> str:
    return str(table._meta.verbose_name).capitalize()


def _rows(table: type[models.Model]) -> list[dict[str, str]]:
    columns = {
        one.name: _named(one)
        for one in table._meta.concrete_fields
        if not one.primary_key or table is Instrument  # they keep their numbers
    }
    found = table._default_manager.order_by().values_list(*columns.values())
    rows = [dict(zip(columns, map(_plain, row), strict=True)) for row in found.iterator(PAGE)]
    return sorted(rows, key=lambda row: list(row.values()))


def _named(column: models.Field[Any, Any]) -> str:
    """The column, or where it points to another row that row's name."""
    if column.related_model is None:
        return column.name
    to = apps.get_model(column.related_model._meta.label)
    name = NAMES.get(to._meta.label)
    return f"{column.name}__{name}" if name else column.name


def _plain(value: Any) -> str:
    """The same on every database: JSON keeps its order nowhere, moments are in UTC."""
    if isinstance(value, datetime):
        return in_utc(value).isoformat(sep=" ")
    if isinstance(value, dict | list):
        return json.dumps(value, sort_keys=True, ensure_ascii=False)
    return str(value)


def _compared(before: Picture, after: Picture) -> Iterator[str]:
    for table, keys in KEYS.items():
        name = _title(table)
        stood, comes = _by_key(before[name], keys), _by_key(after[name], keys)
        for key in sorted(stood.keys() | comes.keys()):
            called = f"{name} {', '.join(key)}"
            for one, other in zip_longest(stood.get(key, ()), comes.get(key, ())):
                yield from _differs(called, one, other)


def _by_key(
    rows: list[dict[str, str]], keys: tuple[str, ...]
) -> dict[tuple[str, ...], list[dict[str, str]]]:
    found: dict[tuple[str, ...], list[dict[str, str]]] = {}
    for row in rows:
        found.setdefault(tuple(row[key] for key in keys), []).append(row)
    return found


def _differs(
    called: str, stood: Mapping[str, str] | None, comes: Mapping[str, str] | None
) -> Iterator[str]:
    if stood is None:
        yield f"{called}: the journal says it, the floor does not have it."
    elif comes is None:
        yield f"{called}: the floor has it, the journal does not say it."
    else:
        for column, value in stood.items():
            if comes[column] != value:
                yield (
                    f"{called}, {column}: {value or 'nothing'} on the floor, "
                    f"{comes[column] or 'nothing'} by the journal."
                )
