"""The limits of the fit rules for one spec: what is in force, whose it is, another value.

The limits themselves and their defaults: common practice, no source.
"""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop.catalogue import book
from shop.catalogue.models import LimitChange
from tests.bench.screens import Screen, said, seen, signed_in

pytestmark = pytest.mark.usefixtures("today")

LIST = "/fit/TARN/limits/"
LEAST = f"{LIST}R06.least/"
WHY = "Rosewood heads hold less"


@pytest.fixture
def phone() -> Client:
    return signed_in("P-01")


def post(phone: Client, value: str = "0.03", why: str = WHY, path: str = LEAST) -> Screen:
    return seen(phone.post(path, {"value": value, "why": why}, follow=True))


def back(phone: Client, why: str = "It was a bad batch") -> Screen:
    return seen(phone.post(LEAST, {"value": "", "why": why, "back": "1"}, follow=True))


def changes() -> list[tuple[str, Decimal | None, str, str]]:
    return list(LimitChange.objects.order_by("id").values_list("name", "value", "by", "why"))


def row_of(screen: Screen, start: str) -> str:
    rows = [said(one).replace("\u202f", " ") for one in screen.root.iter("tr")]
    return next(one for one in rows if one.startswith(start))


def words(screen: Screen) -> str:
    return screen.words.replace("\u202f", " ")


# --- the list ---


def test_every_limit_of_every_rule_stands_on_the_list(phone: Client) -> None:
    links = seen(phone.get(LIST)).links.values()
    assert {one for one in links if one.startswith(f"{LIST}R")} == {
        f"{LIST}{name}/" for name in book.LIMITS
    }


def test_a_limit_stands_with_its_rule_its_default_and_whose_it_is(phone: Client) -> None:
    row = row_of(seen(phone.get(LIST)), "R06 least press")
    assert row == "R06 least press 0.02 mm Press-in bushing in its hole 0.02 mm common practice"


def test_a_limit_that_was_set_stands_with_who_when_and_why(phone: Client) -> None:
    screen = post(phone)
    assert row_of(screen, "R06 least press 0.03 mm").endswith(f"0.02 mm P-01, 2031-03-03: {WHY}")
    assert f"1 of {len(book.LIMITS)} limits set for it" in words(screen)


def test_every_change_stays_in_the_history_newest_first(phone: Client) -> None:
    post(phone)
    screen = back(phone)
    history = words(screen).split("What was changed")[1]
    assert history.index("It was a bad batch") < history.index(WHY)
    assert "least press 0.02 mm (default)" in history


def test_before_any_change_the_history_says_what_will_stand_there(phone: Client) -> None:
    assert "Each limit you set stands here with your badge" in words(seen(phone.get(LIST)))


@pytest.mark.parametrize("more", [0, 40])
def test_the_list_takes_six_statements_for_any_number_of_changes(phone: Client, more: int) -> None:
    """Badge and rights, three of the specs, one of the limits."""
    tarn = next(one for one in book.specs() if one.facts.key == "TARN")
    LimitChange.objects.bulk_create(
        LimitChange(
            revision_id=tarn.revision_id, name="R06.least", value=Decimal("0.03"), by="P-01",
            on="2031-03-01", why=f"{number}",
        )
        for number in range(more)
    )  # fmt: skip
    phone.get(LIST)
    with CaptureQueriesContext(connection) as asked:
        phone.get(LIST)
    assert len(asked) == 6


# --- one limit ---


def test_a_limit_says_what_is_in_force_and_asks_for_another(phone: Client) -> None:
    screen = seen(phone.get(LEAST))
    assert screen.heading == "R06 for TARN"
    assert screen.of_class("big")[0].replace("\u202f", " ") == "least press 0.02 mm"
    assert "Set it" in screen.buttons
    assert not any(one.startswith("Back to") for one in screen.buttons)


@pytest.mark.parametrize("typed", ["0.03", "0,03", "0.03 mm"])
def test_a_value_is_taken_with_comma_or_point(phone: Client, typed: str) -> None:
    assert "R06 of TARN is set." in post(phone, typed).of_class("finding-clear")[0]
    assert changes() == [("R06.least", Decimal("0.030"), "P-01", WHY)]


def test_a_limit_that_was_set_is_what_the_rules_go_by(phone: Client) -> None:
    """T01 sits 0.07 mm tight in TARN's hole: too little once 0.08 is asked for."""
    before = seen(phone.get("/fit/sets/", {"spec": "TARN", "set": "T01"}))
    assert before.of_class("finding-warn") == []
    post(phone, "0.08")
    told = " ".join(
        seen(phone.get("/fit/sets/", {"spec": "TARN", "set": "T01"})).of_class("finding-warn")
    ).replace("\u202f", " ")
    assert "it may work loose" in told
    assert f"R06.least set by P-01 on 2031-03-03 for TARN revision 1: {WHY}" in told


def test_a_limit_counts_for_its_own_spec_alone(phone: Client) -> None:
    post(phone, "0.06")
    screen = seen(phone.get("/fit/sets/", {"spec": "FIRTH", "set": "T13"}))
    assert screen.of_class("finding-warn") == []


def test_a_limit_goes_back_to_its_default_with_a_reason(phone: Client) -> None:
    post(phone)
    assert any("Back to least press" in one for one in seen(phone.get(LEAST)).buttons)
    screen = back(phone)
    assert "R06 is back to least press 0.02 mm." in screen.of_class("finding-clear")[0].replace(
        "\u202f", " "
    )
    assert changes()[-1] == ("R06.least", None, "P-01", "It was a bad batch")
    assert row_of(screen, "R06 least press 0.02 mm").endswith("common practice")


def test_its_own_page_tells_how_a_limit_came_to_be(phone: Client) -> None:
    post(phone)
    told = words(seen(phone.get(LEAST)))
    assert f"Set by P-01 on 2031-03-03: {WHY}." in told
    assert "The default is least press 0.02 mm." in told
    assert f"least press 0.03 mm P-01, 2031-03-03: {WHY}" in told.split("How it came to be")[1]


# --- what cannot be ---


@pytest.mark.parametrize(
    ("value", "why", "told"),
    [
        ("", WHY, "Nothing is no number."),
        ("much", WHY, "much is no number."),
        ("-0.01", WHY, "lies between 0 and 0.2 mm. Check the decimal point."),
        ("5", WHY, "5.0 cannot be"),
        ("0.0301", WHY, "is finer than is kept."),
        ("0.14", WHY, "nothing could fit"),
        ("0.03", "", "Say why"),
        ("0.03", "   ", "Say why"),
        ("0.03", "x" * 201, "201 characters. Say why in 200."),
    ],
)
def test_what_cannot_be_says_so_and_what_was_typed_stays(
    phone: Client, value: str, why: str, told: str
) -> None:
    screen = post(phone, value, why)
    assert told in screen.of_class("finding-stop")[0].replace("\u202f", " ")
    fields = {one.get("name"): one.get("value") for one in screen.root.iter("input")}
    assert (fields["value"], fields["why"]) == (value, why.strip())
    assert changes() == []


def test_letters_are_no_figure_where_the_limit_is_no_length(phone: Client) -> None:
    name = next(one.name for one in book.LIMITS.values() if one.unit != "mm")
    screen = post(phone, "1 in", path=f"{LIST}{name}/")
    assert "Write the figure alone" in screen.of_class("finding-stop")[0]
    assert changes() == []


def test_the_same_tap_sent_twice_sets_the_limit_once(phone: Client) -> None:
    for _ in range(2):
        assert "R06 of TARN is set." in post(phone).of_class("finding-clear")[0]
    assert len(changes()) == 1


def test_the_default_is_not_given_back_twice(phone: Client) -> None:
    told = back(phone).of_class("finding-stop")[0].replace("\u202f", " ")
    assert "least press 0.02 mm is in force already." in told
    assert changes() == []


@pytest.mark.parametrize(
    "path", ["/fit/MOOR/limits/", f"{LIST}R99.most/", "/fit/MOOR/limits/R06.least/"]
)
def test_a_limit_or_spec_that_is_not_there_is_not_found(phone: Client, path: str) -> None:
    assert phone.get(path).status_code == 404


def test_nobody_but_a_lead_sets_a_limit() -> None:
    clerk = signed_in("P-41")
    assert clerk.get(LIST).status_code == 403
    assert clerk.post(LEAST, {"value": "0.03", "why": WHY}).status_code == 403
    assert changes() == []
