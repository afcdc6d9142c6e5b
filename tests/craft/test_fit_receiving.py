"""A piece measured at receiving against the size its article declares.

That one piece out of its size raises the whole lot, and 0.05 mm either way where nothing is
declared: common practice, no source.
"""

from __future__ import annotations

from dataclasses import fields, replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft import hardware
from shop.craft.finding import Severity
from shop.craft.fit import LIMITS, receiving
from shop.craft.hardware import FAMILY_OF, Article, Bushing, Hand, TunerFamily, TunerSet
from shop.craft.size import Tolerance


def D(number: str) -> Decimal:  # noqa: N802 - reads as the type it makes
    return Decimal(number)


# Invented, within common practice: a bushing of 8.8 mm, turned to -0.015/0.
SET = TunerSet(
    key="T01",
    name="open-gear solo set",
    carried=TunerFamily.SOLO,
    left=3,
    right=3,
    hand=Hand.ANY,
    bushing=Bushing.PRESS,
    bushing_od_mm=D("8.80"),
    post_mm=D("6.00"),
    reach_mm=D("21"),
    peghead_min_mm=D("13"),
    peghead_max_mm=D("15.5"),
    spacing_mm=None,
    plate_width_mm=D("15"),
    button_width_mm=D("15.5"),
    screw_length_mm=D("9.5"),
    ratios=("18:1",),
    tolerances=(("bushing_od_mm", Tolerance(D("-0.015"), D("0"))),),
)
STRINGS = hardware.Strings(key="R01", name="light", count=6, material="steel", tension_n=734)


# --- what is measured ---


def test_what_a_set_has_is_measured_and_what_it_has_not_is_not_asked() -> None:
    asked = [one.dimension for one in receiving.measures(SET)]
    assert asked[:3] == ["bushing_od_mm", "post_mm", "reach_mm"]
    assert "spacing_mm" not in asked
    plates = replace(SET, spacing_mm=D("35"))
    assert "spacing_mm" in [one.dimension for one in receiving.measures(plates)]


def test_what_turns_in_a_slotted_head_is_called_a_roller() -> None:
    slotted = replace(SET, carried=TunerFamily.SLOT)
    assert receiving.measure(slotted, "post_mm").words == "Roller"
    assert receiving.measure(SET, "post_mm").words == "Post"


def test_every_length_of_every_family_is_measured_or_left_out_on_purpose() -> None:
    """Left out: what a set or jack is made for, a bit, a scale, and the inside of a case."""
    left_out = {
        "peghead_min_mm", "peghead_max_mm", "grip_min_mm", "grip_max_mm", "pilot_mm",
        "at_scale_mm", "inside_overall_mm", "inside_body_mm", "inside_width_mm",
        "inside_depth_mm",
    }  # fmt: skip
    for kind in FAMILY_OF:
        lengths = {one.name for one in fields(kind) if one.name.endswith("_mm")}
        measured = {dimension for dimension, _ in receiving.MEASURED.get(kind, ())}
        assert lengths - left_out == measured, kind.__name__


def test_nothing_on_a_set_of_strings_is_measured_with_a_calliper() -> None:
    assert receiving.measures(STRINGS) == ()


def test_the_size_says_whose_it_is() -> None:
    assert receiving.measure(SET, "bushing_od_mm").allowed == "8.785–8.8\u202fmm, as declared"
    assert receiving.measure(SET, "post_mm").allowed == "6 ± 0.05\u202fmm, common practice"


def test_a_dimension_the_article_does_not_have_is_named() -> None:
    with pytest.raises(ValueError, match="T01 open-gear solo set has no spacing_mm"):
        receiving.out_of_size(SET, "spacing_mm", D("35"))
    with pytest.raises(ValueError, match="R01 light has no tension_n"):
        receiving.measure(STRINGS, "tension_n")


# --- inside and out ---


@pytest.mark.parametrize("value", ["8.785", "8.79", "8.8"])
def test_a_piece_inside_its_declared_size_is_quiet(value: str) -> None:
    assert receiving.out_of_size(SET, "bushing_od_mm", D(value)) == ()


@pytest.mark.parametrize(
    ("value", "told"),
    [
        ("8.784", "Bushing outside 8.784 mm: 0.001 mm under the 8.785–8.8 of T01."),
        ("8.801", "Bushing outside 8.801 mm: 0.001 mm over the 8.785–8.8 of T01."),
    ],
)
def test_a_piece_one_step_out_of_its_declared_size_stops_the_lot(value: str, told: str) -> None:
    [one] = receiving.out_of_size(SET, "bushing_od_mm", D(value))
    assert (one.rule, one.severity, one.call) == ("lot", Severity.STOP, "lead")
    assert one.words.replace("\u202f", " ") == told


@pytest.mark.parametrize(
    ("value", "out"), [("5.949", True), ("5.95", False), ("6.05", False), ("6.051", True)]
)
def test_where_nothing_is_declared_005_either_way_is_inside(value: str, out: bool) -> None:
    assert bool(receiving.out_of_size(SET, "post_mm", D(value))) is out


def test_a_finding_says_what_it_rests_on() -> None:
    [declared] = receiving.out_of_size(SET, "bushing_od_mm", D("8.62"))
    assert declared.basis is not None
    assert declared.basis.sides == (
        ("Bushing outside measured", "8.62\u202fmm"),
        ("Bushing outside of T01", "8.785–8.8\u202fmm"),
    )
    assert declared.basis.reckoning == "8.785 \u2212 8.62 = 0.165\u202fmm"
    assert declared.basis.origin == "declared for T01"
    [usual] = receiving.out_of_size(SET, "post_mm", D("6.2"))
    assert usual.basis is not None
    assert usual.basis.reckoning == "6.2 \u2212 6.05 = 0.15\u202fmm"
    assert usual.basis.limit == "either way 0.05\u202fmm"
    assert usual.basis.origin == "common practice"


def test_the_usual_tolerance_is_no_limit_of_a_spec() -> None:
    """A lot has no spec: a lead declares the tolerance on the item instead."""
    assert receiving.EITHER_WAY.name not in LIMITS


@given(
    value=st.decimals(min_value=5, max_value=7, places=3),
    wider=st.decimals(min_value=0, max_value=1, places=3),
)
def test_a_wider_tolerance_never_stops_what_a_narrower_one_let_pass(
    value: Decimal, wider: Decimal
) -> None:
    narrow = _with_post(D("0.05"))
    wide = _with_post(D("0.05") + wider)
    if not receiving.out_of_size(narrow, "post_mm", value):
        assert receiving.out_of_size(wide, "post_mm", value) == ()


def _with_post(either_way: Decimal) -> Article:
    return replace(SET, tolerances=(("post_mm", Tolerance(-either_way, either_way)),))


# --- doubt ---


@pytest.mark.parametrize(
    ("value", "asked_again"), [("6.55", False), ("6.551", True), ("5.45", False), ("60", True)]
)
def test_a_figure_half_a_millimetre_beyond_its_size_is_asked_again(
    value: str, asked_again: bool
) -> None:
    """Common practice, no source: so far off is a slip of the pen or the decimal point."""
    assert bool(receiving.doubt(SET, "post_mm", D(value))) is asked_again


def test_the_question_says_the_figure_and_the_size() -> None:
    asked = receiving.doubt(SET, "post_mm", D("60")).replace("\u202f", " ")
    assert asked == "60 mm? Post of T01 is 5.95–6.05. Measure again, or say it is so."
