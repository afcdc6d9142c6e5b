"""The reorder point, its safety stock, and what is ordered: against published examples.

Look-back and review period: common practice, no source. Items are invented.
"""

from __future__ import annotations

import statistics
from datetime import date
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft import reorder
from shop.craft.reorder import Demand, Lead

MONDAY = date(2031, 3, 3)
SURE = Lead(14, 0, 95)


def test_a_risk_of_three_per_cent_needs_a_safety_stock_of_9_40_and_a_point_of_59_40() -> None:
    """W. J. Stevenson, Operations Management, 14th ed., ch. 12, example 8, p. 528: demand
    during the lead time 50 with deviation 5; the lead time is taken as the unit."""
    found = reorder.point(Demand(50, 5), Lead(1, 0, 97))
    assert found.z == pytest.approx(1.88, abs=0.005)
    assert found.safety == pytest.approx(9.40, abs=0.005)
    assert found.reckoned == pytest.approx(59.40, abs=0.005)
    assert found.at == 60


@pytest.mark.parametrize(("lead_sd", "stock"), [(0, None), (2, 342)])
def test_a_lead_time_that_varies_too_adds_to_the_safety_stock(
    lead_sd: float, stock: float | None
) -> None:
    """novacalculator.com, its planner's page: 100 a day with deviation 20, 7 days with
    deviation 2, z 1.65: combined deviation 207, safety stock 342, point 1,042. Without the
    lead time's deviation, by hand: 1.65 × 20 × √7 = 87.31."""
    wanted, lead = Demand(100, 20), Lead(7, lead_sd, 95)
    found = reorder.safety_stock(1.65, wanted, lead)
    if stock is None:
        assert found == pytest.approx(87.31, abs=0.005)
    else:
        assert found / 1.65 == pytest.approx(207, abs=1)
        assert found == pytest.approx(stock, abs=1)
        assert 100 * 7 + found == pytest.approx(1042, abs=1)


@pytest.mark.parametrize(
    ("service", "z"), [(90, 1.282), (95, 1.645), (97.5, 1.960), (99, 2.326), (99.9, 3.090)]
)
def test_z_is_what_tables_of_the_normal_distribution_give(service: float, z: float) -> None:
    """NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.1, from memory."""
    assert reorder.z_of(service) == pytest.approx(z, abs=0.0005)


def test_at_that_point_so_many_orders_in_a_hundred_run_short_and_no_more() -> None:
    """20,000 lead times drawn with a fixed seed; at 90 % one in ten runs short, to 1 %."""
    dice, wanted, lead = Random(5), Demand(20, 6), Lead(9, 0, 90)
    at = reorder.point(wanted, lead).reckoned
    drawn = [sum(dice.gauss(20, 6) for _ in range(9)) for _ in range(20_000)]
    assert sum(one > at for one in drawn) / len(drawn) == pytest.approx(0.10, abs=0.01)


# --- demand ---


def test_days_on_which_nothing_went_out_count_as_none() -> None:
    """By hand: 6 and 4 on two of 60 days: mean 10/60; Σ(x − x̄)² = 52 − 60·(1/6)²."""
    found = reorder.demand([6, 4])
    assert found.mean == pytest.approx(10 / 60)
    assert found.sd == pytest.approx(((52 - 60 / 36) / 59) ** 0.5)


def test_what_came_back_is_taken_off_and_never_makes_a_demand_below_none() -> None:
    assert reorder.demand([3, -1]).mean == pytest.approx(2 / 60)
    assert reorder.demand([-4]).mean == 0


def test_more_days_than_are_looked_at_are_told() -> None:
    with pytest.raises(ValueError, match="61 days of 60"):
        reorder.demand([1] * 61)


@given(st.lists(st.integers(-5, 40), max_size=60))
def test_demand_is_mean_and_deviation_of_the_whole_series(by_day: list[int]) -> None:
    series = [*by_day, *[0] * (60 - len(by_day))]
    found = reorder.demand(by_day)
    assert found.mean == pytest.approx(max(sum(series) / 60, 0))
    assert found.sd == pytest.approx(statistics.stdev(series))


# --- how many ---


def test_without_any_demand_the_least_is_the_point() -> None:
    found = reorder.point(Demand(0, 0), SURE, least=10)
    assert (found.reckoned, found.at) == (0, 10)


def test_a_least_below_what_is_reckoned_changes_nothing() -> None:
    assert reorder.point(Demand(2, 0), SURE, least=10).at == 28


@pytest.mark.parametrize(
    ("position", "pack", "ordered"),
    [(29, 1, 0), (28, 1, 14), (28, 12, 24), (20, 1, 22), (20, 12, 24), (0, 12, 48), (18, 12, 24)],
)
def test_what_is_ordered_reaches_the_point_and_a_week_more_in_whole_packs(
    position: int, pack: int, ordered: int
) -> None:
    """2 a day for 14 days: point 28, with 7 days of review up to 42."""
    assert reorder.propose(reorder.point(Demand(2, 0), SURE), position, pack) == ordered


def test_at_the_point_one_pack_is_ordered_although_nothing_is_wanted_just_now() -> None:
    point = reorder.point(Demand(0, 0), SURE, least=4)
    assert [reorder.propose(point, have, pack=6) for have in (5, 4, 0)] == [0, 6, 6]


def test_what_nobody_wants_and_needs_no_least_is_never_ordered() -> None:
    assert reorder.propose(reorder.point(Demand(0, 0), SURE), position=0) == 0


def test_what_is_free_lasts_for_so_many_whole_days() -> None:
    assert reorder.lasts_until(7, Demand(2, 1), MONDAY) == date(2031, 3, 6)
    assert reorder.lasts_until(6, Demand(0.1, 1), MONDAY) == date(2031, 5, 2)
    assert reorder.lasts_until(7, Demand(0, 1), MONDAY) is None
    assert reorder.lasts_until(9, Demand(1e-9, 1), MONDAY) == date.max


def test_the_workings_are_the_formula_with_its_numbers_put_in() -> None:
    """By hand: 1.645 × √(7 × 2² + 4² × 1.5²) = 13.16; 4 × 7 + 13.16 = 41.16."""
    told = reorder.point(Demand(4, 2), Lead(7, 1.5, 95), least=12).workings
    assert [one.replace("\u202f", " ") for one in told] == [
        "Wanted a day: 4.000, deviation 2.000, over 60 days",
        "Lead time: 7 days, deviation 1.5 days",
        "Nothing short in 95 % of orders: z = 1.645",
        "Safety stock: 1.645 × √(7 × 2.000² + 4.000² × 1.5²) = 13.16",
        "Reorder point: 4.000 × 7 + 13.16 = 41.16",
        "Never ordered later than at 12: order at 42",
    ]
