"""Where nut slots go, which file cuts them and how deep."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft.finding import Severity
from shop.craft.fit.nut import GAP_LEAST, GAP_MOST, ROOM_LEAST, ROOM_MOST
from shop.craft.hardware import Hand
from shop.craft.set_up import nut, slot_depth
from shop.craft.set_up.nut import Course, NutString
from shop.craft.set_up.scale import fret_place
from shop.craft.set_up.slot_depth import FirstFret, SlotDepth
from shop.craft.words import THIN

INCH_MM = 25.4
LIGHT = (("6", 1.346), ("5", 1.067), ("4", 0.813), ("3", 0.610), ("2", 0.406), ("1", 0.305))
PAIRS = (
    (("6o", 0.69), ("6", 1.19)),
    (("5o", 0.46), ("5", 0.94)),
    (("4o", 0.30), ("4", 0.66)),
    (("3o", 0.23), ("3", 0.48)),
    (("2", 0.36), ("2'", 0.36)),
    (("1", 0.25), ("1'", 0.25)),
)


def singles(*strings: tuple[str, float]) -> tuple[Course, ...]:
    return tuple((NutString(*one),) for one in strings)


def in_pairs() -> tuple[Course, ...]:
    return tuple(tuple(NutString(*one) for one in pair) for pair in PAIRS)


def read(**more: float | None) -> SlotDepth:
    given_mm = {"clearance_mm": 0.52, "wanted_mm": 0.40, "saddle_mm": 4.8} | more
    asked = FirstFret("6", **given_mm)  # type: ignore[arg-type]
    return slot_depth.depth(asked, 645.0, fret_place(645.0, 1), fret_place(645.0, 3), 1.10)


# Places.


def test_the_six_places_of_a_light_set_on_a_nut_of_44_5() -> None:
    """Own computation: X = 44.5 − 2 · 3.2 = 38.1, ΣW = 4.547, gap 6.71."""
    plan = nut.place(singles(*LIGHT), 44.5)
    assert plan.gap_mm == pytest.approx(6.7106)
    places = [round(one.from_bass_mm, 2) for one in plan.slots]
    assert places == [3.87, 11.79, 19.44, 26.86, 34.08, 41.15]
    assert plan.findings == ()
    assert [one.replace(THIN, " ") for one in plan.arithmetic] == [
        "44.5 \u2212 3.2 \u2212 3.2 = 38.1 mm",
        "(38.1 \u2212 4.547)/5 = 6.71 mm",
    ]


def test_the_gap_of_a_published_nut() -> None:
    """NUT-1, seen: theguitarmechanic.com, Nut Spacing: 1.442 in outside to outside, gauges
    .010 .013 .017 .026 .036 .046, gap 0.2588 in, within 0.00005."""
    gauges = (0.046, 0.036, 0.026, 0.017, 0.013, 0.010)
    assert nut.equal_gap(1.442, sum(gauges), 6) == pytest.approx(0.2588, abs=5e-5)
    strings = singles(*((str(6 - at), one * INCH_MM) for at, one in enumerate(gauges)))
    plan = nut.place(strings, 1.442 * INCH_MM, bass_margin_mm=0.0, treble_margin_mm=0.0)
    assert plan.gap_mm / INCH_MM == pytest.approx(0.2588, abs=5e-5)


def test_equal_centres_on_that_nut_give_unequal_gaps() -> None:
    """A negative control, from the same page: equal centres leave .2418 .2518 .2613 .2678
    .2713 in, thin side to thick side the other way about."""
    gauges = (0.010, 0.013, 0.017, 0.026, 0.036, 0.046)
    step = (1.442 - gauges[0] / 2 - gauges[-1] / 2) / 5
    gaps = [step - (one + other) / 2 for one, other in pairwise(gauges)]
    assert sorted(round(one, 4) for one in gaps) == [0.2418, 0.2518, 0.2613, 0.2678, 0.2713]
    assert max(abs(one - 0.2588) for one in gaps) > 0.01


def test_the_gap_from_inner_face_to_inner_face_is_the_same() -> None:
    """NUT-2, seen: acousticguitarforum.com, post 5182708 of 5 January 2017: the inner gauges
    18, 27, 39 and 49 add up to .133 in. Both ways of measuring differ by the outer strings."""
    inner = (0.049, 0.039, 0.027, 0.018)
    assert round(sum(inner), 3) == 0.133
    outer = (0.059, 0.013)
    inside_in = 1.4
    by_inside = (inside_in - sum(inner)) / 5
    by_outside = nut.equal_gap(inside_in + sum(outer), sum(inner) + sum(outer), 6)
    assert by_outside == pytest.approx(by_inside)


diameters = st.lists(st.floats(0.2, 1.6), min_size=2, max_size=8)


@given(diameters, st.floats(40.0, 56.0), st.floats(2.8, 3.5), st.floats(2.8, 3.5))
def test_all_gaps_are_alike_and_both_margins_kept(
    wide: list[float], nut_mm: float, bass: float, treble: float
) -> None:
    strings = singles(*((str(at), one) for at, one in enumerate(wide)))
    slots = nut.place(strings, nut_mm, bass_margin_mm=bass, treble_margin_mm=treble).slots
    edges = [(one.from_bass_mm, one.diameter_mm / 2) for one in slots]
    assert edges[0][0] - edges[0][1] == pytest.approx(bass)
    assert nut_mm - edges[-1][0] - edges[-1][1] == pytest.approx(treble)
    gaps = [b - rb - a - ra for (a, ra), (b, rb) in pairwise(edges)]
    assert gaps == pytest.approx([gaps[0]] * len(gaps))


@given(diameters, st.floats(40.0, 56.0))
def test_a_left_handed_nut_is_the_mirror_of_a_right_handed_one(
    wide: list[float], nut_mm: float
) -> None:
    strings = singles(*((str(at), one) for at, one in enumerate(wide)))
    right, left = (nut.place(strings, nut_mm, hand) for hand in (Hand.RIGHT, Hand.LEFT))
    assert [one.from_bass_mm for one in left.slots] == [one.from_bass_mm for one in right.slots]
    for one, other in zip(left.slots, right.slots, strict=True):
        assert one.from_left_mm == pytest.approx(nut_mm - other.from_left_mm)
    assert [one.string for one in left.from_left] == [one.string for one in right.from_left][::-1]


def test_the_thick_string_is_on_the_left_of_a_right_handed_nut() -> None:
    assert nut.place(singles(*LIGHT), 44.5).from_left[0].string == "6"
    assert nut.place(singles(*LIGHT), 44.5, Hand.LEFT).from_left[0].string == "1"


def test_pairs_stand_with_equal_gaps_between_them_and_their_own_inside() -> None:
    """Common practice, no source: a pair is one body, its strings 1.8 to 2.2 apart."""
    plan = nut.place(in_pairs(), 47.6, pair_gap_mm=2.0)
    slots = plan.slots
    gaps = [
        b.from_bass_mm - b.diameter_mm / 2 - a.from_bass_mm - a.diameter_mm / 2
        for a, b in pairwise(slots)
    ]
    assert gaps[0::2] == pytest.approx([2.0] * 6)
    assert gaps[1::2] == pytest.approx([plan.gap_mm] * 5)
    assert slots[-1].from_bass_mm + slots[-1].diameter_mm / 2 == pytest.approx(47.6 - 3.2)
    assert plan.findings == ()


def test_the_thin_string_of_a_pair_is_raised_by_half_the_difference() -> None:
    """Common practice, no source: (1.19 − 0.69)/2 = 0.25, so the finger meets both."""
    lifts = {one.string: one.lift_mm for one in nut.place(in_pairs(), 47.6).slots}
    assert lifts["6o"] == pytest.approx(0.25)
    assert lifts["6"] == lifts["1"] == lifts["1'"] == 0


def test_strings_that_do_not_fit_are_told_and_get_no_places() -> None:
    plan = nut.place(in_pairs(), 20.0)
    assert plan.slots == ()
    assert [one.severity for one in plan.findings] == [Severity.STOP]
    assert plan.findings[0].words.startswith(f"13.6{THIN}mm between the margins")


@pytest.mark.parametrize(
    ("margin", "said"), [(2.79, "slips off"), (2.8, ""), (3.5, ""), (3.51, "crowd")]
)
def test_margins_are_2_8_to_3_5(margin: float, said: str) -> None:
    """Common practice, no source."""
    found = nut.place(singles(*LIGHT), 44.5, bass_margin_mm=margin).findings
    assert len(found) == bool(said)
    assert all(said in one.words and "bass edge" in one.words for one in found)


@pytest.mark.parametrize(("gap", "said"), [(1.79, "touch"), (1.8, ""), (2.2, ""), (2.21, "misses")])
def test_pairs_are_1_8_to_2_2_apart(gap: float, said: str) -> None:
    """Common practice, no source."""
    found = nut.place(in_pairs(), 47.6, pair_gap_mm=gap).findings
    assert len(found) == bool(said)
    assert all(said in one.words for one in found)


def test_pairs_no_further_apart_than_their_strings_are_a_stop() -> None:
    found = nut.place(in_pairs(), 30.0).findings
    assert [one.severity for one in found] == [Severity.STOP]


def test_what_is_no_set_of_strings_is_a_fault_of_the_program() -> None:
    with pytest.raises(ValueError, match="not 1"):
        nut.place(singles(("6", 1.3)), 44.5)
    with pytest.raises(ValueError, match="with a diameter"):
        nut.place(singles(("6", 1.3), ("5", 0.0)), 44.5)


# Files.


@pytest.mark.parametrize(
    ("file_mm", "said"), [(1.09, "binds"), (1.10, ""), (1.20, ""), (1.21, "rattles")]
)
def test_a_file_is_wider_than_its_string_by_0_05_to_0_15(file_mm: float, said: str) -> None:
    """Common practice, no source."""
    found = nut.file_for(NutString("5", 1.05), file_mm)
    assert len(found) == bool(said)
    for one in found:
        assert said in one.words
        assert one.then.replace(THIN, " ") == "Use a file of 1.1 mm to 1.2 mm."


def test_a_slot_names_the_files_that_cut_it() -> None:
    slot = nut.place(singles(*LIGHT), 44.5).slots[1]
    assert (round(slot.file_least_mm, 3), round(slot.file_most_mm, 3)) == (1.117, 1.217)


# Depths.


def test_the_floor_of_a_slot_from_the_clearance_over_fret_1() -> None:
    """Own computation: (0.40 − 4.8 · 36.20/645)/(1 − 36.20/645) = 0.14."""
    one = read()
    assert round(one.floor_mm, 2) == 0.14
    assert round(one.stack_mm, 2) == 1.24
    assert one.findings == ()
    assert [said.replace(THIN, " ") for said in one.arithmetic] == [
        "(0.4 \u2212 4.8 × 36.2/645)/(1 \u2212 36.2/645) = 0.14 mm",
        "1.1 + 0.14 = 1.24 mm",
    ]


def test_a_slot_is_cut_by_a_little_more_than_the_clearance_falls() -> None:
    """Similar triangles: 0.12 over fret 1 are 0.12/(1 − 36.20/645) = 0.127 at the nut."""
    assert read().cut_mm == pytest.approx(0.12 / (1 - 36.20 / 645), abs=1e-5)


clearances = st.floats(0.0, 1.5)


@given(clearances, st.floats(1.0, 8.0), st.floats(560.0, 700.0))
def test_the_floor_gives_the_clearance_back(wanted: float, saddle: float, scale: float) -> None:
    at = fret_place(scale, 1)
    floor = slot_depth.slot_floor(wanted, saddle, at, scale)
    assert floor + (saddle - floor) * at / scale == pytest.approx(wanted, abs=1e-9)


@given(clearances, st.floats(0.2, 0.6), st.floats(2.0, 6.0))
def test_more_read_over_fret_1_is_always_more_to_cut(
    now: float, wanted: float, saddle: float
) -> None:
    less, more = (
        read(clearance_mm=now + by, wanted_mm=wanted, saddle_mm=saddle) for by in (0, 0.1)
    )
    assert more.cut_mm > less.cut_mm


def test_pressed_at_fret_3_the_wanted_slot_leaves_0_09() -> None:
    """0.14 · (1 − 36.20/102.63), within the 0.03 to 0.10 of common practice, no source."""
    assert round(read().pressed_mm, 2) == 0.09


def test_a_string_that_lies_on_fret_1_pressed_at_fret_3_is_a_stop() -> None:
    (found,) = read(pressed_mm=0.0).findings
    assert found.severity is Severity.STOP
    assert found.words == "String 6 lies on fret 1 when it is pressed at fret 3."
    assert "new nut" in found.then


@pytest.mark.parametrize(
    ("pressed", "severity"),
    [(0.02, Severity.WARN), (0.03, None), (0.10, None), (0.11, Severity.NOTE)],
)
def test_pressed_at_fret_3_there_is_0_03_to_0_10_over_fret_1(
    pressed: float, severity: Severity | None
) -> None:
    """Common practice, no source."""
    assert [one.severity for one in read(pressed_mm=pressed).findings] == (
        [severity] if severity else []
    )


def test_a_slot_floor_below_the_frets_is_a_stop() -> None:
    """4.8 · 36.20/645 = 0.269: a string any closer to fret 1 comes from below the frets."""
    (found,) = read(clearance_mm=0.26).findings
    assert found.severity is Severity.STOP
    assert "below the frets" in found.words


def test_wanting_so_little_that_the_floor_falls_below_the_frets_is_a_stop() -> None:
    (found,) = read(wanted_mm=0.26).findings
    assert found.severity is Severity.STOP
    assert found.then.startswith("Lower the saddle first")


def test_a_slot_already_too_deep_is_not_cut() -> None:
    one = read(clearance_mm=0.35)
    assert one.cut_mm < 0
    (found,) = one.findings
    assert found.severity is Severity.WARN
    assert found.then.startswith("Do not cut it.")


def test_an_unusual_wish_is_noted() -> None:
    (found,) = read(clearance_mm=0.9, wanted_mm=0.8).findings
    assert found.severity is Severity.NOTE


def test_the_summary_names_only_the_slots_to_be_cut() -> None:
    said = slot_depth.summary([read(), read(clearance_mm=0.35)])
    assert said.replace(THIN, " ") == "Cut deeper: string 6 0.13 mm."
    assert slot_depth.summary([read(clearance_mm=0.35)]) == "No slot is to be cut deeper."


def test_the_limits_are_those_by_which_a_kit_is_judged() -> None:
    """A guitar's slots and pairs are judged by rules 34 and 36: both go by the same figures."""
    assert (
        float(ROOM_LEAST.value),
        float(ROOM_MOST.value),
    ) == (nut.ROOM_LEAST_MM, nut.ROOM_MOST_MM)
    assert (float(GAP_LEAST.value), float(GAP_MOST.value)) == (nut.PAIR_LEAST_MM, nut.PAIR_MOST_MM)


def test_what_may_not_be_cut_is_in_no_sentence_that_says_to_cut() -> None:
    """Two that a finding tells to leave: the floor wanted lies under the frets, and the string
    lies on fret 1 already."""
    below = read(clearance_mm=0.46, wanted_mm=0.25, saddle_mm=5.0)
    touching = read(pressed_mm=0.0)
    assert (below.cut_mm > 0, below.may_be_cut) == (True, False)
    assert (touching.cut_mm > 0, touching.may_be_cut) == (True, False)
    assert slot_depth.summary([below, touching]) == "No slot is to be cut deeper."
    assert read(pressed_mm=0.2).may_be_cut  # only noted: it is to be cut


@pytest.mark.parametrize(("off_mm", "found"), [(0.004, []), (0.006, ["slot floor"])])
def test_a_slot_floor_is_judged_as_it_is_told_to_a_hundredth(
    off_mm: float, found: list[str]
) -> None:
    """So high over fret 1 that its floor lies that far under the frets, now and as wanted."""
    along = fret_place(645.0, 1) / 645.0
    over_1 = 4.8 * along - off_mm * (1 - along)
    one = read(clearance_mm=over_1, wanted_mm=over_1)
    assert sorted({it.rule for it in one.findings if it.severity is Severity.STOP}) == found


def in_a_pair(over_1: float = 0.90, wanted: float = 0.51) -> tuple[SlotDepth, SlotDepth]:
    """String 3 of 0.61 and its octave string of 0.23, which is asked for 0.30 like a plain one."""
    ground = (645.0, fret_place(645.0, 1), fret_place(645.0, 3), 1.10)
    thick = slot_depth.depth(FirstFret("3", 0.60, wanted, 4.8), *ground)
    octave = FirstFret("3o", over_1, 0.30, 4.8)
    return thick, slot_depth.raised(octave, thick, nut.octave_lift(0.61, 0.23), *ground)


def test_the_floor_of_an_octave_string_lies_over_its_partners_by_the_lift() -> None:
    """Common practice, no source: (0.61 − 0.23)/2 = 0.19 higher, whatever a string of its kind
    is asked for by itself; the feelers and the cut follow."""
    thick, octave = in_a_pair()
    assert octave.floor_mm - thick.floor_mm == pytest.approx(0.19)
    assert octave.stack_mm - thick.stack_mm == pytest.approx(0.19)
    assert octave.cut_mm == pytest.approx(octave.floor_now_mm - thick.floor_mm - 0.19)
    assert octave.findings == ()  # 0.69 over fret 1 follows: nobody asked for it
    assert octave.arithmetic[0].replace(THIN, " ") == "0.25 + 0.19 = 0.44 mm"


def test_an_octave_string_cut_as_told_stands_over_fret_1_where_its_floor_puts_it() -> None:
    """0.51 + 0.19 · (1 − 36.2/645) = 0.69 over fret 1: read there, nothing is left to cut."""
    assert in_a_pair(0.51 + 0.19 * (1 - fret_place(645.0, 1) / 645.0))[1].cut_mm == pytest.approx(0)


def test_an_octave_string_is_not_cut_by_a_partner_that_may_not_be() -> None:
    thick, octave = in_a_pair(wanted=0.25)
    assert thick.floor_mm < 0 < octave.floor_mm
    assert not octave.may_be_cut
    assert slot_depth.summary([thick, octave]) == "No slot is to be cut deeper."
