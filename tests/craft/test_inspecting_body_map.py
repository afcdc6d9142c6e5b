"""The drawing on which the place of a defect is tapped.

Which zones there are, and that lengths are told from the bridge centre or the nut, is the
workshop's own order; common practice, no source. Whether a point lies in a shape is held
against ``matplotlib.path.Path.contains_point``, which knows nothing of ours.
"""

from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.path import Path

from shop.craft.hardware import Hand, SpecFacts
from shop.craft.inspecting import body_map as maps
from shop.craft.inspecting.shapes import Loop, Point, area, distance, winding
from shop.craft.inspecting.silhouette import Silhouette
from shop.craft.set_up.scale import fret_place
from shop.craft.words import THIN
from shop.craft.zones import PLACES, ZONES
from tests.craft.bench import SPECS

TARN, WOLD, VOE, SKERRY = (SPECS[key] for key in ("TARN", "WOLD", "VOE", "SKERRY"))
LEFT_TARN = replace(TARN, hand=Hand.LEFT, guard=Hand.LEFT)
LEFT_SKERRY = replace(SKERRY, hand=Hand.LEFT)
REVERSED = replace(SKERRY, reversed_line=True)
EVERY = {**SPECS, "left TARN": LEFT_TARN, "left SKERRY": LEFT_SKERRY, "reversed": REVERSED}
every_spec = pytest.mark.parametrize("key", EVERY)
every_view = pytest.mark.parametrize("view", maps.VIEWS)
unhurried = settings(deadline=None, max_examples=150)
spec_keys, views, parts = st.sampled_from([*EVERY]), st.sampled_from(maps.VIEWS), st.floats(0, 1)


@lru_cache
def drawn(key: str, view: str) -> maps.View:
    return maps.draw(EVERY[key], view)


def page_point(view: maps.View, fx: float, fy: float) -> Point:
    return view.left + fx * view.size_mm[0], view.top + fy * view.size_mm[1]


def contained(loops: tuple[Loop, ...], x: float, y: float) -> bool:
    """As matplotlib has it: loops that run one way add, those that run the other take away."""
    turns = [
        1 if area(one) > 0 else -1
        for one in loops
        if Path([*one, one[0]], closed=True).contains_point((x, y))
    ]
    return sum(turns) != 0


def drawn_loops(d: str) -> list[list[Point]]:
    return [
        [(float(x), float(y)) for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", one)]
        for one in d.removesuffix("Z").split("Z")
    ]


def test_the_views_together_show_every_zone_under_its_own_name() -> None:
    names = dict(pair for zones in ZONES.values() for pair in zones)
    seen: dict[int, str] = {}
    for view in maps.VIEWS:
        found = drawn("TARN", view)
        assert {one.number for one in found.zones} == {*maps.SHOWN[view]}
        seen |= {one.number: one.name for one in found.zones}
        assert {one.words for one in found.zones} <= {*PLACES.values()}
    assert seen == names


@unhurried
@given(spec_keys, views, parts, parts)
def test_a_place_inside_the_outline_lies_in_exactly_one_zone_and_one_outside_in_none(
    key: str, name: str, fx: float, fy: float
) -> None:
    view = drawn(key, name)
    x, y = view.from_page(*page_point(view, fx, fy))
    inside = winding(view.loops, x, y) != 0
    assert sum(zone.holds(x, y) for zone in view.zones) == inside


@unhurried
@given(spec_keys, views, parts, parts)
def test_what_a_finger_hits_is_what_another_program_finds_in_the_shape(
    key: str, name: str, fx: float, fy: float
) -> None:
    """Outside check: matplotlib.path. A hair along the line itself is either's."""
    view = drawn(key, name)
    x, y = view.from_page(*page_point(view, fx, fy))
    for zone in view.zones:
        if distance(zone.loops, x, y) > 1e-6:
            assert zone.holds(x, y) == contained(zone.loops, x, y)


@every_spec
def test_the_zones_of_a_view_fill_its_outline_to_the_square_millimetre(key: str) -> None:
    for name in ("front", "back", "bass side", "treble side", "inside"):
        view = drawn(key, name)
        body, *_machines = view.loops
        wood = sum(
            area(one)
            for zone in view.zones
            for one in zone.loops
            # Machines reach beyond the head and overlap its edge.
            if zone.number not in (1, 7) or one is zone.loops[0]
        )
        assert wood == pytest.approx(area(body), abs=1)


@every_spec
@every_view
def test_the_path_that_is_drawn_has_the_points_that_are_asked(key: str, view: str) -> None:
    found = drawn(key, view)
    for zone in found.zones:
        assert drawn_loops(zone.d) == [
            [found.on_page(point) for point in one] for one in zone.loops
        ]
    assert len(drawn_loops(found.outline)) == len(found.loops)


@every_spec
@every_view
def test_the_number_of_a_zone_stands_in_it_and_the_page_holds_all_that_is_drawn(
    key: str, view: str
) -> None:
    found = drawn(key, view)
    for zone in found.zones:
        assert zone.holds(*zone.centre)
        assert maps.zone_at(found, *zone.centre) == zone
    right, bottom = found.left + found.size_mm[0], found.top + found.size_mm[1]
    for x, y in (point for one in drawn_loops(found.outline) for point in one):
        assert found.left < x < right
        assert found.top < y < bottom


@every_spec
@every_view
def test_every_zone_or_its_badge_is_as_large_as_a_gloved_finger(key: str, view: str) -> None:
    """48 px each way with the drawing 358 px wide, and badges hold clear of each other."""
    found = drawn(key, view)
    half = maps.TARGET_PX / 2 * found.px
    badges = [zone.badge for zone in found.zones if zone.badge]
    for zone in found.zones:
        x, y = zone.centre
        if zone.badge is None:
            steps = [half * at / 8 for at in range(-8, 9)]
            assert all(zone.holds(x + dx, y + dy) for dx in steps for dy in steps), zone.words
        else:
            left, top = zone.badge.x - found.left, zone.badge.y - found.top
            assert half <= left <= found.size_mm[0] - half
            assert half <= top <= found.size_mm[1] - half
            assert (zone.badge.to_x, zone.badge.to_y) == zone.page_centre
    for at, one in enumerate(badges):
        for other in badges[at + 1 :]:
            assert abs(one.x - other.x) >= 2 * half or abs(one.y - other.y) >= 2 * half


@every_spec
def test_lengths_are_told_from_the_bridge_centre_on_the_body_and_from_the_nut_beyond(
    key: str,
) -> None:
    spec = EVERY[key]
    scale = float(spec.scale_mm)
    for name in ("front", "back", "bass side", "treble side", "head front", "head back"):
        for zone in drawn(key, name).zones:
            from_nut = zone.number in (1, 2, 7, 8, 13)
            assert zone.reference.key == ("nut" if from_nut else "bridge")
            assert zone.reference.origin == ((0.0, -scale) if from_nut else (0.0, 0.0))


@every_spec
def test_the_body_is_as_long_and_wide_and_deep_as_its_spec_says(key: str) -> None:
    spec = EVERY[key]
    (outline, *_machines) = drawn(key, "front").loops
    long, wide = float(spec.body_length_mm), float(spec.body_width_mm)
    ys, xs = [y for _x, y in outline], [x for x, _y in outline]
    assert max(xs) - min(xs) == pytest.approx(wide, abs=0.2)
    assert max(ys) - min(ys) == pytest.approx(float(spec.overall_mm), abs=0.2)
    joint = fret_place(float(spec.scale_mm), spec.body_joint_fret) - float(spec.scale_mm)
    assert max(ys) == pytest.approx(joint + long, abs=0.1)
    side = drawn(key, "bass side").zone(11)
    assert side is not None
    assert max(x for x, _y in side.points) == pytest.approx(float(spec.body_depth_mm), abs=3)


@every_view
def test_a_left_handed_guitar_is_the_same_wood_on_a_mirrored_page(view: str) -> None:
    right, left = maps.draw(TARN, view), maps.draw(LEFT_TARN, view)
    assert right.loops == left.loops
    assert [zone.loops for zone in right.zones] == [zone.loops for zone in left.zones]
    assert [zone.number for zone in right.zones] == [zone.number for zone in left.zones]
    if view in ("case", "paper"):
        assert right == left
        return
    for one, other in zip(right.zones, left.zones, strict=True):
        for points, others in zip(drawn_loops(one.d), drawn_loops(other.d), strict=True):
            assert others == [(-x, y) for x, y in points]


def test_bass_and_treble_change_places_on_the_page_and_zone_11_stays_the_bass_side() -> None:
    def sides(spec: SpecFacts, view: str) -> list[str]:
        return [one.words for one in sorted(maps.draw(spec, view).labels, key=lambda it: it.x)]

    assert sides(TARN, "front") == sides(WOLD, "back") == ["bass", "treble"]
    assert sides(TARN, "back") == sides(WOLD, "front") == ["treble", "bass"]
    for spec in (TARN, WOLD):
        assert [one.number for one in maps.draw(spec, "bass side").zones] == [11, 13]
        assert [one.number for one in maps.draw(spec, "treble side").zones] == [12, 13]


def test_the_neck_is_to_the_left_of_a_side_only_where_the_hand_has_it_so() -> None:
    """Found by holding one: bass side toward you, strings up, the neck of a right-handed
    guitar is on your left."""

    def neck_on_left(spec: SpecFacts, side: str) -> bool:
        view = maps.draw(spec, side)
        return view.zones[1].page_centre[0] < view.zones[0].page_centre[0]

    assert neck_on_left(TARN, "bass side")
    assert not neck_on_left(TARN, "treble side")
    assert not neck_on_left(WOLD, "bass side")
    assert neck_on_left(WOLD, "treble side")


def test_machines_stand_on_the_side_that_the_spec_gives_them() -> None:
    def on_page_left(spec: SpecFacts) -> int:
        it = Silhouette(spec)
        flip = -1 if spec.hand is Hand.LEFT else 1
        return sum(flip * post[0] < 0 for post, _shaft, _button in it.machines())

    for spec in EVERY.values():
        assert on_page_left(spec) == spec.left_posts
        assert sum(1 for _one in Silhouette(spec).machines()) == spec.strings


def test_a_tap_on_a_button_is_on_the_head_and_a_glove_just_beside_the_wood_still_hits() -> None:
    view = drawn("TARN", "front")
    for _post, _shaft, button in Silhouette(TARN).machines():
        x = sum(x for x, _y in button) / len(button)
        y = sum(y for _x, y in button) / len(button)
        hit = maps.zone_at(view, x, y)
        assert hit is not None
        assert hit.number == 1
    widest = float(TARN.body_width_mm) / 2
    beside = maps.zone_at(view, widest + 6, 80)
    assert beside is not None
    assert beside.number == 6
    assert maps.zone_at(view, widest + 12, 80) is None


def tap(spec: SpecFacts, name: str, x: float, y: float) -> maps.Place | None:
    """A tap where this lies on the page, given in the coordinates of the wood."""
    view = maps.draw(spec, name)
    page = view.on_page((x, y))
    return maps.from_fraction(
        view,
        (page[0] - view.left) / view.size_mm[0],
        (page[1] - view.top) / view.size_mm[1],
    )


def test_a_tap_becomes_zone_and_whole_millimetres_with_either_hand() -> None:
    for spec in (TARN, WOLD):
        assert tap(spec, "front", 12.3, 29.8) == maps.Place("front", 5, 12, 30)
        assert tap(spec, "back", -80, 120) == maps.Place("back", 10, -80, 120)
        assert tap(spec, "front", 4, -645 - 84) == maps.Place("front", 1, 4, -84)
        assert tap(spec, "bass side", 40, -120) == maps.Place("bass side", 11, 40, -120)
    assert maps.from_fraction(drawn("TARN", "front"), 0.01, 0.01) is None
    assert maps.from_fraction(drawn("TARN", "front"), float("nan"), 0.5) is None
    assert maps.from_fraction(drawn("TARN", "front"), 7, -3) is None


@unhurried
@given(spec_keys, views, parts, parts)
def test_a_tap_is_marked_again_within_a_millimetre_of_where_it_was(
    key: str, name: str, fx: float, fy: float
) -> None:
    view = drawn(key, name)
    place = maps.from_fraction(view, fx, fy)
    if place is None:
        x, y = view.from_page(*page_point(view, fx, fy))
        assert distance(view.loops, x, y) > maps.GLOVE_MM
        return
    marked = maps.on_page(view, place)
    assert marked == pytest.approx(page_point(view, fx, fy), abs=0.56)


def test_a_place_on_the_head_is_marked_alike_on_the_whole_guitar_and_on_the_head_alone() -> None:
    place = tap(TARN, "head front", 20, -645 - 60)
    assert place == maps.Place("head front", 1, 20, -60)
    assert maps.on_page(drawn("TARN", "front"), place) == (20, -705)
    assert maps.on_page(drawn("TARN", "back"), place) is None
    heel = maps.Place("bass side", 13, 30, 330)
    assert maps.on_page(drawn("TARN", "back"), heel) is None, "it is told from the front edge"
    only_zone = maps.Place("front", 3)
    assert (
        maps.on_page(drawn("TARN", "front"), only_zone)
        == drawn("TARN", "front").zones[2].page_centre
    )


@pytest.mark.parametrize(
    ("place", "words"),
    [
        (maps.Place("front", 5), "zone 5 bridge"),
        (
            maps.Place("front", 5, 12, 30),
            "zone 5 bridge, 12 mm to the treble side, 30 mm toward the tail from the bridge centre",
        ),
        (
            maps.Place("inside", 14, -7, -14),
            "zone 14 inside, 7 mm to the bass side, 14 mm toward the head from the bridge centre",
        ),
        (
            maps.Place("head front", 1, 0, -84),
            "zone 1 peghead face, on the centre line, 84 mm toward the tip from the nut",
        ),
        (
            maps.Place("treble side", 12, 40, 0),
            "zone 12 treble side, 40 mm from the front edge, level with the bridge centre",
        ),
        (
            maps.Place("case", 15, -30, 12),
            "zone 15 case, 30 mm to the left, 12 mm down from the middle of the lid",
        ),
        (
            maps.Place("paper", 16, 30, 0),
            "zone 16 papers, 30 mm from the left edge, on the upper edge",
        ),
    ],
)
def test_a_place_says_its_zone_and_how_far_it_is_from_what(place: maps.Place, words: str) -> None:
    assert place.words.replace(THIN, " ") == words


def test_what_no_drawing_shows_is_a_mistake_of_the_program() -> None:
    with pytest.raises(ValueError, match="'sideways'"):
        maps.draw(TARN, "sideways")
    with pytest.raises(ValueError, match="Zone 7"):
        maps.Place("front", 7)
    with pytest.raises(ValueError, match="both lengths or none"):
        maps.Place("front", 5, 12)


LENGTHS = ("overall_mm", "body_length_mm", "body_width_mm", "body_depth_mm", "scale_mm")
odd_lengths = st.fixed_dictionaries(dict.fromkeys(LENGTHS, st.decimals(0, 3000, places=1)))


@settings(deadline=None, max_examples=40)
@given(odd_lengths, st.integers(0, 30), st.sampled_from([*SPECS]))
def test_a_spec_with_odd_lengths_is_drawn_all_the_same(
    lengths: dict[str, Any], fret: int, key: str
) -> None:
    odd = replace(SPECS[key], body_joint_fret=fret, **lengths)
    for name in maps.VIEWS:
        view = maps.draw(odd, name)
        assert view.size_mm[0] > 0
        assert view.size_mm[1] > 0
        assert [one.number for one in view.zones] == [*maps.SHOWN[name]]
