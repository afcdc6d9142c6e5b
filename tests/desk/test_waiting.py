"""The lead's floor list: why each instrument waits, by words and as CSV.

What is asked here is common practice, no source.
"""

from __future__ import annotations

import csv
import io

import pytest
from django.test import Client

from shop.floor import door
from tests.bench.screens import Screen, said, seen, signed_in
from tests.floor.morning import act, check_tray, now
from tests.people.phones import Clock

pytestmark = pytest.mark.usefixtures("today")

WHY = "Heel split seen"


@pytest.fixture
def phone() -> Client:
    return signed_in("P-01")


def floor(phone: Client, words: str = "") -> Screen:
    return seen(phone.get("/floor/", {"words": words} if words else {}))


def serials(screen: Screen) -> set[str]:
    return {one for one in screen.links if one.startswith("Q-")}


def row(screen: Screen, serial: str) -> str:
    return next(said(one) for one in screen.root.iter("tr") if serial in said(one))


def summary(screen: Screen, serial: str) -> str:
    """What is to read of the reasons before they are unfolded."""
    tr = next(one for one in screen.root.iter("tr") if serial in said(one))
    found = tr.find(".//summary")
    return said(found) if found is not None else ""


def freeze(serial: str = "Q-1043") -> None:
    assert door.record(act("P-31", "I"), door.Frozen(now(serial).id, WHY)).done


def begin(serial: str = "Q-1043", operation: str = "B30") -> None:
    assert door.record(act("P-14", "B"), door.StepStarted(now(serial).id, operation)).done


def test_a_row_that_waits_says_its_first_reason_and_unfolds_all(phone: Client) -> None:
    freeze()
    screen = floor(phone)
    assert summary(screen, "Q-1043") == f"Q-1043 was frozen Mon 09:30 by P-31: {WHY}."
    assert "The lead looks and frees it." in row(screen, "Q-1043")


def test_a_row_that_can_go_on_says_nothing(phone: Client) -> None:
    assert summary(floor(phone), "Q-1043") == ""


def test_a_row_says_what_else_comes_next_and_waits(phone: Client) -> None:
    """N40 scans its own tray first; the stop at the body bench holds what B30 drills there."""
    check_tray("Q-1043", "P-14", "B", of="Q-1050")
    assert summary(floor(phone), "Q-1043") == "B30 waits"
    assert "fetch the tray of Q-1043." in row(floor(phone), "Q-1043")


def test_a_row_in_its_hold_says_when_it_is_ready_and_says_it_once(phone: Client) -> None:
    screen = floor(phone)
    assert summary(screen, "Q-1040") == "Ready Mon 10:30. 1 h left of the hold."
    assert row(screen, "Q-1040").count("Ready Mon 10:30") == 2  # folded, and unfolded


@pytest.mark.parametrize("word", ["frozen", "open", "rework", "hold"])
def test_a_word_finds_all_that_is_so_and_nothing_else(phone: Client, word: str) -> None:
    freeze("Q-1043")
    begin("Q-1058", "B20")
    loop = door.DefectFound(now("Q-1037").id, "lift", "bridge lift", "I10", "rear edge")
    assert door.record(act("P-22", "I"), loop).done
    found = {
        "frozen": {"Q-1043"},
        "open": {"Q-1058"},
        "rework": {"Q-1037"},
        "hold": {"Q-1040"},
    }
    assert serials(floor(phone, word)) == found[word]


def test_the_words_can_be_tapped(phone: Client) -> None:
    screen = floor(phone)
    assert screen.links["frozen"] == "/floor/?words=frozen"
    nav = screen.one(".//nav[@aria-label='Only rows with one word']")
    assert [said(one) for one in nav.iter("a")] == [
        "late", "waiting", "frozen", "rework", "hold", "open",
    ]  # fmt: skip


def test_the_word_that_is_chosen_is_marked(phone: Client) -> None:
    nav = floor(phone, "hold").one(".//nav[@aria-label='Only rows with one word']")
    assert [said(one) for one in nav.iter("a") if one.get("aria-current")] == ["hold"]


def test_a_lead_is_led_to_where_it_is_settled_and_an_operator_is_not(phone: Client) -> None:
    freeze()
    assert floor(phone, "frozen").links["Settle Q-1043"] == "/settle/Q-1043/"
    assert "Settle Q-1043" not in floor(signed_in("P-11"), "frozen").links


def test_the_csv_says_what_each_row_waits_for(phone: Client, today: Clock) -> None:
    freeze()
    answer = phone.get("/floor/list.csv")
    lines = {
        one["serial"]: one["waits for"]
        for one in csv.DictReader(io.StringIO(answer.content.decode()))
    }
    assert lines["Q-1043"] == f"Q-1043 was frozen Mon 09:30 by P-31: {WHY}."
    assert lines["Q-1040"].startswith("I30: Ready Mon 10:30.")
    assert lines["Q-1041"] == ""
