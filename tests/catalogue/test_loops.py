"""Rework loops: what the workshop repairs, and what each repair is followed by."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client

from shop.catalogue import book
from shop.catalogue.models import Loop
from shop.craft.rework import USUAL, WORDS, LoopFacts, suggested
from tests.catalogue.office import OFFICE, form_of, messages

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]


def loop(key: str) -> LoopFacts:
    found = book.loop(key)
    assert found is not None
    return found


# --- the demo's ---

# What is done again after each; common practice, no source.
REDO = {
    "bolted neck reset": "J20 J30 J40 G10 F10 U10 U30 A30 I10",
    "glued neck reset": "J20 J30 J40 G10 F10 U10 U30 Q10 A30 I10",
    "bridge lift": "G20 G30 G40 G50 U20 U30 A30 I10",
    "bridge misplaced": "G50 U20 U30 A30 I10",
    "finish chip": "Q10 I10 I30",
    "wrong machines": "N40 N50 N60 A30 I10",
    "nut, saddle, pins": "U10 U30 A30 I10",
    "fret": "F10 F20 U10 A30 I10",
    "dead string": "U20 U30 A30 I10",
    "low nut slot": "U10 A30 I10",
    "truss rod": "A30 I10",
    "crack or brace": "Q10 A30 I10",
    "set-up": "U30 A30 I10",
    "small hardware": "A20 I10",
    "electrics": "U20 A30 I10",
    "cosmetic": "Q10 I10 I30",
    "paper": "Z10",
    "dropped": "J40 I10",
}


def test_the_demo_has_its_loops_and_each_says_what_is_done_again() -> None:
    assert {one.key: " ".join(one.redo) for one in book.loops()} == REDO


def test_every_loop_is_repaired_at_repair_and_says_what_is_done_there() -> None:
    for one in book.loops():
        assert (one.station, one.station_code) == ("Repair", "X")
        assert one.title
        assert one.triggers
        assert one.work
        assert one.minutes > 0


def test_three_loops_leave_the_strings_at_pitch_and_one_may_part_neck_and_body() -> None:
    """Common practice, no source."""
    assert {one.key for one in book.loops() if one.keeps_hold} == {
        "finish chip", "cosmetic", "paper",
    }  # fmt: skip
    assert {one.key for one in book.loops() if one.unpairs} == {"truss rod"}


@pytest.mark.parametrize(
    ("key", "depth", "hours"),
    [
        ("finish chip", None, 24),
        ("finish chip", "0.2", 24),
        ("finish chip", "0.5", 72),
        ("finish chip", "9", 168),
        ("glued neck reset", None, 72),
        ("bridge lift", None, 0),
    ],
)
def test_a_repair_dries_as_long_as_it_has_to(key: str, depth: str | None, hours: int) -> None:
    """24 h for each 0.2 mm up to seven days, a steamed joint 72 h: common practice, no source."""
    assert loop(key).dries(Decimal(depth) if depth else None) == timedelta(hours=hours)


@pytest.mark.parametrize(
    ("family", "word"), [(family, word) for family, words in WORDS.items() for word in words]
)
def test_every_word_for_a_defect_leads_to_a_loop_of_its_family(family: str, word: str) -> None:
    keys = suggested(word, family)
    assert keys
    for key in keys:
        assert family in loop(key).families


def test_what_a_family_usually_leads_to_is_there_and_knows_it() -> None:
    for family, keys in USUAL.items():
        for key in keys:
            assert family in loop(key).families


# --- asked for ---


def test_the_loops_are_read_in_one_statement(django_assert_num_queries: Any) -> None:
    with django_assert_num_queries(1):
        book.loops()
    with django_assert_num_queries(1):
        loop("bridge lift")


def test_a_loop_switched_off_is_not_offered_and_still_known() -> None:
    Loop.objects.filter(key="fret").update(active=False)
    assert "fret" not in {one.key for one in book.loops()}
    assert loop("fret").title == "Fret loose or high"


def test_a_loop_nobody_wrote_is_none() -> None:
    assert book.loop("by boat") is None


# --- in the office ---


def address_of(key: str) -> str:
    return f"{OFFICE}/loop/{Loop.objects.get(key=key).pk}/change/"


NEW: dict[str, Any] = {
    "key": "binding",
    "title": "Loose binding",
    "triggers": "The binding stands off at the waist.",
    "families": ["joint", "wood"],
    "work": "Glue and tape it.",
    "redo": "Q10 I10",
    "minutes": "20",
    "dry_h": "12",
}


def test_a_lead_adds_a_loop_and_repair_is_filled_in(office: Client) -> None:
    page = office.get(f"{OFFICE}/loop/add/")
    office.post(f"{OFFICE}/loop/add/", form_of(page) | NEW)
    found = loop("binding")
    assert (found.station_code, found.families) == ("X", ("joint", "wood"))
    assert (found.redo, found.dries()) == (("Q10", "I10"), timedelta(hours=12))


@pytest.mark.parametrize(
    ("field", "value", "says"),
    [
        ("redo", "Q10 U99", "U99: no operation is called so. Write codes: G20 G30."),
        ("redo", "Q10 I10 Q10", "An operation stands twice. Leave one of the two out."),
        ("families", ["luck"], "Select a valid choice. luck is not one of the available choices."),
        ("minutes", "", "This field is required."),
    ],
)
def test_a_loop_that_cannot_be_is_told_at_its_field_and_not_saved(
    office: Client, field: str, value: Any, says: str
) -> None:
    page = office.get(f"{OFFICE}/loop/add/")
    answer = office.post(f"{OFFICE}/loop/add/", form_of(page) | NEW | {field: value})
    assert answer.context["adminform"].form.errors[field] == [says]
    assert book.loop("binding") is None


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ({"per_mm": "0.2", "dry_h": "0"}, "Say how many hours each layer dries."),
        ({"most_h": "11"}, "It dries longer at least than at most. Change one."),
    ],
)
def test_times_to_dry_that_contradict_each_other_are_told_and_not_saved(
    office: Client, given: dict[str, str], says: str
) -> None:
    page = office.get(f"{OFFICE}/loop/add/")
    answer = office.post(f"{OFFICE}/loop/add/", form_of(page) | NEW | given)
    assert answer.context["adminform"].form.non_field_errors() == [says]
    assert book.loop("binding") is None


def test_a_loop_is_changed_and_keeps_its_key(office: Client) -> None:
    sent = form_of(office.get(address_of("fret"))) | {"key": "frets", "minutes": "35"}
    said = messages(office.post(address_of("fret"), sent, follow=True))
    assert len(said) == 1
    assert loop("fret").minutes == 35
    assert book.loop("frets") is None


def test_a_loop_is_switched_off(office: Client) -> None:
    sent = form_of(office.get(address_of("fret"))) | {"active": ""}
    office.post(address_of("fret"), sent)
    assert not Loop.objects.get(key="fret").active
