"""The hot look-ups go by an index, as the database itself explains them."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop.craft.code import Kind
from shop.floor import board, tags
from shop.floor.models import Entry, Instrument
from shop.stock import shelf
from tests.floor.morning import NOW, now

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]


def tag() -> str:
    return board.tags_of(["Q-1043"])["Q-1043"]["body"]


# What is looked up: the deed, the table, and the column its index is searched by.
LOOK_UPS: dict[str, tuple[Callable[[], Any], str, str]] = {
    "a tag by its code": (lambda: tags.find(tag(), Kind.BODY), "floor_tag", "code"),
    "an instrument by its tag": (lambda: board.by_tag(tag()), "floor_tag", "code"),
    "the live tag of a body": (lambda: tags.find(tag(), Kind.BODY), "floor_tag", "body_id"),
    "an instrument by its body": (
        lambda: board.by_serial("Q-1043"), "floor_instrument", "body_id",
    ),
    "a body by its serial": (lambda: board.by_serial("Q-1043"), "floor_body", "serial"),
    "the steps of an instrument": (
        lambda: board.by_serial("Q-1043"), "floor_step", "instrument_id",
    ),
    "an act by its key": (
        lambda: board.answered(Entry.objects.order_by("pk")[0].key), "floor_entry", "key",
    ),
    "the journal of an instrument": (
        lambda: board.journal(now("Q-1043").id), "floor_entry", "instrument_id",
    ),
    "a tray by its code": (lambda: shelf.tray(now("Q-1043").tray_code), "stock_tray", "code"),
    "the lines of a tray": (
        lambda: shelf.tray(now("Q-1043").tray_code), "stock_trayline", "tray_id",
    ),
}  # fmt: skip


def asked(deed: Callable[[], Any]) -> list[str]:
    with CaptureQueriesContext(connection) as caught:
        deed()
    return [one["sql"] for one in caught.captured_queries if one["sql"].startswith("SELECT")]


def plan(sql: str) -> list[tuple[str, str, str]]:
    """For each table of a statement, how it is reached: index and condition, or neither."""
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            # So few rows are cheaper to read through; the question is what it could do. It
            # is told how many there are, or it may take one index to be as good as another.
            cursor.execute("ANALYZE")
            cursor.execute("SET LOCAL enable_seqscan = off")
            cursor.execute(f"EXPLAIN (FORMAT JSON) {sql}")
            told = cursor.fetchone()[0]
            tree = told if isinstance(told, list) else json.loads(told)
            return list(_postgresql(tree[0]["Plan"]))
        cursor.execute(f"EXPLAIN QUERY PLAN {sql}")
        return [_sqlite(row[3]) for row in cursor.fetchall()]


def _postgresql(node: dict[str, Any], table: str = "") -> Iterator[tuple[str, str, str]]:
    table = node.get("Relation Name", table)
    by_bitmap = node["Node Type"] == "Bitmap Heap Scan"  # the index stands one node below
    if not by_bitmap and ("Relation Name" in node or "Index Name" in node):
        yield table, node.get("Index Name", ""), node.get("Index Cond", "")
    for under in node.get("Plans", ()):
        yield from _postgresql(under, table)


def _sqlite(detail: str) -> tuple[str, str, str]:
    """As in ``SEARCH floor_tag USING INDEX tag_code_once (code=?)``."""
    way, _, condition = detail.partition("(")
    table = way.split()[1] if len(way.split()) > 1 else ""
    index = way.split("INDEX")[-1].strip() if "INDEX" in way else way.split("USING")[-1].strip()
    return (table, index, condition) if way.startswith("SEARCH") else (table, index, "")


@pytest.mark.parametrize("look_up", LOOK_UPS)
def test_a_hot_look_up_is_searched_by_its_index(look_up: str) -> None:
    deed, table, column = LOOK_UPS[look_up]
    plans = [plan(sql) for sql in asked(deed) if f'"{table}"' in sql]
    ways = [way for one in plans for way in one if way[0] == table]
    assert any(index and column in condition for _, index, condition in ways), plans


@pytest.mark.parametrize("look_up", LOOK_UPS)
def test_no_table_of_a_hot_look_up_is_read_through(look_up: str) -> None:
    deed, table, _ = LOOK_UPS[look_up]
    for sql in asked(deed):
        if f'"{table}"' in sql and "operation" not in sql:
            assert all(index for reached, index, _ in plan(sql) if reached == table), sql


def test_a_look_up_without_an_index_is_told_from_one_with_it() -> None:
    """The check itself can fail: nothing is indexed by the phone an entry came from."""
    sql = str(Entry.objects.filter(device="demo").query).replace("= demo", "= 'demo'")
    assert not any("device" in condition for _, _, condition in plan(sql))


@pytest.mark.parametrize(
    ("deed", "index"),
    [(board.all_open, "instrument_open"), (lambda: board.calls(["lead"]), "call_open")],
)
def test_what_is_open_is_found_by_an_index_of_open_rows_alone(
    deed: Callable[[], Any], index: str
) -> None:
    """As in a shop after some days: nearly all it ever built is finished."""
    Instrument.objects.exclude(body__serial="Q-1043").update(finished_at=NOW)
    assert any(index in way[1] for sql in asked(deed) for way in plan(sql))


@pytest.mark.parametrize("by", ["", "station", "week"])
def test_what_stands_is_counted_along_its_index(by: board.By) -> None:
    ever = board.Spell(NOW - timedelta(days=60), NOW + timedelta(days=1))
    with CaptureQueriesContext(connection) as caught:
        board.yields(ever, by)
    stands = "s.void_at IS NULL AND s.at >= part.since"
    (counts,) = [one["sql"] for one in caught.captured_queries if stands in one["sql"]]
    (way,) = [way for way in plan(counts) if "step" in way[1]]
    assert way[1] == "step_stands"
    assert "operation_id" in way[2]
    assert "at" in way[2].replace("operation_id", "")


def test_what_stands_is_told_by_spec_instrument_by_instrument() -> None:
    """Of so few rows a database may take the smaller index, of all steps of an instrument."""
    ever = board.Spell(NOW - timedelta(days=60), NOW + timedelta(days=1))
    with CaptureQueriesContext(connection) as caught:
        board.yields(ever, "spec")
    (counts,) = [one["sql"] for one in caught.captured_queries if "word.lowest" in one["sql"]]
    ways = [way for way in plan(counts) if "step" in way[1]]
    assert ways
    assert {way[1] for way in ways} <= {"step_once", "step_of_instrument"}
    assert all("instrument_id" in way[2] for way in ways)


def test_the_index_of_what_stands_has_its_moment_on_postgresql() -> None:
    """So that it is told without reading the step. SQLite has no such index."""
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SELECT pg_get_indexdef('step_once'::regclass)")
        else:
            cursor.execute("SELECT sql FROM sqlite_master WHERE name = 'step_once'")
        (made,) = cursor.fetchone()
    assert made.startswith("CREATE UNIQUE INDEX")
    assert ("INCLUDE (at)" in made) == (connection.vendor == "postgresql")


def test_postgresql_compiles_no_statement_before_it_runs_it() -> None:
    """Measured: 820 ms to compile the look-up of all articles, below 1 ms to run it."""
    told = subprocess.run(
        [sys.executable, "-c", "from shop.settings import DATABASES as d; print(d['default'])"],
        env={
            **os.environ,
            "DATABASE_URL": "postgresql://heelcap@localhost/heelcap?options=-c+a%3Db",
        },
        cwd=Path(__file__).resolve().parents[2],
        capture_output=True,
        text=True,
        check=True,
    )
    assert "'options': '-c a=b -c jit=off'" in told.stdout
