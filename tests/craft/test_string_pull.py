"""How hard strings pull."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft.finding import Severity
from shop.craft.set_up import strings
from shop.craft.set_up.scale import open_hz
from shop.craft.set_up.strings import Wire
from shop.craft.words import THIN

INCH_MM = 25.4

# STR-2, seen: use.calculator.city, "Typical Unit Weights for Steel Strings": string, gauge in
# inches, unit weight in lb/in, frequency, the tension it prints in pounds at 25.5 in.
PRINTED = (
    ("1", 0.010, 0.00002215, 329.63, 16.2),
    ("2", 0.013, 0.00003732, 246.94, 15.4),
    ("3", 0.017, 0.00006391, 196.00, 16.6),
    ("4", 0.026, 0.00012671, 146.83, 18.4),
    ("5", 0.036, 0.00023964, 110.00, 19.5),
    ("6", 0.046, 0.00038216, 82.41, 17.5),
)
MISPRINTED = ("2", "3")
# From memory; also what 0.2820 lb/in³ gives.
RIGHT = {"2": 0.00003744, "3": 0.00006402}


def wires(weights: dict[str, float] | None = None) -> list[Wire]:
    """The printed set, some of its unit weights put right."""
    put = weights or {}
    return [
        Wire(name, hz, inch * INCH_MM, strings.metric(put.get(name, weight)), wound=inch > 0.02)
        for name, inch, weight, hz, _ in PRINTED
    ]


def test_one_string_in_inches_and_pounds() -> None:
    """STR-1, seen: calculatorlib.com, guitar string tension calculator: 0.00002215 lb/in,
    25.5 in, 329.63 Hz give 16.2 lb, within 0.05."""
    assert strings.tension_lb(0.00002215, 25.5, 329.63) == pytest.approx(16.2, abs=0.05)


@pytest.mark.parametrize("row", [row for row in PRINTED if row[0] not in MISPRINTED])
def test_the_strings_of_a_printed_light_set(row: tuple[str, float, float, float, float]) -> None:
    _, _, weight, hz, printed = row
    assert strings.tension_lb(weight, 25.5, hz) == pytest.approx(printed, abs=0.05)


@pytest.mark.parametrize("row", [row for row in PRINTED if row[0] in MISPRINTED])
def test_two_printed_unit_weights_do_not_give_their_own_tensions(
    row: tuple[str, float, float, float, float],
) -> None:
    """Negative controls: 15.32 and 16.53 against the printed 15.4 and 16.6; the weights put
    right give them."""
    name, _, weight, hz, printed = row
    assert abs(strings.tension_lb(weight, 25.5, hz) - printed) > 0.05
    assert strings.tension_lb(RIGHT[name], 25.5, hz) == pytest.approx(printed, abs=0.05)


def test_misprinted_weights_are_told_by_the_density_they_make() -> None:
    (found,) = strings.set_pull(wires(), 647.7).findings
    assert found.severity is Severity.NOTE
    assert found.words.startswith("The weights of the plain strings do not agree: string 1 7806")
    assert strings.set_pull(wires(RIGHT), 647.7).findings == ()


@pytest.mark.parametrize("wrong", MISPRINTED)
def test_each_misprinted_weight_alone_is_told(wrong: str) -> None:
    put = {name: weight for name, weight in RIGHT.items() if name != wrong}
    assert len(strings.set_pull(wires(put), 647.7).findings) == 1


def test_one_string_in_newtons() -> None:
    """STR-3, own computation: 3.9556e-4 kg/m, 0.6477 m, 329.63 Hz: 72.122 N = 16.2136 lb,
    within 0.001."""
    force = strings.tension(3.9556e-4, 647.7, 329.63)
    assert force == pytest.approx(72.122, abs=1e-3)
    assert force / strings.NEWTONS_OF_LB == pytest.approx(16.2136, abs=1e-3)


def test_both_forms_agree_but_for_the_rounded_gravity_of_one() -> None:
    """386.0886 in/s² against the 386.4 that tables print: eight in ten thousand."""
    force = strings.tension(strings.metric(0.00002215), 647.7, 329.63) / strings.NEWTONS_OF_LB
    ratio = force / strings.tension_lb(0.00002215, 25.5, 329.63)
    assert ratio == pytest.approx(386.4 / 386.0886, abs=1e-6)


def test_the_printed_weight_of_plain_steel_is_0_6_per_cent_under_the_handbook() -> None:
    """STR-4, own computation: 0.00002215 lb/in at .010 in is 0.2820 lb/in³ or 7806 kg/m³,
    within 0.2 %; carbon steel is 7850 kg/m³, a handbook figure from memory."""
    weight = strings.metric(0.00002215)
    assert Wire("1", 329.63, 0.254, weight).density_kg_m3 == pytest.approx(7806, rel=0.002)
    ratio = weight / strings.plain_weight(0.254)
    assert ratio == pytest.approx(1 - 0.006, abs=0.002)
    assert 0.00002215 / (math.pi * 0.010**2 / 4) == pytest.approx(0.2820, rel=0.002)


@pytest.mark.parametrize(
    ("diameter", "hz", "newtons"),
    [(0.305, 329.63, 104), (0.406, 246.94, 103), (0.229, 392.0, 82.7)],
)
def test_plain_strings_at_a_scale_of_645(diameter: float, hz: float, newtons: float) -> None:
    """Own computation at 7850 kg/m³; the last is the octave string of course 3, 82.7 N."""
    force = strings.tension(strings.plain_weight(diameter), 645.0, hz)
    assert force == pytest.approx(newtons, abs=0.5)


@given(st.floats(1e-4, 1e-2), st.floats(500.0, 800.0), st.floats(60.0, 500.0))
def test_an_octave_higher_pulls_four_times_as_much(weight: float, scale: float, hz: float) -> None:
    low, high = (strings.tension(weight, scale, one) for one in (hz, 2 * hz))
    assert high == pytest.approx(4 * low)
    assert strings.tension(weight, 2 * scale, hz) == pytest.approx(high)
    assert strings.tension(2 * weight, scale, hz) == pytest.approx(2 * low)


def test_a_set_is_the_sum_of_its_strings() -> None:
    found = strings.set_pull(wires(RIGHT), 647.7)
    assert found.total_n == pytest.approx(sum(one.tension_n for one in found.pulls))
    assert found.total_lb == pytest.approx(103.6, abs=0.5)  # the printed tensions add to 103.6
    assert found.missing == ()
    assert found.arithmetic.endswith(f"{THIN}N")
    assert found.pulls[0].arithmetic.replace(THIN, " ") == (
        "0.3956/1000 × (2 × 0.6477 × 329.63)² = 72.1 N"
    )


def test_a_set_over_what_the_top_bears_is_a_stop_and_at_it_is_not() -> None:
    total = strings.set_pull(wires(RIGHT), 647.7).total_n
    (found,) = strings.set_pull(wires(RIGHT), 647.7, total - 0.1).findings
    assert found.severity is Severity.STOP
    assert "this top is limited to" in found.words
    assert strings.set_pull(wires(RIGHT), 647.7, total).findings == ()


def test_a_wound_string_without_its_weight_is_named_and_left_out() -> None:
    given_wires = [Wire("6", 82.41, 1.35, wound=True), Wire("1", 329.63, 0.305)]
    found = strings.set_pull(given_wires, 645.0)
    assert found.missing == ("6",)
    assert [one.string for one in found.pulls] == ["1"]
    (told,) = found.findings
    assert told.severity is Severity.WARN
    assert "Without weight: 6." in told.words


def test_a_sum_without_some_strings_that_is_over_the_limit_is_said_to_be_a_least() -> None:
    given_wires = [Wire("6", 82.41, 1.35, wound=True), Wire("1", 329.63, 0.305)]
    found = strings.set_pull(given_wires, 645.0, 50.0)
    assert [one.severity for one in found.findings] == [Severity.STOP, Severity.WARN]
    assert "at least" in found.findings[0].words


def test_nothing_known_of_a_set_pulls_nothing_and_says_so() -> None:
    found = strings.set_pull([Wire("6", 82.41, 1.35, wound=True)], 645.0, 700.0)
    assert (found.total_n, found.pulls, found.arithmetic) == (0, (), "")
    assert len(found.findings) == 1


def test_a_weight_that_no_steel_has_is_told() -> None:
    (found,) = strings.set_pull([Wire("1", 329.63, 0.305, 3.0e-4)], 645.0).findings
    assert found.severity is Severity.WARN
    assert found.words.startswith("String 1: this weight and gauge make 4106")


def test_a_set_in_pairs_pulls_with_both_strings_of_each() -> None:
    """Two alike pull twice as much; an octave string is tuned an octave above."""
    one = strings.set_pull([Wire("1", 329.63, 0.254)], 645.0)
    both = strings.set_pull([Wire("1", 329.63, 0.254), Wire("1'", 329.63, 0.254)], 645.0)
    assert both.total_n == pytest.approx(2 * one.total_n)
    assert open_hz("3o") == pytest.approx(2 * open_hz("3"))


def test_eyes_and_slack_strings_are_told_with_every_set() -> None:
    caution = strings.set_pull(wires(RIGHT), 647.7).caution
    assert "eye protection" in caution
    assert "Slacken every string before it is cut." in caution
