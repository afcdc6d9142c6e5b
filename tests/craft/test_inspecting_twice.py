"""Two looks, and what the first let through."""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft import formulas
from shop.craft.inspecting.finding_twice import escape_rate, found_twice

shares = st.floats(0, 1)


def test_two_looks_that_each_find_77_of_100_find_94_7() -> None:
    """1 − 0.23² = 0.947: arithmetic of independent events. That one look finds 77 of 100 is
    a published study's figure, from memory."""
    assert round(found_twice(0.77), 3) == 0.947


def test_two_looks_miss_what_both_miss_when_it_is_tried() -> None:
    """A hundred thousand defects, each looked for twice by chance: a second way to the figure,
    within four standard errors."""
    random, tried, share = Random(7), 100_000, 0.77
    found = sum(random.random() < share or random.random() < share for _ in range(tried))
    expected = found_twice(share)
    error = (expected * (1 - expected) / tried) ** 0.5
    assert abs(found / tried - expected) < 4 * error


@given(shares)
def test_two_looks_never_find_less_than_one_and_never_more_than_all(share: float) -> None:
    assert share - 1e-12 <= found_twice(share) <= 1


@pytest.mark.parametrize("share", [-0.01, 1.01, 77.0, float("nan")])
def test_what_is_no_share_is_refused_with_its_value(share: float) -> None:
    with pytest.raises(ValueError, match=f"share is {share!r}"):
        found_twice(share)


def test_three_escapes_of_120_inspected_are_two_and_a_half_in_a_hundred() -> None:
    assert escape_rate(3, 120) == 0.025
    assert escape_rate(0, 120) == 0


def test_one_guitar_may_hide_several() -> None:
    assert escape_rate(3, 2) == 1.5


@pytest.mark.parametrize(
    ("escaped", "inspected", "says"),
    [(0, 0, "inspected is 0"), (1, -2, "inspected is -2"), (-1, 5, "escaped is -1")],
)
def test_a_rate_of_none_inspected_is_refused(escaped: int, inspected: int, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        escape_rate(escaped, inspected)


def test_both_formulas_have_their_page() -> None:
    assert formulas.find("found-twice") is found_twice
    assert formulas.find("escape-rate") is escape_rate
