"""What a chart holds readings against: what the spec aims at. Figures: common practice, no
source, but where a spec names its own."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from shop.craft.charts.allowed import Allowed, allowed
from shop.craft.gauging import QUANTITIES
from tests.craft.bench import TARN


def test_the_action_is_wanted_within_0_15_of_what_the_spec_aims_at() -> None:
    spec = replace(TARN, action_bass_mm=Decimal("2.40"), action_treble_mm=Decimal("1.60"))
    assert allowed("action", "bass", spec) == Allowed(2.25, 2.55)
    assert allowed("action", "treble", spec) == Allowed(1.45, 1.75)


def test_the_relief_is_wanted_in_the_range_of_its_spec() -> None:
    spec = replace(TARN, relief_least_mm=Decimal("0.12"), relief_most_mm=Decimal("0.22"))
    assert allowed("relief", "7", spec) == Allowed(0.12, 0.22)


def test_an_octave_is_wanted_within_three_cents() -> None:
    assert allowed("octave_off", "6", TARN) == Allowed(-3.0, 3.0)


def test_a_saddle_stands_between_the_limits_of_its_rule() -> None:
    assert allowed("proud", "bass", TARN) == Allowed(2.0, 5.0)


@pytest.mark.parametrize("quantity", ["hole", "peghead", "torque"])
def test_where_other_measures_decide_nothing_is_wanted(quantity: str) -> None:
    assert allowed(quantity, "6", TARN) is None


@pytest.mark.parametrize("quantity", ["relief", "action", "octave_off", "proud"])
def test_what_is_wanted_can_be_measured(quantity: str) -> None:
    of = QUANTITIES[quantity]
    for place in of.places(TARN):
        found = allowed(quantity, place.key, TARN)
        assert found is not None
        assert float(of.low) <= found.lower < found.upper <= float(of.high)
