"""The page of the octaves."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop.catalogue import revising
from shop.catalogue.models import SpecRevision
from tests.bench.screens import Screen, seen, signed_in, tag

pytestmark = pytest.mark.usefixtures("today")

PAGE = 10  # statements of a page of the set-up, at most


@pytest.fixture
def phone() -> Client:
    return signed_in("P-11")


def ask(phone: Client, query: str = "", serial: str = "Q-1043") -> Screen:
    return seen(phone.get(f"/{tag(serial)}/set-up/octave/{query}"))


def rows(screen: Screen) -> list[list[str]]:
    return [
        [" ".join("".join(cell.itertext()).split()) for cell in row]
        for row in screen.root.iter("tr")
    ]


def test_an_octave_sharp_goes_back_by_its_cents(phone: Client) -> None:
    """7 cents against an open string 1 sharp are 6; 6 × 645 / 1731 = 2.24."""
    screen = ask(phone, "?octave_6=7&open_6=1")
    assert rows(screen)[1:] == [["6", "+6", "2.24 mm further back"]]
    assert screen.of_class("finding-stop") == [
        (
            "Stop String 6: the octave is 6 cents sharp. Over 5 cents it is worked on. "
            "Move its point on the saddle 2.24 mm back, away from the nut."
        )
    ]
    assert "7 − 1 = +6; 6 × 645 / 1731 = 2.24 mm" in screen.words


def test_a_frequency_says_the_same_as_its_cents(phone: Client) -> None:
    """220.9 Hz is 7.07 cents above 220."""
    assert rows(ask(phone, "?as=Hz&octave_5=220.9"))[1:] == [["5", "+7.1", "2.63 mm further back"]]


def test_another_note_is_told_with_what_can_be(phone: Client) -> None:
    screen = ask(phone, "?as=Hz&octave_5=110")
    assert "It cannot be: 207.65\u2013233.08 can." in screen.words
    assert screen.one(".//input[@name='octave_5']").get("value") == "110"
    assert not rows(screen)


def test_a_string_out_of_tune_is_tuned_first(phone: Client) -> None:
    screen = ask(phone, "?octave_5=-8&open_5=-8")
    assert "String 5 is 8 cents below A2. Tune up to it." in screen.of_class("finding-warn")[0]
    assert rows(screen)[1:] == [["5", "0", "stays"]]


def test_what_was_measured_counts_where_nothing_is_typed(phone: Client) -> None:
    screen = ask(phone, serial="Q-1037")
    assert "Every octave is within 3 cents: nothing moves." in screen.words
    assert [one[0] for one in rows(screen)[1:]] == list("654321")


def test_every_string_of_a_guitar_strung_in_pairs_has_its_own_note(phone: Client) -> None:
    words = ask(phone, serial="Q-1058").words
    assert all(one in words for one in ("String 6o, E3", "String 6, E2", "String 1', E4"))


def test_a_left_handed_guitar_has_its_strings_the_other_way_round(phone: Client) -> None:
    query = "?" + "&".join(f"octave_{one}={one}" for one in "654321")
    right, left = rows(ask(phone, query))[1:], rows(ask(phone, query, "Q-1055"))[1:]
    assert left == right[::-1]


def test_the_microphone_is_offered_where_cents_are_typed_and_not_where_hertz_are(
    phone: Client,
) -> None:
    assert "Listen to a string" in ask(phone).words
    assert "Listen to a string" not in ask(phone, "?as=Hz").words


def test_the_page_takes_no_more_statements_than_it_may(phone: Client) -> None:
    ask(phone, serial="Q-1037")
    with CaptureQueriesContext(connection) as captured:
        ask(phone, serial="Q-1037")
    # The code of the tag is looked up by the test itself.
    assert len(captured) <= PAGE + 1


def test_a_limit_of_nothing_is_held_to(phone: Client) -> None:
    revision = SpecRevision.objects.get(spec__key="TARN", state="open")
    for name in ("R44.accept", "R44.rework"):
        revising.set_limit(revision.pk, name, Decimal(0), "P-01", "Trial", date(2031, 3, 3))
    screen = ask(phone, "?octave_6=1&octave_5=0")
    assert "Over 0 cents it is worked on." in screen.of_class("finding-stop")[0]
    assert rows(screen)[2] == ["5", "0", "stays"]


@pytest.mark.parametrize(("query", "unit"), [("", "cents"), ("as=Hz&", "Hz")])
def test_a_length_is_neither_cents_nor_hertz(phone: Client, query: str, unit: str) -> None:
    screen = ask(phone, f"?{query}octave_6=2 in")
    assert f"This is no length. Write the number alone in {unit}." in screen.words
    assert not rows(screen)
