"""Reading the room: who read what, when, and what cannot be so. All figures are invented."""

from __future__ import annotations

import uuid
from datetime import timedelta
from decimal import Decimal

import pytest

from shop.craft.words import THIN
from shop.floor import board, door
from shop.floor.models import Entry, RoomReading
from tests.floor.around import bare, read_room
from tests.floor.morning import NOW, act, rules, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]


@pytest.fixture(autouse=True)
def _bare(morning: None, db: None) -> None:
    bare()


def test_a_reading_is_kept_with_who_read_it_and_when() -> None:
    assert read_room("21.5", "47.5", NOW).result == "recorded"
    kept = RoomReading.objects.get()
    assert (kept.temp_c, kept.rh_pct) == (Decimal("21.5"), Decimal("47.5"))
    assert (kept.by.code, kept.at) == ("P-16", NOW)


def test_a_reading_stands_in_the_journal_as_the_rooms_and_no_instruments() -> None:
    outcome = read_room()
    row = RoomReading.objects.get().entry
    assert (row.subject, row.kind, row.outcome) == ("room", "room", "recorded")
    assert (row.instrument_id, outcome.seq) == (None, None)
    assert row.data == {"temp_c": "21", "rh_pct": "48"}


def test_the_last_reading_is_the_one_that_is_told() -> None:
    assert board.room(fresh=True) is None
    read_room("18", at=NOW - timedelta(hours=2))
    read_room("21", at=NOW - timedelta(hours=1))
    last = board.room(fresh=True)
    assert last is not None
    assert (last.temp_c, last.at, last.by) == (Decimal(21), NOW - timedelta(hours=1), "P-16")


@pytest.mark.parametrize(
    ("temp_c", "rh_pct"),
    [("5", "5"), ("45", "95"), ("5.0", "95.0")],
    ids=["least", "most", "mixed"],
)
def test_a_room_at_the_edge_of_what_can_be_is_taken(temp_c: str, rh_pct: str) -> None:
    assert read_room(temp_c, rh_pct).done


@pytest.mark.parametrize(
    ("temp_c", "rh_pct", "rule", "range_"),
    [
        ("4.9", "48", "temperature", f"5 to 45{THIN}°C"),
        ("70", "48", "temperature", f"5 to 45{THIN}°C"),  # degrees Fahrenheit, mistaken
        ("-21", "48", "temperature", f"5 to 45{THIN}°C"),
        ("21", "4.9", "humidity", f"5 to 95{THIN}%RH"),
        ("21", "100", "humidity", f"5 to 95{THIN}%RH"),
    ],
)
def test_a_room_that_cannot_be_is_refused_with_what_can(
    temp_c: str, rh_pct: str, rule: str, range_: str
) -> None:
    outcome = read_room(temp_c, rh_pct)
    assert (outcome.result, rules(outcome)) == ("refused", [rule])
    assert range_ in words(outcome)
    assert not RoomReading.objects.exists()


def test_a_refused_reading_is_kept_in_the_journal_as_it_was_tried() -> None:
    read_room("70", "0")
    row = Entry.objects.latest("id")
    assert (row.subject, row.outcome) == ("room", "refused")
    assert [one["rule"] for one in row.findings] == ["temperature", "humidity"]


def test_the_same_reading_sent_twice_is_one_reading() -> None:
    sent = act("P-16", "J", key=uuid.uuid4())
    deed = door.RoomRead(Decimal(21), Decimal(48))
    assert [door.record(sent, deed).result for _ in range(2)] == ["recorded", "already"]
    assert RoomReading.objects.count() == 1


def test_two_readings_alike_are_two() -> None:
    read_room()
    read_room()
    assert RoomReading.objects.count() == 2
