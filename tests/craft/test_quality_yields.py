"""Yields, against published examples. That 20 units are enough: common practice, no source."""

from __future__ import annotations

from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft.finding import Severity
from shop.craft.quality import yields
from shop.craft.quality.yields import Yield, by_word, first_pass, rolled, throughput, wilson


def test_three_steps_roll_to_seven_hundred_of_a_thousand() -> None:
    """Minitab support, "What are throughput yield and rolled throughput yield", as quoted:
    0.95, 0.84 and 0.88 make 0.70, 700 of 1000. Exactly 0.70224."""
    assert rolled((0.95, 0.84, 0.88)) == pytest.approx(0.70, abs=0.005)
    assert rolled((0.95, 0.84, 0.88)) == pytest.approx(0.70224, abs=1e-9)


@pytest.mark.parametrize(
    ("steps", "printed_pct"),
    [((0.98, 0.97, 0.99, 0.96), 90.35), ((0.99, 0.97, 0.99, 0.96), 91.27)],
)
def test_four_steps_roll_to_the_printed_yield(steps: tuple[float, ...], printed_pct: float) -> None:
    """mfgcalcs.com, worked example of rolled throughput yield, as quoted."""
    assert 100 * rolled(steps) == pytest.approx(printed_pct, abs=0.005)


def test_yields_from_defects_are_the_printed_ones_and_so_is_their_product() -> None:
    """sigmapedia.com, term 1104, as quoted: 13, 7 and 5 defects on 100 make 0.87, 0.93 and 0.95,
    together 0.77. The page's own product has 0.85 for 0.87, which would make 0.75: a slip."""
    each = [throughput(100, defects) for defects in (13, 7, 5)]
    assert each == pytest.approx([0.87, 0.93, 0.95])
    assert rolled(each) == pytest.approx(0.77, abs=0.005)
    assert rolled((0.85, 0.93, 0.95)) != pytest.approx(0.77, abs=0.005)


def test_more_defects_than_units_leave_no_yield() -> None:
    assert throughput(10, 12) == 0.0


def test_a_route_of_no_operations_lets_everything_pass() -> None:
    assert rolled(()) == 1.0


def test_yields_of_a_station_and_a_week_come_from_counts() -> None:
    found = Yield(228, 240)
    assert found.share == first_pass(228, 240) == 0.95
    assert found.enough
    assert found.finding is None


def test_a_yield_of_nothing_started_is_none() -> None:
    assert (Yield(0, 0).share, Yield(0, 0).interval) == (None, None)


@pytest.mark.parametrize(("started", "said"), [(19, True), (20, False)])
def test_below_twenty_units_a_yield_is_called_a_first_guess(started: int, said: bool) -> None:
    """Twenty: common practice, no source."""
    finding = Yield(started, started).finding
    assert (finding is not None) is said
    assert finding is None or finding.severity is Severity.NOTE
    assert finding is None or finding.words == "19 units: the yield is a first guess."


@given(st.integers(1, 400).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_the_interval_is_wilsons(counts: tuple[int, int]) -> None:
    """Held to the formula as E. B. Wilson gives it (1927; from memory)."""
    passed, n = counts
    z, share = 1.959963984540054, passed / n
    middle = (share + z**2 / (2 * n)) / (1 + z**2 / n)
    half = z * sqrt(share * (1 - share) / n + z**2 / (4 * n**2)) / (1 + z**2 / n)
    assert wilson(passed, n) == pytest.approx((middle - half, middle + half), abs=1e-9)


@given(st.integers(1, 200).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_the_interval_holds_the_yield_and_stays_a_share(counts: tuple[int, int]) -> None:
    found = Yield(*counts)
    assert found.share is not None
    assert found.interval is not None
    low, high = found.interval
    assert 0 <= low <= found.share + 1e-12
    assert found.share - 1e-12 <= high <= 1


def test_defects_on_a_hundred_are_told_by_word_the_commonest_first() -> None:
    rows = [("setup", "buzz"), ("finish", "chip"), ("finish", "chip"), ("finish", "crack")]
    found = by_word(rows, 80)
    assert [(one.family, one.word, one.count, one.per_hundred) for one in found] == [
        ("finish", "chip", 2, 2.5),
        ("setup", "buzz", 1, 1.25),
        ("finish", "crack", 1, 1.25),
    ]


def test_one_word_in_two_families_is_two_defects() -> None:
    found = by_word([("finish", "crack"), ("wood", "crack")], 10)
    assert [one.family for one in found] == ["finish", "wood"]


def test_of_no_units_nothing_is_told_by_word() -> None:
    assert by_word([("finish", "chip")], 0) == ()


@pytest.mark.parametrize(
    ("passed", "started", "said"), [(5, 4, "5 of 4"), (-1, 4, "-1 of 4"), (0, 0, "0 of 0")]
)
def test_counts_that_cannot_be_are_refused_by_name(passed: int, started: int, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        first_pass(passed, started)


def test_a_share_of_nothing_looked_at_is_refused() -> None:
    with pytest.raises(ValueError, match="3 defects on 0 units"):
        throughput(0, 3)
    with pytest.raises(ValueError, match="0 units"):
        yields.per_hundred(3, 0)
    with pytest.raises(ValueError, match="2 of 1"):
        Yield(2, 1)
