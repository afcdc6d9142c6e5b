"""Octaves, string by string.

3 cents accepted, over 5 worked on: common practice, no source. What a move of the saddle does
follows from the lengths of the string.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft.finding import Severity
from shop.craft.set_up.intonation import Heard, Intonation, heard, judge, tuned
from shop.craft.set_up.scale import at_cents, open_hz, saddle_cents
from shop.craft.words import THIN

STOP, WARN, NOTE = Severity.STOP, Severity.WARN, Severity.NOTE
TENTHS = st.integers(-400, 400).map(lambda tenths: tenths / 10)
STRINGS = st.sampled_from(["1", "2", "3", "4", "5", "6", "6o", "1'"])


def one(off: float, opened: float = 0.0) -> Intonation:
    return judge({"6": Heard(opened, opened + off)}, 645.0)


def words(found: Intonation) -> list[str]:
    return [f"{one.words} {one.then}".strip().replace(THIN, " ") for one in found.told]


@pytest.mark.parametrize(
    ("off", "severity", "way"),
    [(0.0, NOTE, ""), (3.0, NOTE, ""), (-3.0, NOTE, ""), (3.1, WARN, "back"),
     (-3.1, WARN, "forward"), (5.0, WARN, "back"), (5.1, STOP, "back"), (-5.1, STOP, "forward")],
)  # fmt: skip
def test_three_cents_are_left_and_over_five_are_worked_on(
    off: float, severity: Severity, way: str
) -> None:
    (string,) = one(off).strings
    assert (string.severity, string.way) == (severity, way)


def test_seven_cents_sharp_goes_26_tenths_back() -> None:
    """7 × 0.373 = 2.61."""
    found = one(7.0)
    assert words(found) == [
        (
            "String 6: the octave is 7 cents sharp. Over 5 cents it is worked on. "
            "Move its point on the saddle 2.61 mm back, away from the nut."
        )
    ]
    assert found.strings[0].reckoning == "7 \u2212 0 = +7; 7 × 645 / 1731 = 2.61\u202fmm"


def test_seven_cents_flat_goes_as_far_forward() -> None:
    assert "Move its point on the saddle 2.61 mm forward, towards the nut." in words(one(-7.0))[0]


def test_between_three_and_five_the_lead_may_let_it_be() -> None:
    assert words(one(4.0))[0].endswith("Or ask the lead to let it be.")


@given(TENTHS, TENTHS)
def test_only_the_octave_against_the_open_string_counts(off: float, opened: float) -> None:
    """A string tuned flat as a whole has no worse an octave."""
    assert one(off, opened).strings[0].off_cents == pytest.approx(off, abs=1e-3)


@given(TENTHS)
def test_a_point_moved_as_told_gives_the_cents_back(off: float) -> None:
    (string,) = one(off).strings
    assert saddle_cents(string.move_mm, 645.0) == pytest.approx(off, abs=0.002)


@given(STRINGS, TENTHS, TENTHS)
def test_hertz_and_cents_say_the_same(string: str, opened: float, octave: float) -> None:
    base = open_hz(string)
    found = heard(string, at_cents(base, opened), at_cents(2 * base, octave))
    assert found.open_cents == pytest.approx(opened, abs=1e-6)
    assert found.octave_cents == pytest.approx(octave, abs=1e-6)


def test_all_within_is_said_in_one_sentence_and_accepted() -> None:
    found = judge({string: Heard(0.0, 2.0) for string in "654321"}, 645.0)
    assert found.accepted
    assert words(found) == ["Every octave is within 3 cents: nothing moves."]


def test_the_worst_string_is_told_first() -> None:
    found = judge({"6": Heard(0, 6), "2": Heard(0, -9), "1": Heard(0, 0)}, 645.0)
    assert not found.accepted
    assert [one[:9] for one in words(found)] == ["String 2:", "String 6:"]
    assert [one.string for one in found.strings] == ["6", "2", "1"]


def test_a_half_step_off_is_another_note() -> None:
    found = one(100.0)
    assert [one.rule for one in found.told] == ["octave-read"]


@given(st.dictionaries(st.sampled_from("654321"), TENTHS, min_size=1))
def test_the_other_hand_has_the_same_strings_in_the_other_order(offs: dict[str, float]) -> None:
    mine = judge({string: Heard(0, off) for string, off in offs.items()}, 645.0)
    its = judge({string: Heard(0, off) for string, off in reversed(offs.items())}, 645.0)
    assert its.strings == mine.strings[::-1]


@pytest.mark.parametrize(
    ("off", "severity", "told"),
    [
        (3.0, NOTE, "String 5 is in tune: +3 cents from A2."),
        (-3.1, WARN, "String 5 is 3.1 cents below A2. Tune up to it."),
        (8.0, WARN, "String 5 is 8 cents above A2. Slack it below its note and tune up to it."),
    ],
)
def test_an_open_string_is_in_tune_within_three_cents(
    off: float, severity: Severity, told: str
) -> None:
    found = tuned("5", off)
    assert (found.told.severity, f"{found.told.words} {found.told.then}".strip()) == (
        severity,
        told,
    )


def test_a_note_that_is_no_number_is_a_fault_of_the_program() -> None:
    with pytest.raises(ValueError, match="octave_cents is nan"):
        one(math.nan)
