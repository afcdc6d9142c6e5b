"""What moved between two looks. What one may move: common practice, no source."""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft.charts.drift import drift
from shop.craft.finding import Severity

PAIRS = st.lists(
    st.tuples(st.integers(150, 350), st.integers(150, 350)).map(
        lambda pair: (pair[0] / 100, pair[1] / 100)
    ),
    min_size=1,
    max_size=30,
)


def rose(*by: float) -> list[tuple[float, float]]:
    return [(2.4, round(2.4 + one, 3)) for one in by]


def test_an_action_of_2_40_that_reads_2_65_moved_a_quarter_and_lies_beyond() -> None:
    """2.40 at the first look, 2.65 at the second: +0.25, above ±0.15."""
    found = drift([(2.40, 2.65)])
    assert found is not None
    assert found.moves_mm == (0.25,)
    assert found.beyond == (0,)


def test_the_edge_itself_is_not_beyond() -> None:
    found = drift(rose(0.15, -0.15, 0.16, -0.16))
    assert found is not None
    assert found.beyond == (2, 3)


def test_nothing_measured_twice_has_no_drift() -> None:
    assert drift([]) is None


def test_one_fall_does_not_bend_the_median_nor_the_quarters() -> None:
    found = drift(rose(0.08, 0.09, 0.10, 0.11, 1.90))
    assert found is not None
    assert found.median_mm == 0.1
    assert found.quarters_mm == pytest.approx((0.09, 0.11))
    assert found.spread_mm == pytest.approx(0.02)


def test_with_five_nothing_is_told_of_the_median_with_six_it_is() -> None:
    """1/2⁵ on each side is more than 2.5 %, 1/2⁶ is less: by hand."""
    five, six = drift(rose(*[0.1] * 5)), drift(rose(*[0.1] * 6))
    assert five is not None
    assert six is not None
    assert five.interval_mm is None
    assert not five.creeps
    assert six.interval_mm == (0.1, 0.1)
    assert six.creeps


@pytest.mark.parametrize(
    ("count", "low", "high"), [(6, 1, 6), (9, 2, 8), (10, 2, 9), (15, 4, 12), (20, 6, 15)]
)
def test_the_interval_runs_from_the_printed_order_to_its_mirror(
    count: int, low: int, high: int
) -> None:
    """Orders for 95 % as tables of the sign test print them, by the binomial; from memory."""
    moves = [one / 100 for one in range(1, count + 1)]
    Random(3).shuffle(moves)
    found = drift(rose(*moves))
    assert found is not None
    assert found.interval_mm == (low / 100, high / 100)


def test_the_interval_holds_the_true_median_at_least_as_often_as_it_says() -> None:
    """2,000 samples of 12 with a fixed seed, skewed; the true median is ln 2 / 10."""
    dice, held = Random(11), 0
    for _ in range(2000):
        found = drift(rose(*(dice.expovariate(10) for _ in range(12))))
        assert found is not None
        assert found.interval_mm is not None
        held += found.interval_mm[0] <= 0.0693 <= found.interval_mm[1]
    assert 0.95 <= held / 2000 <= 0.975  # exactly 96.1 %, 12 choose 0, 1 and 2 on each side


@pytest.mark.parametrize(
    ("moves", "severity", "words"),
    [
        ((0.1,) * 8, Severity.NOTE, "that much lower"),
        ((-0.1,) * 8, Severity.NOTE, "that much higher"),
        ((0.2,) * 8, Severity.WARN, "look for the cause"),
        ((0.1, -0.1) * 4, Severity.NOTE, "No common move"),
        ((0.1,) * 3, Severity.NOTE, "Too few"),
    ],
)
def test_a_drift_is_judged_by_its_median_and_by_chance(
    moves: tuple[float, ...], severity: Severity, words: str
) -> None:
    found = drift(rose(*moves))
    assert found is not None
    assert found.finding.severity is severity
    assert words in found.finding.then


@given(PAIRS)
def test_looks_the_other_way_round_moved_the_other_way(pairs: list[tuple[float, float]]) -> None:
    one, other = drift(pairs), drift([(second, first) for first, second in pairs])
    assert one is not None
    assert other is not None
    assert other.median_mm == pytest.approx(-one.median_mm, abs=1e-9)
    assert other.beyond == one.beyond
    assert other.creeps == one.creeps
