"""A shelf kept by an older release comes forward whole."""

from __future__ import annotations

import json
from typing import Any

import pytest

from tests.floor.test_race import answer, own_database, run


@pytest.fixture(scope="module")
def told(django_db_setup: None, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    with own_database(tmp_path_factory.mktemp("before")) as shop:
        found: dict[str, Any] = json.loads(answer(run(shop, "-m", "tests.stock.before")))
    return found


def test_what_lies_on_the_shelf_and_every_movement_came_forward(told: dict[str, Any]) -> None:
    assert told["after"] == told["before"]
    assert len(told["after"][1]) > 100


def test_every_movement_says_what_the_counts_were_after_it(told: dict[str, Any]) -> None:
    assert told["running"] == []


def test_the_ledger_is_proved_over_what_came_forward(told: dict[str, Any]) -> None:
    assert told["faults"] == []


def test_a_bin_stands_where_its_code_says_and_one_named_otherwise_nowhere(
    told: dict[str, Any],
) -> None:
    places = {code: (aisle, along) for code, aisle, along in told["bins"]}
    assert places["A-03"] == (1, "3.0")
    assert places["B-02"] == (2, "2.0")
    assert places["Shelf 9"] == (None, "")


def test_what_was_to_be_ordered_below_is_said_of_the_item_and_is_the_most_of_its_lots(
    told: dict[str, Any],
) -> None:
    assert told["rules"] == {"T01": 6}


def test_what_lay_in_trays_closed_before_counts_as_fitted_and_nothing_else(
    told: dict[str, Any],
) -> None:
    closed = [row for row in told["lines"] if row[:2] == ["closed", "taken"]]
    assert closed
    assert all(fitted == quantity for _, _, quantity, fitted in closed)
    assert {row[3] for row in told["lines"] if row[:2] != ["closed", "taken"]} == {0}


def test_what_counts_as_fitted_is_not_fitted_again(told: dict[str, Any]) -> None:
    assert told["fitted again"] == 0


def test_the_ledger_is_guarded_again_once_its_tables_were_made_anew(told: dict[str, Any]) -> None:
    assert told["guarded"] is True
