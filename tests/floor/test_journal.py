"""The journal is added to and read; nothing in the shop can rewrite it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from django.db import DatabaseError, connection, transaction

from shop.floor import board, guard
from shop.floor.models import Entry, Instrument, Loose
from tests.floor.morning import now, step, undone

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]


def one() -> Entry:
    return Entry.objects.filter(instrument__isnull=False).order_by("pk")[0]


def save_again(row: Entry) -> Any:
    row.reason = "Never said"
    row.save()


def twin(row: Entry) -> Entry:
    return Entry(**{field.attname: getattr(row, field.attname) for field in Entry._meta.fields})


def instrument(serial: str) -> Instrument:
    return Instrument.objects.get(body__serial=serial)


def add_to_another(row: Entry) -> None:
    instrument("Q-1050").journal.add(row)


def clear_relation(_: Entry) -> None:
    instrument("Q-1050").journal.clear()


REWRITES: dict[str, Callable[[Entry], Any]] = {
    "save": save_again,
    "save of some fields": lambda row: row.save(update_fields=["reason"]),
    "delete": lambda row: row.delete(),
    "update": lambda _: Entry.objects.update(reason="Never said"),
    "filtered update": lambda row: Entry.objects.filter(pk=row.pk).update(reason="Never said"),
    "delete of all": lambda _: Entry.objects.all().delete(),
    "bulk update": lambda row: Entry.objects.bulk_update([row], ["reason"]),
    "update or create": lambda row: Entry.objects.update_or_create(
        key=row.key, defaults={"reason": "Never said"}
    ),
    "upsert": lambda row: Entry.objects.bulk_create(
        [twin(row)], update_conflicts=True, update_fields=["reason"], unique_fields=["id"]
    ),
    "relation": add_to_another,
    "relation update": lambda row: row.instrument and row.instrument.journal.update(reason="No"),
    "relation clear": clear_relation,
    "base manager": lambda _: Entry._base_manager.update(reason="Never said"),
}


@pytest.mark.parametrize("way", REWRITES)
def test_no_way_through_the_models_rewrites_the_journal(way: str) -> None:
    before = list(Entry.objects.order_by("pk").values())
    with pytest.raises(PermissionError, match="The journal"), transaction.atomic():
        REWRITES[way](one())
    assert list(Entry.objects.order_by("pk").values()) == before


# What a tool of the database can say, past all that the shop's own code refuses.
STATEMENTS = {
    "one row altered": "UPDATE floor_entry SET reason = 'Never said' WHERE seq = 1",
    "all rows altered": "UPDATE floor_entry SET at = claimed_at",
    "a row altered to what it is": "UPDATE floor_entry SET reason = reason WHERE seq = 1",
    "one row taken out": "DELETE FROM floor_entry WHERE seq = 1",
    "all rows taken out": "DELETE FROM floor_entry",
    "taken out as a whole, or put in the place of another": {
        "postgresql": "TRUNCATE floor_entry CASCADE",
        "sqlite": "REPLACE INTO floor_entry SELECT * FROM floor_entry WHERE seq = 1",
    }[connection.vendor],
    "altered where it collides": (
        "INSERT INTO floor_entry SELECT * FROM floor_entry WHERE seq = 1 "
        "ON CONFLICT (id) DO UPDATE SET reason = 'Never said'"
    ),
}


def refused(statement: str) -> None:
    """The database itself refuses it, in the journal's words."""
    connection.check_constraints()  # else PostgreSQL stops at what it has not checked yet
    before = list(Entry.objects.order_by("pk").values())
    with (
        pytest.raises(DatabaseError, match="The journal keeps every row as it was written"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(statement)
    assert list(Entry.objects.order_by("pk").values()) == before


@pytest.mark.parametrize("what", STATEMENTS)
def test_the_database_refuses_to_rewrite_the_journal(what: str) -> None:
    """The guard was put up by the migrations alone."""
    refused(STATEMENTS[what])


def test_a_guard_put_up_twice_is_as_good_as_once() -> None:
    guard.put_up()
    guard.put_up()
    refused(STATEMENTS["one row altered"])
    step("Q-1043", "N40")  # and rows are still added


def test_a_guard_taken_down_and_put_up_again_guards_again() -> None:
    with undone():
        guard.take_down()
        with connection.cursor() as cursor:
            cursor.execute(STATEMENTS["one row altered"])
            assert cursor.rowcount > 0
        guard.put_up()
        refused(STATEMENTS["one row altered"])


def test_a_database_without_a_journal_yet_needs_no_guard(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(guard, "TABLE", "not_there_yet")
    monkeypatch.setattr(guard, "run", lambda statements: pytest.fail("nothing to guard"))
    guard.put_up()


def test_rows_can_still_be_added_together() -> None:
    row = twin(one())
    row.pk, row.instrument_id, row.seq = None, None, Loose.objects.get().seq + 1
    row.key = type(row.key)(int=row.key.int ^ 1)
    Entry.objects.bulk_create([row])
    assert Entry.objects.filter(key=row.key).exists()


def test_the_journal_is_read_newest_first() -> None:
    step("Q-1043", "N40")
    rows = board.journal(now("Q-1043").id)
    assert [row["seq"] for row in rows] == list(range(len(rows), 0, -1))
    assert (rows[0]["kind"], rows[0]["outcome"]) == ("step", "refused")


def test_only_the_newest_rows_asked_for_are_read() -> None:
    assert len(board.journal(now("Q-1037").id, newest=3)) == 3
