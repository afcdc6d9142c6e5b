"""Gauge studies, uncertainty and checks of gauges, against published examples.

The ninety readings of the study are from memory; that they are the published ones is shown by
the published mean squares, to every figure printed.
"""

from __future__ import annotations

from datetime import date, timedelta
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft.finding import Severity
from shop.craft.measuring.checks import Standing, due, worst_first
from shop.craft.measuring.ranges import by_ranges
from shop.craft.measuring.study import lacking, study
from shop.craft.measuring.uncertainty import Contribution, budget, coverage_factor

# AIAG, Measurement Systems Analysis, 4th ed. (2010), data of the worked example: three people,
# three trials each, ten parts a line. From memory.
AIAG = (
    """
    0.29 -0.56 1.34 0.47 -0.80 0.02 0.59 -0.31 2.26 -1.36
    0.41 -0.68 1.17 0.50 -0.92 -0.11 0.75 -0.20 1.99 -1.25
    0.64 -0.58 1.27 0.64 -0.84 -0.21 0.66 -0.17 2.01 -1.31
    """,
    """
    0.08 -0.47 1.19 0.01 -0.56 -0.20 0.47 -0.63 1.80 -1.68
    0.25 -1.22 0.94 1.03 -1.20 0.22 0.55 0.08 2.12 -1.62
    0.07 -0.68 1.34 0.20 -1.28 0.06 0.83 -0.34 2.19 -1.50
    """,
    """
    0.04 -1.38 0.88 0.14 -1.46 -0.29 0.02 -0.46 1.77 -1.49
    -0.11 -1.13 1.09 0.20 -1.07 -0.67 0.01 -0.56 1.45 -1.77
    -0.15 -0.96 0.67 0.11 -1.45 -0.49 0.21 -0.49 1.87 -2.16
    """,
)
Cells = list[list[list[float]]]


def published() -> Cells:
    people = [[[float(one) for one in line.split()] for line in block.split("\n") if line.strip()]
              for block in AIAG]  # fmt: skip
    return [[[people[j][k][i] for k in range(3)] for j in range(3)] for i in range(10)]


# --- a crossed study ---


def test_the_mean_squares_are_the_published_ones() -> None:
    """AIAG MSA, 4th ed., ANOVA example: 9.81799, 1.58363, 0.01994, 0.04598, p 0.974."""
    part, person, both, repeat = study(published()).rows
    assert part.ms == pytest.approx(9.81799, abs=5e-6)
    assert person.ms == pytest.approx(1.58363, abs=5e-6)
    assert both.ms == pytest.approx(0.01994, abs=5e-6)
    assert repeat.ms == pytest.approx(0.04598, abs=5e-6)
    assert both.p == pytest.approx(0.974, abs=5e-4)
    assert [row.df for row in (part, person, both, repeat)] == [9, 2, 18, 60]


def test_the_spreads_and_shares_are_the_published_ones() -> None:
    """The same example: EV, AV, GRR, PV, TV; 7.76 and 27.86 %; ndc 4; 22.68 % of 8. GRR is
    printed .302373 because its parts were rounded before."""
    found = study(published(), tolerance=8.0)
    assert found.pooled
    assert found.sd_repeat == pytest.approx(0.199933, abs=1e-6)
    assert found.sd_people == pytest.approx(0.226838, abs=1e-6)
    assert found.sd_gauge == pytest.approx(0.302373, abs=5e-6)
    assert found.sd_parts == pytest.approx(1.042327, abs=1e-6)
    assert found.sd_total == pytest.approx(1.085, abs=5e-4)
    assert found.contribution_pct == pytest.approx(7.76, abs=0.005)
    assert found.study_pct == pytest.approx(27.86, abs=0.005)
    assert found.tolerance_pct == pytest.approx(22.68, abs=0.005)
    assert found.kinds == 4


def test_a_copy_with_one_reading_altered_does_not_give_them() -> None:
    """A copy that goes round has 0.75 for the third trial of the first part by the third."""
    altered = published()
    altered[0][2][2] = 0.75
    assert study(altered).rows[3].ms != pytest.approx(0.04598, abs=1e-4)


def test_by_ranges_the_same_data_give_the_published_form() -> None:
    """AIAG MSA, 4th ed., form of the range method; from memory: EV .20188, AV .22963,
    GRR .30575, PV 1.10456, TV 1.14610, 26.68 %. Its inputs are rounded, so to 5e-5."""
    found = by_ranges(published())
    assert found is not None
    assert found.sd_repeat == pytest.approx(0.20188, abs=5e-5)
    assert found.sd_people == pytest.approx(0.22963, abs=5e-5)
    assert found.sd_gauge == pytest.approx(0.30575, abs=5e-5)
    assert found.sd_parts == pytest.approx(1.10456, abs=5e-5)
    assert found.sd_total == pytest.approx(1.14610, abs=5e-5)
    assert found.study_pct == pytest.approx(26.68, abs=0.005)


def test_ranges_say_nothing_where_their_factors_do_not_reach() -> None:
    assert by_ranges([part[:2] for part in published()]) is not None
    assert by_ranges([[*part, part[0]] for part in published()]) is None
    assert by_ranges([[[*cell, cell[0]] for cell in part] for part in published()]) is None


def test_a_person_who_reads_some_parts_otherwise_keeps_the_interaction_apart() -> None:
    """Made up: the second person reads every other part 1 high, with small repeats; by hand
    the interaction's sum of squares is 4 parts · 2 people · 2 trials · 0.25² = 4 · 0.25."""
    values = [
        [[part, part + 0.1], [part + part % 2, part + part % 2 + 0.1]]
        for part in (1.0, 2.0, 3.0, 4.0)
    ]
    found = study(values)
    both, repeat = found.rows[2], found.rows[3]
    assert both.ss == pytest.approx(1.0)
    assert repeat.ms == pytest.approx(0.005)
    assert not found.pooled
    assert found.sd_repeat == pytest.approx(0.005**0.5)
    assert found.sd_people**2 == pytest.approx(
        max(found.rows[1].ms - both.ms, 0) / 8 + (both.ms - repeat.ms) / 2
    )


def test_readings_that_never_differ_have_no_spread_and_no_kinds() -> None:
    found = study([[[0.1, 0.1, 0.1]] * 2] * 3, tolerance=1.0)
    assert (found.sd_gauge, found.study_pct, found.tolerance_pct) == (0.0, 0.0, 0.0)
    assert found.kinds is None
    assert found.finding.severity is Severity.NOTE


def test_repeats_that_never_differ_show_people_who_do() -> None:
    found = study([[[0.1, 0.1], [0.3, 0.3]], [[0.7, 0.7], [0.7, 0.7]]])
    assert found.rows[2].p == 0.0
    assert not found.pooled
    assert found.sd_repeat == 0.0
    assert found.sd_people > 0.0


@pytest.mark.parametrize(
    ("tolerance", "severity"),
    [(24.0, Severity.NOTE), (8.0, Severity.WARN), (6.0, Severity.STOP), (None, Severity.WARN)],
)
def test_a_gauge_is_judged_by_what_it_takes_of_the_tolerance(
    tolerance: float | None, severity: Severity
) -> None:
    """Under 10 % good, over 30 % not: AIAG MSA, 4th ed."""
    assert study(published(), tolerance).finding.severity is severity


def test_what_is_worst_is_named_the_hand_or_the_gauge() -> None:
    assert "between people" in study(published(), 8.0).finding.then
    one_hand = [[part[0], part[0][::-1]] for part in published()]
    assert "gauge itself" in study(one_hand, 4.0).finding.then


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ([], ["0 parts.", "0 people.", "0 readings of"]),
        ([[[1.0, 1.1], [1.0, 1.2]]], ["1 part."]),
        ([[[1.0, 1.1]], [[1.0, 1.2]]], ["1 person."]),
        ([[[1.0], [1.1]], [[1.0], [1.2]]], ["1 reading of"]),
        ([[[1.0, 1.1], [1.0, 1.1]], [[1.0, 1.1], [1.0, 1.1, 1.2]]], ["Every person"]),
    ],
)
def test_what_a_study_lacks_is_said_and_it_is_not_worked(values: Cells, said: list[str]) -> None:
    told = lacking(values)
    assert len(told) == len(said)
    assert all(one.startswith(word) for one, word in zip(told, said, strict=True))
    with pytest.raises(ValueError, match=said[0]):
        study(values)


@given(st.integers(0, 10_000))
def test_parts_and_people_in_another_order_come_to_the_same(seed: int) -> None:
    dice, values = Random(seed), published()
    dice.shuffle(values)
    order = dice.sample(range(3), 3)
    shuffled = [[dice.sample(part[one], 3) for one in order] for part in values]
    found, first = study(shuffled), study(published())
    assert found.rows == first.rows
    assert found.sd_gauge == first.sd_gauge


@given(st.integers(0, 10_000))
def test_the_sums_of_squares_make_up_the_whole(seed: int) -> None:
    dice = Random(seed)
    values = [[[dice.randint(0, 400) / 100 for _ in range(2)] for _ in range(3)] for _ in range(4)]
    flat = [one for part in values for cell in part for one in cell]
    about = sum(flat) / len(flat)
    whole = sum((one - about) ** 2 for one in flat)
    assert sum(row.ss for row in study(values).rows) == pytest.approx(whole)
    assert sum(row.df for row in study(values).rows) == len(flat) - 1


# --- uncertainty ---


def test_the_end_gauge_has_the_published_uncertainty() -> None:
    """JCGM 100:2008, Annex H.1, in nm: u 32, freedom 16.7, cut to 16, t of 99 % 2.92, U 93 (U from
    memory). The Guide multiplies by the rounded 32; unrounded it is 92.5."""
    parts = zip((25, 5.8, 3.9, 6.7, 2.9, 16.6), (18, 24, 5, 8, 50, 2), strict=True)
    found = budget([Contribution("", u, freedom) for u, freedom in parts], 99)
    assert found.standard == pytest.approx(32, abs=0.5)
    assert found.freedom == pytest.approx(16.7, abs=0.06)
    assert found.factor == pytest.approx(2.92, abs=0.005)
    assert found.factor * round(found.standard) == pytest.approx(93, abs=0.5)
    assert found.expanded == pytest.approx(92.5, abs=0.05)


def test_limits_known_for_sure_leave_the_factor_at_1_96() -> None:
    """Φ(1.96) = 0.975, as tables of the normal distribution print it."""
    found = budget([Contribution("last figure", 0.003), Contribution("zero", 0.004)])
    assert found.standard == pytest.approx(0.005)
    assert found.factor == pytest.approx(1.960, abs=0.0005)


@pytest.mark.parametrize(
    ("freedom", "factor"), [(1, 12.71), (2, 4.30), (5, 2.57), (10, 2.23), (50, 2.01), (0.5, 12.71)]
)
def test_factors_are_those_of_the_guides_table(freedom: float, factor: float) -> None:
    """JCGM 100:2008, Table G.2, 95 %; from memory. Under 1 there is none: 1 is taken."""
    assert coverage_factor(freedom, 95) == pytest.approx(factor, abs=0.005)


def test_nothing_uncertain_is_certain() -> None:
    assert budget([]).expanded == 0.0


@pytest.mark.parametrize(("standard", "freedom"), [(-0.1, 5.0), (0.1, 0.0), (float("nan"), 5.0)])
def test_an_uncertainty_below_nothing_is_a_mistake(standard: float, freedom: float) -> None:
    with pytest.raises(ValueError, match="last figure"):
        Contribution("last figure", standard, freedom)


@pytest.mark.parametrize("covered", [0.0, 100.0])
def test_nothing_and_everything_cannot_be_covered(covered: float) -> None:
    with pytest.raises(ValueError, match="covered"):
        budget([], covered)


# --- checks of gauges ---

CHECKED = date(2031, 1, 1)


# Days before a check is due that it is asked for: common practice, no source.
@pytest.mark.parametrize(
    ("days", "standing", "believed"),
    [
        (0, Standing.GOOD, True),
        (75, Standing.GOOD, True),
        (76, Standing.SOON, True),
        (90, Standing.SOON, True),
        (91, Standing.OVERDUE, False),
    ],
)
def test_a_check_is_good_through_its_last_day(
    days: int, standing: Standing, believed: bool
) -> None:
    found = due(CHECKED, 90, CHECKED + timedelta(days=days))
    assert found.standing is standing
    assert found.believed is believed
    assert found.until == date(2031, 4, 1)
    assert found.days == 90 - days


def test_a_gauge_never_checked_or_not_passed_is_not_believed() -> None:
    never, failed = due(None, 90, CHECKED), due(CHECKED, 90, CHECKED, passed=False)
    assert not never.believed
    assert not failed.believed
    assert (never.until, failed.until) == (None, None)


def test_an_interval_past_the_last_day_there_is_ends_on_it() -> None:
    assert due(date(9999, 12, 1), 90, date(9999, 12, 2)).until == date.max


def test_an_interval_of_no_days_is_a_mistake() -> None:
    with pytest.raises(ValueError, match="0 days"):
        due(CHECKED, 0, CHECKED)


def test_gauges_that_are_not_believed_stand_first() -> None:
    today = CHECKED + timedelta(days=91)
    gauges = [
        ("G-01", due(today, 90, today)),
        ("G-02", due(CHECKED, 90, today)),
        ("G-03", due(None, 90, today)),
        ("G-04", due(today, 90, today, passed=False)),
        ("G-05", due(CHECKED, 60, today)),
        ("G-06", due(CHECKED, 95, today)),
    ]
    order = [name for name, _ in worst_first(gauges)]
    assert order == ["G-04", "G-03", "G-05", "G-02", "G-06", "G-01"]
