"""The saddle: what comes off, what is left, and when the neck is set again instead.

The rule of two: Acoustic Guitar, July 2013, "to change your action height at the 12th fret a
certain distance, you must multiply that number by two". Limits above the bridge: common
practice, no source. Other numbers are worked by hand where they stand.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft.finding import Severity
from shop.craft.set_up.neck import Heel
from shop.craft.set_up.saddle import Limits, SaddlePlan, Side, plan, saddle_change
from shop.craft.set_up.scale import fret_place
from shop.craft.words import THIN

STOP, WARN, NOTE = Severity.STOP, Severity.WARN, Severity.NOTE
HEEL = Heel(heel_mm=90.0, joint_to_saddle_mm=287.31, board_mm=6.0)
HEIGHTS = st.integers(100, 400).map(lambda hundredths: hundredths / 100)
PROUDS = st.integers(0, 800).map(lambda hundredths: hundredths / 100)
SIDES = st.builds(Side, HEIGHTS, HEIGHTS, PROUDS)


def words(found: SaddlePlan) -> list[str]:
    return [f"{one.words} {one.then}".strip().replace(THIN, " ") for one in found.told]


def rules(found: SaddlePlan) -> list[tuple[str, Severity]]:
    return [(one.rule, one.severity) for one in found.told]


def test_the_string_at_fret_12_changes_by_half_of_the_saddle() -> None:
    """1/32 in at the saddle is 1/64 in at fret 12."""
    assert saddle_change(25.4 / 64, 645.0) == pytest.approx(25.4 / 32)


def test_with_compensation_and_at_fret_14_the_published_ratios_come_out() -> None:
    """For 647.7 mm and 2.5 mm: 0.4981 at fret 12; 0.5546 at fret 14 without compensation."""
    assert 1 / saddle_change(1.0, 647.7, 12, 2.5) == pytest.approx(0.4981, abs=5e-5)
    assert 1 / saddle_change(1.0, 647.7, 14) == pytest.approx(0.5546, abs=5e-5)


def test_half_a_millimetre_at_the_saddle_is_not_one_at_fret_12() -> None:
    """One page has it the other way round; that is wrong."""
    assert saddle_change(1.0, 645.0) == pytest.approx(2.0)
    assert saddle_change(1.0, 645.0) != pytest.approx(0.5)


@given(st.floats(-3, 3), st.floats(500, 700), st.integers(1, 20), st.floats(0, 6))
def test_the_change_at_the_saddle_gives_the_change_at_the_fret(
    change: float, scale: float, fret: int, back: float
) -> None:
    """By the line from the nut to the saddle, the other way round."""
    at_saddle = saddle_change(change, scale, fret, back)
    assert at_saddle * fret_place(scale, fret) / (scale + back) == pytest.approx(change, abs=1e-9)


def test_action_3_and_2_down_to_24_and_16_takes_12_and_8_tenths_and_leaves_22_looked_at() -> None:
    found = plan(Side(3.0, 2.4, 3.4), Side(2.0, 1.6, 3.4), 645.0)
    assert (found.bass.off_mm, found.treble.off_mm) == (1.2, 0.8)
    assert (found.bass.left_mm, found.treble.left_mm) == (2.2, 2.6)
    assert found.takes_off
    assert rules(found) == [("R32", WARN), ("saddle", NOTE)]
    assert words(found) == [
        (
            "2.2 mm stays above the bridge on the bass side. That is less than is usual. "
            "Look at the strings over the saddle, then go on."
        ),
        (
            "Take 1.2 mm off the base of the saddle at the bass end and 0.8 mm at the treble end. "
            "Keep the base flat to 0.03 mm, then measure the action again."
        ),
    ]
    assert "(3 \u2212 2.4) × 2 = 1.2\u202fmm" in found.reckoning
    assert "3.4 \u2212 1.2 = 2.2\u202fmm" in found.reckoning


def test_an_element_of_one_millimetre_lowers_the_base_by_one_and_leaves_the_top() -> None:
    without = plan(Side(3.0, 2.4, 3.4), Side(2.0, 1.6, 3.4), 645.0)
    with_one = plan(Side(3.0, 2.4, 3.4), Side(2.0, 1.6, 3.4), 645.0, element_mm=1.0)
    assert (without.bass.base_mm, with_one.bass.base_mm) == (1.2, 2.2)
    assert (without.treble.base_mm, with_one.treble.base_mm) == (0.8, 1.8)
    assert without.bass.left_mm == with_one.bass.left_mm
    assert "2.2 mm off the base" in words(with_one)[-1]
    assert "1 mm of it for the element" in words(with_one)[-1]


@pytest.mark.parametrize(
    ("proud", "severity"),
    [("1.99", STOP), ("2.0", WARN), ("2.49", WARN), ("2.5", None), ("4.5", None), ("4.51", WARN),
     ("5.0", WARN), ("5.01", STOP)],
)  # fmt: skip
def test_what_is_left_above_the_bridge_is_held_against_both_limits(
    proud: str, severity: Severity | None
) -> None:
    side = Side(2.4, 2.4, float(proud))
    found = plan(side, side, 645.0)
    assert {one.severity for one in found.told if one.rule == "R32"} == ({severity} - {None})


def test_limits_of_a_spec_go_before_the_usual_ones() -> None:
    side = Side(2.4, 2.4, 2.2)
    assert rules(plan(side, side, 645.0, limits=Limits(1.5, 2.0, 4.5, 5.0))) == [("saddle", NOTE)]


def test_too_little_left_sends_the_neck_to_be_set_with_its_wedge() -> None:
    """Bass 3.0 to 2.4 takes 1.2 off 2.4 and leaves 1.2; 3.2 wanted, so the plane rises 2.0:
    2.0 × 90 / 287.31 = 0.63."""
    found = plan(Side(3.0, 2.4, 2.4), Side(1.6, 1.6, 2.4), 645.0, heel=HEEL)
    assert found.reset is not None
    assert (found.reset.rise_mm, round(found.reset.wedge_mm, 2)) == (2.0, 0.63)
    assert rules(found) == [("R32", STOP), ("R32", WARN), ("neck-reset", WARN)]
    assert words(found)[0].startswith("1.2 mm would be left above the bridge on the bass side")
    assert "0.63 mm comes off the tip of the heel" in words(found)[2]
    assert "saddle" not in [one.rule for one in found.told]
    assert not found.takes_off


def test_without_the_heel_measured_the_stop_stands_alone() -> None:
    found = plan(Side(3.0, 2.4, 2.4), Side(1.6, 1.6, 3.0), 645.0)
    assert (found.reset, rules(found)) == (None, [("R32", STOP)])


def test_a_saddle_too_low_already_is_made_new_and_not_packed_up() -> None:
    found = plan(Side(2.0, 2.4, 3.0), Side(1.6, 1.6, 3.0), 645.0)
    assert rules(found) == [("saddle", STOP)]
    assert "0.8 mm higher. Make a new saddle." in words(found)[0]
    assert found.bass.left_mm == 3.8


def test_within_the_tolerance_nothing_comes_off() -> None:
    found = plan(Side(2.55, 2.4, 3.2), Side(1.45, 1.6, 3.2), 645.0, tolerance_mm=0.15)
    assert (found.bass.off_mm, found.treble.off_mm, rules(found)) == (0, 0, [("saddle", NOTE)])


def test_a_re_inspected_action_of_25_hundredths_more_is_taken_back_by_half_a_millimetre() -> None:
    """2.40 at the first look, 2.65 at the second: the saddle goes down 0.50."""
    found = plan(Side(2.65, 2.40, 3.2), Side(1.6, 1.6, 3.2), 645.0, tolerance_mm=0.15)
    assert found.bass.off_mm == 0.5


def test_a_saddle_less_than_two_thirds_in_its_slot_may_lean() -> None:
    side = Side(2.4, 2.4, 3.2)
    assert "saddle-slot" not in dict(rules(plan(side, side, 645.0, slot_mm=6.4)))
    leaning = plan(side, side, 645.0, slot_mm=6.0)
    assert ("saddle-slot", WARN) in rules(leaning)
    assert "65 % of the saddle" in words(leaning)[-1]


def test_an_action_no_guitar_has_is_measured_again_and_nothing_planned() -> None:
    found = plan(Side(24.0, 2.4, 3.2), Side(1.6, 1.6, 3.2), 645.0)
    assert (rules(found), found.reckoning) == ([("saddle-read", STOP)], ())


@given(SIDES, SIDES, st.floats(0, 2))
def test_the_other_hand_swaps_the_sides_of_the_plan(
    bass: Side, treble: Side, element: float
) -> None:
    one = plan(bass, treble, 645.0, element_mm=element, heel=HEEL)
    other = plan(treble, bass, 645.0, element_mm=element, heel=HEEL)
    for mine, its in ((one.bass, other.treble), (one.treble, other.bass)):
        assert (mine.off_mm, mine.base_mm, mine.left_mm) == (its.off_mm, its.base_mm, its.left_mm)
    assert sorted(rules(one)) == sorted(rules(other))


@given(SIDES, SIDES)
def test_a_plan_followed_needs_no_other(bass: Side, treble: Side) -> None:
    found = plan(bass, treble, 645.0)
    after = [
        Side(one.target_mm, one.target_mm, cut.left_mm)
        for one, cut in ((bass, found.bass), (treble, found.treble))
    ]
    again = plan(after[0], after[1], 645.0)
    assert (again.bass.off_mm, again.treble.off_mm) == (0, 0)
    assert (again.bass.left_mm, again.treble.left_mm) == (found.bass.left_mm, found.treble.left_mm)


@pytest.mark.parametrize(("over_mm", "off_mm"), [(0.07, 0.0), (0.08, 0.319)])
def test_what_is_allowed_over_fret_12_is_as_much_less_nearer_the_nut(
    over_mm: float, off_mm: float
) -> None:
    """Similar triangles: 0.15 at fret 12 are 0.15 × 161.80 / 322.50 = 0.075 at fret 5."""
    bass = Side(1.7 + over_mm, 1.7, 3.4)
    found = plan(bass, Side(1.5, 1.5, 3.4), 645.0, fret=5, tolerance_mm=0.15)
    assert found.bass.off_mm == pytest.approx(off_mm, abs=5e-4)


def test_what_is_allowed_over_fret_12_is_more_beyond_it() -> None:
    """0.15 × 357.69 / 322.50 = 0.166 at fret 14."""
    bass, treble = Side(2.16, 2.0, 3.4), Side(2.17, 2.0, 3.4)
    found = plan(bass, treble, 645.0, fret=14, tolerance_mm=0.15)
    assert (found.bass.off_mm, found.treble.off_mm > 0) == (0, True)
