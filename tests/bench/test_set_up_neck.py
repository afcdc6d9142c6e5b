"""The page of the neck: the rod's next turn, and the straightedge over the bridge."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from tests.bench.screens import Screen, seen, signed_in, tag
from tests.floor.gauged import gauge
from tests.floor.morning import step

pytestmark = pytest.mark.usefixtures("today")

PAGE = 10  # statements of a page of the set-up, at most


@pytest.fixture
def phone() -> Client:
    return signed_in("P-11")


def ask(phone: Client, query: str = "", serial: str = "Q-1043") -> Screen:
    return seen(phone.get(f"/{tag(serial)}/set-up/neck/{query}"))


def test_a_relief_above_the_specs_range_asks_for_an_eighth_and_five_minutes(phone: Client) -> None:
    screen = ask(phone, "?relief=0.35")
    assert screen.of_class("finding-warn") == [
        (
            "Check Relief 0.35 mm, 0.1 mm above 0.15 to 0.25 mm. Tighten the rod 1/8 turn, "
            "clockwise as you look at its end. Then tune to pitch, wait 5 min and measure again."
        )
    ]
    assert "Wear eye protection" in screen.of_class("caution")[0]


def test_a_guitar_strung_in_pairs_has_a_range_of_its_own(phone: Client) -> None:
    assert "within 0.2 to 0.35 mm" in ask(phone, "?relief=0.35", "Q-1058").words


def test_a_full_turn_that_changed_nothing_is_stopped_and_no_turn_is_asked_for(
    phone: Client,
) -> None:
    screen = ask(phone, "?relief=0.40&before=0.40&turned=8")
    assert len(screen.of_class("finding-stop")) == 1
    assert "turned 1 turn and the relief did not follow" in screen.words
    assert not screen.of_class("caution")


def test_a_turn_made_two_minutes_ago_is_waited_for(phone: Client) -> None:
    screen = ask(phone, "?relief=0.35&before=0.40&turned=1&waited=2")
    assert "Wait 3 min more, tune to pitch and measure again." in screen.words


def test_it_is_waited_for_without_the_relief_before_it_too(phone: Client) -> None:
    screen = ask(phone, "?relief=0.35&turned=1&waited=1")
    assert "Wait 4 min more, tune to pitch and measure again." in screen.words
    assert "Tighten the rod" not in screen.words


def test_after_a_full_turn_the_relief_before_it_is_asked_for(phone: Client) -> None:
    screen = ask(phone, "?relief=0.40&turned=8&waited=6")
    assert screen.of_class("finding-warn") == [
        (
            "Check The rod was turned 1 turn; whether the relief followed cannot be told. "
            "Enter the relief before the turns first: a rod that no longer moves its neck can snap."
        )
    ]
    assert "Tighten the rod" not in screen.words


def test_a_straightedge_into_the_bridge_has_its_wedge_reckoned(phone: Client) -> None:
    screen = ask(phone, "?gap=-1&heel=90")
    assert "The straightedge meets the bridge 1 mm under its top." in screen.words
    assert "0.63 mm comes off the tip of the heel" in screen.words
    assert "2 × 90 / 287.31 = 0.63 mm" in screen.words


def test_the_angle_that_bridge_and_board_ask_for_is_told(phone: Client) -> None:
    """atan((9.5 + 1.0 − 6.5 − 1.1) / (645 + 3.8 − 357.69)) = 0.57°, worked by hand."""
    assert "This spec's bridge and board ask for 0.57°." in ask(phone).words


def test_what_was_measured_counts_where_nothing_is_typed(phone: Client) -> None:
    assert "Relief 0.2 mm, within 0.15 to 0.25 mm." in ask(phone, serial="Q-1037").words


def test_the_second_inspector_sees_nothing_of_the_first_looks_relief() -> None:
    seen_first = {"relief 7": "0.23", "action bass": "2.41", "action treble": "1.61"}
    assert gauge("Q-1037", seen_first, "I10", "P-31", "I").done
    assert step("Q-1037", "I10", "P-31", "I").done
    assert "0.23 mm" in ask(signed_in("P-31", "I"), serial="Q-1037").words
    second = ask(signed_in("P-32", "R"), serial="Q-1037")
    assert "0.23 mm" not in second.words
    assert "Press the string down at frets 1 and 14" in second.words


def test_a_wrong_figure_holds_its_own_answer_back_and_no_other(phone: Client) -> None:
    screen = ask(phone, "?relief=0.35&waited=ages&gap=1.0")
    assert "ages is no number." in screen.words
    assert "Tighten" not in screen.words
    assert "The straightedge clears the bridge by 1 mm" in screen.words


@pytest.mark.parametrize("turned", ["99", "one", "-17", ""])
def test_a_turn_nobody_can_choose_counts_as_none(phone: Client, turned: str) -> None:
    screen = ask(phone, f"?relief=0.35&before=0.40&turned={turned}")
    assert screen.one(".//option[@selected]").get("value") == "0"


def test_the_page_takes_no_more_statements_than_it_may(phone: Client) -> None:
    ask(phone, serial="Q-1037")
    with CaptureQueriesContext(connection) as captured:
        ask(phone, serial="Q-1037")
    # The code of the tag is looked up by the test itself.
    assert len(captured) <= PAGE + 1
