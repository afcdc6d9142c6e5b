"""Yields by week, station and spec."""

from __future__ import annotations

from datetime import date

import pytest

from shop.craft.quality.spells import Tally, by_spec, by_station, by_week, too_few, week
from shop.craft.quality.yields import Yield

TALLIES = [
    Tally(date(2031, 3, 10), "P", "TARN", 18, 20),
    Tally(date(2031, 3, 3), "P", "FELL", 9, 10),
    Tally(date(2031, 3, 9), "F", "TARN", 5, 5),
]


@pytest.mark.parametrize(
    ("day", "said"),
    [
        (date(2008, 12, 28), "2008-W52"),
        (date(2008, 12, 29), "2009-W01"),
        (date(2010, 1, 3), "2009-W53"),
        (date(2010, 1, 4), "2010-W01"),
    ],
)
def test_a_week_is_that_of_iso_8601(day: date, said: str) -> None:
    """ISO 8601's own cases at the turn of a year (Mon 2008-12-29 is 2009-W01-1, Sun 2010-01-03
    is 2009-W53-7); from memory."""
    assert week(day) == said


def test_days_of_one_week_are_added_up_and_weeks_stand_in_their_order() -> None:
    assert by_week(TALLIES) == {"2031-W10": Yield(14, 15), "2031-W11": Yield(18, 20)}
    assert list(by_week(TALLIES)) == ["2031-W10", "2031-W11"]


def test_stations_and_specs_are_added_up_over_all_days() -> None:
    assert by_station(TALLIES) == {"F": Yield(5, 5), "P": Yield(27, 30)}
    assert by_spec(TALLIES) == {"FELL": Yield(9, 10), "TARN": Yield(23, 25)}


def test_nothing_counted_has_no_yields() -> None:
    assert by_week([]) == {}


def test_fewer_than_twenty_units_are_too_few() -> None:
    """Twenty: common practice, no source."""
    assert [one for one in (0, 19, 20, 500) if too_few(one)] == [0, 19]
