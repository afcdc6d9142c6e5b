"""The few defects that make most of the trouble. The 80 %: common practice, no source."""

from __future__ import annotations

import doctest

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft.quality import pareto as module
from shop.craft.quality.pareto import Found, Ranking, pareto

# Counts and minutes of an invented week: (family, word, count, minutes each).
WEEK = [("finish", "nib", 10, 3.0), ("setup", "buzz", 6, 15.0), ("joint", "lift", 1, 120.0),
        ("paper", "missing", 3, 2.0)]  # fmt: skip
ROWS = [Found(word, family, each) for family, word, count, each in WEEK for _ in range(count)]

FOUND = st.lists(
    st.builds(
        Found,
        st.sampled_from(("chip", "buzz", "lift", "gap")),
        st.sampled_from(("finish", "joint")),
        st.integers(0, 90).map(float),
    ),
    max_size=40,
)


def order(ranking: Ranking) -> list[str]:
    return [one.word for one in ranking.bars]


def test_each_way_of_ranking_puts_another_defect_first() -> None:
    """By hand, count times minutes of each: 10 · 3 = 30, 6 · 15 = 90, 120, 3 · 2 = 6."""
    found = pareto(ROWS)
    assert order(found.by_count) == ["nib", "buzz", "missing", "lift"]
    assert order(found.by_minutes) == ["lift", "buzz", "nib", "missing"]
    assert [one.weight for one in found.by_minutes.bars] == [120, 90, 30, 6]


def test_shares_add_up_to_all_of_it() -> None:
    """By hand: 10, 16, 19, 20 of 20."""
    bars = pareto(ROWS).by_count.bars
    assert [one.cumulative for one in bars] == pytest.approx([0.5, 0.8, 0.95, 1.0])
    assert [one.share for one in bars] == pytest.approx([0.5, 0.3, 0.15, 0.05])


def test_the_few_are_the_fewest_that_make_eighty_in_a_hundred() -> None:
    found = pareto(ROWS)
    assert [one.word for one in found.by_count.few] == ["nib", "buzz"]  # 80 % to the point
    assert [one.word for one in found.by_minutes.few] == ["lift", "buzz"]  # 49 %, 85 %


def test_what_weighs_the_same_stands_as_it_came() -> None:
    rows = [Found(word, "finish", 5) for word in ("run", "pit", "haze")]
    assert order(pareto(rows).by_minutes) == ["run", "pit", "haze"]
    assert order(pareto(rows[::-1]).by_minutes) == ["haze", "pit", "run"]


def test_one_word_in_two_families_is_two_bars() -> None:
    found = pareto([Found("crack", "finish", 5), Found("crack", "wood", 60)])
    assert [(one.word, one.family) for one in found.by_minutes.bars] == [
        ("crack", "wood"),
        ("crack", "finish"),
    ]


def test_nothing_found_ranks_nothing() -> None:
    found = pareto([])
    assert found.by_count.bars == found.by_minutes.few == ()


def test_defects_that_took_no_minutes_are_ranked_and_are_not_the_few() -> None:
    found = pareto([Found("haze", "finish", 0)])
    assert [one.cumulative for one in found.by_minutes.bars] == [0.0]
    assert found.by_minutes.few == ()
    assert [one.word for one in found.by_count.few] == ["haze"]


@pytest.mark.parametrize("minutes", [-1.0, float("nan")])
def test_minutes_that_cannot_be_are_refused(minutes: float) -> None:
    with pytest.raises(ValueError, match="min for chip"):
        pareto([Found("chip", "finish", minutes)])


@given(FOUND)
def test_every_ranking_falls_and_ends_at_all_of_it(rows: list[Found]) -> None:
    found = pareto(rows)
    for ranking in (found.by_count, found.by_minutes):
        weights = [one.weight for one in ranking.bars]
        assert weights == sorted(weights, reverse=True)
        assert sum(one.count for one in ranking.bars) == len(rows)
        if sum(weights):
            assert ranking.bars[-1].cumulative == pytest.approx(1)
            assert ranking.few[-1].cumulative >= 0.8 - 1e-9
            assert all(one.cumulative < 0.8 for one in ranking.few[:-1])


def test_the_examples_hold() -> None:
    result = doctest.testmod(module)
    assert result.attempted
    assert not result.failed
