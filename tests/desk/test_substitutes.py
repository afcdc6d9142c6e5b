"""The lead's page that puts another item in: what, on which instruments, by what, and why.

What the buyer is asked about: common practice, no source.
"""

from __future__ import annotations

import uuid
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop.floor.models import Entry
from tests.bench.crowd import add_instruments
from tests.bench.screens import Screen, said, seen, signed_in
from tests.floor.morning import now, undone

pytestmark = pytest.mark.usefixtures("today")

IT, OTHER = "Q-1062", "Q-1063"  # TARN, their trays asked for and not picked
WHY = "It ran out, the next comes too late"


@pytest.fixture
def desk() -> Client:
    return signed_in("P-01")


def look(desk: Client, **asked: Any) -> Screen:
    return seen(desk.get("/substitute/", asked))


def send(desk: Client, *serials: str, **sent: Any) -> Screen:
    fields = {
        "key": str(uuid.uuid4()), "out": "T01", "in": "T02", "for": serials, "asked": "yes",
        "why": WHY, "own": "",
    } | sent  # fmt: skip
    return seen(desk.post("/substitute/", fields, follow=True))


def kit(serial: str) -> set[str]:
    return {line.article.key for line in now(serial).kit}


def rows() -> int:
    return Entry.objects.filter(kind="substitute").count()


def choices(screen: Screen, name: str) -> dict[str, str]:
    """What can be tapped under this name: its value and the words beside it."""
    return {
        one.get("value", ""): said(label)
        for label in screen.root.iter("label")
        for one in label.iter("input")
        if one.get("name") == name
    }


# --- what is to go out ---


def test_the_page_begins_with_all_that_can_be_exchanged(desk: Client) -> None:
    links = look(desk).links
    told = next(words for words in links if words.startswith("T01"))
    assert told == "T01 open-gear individual set, nickel 2 instruments"
    assert links[told] == "/substitute/?out=T01"
    assert not any(words.startswith("T02") for words in links), "Q-1044 has it by agreement"


def test_asked_for_one_instrument_it_holds_what_that_one_gets(desk: Client) -> None:
    screen = look(desk, serial=IT)
    keys = {words.split()[0] for words, href in screen.links.items() if "out=" in href}
    assert keys == kit(IT)
    assert all(f"&serial={IT}" in href for href in screen.links.values() if "out=" in href)


def test_where_nothing_can_be_exchanged_the_page_says_from_when_to_when(desk: Client) -> None:
    words = look(desk, serial="Q-9999").words
    assert "Nothing of Q-9999 can be exchanged now." in words
    assert "from release until it lies in a tray" in words


def test_an_item_that_no_instrument_gets_is_told(desk: Client) -> None:
    assert "No open instrument still gets X99." in look(desk, out="X99").words


# --- on which instruments, and what fits ---


def test_the_instruments_that_can_have_it_are_to_tap_and_the_others_say_why(desk: Client) -> None:
    screen = look(desk, out="T01", serial=IT)
    assert set(choices(screen, "for")) == {IT, OTHER}
    assert "1 cannot" in screen.words
    assert "The tray of Q-1043 is closed with T01 as it is." in screen.words
    chosen = [one.get("value") for one in screen.root.iter("input") if "checked" in one.attrib]
    assert chosen == [IT]


def test_what_fits_is_to_tap_with_what_is_free_and_what_the_buyer_sees(desk: Client) -> None:
    found = choices(look(desk, **{"out": "T01", "for": [IT, OTHER]}), "in")
    assert found["T02"].startswith("Fits: T02 open-gear individual set, gold · 2 free in A-02")
    assert found["T02"].endswith("The buyer sees it: nickel becomes gold.")
    assert "T03" not in found


def test_what_does_not_fit_says_why_and_is_not_to_tap(desk: Client) -> None:
    """Pins of 5° for holes of 3°: both, and 5.35 beside 5.40 under the collar."""
    screen = look(desk, **{"out": "P01", "for": IT})
    assert choices(screen, "in") == {}
    assert "Nothing in the catalogue goes in the place of P01 there." in screen.words
    assert "Put it in" not in screen.buttons
    told = screen.words.split("Would not go in")[1]
    assert "Pins are 5°, holes are 3°. They look the same (5.35 and 5.4" in told
    assert "Leave P01 in its place, or choose other bridge pins." in told


# --- done, and refused ---


def test_several_instruments_get_it_at_once_each_with_its_own_row(desk: Client) -> None:
    words = send(desk, IT, OTHER).words
    assert f"{IT} gets T02 in the place of T01." in words
    assert f"{OTHER} gets T02 in the place of T01." in words
    assert "T02" in kit(IT)
    assert "T02" in kit(OTHER)
    assert [row.reason for row in Entry.objects.filter(kind="substitute")] == [WHY, WHY]


def test_a_second_tap_does_nothing_more(desk: Client) -> None:
    key = str(uuid.uuid4())
    send(desk, IT, OTHER, key=key)
    send(desk, IT, OTHER, key=key)
    assert rows() == 2
    assert now(IT).deviations_count == 1


def test_the_buyer_not_asked_about_gold_is_a_stop_and_nothing_is_lost(desk: Client) -> None:
    screen = send(desk, IT, asked="no", own="Told by phone")
    assert f"{IT} is left as it is" in screen.words
    assert "The buyer sees it: nickel becomes gold." in screen.words
    assert "T01" in kit(IT)
    tapped = {one.get("value") for one in screen.root.iter("input") if "checked" in one.attrib}
    assert tapped == {IT, "T02", "no", WHY}
    assert screen.one(".//input[@id='own']").get("value") == "Told by phone"


def test_one_that_refuses_keeps_none_of_the_others_back(desk: Client) -> None:
    screen = send(desk, IT, "Q-1043")
    assert f"{IT} gets T02 in the place of T01." in screen.words
    assert "Q-1043 is left as it is" in screen.words
    assert "T02" in kit(IT)
    assert "T01" in kit("Q-1043")


def test_pins_sent_past_the_page_are_stopped_at_the_door(desk: Client) -> None:
    words = send(desk, IT, out="P01", **{"in": "P02"}).words
    assert "Pins are 5°, holes are 3°." in words
    assert "P01" in kit(IT)


@pytest.mark.parametrize(
    ("left", "words"),
    [
        ("for", "Tap the instruments it is for."),
        ("in", "Tap what goes in."),
        ("asked", "Say whether the buyer was asked."),
        ("why", "Tap why, or write another reason."),
    ],
)
def test_what_is_not_said_yet_is_asked_for(desk: Client, left: str, words: str) -> None:
    screen = send(desk, IT, **{left: ""})
    assert words in screen.words
    assert rows() == 0


def test_an_instrument_that_is_not_there_is_told(desk: Client) -> None:
    assert "There is no Q-9999. Choose one of the list." in send(desk, "Q-9999").words


def test_the_reason_may_be_in_own_words(desk: Client) -> None:
    send(desk, IT, why="", own="The gold ones are here")
    assert Entry.objects.get(kind="substitute").reason == "The gold ones are here"


def test_only_who_may_approve_opens_the_page() -> None:
    assert signed_in("P-41").get("/substitute/").status_code == 403
    assert signed_in("P-11").post("/substitute/", {}).status_code == 403


def test_more_instruments_take_no_more_statements(desk: Client) -> None:
    counts = []
    for many in (5, 40):
        with undone():
            add_instruments(many)
            desk.get("/substitute/")
            with CaptureQueriesContext(connection) as asked:
                screen = look(desk, **{"out": "T01", "for": [IT, OTHER]})
            assert len(choices(screen, "for")) == many + 2
            counts.append(len(asked))
    assert counts[0] == counts[1]
