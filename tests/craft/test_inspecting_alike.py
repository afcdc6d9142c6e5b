"""Open defects that a new one may be again: offered, never forced.

How near two marks have to be is common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import pytest

from shop.craft.inspecting import body_map
from shop.craft.inspecting.alike import NEAR_MM, TOUCHING, Spot, alike, distance_mm, touch
from shop.craft.words import THIN
from tests.craft.bench import SPECS

CHIP = Spot("finish", "chip", 6, "front", 40, 60, 7, "P-31", "Tue 10:20")
NEW = replace(CHIP, x_mm=43, y_mm=64, number=0, by="", noted="")


def offered(new: Spot, *open_ones: Spot, bridge_mm: float | None = None) -> list[int]:
    return [one.spot.number for one in alike(new, open_ones, bridge_mm)]


def said(new: Spot, one: Spot) -> str:
    [found] = alike(new, [one])
    return found.words.replace(THIN, " ")


def test_the_same_word_near_by_is_offered_with_how_far_it_is_and_who_noted_it() -> None:
    assert (
        said(NEW, CHIP) == "chip, zone 6, 5 mm from this one: noted by P-31 Tue 10:20, still open."
    )


def test_a_mark_thirty_millimetres_away_is_another_one() -> None:
    assert offered(replace(NEW, x_mm=40, y_mm=60 + int(NEAR_MM) - 1), CHIP) == [7]
    assert offered(replace(NEW, x_mm=40, y_mm=60 + int(NEAR_MM)), CHIP) == []


def test_without_millimetres_on_either_the_zone_alone_is_told() -> None:
    bare = replace(CHIP, x_mm=None, y_mm=None)
    assert said(NEW, bare) == "chip, zone 6, in the same zone: noted by P-31 Tue 10:20, still open."
    assert said(bare, CHIP) == said(NEW, bare)


def test_another_word_of_the_family_in_a_zone_that_touches_is_offered_after_the_same_word() -> None:
    scratch = Spot("finish", "scratch", 5, "front", 42, 40, 8)
    assert offered(NEW, scratch, CHIP) == [7, 8]
    assert offered(NEW, replace(scratch, zone=3, x_mm=None, y_mm=None)) == []


def test_another_word_of_another_family_is_never_offered() -> None:
    assert offered(NEW, replace(CHIP, family="setup", word="buzz")) == []


def test_a_word_that_two_families_share_is_one_word_in_the_same_zone_only() -> None:
    crack = Spot("wood", "crack", 6, "front", 42, 62, 9)
    new = replace(NEW, word="crack")
    assert offered(new, crack) == [9]
    assert offered(new, replace(crack, zone=5)) == []


def test_a_defect_without_a_zone_is_held_against_every_zone_by_its_word() -> None:
    nowhere = Spot("finish", "chip", 0, number=4, by="P-31")
    assert (
        said(NEW, nowhere)
        == "chip, its zone is not told, perhaps this one: noted by P-31, still open."
    )
    assert offered(replace(NEW, word="scratch"), nowhere) == []


def test_the_nearest_comes_first_and_the_newest_of_those_alike() -> None:
    near, far = replace(CHIP, number=1), replace(CHIP, x_mm=50, y_mm=80, number=2)
    bare = [replace(CHIP, x_mm=None, y_mm=None, number=number) for number in (3, 4)]
    assert offered(NEW, *bare, far, near) == [1, 2, 4, 3]


def test_a_mark_at_the_nut_and_one_on_the_body_are_compared_where_the_scale_is_known() -> None:
    """Arithmetic: the bridge is 645 from the nut, so 350 from the nut is 295 before the bridge."""
    on_neck = Spot("finish", "chip", 2, "front", 24, 350, 1)
    on_top = Spot("finish", "chip", 3, "front", 24, -290, 0)
    assert distance_mm(on_top, on_neck) is None
    assert distance_mm(on_top, on_neck, 645) == distance_mm(on_neck, on_top, 645) == 5
    assert offered(on_top, on_neck, bridge_mm=645) == [1]
    assert offered(on_top, replace(on_neck, y_mm=200), bridge_mm=645) == []


def test_front_and_back_of_the_head_are_compared_through_the_wood() -> None:
    face = Spot("wood", "split", 1, "front", 30, -90, 1)
    assert offered(Spot("wood", "split", 7, "head back", 33, -86), face) == [1]
    assert offered(Spot("wood", "split", 7, "head back", -33, -86), face) == []


def test_the_two_sides_are_not_compared_by_millimetres() -> None:
    bass, treble = (
        Spot("joint", "gap", 13, "bass side", 30, 330),
        Spot("joint", "gap", 13, "treble side", 30, 330),
    )
    assert distance_mm(bass, treble) is None
    assert distance_mm(bass, replace(bass, x_mm=34, y_mm=333)) == 5
    assert distance_mm(bass, Spot("joint", "gap", 13, "back", 0, 330)) is None


def test_zones_that_touch_are_those_that_share_a_line_on_a_drawing() -> None:
    """What meets round an edge, as side and top, shares no drawing and is told apart."""
    seen = set()
    for name in ("front", "back", "bass side", "treble side"):
        for one, other in combinations(body_map.draw(SPECS["TARN"], name).zones, 2):
            points = [{point for loop in zone.loops for point in loop} for zone in (one, other)]
            if len(points[0] & points[1]) > 1:
                seen.add(frozenset((one.number, other.number)))
    sides, head_edges = {11, 12}, {frozenset((1, 7)), frozenset((2, 8))}
    round_edges = {pair for pair in TOUCHING if pair & sides and 13 not in pair} | head_edges
    assert seen == TOUCHING - round_edges


@pytest.mark.parametrize("zone", range(1, 17))
def test_touching_goes_both_ways_and_a_zone_touches_itself(zone: int) -> None:
    assert touch(zone, zone)
    assert all(touch(zone, other) == touch(other, zone) for other in range(1, 17))
