"""The page of action and saddle."""

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
from tests.floor.gauged import gauge
from tests.floor.morning import step

pytestmark = pytest.mark.usefixtures("today")

PAGE = 10  # statements of a page of the set-up, at most
WORKED = "?action_bass=3.0&action_treble=2.0&proud_bass=3.4&proud_treble=3.4"


@pytest.fixture
def phone() -> Client:
    return signed_in("P-11")


def ask(phone: Client, query: str = "", serial: str = "Q-1043") -> Screen:
    return seen(phone.get(f"/{tag(serial)}/set-up/saddle/{query}"))


def rows(screen: Screen) -> list[list[str]]:
    return [
        [" ".join("".join(cell.itertext()).split()) for cell in row]
        for row in screen.root.iter("tr")
    ]


def test_action_3_and_2_takes_12_and_8_tenths_off_and_leaves_22_to_look_at(phone: Client) -> None:
    screen = ask(phone, WORKED)
    assert rows(screen)[1:] == [
        ["bass", "1.20 mm", "1.20 mm", "2.20 mm"],
        ["treble", "0.80 mm", "0.80 mm", "2.60 mm"],
    ]
    assert screen.of_class("finding-warn") == [
        (
            "Check 2.2 mm stays above the bridge on the bass side. That is less than is usual. "
            "Look at the strings over the saddle, then go on."
        )
    ]
    assert "wear a mask" in screen.of_class("caution")[0]
    assert not screen.of_class("finding-stop")


def test_at_another_fret_the_saddle_changes_by_similar_triangles(phone: Client) -> None:
    """Fret 5 lies at 161.80 of 645 mm: 0.3 mm there is 0.3 × 645 / 161.80 at the saddle."""
    asked = "&action_bass=2.0&target_bass=1.7&action_treble=1.5&target_treble=1.5"
    screen = ask(phone, f"?fret=5&proud_bass=4&proud_treble=4{asked}")
    assert rows(screen)[1] == ["bass", "1.20 mm", "1.20 mm", "2.80 mm"]
    assert rows(screen)[2] == ["treble", "0.00 mm", "0.00 mm", "4.00 mm"]


def test_at_another_fret_what_is_wanted_is_not_taken_from_fret_12(phone: Client) -> None:
    screen = ask(phone, "?fret=5&action_bass=2.0&action_treble=1.5&proud_bass=4&proud_treble=4")
    assert rows(screen) == []


def test_an_element_comes_off_the_base_beside(phone: Client) -> None:
    assert rows(ask(phone, f"{WORKED}&element=1"))[1] == ["bass", "1.20 mm", "2.20 mm", "2.20 mm"]


def test_too_little_left_is_stopped_with_the_wedge_of_a_neck_reset(phone: Client) -> None:
    low = WORKED.replace("proud_bass=3.4", "proud_bass=2.4")
    screen = ask(phone, f"{low}&heel=90")
    assert "1.2 mm would be left above the bridge" in screen.of_class("finding-stop")[0]
    assert "0.63 mm comes off the tip of the heel" in screen.words
    assert "off the base of the saddle" not in screen.words


def test_a_limit_that_a_lead_set_for_the_spec_is_held_to(phone: Client) -> None:
    revision = SpecRevision.objects.get(spec__key="TARN", state="open")
    day = date(2031, 3, 3)
    revising.set_limit(revision.pk, "R32.least", Decimal("2.3"), "P-01", "Thin bridge", day)
    screen = ask(phone, WORKED)
    assert "2.2 mm would be left above the bridge" in screen.of_class("finding-stop")[0]


def test_a_left_handed_guitar_has_its_treble_end_first(phone: Client) -> None:
    assert [one[0] for one in rows(ask(phone, WORKED, "Q-1055"))[1:]] == ["treble", "bass"]


def test_what_was_measured_within_the_tolerance_is_left(phone: Client) -> None:
    screen = ask(phone, serial="Q-1037")
    assert "The action is as wanted on both sides: nothing comes off." in screen.words
    assert not screen.of_class("caution")


def test_a_second_looks_25_hundredths_more_go_back_by_half_a_millimetre_at_the_saddle(
    phone: Client,
) -> None:
    screen = ask(phone, "?action_bass=2.65", "Q-1037")
    assert rows(screen)[1] == ["bass", "0.50 mm", "0.50 mm", "2.70 mm"]


def test_the_second_inspector_sees_nothing_of_the_first_looks_action() -> None:
    seen_first = {"relief 7": "0.23", "action bass": "2.41", "action treble": "1.61"}
    assert gauge("Q-1037", seen_first, "I10", "P-31", "I").done
    assert step("Q-1037", "I10", "P-31", "I").done
    assert "2.41 mm" in ask(signed_in("P-31", "I"), serial="Q-1037").words
    assert "2.41 mm" not in ask(signed_in("P-32", "R"), serial="Q-1037").words


def test_what_cannot_be_is_told_and_nothing_is_planned_by_it(phone: Client) -> None:
    screen = ask(phone, f"{WORKED}&element=9")
    assert "It cannot be: 0 mm to 4 mm can." in screen.words
    assert screen.one(".//input[@name='element']").get("value") == "9"
    assert not rows(screen)


def test_the_page_takes_no_more_statements_than_it_may(phone: Client) -> None:
    ask(phone, serial="Q-1037")
    with CaptureQueriesContext(connection) as captured:
        ask(phone, serial="Q-1037")
    # The code of the tag is looked up by the test itself.
    assert len(captured) <= PAGE + 1


def test_at_another_fret_the_tolerance_of_fret_12_is_taken_there(phone: Client) -> None:
    """0.15 over fret 12 are 0.075 over fret 5: 0.14 there are worked on."""
    asked = "&action_bass=1.84&target_bass=1.7&action_treble=1.57&target_treble=1.5"
    screen = ask(phone, f"?fret=5&proud_bass=4&proud_treble=4{asked}")
    assert rows(screen)[1][1] == "0.56 mm"
    assert rows(screen)[2][1] == "0.00 mm"
