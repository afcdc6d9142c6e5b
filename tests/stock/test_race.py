"""Several clerks at one shelf at the same time: nothing is counted twice, nobody is stuck.

On a database of its own with the shop's own settings, each clerk in a process. What each does
is drawn with a seed; how they meet is up to the machine.
"""

from __future__ import annotations

import json
import time
from collections import Counter
from typing import Any

import pytest

from tests.floor.test_race import answer, own_database, run
from tests.stock import race

CLERKS, MOVES = 4, 120
# What must have been done at least once by somebody, for the race to be one.
FAR = set(race.MOVES) - {"give_up"}

Told = tuple[list[dict[str, dict[str, int]]], dict[str, Any]]


@pytest.fixture(scope="module")
def told(django_db_setup: None, tmp_path_factory: pytest.TempPathFactory) -> Told:
    """What each clerk was told, and what was so afterwards."""
    with own_database(tmp_path_factory.mktemp("clerks")) as shop:
        answer(run(shop, "manage.py", "migrate", "--verbosity", "0"))
        answer(run(shop, "-m", "tests.stock.race", "prepare"))
        start = str(time.time() + 6)
        clerks = [
            run(shop, "-m", "tests.stock.race", "clerk", str(seed), start, str(MOVES))
            for seed in range(1, CLERKS + 1)
        ]
        answers = [json.loads(answer(one)) for one in clerks]
        after = json.loads(answer(run(shop, "-m", "tests.stock.race", "look")))
    return answers, after


def results(told: Told) -> Counter[tuple[str, str]]:
    """How often each kind of move came to what, over all clerks."""
    found: Counter[tuple[str, str]] = Counter()
    for clerk in told[0]:
        for name, ends in clerk.items():
            for words, times in ends.items():
                found[name, words] += times
    return found


def test_no_move_ends_in_anything_but_a_sentence(told: Told) -> None:
    """No deadlock, no lock that was waited for too long, no count the database had to stop."""
    trouble = {key: times for key, times in results(told).items() if key[1].startswith("trouble")}
    assert trouble == {}


def test_what_is_refused_is_said_in_whole_sentences(told: Told) -> None:
    refused = [words.removeprefix("refused: ") for _, words in results(told) if "refused" in words]
    assert refused
    assert [words for words in refused if not words.endswith(".") or len(words) < 20] == []


def test_every_clerk_got_through_all_of_their_moves(told: Told) -> None:
    for clerk in told[0]:
        assert sum(sum(ends.values()) for ends in clerk.values()) == MOVES


def test_every_kind_of_move_was_done_by_somebody(told: Told) -> None:
    assert {name for name, words in results(told) if words == "done"} >= FAR


def test_the_ledger_balances_afterwards(told: Told) -> None:
    assert (told[1]["unbalanced"], told[1]["faults"]) == ([], [])
    assert told[1]["movements"] > MOVES


def test_nothing_is_reserved_twice_and_nothing_free_is_below_none(told: Told) -> None:
    assert (told[1]["below"], told[1]["reserved twice"]) == ([], [])
    assert told[1]["kept beyond what is wanted"] == 0


def test_nothing_is_fitted_twice(told: Told) -> None:
    assert told[1]["fitted beyond what was out"] == 0
