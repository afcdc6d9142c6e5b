"""What a sensor noted, brought in as one row. All figures are invented."""

from __future__ import annotations

import uuid
from datetime import timedelta
from decimal import Decimal

import pytest
from django.test.utils import CaptureQueriesContext

from shop.craft.clocks import Air
from shop.craft.wood.log import MOST_ROWS
from shop.floor import board, door, following
from shop.floor.models import Entry, RoomReading
from tests.floor.around import bare, read_room
from tests.floor.morning import NOW, act, rules, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

HOUR = timedelta(hours=1)


@pytest.fixture(autouse=True)
def _bare(morning: None, db: None) -> None:
    bare()


def air(hours: float, rh: str = "47.0", temp: str = "21.4") -> Air:
    return Air(NOW - hours * HOUR, Decimal(temp), Decimal(rh))


def bring(*readings: Air, sensor: str = "S-2") -> door.Outcome:
    return door.record(act("P-16", "J"), door.RoomLogged(sensor, readings))


def test_a_log_is_one_row_of_the_journal_and_a_reading_for_each_of_its_lines() -> None:
    before = Entry.objects.count()
    assert bring(air(3), air(2, "46.5")).result == "recorded"
    assert Entry.objects.count() == before + 1
    newer, older = RoomReading.objects.all()
    assert (older.at, older.rh_pct, older.sensor) == (NOW - 3 * HOUR, Decimal("47.0"), "S-2")
    assert newer.entry == older.entry
    assert (newer.entry.subject, newer.entry.kind, newer.by.code) == ("room", "room log", "P-16")


def test_the_room_is_what_was_noted_last_whoever_noted_it() -> None:
    read_room("18", at=NOW - 2 * HOUR)
    bring(air(3), air(1, "46.5"))
    last = board.room(fresh=True)
    assert last is not None
    assert (last.rh_pct, last.at) == (Decimal("46.5"), NOW - HOUR)


def test_a_log_that_begins_before_the_last_one_ended_adds_what_is_new() -> None:
    bring(air(3), air(2))
    assert bring(air(3), air(2), air(1)).result == "recorded"
    assert [one.at for one in RoomReading.objects.all()] == [NOW - n * HOUR for n in (1, 2, 3)]


def test_a_log_brought_in_again_is_answered_as_done_and_nothing_is_written() -> None:
    bring(air(3), air(2))
    before = Entry.objects.count()
    assert bring(air(3), air(2)).result == "already"
    assert (Entry.objects.count(), RoomReading.objects.count()) == (before, 2)


def test_the_same_moment_of_another_sensor_is_another_reading() -> None:
    bring(air(3))
    bring(air(3, "44.0"), sensor="S-1")
    assert RoomReading.objects.count() == 2


def test_a_log_that_says_another_thing_than_its_sensor_did_is_refused() -> None:
    bring(air(3), air(2))
    outcome = bring(air(3, "51.0"), air(2), air(1))
    assert (outcome.result, rules(outcome)) == ("refused", ["log"])
    assert "another thing before of 1 moment" in words(outcome)
    assert RoomReading.objects.count() == 2


def test_a_log_with_a_reading_that_cannot_be_is_refused_whole() -> None:
    outcome = bring(air(3), air(2, temp="70"))
    assert (outcome.result, rules(outcome)) == ("refused", ["temperature"])
    assert not RoomReading.objects.exists()


def test_a_log_from_a_clock_that_goes_far_before_the_shops_is_refused() -> None:
    assert bring(air(-10 / 60)).done
    outcome = bring(air(-11 / 60))
    assert (outcome.result, rules(outcome)) == ("refused", ["log"])


@pytest.mark.parametrize("sensor", ["", "S" * 21])
def test_a_log_of_no_sensor_that_has_a_name_is_refused(sensor: str) -> None:
    assert rules(bring(air(3), sensor=sensor)) == ["sensor"]


def test_a_log_of_nothing_or_of_too_much_is_refused() -> None:
    assert rules(bring()) == ["log"]
    long = tuple(air(one / 60) for one in range(MOST_ROWS + 1))
    assert rules(bring(*long)) == ["log"]


def test_the_same_log_sent_twice_is_one_row() -> None:
    sent = act("P-16", "J", key=uuid.uuid4())
    deed = door.RoomLogged("S-2", (air(3), air(2)))
    assert [door.record(sent, deed).result for _ in range(2)] == ["recorded", "already"]
    assert RoomReading.objects.count() == 2


def test_what_was_logged_is_made_again_from_the_journal_as_it_was() -> None:
    following.rebuild()  # what the tests took away is there again
    bring(air(3), air(2))
    bring(air(2), air(1, "44.5"))
    assert following.differences()[1] == []
    before = following.picture()
    following.rebuild()
    assert following.picture() == before


def test_the_log_is_read_from_what_stood_before_on_in_one_statement(
    django_assert_num_queries: CaptureQueriesContext,
) -> None:
    bring(air(30), air(26), air(2))
    read_room("20", at=NOW - HOUR)
    with django_assert_num_queries(1):  # type: ignore[operator]
        found = board.room_log(NOW - 24 * HOUR)
    assert [(one.sensor, one.by) for one in found] == [("S-2", "P-16")] * 2 + [("", "P-16")]
    assert [one.at for one in found] == [NOW - n * HOUR for n in (26, 2, 1)]
