"""The journal as somebody with a tool of the database might leave it, the guard taken down."""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.core.management import call_command
from django.db import connection
from django.db.models import QuerySet

from shop.floor import chain, guard
from shop.floor.models import Entry, Instrument
from tests.floor.morning import now, undone


@contextmanager
def tampering() -> Iterator[None]:
    """Inside, rows can be altered and taken away; afterwards they never were."""
    with undone():
        guard.take_down()
        yield


def plain_rows() -> QuerySet[Entry]:
    """The rows by Django's own queryset, which may do what the journal's may not."""
    return QuerySet(Entry)


def alter(row: Entry, **columns: Any) -> None:
    assert plain_rows().filter(pk=row.pk).update(**columns) == 1


def take_away(*rows: Entry) -> None:
    numbers = [row.pk for row in rows]
    assert plain_rows().filter(pk__in=numbers)._raw_delete(connection.alias) == len(numbers)


def rows_of(serial: str) -> list[Entry]:
    """An instrument's rows in their order."""
    return list(Entry.objects.filter(instrument_id=now(serial).id).order_by("seq"))


def loose_rows() -> list[Entry]:
    return list(Entry.objects.filter(instrument=None).order_by("seq"))


def relink(serial: str) -> None:
    """Write an instrument's links and its end anew, as somebody who knows the rule would."""
    seq, link = 0, ""
    for row in rows_of(serial):
        seq, link = row.seq, chain.link_of(row, link)
        alter(row, link=link)
    Instrument.objects.filter(body__serial=serial).update(seq=seq, link=link)


def said_by(*command: str) -> str:
    """What a command of the shop prints."""
    out = io.StringIO()
    call_command(*command, stdout=out, stderr=out)
    return out.getvalue()
