"""What is measured, and which values are taken.

Plausible ranges and doubts are common practice, no source. An inch is 25.4 mm exactly
(international yard and pound agreement, 1959).
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft import gauging
from shop.craft.gauging import QUANTITIES, NotANumber, Spot, Taken, number, take
from shop.craft.hardware import Hand, SpecFacts
from shop.craft.reading import Reading, Readings
from shop.craft.words import THIN
from tests.craft.bench import SPECS

TARN, HOLM, FIRTH, SKERRY, VOE = (SPECS[key] for key in ("TARN", "HOLM", "FIRTH", "SKERRY", "VOE"))
HOLES = tuple(("hole", string) for string in "654321")


def told(taken: Taken) -> list[str]:
    return [one.words.replace(THIN, " ") for one in taken.problems]


def value(taken: Taken, quantity: str = "hole", place: str = "6") -> Decimal | None:
    assert taken.problems == ()
    return Readings(taken.readings).at(quantity, place)


def one(text: str, spec: SpecFacts = TARN, inch: bool = False, spot: Spot = ("hole", "6")) -> Taken:
    return take(spec, {spot: text}, inch=inch)


# --- numbers ---


@pytest.mark.parametrize(
    "text",
    ["8.73", "8,73", " 8.73 ", "08.73", "+8.73", "8.730", "8.73mm", "8,73 mm", "8.73 MM"],
)
def test_a_length_is_read_with_comma_or_point_and_with_its_unit(text: str) -> None:
    assert number(text) == Decimal("8.73")


@pytest.mark.parametrize("text", ["0.344 in", '0.344"', "0,344\u2033", ".344 IN", "0.344in"])
def test_a_length_sent_in_inches_is_told_by_its_unit(text: str) -> None:
    assert number(text) == Decimal("0.344") * Decimal("25.4")


# Inch drill sizes as unit fractions of the inch: 1/4, 11/32, 25/64, 15/32 and 1/2.
DRILLS = {
    "0.25": "6.35",
    "0.34375": "8.7313",
    "0.390625": "9.9219",
    "0.46875": "11.9063",
    "0.5": "12.7",
}


@pytest.mark.parametrize(("inch", "mm"), DRILLS.items(), ids=DRILLS)
def test_a_drill_size_in_inches_is_kept_to_a_ten_thousandth_of_a_millimetre(
    inch: str, mm: str
) -> None:
    """Exact: fractions of the inch times 25.4."""
    taken = take(TARN, {("hole", "6"): inch}, inch=True, sure={("hole", "6")})
    assert value(taken) == Decimal(mm)


def test_bare_figures_of_who_types_inches_are_inches_and_a_unit_behind_one_wins() -> None:
    assert number("0.25", inch=True) == Decimal("6.35")
    assert number("6.35 mm", inch=True) == Decimal("6.35")


@pytest.mark.parametrize(
    "text", ["", " ", ".", ",", "mm", "8.7.3", "8 73", "1e3", "0x8", "nan", "inf", "8.73 cm", "--8"]
)
def test_what_is_no_number_is_refused_with_how_to_write_one(text: str) -> None:
    with pytest.raises(NotANumber, match=r"is no number\. Write it as 8\.73 or 8,73\."):
        number(text)


def test_a_long_text_is_said_back_in_short() -> None:
    with pytest.raises(NotANumber) as why:
        number("x" * 5000)
    assert len(str(why.value)) < 100


@given(st.text(), st.booleans())
def test_any_text_is_a_number_or_said_to_be_none(text: str, inch: bool) -> None:
    try:
        found: Decimal | None = number(text, inch=inch)
    except NotANumber:
        found = None
    assert found is None or found.is_finite()


@given(st.text(), st.sampled_from(sorted(QUANTITIES)), st.text(), st.booleans())
def test_any_entry_is_taken_or_told_why_not(
    text: str, quantity: str, place: str, inch: bool
) -> None:
    taken = take(TARN, {(quantity, place): text, ("hole", "6"): text}, inch=inch)
    assert bool(taken.problems) != bool(taken.readings)


@given(st.decimals("0.2", "0.5", places=4))
def test_inches_are_kept_to_half_a_ten_thousandth_of_a_millimetre(inch: Decimal) -> None:
    spot = ("hole", "6")
    kept = value(take(TARN, {spot: str(inch)}, sure={spot}, inch=True))
    assert kept is not None
    assert abs(kept - inch * Decimal("25.4")) <= Decimal("0.00005")


# --- where ---


def places(spec: SpecFacts, quantity: str) -> list[str]:
    return [place.key for _, found in gauging.asked(spec, (quantity,)) for place in found]


def test_six_holes_are_measured_from_the_thickest_string_on() -> None:
    assert places(TARN, "hole") == list("654321")


def test_twelve_holes_are_measured_on_a_guitar_strung_in_pairs() -> None:
    assert places(FIRTH, "hole") == [
        *("6o", "6", "5o", "5", "4o", "4", "3o", "3"),
        *("2", "2'", "1", "1'"),
    ]


def test_a_left_handed_guitar_is_measured_in_the_same_order() -> None:
    assert places(replace(TARN, hand=Hand.LEFT), "hole") == list("654321")


def test_octave_strings_are_looked_at_on_pairs_alone() -> None:
    assert places(FIRTH, "octave") == list("6543")
    assert places(TARN, "octave") == []


def test_threads_are_counted_on_threaded_bushings_alone() -> None:
    assert places(HOLM, "turns") == ["least"]
    assert places(TARN, "turns") == []


def test_a_head_with_all_posts_on_one_side_has_machines_of_one_hand_to_test() -> None:
    assert places(TARN, "worm") == ["L", "R"]
    assert places(SKERRY, "worm") == ["L"]


def test_a_guitar_without_a_tail_has_none_measured() -> None:
    assert places(VOE, "tail_hole") == places(VOE, "tail_block") == []


def test_a_hole_is_named_by_its_string_with_its_post() -> None:
    (hole, found), (peghead, thick) = gauging.asked(TARN, ("hole", "peghead"))
    assert gauging.where(TARN, hole, found[0]) == "left side, first from the nut"
    assert gauging.where(TARN, hole, found[5]) == "right side, first from the nut"
    assert gauging.where(TARN, peghead, thick[0]) == ""


def test_what_is_missing_is_every_spot_without_a_value_in_force() -> None:
    had = Readings((Reading("hole", "6", Decimal("8.73")),))
    assert gauging.missing(TARN, ("hole",), had, "N40") == HOLES[1:]
    assert gauging.missing(TARN, ("turns",), had, "N60") == ()


# --- what cannot be ---


@pytest.mark.parametrize("text", ["5", "13", "5.0000", "13,00"])
def test_a_value_at_the_edge_of_what_can_be_is_believed_once_it_is_sure(text: str) -> None:
    assert take(TARN, {("hole", "6"): text}, sure={("hole", "6")}).problems == ()


@pytest.mark.parametrize(("text", "shown"), [("4.9999", "4.9999"), ("13.0001", "13.0001")])
def test_a_value_beyond_what_can_be_is_refused_with_the_range(text: str, shown: str) -> None:
    assert told(one(text)) == [f"{shown} mm cannot be: post hole is 5\u201313 mm."]


def test_being_sure_does_not_make_an_impossible_value_possible() -> None:
    taken = take(TARN, {("hole", "6"): "87.3"}, sure={("hole", "6")})
    assert [problem.doubtful for problem in taken.problems] == [False]


def test_a_value_read_in_the_other_unit_is_recognised() -> None:
    assert told(one("0.344"))[0].endswith("If it was read in inches, write in behind it.")
    assert told(one("8.73", inch=True))[0].endswith(
        "If it was read in millimetres, write mm behind it."
    )


def test_a_value_with_a_minus_is_refused() -> None:
    assert told(one("-8.73")) == ["\u22128.73 mm cannot be: post hole is 5\u201313 mm."]


def test_a_place_the_guitar_has_not_is_refused() -> None:
    assert told(one("8.73", spot=("hole", "6o"))) == ["hole 6o is not measured on TARN revision 2."]


def test_one_refused_value_keeps_the_others_from_being_taken() -> None:
    taken = take(TARN, {("hole", "6"): "8.73", ("hole", "5"): "873"})
    assert taken.readings == ()
    assert [problem.place for problem in taken.problems] == ["5"]


def test_a_count_takes_no_unit_of_length() -> None:
    spot = ("turns", "least")
    assert value(one("3", HOLM, spot=spot), *spot) == 3
    assert value(one("3", HOLM, inch=True, spot=spot), *spot) == 3
    assert told(one("3 in", HOLM, spot=spot)) == [
        "This is no length. Write the number alone in turns."
    ]


@pytest.mark.parametrize("answer", ["0", "1"])
def test_an_answer_is_kept_as_a_number(answer: str) -> None:
    spot = ("worm", "L")
    assert value(one(answer, spot=spot), *spot) == Decimal(answer)


def test_half_an_answer_is_none() -> None:
    assert told(one("0.5", spot=("worm", "L"))) == ["Choose one of the two answers."]


def test_an_answer_is_said_in_its_own_words() -> None:
    assert gauging.said(Reading("octave", "6", Decimal(1))) == "Bass side"
    assert gauging.said(Reading("octave", "6", Decimal(0))) == "Treble side"
    assert gauging.said(Reading("hole", "6", Decimal("8.730"))) == f"8.73{THIN}mm"


# --- what is doubted ---


@pytest.mark.parametrize("text", ["8.38", "9.08"])
def test_a_hole_at_the_edge_of_doubt_is_taken(text: str) -> None:
    assert value(one(text)) == Decimal(text)


@pytest.mark.parametrize("text", ["8.37", "9.09"])
def test_a_hole_far_from_the_spec_is_asked_again(text: str) -> None:
    taken = one(text)
    assert told(taken) == [f"{text} mm? The spec says 8.73 mm."]
    assert [problem.doubtful for problem in taken.problems] == [True]


def test_a_doubtful_value_is_taken_once_somebody_is_sure() -> None:
    spot = ("hole", "6")
    assert value(take(TARN, {spot: "9.2"}, sure={spot})) == Decimal("9.2")


def test_one_hole_unlike_the_five_others_is_asked_again() -> None:
    said = dict.fromkeys(HOLES, "8.2") | {("hole", "3"): "8.73"}
    taken = take(TARN, said)
    assert told(taken) == ["8.73 mm? The others are about 8.2 mm."]
    assert [problem.place for problem in taken.problems] == ["3"]


def test_neighbours_measured_before_count() -> None:
    before = Readings(tuple(Reading(*spot, Decimal("8.2")) for spot in HOLES[:5]))
    assert told(take(TARN, {HOLES[5]: "8.73"}, before=before)) == [
        "8.73 mm? The others are about 8.2 mm."
    ]


def test_one_wrong_value_throws_no_doubt_on_the_right_ones_beside_it() -> None:
    said = {HOLES[0]: "8.73", HOLES[1]: "8.73", HOLES[2]: "6.73"}
    assert [problem.place for problem in take(TARN, said).problems] == ["4"]


def test_a_value_that_is_corrected_does_not_count_as_its_own_neighbour() -> None:
    before = Readings(tuple(Reading(*spot, Decimal("8.73")) for spot in HOLES))
    assert value(take(TARN, {HOLES[0]: "8.75"}, before=before)) == Decimal("8.75")


def test_what_the_first_look_measured_leads_no_doubt_at_the_second() -> None:
    """Of six strings the first look read 1.5 cents and the second reads 30: beside its own
    others alone, it is not told what those were."""
    first = tuple(Reading("octave_off", one, Decimal("1.5"), "I10") for one in "65432")
    before = Readings(first)
    spot = ("octave_off", "1")
    led = take(TARN, {spot: "30"}, before=before)
    assert "The others are about 1.5" in led.problems[0].words
    beside = gauging.beside(before, "I30", ("octave_off",))
    assert beside.values == ()
    assert "1.5" not in " ".join(told(take(TARN, {spot: "30"}, before=beside)))
    own = replace(first[0], operation="I30")
    assert gauging.beside(Readings((*first[1:], own)), "I30", ("octave_off",)).values == (own,)


def test_what_is_only_measured_again_stands_beside_what_was_read_first() -> None:
    before = Readings((Reading("hole", "5", Decimal("8.73"), "N40"),))
    assert gauging.beside(before, "N60", ("proud",)) == before
