"""A tray that lacks something, and whether it may go: by what is used when, and what comes.

The rule itself is common practice, no source. Days, items and promises are invented.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest

from shop.craft.finding import Severity
from shop.craft.partial import Missing, may_go, next_of
from shop.craft.route import OperationFacts, Precedence, Route

MON, WED, THU, FRI = (datetime(2031, 3, day, 7, tzinfo=UTC) for day in (3, 5, 6, 7))
NOON_THU = datetime(2031, 3, 6, 12, tzinfo=UTC)
NEXT = ("N10", "N20")
STRINGS = Missing("R01", "light 6", "A30", FRI, NOON_THU)


def test_strings_promised_on_thursday_and_needed_on_friday_let_the_tray_go() -> None:
    assert may_go([STRINGS], NEXT, MON) == ()


def test_once_the_setup_is_on_wednesday_the_same_tray_stays() -> None:
    [told] = may_go([replace(STRINGS, needed_at=WED)], NEXT, MON)
    assert (told.rule, told.severity, told.call) == ("partial", Severity.STOP, "clerk")
    assert told.words == (
        "R01 light 6 is missing, needed Wed 07:00 at A30, promised Thu 12:00: it comes too late."
    )
    assert told.then == "The tray stays with kitting until R01 is in it."


def test_a_delivery_that_slips_past_the_work_stops_the_tray() -> None:
    later = replace(STRINGS, promised=NOON_THU + timedelta(days=1))
    assert "promised Fri 12:00" in may_go([later], NEXT, MON)[0].words


def test_a_part_promised_for_the_very_moment_it_is_needed_comes_too_late() -> None:
    assert may_go([replace(STRINGS, promised=FRI)], NEXT, MON)
    assert may_go([replace(STRINGS, promised=FRI - timedelta(minutes=1))], NEXT, MON) == ()


def test_what_nobody_promised_stops_the_tray_however_late_it_is_needed() -> None:
    late = replace(STRINGS, promised=None, needed_at=MON + timedelta(days=60))
    [told] = may_go([late], NEXT, MON)
    assert told.words == (
        "R01 light 6 is missing, needed 2031-05-02 at A30, and no date is promised."
    )
    assert told.then == "Note when it comes. Until then the tray stays with kitting."


def test_a_promise_whose_day_went_by_is_none() -> None:
    broken = replace(STRINGS, promised=NOON_THU)
    [told] = may_go([broken], NEXT, FRI - timedelta(hours=6))
    assert "It was promised Thu 12:00 and is not here." in told.words


def test_a_promise_for_today_holds_all_day() -> None:
    assert may_go([STRINGS], NEXT, NOON_THU + timedelta(hours=4)) == ()


def test_the_day_of_a_promise_is_that_of_the_shops_own_clock() -> None:
    """Half past midnight on Friday in Helsinki is still Thursday in UTC."""
    helsinki = ZoneInfo("Europe/Helsinki")
    [told] = may_go([STRINGS], NEXT, datetime(2031, 3, 7, 0, 30, tzinfo=helsinki))
    assert "It was promised Thu 14:00 and is not here." in told.words


@pytest.mark.parametrize("used_at", NEXT)
def test_what_the_next_two_operations_use_stops_the_tray_though_it_is_promised(
    used_at: str,
) -> None:
    soon = Missing("T01", "open-gear set", used_at, MON, MON - timedelta(hours=1))
    [told] = may_go([soon], NEXT, MON)
    assert told.words == (
        f"T01 open-gear set is missing, needed Mon 07:00 at {used_at}. "
        "The next 2 operations: N10 and N20."
    )


def test_the_third_operation_on_is_not_next() -> None:
    third = Missing("T01", "open-gear set", "N30", MON + timedelta(hours=1), MON)
    assert may_go([third], NEXT, MON) == ()
    assert may_go([third], ("N20", "N30"), MON)


def test_what_lies_on_the_shelf_now_needs_no_promise() -> None:
    there = replace(STRINGS, promised=MON, needed_at=MON, here=True)
    assert may_go([there], NEXT, MON) == ()


def test_what_lies_on_the_shelf_and_is_used_next_is_put_in_first() -> None:
    there = replace(STRINGS, promised=MON, used_at="N20", here=True)
    [told] = may_go([there], NEXT, MON)
    assert told.then == "It lies on the shelf now: open the tray, put R01 in and close it again."


def test_a_line_whose_operation_is_done_keeps_nothing_back() -> None:
    assert may_go([replace(STRINGS, needed_at=None, promised=None)], NEXT, MON) == ()


def test_each_line_is_told_by_itself_and_one_that_is_promised_is_not() -> None:
    none = Missing("P01", "pins", "A30", FRI)
    late = Missing("S01", "saddle", "U30", WED, THU)
    assert [one.words[:3] for one in may_go([none, STRINGS, late], NEXT, MON)] == ["P01", "S01"]


def test_why_shows_what_was_compared() -> None:
    [told] = may_go([replace(STRINGS, needed_at=WED)], NEXT, MON)
    assert told.basis is not None
    assert dict(told.basis.sides) == {
        "R01 used at": "A30",
        "Next operations": "N10 and N20",
        "Needed": "Wed 07:00",
        "Promised": "Thu 12:00",
    }
    assert told.basis.limit == "used after the next 2 operations, and promised before it is needed"


def test_a_moment_without_a_time_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="has no time zone"):
        may_go([replace(STRINGS, needed_at=WED.replace(tzinfo=None))], NEXT, MON)


def route(*codes: str) -> Route:
    stops = tuple(
        OperationFacts(code, code, "Bench", "", irreversible=False, touch_min=Decimal(5))
        for code in codes
    )
    ties = tuple(Precedence(before, after) for before, after in pairwise(codes))
    return Route("a line", stops, ties)


def test_the_operations_that_come_next_are_the_first_two_that_are_not_done() -> None:
    line = route("N10", "N20", "N30", "N40")
    assert next_of(line, ()) == ("N10", "N20")
    assert next_of(line, {"N10", "N20"}) == ("N30", "N40")
    assert next_of(line, {"N10", "N20", "N30"}) == ("N40",)
    assert next_of(line, {"N10", "N20", "N30", "N40"}) == ()


def test_an_operation_done_again_counts_as_next() -> None:
    assert next_of(route("N10", "N20", "N30"), {"N20", "N30"}) == ("N10",)
