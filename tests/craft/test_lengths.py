"""Lengths in a person's units.

An inch is 25.4 mm exactly (international yard and pound agreement, 1959). How many figures
are shown, and where, is common practice, no source.
"""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft.lengths import MM_PER_INCH, UNITS, beside, in_units, inches, length
from shop.craft.words import THIN


def told(words: str) -> str:
    return words.replace(THIN, " ")


# Drill sizes are unit fractions of the inch: exact, rounded here to a ten-thousandth.
DRILLS = {
    "6.35": "0.2500",
    "8.73125": "0.3438",
    "9.921875": "0.3906",
    "11.90625": "0.4688",
    "12.7": "0.5000",
    "10": "0.3937",
}


@pytest.mark.parametrize(("value_mm", "shown"), DRILLS.items(), ids=DRILLS)
def test_a_length_is_shown_in_inches_to_a_ten_thousandth(value_mm: str, shown: str) -> None:
    """Inch drill sizes 1/4, 11/32, 25/64, 15/32 and 1/2, and 10 mm, at 25.4 mm an inch."""
    assert inches(Decimal(value_mm)) == shown


def test_a_number_a_range_and_a_minus_are_read_in_a_sentence() -> None:
    said = "Ream 8.7 mm, 8.73\u20138.745 mm or 5 to 13 mm: \u22120.38\u202fmm."
    assert told(in_units(said, "inch")) == (
        "Ream 0.3425 in, 0.3437\u20130.3443 in or 0.1969 to 0.5118 in: \u22120.0150 in."
    )


def test_who_reads_both_has_the_inch_beside_the_millimetres() -> None:
    said = in_units("Hole 8.73\u202fmm at string 6.", "both")
    assert told(said) == "Hole 8.73 mm (0.3437 in) at string 6."


def test_who_reads_millimetres_gets_the_sentence_as_it_is() -> None:
    said = "Hole 8.73\u202fmm, 0.3\u20130.5 N m."
    assert in_units(said, "mm") == said


def test_a_sentence_with_a_bare_figure_keeps_its_millimetres() -> None:
    """Beside a bare 8.35 an inch figure alone would mislead."""
    said = in_units("Bushing 8.35 in hole 8.73: 0.38 mm loose.", "inch")
    assert told(said) == "Bushing 8.35 in hole 8.73: 0.38 mm (0.0150 in) loose."


@pytest.mark.parametrize(
    "other",
    [
        "0.3-0.5 N m",
        "0.4\u202fN\u202fm",
        "1.5 h",
        "42.5 %",
        "0.5\u00b0",
        "2.5 turns",
        "3.5 cents",
        "82.4 Hz",
    ],
)
def test_a_figure_of_another_unit_is_left_alone(other: str) -> None:
    said = in_units(f"Pilot 1.2 mm; {other}.", "inch")
    assert told(said) == told(f"Pilot 0.0472 in; {other}.")


@pytest.mark.parametrize("said", ["6 mm\u00b2", "R06", "34:1", "1043 mmx", "ten mm"])
def test_what_is_no_length_is_left_alone(said: str) -> None:
    assert in_units(said, "inch") == said


def test_arithmetic_stays_in_millimetres_with_the_inch_beside() -> None:
    said = beside("8.8 \u2212 8.73 = 0.07 mm", "inch")
    assert told(said) == "8.8 \u2212 8.73 = 0.07 mm (0.0028 in)"
    assert beside("8.8 \u2212 8.73 = 0.07 mm", "mm") == "8.8 \u2212 8.73 = 0.07 mm"


@pytest.mark.parametrize(
    ("units", "shown"),
    [
        ("mm", "\u22120.30 mm"),
        ("both", "\u22120.30 mm (\u22120.0118 in)"),
        ("inch", "\u22120.0118 in"),
    ],
)
def test_one_length_is_shown_in_each_of_the_units(units: str, shown: str) -> None:
    assert told(length(Decimal("-0.3"), units, 2)) == shown


@given(st.decimals("-2000", "2000", places=4))
def test_what_is_shown_in_inches_is_off_by_half_of_the_last_figure_at_most(value: Decimal) -> None:
    shown = Decimal(inches(value).replace("\u2212", "-")) * MM_PER_INCH
    assert abs(shown - value) <= Decimal("0.00005") * MM_PER_INCH


@given(st.text(), st.sampled_from(UNITS))
def test_any_sentence_can_be_shown(words: str, units: str) -> None:
    assert in_units(words, "mm") == words
    assert isinstance(in_units(words, units), str)
