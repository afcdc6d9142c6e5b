"""The demo workshop on its Monday morning, loaded once a module and left as it was found.

Tests of the rooms below borrow it through their own ``conftest.py``.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import Any

import pytest
from django.apps import apps
from django.contrib.auth.models import Group
from django.core.cache import cache
from django.db import connection, transaction
from django.db.models import Model
from django.test import override_settings
from django.utils.timezone import localtime

from shop.catalogue import book
from shop.craft.start import Person
from shop.floor import board, door
from shop.floor.demo import loading, measuring
from shop.people import badges
from shop.people.models import Badge
from shop.stock import guard, ledger, shelf

# A Monday of the invented workshop, between two steps.
SEVEN = datetime(2031, 3, 3, 7, tzinfo=UTC)
NOW = datetime(2031, 3, 3, 9, 30, tzinfo=UTC)
QUICK = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@pytest.fixture(scope="module")
def morning(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:
    """The demo in one open transaction: each test's own lies inside it."""
    with django_db_blocker.unblock():
        outer = transaction.atomic()
        outer.__enter__()
        forget()
        lay_out()
    yield
    with django_db_blocker.unblock():
        transaction.set_rollback(True)
        outer.__exit__(None, None, None)


# The rows of each table once the demo was loaded, and the groups they were loaded for.
ROWS: dict[str, list[tuple[Any, ...]]] = {}
GROUPS: list[int] = []
ROOMS = ("people", "catalogue", "stock", "floor")


def lay_out() -> None:
    """Load the demo by its own doors the first time, and by its rows from then on."""
    groups = list(Group.objects.order_by("pk").values_list("pk", flat=True))
    if groups == GROUPS:
        # Lots come with their counts here, which the ledger's guard would not have.
        guard.take_down()
        for table, kept in ROWS.items():
            _insert(table, kept)
        guard.put_up()
        return
    with override_settings(PASSWORD_HASHERS=QUICK):
        loading.load(NOW)
    GROUPS[:] = groups
    models = [model for room in ROOMS for model in apps.get_app_config(room).get_models(True)]
    ROWS.update((model._meta.db_table, _rows(model)) for model in models if model._meta.managed)


def _rows(model: type[Model]) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT * FROM {connection.ops.quote_name(model._meta.db_table)}")
        return list(cursor.fetchall())


def _insert(table: str, kept: list[tuple[Any, ...]]) -> None:
    if kept:
        places = ", ".join(["%s"] * len(kept[0]))
        with connection.cursor() as cursor:
            quoted = connection.ops.quote_name(table)
            cursor.executemany(f"INSERT INTO {quoted} VALUES ({places})", kept)


@pytest.fixture(autouse=True)
def _fresh(settings: Any) -> None:
    """Nothing is remembered of a test that was rolled back: its ids come again.

    No static files are gathered for these tests.
    """
    settings.STATIC_ROOT = None
    forget()


def forget() -> None:
    book.sheet.cache_clear()
    cache.clear()


@contextmanager
def undone() -> Iterator[None]:
    """What happens inside never was."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)
    forget()


def act(
    by: str = "P-11",
    station: str = "N",
    at: datetime = NOW,
    key: uuid.UUID | None = None,
    reason: str = "",
    **more: Any,
) -> door.Act:
    """Somebody at a station, on a phone that makes a new key each time."""
    badge = Badge.objects.get(code=by)
    more.setdefault("person", badges.person(badge))
    return door.Act(
        key=key or uuid.uuid4(),
        by_id=badge.pk,
        by=by,
        at=at,
        station=station,
        reason=reason,
        **more,
    )


def person(by: str) -> Person:
    return badges.person(Badge.objects.get(code=by))


def asking(by: str, station: str, at: datetime = NOW, beside: str = "") -> board.Asking:
    """Somebody looks at a screen at a station, with a trainer or witness beside them or not."""
    return board.Asking(person(by), station, localtime(at), person(beside) if beside else None)


def now(serial: str) -> board.State:
    found = board.by_serial(serial)
    assert found is not None, f"no instrument {serial} on this floor"
    return found


def rules(outcome: door.Outcome) -> list[str]:
    return [one.rule for one in outcome.findings]


def words(outcome: door.Outcome) -> str:
    return " ".join(one.words for one in outcome.findings)


def check_tray(
    serial: str, by: str = "P-11", station: str = "N", of: str = "", at: datetime = NOW
) -> door.Outcome:
    """Scan the tray of ``of``, or the instrument's own, beside an instrument."""
    it = now(serial)
    return door.record(act(by, station, at), door.TrayChecked(it.id, now(of or serial).tray_code))


def step(
    serial: str,
    operation: str,
    by: str = "P-11",
    station: str = "N",
    at: datetime = NOW,
    neck: str = "",
    reason: str = "",
) -> door.Outcome:
    return door.record(
        act(by, station, at, reason=reason), door.StepDone(now(serial).id, operation, neck)
    )


def measured(
    serial: str,
    operation: str,
    by: str = "P-11",
    station: str = "N",
    at: datetime = NOW,
    **differs: str,
) -> door.Outcome:
    """Measure all an operation asks for: each as it should be, but for the quantities named."""
    it = now(serial)
    stop = it.sheet.stop(operation)
    assert stop is not None, f"{operation} is not on the route of {serial}"
    usual = measuring.readings(it, stop)
    values = {spot: differs.get(spot[0], value) for spot, value in usual.items()}
    return door.record(
        act(by, station, at), door.Gauged(it.id, operation, values, sure=frozenset(values))
    )


def prepared(
    serial: str, operation: str, by: str = "P-11", station: str = "N", at: datetime = NOW
) -> Iterator[door.Outcome]:
    """All that an operation asks for before it is recorded, each as it should be: the room
    read, the tray scanned, the values measured, areas and posts looked at."""
    stop = now(serial).sheet.stop(operation)
    assert stop is not None, f"{operation} is not on the route of {serial}"
    if stop.facts.glue:
        yield door.record(act(by, station, at), loading.ROOM)
    if stop.facts.needs == "tray":
        yield check_tray(serial, by, station, at=at)
    if measuring.readings(now(serial), stop):
        yield measured(serial, operation, by, station, at)
    if stop.facts.checklist:
        for looked in measuring.looked_at(now(serial), stop):
            yield door.record(act(by, station, at), looked)
    if stop.facts.positions:
        placed = door.Placed(now(serial).id, operation, measuring.marks(now(serial)))
        yield door.record(act(by, station, at, reason="No camera here"), placed)


def ready_for(
    serial: str, operation: str, by: str = "P-11", station: str = "N", at: datetime = NOW
) -> None:
    """The operation needs nothing but to be done and recorded."""
    for outcome in prepared(serial, operation, by, station, at):
        assert outcome.done, words(outcome)


def pick(serial: str, short: tuple[str, ...] = ()) -> int:
    """Put into the tray what its lines want; the items named are noted as short."""
    tray = shelf.tray(now(serial).tray_id)
    assert tray is not None
    ledger.put_in(tray["id"], [put(line, line["article"].key in short) for line in tray["lines"]])
    number: int = tray["id"]
    check_lines(number)
    return number


def check_lines(tray_id: int) -> None:
    """Count every line that lies in the tray and was not checked yet."""
    tray = shelf.tray(tray_id)
    assert tray is not None
    for line in tray["lines"]:
        if line["to_check"]:
            ledger.check_line(line["id"], "count", line["quantity"], act("P-41").by_id, NOW)


def put(line: dict[str, Any], short: bool = False) -> ledger.PutIn:
    """One line as the clerk notes it, machines counted into their wells."""
    wells = getattr(line["article"], "left", None), getattr(line["article"], "right", None)
    if short:
        return ledger.PutIn(line["id"], None)
    return ledger.PutIn(line["id"], line["item_id"], *wells)
