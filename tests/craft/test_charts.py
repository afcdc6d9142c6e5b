"""Charts of readings: limits, runs, capability and spread, against published examples.

The figures of each published example are copied here; a source is named beside its check.
How many readings settle limits, and the Cpk that is wanted: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from math import sqrt
from statistics import stdev

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.sparse import csr_matrix, identity
from scipy.sparse.linalg import spsolve
from scipy.stats import norm

from shop.craft.charts import constants
from shop.craft.charts.capability import capability, cp_end, cpk_end
from shop.craft.charts.individuals import D2, D4, chart, upper_limit
from shop.craft.charts.runs import RULES, Signal, signals
from shop.craft.charts.spread import mean, sd
from shop.craft.finding import Severity

FLOW = (49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1)
MAVRO = """
    2.00180 2.00170 2.00180 2.00190 2.00180 2.00170 2.00150 2.00140 2.00150 2.00150
    2.00170 2.00180 2.00180 2.00190 2.00190 2.00210 2.00200 2.00160 2.00140 2.00130
    2.00130 2.00150 2.00150 2.00160 2.00150 2.00140 2.00130 2.00140 2.00150 2.00140
    2.00150 2.00160 2.00150 2.00160 2.00190 2.00200 2.00200 2.00210 2.00220 2.00230
    2.00240 2.00250 2.00270 2.00260 2.00260 2.00260 2.00270 2.00260 2.00250 2.00240
"""

READINGS = st.lists(st.integers(0, 1000).map(lambda one: one / 100), min_size=2, max_size=40)


# --- single readings ---


def test_ten_flow_rates_have_the_published_limits() -> None:
    """NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2 (pmc322.htm), as quoted."""
    found = chart(FLOW)
    assert found is not None
    assert found.centre == pytest.approx(50.81, abs=5e-5)
    assert found.mean_range == pytest.approx(1.8778, abs=5e-5)
    assert found.upper == pytest.approx(55.8041, abs=5e-5)
    assert found.lower == pytest.approx(45.8159, abs=5e-5)
    assert found.signals == ()


def test_with_an_unrounded_factor_those_limits_would_not_be_the_published_ones() -> None:
    """The handbook's factor is 1.128; unrounded, 1.128379, its upper limit would be 55.8024."""
    unrounded = 50.81 + 3 * (16.9 / 9) / constants.mean_range(2)
    assert unrounded == pytest.approx(55.8024, abs=5e-5)
    assert upper_limit(50.81, 16.9 / 9) == pytest.approx(55.8041, abs=5e-5)


def test_one_reading_alone_has_no_chart() -> None:
    assert chart((2.4,)) is None
    assert chart(()) is None


def test_readings_that_are_all_the_same_break_no_rule() -> None:
    found = chart((2.4,) * 12)
    assert found is not None
    assert (found.lower, found.upper, found.signals, found.jumps) == (2.4, 2.4, (), ())


def test_a_jump_from_one_reading_to_the_next_is_named_at_the_later_one() -> None:
    found = chart((*(2.40, 2.42) * 10, 2.90, *(2.88, 2.90) * 5))
    assert found is not None
    assert found.jumps == (20,)
    assert not found.steady


@pytest.mark.parametrize(("count", "said"), [(19, True), (20, False)])
def test_limits_from_fewer_than_twenty_readings_are_called_a_first_guess(
    count: int, said: bool
) -> None:
    """Twenty: common practice, no source."""
    found = chart([2.4 + 0.01 * (one % 3) for one in range(count)])
    assert found is not None
    assert (found.finding is not None) is said


@given(READINGS, st.integers(-500, 500), st.sampled_from([0.5, 2.0, 25.4]))
def test_limits_move_and_grow_with_the_readings(values: list[float], by: int, times: float) -> None:
    one, other = chart(values), chart([value * times + by for value in values])
    assert one is not None
    assert other is not None
    assert other.upper == pytest.approx(one.upper * times + by, abs=1e-6)
    assert other.sd == pytest.approx(one.sd * times, abs=1e-6)


@given(READINGS)
def test_readings_the_other_way_up_have_limits_the_other_way_up(values: list[float]) -> None:
    one, other = chart(values), chart([-value for value in values])
    assert one is not None
    assert other is not None
    assert other.upper == pytest.approx(-one.lower, abs=1e-9)
    assert [(s.at, s.rule, -s.side) for s in other.signals] == [
        (s.at, s.rule, s.side) for s in one.signals
    ]


# --- factors ---

# D. C. Montgomery, Introduction to Statistical Quality Control, App. VI, as quoted; n: d₂, A₂,
# D₃, D₄, c₄. D₄ of 3 is printed 2.574, where 2.574591 rounds to 2.575.
PRINTED = {
    2: (1.128, 1.880, 0.0, 3.267, 0.7979),
    3: (1.693, 1.023, 0.0, 2.574, 0.8862),
    4: (2.059, 0.729, 0.0, 2.282, 0.9213),
    5: (2.326, 0.577, 0.0, 2.114, 0.9400),
    6: (2.534, 0.483, 0.0, 2.004, 0.9515),
    7: (2.704, 0.419, 0.076, 1.924, 0.9594),
    8: (2.847, 0.373, 0.136, 1.864, 0.9650),
    9: (2.970, 0.337, 0.184, 1.816, 0.9693),
    10: (3.078, 0.308, 0.223, 1.777, 0.9727),
}


@pytest.mark.parametrize("n", PRINTED)
def test_factors_worked_out_are_the_printed_ones(n: int) -> None:
    d2, a2, d3, d4, c4 = PRINTED[n]
    assert constants.mean_range(n) == pytest.approx(d2, abs=1e-3)
    assert constants.mean_limit(n) == pytest.approx(a2, abs=1e-3)
    assert constants.range_limits(n) == pytest.approx((d3, d4), abs=1e-3)
    assert constants.spread_bias(n) == pytest.approx(c4, abs=1e-4)


def test_the_factor_of_two_is_two_over_root_pi() -> None:
    assert constants.mean_range(2) == pytest.approx(2 / sqrt(np.pi), abs=1e-9)


def test_the_factors_of_a_chart_of_single_readings_are_those_of_two() -> None:
    assert pytest.approx(constants.mean_range(2), abs=5e-4) == D2
    assert pytest.approx(constants.range_limits(2)[1], abs=5e-4) == D4


def test_a_range_of_one_reading_is_a_mistake() -> None:
    with pytest.raises(ValueError, match="a range of 1"):
        constants.mean_range(1)


# --- runs ---


def broken(*far: float) -> list[tuple[str, int]]:
    """Rule and reading of all that these distances from the centre break."""
    return [(one.rule.key, one.at) for one in signals(far, 0.0, 1.0)]


# The rules: Western Electric, as the NIST/SEMATECH e-Handbook, 6.3.2 (pmc32.htm), words them.
@pytest.mark.parametrize(
    ("far", "found"),
    [
        ((0.5, 3.1), [("beyond", 1)]),
        ((0.5, 3.0), []),
        ((2.1, 0.0, 2.1), [("outer", 2)]),
        ((2.1, 0.0, 0.0, 2.1), []),
        ((2.1, -2.1), []),
        ((2.1, 2.0), []),
        ((1.1, 1.1, -0.1, 1.1, 1.1), [("middle", 4)]),
        ((1.1, 1.1, -0.1, -0.1, 1.1, 1.1), []),
        ((1.1, 1.1, 1.1, 1.0), []),
        ((0.1,) * 8, [("side", 7)]),
        ((0.1,) * 7, []),
        ((0.1,) * 7 + (0.0,), []),
        ((0.1,) * 4 + (-0.1,) + (0.1,) * 4, []),
        ((2.1, 2.1, 0.0), [("outer", 1)]),
    ],
)
def test_a_rule_is_broken_at_its_edge_and_not_before(
    far: tuple[float, ...], found: list[tuple[str, int]]
) -> None:
    assert broken(*far) == found
    assert broken(*(-one for one in far)) == found


def test_a_signal_tells_the_readings_that_count_for_it() -> None:
    found = signals((0.1, 2.4, 0.2, 2.6), 0.0, 1.0)
    assert found == (Signal(RULES[1], 3, 1, (1, 3)),)


def _seen(tail: tuple[float, ...]) -> tuple[float, ...]:
    """As much of the last seven readings as a rule may still ask for: the last two in thirds,
    two more as outside of the inner third or inside, the rest by their side for as long as it
    has not changed since."""
    side = [float(np.sign(one)) for one in tail]
    for at in (2, 1, 0):
        side[at] *= side[at] == side[at + 1]
    middle = [min(abs(one), 1.5) * way for one, way in zip(tail, side, strict=True)]
    return (*(0.5 * one for one in side[:3]), *middle[3:5], *tail[5:])


def _next(tail: tuple[float, ...]) -> Iterator[tuple[float, tuple[float, ...] | None]]:
    """Chance of each third the next reading may fall into, and what is seen then; ``None``
    where it breaks a rule."""
    edges = norm.cdf([-3, -2, -1, 0, 1, 2, 3])
    thirds = (-2.5, -1.5, -0.5, 0.5, 1.5, 2.5)
    for chance, one in zip(np.diff(edges), thirds, strict=True):
        run = (*tail, one)
        broke = any(found.at == len(tail) for found in signals(run, 0.0, 1.0))
        yield float(chance), None if broke else _seen(run[1:])


def test_a_steady_process_gives_a_false_alarm_once_in_91_75_readings() -> None:
    """Champ and Woodall, Technometrics 29 (1987), as the NIST/SEMATECH e-Handbook, 6.3.2,
    quotes it: 91.75. Worked out exactly over all that may be seen of the last readings."""
    start: tuple[float, ...] = (0.0,) * 7
    states, ways = {start: 0}, list[tuple[int, int, float]]()
    waiting = [start]
    while waiting:
        here = waiting.pop()
        for chance, there in _next(here):
            if there is None:
                continue
            if there not in states:
                states[there] = len(states)
                waiting.append(there)
            ways.append((states[here], states[there], chance))
    rows, columns, chances = zip(*ways, strict=True)
    size = len(states)
    steps = csr_matrix((chances, (rows, columns)), shape=(size, size))
    until = spsolve((identity(size) - steps).tocsc(), np.ones(size))
    assert float(until[0]) == pytest.approx(91.75, abs=0.005)


def test_the_first_rule_alone_gives_one_in_370() -> None:
    """NIST/SEMATECH e-Handbook, 6.3.2; exactly 370.40."""
    beyond = 2 * float(norm.sf(RULES[0].sigmas))
    assert 1 / beyond == pytest.approx(370.40, abs=0.005)


# --- capability ---


def test_the_published_process_has_a_cp_of_1_and_a_cpk_of_two_thirds() -> None:
    """NIST/SEMATECH e-Handbook, 6.1.6 (pmc16.htm), as quoted: limits 8 and 20, mean 16,
    standard deviation 2. Three readings are made to have just these."""
    found = capability((14.0, 16.0, 18.0), 8.0, 20.0)
    assert found is not None
    assert (found.mean, found.sd) == (16.0, 2.0)
    assert found.cp == pytest.approx(1.0, abs=5e-5)
    assert found.cpk == pytest.approx(0.6667, abs=5e-5)


def test_the_interval_about_cp_is_the_published_one() -> None:
    """Montgomery, Introduction to Statistical Quality Control, 8.3.4: limits 38 and 62, 20
    readings, s = 1.75: 1.57 to 3.01 from a Cp of 2.29 (interval from memory)."""
    assert cp_end(2.29, 20, 0.025) == pytest.approx(1.57, abs=0.005)
    assert cp_end(2.29, 20, 0.975) == pytest.approx(3.01, abs=0.005)
    # A worked answer that goes round has 1.671: it took χ² of 0.05 for the lower end.
    assert cp_end(2.29, 20, 0.05) == pytest.approx(1.671, abs=0.005)


def test_the_interval_about_cpk_is_the_published_one() -> None:
    """Montgomery, 8.3.4, after Bissell; from memory: 20 readings, 1.33: 0.88 to 1.78."""
    assert cpk_end(1.33, 20, 0.025) == pytest.approx(0.88, abs=0.005)
    assert cpk_end(1.33, 20, 0.975) == pytest.approx(1.78, abs=0.005)


def test_the_interval_about_cp_holds_the_true_one_as_often_as_it_says() -> None:
    """20,000 samples of 12 with a fixed seed, true Cp 1: 95 % of intervals hold it, to half
    a per cent."""
    drawn = np.random.default_rng(7).normal(0.0, 1.0, (20_000, 12)).std(axis=1, ddof=1)
    low, high = cp_end(1.0, 12, 0.025), cp_end(1.0, 12, 0.975)
    held = np.mean((low / drawn <= 1.0) & (high / drawn >= 1.0))
    assert held == pytest.approx(0.95, abs=0.005)


def test_with_one_limit_there_is_a_cpk_and_no_cp() -> None:
    found = capability((0.14, 0.16, 0.18), None, 0.30)
    assert found is not None
    assert found.cp is None
    assert found.cp_interval is None
    assert found.cpk == pytest.approx(0.14 / (3 * 0.02))


@pytest.mark.parametrize(
    ("values", "lower", "upper"),
    [((2.4,), 2.0, 3.0), ((2.4, 2.4), 2.0, 3.0), ((2.3, 2.4), None, None)],
)
def test_what_cannot_be_told_is_not(
    values: tuple[float, ...], lower: float | None, upper: float | None
) -> None:
    assert capability(values, lower, upper) is None


def test_limits_the_wrong_way_round_are_a_mistake() -> None:
    with pytest.raises(ValueError, match=r"3\.0 is not below 2\.0"):
        capability((2.3, 2.4), 3.0, 2.0)


@pytest.mark.parametrize(
    ("half_width", "count", "severity", "words"),
    [
        (3.0, 50, Severity.NOTE, "room to spare"),
        (2.0, 8, Severity.NOTE, "more readings"),
        (1.1, 50, Severity.WARN, "nearer"),
        (0.4, 50, Severity.STOP, "find out why"),
    ],
)
def test_a_capability_is_judged_by_the_ends_of_its_interval(
    half_width: float, count: int, severity: Severity, words: str
) -> None:
    """Half the width allowed, in three standard deviations, is the Cpk. Limits: common
    practice, no source."""
    values = [-1.0, 1.0] * (count // 2)
    reach = half_width * 3 * stdev(values)
    found = capability(values, -reach, reach)
    assert found is not None
    assert found.finding.severity is severity
    assert words in found.finding.then


@given(READINGS.filter(lambda values: len(set(values)) > 1), st.integers(-200, 1200))
def test_a_cpk_is_never_above_its_cp_and_equals_it_in_the_middle(
    values: list[float], low: int
) -> None:
    found = capability(values, low / 100, low / 100 + 3)
    assert found is not None
    assert found.cp is not None
    assert found.cpk <= found.cp + 1e-9
    middle = capability(values, found.mean - 1.5, found.mean + 1.5)
    assert middle is not None
    assert middle.cpk == pytest.approx(middle.cp)


# --- mean and spread ---


def test_fifty_certified_values_have_the_certified_mean_and_spread() -> None:
    """NIST StRD, univariate, Mavro: mean 2.00185600000000, sd 0.000429123454003053."""
    values = [float(one) for one in MAVRO.split()]
    assert len(values) == 50
    assert mean(values) == pytest.approx(2.001856, abs=1e-9)
    assert sd(values) == pytest.approx(0.000429123454003053, abs=1e-9)


@pytest.mark.parametrize("base", [0, 1_000_000, 10_000_000])
def test_a_large_common_part_costs_the_spread_no_figures(base: int) -> None:
    """NIST StRD, NumAcc2 to NumAcc4 (from memory): sd 0.1 exactly, mean the base and 0.2. The
    sum of squares in one pass makes it 0 for the largest."""
    values = [float(Decimal(base) + Decimal("0.2"))]
    values += [float(Decimal(base) + Decimal("0.1" if one % 2 else "0.3")) for one in range(1000)]
    assert mean(values) == pytest.approx(base + 0.2, rel=1e-12)
    assert sd(values) == pytest.approx(0.1, rel=1e-8)


@given(READINGS)
def test_mean_and_spread_are_those_of_exact_arithmetic(values: list[float]) -> None:
    exact = [Decimal(str(one)) for one in values]
    assert mean(values) == pytest.approx(float(sum(exact) / len(exact)), abs=1e-12)
    assert sd(values) == pytest.approx(float(stdev(exact)), abs=1e-12)


def test_no_readings_have_no_mean_and_one_has_no_spread() -> None:
    with pytest.raises(ValueError, match="no readings"):
        mean(())
    with pytest.raises(ValueError, match="1 of the 2"):
        sd((2.4,))
