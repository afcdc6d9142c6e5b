"""The page of the bridge: where it goes, whether it may be cut for, each string's point."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop.catalogue import revising
from shop.catalogue.models import SpecRevision
from shop.people.models import Badge
from tests.bench.screens import Screen, seen, signed_in, tag

pytestmark = pytest.mark.usefixtures("today")

PAGE = 10  # statements of a page of the set-up, at most


@pytest.fixture
def phone() -> Client:
    return signed_in("P-11")


def ask(phone: Client, query: str = "", serial: str = "Q-1043") -> Screen:
    return seen(phone.get(f"/{tag(serial)}/set-up/bridge/{query}"))


def rows(screen: Screen) -> list[list[str]]:
    """The table of the strings, row by row."""
    return [
        [" ".join("".join(cell.itertext()).split()) for cell in row]
        for row in screen.root.iter("tr")
    ]


def test_before_anything_is_measured_it_says_where_the_saddle_goes(phone: Client) -> None:
    screen = ask(phone)
    assert screen.of_class("lead-answer") == [
        "Middle of the saddle 648.8 mm from the front of the nut"
    ]
    assert not screen.of_class("finding")


def test_a_reading_13_tenths_too_far_is_stopped_with_35_tenths_of_a_cent(phone: Client) -> None:
    screen = ask(phone, "?bass=650.1&treble=648.8")
    assert screen.of_class("finding-stop") == [
        (
            "Stop 650.1 mm on the bass side is 1.3 mm beyond 648.8 mm, more than 0.5 mm: "
            "the octave would be 3.5 cents flat. Cut nothing. Move the bass side 1.3 mm "
            "towards the nut, clamp it and read both sides again."
        )
    ]
    assert "1731 × 1.3 / 645 = 3.5" in screen.words


def test_what_was_measured_counts_where_nothing_is_typed(phone: Client) -> None:
    screen = ask(phone, serial="Q-1037")
    assert "Nut to the middle of the saddle, bass side 648.8 mm" in screen.words
    assert "bass 0, treble 0" in screen.of_class("finding-note")[0]
    assert "bass 0, treble +0.4" in ask(phone, "?treble=649,2", "Q-1037").words


def test_each_string_has_its_point_beside_a_straight_saddle(phone: Client) -> None:
    assert rows(ask(phone))[1:3] == [
        ["6", "5.0 mm", "5.3 mm", "0.3 mm nearer the nut"],
        ["5", "4.0 mm", "4.7 mm", "0.7 mm nearer the nut"],
    ]


def test_a_left_handed_guitar_has_its_strings_the_other_way_round(phone: Client) -> None:
    right, left = rows(ask(phone))[1:], rows(ask(phone, serial="Q-1055"))[1:]
    assert left == right[::-1]


def test_a_guitar_strung_in_pairs_has_one_point_a_pair(phone: Client) -> None:
    assert [one[0] for one in rows(ask(phone, serial="Q-1058"))[1:]] == list("654321")


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("65x", "65x is no number. Write it as 8.73 or 8,73."),
        ("65", "It cannot be: 450 mm to 750 mm can."),
    ],
)
def test_what_cannot_be_is_told_with_what_can_and_stays_typed(
    phone: Client, typed: str, told: str
) -> None:
    screen = ask(phone, f"?bass={typed}&treble=648.8")
    assert told in screen.words
    field = screen.one(".//input[@name='bass']")
    assert (field.get("value"), field.get("aria-invalid")) == (typed, "true")
    assert screen.one(".//input[@name='treble']").get("value") == "648.8"


def test_whoever_reads_inches_types_and_reads_them(phone: Client) -> None:
    Badge.objects.filter(code="P-11").update(units="inch")
    screen = ask(phone, "?bass=25.59&treble=25.543&unit=in")
    assert screen.of_class("lead-answer") == [
        "Middle of the saddle 25.5433 in from the front of the nut"
    ]
    assert "25.5900 in on the bass side is 0.0467 in beyond 25.5433 in" in screen.words


def test_the_page_takes_no_more_statements_than_it_may(phone: Client) -> None:
    ask(phone, serial="Q-1037")
    with CaptureQueriesContext(connection) as captured:
        ask(phone, serial="Q-1037")
    # The code of the tag is looked up by the test itself.
    assert len(captured) <= PAGE + 1


def test_the_list_of_subjects_leads_here(phone: Client) -> None:
    screen = seen(phone.get(f"/{tag('Q-1043')}/set-up/"))
    (link,) = (to for words, to in screen.links.items() if words.startswith("Place of the bridge"))
    assert link == "bridge/"


def test_a_limit_of_nothing_is_held_to(phone: Client) -> None:
    revision = SpecRevision.objects.get(spec__key="TARN", state="open")
    for name in ("R41.off", "R41.skew"):
        revising.set_limit(revision.pk, name, Decimal(0), "P-01", "Trial", date(2031, 3, 3))
    screen = ask(phone, "?bass=648.8&treble=648.9")
    assert "0.1 mm beyond 648.8 mm, more than 0 mm" in screen.of_class("finding-stop")[0]
    assert not ask(phone, "?bass=648.8&treble=648.8").of_class("finding-stop")
