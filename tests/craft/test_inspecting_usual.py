"""Which words and which drawing come first where one looks: common practice, no source."""

from __future__ import annotations

import pytest

from shop.craft.inspecting import body_map
from shop.craft.inspecting.areas import areas_of
from shop.craft.inspecting.defects import MEANINGS
from shop.craft.inspecting.usual import first_view, usual
from shop.craft.rework import WORDS, family_words
from tests.craft.bench import SPECS


@pytest.mark.parametrize("area", range(17))
def test_an_area_offers_six_words_each_once(area: int) -> None:
    six = usual(area)
    assert len({one.key for one in six}) == len(six) == 6
    assert all(MEANINGS[one.key] is one for one in six)


@pytest.mark.parametrize("station", ["", "I", "R", "Q", "Z", "no such station"])
def test_a_station_offers_six_words_each_once(station: str) -> None:
    six = usual(station=station)
    assert len({one.key for one in six}) == len(six) == 6


def test_the_area_one_looks_at_counts_before_the_station() -> None:
    assert usual(13, "Z") == usual(13)
    assert usual(0, "Z") != usual(0, "I")


@pytest.mark.parametrize("key", SPECS)
def test_every_area_of_a_spec_begins_on_a_drawing_that_there_is(key: str) -> None:
    for area in areas_of(SPECS[key]):
        for family in ("", *WORDS):
            assert first_view(area.number, family) in body_map.VIEWS


def test_each_family_has_a_name_of_its_own() -> None:
    names = [family_words(family) for family in WORDS]
    assert len(set(names)) == len(WORDS)
    assert all(name[0].isupper() for name in names)
