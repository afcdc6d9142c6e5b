"""The card of a station, scanned: is this phone there?"""

from __future__ import annotations

import pytest
from django.test import Client

from tests.bench.screens import Screen, seen, signed_in

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def phone() -> Client:
    """At the neck bench."""
    return signed_in("P-11")


def at(phone: Client, code: str) -> Screen:
    return seen(phone.get(f"/AT/{code}"))


@pytest.mark.parametrize("code", ["J", "j"])
def test_a_card_asks_whether_this_phone_is_there(phone: Client, code: str) -> None:
    screen = at(phone, code)
    assert screen.heading == "You are at Joint?"
    assert "This phone says Neck bench now." in screen.words
    assert screen.buttons[-2:] == ["Yes, at Joint", "No, at another station"]
    assert screen.links["No, at another station"] == "/station/"


def test_looking_moves_nothing_and_a_tap_moves_the_phone(phone: Client) -> None:
    at(phone, "J")
    assert "Neck bench" in seen(phone.get("/scan/")).links
    form = at(phone, "J").one(".//main//form")
    assert (form.get("method"), form.get("action")) == ("post", "/station/")
    phone.post("/station/", {"station": "J"})
    assert "Joint" in seen(phone.get("/scan/")).links


def test_a_phone_that_is_there_already_is_told_so_and_goes_on(phone: Client) -> None:
    screen = at(phone, "N")
    assert screen.heading == "You are at Neck bench"
    assert "This phone says so already." in screen.words
    assert screen.links["Scan the tag on the body"] == "/scan/"


def test_a_station_nobody_knows_is_told_with_all_there_are(phone: Client) -> None:
    answer = phone.get("/AT/Y9")
    assert answer.status_code == 404
    screen = seen(answer)
    [told] = screen.of_class("finding-stop")
    assert "There is no station Y9 here." in told
    assert "Tap where this phone is. The lead prints a new card." in told
    assert "Joint" in screen.buttons
    assert screen.one(".//main//form").get("action") == "/station/"


@pytest.mark.parametrize(
    "read", ["HTTP://TESTSERVER/AT/J", "http://localhost:8000/AT/J/", "AT J", " at  j "]
)
def test_the_scan_screen_leads_there_scanned_or_typed(phone: Client, read: str) -> None:
    assert phone.post("/scan/", {"code": read})["Location"] == "/AT/J"
    assert phone.get("/scan/", {"code": read})["Location"] == "/AT/J", "out of a photo"


@pytest.mark.parametrize(
    ("read", "told"),
    [
        ("HTTP://ELSEWHERE/AT/J", "is an address outside this workshop"),
        ("HTTP://TESTSERVER/AT/J/X", "is a page of this workshop, not a tag"),
        ("HTTP://TESTSERVER/AT/JOINT", "is a page of this workshop, not a tag"),
        ("AT", "is not one of this workshop's codes"),
    ],
)
def test_what_is_no_card_of_this_shop_leads_nowhere(phone: Client, read: str, told: str) -> None:
    answer = phone.post("/scan/", {"code": read})
    assert answer.status_code == 200
    [said] = seen(answer).of_class("finding-stop")
    assert told in said


def test_who_is_not_signed_in_signs_in_first() -> None:
    assert Client().get("/AT/J").status_code == 401
