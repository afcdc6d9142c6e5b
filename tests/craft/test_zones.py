"""The zones of a guitar, and how words name them. All common practice, no source."""

from __future__ import annotations

import doctest

import pytest

from shop.craft import zones


def test_the_zones_are_numbered_through_by_where_one_stands() -> None:
    numbers = [number for them in zones.ZONES.values() for number, _name in them]
    assert numbers == list(range(1, 17))
    assert list(zones.PLACES) == numbers


@pytest.mark.parametrize("number", zones.PLACES)
def test_a_zone_is_found_again_in_the_words_it_was_told_with(number: int) -> None:
    assert zones.told(f"finish, {zones.PLACES[number]}") == (number,)


@pytest.mark.parametrize(
    "words", ["", "Treble bushing", "zone 0", "zone 17", "zone 161", "zones 3"]
)
def test_words_that_name_no_zone_mark_none(words: str) -> None:
    assert zones.told(words) == ()


def test_the_examples_hold() -> None:
    result = doctest.testmod(zones)
    assert (result.failed, result.attempted) == (0, 1)
