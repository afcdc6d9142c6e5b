"""A floor as an older release kept it comes forward: chained, whole, and made again the same."""

from __future__ import annotations

import json
from typing import Any

import pytest

from tests.floor.before import SAID
from tests.floor.test_race import answer, own_database, run


@pytest.fixture(scope="module")
def told(django_db_setup: None, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    with own_database(tmp_path_factory.mktemp("before")) as shop:
        found: dict[str, Any] = json.loads(answer(run(shop, "-m", "tests.floor.before")))
    return found


def test_rows_of_every_kind_there_was_came_forward(told: dict[str, Any]) -> None:
    assert told["kinds"] == sorted(SAID)


def test_what_was_written_before_is_chained_and_whole(told: dict[str, Any]) -> None:
    said, failed = told["verified"]
    assert failed == ""
    assert said.splitlines()[0].endswith("chains, whole.")


def test_the_floor_made_again_from_older_rows_is_as_it_was(told: dict[str, Any]) -> None:
    said, failed = told["rebuilt"]
    assert failed == ""
    assert said.startswith("The floor is what the journal says: ")


def test_the_tables_came_forward_as_if_all_had_been_done_today(told: dict[str, Any]) -> None:
    """All but what nobody said then: why a tag was replaced. Links cover what rows say."""
    before, after = told["before"], told["after"]
    for row in before["Tag"]:
        row["void_why"] = row["void_why"].replace("spoilt", "")
    for one in (*before["Instrument"], *after["Instrument"]):
        del one["link"]
    assert after == before
    assert {row["void_why"] for row in after["Tag"]} == {"", "paired"}
