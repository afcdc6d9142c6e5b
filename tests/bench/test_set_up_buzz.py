"""The map of buzz: what was measured, what is typed, what is stepped."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

import pytest
from django.test import Client

from shop.people.models import Badge
from tests.bench.screens import Screen, classes, seen, signed_in, tag
from tests.people.phones import Clock

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def phone(today: Clock) -> Client:
    return signed_in("P-11")


def page(phone: Client, serial: str = "Q-1043", **typed: str) -> Screen:
    sent = {name.replace("_", " "): value for name, value in typed.items()}
    return seen(phone.get(f"/{tag(serial)}/set-up/buzz/?{urlencode(sent)}"))


def typed_in(screen: Screen) -> dict[str, str]:
    return {one.get("name", ""): one.get("value", "") for one in screen.root.iter("input")}


def verdicts(screen: Screen) -> list[str]:
    return [name for cell in screen.root.iter("td") for name in classes(cell)]


def test_every_fret_has_its_row_and_every_string_its_column(phone: Client) -> None:
    screen = page(phone)
    rows = screen.root.findall(".//tbody/tr")
    assert len(rows) == 20
    assert all(len(row.findall("td")) == 6 for row in rows)
    assert screen.one(".//thead/tr/th").text == "Fret"


def test_a_guitar_as_its_spec_aims_is_clear(phone: Client) -> None:
    screen = page(phone)
    assert screen.words.count("Every note is clear") == 1
    assert set(verdicts(screen)) == {"buzz-clear"}


def test_twelve_strings_are_looked_at_by_their_thick_ones(phone: Client) -> None:
    rows = page(phone, "Q-1058").root.findall(".//tbody/tr")
    assert all(len(row.findall("td")) == 6 for row in rows)


def test_a_high_fret_is_named_with_its_first_note_on_each_string(phone: Client) -> None:
    screen = page(phone, fret="9", off="0.12")
    told = screen.of_class("finding-warn")
    assert len(told) == 6
    assert "into fret 9" in told[0]
    assert "buzz-buzz" in verdicts(screen)
    assert screen.of_class("moved")[0].startswith("9")


def test_hard_playing_buzzes_where_usual_playing_does_not(phone: Client) -> None:
    assert "buzz-buzz" in verdicts(page(phone, playing="hard"))


@pytest.mark.parametrize(
    ("step", "name", "after"),
    [
        ("action more", "action bass", "2.5"),
        ("action less", "action treble", "1.5"),
        ("relief more", "relief", "0.25"),
        ("relief less", "relief", "0.15"),
        ("off more", "off", "0.02"),
        ("off less", "off", "-0.02"),
    ],
)
def test_a_tap_changes_one_thing_by_a_step(phone: Client, step: str, name: str, after: str) -> None:
    assert typed_in(page(phone, step=step))[name] == after


def test_a_tap_goes_on_from_what_is_typed(phone: Client) -> None:
    after = typed_in(page(phone, step="relief more", relief="0.30", action_bass="2.0"))
    assert (after["relief"], after["action bass"], after["action treble"]) == ("0.35", "2.0", "")


def test_a_step_stops_at_what_can_be(phone: Client) -> None:
    assert typed_in(page(phone, step="relief more", relief="1"))["relief"] == "1"


@pytest.mark.parametrize("step", ["nonsense", "action up", "off", ""])
def test_a_step_that_is_none_changes_nothing(phone: Client, step: str) -> None:
    after = typed_in(page(phone, step=step))
    assert (after["action bass"], after["relief"], after["off"]) == ("", "", "")


@pytest.mark.parametrize("fret", ["0", "-1", "99", "x", "²"])
def test_a_fret_that_is_not_on_the_board_is_none(phone: Client, fret: str) -> None:
    screen = page(phone, fret=fret, off="0.12")
    assert screen.of_class("moved") == []
    assert "Every note is clear" in screen.words


def test_a_fret_stepped_before_it_is_chosen_is_asked_for(phone: Client) -> None:
    wanted = "Choose the fret: until then the map does not change."
    assert wanted in page(phone, step="off more").words
    assert wanted not in page(phone, step="off more", fret="9").words
    assert wanted not in page(phone).words


def test_what_cannot_be_is_told_and_no_map_is_drawn(phone: Client) -> None:
    screen = page(phone, relief="3")
    assert "It cannot be: \u22120.5 mm to 1 mm can." in screen.words
    assert typed_in(screen)["relief"] == "3"
    assert screen.root.findall(".//table") == []


def test_every_button_of_a_step_has_words_and_works_without_script(phone: Client) -> None:
    screen = page(phone)
    steps = [one for one in screen.root.iter("button") if one.get("name") == "step"]
    assert len(steps) == 6
    form = screen.one(".//form[@method='get']")
    assert form.get("action") == f"/{tag('Q-1043')}/set-up/buzz/"


def test_the_verdict_of_a_note_is_told_in_words_too(phone: Client) -> None:
    rows = page(phone, fret="9", off="0.12").root.findall(".//tbody/tr")
    assert "buzzes" in "".join(rows[8].itertext())


def test_an_inch_reader_reads_thousandths(phone: Client) -> None:
    Badge.objects.filter(code="P-11").update(units="inch")
    screen = page(signed_in("P-11"), step="relief more")
    assert "thousandths of an inch" in screen.words
    assert typed_in(screen)["relief"] == "0.0098"


def test_a_page_of_buzz_takes_ten_statements_at_most(
    phone: Client, django_assert_max_num_queries: Any
) -> None:
    page(phone)
    with django_assert_max_num_queries(10):
        page(phone)
