"""Charts of what is counted, against published examples. That limits hold from 20 samples:
common practice, no source."""

from __future__ import annotations

from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft.charts.attributes import c_chart, p_chart

# NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.3.1 and 6.3.3.2, as quoted by others:
# defects on each of 25 wafers, and defective chips in 30 samples of 50.
WAFERS = (
    16, 14, 28, 16, 12, 20, 10, 12, 10, 17, 19, 17, 14, 16, 15, 13, 14, 16, 11, 20, 11, 19, 16,
    31, 13,
)  # fmt: skip
CHIPS = (
    12, 15, 8, 10, 4, 7, 16, 9, 14, 10, 5, 6, 17, 12, 22, 8, 10, 5, 13, 11, 20, 18, 24, 15, 9,
    12, 7, 13, 9, 6,
)  # fmt: skip


def test_defects_on_wafers_have_the_published_limits() -> None:
    """NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.3.1, as quoted: 16, 28, 4."""
    found = c_chart(WAFERS)
    assert found is not None
    assert (found.centre, found.upper[0], found.lower[0]) == pytest.approx((16, 28, 4), abs=5e-5)


def test_a_count_on_its_limit_is_within_and_one_above_is_out() -> None:
    """Of those wafers the third has 28, the limit itself, and the 24th has 31."""
    found = c_chart(WAFERS)
    assert found is not None
    assert found.out == (23,)


def test_defective_chips_have_the_published_limits() -> None:
    """NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.3.2, as quoted: 0.2313, 0.4102 and
    0.0524. The copy prints 0.4103 for the upper one; exactly it is 0.41024."""
    found = p_chart(CHIPS, 50)
    assert found is not None
    assert found.centre == pytest.approx(0.2313, abs=5e-5)
    assert found.upper[0] == pytest.approx(0.4102, abs=5e-5)
    assert found.lower[0] == pytest.approx(0.0524, abs=5e-5)


def test_the_two_worst_samples_of_chips_are_out() -> None:
    """By hand: 22 and 24 of 50 are 0.44 and 0.48."""
    found = p_chart(CHIPS, 50)
    assert found is not None
    assert found.out == (14, 22)
    assert found.finding is None


def test_each_sample_has_the_limits_of_its_own_size() -> None:
    """By hand: 20 of 200 in all; 0.1 ± 3√(0.09/n)."""
    found = p_chart((10, 4, 6), (100, 25, 75))
    assert found is not None
    assert found.upper == pytest.approx([0.1 + 3 * sqrt(0.09 / n) for n in (100, 25, 75)])
    assert found.lower == pytest.approx([0.01, 0.0, 0.0])


def test_a_share_that_is_within_for_a_small_sample_would_be_out_of_a_large_one() -> None:
    """By hand, 166 of 810 in all: limits 0.144 to 0.266 of 400, up to 0.588 of 10."""
    found = p_chart((120, 42, 4), (400, 400, 10))
    assert found is not None
    assert found.points == pytest.approx((0.3, 0.105, 0.4))
    assert found.out == (0, 1)


def test_no_samples_have_no_chart() -> None:
    assert p_chart((), 50) is None
    assert c_chart(()) is None


def test_samples_that_are_all_without_a_defect_are_within() -> None:
    for found in (p_chart((0,) * 20, 50), c_chart((0,) * 20)):
        assert found is not None
        assert (found.centre, found.out, found.upper[0]) == (0.0, (), 0.0)


@pytest.mark.parametrize(("many", "said"), [(19, True), (20, False)])
def test_limits_from_fewer_than_twenty_samples_are_called_a_first_guess(
    many: int, said: bool
) -> None:
    """Twenty: common practice, no source."""
    found = c_chart((3,) * many)
    assert found is not None
    assert (found.finding is not None) is said


@given(st.lists(st.integers(0, 50), min_size=1, max_size=40), st.integers(50, 90))
def test_samples_of_one_size_have_one_pair_of_limits_and_hold_the_centre(
    bad: list[int], size: int
) -> None:
    one, each = p_chart(bad, size), p_chart(bad, [size] * len(bad))
    assert one == each
    assert one is not None
    assert len(set(one.upper)) == 1
    assert 0 <= one.lower[0] <= one.centre <= one.upper[0] <= 1


@pytest.mark.parametrize(("bad", "size"), [(51, 50), (-1, 50), (0, 0)])
def test_a_sample_that_cannot_be_is_refused(bad: int, size: int) -> None:
    with pytest.raises(ValueError, match=f"{bad} of {size} defective"):
        p_chart((bad,), size)


def test_a_count_below_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="-2 defects"):
        c_chart((3, -2))
