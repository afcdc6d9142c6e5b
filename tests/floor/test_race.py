"""The same moment on several phones: exactly one wins, and everyone is told the truth.

On a database of its own with the shop's own settings, in two processes of two threads.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
import uuid
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import psycopg
import pytest
from django.db import connection

from tests.floor import race

ROOT = Path(__file__).resolve().parents[2]
CASES = [
    "step", "same step", "release", "arrival", "same arrival", "tray", "badges", "start", "necks",
    "tag", "tag again", "paper",
]  # fmt: skip
PROCESSES = 2
THREADS = 2
PHONES = PROCESSES * THREADS
# What the first words of each case's losers are.
LOST = {
    "step": "done",
    "release": "body",
    "arrival": "arrived",
    "tray": "tray closed",
    "badges": "done",
    "start": "open",
    "tag": "print copy",
    "tag again": "print copy",
    "paper": "print copy",
}


@contextmanager
def own_database(folder: Path) -> Iterator[dict[str, str]]:
    """The environment of a shop with a database of its own, of the kind under test."""
    shop = {**os.environ, "HEELCAP_DATA": str(folder)}
    shop.pop("DATABASE_URL", None)
    if connection.vendor != "postgresql":
        yield shop
        return
    url, name = os.environ["DATABASE_URL"], f"race_{uuid.uuid4().hex[:12]}"
    with psycopg.connect(url, autocommit=True) as server:
        server.execute(f"CREATE DATABASE {name}".encode())
        try:
            yield shop | {"DATABASE_URL": urlsplit(url)._replace(path=f"/{name}").geturl()}
        finally:
            server.execute(f"DROP DATABASE {name} WITH (FORCE)".encode())


def run(shop: dict[str, str], *command: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, *command], cwd=ROOT, env=shop, stdout=subprocess.PIPE, text=True
    )


def answer(process: subprocess.Popen[str]) -> str:
    told, _ = process.communicate(timeout=300)
    assert process.returncode == 0
    return told


Told = tuple[dict[str, list[race.Told]], dict[str, Any]]


@pytest.fixture(scope="module")
def told(django_db_setup: None, tmp_path_factory: pytest.TempPathFactory) -> Told:
    """What each phone was told in each case, and what was so afterwards."""
    with own_database(tmp_path_factory.mktemp("race")) as shop:
        answer(run(shop, "manage.py", "migrate", "--verbosity", "0"))
        answer(run(shop, "manage.py", "load_demo"))
        answer(run(shop, "-m", "tests.floor.race", "prepare"))
        start = str(time.time() + 6)
        racing = ["-m", "tests.floor.race", json.dumps(CASES), start, str(THREADS)]
        racers = [run(shop, *racing, str(one * THREADS)) for one in range(PROCESSES)]
        answers = [one for racer in racers for one in json.loads(answer(racer))]
        after = json.loads(answer(run(shop, "-m", "tests.floor.race", "look")))
    outcomes: dict[str, list[race.Told]] = {name: [] for name in CASES}
    for one in answers:
        outcomes[one["case"]].append(race.Told(**one))
    return outcomes, after


@pytest.mark.parametrize("case", LOST)
def test_of_several_phones_at_one_moment_exactly_one_records(told: Told, case: str) -> None:
    results = Counter(one.result for one in told[0][case])
    assert results == {"recorded": 1, "refused": PHONES - 1}


@pytest.mark.parametrize("case", LOST)
def test_those_who_came_second_are_told_why(told: Told, case: str) -> None:
    lost = [one for one in told[0][case] if one.result == "refused"]
    assert all(LOST[case] in one.rules for one in lost)


@pytest.mark.parametrize("case", ["same step", "same arrival"])
def test_one_act_sent_from_several_threads_is_done_once_and_the_rest_hear_already(
    told: Told, case: str
) -> None:
    results = Counter(one.result for one in told[0][case])
    assert results == {"recorded": 1, "already": PHONES - 1}


def test_of_several_badges_at_one_step_the_others_are_told_who_recorded_it(told: Told) -> None:
    (first,) = [one.by for one in told[0]["badges"] if one.result == "recorded"]
    lost = [one for one in told[0]["badges"] if one.result == "refused"]
    assert all("was recorded" in one.words and f"by {first}" in one.words for one in lost)
    assert {one.by for one in lost} == {*race.PLACES["badges"][0]} - {first}
    assert told[1]["badges"] == [first]


def test_of_several_people_who_begin_one_step_the_others_are_told_who_has_it(told: Told) -> None:
    (first,) = [one.by for one in told[0]["start"] if one.result == "recorded"]
    lost = [one for one in told[0]["start"] if one.result == "refused"]
    assert all(f"{first} has J20 open" in one.words for one in lost)
    assert told[1]["open"] == first


def test_two_necks_swapped_and_scanned_at_both_bodies_at_once_freeze_both(told: Told) -> None:
    """Each scan holds its own body and then the other: they meet in the middle."""
    assert [(one.result, one.rules) for one in told[0]["necks"]] == [
        ("refused", ["R39"])
    ] * PHONES * race.TIMES["necks"]
    assert told[1]["frozen"] == [True, True]


def test_of_a_tag_printed_at_one_moment_on_several_phones_one_code_is_in_use(told: Told) -> None:
    first, again = told[1]["tags"]
    assert first == [["printed", True, ""]]
    assert again == [["printed", False, "reprint"], ["printed", True, ""]]


def test_a_copy_that_was_raced_for_is_there_once(told: Told) -> None:
    assert told[1]["copies"] == [[1], [1, 2], [1]]


def test_the_step_that_was_raced_for_is_there_once(told: Told) -> None:
    assert (told[1]["steps"], told[1]["same steps"], told[1]["rows of one key"]) == (1, 1, 1)


def test_parts_that_were_raced_for_are_there_once(told: Told) -> None:
    assert (told[1]["released"], told[1]["arrived"]) == (1, [1, 1])


def test_stock_that_was_raced_for_went_down_once(told: Told) -> None:
    assert (told[1]["deducted"], told[1]["T01"], told[1]["unbalanced"]) == (1, 13, [])


def test_every_try_is_in_the_journal_in_one_unbroken_sequence(told: Told) -> None:
    for sequence in told[1]["sequences"].values():
        assert sequence == list(range(1, len(sequence) + 1))
    assert len(told[1]["sequences"]["Q-1043"]) >= PHONES
