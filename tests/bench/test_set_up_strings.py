"""The page of the strings' tension."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

import pytest
from django.test import Client

from shop.catalogue.models import Strings
from tests.bench.screens import Screen, seen, signed_in, tag
from tests.floor.morning import forget
from tests.people.phones import Clock

pytestmark = pytest.mark.usefixtures("today")

# Typed as a packet tells them, in pounds per inch: a printed light set, two of its weights put
# right (see tests/craft/test_string_pull.py).
WEIGHTS = {
    "w 1": "0.00002215",
    "w 2": "0.00003744",
    "w 3": "0.00006402",
    "w 4": "0.00012671",
    "w 5": "0.00023964",
    "w 6": "0.00038216",
    "weights": "lb/in",
}
GAUGES = {"d 1": "0.254", "d 2": "0.3302", "d 3": "0.4318"}


@pytest.fixture
def phone(today: Clock) -> Client:
    return signed_in("P-11")


def page(phone: Client, typed: dict[str, str] | None = None, serial: str = "Q-1043") -> Screen:
    return seen(phone.get(f"/{tag(serial)}/set-up/strings/?{urlencode(typed or {})}"))


def test_plain_strings_are_known_by_their_gauge_and_wound_ones_are_named(phone: Client) -> None:
    """0.3048 mm at 329.63 Hz and 645 mm: 103.6 N; the second, 0.4064 mm at 246.94 Hz, 103.3 N.
    Own computation at 7850 kg/m³."""
    screen = page(phone)
    assert "Without weight: 3, 4, 5 and 6." in screen.words
    assert "103.6 N" in screen.words
    assert "103.3 N" in screen.words
    assert "The strings that are known pull 207 N" in screen.words


def test_a_whole_set_by_the_packets_weights(phone: Client) -> None:
    """The printed tensions 16.2, 15.4, 16.6, 18.4, 19.5 and 17.5 lb add to 103.6 lb at 25.5 in;
    386.4 in/s² was rounded, so 103.7."""
    screen = page(phone, WEIGHTS | GAUGES | {"scale": "647.7"})
    assert "16.2 lb" in screen.words
    assert "The set pulls 461 N" in screen.words
    assert screen.of_class("finding") == []


def test_a_misprinted_weight_is_noted(phone: Client) -> None:
    screen = page(phone, WEIGHTS | GAUGES | {"w 2": "0.00003732"})
    assert "The weights of the plain strings do not agree" in screen.words


def test_a_set_over_the_limit_is_a_stop(phone: Client) -> None:
    """The limit of this spec is 830 N; twice the weight pulls twice as much."""
    heavy = {name: str(float(one) * 2) for name, one in WEIGHTS.items() if name != "weights"}
    typed = {name: f"{float(one):.8f}" for name, one in heavy.items()} | {"weights": "lb/in"}
    screen = page(phone, typed)
    assert "this top is limited to 830 N" in screen.words


def test_the_marked_tension_of_the_set_stands_beside(phone: Client) -> None:
    assert "As set R01 is marked, at this scale 734 N" in page(phone).words


def test_the_marked_tension_goes_with_the_square_of_the_scale(phone: Client) -> None:
    """734 · (632/645)² = 704.7."""
    assert "at this scale 705 N" in page(phone, {"scale": "632"}).words


def test_tuned_two_half_steps_lower_it_pulls_a_fifth_less(phone: Client) -> None:
    """f falls by 2^(−2/12), so T by 2^(−4/12) = 0.794: 103.6 becomes 82.2 N."""
    assert "82.2 N" in page(phone, {"lowered": "2"}).words


def test_nylon_is_not_reckoned_as_steel(phone: Client) -> None:
    Strings.objects.filter(key="R01").update(material="nylon")
    forget()
    assert "Without weight: 1, 2, 3, 4, 5 and 6." in page(phone).words


def test_twelve_strings_have_twelve_rows(phone: Client) -> None:
    rows = page(phone, serial="Q-1058").root.findall(".//tbody/tr")
    assert len(rows) == 12


def test_a_weight_in_the_other_unit_cannot_be(phone: Client) -> None:
    screen = page(phone, {"w 1": "0.4", "weights": "lb/in"})
    assert "It cannot be: 0.000005\u20130.0011 can." in screen.words
    assert screen.one(".//input[@name='w 1']").get("value") == "0.4"
    assert screen.root.findall(".//table") == []


def test_the_caution_about_strings_is_always_there(phone: Client) -> None:
    assert "Slacken every string before it is cut." in page(phone).words


def test_a_page_of_tension_takes_ten_statements_at_most(
    phone: Client, django_assert_max_num_queries: Any
) -> None:
    page(phone)
    with django_assert_max_num_queries(10):
        page(phone)
