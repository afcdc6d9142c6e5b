"""A guitar found by its serial years later: what was built, as it was frozen, and its history."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import Any
from unittest import mock

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop.catalogue.models import Operation
from shop.desk import records
from shop.floor import board, door
from tests.bench.screens import Screen, seen, signed_in, tag
from tests.floor.morning import act, now
from tests.floor.released import go_on

SERIAL = "Q-1043"
SCRAPPED = "Q-1062"


@pytest.fixture(scope="module")
def released(morning: None, django_db_blocker: Any) -> Iterator[datetime]:
    """The moment at which one guitar was released."""
    with django_db_blocker.unblock():
        yield go_on(SERIAL)


pytestmark = pytest.mark.usefixtures("released", "today")


@pytest.fixture
def phone() -> Client:
    return signed_in("P-01")


def record(phone: Client, serial: str = SERIAL, **asked: str) -> Screen:
    return seen(phone.get(f"/record/{serial}/", asked))


@pytest.mark.parametrize("typed", ["Q-1043", "q-1043", " 1043 "])
def test_a_serial_leads_to_its_record(phone: Client, typed: str) -> None:
    answer = phone.get("/record/", {"serial": typed})
    assert answer["Location"] == "/record/Q-1043/"


def test_an_end_that_several_share_is_chosen_by_a_tap(phone: Client) -> None:
    screen = seen(phone.get("/record/", {"serial": "4"}))
    assert screen.links["Q-1064"] == "/record/Q-1064/"
    assert screen.links["Q-1044"] == "/record/Q-1044/"


@pytest.mark.parametrize("written", [str, lambda code: f"HTTP://LOCALHOST:8000/{code}"])
def test_a_scanned_tag_leads_to_its_record(phone: Client, written: Any) -> None:
    answer = phone.get("/record/", {"serial": written(tag(SERIAL))})
    assert answer["Location"] == "/record/Q-1043/"


def test_a_tag_that_is_void_still_leads_to_its_record(phone: Client) -> None:
    code = tag(SERIAL)
    lost = door.TagReplaced(code, "lost", SERIAL)
    assert door.record(act("P-01", "", reason="lost"), lost).done
    assert phone.get("/record/", {"serial": code})["Location"] == "/record/Q-1043/"


@pytest.mark.parametrize("where", ["/record/", "/as-built/"])
def test_an_end_that_more_share_than_are_shown_says_so(phone: Client, where: str) -> None:
    several = board.serials("4")
    assert len(several) > 1
    more = "There are more than these 1. Type more of its figures."
    with mock.patch.object(records, "MOST", 1):
        screen = seen(phone.get(where, {"serial": "4"}))
    assert [one for one in screen.links if one.startswith("Q-")] == several[:1]
    assert more in screen.words
    with mock.patch.object(records, "MOST", len(several)):
        assert "There are more than" not in seen(phone.get(where, {"serial": "4"})).words


@pytest.mark.parametrize("typed", ["Q-9999", "B7M49QZ", "https://192.0.2.7/B7M49SX"])
def test_what_is_not_found_is_told_with_what_to_do(phone: Client, typed: str) -> None:
    screen = seen(phone.get("/record/", {"serial": typed}))
    assert f"No guitar here has the serial or the code {typed}." in screen.words
    assert "Read the mark on the neck block" in screen.words


@pytest.mark.parametrize(
    "address",
    [
        "/as-built/Q%001043/",
        "/record/%00/",
        "/settle/%00/",
        "/handover/Q-1043%00/",
        "/release/%00/",
    ],
)
def test_an_address_with_a_nul_in_it_is_no_page(phone: Client, address: str) -> None:
    """PostgreSQL takes no NUL in a text: asked for one it refuses the whole statement."""
    assert phone.get(address).status_code == 404


@pytest.mark.parametrize("typed", ["\0", "Q-1043\0"])
def test_a_serial_with_a_nul_in_it_is_not_found(phone: Client, typed: str) -> None:
    assert "No guitar here has" in seen(phone.get("/record/", {"serial": typed})).words


def test_no_statement_asks_for_a_serial_with_a_nul_in_it() -> None:
    with CaptureQueriesContext(connection) as caught:
        assert board.by_serial("Q-1043\0") is None
        assert board.serials("43\0") == []
    assert len(caught) == 0
    assert list(board.by_serials(["Q-1043", "\0"])) == ["Q-1043"]


def test_an_empty_search_says_what_is_found_here(phone: Client) -> None:
    assert "finished and scrapped ones too" in seen(phone.get("/record/")).words


def test_the_record_tells_neck_lots_measures_hold_and_badges(phone: Client) -> None:
    words = record(phone).words.replace("\u202f", " ")
    for told in (
        "Q-1043 as built",
        "Body Q-1043, neck K-2081",
        "T01 open-gear individual set, nickel lot 31-02A",
        "Post hole 8.73 mm at 6 places",
        "Action bass, fret 12 2.40 mm asked",
        "Cased 2031-03-04",
        "I10 Inspect: P-31",
        "I30 Inspect again: P-32",
        "Rework None.",
    ):
        assert told in words


def test_every_operation_stands_on_it(phone: Client) -> None:
    words = record(phone).words
    stops = [one for one in now(SERIAL).sheet.stops if one.code not in {"Z10", "Z20"}]
    assert len(stops) > 20
    for one in stops:
        assert f"{one.code} {one.facts.name}" in words


def test_nothing_on_it_can_be_changed(phone: Client) -> None:
    """One form alone: the way out of the sign-in, in the strip."""
    page = record(phone)
    assert [one.get("action") for one in page.root.iter("form")] == ["/sign-out/"]


def test_what_the_catalogue_says_later_changes_nothing_of_it(phone: Client) -> None:
    def as_built() -> str:
        return record(phone).words.split("What happened")[0]

    before = as_built()
    Operation.objects.filter(code="N40").update(name="Bore the post holes")
    assert as_built() == before
    assert "Gauge the post holes" in before


def test_its_history_stands_below_it(phone: Client) -> None:
    told = record(phone).of_class("told-words")
    assert told[0] == "P-32 recorded I50 Release at Re-inspection."
    narrowed = record(phone, group="lead").of_class("told-words")
    assert [one.split(" as ")[0] for one in narrowed] == ["P-01 released Q-1043 with neck K-2081"]


def test_a_tap_there_is_answered_with_the_list_alone(phone: Client) -> None:
    answer = phone.get(f"/record/{SERIAL}/?group=lead", headers={"HX-Request": "true"})
    assert seen(answer).root.find(".//h1") is None


def test_one_that_is_not_released_says_so_and_tells_its_history(phone: Client) -> None:
    screen = record(phone, "Q-1044")
    assert "Not released yet: what it was built of goes on record with its release." in screen.words
    assert "P-01 released Q-1044 with neck K-2082" in screen.words
    assert "Print it" not in screen.links


def test_a_scrapped_one_tells_why_and_its_history(phone: Client) -> None:
    scrapped = door.Scrapped(now(SCRAPPED).id)
    assert door.record(act("P-01", "", reason="Top split from end to end"), scrapped).done
    assert board.tags_of([SCRAPPED])[SCRAPPED] == {}
    screen = record(phone, SCRAPPED)
    assert "Scrapped: Top split from end to end" in screen.words
    assert "P-01 scrapped it: Top split from end to end." in screen.words


def test_who_may_print_is_led_to_the_print(phone: Client) -> None:
    looked_at = phone.get(record(phone).links["Print it"])
    assert looked_at.status_code == 200
    assert f"As-built record of {SERIAL}" in looked_at.content.decode()


def test_who_may_not_print_is_not_offered_it() -> None:
    assert "Print it" not in record(signed_in("P-11")).links


def test_a_serial_that_there_is_not_is_no_page(phone: Client) -> None:
    assert phone.get("/record/Q-9999/").status_code == 404


def test_nobody_sees_a_record_without_signing_in() -> None:
    assert Client().get(f"/record/{SERIAL}/").status_code == 401
