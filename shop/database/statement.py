"""Statements composed once and run many times with other values.

Composing SQL costs Django more than the database needs to answer it. On the two or three
look-ups every scan makes, and the two rows every record adds, that is most of the time, so
these are composed once for each kind of database and kept; the queryset and the model stay
the one place that says what is asked and what is kept.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any, Final
from uuid import UUID

from django.db import connection
from django.db.models import Model, QuerySet
from django.db.models.sql import InsertQuery

# Unlike anything a queryset holds of its own accord (a True would equal a 1).
STAND_INS: Final[dict[type, int | str | UUID]] = {
    int: -918273645,
    str: "the value to come",
    UUID: UUID(int=918273645),
}


class Statement:
    """``build`` makes the queryset (of ``values_list``) from a stand-in for its one value.

    ``kind`` is the type of that value.
    """

    def __init__(
        self, build: Callable[[Any], QuerySet[Any, Any]], kind: type[int] | type[str] | type[UUID]
    ) -> None:
        self._build = build
        self._stand_in = STAND_INS[kind]
        self._composed: dict[str, tuple[str, tuple[Any, ...]]] = {}

    def rows(self, value: int | str | UUID) -> list[tuple[Any, ...]]:
        """The rows for this value; moments are aware, in UTC."""
        sql, parameters = self._composed.get(connection.vendor) or self._compose()
        stand_in, real = _kept_as(self._stand_in), _kept_as(value)
        with connection.cursor() as cursor:
            cursor.execute(sql, [real if one == stand_in else one for one in parameters])
            return [tuple(map(_aware, row)) for row in cursor.fetchall()]

    def _compose(self) -> tuple[str, tuple[Any, ...]]:
        composed = self._build(self._stand_in).query.sql_with_params()
        self._composed[connection.vendor] = composed
        return composed


def _kept_as(value: int | str | UUID) -> int | str | UUID:
    """A UUID as this database keeps it."""
    if isinstance(value, UUID) and not connection.features.has_native_uuid_field:
        return value.hex
    return value


def _aware(value: Any) -> Any:
    """SQLite keeps moments without a zone; they are UTC."""
    if type(value) is datetime and value.tzinfo is None:
        return value.replace(tzinfo=UTC)
    return value


class Insertion:
    """The insertion of one model's rows. ``add`` gives the row its key, as ``save`` would."""

    def __init__(self, model: type[Model]) -> None:
        self._model = model
        key = model._meta.pk
        self._fields = [one for one in model._meta.local_concrete_fields if one is not key]
        self._composed: dict[str, str] = {}

    def add(self, row: Model) -> None:
        """Insert a new row. Raises ``IntegrityError`` as ``save`` does."""
        sql = self._composed.get(connection.vendor) or self._compose(row)
        values = [
            one.get_db_prep_save(getattr(row, one.attname), connection) for one in self._fields
        ]
        with connection.cursor() as cursor:
            cursor.execute(sql, values)
            (row.pk,) = cursor.fetchone()
        row._state.adding = False
        row._state.db = connection.alias

    def _compose(self, row: Model) -> str:
        query = InsertQuery(self._model)
        query.insert_values(self._fields, [row])
        compiler = query.get_compiler(connection=connection)
        compiler.returning_fields = [self._model._meta.pk]
        ((sql, _),) = compiler.as_sql()
        self._composed[connection.vendor] = str(sql)
        return str(sql)
