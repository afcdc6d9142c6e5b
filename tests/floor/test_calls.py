"""Calling somebody to a bench, and answering."""

from __future__ import annotations

from typing import Any

import pytest

from shop.floor import board, door
from tests.floor.morning import act, now, rules

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]


def call(whom: str = "lead", said: str = "The hole is 8.9 mm") -> door.Outcome:
    return door.record(act(), door.CallMade(now("Q-1043").id, whom, said))


def open_calls(*whom: str) -> list[dict[str, Any]]:
    return board.calls(whom or ("lead", "clerk"))


def test_a_call_is_seen_by_whom_it_is_for_and_by_nobody_else() -> None:
    call("clerk")
    assert [one["words"] for one in open_calls("clerk")] == ["The hole is 8.9 mm"]
    assert open_calls("lead") == []


def test_a_call_tells_which_instrument_where_and_who() -> None:
    call()
    (one,) = open_calls()
    told = (one["instrument__body__serial"], one["station"], one["by__code"])
    assert told == ("Q-1043", "N", "P-11")


def test_nobody_but_clerk_or_lead_is_called() -> None:
    outcome = call("ghost")
    assert (outcome.result, rules(outcome)) == ("refused", ["call"])
    assert open_calls() == []


def test_words_longer_than_the_call_holds_are_cut_and_the_journal_keeps_them_whole() -> None:
    call(said="x" * 400)
    (one,) = open_calls()
    assert len(one["words"]) == 300
    assert board.journal(now("Q-1043").id)[0]["data"]["words"] == "x" * 400


def test_an_answered_call_is_open_no_more() -> None:
    call()
    (one,) = open_calls()
    assert door.record(act("P-01", ""), door.CallAnswered(one["id"])).done
    assert open_calls() == []


def test_a_call_is_answered_once() -> None:
    call()
    (one,) = open_calls()
    door.record(act("P-01", ""), door.CallAnswered(one["id"]))
    outcome = door.record(act("P-41", ""), door.CallAnswered(one["id"]))
    assert (outcome.result, rules(outcome)) == ("refused", ["answered"])
