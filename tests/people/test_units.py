"""How a person has lengths on screen."""

from __future__ import annotations

import pytest
from django.template import Context, Template
from django.test import Client
from django.utils import translation

from shop.craft.words import THIN
from shop.people import badges
from shop.people.models import Badge
from tests.bench.screens import seen
from tests.people.phones import enter

pytestmark = pytest.mark.usefixtures("operator", "clock")


@pytest.fixture
def mine(phone: Client, operator: Badge) -> Client:
    """A phone that P-11 is signed in on."""
    assert enter(phone, "P-11").status_code == 302
    return phone


def units_of(code: str = "P-11") -> str:
    return Badge.objects.get(code=code).units


def test_a_new_badge_has_millimetres() -> None:
    assert units_of() == "mm"


def test_three_taps_lead_from_any_page_to_other_units(mine: Client) -> None:
    station = seen(mine.get("/scan/")).one(".//header/a[2]").get("href", "")
    screens = seen(mine.get(station)).links["Your screens"]
    answer = mine.post(screens, {"units": "both"})
    assert (answer.status_code, answer["Location"]) == (302, screens)
    assert "mm and inch · 8.73 mm (0.3437 in) · now" in seen(mine.get(screens)).buttons


def test_each_choice_shows_how_it_reads_and_the_one_in_force_says_so(mine: Client) -> None:
    """8.73 mm is 0.3437 in: an inch is 25.4 mm exactly (international yard and pound
    agreement, 1959)."""
    mine.post("/screens/", {"units": "inch"})
    buttons = seen(mine.get("/screens/")).buttons
    assert "mm · 8.73 mm" in buttons
    assert "mm and inch · 8.73 mm (0.3437 in)" in buttons
    assert "inch · 0.3437 in · now" in buttons


def test_the_units_are_a_persons_own_on_every_phone(mine: Client, other: Badge) -> None:
    mine.post("/screens/", {"units": "inch"})
    elsewhere = Client()
    enter(elsewhere, "P-11")
    assert "inch · 0.3437 in · now" in seen(elsewhere.get("/screens/")).buttons
    assert units_of(other.code) == "mm"


@pytest.mark.parametrize("units", ["", "cm", "MM", "\0"])
def test_units_that_are_none_change_nothing(mine: Client, units: str) -> None:
    assert mine.post("/screens/", {"units": units}).status_code == 200
    assert units_of() == "mm"


def test_choosing_says_whether_there_are_such_units(operator: Badge) -> None:
    assert badges.choose(operator, "units", "both")
    assert not badges.choose(operator, "units", "furlong")
    assert units_of() == "both"


def test_what_the_shop_wrote_keeps_its_words_in_another_language() -> None:
    """2 mm is 0.0787 in: an inch is 25.4 mm exactly (1959, as above)."""
    page = Template("{% load lengths %}{% as_given words %}|{% lengths words %}")
    shown = {"words": "Up to 2 mm: Left", "units": "inch"}
    with translation.override("es"):
        given, said = page.render(Context(shown)).replace(THIN, " ").split("|")
    assert given == "Up to 0.0787 in: Left"
    assert said == "Hasta 0.0787 in: Izquierda"
