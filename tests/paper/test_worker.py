"""The print worker at work: real processes on a database of their own.

What is asked for in one process is printed by another, each job once however many work.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from shop.paper import working
from tests.floor.test_race import ROOT, answer, own_database, run

COUNT = 15
PATIENCE_S = 240  # until a test gives a process up that does not end, on a machine with much to do

Shop = dict[str, str]


@pytest.fixture(scope="module")
def shop(django_db_setup: None, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    with own_database(tmp_path_factory.mktemp("worker")) as one:
        here = one | {"HEELCAP_PRINT_WORKER": "apart"}
        answer(run(here, "manage.py", "migrate", "--verbosity", "0"))
        answer(run(here, "manage.py", "load_demo"))
        yield here


def ask(shop: Shop, form: str) -> None:
    answer(run(shop, "-m", "tests.paper.asking", form, str(COUNT)))


def look(shop: Shop) -> dict[str, Any]:
    told: dict[str, Any] = json.loads(answer(run(shop, "-m", "tests.paper.asking", "look")))
    return told


def test_what_was_put_off_is_printed_by_the_worker_who_then_ends(shop: Shop) -> None:
    ask(shop, "traveller")
    waits = look(shop)
    assert [job[2] for job in waits["jobs"]] == ["waiting"]
    assert (waits["printed"], waits["files"]) == ([], [])
    answer(run(shop, "manage.py", "print_worker"))
    done = look(shop)
    assert [job[:4] for job in done["jobs"]] == [["traveller", COUNT, "done", COUNT]]
    assert [copy for form, _, copy in done["printed"]] == [1] * COUNT
    assert (done["entries"], done["tasks"], done["files"]) == (COUNT, ["SUCCESSFUL"], [".pdf"])


@pytest.mark.parametrize(
    "worker",
    [["print_worker"], ["db_worker", "--batch", "--no-startup-delay"]],
    ids=["in turn", "side by side"],
)
def test_two_workers_started_at_once_do_each_job_once(shop: Shop, worker: list[str]) -> None:
    before = look(shop)
    ask(shop, "traveller")
    ask(shop, "tray_label")
    workers = [run(shop, "manage.py", *worker) for _ in range(2)]
    for one in workers:
        answer(one)
    after = look(shop)
    jobs = after["jobs"][len(before["jobs"]) :]
    assert [job[:4] for job in jobs] == [
        ["traveller", COUNT, "done", COUNT],
        ["tray_label", COUNT, "done", COUNT],
    ]
    assert after["entries"] == before["entries"] + 2 * COUNT
    times = Counter(tuple(one) for one in after["printed"])
    assert set(times.values()) == {1}, "no copy is recorded twice"
    assert set(after["tasks"]) == {"SUCCESSFUL"}


def prints(shop: Shop) -> list[str]:
    """The names of all files that jobs have now; a draft goes when its job is done."""
    return [path.name for path in Path(shop["HEELCAP_DATA"], "prints").glob("*")]


def wait_for_one_more(shop: Shop, before: list[str]) -> None:
    for _ in range(PATIENCE_S * 5):
        now = prints(shop)
        if len(now) == len(before) + 1 and all(name.count(".") == 1 for name in now):
            return
        time.sleep(0.2)
    raise AssertionError(f"nothing more was printed: {prints(shop)}")


def test_the_shop_starts_its_worker_by_itself_where_it_is_to(shop: Shop) -> None:
    before = prints(shop)
    ask(shop | {"HEELCAP_PRINT_WORKER": "start"}, "traveller")
    wait_for_one_more(shop, before)
    assert look(shop)["jobs"][-1][:4] == ["traveller", COUNT, "done", COUNT]
    assert Path(shop["HEELCAP_DATA"], working.LOG).read_text() == ""


def test_a_worker_that_stays_prints_what_comes_later_and_ends_when_told(shop: Shop) -> None:
    before = prints(shop)
    stays = run(shop, "manage.py", "print_worker", "--stay")
    try:
        ask(shop, "tray_label")
        wait_for_one_more(shop, before)
        assert stays.poll() is None, "it stays"
        stays.send_signal(signal.SIGTERM)
        answer(stays)
    finally:
        stays.kill()
    assert look(shop)["jobs"][-1][:4] == ["tray_label", COUNT, "done", COUNT]


def test_a_choice_there_is_not_is_told_before_the_shop_opens(tmp_path: Path) -> None:
    wrong = {**os.environ, "HEELCAP_DATA": str(tmp_path), "HEELCAP_PRINT_WORKER": "always"}
    told = subprocess.run(
        [sys.executable, "manage.py", "check"], cwd=ROOT, env=wrong, capture_output=True, text=True
    )
    assert told.returncode != 0
    assert "HEELCAP_PRINT_WORKER is 'always'. Give start or apart" in told.stderr


HOLD = """
import sys
from django.conf import settings
from pathlib import Path
settings.configure(DATA_DIR=Path(sys.argv[1]))
from shop.paper.working import turn
with turn(stay=sys.argv[2] == "stay") as mine:
    print(mine, flush=True)
    if mine:
        sys.stdin.readline()
"""


def at_the_press(folder: Path, how: str = "") -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", HOLD, str(folder), how],
        cwd=ROOT,
        env=dict(os.environ),
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )


def test_one_works_one_waits_and_a_third_is_not_needed(tmp_path: Path) -> None:
    first = at_the_press(tmp_path)
    assert first.stdout is not None
    assert first.stdout.readline() == "True\n"
    others = [at_the_press(tmp_path) for _ in range(2)]
    third = first_to_end(others)
    assert third.communicate(timeout=PATIENCE_S)[0] == "False\n"
    (second,) = (one for one in others if one is not third)
    assert second.poll() is None, "it waits"
    first.communicate("\n", timeout=PATIENCE_S)
    assert second.communicate("\n", timeout=PATIENCE_S)[0] == "True\n"


def test_the_place_of_a_worker_that_was_killed_is_free(tmp_path: Path) -> None:
    first = at_the_press(tmp_path)
    assert first.stdout is not None
    assert first.stdout.readline() == "True\n"
    first.kill()
    first.communicate(timeout=PATIENCE_S)
    assert at_the_press(tmp_path).communicate("\n", timeout=PATIENCE_S)[0] == "True\n"


def first_to_end(processes: list[subprocess.Popen[str]]) -> subprocess.Popen[str]:
    for _ in range(PATIENCE_S * 10):
        for one in processes:
            if one.poll() is not None:
                return one
        time.sleep(0.1)
    raise AssertionError("none of them ended")
