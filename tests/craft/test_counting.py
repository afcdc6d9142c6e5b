"""Counting bins: when, how far off it may be, and how many lines were right.

Classes, days, tolerances and the goal of 97 %: common practice, no source. Bins are invented.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft import counting
from shop.craft.counting import Accuracy

MONDAY = date(2031, 3, 3)


def words(expected: int, counted: int, tolerance: str) -> str:
    return counting.judge(expected, counted, Decimal(tolerance)).words.replace("\u202f", " ")


# --- one count ---


def test_thirty_seven_of_forty_are_seven_and_a_half_per_cent_under_and_beyond_two() -> None:
    found = counting.judge(40, 37, Decimal(2))
    assert (found.difference, found.pct, found.within) == (-3, Decimal("-7.5"), False)
    assert words(40, 37, "2") == "\u22127.5 %, beyond 2 %"


@pytest.mark.parametrize(
    ("expected", "counted", "tolerance", "told"),
    [
        (100, 102, "2", "+2.0 %, within 2 %"),
        (100, 98, "2", "\u22122.0 %, within 2 %"),
        (100, 103, "2", "+3.0 %, beyond 2 %"),
        (1000, 1021, "2.1", "+2.1 %, within 2.1 %"),
        (40, 40, "0", "0.0 %, within 0 %"),
        (3, 2, "0", "\u221233.3 %, beyond 0 %"),
        (0, 0, "2", "0.0 %, within 2 %"),
        (0, 4, "5", "4 more than none, beyond 5 %"),
        (4, 0, "5", "\u2212100.0 %, beyond 5 %"),
    ],
)
def test_a_count_is_told_in_per_cent_of_the_figures(
    expected: int, counted: int, tolerance: str, told: str
) -> None:
    assert words(expected, counted, tolerance) == told


def test_what_only_rounds_to_the_tolerance_is_beyond_it() -> None:
    """2.04 % is told as 2.0, and is beyond 2 all the same."""
    found = counting.judge(2500, 2551, Decimal(2))
    assert (found.pct, found.within) == (Decimal("2.0"), False)


@given(st.integers(0, 10_000), st.integers(0, 10_000), st.decimals(0, 20, places=1))
def test_within_is_what_exact_fractions_say(expected: int, counted: int, limit: Decimal) -> None:
    off = abs(counted - expected)
    by_hand = off == 0 if expected == 0 else Fraction(100 * off, expected) <= Fraction(limit)
    assert counting.judge(expected, counted, limit).within == by_hand


@pytest.mark.parametrize(("expected", "counted"), [(-1, 3), (3, -1)])
def test_fewer_than_none_cannot_lie_in_a_bin(expected: int, counted: int) -> None:
    with pytest.raises(ValueError, match="-1 pieces cannot lie in a bin"):
        counting.judge(expected, counted, Decimal(2))


# --- how often, how close ---


@pytest.mark.parametrize(
    ("cls", "tuners", "days", "tolerance"),
    [
        ("A", False, 14, "2"), ("A", True, 14, "0"), ("B", False, 60, "3"), ("B", True, 60, "3"),
        ("C", False, 180, "5"), ("C", True, 180, "5"),
    ],
)  # fmt: skip
def test_a_class_says_how_often_and_how_close(
    cls: str, tuners: bool, days: int, tolerance: str
) -> None:
    found = counting.rule(cls, tuners)
    assert (found.every_days, found.tolerance_pct) == (days, Decimal(tolerance))


def test_what_is_told_of_the_item_itself_goes_first_even_where_it_is_nothing() -> None:
    found = counting.rule("C", tuners=False, every_days=7, tolerance_pct=Decimal(0))
    assert (found.every_days, found.tolerance_pct) == (7, Decimal(0))


@pytest.mark.parametrize(
    ("last", "due"),
    [
        (None, True),
        (date(2031, 2, 16), True),
        (date(2031, 2, 17), True),
        (date(2031, 2, 18), False),
        (MONDAY, False),
    ],
)
def test_a_bin_is_due_on_the_day_its_interval_is_over(last: date | None, due: bool) -> None:
    assert counting.rule("A", tuners=False).is_due(last, MONDAY) is due


# --- how many were right ---


@pytest.mark.parametrize(
    ("within", "lines", "pct", "reached"),
    [
        (97, 100, "97.0", True),
        (96, 100, "96.0", False),
        (29, 30, "96.7", False),
        (3395, 3500, "97.0", True),
        (3394, 3500, "97.0", False),
        (0, 3, "0.0", False),
    ],
)
def test_accuracy_is_lines_within_over_lines_against_97(
    within: int, lines: int, pct: str, reached: bool
) -> None:
    found = Accuracy(within, lines)
    assert (found.pct, found.reached) == (Decimal(pct), reached)


def test_before_the_first_count_there_is_no_accuracy() -> None:
    assert Accuracy(0, 0).pct is None
