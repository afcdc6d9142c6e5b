"""When a room could be glued in and when it gave alarm. Times are invented; limits are those
of rule R37 and common practice, no source."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft.clocks import Air
from shop.craft.wood.room import (
    GLUES,
    Out,
    Stretch,
    Wait,
    alarms,
    as_aimed,
    by_day,
    excursions,
    touched,
    why_not_glue,
    windows,
)
from shop.craft.words import THIN

BERLIN = ZoneInfo("Europe/Berlin")
NOW = datetime(2031, 3, 4, 12, 0, tzinfo=BERLIN)
HOUR = timedelta(hours=1)


def air(hours: float, rh: str = "48", temp: str = "21") -> Air:
    """The room so many hours before now."""
    return Air(NOW - hours * HOUR, Decimal(temp), Decimal(rh))


def ago(stretch: Stretch) -> tuple[float, float]:
    """A stretch in hours before now."""
    return ((NOW - stretch.start) / HOUR, (NOW - stretch.end) / HOUR)


def plain(words: str) -> str:
    return words.replace(THIN, " ")


@pytest.mark.parametrize(
    ("glue", "temp", "may"),
    [
        ("white", "13", True),
        ("white", "12.9", False),
        ("white", "12", False),
        ("yellow", "12", True),
        ("yellow", "4.5", True),
        ("yellow", "4.4", False),
    ],
)
def test_a_glue_is_used_from_its_least_temperature_on(glue: str, temp: str, may: bool) -> None:
    assert (why_not_glue(air(0, temp=temp), glue) == ()) is may


@pytest.mark.parametrize(
    ("rh", "may"), [("40", True), ("39.9", False), ("60", True), ("61", False)]
)
def test_glue_is_used_in_air_neither_too_dry_nor_too_damp(rh: str, may: bool) -> None:
    assert (why_not_glue(air(0, rh), "yellow") == ()) is may


def test_why_not_names_both_figures_and_the_next_step() -> None:
    cold, damp = why_not_glue(air(0, "66", "12"), "white")
    assert plain(cold).startswith("12 °C, white glue needs 13 °C. Warm room, parts and glue")
    assert plain(damp).startswith("66 %RH, gluing needs 40 to 60 %RH.")


def test_a_glue_that_nobody_has_is_named() -> None:
    with pytest.raises(ValueError, match="hide"):
        why_not_glue(air(0), "hide")
    with pytest.raises(ValueError, match="hide"):
        windows([air(1)], "hide", NOW)


@pytest.mark.parametrize(
    ("rh", "temp", "told"),
    [
        ("42", "21", ()),
        ("55", "21", ()),
        ("41.9", "21", (Out.DRY,)),
        ("55.1", "21", (Out.DAMP,)),
        ("48", "12.9", (Out.COLD,)),
        ("41", "12", (Out.DRY, Out.COLD)),
    ],
)
def test_the_room_gives_alarm_past_its_limits_and_not_at_them(
    rh: str, temp: str, told: tuple[Out, ...]
) -> None:
    assert alarms(air(0, rh, temp)) == told


@pytest.mark.parametrize(
    ("rh", "temp", "aimed"),
    [("45", "19", True), ("50", "23", True), ("44.9", "21", False), ("48", "23.1", False)],
)
def test_air_is_as_aimed_between_the_set_points(rh: str, temp: str, aimed: bool) -> None:
    assert as_aimed(air(0, rh, temp)) is aimed


def test_an_alarm_lasts_from_the_first_reading_outside_to_the_first_inside() -> None:
    log = [air(9), air(8, "41"), air(7, "38"), air(6, "40"), air(5), air(1)]
    [one] = excursions(log, NOW)
    assert (one.out, ago(one.stretch), one.stretch.going_on) == (Out.DRY, (8, 5), False)
    assert one.worst.rh_pct == 38
    assert plain(one.words(NOW)) == (
        "Too dry for 3 h from Tue 04:00, at worst 38 %RH on Tue 05:00."
    )


def test_an_alarm_that_nothing_ended_goes_on_until_now() -> None:
    [one] = excursions([air(3), air(2, "57"), air(1, "58.5")], NOW)
    assert (one.out, ago(one.stretch), one.stretch.going_on) == (Out.DAMP, (2, 0), True)
    assert plain(one.words(NOW)) == "Too damp since Tue 10:00, at worst 58.5 %RH on Tue 11:00."


def test_a_cold_room_is_told_by_its_degrees() -> None:
    [one] = excursions([air(4, temp="12"), air(3, temp="11.5"), air(2)], NOW)
    assert plain(one.words(NOW)).endswith("at worst 11.5 °C on Tue 09:00.")


def test_dry_and_cold_at_once_are_two_alarms_oldest_first() -> None:
    found = excursions([air(4, "41"), air(3, "41", "12"), air(1)], NOW)
    assert [(one.out, ago(one.stretch)) for one in found] == [(Out.DRY, (4, 1)), (Out.COLD, (3, 1))]


def test_of_two_readings_of_one_moment_the_worse_counts() -> None:
    [one] = excursions([air(3), air(3, "40"), air(2)], NOW)
    assert ago(one.stretch) == (3, 2)
    assert [ago(it) for it in windows([air(3), air(3, temp="12"), air(2)], "white", NOW)] == [
        (2, 0)
    ]


def test_a_reading_still_to_come_tells_nothing_yet() -> None:
    assert excursions([air(2), air(-1, "30")], NOW) == ()
    assert [ago(one) for one in windows([air(2), air(-1, "30")], "white", NOW)] == [(2, 0)]


def test_a_window_ends_where_the_room_is_too_cold_and_opens_again() -> None:
    log = [air(9), air(8), air(6, temp="12"), air(2)]
    assert [ago(one) for one in windows(log, "white", NOW)] == [(9, 6), (2, 0)]
    assert [ago(one) for one in windows(log, "yellow", NOW)] == [(9, 0)]


def test_a_reading_is_good_for_twelve_hours_and_no_longer() -> None:
    """Rule R37 takes it for no longer either."""
    assert [ago(one) for one in windows([air(30)], "white", NOW)] == [(30, 18)]
    assert windows([air(30)], "white", NOW)[0].going_on is False


def test_a_log_of_nothing_tells_nothing() -> None:
    assert windows([], "white", NOW) == ()
    assert excursions([], NOW) == ()


def test_an_hour_counts_once_when_the_clocks_go_forward() -> None:
    """On 2031-03-30 central Europe goes from 02:00 to 03:00."""
    late = datetime(2031, 3, 30, 1, 0, tzinfo=BERLIN)
    back = datetime(2031, 3, 30, 4, 0, tzinfo=BERLIN)
    log = [Air(late, Decimal(21), Decimal(35)), Air(back, Decimal(21), Decimal(48))]
    [one] = excursions(log, back + HOUR)
    assert one.stretch.length == 2 * HOUR


def test_what_an_alarm_touched_is_named_with_the_hours_they_share() -> None:
    dry = excursions([air(9), air(8, "40"), air(5)], NOW)
    held, glued, later = (
        Wait("Q-0417", "hold", Stretch(NOW - 20 * HOUR, NOW + 70 * HOUR)),
        Wait("Q-0418", "bridge clamp", Stretch(NOW - 6 * HOUR, NOW - 5 * HOUR)),
        Wait("Q-0419", "bridge clamp", Stretch(NOW - 5 * HOUR, NOW)),
    )
    found = touched([held, glued, later], dry)
    assert [(one.wait.whose, ago(one.shared)) for one in found] == [
        ("Q-0417", (8, 5)),
        ("Q-0418", (6, 5)),
    ]


def test_a_day_is_told_by_its_least_and_most_on_the_shops_clock() -> None:
    log = [air(13, "44", "19"), air(11.5, "41"), air(1, "52", "23"), air(2)]
    newer, older = by_day(log, NOW)
    assert (str(newer.on), newer.readings) == ("2031-03-04", 3)
    assert [newer.least_rh, newer.most_rh] == [41, 52]
    assert [newer.least_c, newer.most_c] == [21, 23]
    assert (str(older.on), older.readings) == ("2031-03-03", 1)
    assert older.least_c == 19


READINGS = st.lists(
    st.builds(
        air,
        st.integers(0, 60),
        st.integers(30, 70).map(str),
        st.integers(3, 30).map(str),
    ),
    max_size=12,
)


@given(READINGS)
def test_windows_of_every_glue_lie_apart_and_in_order(log: list[Air]) -> None:
    for glue in GLUES:
        found = windows(log, glue, NOW)
        assert all(one.start < one.end for one in found)
        assert all(one.end < other.start for one, other in pairwise(found))


@given(READINGS)
def test_the_order_of_readings_tells_nothing(log: list[Air]) -> None:
    back = list(reversed(log))
    assert windows(log, "white", NOW) == windows(back, "white", NOW)
    assert [(one.out, one.stretch) for one in excursions(log, NOW)] == [
        (one.out, one.stretch) for one in excursions(back, NOW)
    ]


@given(READINGS)
def test_glue_is_never_used_in_a_cold_alarm(log: list[Air]) -> None:
    cold = [one.stretch for one in excursions(log, NOW) if one.out is Out.COLD]
    for window in windows(log, "white", NOW):
        assert all(window.shares(one) is None for one in cold)


def test_a_moment_without_a_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="no time zone"):
        excursions([], datetime(2031, 3, 4, 12, 0))
