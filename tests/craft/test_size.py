"""Sizes between their limits, against the tables of the international system of fits.

The few numbers are copied from the tables named beside them.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.craft.gauging import NotANumber, number
from shop.craft.size import Size, Tolerance, exactly, plain
from tests.craft.bench import ARTICLES, SPECS, D

MICROMETRE = D("0.001")

# ISO 286-2:2010, limits in µm for nominal sizes over 3 to 6, over 6 to 10, over 10 to 18 mm:
# lower and upper deviation.
NOMINALS = (D("5"), D("8"), D("12"))
LIMITS = {
    "H7": ((0, 12), (0, 15), (0, 18)),
    "g6": ((-12, -4), (-14, -5), (-17, -6)),
    "h6": ((-8, 0), (-9, 0), (-11, 0)),
    "k6": ((1, 9), (1, 10), (1, 12)),
    "n6": ((8, 16), (10, 19), (12, 23)),
    "p6": ((12, 20), (15, 24), (18, 29)),
    "s6": ((19, 27), (23, 32), (28, 39)),
}

# ISO 286-2:2010, the clearances in µm these limits leave, least and most in each range; a
# negative one is an interference.
CLEARANCES = {
    "g6": ((4, 24), (5, 29), (6, 35)),
    "h6": ((0, 20), (0, 24), (0, 29)),
    "k6": ((-9, 11), (-10, 14), (-12, 17)),
    "n6": ((-16, 4), (-19, 5), (-23, 6)),
    "p6": ((-20, 0), (-24, 0), (-29, 0)),
    "s6": ((-27, -7), (-32, -8), (-39, -10)),
}

# ISO 286-1:2010 Table 1, standard tolerances in µm: IT6 to IT11 in the same three ranges.
GRADES = {
    6: (8, 9, 11),
    7: (12, 15, 18),
    8: (18, 22, 27),
    9: (30, 36, 43),
    10: (48, 58, 70),
    11: (75, 90, 110),
}

RANGES = pytest.mark.parametrize("place", range(len(NOMINALS)))


def of_class(name: str, place: int) -> Size:
    """A post of the bench in this tolerance class, at the nominal size of the range."""
    lower, upper = LIMITS[name][place]
    within = (("post_mm", Tolerance(lower * MICROMETRE, upper * MICROMETRE)),)
    return replace(ARTICLES["T01"], post_mm=NOMINALS[place], tolerances=within).size("post_mm")  # type: ignore[call-arg]


def in_micrometres(size: Size) -> tuple[float, float]:
    return float(size.least / MICROMETRE), float(size.most / MICROMETRE)


@RANGES
@pytest.mark.parametrize("shaft", CLEARANCES)
def test_a_shaft_in_a_hole_leaves_the_published_clearance(shaft: str, place: int) -> None:
    """ISO 286-2:2010, H7 holes."""
    clear = of_class("H7", place) - of_class(shaft, place)
    assert in_micrometres(clear) == CLEARANCES[shaft][place]


@RANGES
@pytest.mark.parametrize("shaft", CLEARANCES)
def test_the_interference_of_a_bushing_is_the_clearance_the_other_way(
    shaft: str, place: int
) -> None:
    """ISO 286-1:2010: an interference is a negative clearance."""
    least, most = CLEARANCES[shaft][place]
    tight = of_class(shaft, place) - of_class("H7", place)
    assert in_micrometres(tight) == (-most, -least)


@RANGES
@pytest.mark.parametrize("name", LIMITS)
def test_the_limits_of_a_class_are_as_far_apart_as_its_grade(name: str, place: int) -> None:
    """ISO 286-1:2010 Table 1 against ISO 286-2:2010: a class of grade 7 is IT7 wide."""
    size = of_class(name, place)
    assert (size.most - size.least) / MICROMETRE == GRADES[int(name[1:])][place]


def test_grade_seven_is_fifteen_micrometres_at_eight_millimetres() -> None:
    """ISO 286-1:2010 Table 1."""
    hole = of_class("H7", 1)
    assert str(hole) == "8–8.015"
    assert hole.most - hole.least == D("0.015")


def test_a_grade_is_read_from_the_table_and_not_reckoned_from_its_unit() -> None:
    """ISO 286-1:2010: i = 0.45 ∛D + 0.001 D in µm, D the geometric mean of the range, and
    IT7 = 16 i. The table rounds, so a reckoned limit would be half a micrometre short."""
    for (low, high), unit, reckoned, place in (
        ((6, 10), 0.8981, 14.37, 1),
        ((10, 18), 1.0827, 17.32, 2),
    ):
        mean = (low * high) ** 0.5
        i = 0.45 * mean ** (1 / 3) + 0.001 * mean
        assert i == pytest.approx(unit, abs=5e-5)
        assert 16 * i == pytest.approx(reckoned, abs=5e-3)
        hole = of_class("H7", place)
        width = float((hole.most - hole.least) / MICROMETRE)
        assert width == GRADES[7][place]
        assert abs(width - 16 * i) > 0.5


# Drills are named in inches, and an inch is 25.4 mm (the international inch of 1959).


@pytest.mark.parametrize(
    ("inch", "millimetres"),
    [
        ("0.34375", "8.7313"),  # 11/32
        ("0.390625", "9.9219"),  # 25/64
        ("0.25", "6.35"),
        ("0.46875", "11.9063"),  # 15/32
        ("0.5", "12.7"),
        ("0.234", "5.9436"),  # letter A
        ("0.413", "10.4902"),  # letter Z
        ("0.201", "5.1054"),  # number 7
    ],
)
def test_a_drill_typed_in_inches_is_its_published_size(inch: str, millimetres: str) -> None:
    """Fractional, letter and number drills as published, to half of the last digit."""
    half = D("0.00005")
    for typed in (number(inch, inch=True), number(f"{inch} in"), number(f'{inch}"')):
        assert abs(typed - D(millimetres)) <= half


def test_a_drill_of_25_64_is_no_drill_of_ten() -> None:
    """Published: 0.078 mm under; 10 mm is 0.3937 in."""
    short = D(10) - number("0.390625", inch=True)
    assert round(short, 3) == D("0.078")
    assert abs(number("0.3937 in") - 10) < D("0.0002")


def test_a_unit_that_is_typed_stands_over_the_usual_one() -> None:
    assert number("8.73 mm", inch=True) == D("8.73")
    with pytest.raises(NotANumber):
        number("11/32", inch=True)


# The size itself.

lengths = st.decimals("0", "30", places=3)


@st.composite
def sizes(draw: st.DrawFn) -> Size:
    least, most = sorted((draw(lengths), draw(lengths)))
    return Size(least, most)


@settings(deadline=None)
@given(sizes(), sizes(), st.fractions(0, 1), st.fractions(0, 1))
def test_no_hole_and_shaft_within_their_limits_go_past_their_clearance(
    hole: Size, shaft: Size, far: Decimal, along: Decimal
) -> None:
    one = hole.least + (hole.most - hole.least) * Decimal(float(far))
    other = shaft.least + (shaft.most - shaft.least) * Decimal(float(along))
    clear = hole - shaft
    hair = D("1e-12")
    assert clear.least - hair <= one - other <= clear.most + hair


@settings(deadline=None)
@given(sizes(), sizes())
def test_a_clearance_varies_by_what_both_vary(hole: Size, shaft: Size) -> None:
    clear = hole - shaft
    assert clear.most - clear.least == (hole.most - hole.least) + (shaft.most - shaft.least)


def test_a_dimension_without_tolerance_is_exact_and_shown_as_one_number() -> None:
    hole = SPECS["TARN"].size("bushing_hole_mm")
    assert hole == exactly(D("8.73"))
    assert hole.exact
    assert str(hole) == "8.73"


def test_a_dimension_with_tolerance_is_shown_with_both_limits() -> None:
    within = (
        ("post_hole_mm", Tolerance(D("-0.1"), D("0.1"))),
        ("bushing_hole_mm", Tolerance(D("0"), D("0.015"))),
    )
    hole = replace(SPECS["TARN"], tolerances=within).size("bushing_hole_mm")
    assert not hole.exact
    assert str(hole) == "8.73–8.745"


def test_a_tolerance_upside_down_is_refused() -> None:
    with pytest.raises(ValueError, match=r"0\.02 is above -0\.01"):
        Tolerance(D("0.02"), D("-0.01"))


def test_a_dimension_a_thing_does_not_have_is_said_to_be_missing() -> None:
    with pytest.raises(ValueError, match="T11 has no reach_mm"):
        ARTICLES["T11"].size("reach_mm")
    with pytest.raises(ValueError, match="NESS has no bushing_hole_mm"):
        SPECS["NESS"].size("bushing_hole_mm")


@pytest.mark.parametrize(
    ("value", "shown"), [("10", "10"), ("1E+1", "10"), ("-0.380", "−0.38"), ("0.00", "0")]
)
def test_a_number_is_shown_without_idle_zeros(value: str, shown: str) -> None:
    assert plain(D(value)) == shown
