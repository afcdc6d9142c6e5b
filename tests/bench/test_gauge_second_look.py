"""Measuring at the inspections: each for itself, the second with fresh eyes, and below zero."""

from __future__ import annotations

import pytest
from django.test import Client

from tests.bench.screens import Screen, classes, key, seen, signed_in, tag
from tests.floor.casing import CASED, HOUR, READY, SERIAL, did
from tests.floor.gauged import gauge
from tests.floor.morning import step
from tests.people.phones import Clock

pytestmark = pytest.mark.usefixtures("today")

LOOK = CASED - HOUR
AGAIN = READY + HOUR
FIRST = {"relief 7": "0.21", "action bass": "2.43", "action treble": "1.57"}


def gauging(phone: Client) -> Screen:
    return seen(phone.get(f"/{tag(SERIAL)}/gauge/"))


def fields(screen: Screen) -> dict[str, str]:
    """How each field is typed into, by its name."""
    return {
        one.get("name", ""): one.get("inputmode", "")
        for one in screen.root.iter("input")
        if "figure-in" in classes(one)
    }


@pytest.fixture
def cased(today: Clock) -> None:
    assert gauge(SERIAL, FIRST, "I10", "P-31", "I", LOOK).done
    assert step(SERIAL, "I10", "P-31", "I", LOOK).done
    did(SERIAL, "I20", "P-31", "H", CASED)
    today.now = AGAIN


def test_the_inspection_asks_for_its_own_values(today: Clock) -> None:
    today.now = LOOK
    asked = fields(gauging(signed_in("P-31", "I")))
    assert list(asked) == ["relief 7", "action bass", "action treble"]


def test_the_second_look_is_asked_without_what_the_first_one_found(cased: None) -> None:
    phone = signed_in("P-32", "R")
    screen = gauging(phone)
    assert list(fields(screen)) == ["relief 7", "action bass", "action treble"]
    for value in FIRST.values():
        assert value not in screen.words


def test_once_it_has_a_value_of_its_own_there_both_are_shown_and_no_other(cased: None) -> None:
    """Sees numeric values only after measuring: common practice, no source."""
    phone = signed_in("P-32", "R")
    sent = {"key": key(), "operation": "I30", "unit": "mm", "relief 7": "0.22"}
    assert phone.post(f"/{tag(SERIAL)}/gauge/", sent).status_code == 302
    words = gauging(phone).words
    assert "0.22" in words
    assert "0.21" in words
    for value in ("2.43", "1.57"):
        assert value not in words
        assert value not in seen(phone.get(f"/{tag(SERIAL)}/set-up/saddle/")).words
        assert value not in seen(phone.get(f"/{tag(SERIAL)}/history/")).words
    sent = {"key": key(), "operation": "I30", "unit": "mm", "action bass": "2.41"}
    assert phone.post(f"/{tag(SERIAL)}/gauge/", sent).status_code == 302
    words = gauging(phone).words
    assert "2.43" in words
    assert "1.57" not in words


def test_a_value_that_moved_too_far_is_gone_on_with_for_a_reason_that_can_be_so(
    cased: None,
) -> None:
    """Relief that sank by 0.03 mm in the case is not usual: common practice, no source."""
    again = FIRST | {"relief 7": "0.18"}
    assert gauge(SERIAL, again, "I30", "P-32", "R", AGAIN).done
    words = seen(signed_in("P-32", "R").get(f"/{tag(SERIAL)}")).words
    assert "Relief moved" in words
    assert "Measured again: it is so" in words
    assert "The missing part follows" not in words


def test_a_second_look_is_not_asked_by_what_the_first_one_found(cased: None) -> None:
    """What was typed far from all that is usual is doubted by the spec, not by their values."""
    phone = signed_in("P-32", "R")
    sent = {"key": key(), "operation": "I30", "unit": "mm", "action bass": "4.9"}
    words = seen(phone.post(f"/{tag(SERIAL)}/gauge/", sent)).words
    assert "The others are about" not in words


def test_a_value_that_may_be_below_zero_is_typed_with_a_minus(today: Clock) -> None:
    today.now = LOOK
    screen = gauging(signed_in("P-31", "I"))
    assert fields(screen)["relief 7"] == "text"
    assert fields(screen)["action bass"] == "decimal"
    assert [one.get("data-key") for one in screen.root.iter("button")].count("-") == 1


def test_where_nothing_can_be_below_zero_there_is_no_minus_key(today: Clock) -> None:
    phone = signed_in("P-11")
    keys = [
        one.get("data-key")
        for one in seen(phone.get(f"/{tag('Q-1043')}/gauge/")).root.iter("button")
    ]
    assert "-" not in keys
