"""Reading the room: two figures, and the last reading with its age. All figures are invented."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client

from shop.floor.models import Entry, RoomReading
from tests.bench.screens import Screen, key, seen, signed_in
from tests.floor.around import bare
from tests.people.phones import Clock

THIN = "\u202f"


@pytest.fixture(autouse=True)
def _bare(today: Clock) -> None:
    bare()


@pytest.fixture
def phone() -> Client:
    return signed_in("P-16")


def look(phone: Client) -> Screen:
    return seen(phone.get("/room/"))


def send(phone: Client, temp_c: str = "21,5", rh_pct: str = "48", by: str = "") -> Screen:
    sent = {"key": by or key(), "temp_c": temp_c, "rh_pct": rh_pct}
    return seen(phone.post("/room/", sent, follow=True))


def plain(words: str) -> str:
    return words.replace(THIN, " ")


def test_before_anybody_read_it_the_page_says_what_will_stand_there(phone: Client) -> None:
    assert "Nobody has read the room yet. What you note stands here" in look(phone).words


def test_a_noted_room_stands_on_the_page_with_who_read_it(phone: Client) -> None:
    screen = send(phone)
    assert "The room is noted." in screen.of_class("finding-clear")[0]
    assert plain(screen.of_class("big")[0]) == "21.5 °C, 48 %RH"
    assert "Last read Mon 09:30 by P-16" in screen.words


def test_the_last_reading_is_shown_with_its_age(phone: Client, today: Clock) -> None:
    send(phone)
    today.now += timedelta(hours=3, minutes=20)
    assert "3 h 20 min ago" in plain(look(signed_in("P-11")).words)


def test_a_reading_of_another_week_is_told_by_its_date(phone: Client, today: Clock) -> None:
    send(phone)
    today.now += timedelta(days=8)
    assert "Last read 2031-03-03 by P-16" in look(signed_in("P-11")).words


@pytest.mark.parametrize("written", ["21,5", "21.5", " 21.5 ", "+21.5"])
def test_a_figure_is_taken_with_a_comma_or_a_point(phone: Client, written: str) -> None:
    send(phone, written)
    assert f"{RoomReading.objects.get().temp_c}" == "21.5"


@pytest.mark.parametrize("written", ["warm", "21.55", "2 1", "21°", "1e1", "NaN"])
def test_what_is_no_figure_is_shown_how_one_is_written(phone: Client, written: str) -> None:
    screen = send(phone, written)
    assert screen.of_class("finding-stop") == ["A figure with one decimal at most, as 21.5."]
    assert [
        one.get("value") for one in screen.root.iter("input") if one.get("name") == "rh_pct"
    ] == ["48"]
    assert not RoomReading.objects.exists()


def test_a_figure_left_out_is_asked_for(phone: Client) -> None:
    assert send(phone, rh_pct="").of_class("finding-stop") == ["Read it and write it as 48."]


def test_a_room_that_cannot_be_is_refused_and_what_was_typed_stays(phone: Client) -> None:
    screen = send(phone, "70")
    [told] = screen.of_class("finding-stop")
    assert "70 °C is no temperature of a room that is worked in: 5 to 45 °C can be." in plain(told)
    assert screen.one(".//input[@name='temp_c']").get("value") == "70"
    assert not RoomReading.objects.exists()


def test_the_same_tap_sent_twice_is_one_reading(phone: Client) -> None:
    by = key()
    first, again = (send(phone, by=by) for _ in range(2))
    assert first.words == again.words
    assert Entry.objects.filter(key=by).count() == 1
    assert RoomReading.objects.count() == 1


@pytest.mark.parametrize("badge", ["P-11", "P-31", "P-61", "P-41", "P-01"])
def test_whoever_works_here_finds_the_way_to_the_room(badge: str) -> None:
    assert look(signed_in(badge)).links["Room"] == "/room/"


def test_a_trainee_reads_no_room_and_is_shown_no_way_there() -> None:
    trainee = signed_in("P-25")
    assert trainee.get("/room/").status_code == 403
    assert "Room" not in seen(trainee.get("/scan/")).links
