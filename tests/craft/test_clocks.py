"""What moves the days in the case. Times are invented; the limits are common practice, no source.

A hold is cased on Monday 2031-03-03 at 14:10 in central Europe and takes 96 h, so that left
alone it is ready on Friday at 14:10.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from random import Random
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft.clocks import Air, Happening, Held, What, hold
from shop.craft.words import THIN

BERLIN = ZoneInfo("Europe/Berlin")
MONDAY = datetime(2031, 3, 3, 14, 10, tzinfo=BERLIN)
HOLD = timedelta(hours=96)
READY = MONDAY + HOLD
TUESDAY = datetime(2031, 3, 4, 10, 0, tzinfo=BERLIN)
LATER = datetime(2031, 3, 9, 7, 0, tzinfo=BERLIN)
SECOND = timedelta(seconds=1)
MINUTE = timedelta(minutes=1)
HOUR = timedelta(hours=1)


def cased(*happenings: Happening, air: Sequence[Air] = (), now: datetime = LATER) -> Held:
    return hold(MONDAY, HOLD, happenings, air, now)


def lasting(what: What, long: timedelta, at: datetime = TUESDAY) -> Happening:
    return Happening(what, at, at + long)


def air(at: datetime, rh: str = "48", temp: str = "21") -> Air:
    return Air(at, Decimal(temp), Decimal(rh))


def room(long: timedelta, rh: str = "48", temp: str = "21", at: datetime = TUESDAY) -> list[Air]:
    """The room was inside its limits, then outside for so long, then inside again."""
    return [air(MONDAY - HOUR), air(at, rh, temp), air(at + long)]


def told(held: Held) -> list[str]:
    return [one.replace(THIN, " ") for one in held.because]


# Left alone.


def test_moments_are_told_as_whoever_asks_wants_them() -> None:
    out = lasting(What.OUT, 40 * MINUTE)
    held = hold(MONDAY, HOLD, (out,), (), LATER, lambda moment: f"<{moment:%Y-%m-%d %H:%M %Z}>")
    assert told(held) == ["Out of the case 40 min from <2031-03-04 09:00 UTC>: ready 40 min later."]
    assert told(cased(out)) == ["Out of the case 40 min from Tue 10:00: ready 40 min later."]


def test_a_hold_left_alone_is_ready_after_its_length() -> None:
    assert cased() == Held(READY, MONDAY)


def test_a_longer_hold_takes_its_length() -> None:
    assert hold(MONDAY, timedelta(hours=120), (), (), LATER).ready == MONDAY + timedelta(hours=120)


@pytest.mark.parametrize(
    ("day", "ready"),
    [(3, "Fri"), (4, "Sat"), (5, "Sun"), (6, "Mon"), (7, "Tue")],
    ids=["Mon", "Tue", "Wed", "Thu", "Fri"],
)
def test_what_is_cased_on_a_working_day_is_ready_four_days_on(day: int, ready: str) -> None:
    start = datetime(2031, 3, day, 14, 10, tzinfo=BERLIN)
    end = hold(start, HOLD, (), (), start).ready
    assert end is not None
    assert f"{end.astimezone(BERLIN):%a %H:%M}" == f"{ready} 14:10"


# What happened, row by row.


def test_a_joint_glued_begins_the_hold_again_once_it_is_dry() -> None:
    held = cased(Happening(What.GLUED, TUESDAY, cure=24 * HOUR))
    assert held.started == TUESDAY + 24 * HOUR
    assert held.ready == TUESDAY + 24 * HOUR + HOLD
    assert told(held) == ["Glued Tue 10:00: the 96 h begin again Wed 10:00, once it is dry."]


@pytest.mark.parametrize("what", [What.GLUED, What.RECUT, What.RESTRUNG, What.DROPPED])
def test_what_changes_the_instrument_begins_the_hold_again(what: What) -> None:
    held = cased(Happening(what, TUESDAY))
    assert held.started == TUESDAY
    assert held.ready == TUESDAY + HOLD
    (sentence,) = told(held)
    assert sentence.endswith("Tue 10:00: the 96 h begin again.")


def test_strings_that_were_slack_for_a_while_count_from_when_they_are_up_again() -> None:
    assert cased(lasting(What.RESTRUNG, HOUR)).started == TUESDAY + HOUR


def test_a_joint_that_still_dries_is_not_begun_earlier_by_a_drop() -> None:
    glued = Happening(What.GLUED, TUESDAY, cure=24 * HOUR)
    for sooner in (
        Happening(What.DROPPED, TUESDAY + HOUR),
        Happening(What.GLUED, TUESDAY - HOUR, cure=24 * HOUR),
        lasting(What.OUT, 3 * HOUR),
    ):
        assert cased(glued, sooner).started == TUESDAY + 24 * HOUR
        assert told(cased(glued, sooner))[-1].startswith("Glued Tue 10:00")


def test_of_two_joints_glued_together_the_sooner_dry_is_told_first() -> None:
    both = [Happening(What.GLUED, TUESDAY, cure=hours * HOUR) for hours in (1, 24)]
    assert cased(*both) == cased(*both[::-1])
    assert [one.split(",")[0] for one in told(cased(*both))] == [
        "Glued Tue 10:00: the 96 h begin again Tue 11:00",
        "Glued Tue 10:00: the 96 h begin again Wed 10:00",
    ]


@pytest.mark.parametrize("what", [What.STRING, What.TRIMMED])
def test_one_string_or_a_small_adjustment_leaves_what_is_left_of_the_hold(what: What) -> None:
    held = cased(Happening(what, READY - 24 * HOUR))
    assert held.ready == READY
    assert held.because == ()


@pytest.mark.parametrize("what", [What.STRING, What.TRIMMED])
def test_one_string_or_a_small_adjustment_is_looked_at_for_24_h(what: What) -> None:
    held = cased(Happening(what, READY - 24 * HOUR + MINUTE))
    assert held.ready == READY + MINUTE
    assert held.started == MONDAY
    (sentence,) = told(held)
    assert sentence.endswith("Thu 14:11: not ready before Fri 14:11.")


def test_an_adjustment_after_the_hold_asks_for_a_last_24_h() -> None:
    held = cased(Happening(What.TRIMMED, READY + HOUR))
    assert held.ready == READY + 25 * HOUR
    assert told(held) == ["Saddle or rod adjusted Fri 15:10: not ready before Sat 15:10."]


@pytest.mark.parametrize(
    ("long", "later"),
    [
        (timedelta(minutes=14, seconds=59), timedelta()),
        (timedelta(minutes=15), timedelta(minutes=15)),
        (timedelta(minutes=40), timedelta(minutes=40)),
        (2 * HOUR, 2 * HOUR),
    ],
)
def test_out_of_its_case_for_a_while_it_stands_still(long: timedelta, later: timedelta) -> None:
    held = cased(lasting(What.OUT, long))
    assert held.started == MONDAY
    assert held.paused == later
    assert held.ready == READY + later


@pytest.mark.parametrize("more", [SECOND, MINUTE, 20 * HOUR])
def test_out_of_its_case_for_over_2_h_it_begins_again_at_its_return(more: timedelta) -> None:
    held = cased(lasting(What.OUT, 2 * HOUR + more))
    assert held.started == TUESDAY + 2 * HOUR + more
    assert held.ready == held.started + HOLD
    assert held.paused == timedelta()


def test_a_case_opened_for_40_min_is_told_with_what_it_cost() -> None:
    held = cased(lasting(What.OUT, 40 * MINUTE))
    assert told(held) == ["Out of the case 40 min from Tue 10:00: ready 40 min later."]
    held = cased(lasting(What.OUT, 3 * HOUR))
    assert told(held) == ["Out of the case 3 h, back Tue 13:00: the 96 h begin again."]
    assert cased(lasting(What.OUT, 5 * MINUTE)).because == ()


def test_a_touch_up_of_26_h_with_strings_at_pitch_stands_still_for_26_h() -> None:
    held = cased(lasting(What.TOUCHED_UP, 26 * HOUR))
    assert held.ready == READY + 26 * HOUR
    assert told(held) == ["Out of the case 26 h for touch-up from Tue 10:00: ready 26 h later."]


@pytest.mark.parametrize(
    ("long", "ready"),
    [
        (5 * MINUTE, READY + 5 * MINUTE),
        (72 * HOUR, READY + 72 * HOUR),
        (72 * HOUR + SECOND, TUESDAY + 72 * HOUR + SECOND + HOLD),
    ],
)
def test_a_touch_up_may_take_72_h_before_it_begins_again(long: timedelta, ready: datetime) -> None:
    assert cased(lasting(What.TOUCHED_UP, long)).ready == ready


def test_a_touch_up_wins_over_being_out_of_the_case() -> None:
    """The same absence told twice, as touch-up and as out of the case."""
    both = (lasting(What.TOUCHED_UP, 26 * HOUR), lasting(What.OUT, 26 * HOUR))
    held = cased(*both)
    assert held.ready == READY + 26 * HOUR
    assert held.paused == 26 * HOUR
    assert len(held.because) == 1


def test_only_what_is_no_touch_up_counts_as_being_out() -> None:
    touched = lasting(What.TOUCHED_UP, 26 * HOUR)
    wider = lasting(What.OUT, 28 * HOUR, TUESDAY - HOUR)
    assert cased(touched, wider).ready == READY + 28 * HOUR
    wider = lasting(What.OUT, 28 * HOUR + MINUTE, TUESDAY - HOUR)
    assert cased(touched, wider).started == TUESDAY + 27 * HOUR + MINUTE


@pytest.mark.parametrize(
    ("rh", "temp"),
    [("39.9", "21"), ("60.1", "21"), ("48", "15.9"), ("48", "27.1")],
)
def test_a_room_outside_its_limits_stands_still_for_that_time(rh: str, temp: str) -> None:
    held = cased(air=room(5 * HOUR, rh, temp))
    assert held.paused == 5 * HOUR
    assert held.ready == READY + 5 * HOUR
    assert not held.crack_check
    assert told(held) == ["Room 5 h outside 40-60 %RH or 16-27 °C from Tue 10:00: ready 5 h later."]


@pytest.mark.parametrize(("rh", "temp"), [("40", "16"), ("60", "27")])
def test_a_room_at_its_limits_is_inside_them(rh: str, temp: str) -> None:
    assert cased(air=room(50 * HOUR, rh, temp)) == Held(READY, MONDAY)


def test_a_room_outside_for_over_24_h_in_all_begins_it_again_when_it_is_back() -> None:
    twice = [*room(14 * HOUR, "62"), *room(10 * HOUR, "62", at=TUESDAY + 24 * HOUR)]
    assert cased(air=twice).ready == READY + 24 * HOUR
    twice = [*room(14 * HOUR, "62"), *room(10 * HOUR + SECOND, "62", at=TUESDAY + 24 * HOUR)]
    held = cased(air=twice)
    assert held.started == TUESDAY + 34 * HOUR + SECOND
    assert held.ready == held.started + HOLD
    assert told(held)[-1] == (
        "Room 24 h 1 min in all outside 40-60 %RH or 16-27 °C, back Wed 20:00: "
        "the 96 h begin again."
    )


def test_a_room_is_summed_up_from_the_start_in_force() -> None:
    twice = [*room(14 * HOUR, "62"), *room(14 * HOUR, "62", at=TUESDAY + 24 * HOUR)]
    dropped = Happening(What.DROPPED, TUESDAY + 20 * HOUR)
    held = cased(dropped, air=twice)
    assert held.started == TUESDAY + 20 * HOUR
    assert held.ready == held.started + HOLD + 14 * HOUR


@pytest.mark.parametrize("rh", ["36.9", "65.1", "20", "90"])
def test_a_room_in_danger_for_over_4_h_begins_it_again_and_asks_for_a_look(rh: str) -> None:
    held = cased(air=room(4 * HOUR, rh))
    assert (held.ready, held.crack_check) == (READY + 4 * HOUR, False)
    held = cased(air=room(4 * HOUR + SECOND, rh))
    assert held.started == TUESDAY + 4 * HOUR + SECOND
    assert held.ready == held.started + HOLD
    assert held.crack_check
    (sentence,) = told(held)
    assert sentence == "Room 4 h 1 min outside 37-65 %RH, back Tue 14:00: the 96 h begin again."


@pytest.mark.parametrize("rh", ["37", "65"])
def test_a_room_at_the_edge_of_danger_only_stands_still(rh: str) -> None:
    held = cased(air=room(20 * HOUR, rh))
    assert (held.ready, held.crack_check) == (READY + 20 * HOUR, False)


def test_danger_is_counted_at_a_stretch() -> None:
    """3 h of danger, 1 h only outside the limits, 3 h of danger again."""
    readings = [
        air(TUESDAY, "66"),
        air(TUESDAY + 3 * HOUR, "62"),
        air(TUESDAY + 4 * HOUR, "66"),
        air(TUESDAY + 7 * HOUR),
    ]
    held = cased(air=readings)
    assert (held.ready, held.crack_check) == (READY + 7 * HOUR, False)
    (sentence,) = told(held)
    assert sentence.startswith("Room 7 h outside 40-60 %RH")


def test_a_room_begins_again_when_it_is_out_of_danger_and_goes_on_when_it_is_inside() -> None:
    readings = [
        air(TUESDAY, "66"),
        air(TUESDAY + 5 * HOUR, "62"),
        air(TUESDAY + 7 * HOUR),
    ]
    held = cased(air=readings)
    assert held.started == TUESDAY + 5 * HOUR
    assert held.ready == TUESDAY + 7 * HOUR + HOLD


@pytest.mark.parametrize("what", [What.RACK, What.TAG, What.POWER])
def test_a_rack_a_tag_or_a_power_cut_moves_nothing(what: What) -> None:
    assert cased(Happening(what, TUESDAY), lasting(what, 50 * HOUR)) == Held(READY, MONDAY)


# How spans are read.


def test_pauses_that_overlap_count_once() -> None:
    out = lasting(What.OUT, 2 * HOUR)
    held = cased(out, air=room(3 * HOUR, "62", at=TUESDAY + HOUR))
    assert held.paused == 4 * HOUR
    assert held.ready == READY + 4 * HOUR
    assert told(held) == [
        "Out of the case 2 h from Tue 10:00: ready 2 h later.",
        "Room 3 h outside 40-60 %RH or 16-27 °C from Tue 11:00: ready 2 h later.",
    ]


def test_two_absences_that_meet_are_one() -> None:
    first, second = lasting(What.OUT, HOUR), lasting(What.OUT, 2 * HOUR, TUESDAY + HOUR)
    assert cased(first, second).started == TUESDAY + 3 * HOUR
    still_out = Happening(What.OUT, TUESDAY + HOUR)
    assert cased(first, still_out, now=TUESDAY + 90 * MINUTE).paused == 90 * MINUTE
    assert cased(first, still_out, now=TUESDAY + 90 * MINUTE).ready is None


def test_a_drop_while_out_begins_it_again_and_the_rest_stands_still() -> None:
    held = cased(lasting(What.OUT, HOUR), Happening(What.DROPPED, TUESDAY + 20 * MINUTE))
    assert held.started == TUESDAY + 20 * MINUTE
    assert held.paused == 40 * MINUTE
    assert held.ready == TUESDAY + HOUR + HOLD
    assert told(held) == [
        "Dropped Tue 10:20: the 96 h begin again.",
        "Out of the case 1 h from Tue 10:00: ready 40 min later.",
    ]


def test_a_last_look_of_24_h_stands_still_like_the_hold() -> None:
    trimmed = Happening(What.TRIMMED, READY + HOUR)
    held = cased(trimmed, lasting(What.OUT, HOUR, READY + 3 * HOUR))
    assert held.ready == READY + 26 * HOUR


def test_what_was_over_before_it_was_cased_does_not_count() -> None:
    before = (
        lasting(What.OUT, 50 * HOUR, MONDAY - 60 * HOUR),
        Happening(What.DROPPED, MONDAY - HOUR),
        Happening(What.OUT, MONDAY - 3 * HOUR),  # putting it in its case ended that
    )
    stuffy = [air(MONDAY - 50 * HOUR, "70"), air(MONDAY - HOUR)]
    assert cased(*before, air=stuffy) == Held(READY, MONDAY)


def test_a_joint_glued_just_before_still_dries_first() -> None:
    glued = Happening(What.GLUED, MONDAY - HOUR, cure=24 * HOUR)
    assert cased(glued).started == MONDAY + 23 * HOUR


def test_a_room_that_was_outside_when_it_was_cased_counts_from_then_on() -> None:
    held = cased(air=[air(MONDAY - 50 * HOUR, "62"), air(MONDAY + HOUR)])
    assert held.ready == READY + HOUR


def test_of_two_readings_at_one_moment_the_worse_counts() -> None:
    readings = [air(TUESDAY, "48"), air(TUESDAY, "62"), air(TUESDAY + HOUR)]
    assert cased(air=readings).ready == READY + HOUR
    assert cased(air=readings[::-1]).ready == READY + HOUR


def test_an_absence_told_to_end_before_it_began_has_no_length() -> None:
    assert cased(lasting(What.OUT, -HOUR)) == Held(READY, MONDAY)


# Still going on.


def test_while_it_is_out_of_its_case_it_has_no_ready_moment() -> None:
    now = TUESDAY + 40 * MINUTE
    held = cased(Happening(What.OUT, TUESDAY), now=now)
    assert held.ready is None
    assert held.paused == 40 * MINUTE
    assert held.halted == (
        "Out of the case since Tue 10:00: the hold stands still until it is back."
    )
    held = cased(Happening(What.OUT, TUESDAY), now=TUESDAY + 2 * HOUR + SECOND)
    assert held.halted.replace(THIN, " ") == (
        "Out of the case since Tue 10:00: the 96 h begin again once it is back."
    )


def test_while_it_is_touched_up_it_has_no_ready_moment() -> None:
    held = cased(
        Happening(What.TOUCHED_UP, TUESDAY), Happening(What.OUT, TUESDAY), now=TUESDAY + HOUR
    )
    assert held.ready is None
    assert held.halted == (
        "Out of the case for touch-up since Tue 10:00: the hold stands still until it is back."
    )


def test_while_the_room_is_outside_it_has_no_ready_moment() -> None:
    held = cased(air=[air(TUESDAY, "62")], now=TUESDAY + HOUR)
    assert held.ready is None
    assert held.halted.replace(THIN, " ") == (
        "Room outside 40-60 %RH or 16-27 °C since Tue 10:00: "
        "the hold stands still until it is back."
    )
    assert not held.crack_check


def test_a_room_in_danger_for_over_4_h_asks_for_a_look_before_it_is_back() -> None:
    held = cased(air=[air(TUESDAY, "36")], now=TUESDAY + 5 * HOUR)
    assert held.ready is None
    assert held.crack_check
    assert held.halted.replace(THIN, " ") == (
        "Room outside 37-65 %RH since Tue 10:00: the 96 h begin again once it is back."
    )


def test_everything_that_halts_it_is_told() -> None:
    held = cased(Happening(What.OUT, TUESDAY), air=[air(TUESDAY, "62")], now=TUESDAY + HOUR)
    assert held.halted.startswith("Out of the case since Tue 10:00")
    assert "Room outside" in held.halted


def test_no_ready_moment_is_known_from_the_first_minute_out() -> None:
    assert cased(Happening(What.OUT, TUESDAY), now=TUESDAY).ready is None
    assert cased(air=[air(TUESDAY, "62")], now=TUESDAY).ready is None


# After it has passed.


@pytest.mark.parametrize("what", [What.GLUED, What.RECUT, What.RESTRUNG, What.DROPPED])
def test_a_hold_that_has_passed_begins_again_when_the_instrument_changes(what: What) -> None:
    assert cased(Happening(what, READY + HOUR)).ready == READY + HOUR + HOLD


@pytest.mark.parametrize("what", [What.OUT, What.TOUCHED_UP])
def test_a_hold_that_has_passed_may_leave_its_case(what: What) -> None:
    """It is taken out to be inspected again."""
    assert cased(lasting(what, 90 * HOUR, READY)) == Held(READY, MONDAY)
    assert cased(Happening(what, READY)) == Held(READY, MONDAY)
    assert cased(Happening(what, READY - MINUTE)).ready is None


def test_a_room_outside_after_it_has_passed_does_not_touch_it() -> None:
    assert cased(air=room(40 * HOUR, "62", at=READY)) == Held(READY, MONDAY)
    held = cased(air=room(40 * HOUR, "62", at=READY - SECOND))
    assert held.ready == READY - SECOND + 40 * HOUR + HOLD


def test_danger_after_it_has_passed_still_asks_for_a_look() -> None:
    held = cased(air=room(5 * HOUR, "70", at=READY))
    assert held == Held(READY, MONDAY, crack_check=True)


def test_begun_again_while_out_it_counts_what_is_left_of_the_absence() -> None:
    out = lasting(What.OUT, 3 * HOUR, READY + HOUR)
    dropped = Happening(What.DROPPED, READY + 2 * HOUR)
    held = cased(out, dropped)
    assert held.started == READY + 2 * HOUR
    assert held.ready == READY + 4 * HOUR + HOLD
    still_out = Happening(What.OUT, READY + HOUR)
    assert cased(still_out, dropped, now=READY + 3 * HOUR).ready is None
    assert cased(still_out, dropped, now=READY + 2 * HOUR).ready is None


def test_an_adjustment_at_the_bench_does_not_make_the_whole_inspection_an_absence() -> None:
    """Out for 3 h to be inspected again, adjusted 10 min before it is back in its case."""
    out = lasting(What.OUT, 3 * HOUR, READY)
    trimmed = Happening(What.TRIMMED, READY + 3 * HOUR - 10 * MINUTE)
    assert cased(out, trimmed).ready == READY + 27 * HOUR - 10 * MINUTE


# Moments.


@pytest.mark.parametrize(
    ("zone", "start", "ready"),
    [
        # A day of 23 h and one of 25 h in between.
        ("Europe/Berlin", datetime(2031, 3, 28, 14, 10), datetime(2031, 4, 1, 15, 10)),
        ("Europe/Berlin", datetime(2031, 10, 24, 14, 10), datetime(2031, 10, 28, 13, 10)),
        ("Australia/Sydney", datetime(2031, 10, 3, 14, 10), datetime(2031, 10, 7, 15, 10)),
        ("Australia/Sydney", datetime(2031, 4, 4, 14, 10), datetime(2031, 4, 8, 13, 10)),
        # Half an hour there.
        ("Australia/Lord_Howe", datetime(2031, 10, 3, 14, 10), datetime(2031, 10, 7, 14, 40)),
    ],
)
def test_a_change_of_the_clocks_moves_nothing(zone: str, start: datetime, ready: datetime) -> None:
    """Against the IANA time zone database, through zoneinfo."""
    place = ZoneInfo(zone)
    begun, end = start.replace(tzinfo=place), ready.replace(tzinfo=place)
    assert begun.utcoffset() != end.utcoffset()
    held = hold(begun, HOLD, (), (), begun)
    assert held.ready == end.astimezone(UTC)
    out = Happening(What.OUT, begun + HOUR, begun + 2 * HOUR)
    assert hold(begun, HOLD, (out,), (), begun).ready == end.astimezone(UTC) + HOUR


def test_an_absence_through_the_hour_that_comes_twice_is_elapsed_time() -> None:
    """02:30 comes twice in Berlin on 2031-10-26 by the IANA time zone database: from the one
    to the other is 1 h, though the wall clock stands where it stood."""
    start = datetime(2031, 10, 24, 14, 10, tzinfo=BERLIN)
    first = datetime(2031, 10, 26, 2, 30, tzinfo=BERLIN)
    out = Happening(What.OUT, first, first.replace(fold=1))
    assert hold(start, HOLD, (out,), (), start).paused == HOUR


@pytest.mark.parametrize(
    ("start", "ready"),
    [
        (datetime(2032, 2, 27, 14, 10), datetime(2032, 3, 2, 14, 10)),
        (datetime(2031, 2, 27, 14, 10), datetime(2031, 3, 3, 14, 10)),
    ],
)
def test_a_leap_day_is_a_day(start: datetime, ready: datetime) -> None:
    """The Gregorian calendar, as ISO 8601 has it: 2032 has a 29 February, 2031 has none."""
    begun = start.replace(tzinfo=BERLIN)
    assert hold(begun, HOLD, (), (), begun).ready == ready.replace(tzinfo=BERLIN)


NAIVE = datetime(2031, 3, 4, 10, 0)


@pytest.mark.parametrize(
    ("started", "now", "happening", "reading"),
    [
        (NAIVE, LATER, Happening(What.TAG, TUESDAY), air(TUESDAY)),
        (MONDAY, NAIVE, Happening(What.TAG, TUESDAY), air(TUESDAY)),
        (MONDAY, LATER, Happening(What.DROPPED, NAIVE), air(TUESDAY)),
        (MONDAY, LATER, Happening(What.OUT, TUESDAY, NAIVE), air(TUESDAY)),
        (MONDAY, LATER, Happening(What.TAG, TUESDAY), air(NAIVE)),
    ],
)
def test_moments_without_a_time_zone_are_turned_away(
    started: datetime, now: datetime, happening: Happening, reading: Air
) -> None:
    with pytest.raises(ValueError, match="has no time zone"):
        hold(started, HOLD, (happening,), (reading,), now)


def test_moments_are_told_on_the_readers_clock() -> None:
    out = Happening(What.OUT, TUESDAY.astimezone(UTC), (TUESDAY + HOUR).astimezone(UTC))
    assert told(cased(out, now=LATER.astimezone(UTC)))[0].startswith(
        "Out of the case 1 h from Tue 09"
    )
    assert told(cased(out))[0].startswith("Out of the case 1 h from Tue 10")


# What always holds.

moments = st.integers(-24 * 12, 200 * 12).map(lambda step: MONDAY + step * timedelta(minutes=5))
lengths = st.one_of(st.integers(1, 40), st.integers(1, 80 * 12)).map(
    lambda step: step * timedelta(minutes=5)
)
changes = st.builds(
    Happening,
    st.sampled_from([What.GLUED, What.RECUT, What.RESTRUNG, What.DROPPED]),
    moments,
    cure=st.sampled_from([timedelta(), 24 * HOUR]),
)
checks = st.builds(Happening, st.sampled_from([What.STRING, What.TRIMMED]), moments)
absences = st.builds(lambda at, long: lasting(What.OUT, long, at), moments, lengths)
touch_ups = st.builds(lambda at, long: lasting(What.TOUCHED_UP, long, at), moments, lengths)
several = st.lists(st.one_of(changes, checks, absences, touch_ups), max_size=6)
rooms = st.lists(
    st.builds(air, moments, st.sampled_from(["48", "62", "66", "36"])), max_size=8
).map(lambda some: [*some, air(MONDAY + 400 * HOUR)])


def ready(happenings: Sequence[Happening], readings: Sequence[Air] = ()) -> datetime:
    held = hold(MONDAY, HOLD, happenings, readings, MONDAY + 500 * HOUR)
    assert held.ready is not None
    return held.ready


@given(several, rooms)
def test_it_is_never_ready_before_its_length_has_passed(
    happenings: list[Happening], readings: list[Air]
) -> None:
    held = hold(MONDAY, HOLD, happenings, readings, LATER)
    assert held.ready is not None
    assert held.started >= MONDAY
    assert held.ready >= held.started + HOLD + held.paused
    dry = [one.at + one.cure for one in happenings if one.what in {What.GLUED, What.DROPPED}]
    assert all(held.started >= one for one in dry)


@given(several, rooms, st.randoms())
def test_the_order_it_is_told_in_does_not_matter(
    happenings: list[Happening], readings: list[Air], random: Random
) -> None:
    as_told = hold(MONDAY, HOLD, happenings, readings, LATER)
    random.shuffle(happenings)
    random.shuffle(readings)
    assert hold(MONDAY, HOLD, happenings, readings, LATER) == as_told


@given(st.lists(st.one_of(changes, checks, absences), max_size=6), absences)
def test_one_more_absence_never_makes_it_ready_earlier(
    happenings: list[Happening], more: Happening
) -> None:
    assert ready([*happenings, more]) >= ready(happenings)


@given(st.lists(st.one_of(changes, checks, touch_ups), max_size=6), touch_ups)
def test_one_more_touch_up_never_makes_it_ready_earlier(
    happenings: list[Happening], more: Happening
) -> None:
    """Beside a mere absence it may: it wins over that."""
    assert ready([*happenings, more]) >= ready(happenings)


@given(several, st.one_of(changes, checks))
def test_one_more_change_never_makes_it_ready_earlier(
    happenings: list[Happening], more: Happening
) -> None:
    """In a room inside its limits: hours outside are summed up anew from each beginning."""
    assert ready([*happenings, more]) >= ready(happenings)


@given(st.lists(st.one_of(changes, checks, absences), max_size=5), moments, st.integers(1, 48))
def test_a_room_outside_never_makes_it_ready_earlier(
    happenings: list[Happening], at: datetime, half_hours: int
) -> None:
    long = half_hours * timedelta(minutes=30)
    assert ready(happenings, room(long, "62", at=at)) >= ready(happenings)


STEP = timedelta(minutes=5)
A_DAY = 24 * 12
edges = st.lists(st.integers(0, 170 * 12), max_size=8, unique=True).map(sorted)
stretches = edges.map(lambda some: list(zip(some[::2], some[1::2], strict=False)))


@given(stretches, stretches, st.sets(st.integers(0, 170 * 12), max_size=3))
def test_it_is_ready_when_a_clock_says_so_that_is_stopped_and_set_back_by_hand(
    out: list[tuple[int, int]], dry: list[tuple[int, int]], drops: set[int]
) -> None:
    """Against a clock that ticks in steps of 5 min through absences, a dry room and drops."""
    happenings = [
        *(Happening(What.OUT, MONDAY + a * STEP, MONDAY + b * STEP) for a, b in out),
        *(Happening(What.DROPPED, MONDAY + one * STEP) for one in drops),
    ]
    readings = [
        one for a, b in dry for one in (air(MONDAY + a * STEP, "39"), air(MONDAY + b * STEP, "48"))
    ]
    assert ready(happenings, readings) == MONDAY + ticked(out, dry, drops) * STEP


def ticked(out: list[tuple[int, int]], dry: list[tuple[int, int]], drops: set[int]) -> int:
    """The step at which 96 h have been ticked off, and nothing has set the clock back since."""
    absent_from: dict[int, int] = {}  # by the step it ends: from which step an absence counts
    dry_until: set[int] = set()  # the steps at which a dry spell ends that counts
    run = in_all = 0
    found = None
    for now in range(400 * 12):
        away_long = now - absent_from.get(now, now) > 2 * 12
        dry_long = now in dry_until and in_all > A_DAY
        if away_long or dry_long or now in drops:
            run, in_all, found = 0, 0, None
        absent = next((b for a, b in out if a <= now < b), None)
        spell = next((b for a, b in dry if a <= now < b), None)
        if found is None:
            if absent:
                absent_from.setdefault(absent, now)
            if spell:
                dry_until.add(spell)
            in_all += spell is not None
            stopped = absent is not None and absent - absent_from[absent] >= 3
            if not stopped and spell is None:
                run += 1
                found = now + 1 if run == 96 * 12 else None
    assert found is not None
    return found
