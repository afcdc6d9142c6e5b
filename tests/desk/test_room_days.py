"""The room over the last days: brought in, drawn, and as tables. All figures are invented."""

from __future__ import annotations

from datetime import UTC, timedelta
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from shop.craft.clocks import Air
from shop.craft.wood import log as logs
from shop.floor import door
from shop.floor.models import Entry, RoomReading
from tests.bench.screens import Screen, key, seen, signed_in
from tests.floor.around import bare
from tests.floor.morning import act
from tests.people.phones import Clock

THIN = "\u202f"
HOUR = timedelta(hours=1)


@pytest.fixture(autouse=True)
def _bare(today: Clock) -> None:
    bare()


@pytest.fixture
def phone() -> Client:
    return signed_in("P-16")


def plain(words: str) -> str:
    return words.replace(THIN, " ")


def noted(today: Clock, *readings: tuple[float, str, str], sensor: str = "S-2") -> None:
    """What a sensor noted so many hours ago: °C and %RH."""
    said = tuple(
        Air(today.now - hours * HOUR, Decimal(temp), Decimal(rh)) for hours, temp, rh in readings
    )
    outcome = door.record(act("P-16", "J", today.now), door.RoomLogged(sensor, said))
    assert outcome.result == "recorded"


def bring(phone: Client, text: str | bytes, sensor: str = "") -> Screen:
    content = text.encode() if isinstance(text, str) else text
    file = SimpleUploadedFile("log.csv", content, "text/csv")
    sent = {"key": key(), "sensor": sensor, "file": file}
    return seen(phone.post("/room/log/", sent, follow=True))


def days(phone: Client, asked: str = "") -> Screen:
    return seen(phone.get(f"/room/days/{asked}"))


# --- a small gauge ---


def test_what_a_small_gauge_typed_is_noted_with_one_enter(phone: Client) -> None:
    screen = seen(phone.post("/room/", {"key": key(), "typed": "T21.4 H47"}, follow=True))
    assert plain(screen.of_class("big")[0]) == "21.4 °C, 47 %RH"
    assert (RoomReading.objects.get().temp_c, RoomReading.objects.get().sensor) == (
        Decimal("21.4"),
        "",
    )


def test_what_no_gauge_types_is_shown_again_with_what_it_types(phone: Client) -> None:
    screen = seen(phone.post("/room/", {"key": key(), "typed": "21.4 47"}, follow=True))
    [told] = screen.of_class("finding-stop")
    assert "21.4 47 is not what a small gauge types. It types T21.4 H47." in told
    assert screen.one(".//input[@name='typed']").get("value") == "21.4 47"
    assert not RoomReading.objects.exists()


def test_a_gauge_that_shows_what_no_room_has_is_refused_and_its_figures_stay(
    phone: Client,
) -> None:
    screen = seen(phone.post("/room/", {"key": key(), "typed": "T70 H47"}, follow=True))
    assert "70 °C is no temperature of a room" in plain(screen.of_class("finding-stop")[0])
    assert screen.one(".//input[@name='temp_c']").get("value") == "70.0"


# --- a log ---


def test_a_log_that_is_brought_in_stands_on_the_page_of_days(phone: Client, today: Clock) -> None:
    at = (today.now - HOUR).astimezone(UTC)
    screen = bring(phone, f"when;celsius;rh\n{at.isoformat()};21,4;47\n", "S-2")
    assert "1 reading of sensor S-2: noted." in screen.of_class("finding-clear")[0]
    kept = RoomReading.objects.get()
    assert (kept.at, kept.temp_c, kept.rh_pct, kept.sensor) == (
        at, Decimal("21.4"), Decimal(47), "S-2",
    )  # fmt: skip


def test_what_is_wrong_with_a_log_is_told_by_line_and_the_sensors_name_stays(
    phone: Client,
) -> None:
    screen = bring(phone, "when,celsius,rh\n2031-03-03T06:45,21.4,47\n", "S-2")
    [told] = screen.of_class("finding-stop")
    assert "Line 2: 2031-03-03T06:45 has no zone." in told
    assert "Nothing is noted yet." in told
    assert screen.one(".//input[@name='sensor']").get("value") == "S-2"
    assert not RoomReading.objects.exists()


def test_a_zero_character_in_the_name_of_a_sensor_is_left_out(phone: Client, today: Clock) -> None:
    at = (today.now - timedelta(hours=1)).isoformat()
    bring(phone, f"when,celsius,rh\n{at},21.4,47\n", sensor="S-2\0")
    bring(phone, f"when,celsius,rh,sensor\n{at},21.4,47,S-\0003\n")
    assert set(RoomReading.objects.values_list("sensor", flat=True)) == {"S-2", "S-3"}


def test_no_file_at_all_is_told_like_an_empty_one(phone: Client) -> None:
    screen = seen(phone.post("/room/log/", {"key": key(), "sensor": "S-2"}))
    assert "There is nothing in this file." in screen.of_class("finding-stop")[0]


@pytest.mark.parametrize("form", ["utf-16", "utf-8-sig", "cp1252"])
def test_a_log_is_read_as_the_program_of_a_sensor_saves_it(
    phone: Client, today: Clock, form: str
) -> None:
    at = (today.now - HOUR).isoformat()
    text = f"when,celsius,rh,sensor\n{at},21.4,47,Büro\n"
    bring(phone, text.encode(form))
    assert RoomReading.objects.get().sensor == "Büro"


def test_the_refusal_of_the_door_is_told_on_the_page(phone: Client, today: Clock) -> None:
    noted(today, (1, "21.4", "47.0"))
    at = (today.now - HOUR).isoformat()
    screen = bring(phone, f"when,celsius,rh\n{at},21.4,51\n", "S-2")
    assert "has noted another thing before of 1 moment" in screen.of_class("finding-stop")[0]
    assert Entry.objects.latest("id").outcome == "refused"


# --- the days ---


def test_before_anybody_read_the_room_the_page_says_what_will_stand_there(phone: Client) -> None:
    assert "Nobody has read the room in these days." in days(phone).words


def test_the_days_are_drawn_and_told_in_tables(phone: Client, today: Clock) -> None:
    noted(today, (9, "21", "48"), (8, "21.5", "38.5"), (5, "20", "47"))
    page = days(phone)
    assert page.one(".//svg[@role='img']/title").text
    assert "Too dry for 3 h from Mon 01:30, at worst 38.5 %RH on Mon 01:30." in plain(page.words)
    assert "38.5–48.0" in page.words
    assert "20.0–21.5" in page.words


def test_a_window_for_glue_is_told_by_the_glue_that_is_asked_for(
    phone: Client, today: Clock
) -> None:
    noted(today, (3, "12", "48"), (1, "12", "48"))
    assert "Never in these days. Bring the room there before you glue." in days(phone).words
    yellow = days(phone, "?glue=yellow")
    assert "Never in these days." not in yellow.words
    assert "3 h" in plain(yellow.words)


def test_an_alarm_names_the_clocks_that_ran_meanwhile(phone: Client, today: Clock) -> None:
    """The demo has instruments in their cases at half past nine."""
    noted(today, (3, "21", "47"), (2, "21", "38"), (1, "21", "47"))
    page = days(phone)
    assert "What they touched" in page.words
    assert "days in the case" in page.words


@pytest.mark.parametrize("asked", ["?days=1", "?days=7", "?days=31", "?days=400&glue=hide"])
def test_any_address_of_days_is_answered(phone: Client, today: Clock, asked: str) -> None:
    noted(today, (2, "21", "47"), (1, "21", "38"))
    assert "38.0–47.0" in days(phone, asked).words


def test_the_page_of_days_asks_the_database_as_often_for_many_readings_as_for_few(
    phone: Client, today: Clock, django_assert_max_num_queries: object
) -> None:
    noted(today, (2, "21", "47"), (1, "21", "38"))
    days(phone)
    with django_assert_max_num_queries(12):  # type: ignore[operator]
        days(phone)
    noted(today, *((one / 6, "21", "38" if one % 7 else "47") for one in range(700)), sensor="S-1")
    with django_assert_max_num_queries(12):  # type: ignore[operator]
        page = days(phone)
    drawn = sum(len(one.get("d", "")) for one in page.root.iter("path"))
    assert drawn < 40_000


def test_every_reading_leaves_in_the_form_that_it_came_in(phone: Client, today: Clock) -> None:
    noted(today, (2, "21.4", "47.0"), (1, "21.3", "38.0"))
    text = phone.get("/room/days/list.csv?days=1").content.decode()
    again = logs.read(text, today.now)
    assert again.sensor == "S-2"
    assert [one.rh_pct for one in again.readings] == [Decimal("47.0"), Decimal("38.0")]


@pytest.mark.parametrize("address", ["/room/log/", "/room/days/", "/room/wood/"])
def test_a_trainee_is_shown_none_of_it(address: str) -> None:
    assert signed_in("P-25").get(address).status_code == 403
