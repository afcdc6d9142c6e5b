"""When each operation can start at the earliest. Routes and times are invented.

That touch minutes pass in working time and waits on the clock is common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft.needed import SHIFT, Shift, on_the_shelf, starts
from shop.craft.route import HOLD, OperationFacts, Precedence, Route

BERLIN = ZoneInfo("Europe/Berlin")
MONDAY = datetime(2031, 3, 3, 7, tzinfo=BERLIN)
HOUR = timedelta(hours=1)
MINUTE = timedelta(minutes=1)


def operation(code: str, minutes: str) -> OperationFacts:
    return OperationFacts(code, code, "Bench", "", False, Decimal(minutes))


def line(*minutes: str, wait: timedelta = timedelta(), clock: str = "") -> Route:
    """A, B, C ... one after another, the wait between the first two."""
    codes = "ABCDEFGH"[: len(minutes)]
    ties = [Precedence(*pair) for pair in pairwise(codes)]
    ties[:1] = [replace(one, wait=wait, clock=clock) for one in ties[:1]]
    return Route("line", tuple(map(operation, codes, minutes)), tuple(ties))


def at(day: int, clock: str) -> datetime:
    hour, minute = clock.split(":")
    return datetime(2031, 3, day, int(hour), int(minute), tzinfo=BERLIN)


def test_one_operation_follows_the_other_by_its_touch_minutes() -> None:
    assert starts(line("5", "2.75", "10"), (), MONDAY) == {
        "A": MONDAY,
        "B": at(3, "7:05"),
        "C": at(3, "7:07") + timedelta(seconds=45),
    }


def test_what_is_left_at_the_end_of_the_shift_is_done_on_the_next_working_day() -> None:
    """450 min from 07:00 end at 14:30. Of 40 min begun 14:10 on Friday, 20 are left on Monday."""
    friday = at(7, "14:10")
    assert starts(line("40", "5"), (), friday) == {"A": friday, "B": at(10, "7:20")}


def test_work_that_ends_with_the_shift_lets_the_next_begin_on_the_next_morning() -> None:
    assert starts(line("450", "5"), (), MONDAY)["B"] == at(4, "7:00")


def test_work_longer_than_a_shift_takes_as_many_as_it_needs() -> None:
    """1000 min are 450 + 450 + 100."""
    assert starts(line("1000", "5"), (), MONDAY)["B"] == at(5, "8:40")


def test_a_wait_of_24_hours_over_the_weekend_ends_on_saturday_and_work_goes_on_on_monday() -> None:
    friday = at(7, "9:30")
    found = starts(line("30", "5", wait=24 * HOUR, clock="string load"), (), friday)
    assert found["B"] == at(10, "7:00")


def test_a_wait_within_the_week_runs_through_the_night() -> None:
    found = starts(line("30", "5", wait=24 * HOUR), (), at(4, "9:30"))
    assert found["B"] == at(5, "10:00")


def test_a_wait_that_is_only_said_keeps_nothing_back() -> None:
    tie = Precedence("A", "B", wait=24 * HOUR, noted=True)
    route = replace(line("30", "5"), precedences=(tie,))
    assert starts(route, (), MONDAY)["B"] == at(3, "7:30")


def test_the_days_in_the_case_are_never_reckoned_below_their_least() -> None:
    """96 h from Monday 07:30 are Friday 07:30, whatever less a route says."""
    found = starts(line("30", "5", wait=HOUR, clock=HOLD), (), MONDAY)
    assert found["B"] == at(7, "7:30")


def test_what_is_done_costs_nothing_and_is_not_told() -> None:
    assert starts(line("30", "20", "5"), {"A"}, MONDAY) == {"B": MONDAY, "C": at(3, "7:20")}
    assert starts(line("30", "20", "5"), {"A", "B", "C"}, MONDAY) == {}


def test_a_clock_that_runs_already_keeps_its_operation_back() -> None:
    found = starts(line("30", "5", "5"), {"A"}, MONDAY, not_before={"B": at(3, "11:00")})
    assert found == {"B": at(3, "11:00"), "C": at(3, "11:05")}


def test_two_branches_are_each_reckoned_as_if_first_and_meet_at_the_later_one() -> None:
    ties = (Precedence("A", "D"), Precedence("B", "C"), Precedence("C", "D"))
    found = starts(replace(line("60", "10", "20", "5"), precedences=ties), (), MONDAY)
    assert found["A"] == found["B"] == MONDAY
    assert found["D"] == at(3, "8:00")


def test_before_the_shift_and_on_a_day_off_nothing_begins() -> None:
    assert starts(line("5", "5"), (), at(3, "4:00"))["A"] == MONDAY
    assert starts(line("5", "5"), (), at(3, "14:30"))["A"] == at(4, "7:00")
    assert starts(line("5", "5"), (), at(8, "9:00"))["A"] == at(10, "7:00")


def test_the_clocks_going_forward_shorten_no_wait() -> None:
    """On 2031-03-30 Berlin loses an hour at 02:00: 24 h after Saturday 09:30 is Sunday 10:30."""
    weekend = Shift(days=frozenset(range(7)))
    found = starts(line("30", "5", wait=24 * HOUR), (), at(29, "9:00"), weekend)
    assert found["B"] == at(30, "10:30")


def test_a_moment_without_a_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="no time zone"):
        starts(line("5", "5"), (), datetime(2031, 3, 3, 7))


def test_a_shift_in_which_no_work_is_done_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one day"):
        Shift(days=frozenset())
    with pytest.raises(ValueError, match="0 min from 07:00"):
        Shift(net_min=0)
    with pytest.raises(ValueError, match="by midnight"):
        Shift(starts=time(22), net_min=121)
    assert Shift(starts=time(22), net_min=120).net_min == 120


@given(
    st.datetimes(datetime(2031, 1, 1), datetime(2031, 12, 31), timezones=st.just(BERLIN)),
    st.integers(0, 3000),
)
def test_so_many_working_minutes_lie_between_begin_and_end(begins: datetime, minutes: int) -> None:
    """Counted minute by minute, by its own reckoning."""
    left, clock = minutes, begins.astimezone(UTC).replace(second=0, microsecond=0)
    begins = clock.astimezone(BERLIN)
    end = SHIFT.spent(begins, minutes * MINUTE).astimezone(UTC)
    while clock < end:
        wall = clock.astimezone(BERLIN)
        since = wall.hour * 60 + wall.minute - 7 * 60
        left -= wall.weekday() < 5 and 0 <= since < 450
        clock += MINUTE
    assert left == 0


def test_what_comes_in_on_a_day_can_be_counted_on_from_noon() -> None:
    assert on_the_shelf(date(2031, 3, 4), MONDAY) == at(4, "12:00")
