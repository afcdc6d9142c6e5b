"""How a person has their screens: one tap each, the same on every phone."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

from shop.people import badges
from shop.people.models import Badge
from tests.bench.screens import Screen, seen
from tests.people.phones import enter

pytestmark = pytest.mark.usefixtures("operator", "clock")


@pytest.fixture
def mine(phone: Client) -> Client:
    """A phone that P-11 is signed in on."""
    assert enter(phone, "P-11").status_code == 302
    return phone


def page(phone: Client) -> Screen:
    return seen(phone.get("/screens/"))


def html(phone: Client) -> dict[str, str]:
    """What the page as a whole is told of its reader."""
    return dict(page(phone).one("html").attrib)


def test_four_questions_each_with_its_answers_a_tap_away(mine: Client) -> None:
    screen = page(mine)
    asked = [one.text for one in screen.one(".//main").iter("h2")]
    assert asked == ["Language", "Lengths", "Thumb", "Size of text"]
    for words in ("English", "Español", "left thumb", "large", "largest"):
        assert words in screen.buttons
    assert [one for one in screen.buttons if one.endswith("· now")] == [
        "as the phone asks · now",
        "mm · 8.73 mm · now",
        "right thumb · now",
        "usual · now",
    ]


def test_a_new_badge_has_the_page_as_it_is_made(mine: Client) -> None:
    assert html(mine) == {"lang": "en"}


@pytest.mark.parametrize(
    ("what", "how", "name"),
    [("thumb", "left", "data-thumb"), ("text_size", "large", "data-text"),
     ("text_size", "largest", "data-text"), ("language", "es", "lang")],
)  # fmt: skip
def test_what_is_chosen_is_on_every_page_and_every_phone(
    mine: Client, what: str, how: str, name: str
) -> None:
    answer = mine.post("/screens/", {what: how})
    assert (answer.status_code, answer["Location"]) == (302, "/screens/")
    assert html(mine)[name] == how
    elsewhere = Client()
    enter(elsewhere, "P-11")
    assert seen(elsewhere.get("/scan/")).one("html").get(name) == how


def test_what_is_chosen_is_a_persons_own(mine: Client, other: Badge) -> None:
    mine.post("/screens/", {"text_size": "largest"})
    elsewhere = Client()
    enter(elsewhere, other.code)
    assert html(elsewhere) == {"lang": "en"}


def test_one_choice_leaves_the_others(mine: Client) -> None:
    for choice in ({"thumb": "left"}, {"text_size": "large"}, {"units": "inch"}):
        mine.post("/screens/", choice)
    badge = Badge.objects.get(code="P-11")
    assert (badge.thumb, badge.text_size, badge.units, badge.language) == (
        "left", "large", "inch", "",
    )  # fmt: skip


@pytest.mark.parametrize(
    "sent",
    [{"thumb": "third"}, {"text_size": ""}, {"language": "xx"}, {"is_staff": "True"}, {}],
    ids=str,
)
def test_what_is_no_choice_changes_nothing(mine: Client, sent: dict[str, Any]) -> None:
    before = Badge.objects.filter(code="P-11").values().get()
    assert mine.post("/screens/", sent).status_code == 200
    assert Badge.objects.filter(code="P-11").values().get() == before


def test_choosing_says_whether_there_is_such_a_choice(operator: Badge) -> None:
    assert badges.choose(operator, "thumb", "left")
    assert not badges.choose(operator, "thumb", "third")
    assert not badges.choose(operator, "password", "x")
