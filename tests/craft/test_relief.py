"""Relief and the truss rod.

Ranges, the eighth of a turn, the wait, the torque and the full turn: common practice, no source,
but that relief is 0 to 0.30 (0.012 in) and rods are turned by eighths, which set-up guides print.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft.finding import Severity
from shop.craft.set_up.relief import Advice, Turned, advise, relief_between, turns
from shop.craft.words import THIN

STOP, WARN, NOTE = Severity.STOP, Severity.WARN, Severity.NOTE
RELIEFS = st.integers(-60, 140).map(lambda hundredths: hundredths / 100)


def words(advice: Advice) -> list[str]:
    return [f"{one.words} {one.then}".strip().replace(THIN, " ") for one in advice.told]


def rules(advice: Advice) -> list[tuple[str, Severity]]:
    return [(one.rule, one.severity) for one in advice.told]


def steps(way: int, many: int, start: float, each: float) -> tuple[Turned, ...]:
    """So many eighths one way, each changing the relief by as much."""
    return tuple(
        Turned(way, start + each * number, start + each * (number + 1)) for number in range(many)
    )


def test_a_relief_above_its_range_tightens_the_rod_an_eighth_and_waits() -> None:
    advice = advise(0.35, 0.15, 0.25)
    assert (advice.eighths, rules(advice)) == (1, [("relief", WARN)])
    assert words(advice) == [
        (
            "Relief 0.35 mm, 0.1 mm above 0.15 to 0.25 mm. "
            "Tighten the rod 1/8 turn, clockwise as you look at its end. "
            "Then tune to pitch, wait 5 min and measure again."
        )
    ]


def test_a_neck_too_straight_loosens_it() -> None:
    advice = advise(0.10, 0.15, 0.25)
    assert (advice.eighths, advice.within) == (-1, False)
    assert "Loosen the rod 1/8 turn, counter-clockwise" in words(advice)[0]


def test_a_neck_bent_backwards_is_told_so() -> None:
    assert "bent backwards" in words(advise(-0.10, 0.15, 0.25))[0]


@pytest.mark.parametrize("relief_mm", [0.15, 0.20, 0.25, 0.1 + 0.05, 0.05 + 0.2])
def test_at_its_limits_and_between_nothing_is_turned(relief_mm: float) -> None:
    advice = advise(relief_mm, 0.15, 0.25)
    assert (advice.eighths, advice.within, rules(advice)) == (0, True, [("relief-within", NOTE)])


@pytest.mark.parametrize(("eighths", "stopped"), [(7, False), (8, True), (9, True)])
def test_a_full_turn_without_change_goes_to_the_repairer(eighths: int, stopped: bool) -> None:
    advice = advise(0.40, 0.15, 0.25, steps(1, eighths, 0.40, 0.0))
    assert (("rod", STOP) in rules(advice)) is stopped
    assert advice.eighths == (0 if stopped else 1)
    assert advice.turned == eighths


def test_a_full_turn_that_made_it_worse_goes_to_the_repairer_too() -> None:
    advice = advise(0.56, 0.15, 0.25, steps(1, 8, 0.40, 0.02))
    assert rules(advice) == [("rod", STOP)]
    assert "turned 1 turn and the relief did not follow: it is 0.56 mm." in words(advice)[0]


def test_a_full_turn_that_moved_it_goes_on() -> None:
    assert advise(0.32, 0.15, 0.25, steps(1, 8, 0.40, -0.01)).eighths == 1


def test_turns_the_other_way_before_do_not_count_towards_the_full_turn() -> None:
    so_far = (*steps(-1, 6, 0.40, 0.0), *steps(1, 4, 0.40, 0.0))
    advice = advise(0.40, 0.15, 0.25, so_far)
    assert (advice.eighths, advice.turned) == (1, -2)


def test_the_second_turn_waits_until_the_wood_has_settled() -> None:
    so_far = steps(1, 1, 0.40, -0.02)
    early, settled = (advise(0.38, 0.15, 0.25, so_far, waited_min=one) for one in (2.0, 5.0))
    assert (early.eighths, rules(early)) == (0, [("rod-wait", NOTE)])
    assert "Wait 3 min more" in words(early)[0]
    assert settled.eighths == 1


@pytest.mark.parametrize(("waited", "told", "left"), [(4.6, 4, 1), (0.4, 0, 5), (4.999, 4, 1)])
def test_a_begun_minute_has_not_passed_and_is_still_to_wait(
    waited: float, told: int, left: int
) -> None:
    (one,) = advise(0.38, 0.15, 0.25, steps(1, 1, 0.40, -0.02), waited_min=waited).told
    assert one.words.replace(THIN, " ").startswith(f"{told} min since the rod was turned")
    assert one.then.replace(THIN, " ").startswith(f"Wait {left} min more")


def test_before_the_first_turn_there_is_nothing_to_wait_for() -> None:
    assert advise(0.38, 0.15, 0.25, waited_min=0.0).eighths == 1


@pytest.mark.parametrize(("torque_nm", "stopped"), [(4.0, False), (4.1, True)])
def test_more_than_4_newton_metres_stops(torque_nm: float, stopped: bool) -> None:
    advice = advise(0.40, 0.15, 0.25, torque_nm=torque_nm)
    assert (("rod", STOP) in rules(advice)) is stopped


def test_two_sides_far_apart_are_a_twist_no_rod_takes_out() -> None:
    advice = advise(0.30, 0.15, 0.25, other_side_mm=0.12)
    assert advice.relief_mm == 0.21
    assert rules(advice) == [("relief-within", NOTE), ("relief-twist", WARN)]
    assert advice.reckoning == ("(0.3 + 0.12) / 2 = 0.21\u202fmm",)


def test_a_relief_no_neck_has_is_measured_again() -> None:
    assert rules(advise(2.5, 0.15, 0.25)) == [("relief-read", STOP)]
    assert rules(advise(0.2, 0.15, 0.25, other_side_mm=-2.5)) == [("relief-read", STOP)]


def test_two_feelers_are_read_in_the_middle() -> None:
    assert relief_between(0.20, 0.25) == pytest.approx(0.225)


def test_a_range_upside_down_is_a_fault_of_the_program() -> None:
    with pytest.raises(ValueError, match=r"0\.25 to 0\.15"):
        advise(0.2, 0.25, 0.15)


@given(RELIEFS, RELIEFS)
def test_either_hand_gives_the_same_turn(bass: float, treble: float) -> None:
    """A left-handed neck has its bass side where a right-handed one has its treble side."""
    one = advise(bass, 0.15, 0.25, other_side_mm=treble)
    other = advise(treble, 0.15, 0.25, other_side_mm=bass)
    assert (one.eighths, one.relief_mm, rules(one)) == (
        other.eighths,
        other.relief_mm,
        rules(other),
    )


@given(RELIEFS, st.integers(0, 7))
def test_a_turn_is_an_eighth_and_towards_the_range(relief_mm: float, made: int) -> None:
    so_far = steps(1, made, relief_mm, 0.0)
    wanted = 1 if relief_mm > 0.25 else -1 if relief_mm < 0.15 else 0
    assert advise(relief_mm, 0.15, 0.25, so_far).eighths == wanted


@pytest.mark.parametrize(
    ("eighths", "said"),
    [(1, "1/8 turn"), (4, "1/2 turn"), (8, "1 turn"), (9, "1 1/8 turns"), (16, "2 turns")],
)
def test_eighths_are_said_as_the_bench_says_them(eighths: int, said: str) -> None:
    assert turns(eighths) == turns(-eighths) == said


def test_a_turn_whose_relief_before_was_not_read_is_waited_for_too() -> None:
    early = advise(0.35, 0.15, 0.25, (Turned(1, None, 0.35),), waited_min=1.0)
    assert (early.eighths, rules(early)) == (0, [("rod-wait", NOTE)])
    assert early.reckoning == ("0.35 \u2212 0.25 = 0.1\u202fmm",)
    settled = advise(0.35, 0.15, 0.25, (Turned(1, None, 0.35),), waited_min=5.0)
    assert settled.eighths == 1


@pytest.mark.parametrize(("eighths", "asked"), [(7, False), (8, True), (11, True), (-8, False)])
def test_after_a_full_turn_the_relief_before_it_is_asked_for(eighths: int, asked: bool) -> None:
    """Turned the other way, a rod has not been seen to bind yet."""
    advice = advise(0.40, 0.15, 0.25, (Turned(eighths, None, 0.40),))
    assert rules(advice) == ([("rod-before", WARN)] if asked else [("relief", WARN)])
    assert advice.eighths == (0 if asked else 1)
