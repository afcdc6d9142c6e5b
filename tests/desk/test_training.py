"""The lead's page of sign-offs. Badges and stations are those of the demo workshop."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client

from shop.people import badges
from shop.people.models import Badge, Training
from tests.bench.screens import Screen, said, seen, signed_in
from tests.people.phones import Clock

ADDRESS = "/badges/training/"
TODAY = date(2031, 3, 3)


@pytest.fixture(autouse=True)
def _nobody(today: Clock) -> None:
    """Nobody is signed off anywhere."""
    Training.objects.all().delete()
    Badge.objects.update(trained={})


@pytest.fixture
def desk() -> Client:
    return signed_in("P-01")


def named(code: str) -> Badge:
    return Badge.objects.get(code=code)


def look(desk: Client, **asked: str) -> Screen:
    return seen(desk.get(ADDRESS, asked))


def sign(desk: Client, **differs: str) -> Screen:
    sent = {"badge": "P-14", "station": "B", "trainer": "P-01", "on": "2031-03-03"} | differs
    return seen(desk.post(ADDRESS, sent, follow=True))


def end(desk: Client, **sent: str) -> Screen:
    return seen(desk.post("/badges/training/end/", sent, follow=True))


def rows(screen: Screen) -> list[str]:
    """Each row of the list, without what can be changed there."""
    found = [said(one) for one in screen.root.findall(".//tbody/tr")]
    return [words.split(" Renew")[0] for words in found]


def chosen(screen: Screen, name: str) -> str:
    field = screen.one(f".//*[@name='{name}']")
    if field.tag == "input":
        return field.get("value", "")
    return next(
        (one.get("value", "") for one in field.iter("option") if "selected" in one.attrib), ""
    )


def test_before_anybody_is_signed_off_the_page_says_what_will_stand_there(desk: Client) -> None:
    screen = look(desk)
    assert rows(screen) == []
    assert "Nobody yet" in screen.words
    assert "Neck bench" in screen.words
    assert "Whoever you sign off stands here." in screen.words


def test_a_badge_is_signed_off_for_a_year_and_listed_at_its_station(desk: Client) -> None:
    screen = sign(desk)
    assert "P-14 is signed off for Body bench until 2032-03-03." in screen.words
    assert rows(screen) == ["P-14 until 2032-03-03 P-01"]
    assert named("P-14").trained == {"B": "2032-03-03"}


def test_the_lead_who_is_signed_in_and_today_stand_in_the_form_already(desk: Client) -> None:
    screen = look(desk)
    assert (chosen(screen, "trainer"), chosen(screen, "on")) == ("P-01", "2031-03-03")
    assert (chosen(screen, "badge"), chosen(screen, "station")) == ("", "")


def test_a_trainer_of_the_station_may_be_the_one_who_signs(desk: Client) -> None:
    sign(desk)
    assert rows(sign(desk, badge="P-25", trainer="P-14")) == [
        "P-14 until 2032-03-03 P-01",
        "P-25 until 2032-03-03 P-14",
    ]


@pytest.mark.parametrize(
    ("differs", "fault"),
    [
        ({"badge": ""}, "Choose a badge."),
        ({"station": ""}, "Choose a station."),
        ({"trainer": ""}, "Choose a trainer."),
        ({"on": ""}, "Give the day it was signed."),
        ({"on": "3.3.31"}, "Write the day as 2031-03-14."),
        ({"on": "2031-03-04"}, "2031-03-04 is still to come. Give the day it was signed."),
        ({"on": "2030-03-02"}, "What was signed on 2030-03-02 has run out."),
        ({"badge": "P-99"}, "P-99 is no badge to choose any more. Choose one of the list."),
        ({"station": "ZZ"}, "ZZ is no station to choose any more. Choose one of the list."),
        ({"trainer": "P-14"}, "P-14 is the one to sign off. Choose somebody else as trainer."),
        ({"trainer": "P-11"}, "P-11 was not signed off for station B on 2031-03-03."),
        ({"trainer": "P-25"}, "P-25 still learns."),
    ],
)
def test_what_cannot_be_signed_is_said_and_nothing_is_lost(
    desk: Client, differs: dict[str, str], fault: str
) -> None:
    screen = sign(desk, **differs)
    [told] = screen.of_class("finding-stop")
    assert told.startswith(fault)
    sent = {"badge": "P-14", "station": "B", "trainer": "P-01"}
    for name in sent.keys() - differs.keys():
        assert chosen(screen, name) == sent[name]
    assert not Training.objects.exists()


@pytest.mark.parametrize("on", ["2031-03-03", "2030-03-03"])
def test_the_day_may_be_today_or_up_to_a_year_ago(desk: Client, on: str) -> None:
    assert not sign(desk, on=on).of_class("finding-stop")
    assert Training.objects.get().on.isoformat() == on


def test_the_last_day_still_counts_and_the_next_does_not(desk: Client, today: Clock) -> None:
    sign(desk)
    today.now += timedelta(days=366)  # 2032-03-03: a leap year lies between
    assert rows(look(signed_in("P-01"))) == ["P-14 until 2032-03-03 P-01"]
    today.now += timedelta(days=1)
    assert rows(look(signed_in("P-01"))) == ["P-14 ran out 2032-03-03 P-01"]


def test_what_ran_out_comes_first_and_is_told_by_shape_and_words(
    desk: Client, today: Clock
) -> None:
    badges.train(named("P-16"), "J", named("P-01"), date(2030, 2, 1))
    badges.train(named("P-14"), "J", named("P-01"), TODAY)
    screen = look(desk)
    assert rows(screen) == ["P-16 ran out 2031-02-01 P-01", "P-14 until 2032-03-03 P-01"]
    marks = [one.get("class") for one in screen.root.findall(".//tbody//svg")]
    assert marks == ["mark mark-stop", "mark mark-clear"]


def test_stations_stand_in_the_order_of_the_floor(desk: Client) -> None:
    for station in ("J", "B", "N"):
        badges.train(named("P-14"), station, named("P-01"), TODAY)
    heads = [one.text for one in look(desk).root.findall(".//h2")]
    assert heads == ["Neck bench", "Body bench", "Joint", "Nobody yet"]


def test_a_renewal_is_two_taps_away(desk: Client) -> None:
    sign(desk)
    to = look(desk).links["Renew P-14"]
    screen = seen(desk.get(to))
    assert (chosen(screen, "badge"), chosen(screen, "station")) == ("P-14", "B")
    assert chosen(screen, "trainer") == "P-01"


def test_a_sign_off_is_ended_from_today(desk: Client) -> None:
    told = end(desk, **sign(desk).form("/badges/training/end/"))
    assert "P-14 is not signed off for Body bench any more." in told.words
    assert rows(told) == ["P-14 ran out 2031-03-02 P-01"]
    assert named("P-14").trained == {"B": "2031-03-02"}


@pytest.mark.parametrize(
    ("badge", "station", "fault"),
    [
        ("P-14", "N", "P-14 is not signed off for station N on 2031-03-03."),
        ("P-99", "B", "That badge is not in use. Choose one of the list."),
        ("", "", "That badge is not in use."),
    ],
)
def test_what_cannot_be_ended_is_said(desk: Client, badge: str, station: str, fault: str) -> None:
    sign(desk)
    assert fault in end(desk, badge=badge, station=station).words
    assert Training.objects.count() == 1


def test_the_way_to_training_is_on_the_page_of_badges(desk: Client) -> None:
    links = seen(desk.get("/badges/")).links
    assert links["Training: who is signed off where"] == ADDRESS


@pytest.mark.parametrize("badge", ["P-11", "P-25", "P-31", "P-41", "P-61"])
def test_nobody_but_the_lead_signs_anybody_off(badge: str) -> None:
    phone = signed_in(badge)
    assert phone.get(ADDRESS).status_code == 403
    assert sign(phone).answer.status_code == 403
    assert end(phone, badge="P-14", station="B").answer.status_code == 403
    assert not Training.objects.exists()


def test_the_page_asks_as_much_for_many_sign_offs_as_for_one(
    desk: Client, django_assert_max_num_queries: Any
) -> None:
    for code in ("P-14", "P-16", "P-22"):
        for station in ("B", "J", "A"):
            badges.train(named(code), station, named("P-01"), TODAY)
    look(desk)
    with django_assert_max_num_queries(5):  # badge, rights, badges, their roles, sign-offs
        look(desk)
