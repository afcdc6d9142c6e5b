"""The angle of the neck and its wedge.

A clearance of 1/64 to 1/16 in and the angle's formula: one maker's published notes. Other
numbers are worked by hand with a scale of 645.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft.finding import Severity
from shop.craft.set_up.neck import (
    Heel,
    clearance,
    neck_angle,
    placed_after,
    reset,
    reset_wedge,
    scale_shortening,
    wedge_at_board,
)
from shop.craft.words import THIN

D14 = 287.31
HEEL = Heel(heel_mm=90.0, joint_to_saddle_mm=D14, board_mm=6.0)
STOP, WARN, NOTE = Severity.STOP, Severity.WARN, Severity.NOTE


def test_two_millimetres_at_the_saddle_are_63_hundredths_at_a_heel_of_90() -> None:
    assert round(reset_wedge(2.0, 90.0, D14), 2) == 0.63


def test_the_scale_loses_what_the_board_is_of_the_heel() -> None:
    assert scale_shortening(0.63, 6.0, 90.0) == pytest.approx(0.042)


@given(st.floats(-5, 5), st.floats(50, 120), st.floats(200, 350))
def test_a_wedge_lifts_the_saddle_line_by_what_it_was_cut_for(
    rise: float, heel: float, beyond: float
) -> None:
    """By the angle of the wedge itself, not by the triangle's sides."""
    angle = math.atan(reset_wedge(rise, heel, beyond) / heel)
    assert math.tan(angle) * beyond == pytest.approx(rise, abs=1e-9)


def test_a_neck_whose_plane_runs_along_the_top_has_no_angle() -> None:
    assert neck_angle(6.0, 1.1, 6.0, 1.1, 645.0, 3.8, 357.69) == pytest.approx(0)


def test_a_bridge_of_95_with_a_board_of_6_wants_two_thirds_of_a_degree() -> None:
    """(9.5 + 1.0 − 6.0 − 1.1) / (645 + 3.8 − 357.69) = 0.01168."""
    assert math.tan(math.radians(neck_angle(9.5, 1.0, 6.0, 1.1, 645.0, 3.8, 357.69))) == (
        pytest.approx(0.01168, abs=5e-6)
    )


@pytest.mark.parametrize("gap", [0.4, 1.0, 1.6, 0.1 + 0.3])
def test_a_straightedge_that_clears_by_1_64_to_1_16_inch_is_right(gap: float) -> None:
    found = clearance(gap, HEEL)
    assert (found.within, found.reset, [one.severity for one in found.told]) == (True, None, [NOTE])


@pytest.mark.parametrize("inch", [1 / 64, 1 / 16])
def test_the_limits_are_those_printed_in_inches(inch: float) -> None:
    assert any(inch * 25.4 == pytest.approx(one, abs=0.02) for one in (0.4, 1.6))


def test_a_straightedge_into_the_bridge_says_how_much_wedge_lifts_it() -> None:
    """−1.0 to the middle of 0.4 and 1.6 is 2.0 up."""
    found = clearance(-1.0, HEEL)
    assert found.reset is not None
    assert (found.within, found.reset.rise_mm, round(found.reset.wedge_mm, 2)) == (False, 2.0, 0.63)
    assert found.told[0].words.replace(THIN, " ") == (
        "The straightedge meets the bridge 1 mm under its top. The neck leans too far forward."
    )
    assert (found.told[0].severity, found.told[0].call) == (STOP, "lead")
    assert "0.63 mm comes off the tip of the heel" in found.told[1].words.replace(THIN, " ")
    assert "about 0.042 mm" in found.told[1].then.replace(THIN, " ")


def test_without_its_heel_measured_it_is_only_told_how_far_the_saddle_line_has_to_rise() -> None:
    found = clearance(-1.0)
    assert (found.reset, len(found.told)) == (None, 1)
    assert found.told[0].then.replace(THIN, " ") == (
        "Call the lead: the neck is set again, +2 mm at the saddle."
    )


def test_a_neck_leaning_back_is_trimmed_at_the_board() -> None:
    found = clearance(2.0, HEEL)
    assert found.reset is not None
    assert found.reset.wedge_mm < 0
    assert "leans too far back" in found.told[0].words
    assert "at the board, running out to nothing at its tip" in found.told[1].words


@given(st.integers(-300, 300).map(lambda hundredths: hundredths / 100))
def test_after_the_wedge_the_straightedge_stands_in_the_middle(gap: float) -> None:
    found = clearance(gap, HEEL)
    if found.reset is not None:
        again = clearance(gap + found.reset.rise_mm, HEEL)
        assert again.within
        assert again.gap_mm == pytest.approx(1.0)


def test_a_rise_and_a_fall_of_the_same_turn_the_neck_as_far_either_way() -> None:
    up, down = reset(2.0, HEEL), reset(-2.0, HEEL)
    assert up.wedge_mm == -down.wedge_mm
    assert up.off_mm == up.wedge_mm
    assert up.shorter_mm == pytest.approx(0.0418, abs=5e-5)


def test_a_neck_trimmed_at_the_board_goes_in_by_the_whole_turn() -> None:
    """Gap 3.0, so 2 mm down at the saddle, heel 90, board 6.5: the turn is 2 · 90 / 287.31 =
    0.63 at the frets and 0.63 · (90 − 6.5) / 90 = 0.58 under the board. Worked by hand."""
    found = clearance(3.0, Heel(90.0, D14, 6.5)).reset
    assert found is not None
    assert [round(one, 2) for one in (found.wedge_mm, found.off_mm, found.shorter_mm)] == [
        -0.63, 0.58, 0.63,
    ]  # fmt: skip
    words, then = (one.replace(THIN, " ") for one in (found.told[0].words, found.told[0].then))
    assert words.startswith("0.58 mm comes off the heel at the board")
    assert "about 0.627 mm" in then
    assert [one.replace(THIN, " ") for one in found.reckoning] == [
        "\u22122 × 90 / 287.31 = \u22120.63 mm",
        "0.63 × (90 \u2212 6.5) / 90 = 0.58 mm",
    ]


@given(st.floats(0.1, 5), st.floats(50, 120), st.floats(3, 9), st.floats(200, 350))
def test_what_falls_is_what_a_neck_does_that_turns_about_the_tip_of_its_heel(
    fall: float, heel: float, board: float, beyond: float
) -> None:
    """The heel as a rigid body: every point turned by the angle of the fall about the tip. The
    face under the board and the fret plane at the joint end where the formulas say, but for
    the cosine of a degree."""
    found = reset(-fall, Heel(heel, beyond, board))
    turn = math.atan(fall / beyond)
    assert found.off_mm == pytest.approx((heel - board) * math.sin(turn), rel=1e-3)
    assert found.shorter_mm == pytest.approx(heel * math.sin(turn), rel=1e-3)
    assert wedge_at_board(-found.wedge_mm, board, heel) == found.off_mm


def test_no_rise_is_no_wedge() -> None:
    assert reset(0.0, HEEL).told == ()


@pytest.mark.parametrize(("read", "severity"), [(648.84, NOTE), (649.34, NOTE), (649.35, STOP)])
def test_a_shorter_scale_is_looked_at_before_gluing(read: float, severity: Severity) -> None:
    assert placed_after(read, 648.8, 0.042).severity is severity


@pytest.mark.parametrize("heel", [0.0, -90.0, math.nan])
def test_a_heel_of_nothing_is_a_fault_of_the_program(heel: float) -> None:
    with pytest.raises(ValueError, match="heel_mm"):
        reset_wedge(2.0, heel, D14)
