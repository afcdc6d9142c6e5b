"""Moments and spans in words."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft.when import in_utc, on_the_minute, span_words, when_words
from shop.craft.words import THIN

BERLIN = ZoneInfo("Europe/Berlin")
NOW = datetime(2031, 3, 3, 7, 0, tzinfo=BERLIN)  # a Monday


@pytest.mark.parametrize(
    ("moment", "words"),
    [
        (datetime(2031, 3, 3, 14, 10, tzinfo=BERLIN), "Mon 14:10"),
        (datetime(2031, 3, 4, 9, 5, tzinfo=BERLIN), "Tue 09:05"),
        (datetime(2031, 3, 9, 23, 59, tzinfo=BERLIN), "Sun 23:59"),
        (datetime(2031, 3, 10, 0, 0, tzinfo=BERLIN), "2031-03-10"),
        (datetime(2031, 2, 25, 15, 0, tzinfo=BERLIN), "Tue 15:00"),
        (datetime(2031, 2, 24, 15, 0, tzinfo=BERLIN), "2031-02-24"),
    ],
)
def test_a_moment_is_weekday_and_clock_within_a_week_and_a_date_beyond(
    moment: datetime, words: str
) -> None:
    """The date is ISO 8601's calendar date."""
    assert when_words(moment, NOW) == words


def test_a_moment_is_told_on_the_readers_clock() -> None:
    assert when_words(datetime(2031, 3, 4, 23, 30, tzinfo=UTC), NOW) == "Wed 00:30"


@given(st.datetimes(datetime(2000, 1, 1), datetime(2060, 1, 1), timezones=st.just(UTC)))
def test_the_weekday_is_the_calendars(moment: datetime) -> None:
    """Against the C library's calendar by way of strftime, its names in the C locale."""
    assert when_words(moment, moment).split()[0] == moment.strftime("%a")


@pytest.mark.parametrize("naive", [datetime(2031, 3, 3, 7, 0)])
def test_a_moment_without_a_time_zone_is_turned_away(naive: datetime) -> None:
    with pytest.raises(ValueError, match="has no time zone"):
        when_words(naive, NOW)
    with pytest.raises(ValueError, match="has no time zone"):
        when_words(NOW, naive)
    with pytest.raises(ValueError, match="has no time zone"):
        in_utc(naive)


@pytest.mark.parametrize(
    ("span", "words"),
    [
        (timedelta(hours=3, minutes=10), "3 h 10 min"),
        (timedelta(hours=96), "96 h"),
        (timedelta(minutes=20), "20 min"),
        (timedelta(seconds=1), "1 min"),
        (timedelta(hours=1, seconds=-1), "1 h"),
        (timedelta(), "0 min"),
    ],
)
def test_a_span_is_told_in_hours_and_minutes_never_too_short(span: timedelta, words: str) -> None:
    assert span_words(span).replace(THIN, " ") == words


def test_a_ready_moment_is_never_told_too_early() -> None:
    exact = datetime(2031, 3, 3, 14, 10, tzinfo=UTC)
    assert on_the_minute(exact) == exact
    assert on_the_minute(exact + timedelta(microseconds=1)) == exact + timedelta(minutes=1)
