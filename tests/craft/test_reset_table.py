"""What resets the days in the case, where two rows of the table meet.

The rows one by one, both sides of each edge, are in ``test_clocks.py``; here is what stands
between them. All limits are common practice, no source; the times are invented. Cased on Monday
2031-03-03 at 14:10 for 96 h.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from shop.craft.clocks import Air, Happening, Held, What, hold

MONDAY = datetime(2031, 3, 3, 14, 10, tzinfo=ZoneInfo("Europe/Berlin"))
HOLD = timedelta(hours=96)
READY = MONDAY + HOLD
TUESDAY = MONDAY + timedelta(hours=20)
SECOND = timedelta(seconds=1)
HOUR = timedelta(hours=1)
DAY = timedelta(hours=24)
GLANCE = timedelta(minutes=14, seconds=59)


def cased(*happenings: Happening, air: Sequence[Air] = ()) -> Held:
    return hold(MONDAY, HOLD, happenings, air, MONDAY + 20 * DAY)


def lasting(what: What, long: timedelta, at: datetime = TUESDAY) -> Happening:
    return Happening(what, at, at + long)


def room(*spells: tuple[datetime, timedelta, str, str]) -> list[Air]:
    """A room inside its limits but for these spells: from when, how long, °C, %RH."""
    inside = Air(MONDAY - HOUR, Decimal(21), Decimal(48))
    found = [inside]
    for at, long, temp, rh in spells:
        found += [
            Air(at, Decimal(temp), Decimal(rh)), Air(at + long, inside.temp_c, inside.rh_pct)
        ]  # fmt: skip
    return found


# --- row: one string, or saddle and rod ---


@pytest.mark.parametrize("what", [What.STRING, What.TRIMMED])
@pytest.mark.parametrize("at", [READY, READY + HOUR, READY + 30 * HOUR])
def test_after_the_hold_one_string_or_a_small_adjustment_is_held_for_24_h(
    what: What, at: datetime
) -> None:
    held = cased(Happening(what, at))
    assert (held.ready, held.started) == (at + DAY, MONDAY)


def test_two_small_adjustments_are_not_added_up() -> None:
    both = [Happening(What.TRIMMED, READY + HOUR), Happening(What.STRING, READY + 3 * HOUR)]
    assert cased(*both).ready == READY + 3 * HOUR + DAY


@pytest.mark.parametrize("what", [What.GLUED, What.RECUT, What.RESTRUNG, What.DROPPED])
def test_a_full_restart_wins_over_a_check_of_24_h(what: What) -> None:
    for order in ((0, 1), (1, 0)):
        at = [READY + HOUR * (1 + one) for one in order]
        held = cased(Happening(what, at[0]), Happening(What.TRIMMED, at[1]))
        assert held.ready == at[0] + HOLD


# --- row: touch-up of the finish, over both rows of being out ---


@pytest.mark.parametrize(
    ("long", "ready"),
    [(72 * HOUR, READY + 72 * HOUR), (72 * HOUR + SECOND, TUESDAY + 72 * HOUR + SECOND + HOLD)],
)
def test_a_touch_up_wins_over_being_out_up_to_its_72_h_and_begins_again_beyond(
    long: timedelta, ready: datetime
) -> None:
    assert cased(lasting(What.TOUCHED_UP, long), lasting(What.OUT, long)).ready == ready


def test_a_touch_up_of_a_minute_stands_still_where_a_glance_into_the_case_does_not() -> None:
    minute = timedelta(minutes=1)
    assert cased(lasting(What.TOUCHED_UP, minute)).ready == READY + minute
    assert cased(lasting(What.OUT, minute)).ready == READY


def test_two_touch_ups_of_72_h_each_apart_do_not_begin_again() -> None:
    first, second = (
        lasting(What.TOUCHED_UP, 72 * HOUR, at) for at in (TUESDAY, TUESDAY + 73 * HOUR)
    )
    held = cased(first, second)
    assert (held.ready, held.started) == (READY + 144 * HOUR, MONDAY)


# --- rows: out of the case ---


def test_glances_into_the_case_are_not_added_up() -> None:
    looks = [lasting(What.OUT, GLANCE, TUESDAY + one * HOUR) for one in range(9)]
    assert cased(*looks) == Held(READY, MONDAY)


def test_two_absences_of_2_h_apart_only_stand_still() -> None:
    first, second = (lasting(What.OUT, 2 * HOUR, at) for at in (TUESDAY, TUESDAY + 3 * HOUR))
    assert (cased(first, second).ready, cased(first, second).started) == (READY + 4 * HOUR, MONDAY)


def test_a_case_opened_for_40_min_by_mistake_is_ready_40_min_later() -> None:
    """Opened by mistake the days stand still: common practice, no source."""
    opened = timedelta(minutes=40)
    assert cased(lasting(What.OUT, opened)).ready == READY + opened


# --- rows: the room ---


@pytest.mark.parametrize("temp", ["15.9", "27.1"])
def test_a_room_too_cold_or_too_warm_for_over_24_h_in_all_begins_it_again(temp: str) -> None:
    still = cased(air=room((TUESDAY, DAY, temp, "48")))
    assert (still.ready, still.started) == (READY + DAY, MONDAY)
    again = cased(air=room((TUESDAY, DAY + SECOND, temp, "48")))
    assert again.started == TUESDAY + DAY + SECOND
    assert again.ready == again.started + HOLD


def test_damp_hours_and_cold_hours_are_added_up() -> None:
    damp, cold = (TUESDAY, 13 * HOUR, "21", "62"), (TUESDAY + 20 * HOUR, 12 * HOUR, "15", "48")
    held = cased(air=room(damp, cold))
    assert held.started == TUESDAY + 32 * HOUR
    assert held.ready == held.started + HOLD


@pytest.mark.parametrize("temp", ["-5", "40"])
def test_no_temperature_asks_for_a_look_for_cracks(temp: str) -> None:
    held = cased(air=room((TUESDAY, 20 * HOUR, temp, "48")))
    assert (held.ready, held.crack_check) == (READY + 20 * HOUR, False)


def test_air_in_danger_for_over_4_h_begins_it_again_also_while_out_for_a_touch_up() -> None:
    danger = room((TUESDAY + HOUR, 5 * HOUR, "21", "36"))
    held = cased(lasting(What.TOUCHED_UP, 3 * HOUR), air=danger)
    assert held.started == TUESDAY + 6 * HOUR
    assert held.ready == held.started + HOLD
    assert held.crack_check


# --- release = start + 96 h + what it stood still ---


def test_what_stood_still_for_different_reasons_is_added_up() -> None:
    held = cased(
        lasting(What.OUT, timedelta(minutes=40)),
        lasting(What.TOUCHED_UP, 26 * HOUR, TUESDAY + 2 * HOUR),
        lasting(What.RACK, 3 * HOUR, TUESDAY + 29 * HOUR),
        air=room((TUESDAY + 30 * HOUR, 5 * HOUR, "21", "62")),
    )
    assert held.paused == timedelta(hours=31, minutes=40)
    assert held.ready == MONDAY + HOLD + held.paused
