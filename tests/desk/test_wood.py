"""The page of wood: what a part comes to from one climate to another."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.test import Client

from shop.floor import door
from shop.people.models import Badge
from tests.bench.screens import Screen, seen, signed_in
from tests.floor.around import bare
from tests.floor.morning import act
from tests.people.phones import Clock

THIN = "\u202f"


@pytest.fixture(autouse=True)
def _bare(today: Clock) -> None:
    bare()


@pytest.fixture
def phone() -> Client:
    return signed_in("P-16")


def look(phone: Client, asked: str = "") -> Screen:
    return seen(phone.get(f"/room/wood/{asked}"))


def answer(screen: Screen) -> str:
    return screen.of_class("big")[0].replace(THIN, " ")


def test_the_page_begins_with_a_top_that_dries() -> None:
    """Own computation: 400 mm of spruce from 45 to 30 %RH at 21 °C is 1.36 mm narrower."""
    page = look(signed_in("P-16"))
    assert answer(page) == (
        "400 mm of Sitka spruce, quartered, come to 398.64 mm: 1.36 mm narrower across the grain."
    )
    assert "Moisture 8.5 % before, 6.2 % after." in page.words.replace(THIN, " ")


def test_the_arithmetic_stands_behind_why_with_its_formulas(phone: Client) -> None:
    page = look(phone)
    assert "400 × 0.00148 × (6.17 − 8.46) = −1.36 mm" in page.words.replace(THIN, " ")
    assert "/formulas/wood-movement/" in page.links.values()
    assert "/formulas/wood-moisture/" in page.links.values()


def test_the_formulas_it_leads_to_are_there(phone: Client) -> None:
    for one in ("wood-movement", "wood-moisture"):
        assert phone.get(f"/formulas/{one}/").status_code == 200


def test_the_room_as_it_was_read_last_is_what_a_part_comes_to(phone: Client, today: Clock) -> None:
    door.record(act("P-16", "J", today.now), door.RoomRead(Decimal(21), Decimal(45)))
    assert answer(look(phone)) == "400 mm of Sitka spruce, quartered, stay as they are."


def test_another_part_begins_with_its_own_usual_wood_and_width(phone: Client) -> None:
    assert answer(look(phone, "?part=hole")).startswith("8.73 mm of mahogany, flat-sawn, come to")
    assert answer(look(phone, "?part=board")).startswith("56 mm of East Indian ebony, quartered")


def test_what_is_asked_is_answered_and_stays_in_the_form(phone: Client) -> None:
    page = look(phone, "?part=board&wood=sugar-maple&cut=flat-sawn&width=57,5&after_rh=60")
    assert answer(page).startswith("57.5 mm of sugar maple, flat-sawn, come to")
    assert "wider" in answer(page)
    assert page.one(".//input[@name='width']").get("value") == "57,5"


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        ("?width=wide", "wide is no number. Write it as 8.73 or 8,73."),
        ("?width=2000", "2000 mm cannot be: a width is 1 mm to 1000 mm."),
        ("?after_rh=99", "99 %RH is of no room that is worked in: 5 to 95 %RH can be."),
        ("?before_c=-10", "−10 °C is of no room that is worked in: 5 to 45 °C can be."),
        ("?before_c=warm", "A figure with one decimal at most, as 21.5."),
    ],
)
def test_what_cannot_be_is_told_at_its_field_and_stays_there(
    phone: Client, asked: str, told: str
) -> None:
    page = look(phone, asked)
    assert told in " ".join(page.of_class("finding-stop")).replace(THIN, " ")
    name, value = asked.strip("?").split("=")
    assert page.one(f".//input[@name='{name}']").get("value") == value
    assert not page.of_class("big")


def test_whoever_reads_inches_asks_and_is_answered_in_them(phone: Client) -> None:
    Badge.objects.filter(code="P-16").update(units="inch")
    page = look(phone, "?width=15.75")
    assert answer(page).startswith("15.7500 in of Sitka spruce, quartered, come to")


def test_moisture_beyond_the_coefficients_is_said_to_be_rough(phone: Client) -> None:
    assert "Take the figure as rough." in look(phone, "?after_rh=80").words


def test_the_page_asks_the_database_little(
    phone: Client, django_assert_max_num_queries: object
) -> None:
    look(phone)
    with django_assert_max_num_queries(4):  # type: ignore[operator]
        look(phone)
