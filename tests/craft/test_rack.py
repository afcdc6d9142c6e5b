"""The hold rack in the days to come: 24 a working day, 96 hours in the case.

All figures of the trade here (24 a day, 12 minutes a look, 450 minutes, 80 slots, 10 % to
spare) are invented or common practice, no source; what follows from them was worked out apart.
"""

from __future__ import annotations

import doctest
from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.craft.finding import Severity
from shop.craft.quality.little import in_process
from shop.craft.rack import Day, Forecast, Hours, Inspectors, Planned, forecast, forecasting, hours

NAMES = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONDAY = datetime(2031, 3, 3, 7, tzinfo=UTC)
WEDNESDAY = MONDAY + timedelta(days=2)
YEAR = 52 * 7
FROM_MON_TUE = [MONDAY + timedelta(days=day, hours=3 + 96) for day in (0, 1) for _ in range(24)]
"""When the casings of that Monday and Tuesday are ready."""


def year(looks_a_day: int) -> Forecast:
    """A year from an empty rack with so many second looks a working day."""
    who = Inspectors(net_min=12 * looks_a_day)
    return forecast(MONDAY, 106, [], Planned(24), who, days=YEAR)


def a_week(found: Forecast) -> dict[str, Day]:
    """A week in the middle of a long run, by the names of its days."""
    return {NAMES[one.day.weekday()]: one for one in found.days[140:147]}


def nights(found: Forecast) -> list[int]:
    return [one.in_rack for one in a_week(found).values()]


# --- the trade's own figures ---


def test_with_looks_enough_the_rack_peaks_at_96_from_thursday_to_sunday() -> None:
    found = year(200)
    assert nights(found) == [48, 48, 72, 96, 96, 96, 96]
    assert found.peak.in_rack == 96
    assert found.peak.day.weekday() == 3


def test_tuesday_wednesday_and_thursday_all_come_due_on_monday() -> None:
    due = {name: one.due for name, one in a_week(year(200)).items()}
    assert due == {"Mon": 72, "Tue": 24, "Wed": 0, "Thu": 0, "Fri": 24, "Sat": 0, "Sun": 0}


def test_the_mean_stay_is_4_6_days() -> None:
    assert year(200).mean_hold_d == pytest.approx(4.6, abs=0.01)


def test_one_inspector_at_24_a_day_keeps_the_rack_at_96_and_the_stay_at_5_6_days() -> None:
    found = year(24)
    assert min(nights(found)) == max(nights(found)) == found.peak.in_rack == 96
    assert found.mean_hold_d == pytest.approx(5.6, abs=0.01)


def test_at_30_a_day_they_stay_5_3_days_and_peak_at_96() -> None:
    found = year(30)
    assert found.mean_hold_d == pytest.approx(5.3, abs=0.01)
    assert found.peak.in_rack == 96


def test_the_fullest_night_and_a_tenth_to_spare_are_106_slots() -> None:
    assert year(200).slots_wanted == 106


@pytest.mark.parametrize("looks", [24, 30, 37, 200])
def test_the_mean_of_the_nights_is_what_littles_law_says(looks: int) -> None:
    """J. D. C. Little, Operations Research 9, 1961: 120 come in 7 days, each stays as counted."""
    found = year(looks)
    held = [one.in_rack for one in found.days[28:-28]]
    assert found.mean_hold_d is not None
    assert sum(held) / len(held) == pytest.approx(in_process(120 / 7, found.mean_hold_d), rel=2e-3)


# --- a rack of 80 slots, seen on a Wednesday ---


def test_a_rack_of_80_is_short_of_16_on_thursday_night() -> None:
    """24 a day, 4.6 days each, none in the weekend: 96 against 80; common practice, no source."""
    found = forecast(WEDNESDAY, 80, FROM_MON_TUE, Planned(24))
    assert found.short_from == date(2031, 3, 6)
    thursday = found.days[1]
    assert (thursday.in_rack, thursday.free, thursday.short) == (96, 0, 16)


def test_it_suggests_slots_a_cap_and_looks_where_they_help() -> None:
    """Before Monday nothing short of a slot is due, so only then do more looks help."""
    short, looks, _ = forecast(WEDNESDAY, 80, FROM_MON_TUE, Planned(24)).findings
    assert short.severity is Severity.WARN
    assert short.words == "Thu 2031-03-06: 96 in the rack at night, 80 slots: 16 too many."
    assert short.then == "Put up 16 slots more. Or case 16 a day at most."
    assert looks.words == "Mon 2031-03-10: 3 without a slot while cases that are due wait."
    assert looks.then == "Look again at 3 more by then."


def test_the_cap_it_suggests_is_enough_and_one_more_is_not() -> None:
    for cap, enough in ((16, True), (17, False)):
        found = forecast(WEDNESDAY, 80, FROM_MON_TUE, Planned(24, at_most=cap))
        assert (found.short_from is None) is enough


def test_the_slots_it_suggests_are_enough_and_one_less_is_not() -> None:
    for slots, enough in ((96, True), (95, False)):
        found = forecast(WEDNESDAY, slots, FROM_MON_TUE, Planned(24))
        assert (found.short_from is None) is enough


@pytest.mark.parametrize(
    ("slots", "then"),
    [
        (48, "Put up 27 slots more. Or case none in these days."),
        (47, "Put up 28 slots more."),
    ],
)
def test_where_what_is_there_fills_the_rack_no_cap_or_none_at_all_is_suggested(
    slots: int, then: str
) -> None:
    """48 are in it now; 9 a day from Wednesday on make 75 on Friday night before any leaves."""
    late = [one + timedelta(days=7) for one in FROM_MON_TUE]
    short = forecast(WEDNESDAY, slots, late, Planned(9), days=3).findings[0]
    assert short.then == then


def test_where_nothing_due_waits_it_says_that_more_looks_do_not_help() -> None:
    _, looks = forecast(
        WEDNESDAY, 80, FROM_MON_TUE, Planned(24), Inspectors(people=2)
    ).findings  # fmt: skip
    assert looks.then == "More second looks do not help."


def test_where_looks_alone_are_short_that_is_what_it_suggests() -> None:
    """90 are due on a rack of 50, of which one inspector does 37 today: 53 are left at night."""
    held = [MONDAY - timedelta(days=1)] * 90
    short, looks, *_ = forecast(MONDAY, 50, held, Planned(0)).findings
    assert short.then == "Put up 3 slots more."
    assert looks.words == "Mon 2031-03-03: 3 without a slot while cases that are due wait."
    assert looks.then == "Look again at 3 more by then."


def test_a_rack_with_room_says_nothing_of_slots() -> None:
    found = forecast(MONDAY, 106, [], Planned(24), Inspectors(people=2))
    assert (found.short_from, found.findings) == (None, ())


# --- the Monday lump ---


def test_72_due_on_monday_are_864_minutes_and_a_second_inspector() -> None:
    found = forecast(WEDNESDAY, 106, FROM_MON_TUE, Planned(24))
    lump = found.lump
    assert lump is not None
    assert (lump.due, lump.minutes, lump.finished, lump.needed) == (72, 864, 37, 2)
    (finding,) = found.findings
    assert finding.words.replace("\u202f", " ") == (
        "Mon 2031-03-10: 72 due × 12 min = 864 min. One inspector does 37."
    )
    assert finding.then == "Ask for a second one."


def test_with_a_second_inspector_on_that_monday_there_is_no_lump() -> None:
    who = Inspectors(on={date(2031, 3, 10): 2})
    assert forecast(WEDNESDAY, 106, FROM_MON_TUE, Planned(24), who).lump is None


def test_with_nobody_on_that_monday_two_are_asked_for() -> None:
    who = Inspectors(on={date(2031, 3, 10): 0})
    (finding,) = forecast(WEDNESDAY, 200, FROM_MON_TUE, Planned(24), who).findings
    assert finding.words.endswith("0 inspectors do 0.")
    assert finding.then == "Ask for 2 more."


def test_a_monday_off_moves_the_lump_to_tuesday() -> None:
    """Tuesday's to Friday's casings: 96."""
    free = Hours(holidays=frozenset({date(2031, 3, 10)}))
    found = forecast(WEDNESDAY, 200, FROM_MON_TUE, Planned(24), hours=free)
    assert found.lump is not None
    assert (found.lump.day, found.lump.due) == (date(2031, 3, 11), 96)
    assert [one.cased for one in found.days[4:7]] == [0, 0, 24]


# --- what is in the rack now ---


def test_a_hold_that_stands_still_keeps_its_slot_and_is_told() -> None:
    found = forecast(MONDAY, 10, [None, None], Planned(0))
    assert {one.in_rack for one in found.days} == {2}
    assert found.still == 2
    assert found.findings[0].words == "2 cases in the rack with the hold standing still."


def test_what_was_ready_long_ago_is_due_today_and_goes_first() -> None:
    held = [MONDAY - timedelta(days=9), MONDAY + timedelta(hours=4)]
    found = forecast(MONDAY, 10, held, Planned(0), Inspectors(net_min=12))
    assert [(one.due, one.looked, one.waiting) for one in found.days[:2]] == [(2, 1, 1), (0, 1, 0)]


@pytest.mark.parametrize(
    ("ready", "day"),
    [
        (datetime(2031, 3, 7, 15, 29, tzinfo=UTC), date(2031, 3, 7)),
        (datetime(2031, 3, 7, 15, 30, tzinfo=UTC), date(2031, 3, 10)),
        (datetime(2031, 3, 7, 5, 0, tzinfo=UTC), date(2031, 3, 7)),
        (datetime(2031, 3, 8, 11, 0, tzinfo=UTC), date(2031, 3, 10)),
    ],
)
def test_a_case_is_due_at_the_first_working_moment_from_when_it_is_ready(
    ready: datetime, day: date
) -> None:
    assert Hours().first(ready) == day
    found = forecast(MONDAY, 10, [ready], Planned(0))
    assert [one.day for one in found.days if one.due] == [day]


def test_after_the_shift_nothing_more_is_cased_or_looked_at_today() -> None:
    found = forecast(MONDAY.replace(hour=16), 10, [MONDAY], Planned(3))
    assert (found.days[0].cased, found.days[0].looked, found.days[0].works) == (0, 0, False)
    assert (found.days[1].due, found.days[1].cased) == (1, 3)


def test_what_is_left_of_today_can_be_said() -> None:
    planned = Planned(24, on={MONDAY.date(): 5})
    assert [one.cased for one in forecast(MONDAY, 99, [], planned).days[:2]] == [5, 24]


def test_what_is_left_of_todays_minutes_can_be_said() -> None:
    """40 due today: one inspector does 37 in 450 min, and 3 in the 45 min that are left."""
    due = [MONDAY] * 40
    who = Inspectors(net_on={MONDAY.date(): 45})
    found = forecast(MONDAY.replace(hour=14), 36, due, Planned(0), who)
    assert [one.looked for one in found.days[:2]] == [3, 37]
    assert found.days[0].short == 1, "a night that a whole day of looks would have hidden"
    assert found.lump is not None
    assert (found.lump.finished, found.lump.needed) == (3, 11)
    assert "45\u202fmin left of that day" in next(
        one.words for one in found.findings if one.rule == "HR3"
    )


def test_a_day_of_which_nothing_is_left_asks_for_nobody() -> None:
    who = Inspectors(net_on={MONDAY.date(): 0})
    (told,) = forecast(MONDAY, 9, [MONDAY], Planned(0), who).findings
    assert (told.rule, told.then) == ("HR3", "They wait for the next day.")


@pytest.mark.parametrize(
    ("hour", "minute", "left"),
    [(6, 0, 1.0), (7, 0, 1.0), (11, 15, 0.5), (15, 30, 0.0), (20, 0, 0.0)],
)
def test_a_shift_has_so_much_of_it_left(hour: int, minute: int, left: float) -> None:
    assert Hours().left(MONDAY.replace(hour=hour, minute=minute)) == left
    assert Hours().left(MONDAY.replace(day=8)) == 0, "a Saturday"


def test_a_moment_is_due_on_the_day_of_the_shops_own_clock() -> None:
    """15:00 UTC is 10:00 in New York, and within the shift there; 20:00 UTC is 15:00."""
    york = ZoneInfo("America/New_York")
    now = datetime(2031, 3, 3, 7, tzinfo=york)
    found = forecast(now, 9, [datetime(2031, 3, 7, 20, 0, tzinfo=UTC)], Planned(0))
    assert [one.day for one in found.days if one.due] == [date(2031, 3, 7)]


def test_the_change_of_clocks_makes_nothing_due_a_day_later() -> None:
    """In New York clocks go forward on Sunday 2031-03-09: 96 hours run on all the same."""
    york = ZoneInfo("America/New_York")
    found = forecast(datetime(2031, 3, 3, 7, tzinfo=york), 106, [], Planned(24))
    assert [one.due for one in found.days[4:9]] == [24, 0, 0, 72, 24]


def test_a_hold_of_five_days_brings_monday_to_wednesday_together_on_monday() -> None:
    found = forecast(MONDAY, 200, [], Planned(24), hold=timedelta(hours=120))
    assert [one.due for one in found.days[4:10]] == [0, 0, 0, 72, 24, 24]


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.none() | st.integers(-200, 300), max_size=60),
    st.integers(0, 40),
    st.integers(0, 3),
    st.integers(0, 120),
)
def test_no_case_is_lost_and_every_slot_is_free_or_taken(
    ready_h: Sequence[int | None], a_day: int, people: int, slots: int
) -> None:
    held = [None if one is None else MONDAY + timedelta(hours=one) for one in ready_h]
    found = forecast(MONDAY, slots, held, Planned(a_day), Inspectors(people=people))
    before = len(held)
    for one in found.days:
        assert one.in_rack == before + one.cased - one.looked
        assert one.in_rack - one.short == slots - one.free
        assert 0 <= one.waiting <= one.in_rack
        before = one.in_rack


# --- what cannot be ---


def test_a_moment_without_a_time_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="no time zone"):
        forecast(datetime(2031, 3, 3, 7), 10, [], Planned(1))
    with pytest.raises(ValueError, match="no time zone"):
        forecast(MONDAY, 10, [datetime(2031, 3, 3, 7)], Planned(1))


def test_figures_that_cannot_be_are_refused() -> None:
    with pytest.raises(ValueError, match="-1 slots"):
        forecast(MONDAY, -1, [], Planned(1))
    with pytest.raises(ValueError, match="-2 casings"):
        Planned(4, on={date(2031, 3, 3): -2})
    with pytest.raises(ValueError, match="0 min a look"):
        Inspectors(each_min=0)
    with pytest.raises(ValueError, match="at least one day"):
        Hours(days=frozenset())
    with pytest.raises(ValueError, match="end after the start"):
        Hours(starts=time(16))


def test_the_examples_hold() -> None:
    for module in (hours, forecasting):
        result = doctest.testmod(module)
        assert result.attempted
        assert not result.failed
