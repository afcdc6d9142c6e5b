"""Many writers on one SQLite file: nobody is turned away and nobody is overtaken for long."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from collections import Counter
from contextlib import closing
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PROCESSES = ("a", "b")
THREADS = 4
TURNS = 60
OTHERS = len(PROCESSES) * THREADS - 1


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[str, int]]:
    """Writer and number of each row, in the order of writing."""
    database = tmp_path_factory.mktemp("line") / "turns.sqlite3"
    with closing(sqlite3.connect(database)) as connection:
        connection.execute("PRAGMA journal_mode=WAL")
        connection.execute(
            "CREATE TABLE turn (id INTEGER PRIMARY KEY AUTOINCREMENT, writer TEXT, number INTEGER)"
        )
    hammer = [sys.executable, "-m", "tests.database.hammer", str(database)]
    hammers = [
        subprocess.Popen(
            [*hammer, name, str(THREADS), str(TURNS)],
            cwd=ROOT,
            stdout=subprocess.PIPE,
            text=True,
        )
        for name in PROCESSES
    ]
    failed = [one.communicate(timeout=120)[0].strip() for one in hammers]
    assert failed == ["0"] * len(PROCESSES), "a writer was told that the database is locked"
    with closing(sqlite3.connect(database)) as connection:
        return connection.execute("SELECT writer, number FROM turn ORDER BY id").fetchall()


def test_every_row_of_two_processes_with_four_threads_each_is_there(
    written: list[tuple[str, int]],
) -> None:
    assert Counter(writer for writer, _ in written) == {
        f"{name}{thread}": TURNS for name in PROCESSES for thread in range(THREADS)
    }


def test_each_writer_writes_in_its_own_order(written: list[tuple[str, int]]) -> None:
    for wanted in {writer for writer, _ in written}:
        assert [number for writer, number in written if writer == wanted] == list(range(TURNS))


def test_a_writer_in_line_is_passed_by_each_other_writer_about_once(
    written: list[tuple[str, int]],
) -> None:
    """Twice round is taken as late; 5 in 100 may be, since a busy machine can hold a thread
    back before it joins the line. Invented limits: with a lock that is not fair, 13 in 100
    were late on the machine where this was first tried, with a fair one none.
    """
    last: dict[str, int] = {}
    passed: list[int] = []
    for place, (writer, _) in enumerate(written):
        if writer in last:
            passed.append(place - last[writer] - 1)
        last[writer] = place
    late = sum(others > 2 * OTHERS for others in passed)
    assert late <= 0.05 * len(passed)
