"""The card a badge signs in with."""

from __future__ import annotations

from typing import Any

import pytest
from django.contrib.auth.models import Group
from django.test import Client

from shop.catalogue.models import Station
from shop.paper import press
from shop.paper.forms import form_of
from shop.paper.placing import per_sheet
from shop.people import badges
from shop.people.models import Badge
from tests.bench.screens import seen
from tests.floor.morning import NOW, forget
from tests.paper.measured import (
    SHORT,
    drawn,
    height,
    keeps_its_border,
    looks_the_same_stamped,
    modules_mm,
    refused,
    scanned,
    too_low,
)
from tests.paper.reading import pages, sizes_mm, squeezed, words

pytestmark = pytest.mark.usefixtures("morning", "db")

LONGEST = "WWWWWW-1"  # eight letters are the most a badge has
HOME = "Nut and saddle of the long necks beneath"  # forty, the most a station's name has


@pytest.fixture(autouse=True)
def _address(settings: Any) -> None:
    settings.ADDRESS = SHORT


def badge(code: str) -> Badge:
    return Badge.objects.get(code=code)


def fullest() -> str:
    """A badge with every role, the widest letters and the longest home; its code."""
    Station.objects.filter(code="U").update(name=HOME)
    Badge.objects.filter(code="P-12").update(code=LONGEST, home_station="U")
    badge(LONGEST).groups.set(Group.objects.all())
    forget()
    return LONGEST


def test_a_card_has_the_size_of_a_bank_card() -> None:
    """ISO/IEC 7810, ID-1: 85.60 x 53.98 mm."""
    [size] = sizes_mm(drawn("badge_card", "P-11"))
    assert size == pytest.approx((85.60, 53.98), abs=0.05)


def test_ten_cards_stand_on_an_a4_sheet() -> None:
    """Two beside each other, 171.2 of 210 mm, five below each other, 269.9 of 297 mm."""
    assert per_sheet(form_of("badge_card"), "a4") == 10


def test_a_card_says_badge_day_roles_home_and_what_to_do_with_a_found_one_and_nothing_else() -> (
    None
):
    code = badge("P-11").card or ""
    said = (
        f"P-11{NOW:%Y-%m-%d}{code[:4]}-{code[4:]}operatorHome station Neck bench"
        "Found? Hand it to the lead."
    )
    assert words(drawn("badge_card", "P-11")) == squeezed(said)


def test_a_badge_of_no_station_has_a_card_without_one() -> None:
    Badge.objects.filter(code="P-11").update(home_station="")
    assert "Homestation" not in words(drawn("badge_card", "P-11"))


def test_the_badge_stands_twelve_millimetres_high_and_the_longest_eleven() -> None:
    """Common practice, no source."""
    [page] = pages(drawn("badge_card", "P-11"))
    assert height(page, "P-11") >= 12
    [page] = pages(drawn("badge_card", fullest()))
    assert height(page, LONGEST) >= 11


def test_the_square_signs_in_the_badge_it_was_printed_for() -> None:
    pdf = drawn("badge_card", "P-11", "P-12")
    texts = scanned(pdf)
    assert texts == [f"{SHORT}/{badge(one).card}".upper() for one in ("P-11", "P-12")]
    asked = seen(Client().post("/sign-in/card/", {"code": texts[1], "kept": "{}"}))
    assert "P-12" in asked.words
    assert asked.one(".//input[@name='badge']").get("value") == "P-12"


def test_the_squares_module_is_three_quarters_of_a_millimetre() -> None:
    assert modules_mm(drawn("badge_card", "P-11")) == pytest.approx([0.75], abs=0.01)


def test_every_role_and_the_longest_home_have_room_on_the_one_side() -> None:
    pdf = drawn("badge_card", fullest())
    [page] = pages(pdf)
    assert squeezed(HOME) in page.text
    roles = sorted(Group.objects.values_list("name", flat=True))
    assert len(roles) > 4
    assert squeezed("·".join(roles)) in page.text
    assert page.text.endswith("Found?Handittothelead.")


@pytest.mark.parametrize("full", [False, True])
def test_the_border_is_white_and_no_letter_is_too_low(full: bool) -> None:
    pdf = drawn("badge_card", fullest() if full else "P-11")
    assert keeps_its_border("badge_card", pdf)
    assert too_low(pdf) == []


def test_a_stamped_card_is_the_picture_of_one_laid_out_by_itself() -> None:
    assert looks_the_same_stamped("badge_card", "P-11", "P-12", "P-14", "P-41", "P-01")


def test_a_badge_that_is_switched_off_has_no_card_and_the_rest_is_drawn() -> None:
    Badge.objects.filter(code="P-11").update(is_active=False)
    sheaf = press.draw("badge_card", ["P-11", "P-12"], NOW)
    assert [one.page.name for one in sheaf.drawn] == ["P-12"]
    [(name, why)] = sheaf.refused
    assert name == "P-11"
    assert "Badge P-11 is switched off" in str(why)
    assert "the lead switches it on in the office pages" in str(why)


def test_a_badge_without_a_card_code_is_told_how_it_gets_one() -> None:
    Badge.objects.filter(code="P-11").update(card=None)
    told = refused("badge_card", "P-11")
    assert "no code for its card yet" in told
    assert "The lead opens it in the office pages and saves it" in told


def test_saving_a_badge_in_the_office_pages_gives_it_its_card_code() -> None:
    """What the refusal asks for helps."""
    one = badge("P-11")
    one.card = None
    badges.give_card(one)
    one.save()
    assert scanned(drawn("badge_card", "P-11")) == [f"{SHORT}/{one.card}".upper()]


def test_a_badge_nobody_has_is_named() -> None:
    assert refused("badge_card", "P-99").startswith("There is no badge P-99 here.")


def test_cards_are_read_in_two_statements_however_many_they_are(
    django_assert_num_queries: Any,
) -> None:
    codes = list(Badge.objects.values_list("code", flat=True))
    assert len(codes) > 5
    with django_assert_num_queries(2):
        assert set(badges.cards(codes)) == set(codes)
