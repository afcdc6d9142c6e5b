"""Where the bridge goes.

3.8 for scales of 635 to 654: bridge placement tables, 0.15 in. The limit of 0.5 and the
compensation of each string: common practice, no source.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft.finding import Severity
from shop.craft.set_up import compensation
from shop.craft.set_up.compensation import BridgePlace, judge, starting, straight, usual_middle
from shop.craft.set_up.scale import cents
from shop.craft.words import THIN

STOP, WARN, NOTE = Severity.STOP, Severity.WARN, Severity.NOTE
READINGS = st.integers(64_000, 66_000).map(lambda hundredths: hundredths / 100)


def rules(found: BridgePlace) -> list[tuple[str, Severity]]:
    return [(one.rule, one.severity) for one in found.told]


def words(found: BridgePlace) -> list[str]:
    return [f"{one.words} {one.then}".strip().replace(THIN, " ") for one in found.told]


def test_a_bridge_13_tenths_too_far_is_not_cut_for_and_would_be_35_tenths_of_a_cent_flat() -> None:
    found = judge(645.0, 3.8, 650.1, 650.1)
    assert (found.refused, found.bass.target_mm, found.bass.off_mm) == (True, 648.8, 1.3)
    assert round(found.bass.flat_cents, 1) == 3.5
    assert rules(found) == [("bridge-place", STOP), ("bridge-place", STOP)]
    assert words(found)[0] == (
        "650.1 mm on the bass side is 1.3 mm beyond 648.8 mm, more than 0.5 mm: "
        "the octave would be 3.5 cents flat. "
        "Cut nothing. Move the bass side 1.3 mm towards the nut, clamp it and read both sides "
        "again."
    )
    assert found.reckoning[:2] == (
        "645 + 3.8 = 648.8\u202fmm",
        "650.1 \u2212 648.8 = +1.3; 1731 × 1.3 / 645 = 3.5",
    )


def test_the_cents_it_costs_are_those_of_the_strings_lengths() -> None:
    """Open the string is 648.8 + 1.3 long where 648.8 was wanted, at fret 12 322.5 less; all its
    compensation but the error is taken to be right."""
    flat = judge(645.0, 3.8, 650.1, 650.1).bass.flat_cents
    assert flat == pytest.approx(cents(2.0, (645.0 + 1.3) / (322.5 + 1.3)), abs=0.05)


@pytest.mark.parametrize("reading", [648.3, 648.8, 649.3])
def test_half_a_millimetre_either_way_may_be_cut(reading: float) -> None:
    found = judge(645.0, 3.8, reading, reading)
    assert (found.refused, rules(found)) == (False, [("bridge-place", NOTE)])


@pytest.mark.parametrize(
    ("reading", "told"),
    [
        (648.29, "short of 648.8 mm, more than 0.5 mm: the octave would be 1.4 cents sharp."),
        (649.31, "beyond 648.8 mm, more than 0.5 mm: the octave would be 1.4 cents flat."),
    ],
)
def test_a_hundredth_more_may_not(reading: float, told: str) -> None:
    found = judge(645.0, 3.8, reading, 648.8)
    assert found.refused
    assert told in words(found)[0]


def test_a_slanted_saddle_line_is_read_longer_at_the_bass() -> None:
    found = judge(645.0, 3.8, 650.3, 647.3, slant_mm=3.0)
    assert (found.bass.target_mm, found.treble.target_mm, found.refused) == (650.3, 647.3, False)


def test_two_sides_each_within_but_apart_stand_askew() -> None:
    found = judge(645.0, 3.8, 649.0, 648.6)
    assert (found.refused, rules(found)) == (
        False,
        [("bridge-skew", WARN), ("bridge-place", NOTE)],
    )
    assert words(found)[0].startswith("The bass side is 0.4 mm further from the nut")


def test_another_scale_is_measured_again_instead_of_moved() -> None:
    found = judge(645.0, 3.8, 632.8, 632.8)
    assert "See that the jig is set for this scale" in words(found)[0]


@given(READINGS, READINGS, st.integers(0, 35).map(lambda tenths: tenths / 10))
def test_the_other_hand_swaps_the_sides(bass: float, treble: float, slant: float) -> None:
    one = judge(645.0, 3.8, bass, treble, slant_mm=slant)
    other = judge(645.0, 3.8, treble, bass, slant_mm=-slant)
    for mine, its in ((one.bass, other.treble), (one.treble, other.bass)):
        assert (mine.target_mm, mine.off_mm, mine.flat_cents) == (
            its.target_mm,
            its.off_mm,
            its.flat_cents,
        )
    assert (one.refused, sorted(rules(one))) == (other.refused, sorted(rules(other)))


@given(READINGS, READINGS)
def test_a_bridge_moved_as_it_is_told_may_be_cut_for(bass: float, treble: float) -> None:
    found = judge(645.0, 3.8, bass, treble)
    again = judge(645.0, 3.8, bass - found.bass.off_mm, treble - found.treble.off_mm)
    assert rules(again) == [("bridge-place", NOTE)]


@pytest.mark.parametrize(("scale", "middle"), [(630.0, 4.0), (635.0, 3.8), (654.0, 3.8)])
def test_the_middle_of_the_saddle_begins_where_the_tables_have_it(
    scale: float, middle: float
) -> None:
    """0.15 in is 3.81."""
    assert usual_middle(scale) == middle
    assert pytest.approx(0.15 * 25.4, abs=0.02) == compensation.MIDDLE_MM


def test_each_string_begins_at_its_own() -> None:
    assert starting() == {"1": 1.8, "2": 3.0, "3": 2.2, "4": 3.2, "5": 4.0, "6": 5.0}
    assert starting(third_wound=False)["3"] == 4.0
    assert (starting("nylon")["1"], starting("nylon")["6"]) == (1.0, 2.0)


@given(st.floats(0, 6), st.floats(0, 4))
def test_a_straight_saddle_slants_evenly_about_its_middle(middle: float, slant: float) -> None:
    line = straight(middle, slant)
    assert line["6"] - line["1"] == pytest.approx(slant, abs=2e-3)
    assert sum(line.values()) / 6 == pytest.approx(middle, abs=1e-3)
    assert list(line.values()) == sorted(line.values(), reverse=True)


def test_a_reading_that_is_no_number_is_a_fault_of_the_program() -> None:
    with pytest.raises(ValueError, match="treble_mm is nan"):
        judge(645.0, 3.8, 648.8, math.nan)
