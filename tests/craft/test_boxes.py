"""One box in ten is opened and measured: common practice, no source."""

from __future__ import annotations

import pytest

from shop.craft.boxes import left_to_measure, open_words, to_open


@pytest.mark.parametrize(("came", "opened"), [(0, 0), (1, 1), (10, 1), (11, 2), (100, 10)])
def test_a_begun_ten_counts_whole(came: int, opened: int) -> None:
    assert to_open(came) == opened


def test_what_is_opened_is_told_with_its_numbers() -> None:
    assert open_words(10) == "open 1 box of 10: 1 in 10"
    assert open_words(12) == "open 2 boxes of 12: 1 in 10"


def test_each_dimension_wants_as_many_pieces_as_boxes_are_opened() -> None:
    assert left_to_measure(["post", "reach"], 21, {}) == {"post": 3, "reach": 3}


def test_a_dimension_measured_often_enough_is_not_asked_any_more() -> None:
    assert left_to_measure(["post", "reach"], 21, {"post": 4, "reach": 2}) == {"reach": 1}


def test_one_dimension_makes_not_up_for_another() -> None:
    assert left_to_measure(["post", "reach"], 10, {"post": 9}) == {"reach": 1}
