"""The checklist of an inspection: what is asked of which spec. All common practice, no source."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest

from shop.craft.hardware import SpecFacts
from shop.craft.inspecting.areas import Area, Item, Light, SeenBy, areas_of
from shop.craft.words import THIN
from tests.craft.bench import SPECS

EACH_SPEC = pytest.mark.parametrize("spec", SPECS.values(), ids=SPECS)

# What is looked at, as the trade lists it area by area, on one guitar or another.
LISTED = {
    1: "overlay inlay lacquer logo bushings machines order windings rollers ramps",
    2: "plates screws screw-heads buttons backlash serial",
    3: "seat ends slots polish",
    4: "colour markers ends height crown polish glue fall-away",
    5: "straight relief shape finish dents rod",
    6: "gap step cap centre button",
    7: "colour grain rosette dome cracks sink marks guard",
    8: "edges place pins seat lean balls knots",
    9: "wood bindings purfling gaps scrapes cutaway",
    10: "colour seam cracks marks",
    11: "braces glue dust label wires block",
    12: "strings noise controls battery",
    13: "notes bends chords rattles",
    14: "relief action-bass action-treble nut saddle octave tuning",
    15: "key papers tag fit latches",
    16: "look metal",
}


def items(spec: SpecFacts) -> Mapping[str, Item]:
    return {item.key: item for area in areas_of(spec) for item in area.items}


def area(number: int, spec: SpecFacts) -> Area:
    return next(one for one in areas_of(spec) if one.number == number)


def test_every_item_of_the_trade_is_asked_of_one_guitar_or_another() -> None:
    asked: dict[int, set[str]] = {}
    for spec in SPECS.values():
        for one in areas_of(spec):
            asked.setdefault(one.number, set()).update(
                item.key.removeprefix(f"{one.key}.") for item in one.items
            )
    assert asked == {number: set(keys.split()) for number, keys in LISTED.items()}


@EACH_SPEC
def test_an_area_falls_away_with_the_electronics_and_the_numbers_stay(spec: SpecFacts) -> None:
    numbers = [one.number for one in areas_of(spec)]
    left_out = set() if spec.electronics else {12}
    assert numbers == [number for number in range(1, 17) if number not in left_out]
    assert ("inside.wires" in items(spec)) is bool(spec.electronics)


@EACH_SPEC
def test_each_key_and_each_sentence_of_an_area_stands_once(spec: SpecFacts) -> None:
    areas = areas_of(spec)
    keys = [item.key for one in areas for item in one.items]
    assert len(set(keys)) == len(keys)
    assert len({one.title for one in areas}) == len(areas)
    for one in areas:
        assert len({item.words for item in one.items}) == len(one.items)
        assert one.how.endswith(".")
        assert all(not item.words.endswith(".") for item in one.items)


def test_a_key_means_the_same_on_every_spec() -> None:
    areas: dict[str, tuple[int, SeenBy]] = {}
    for spec in SPECS.values():
        for one in areas_of(spec):
            for item in one.items:
                assert areas.setdefault(item.key, (one.number, item.seen_by)) == (
                    one.number,
                    item.seen_by,
                )


def test_each_light_is_asked_for_in_words_with_its_numbers() -> None:
    said = [light.words.replace(THIN, " ") for light in Light]
    assert "500 lx" in said[0]
    assert "600 mm" in said[0]
    assert "30°" in said[0]
    assert "1000 lx" in said[1]
    assert "dark wall" in said[1]
    assert len(set(said)) == 4


@EACH_SPEC
def test_finish_is_seen_by_raking_light_the_inside_by_the_lamp_and_sound_by_none(
    spec: SpecFacts,
) -> None:
    light = {one.number: one.light for one in areas_of(spec)}
    assert {light[number] for number in (1, 5, 7, 9, 10)} == {Light.RAKING}
    assert light[11] is Light.LAMP
    assert {light[number] for number in light if number in (12, 13, 15)} == {Light.NONE}
    assert {light[number] for number in (2, 3, 4, 6, 8, 14, 16)} == {Light.NORMAL}


def test_the_edges_of_the_bridge_are_tried_with_the_feeler() -> None:
    edges = items(SPECS["TARN"])["bridge.edges"]
    assert edges.seen_by is SeenBy.FEELER
    assert edges.seen_by.replace(THIN, " ") == "with a feeler of 0.05 mm"


def test_strings_tied_to_the_bridge_have_knots_and_neither_pins_nor_balls() -> None:
    tied, pinned = items(SPECS["VOE"]), items(SPECS["TARN"])
    assert "bridge.knots" in tied
    assert not {"bridge.pins", "bridge.balls"} & tied.keys()
    assert {"bridge.pins", "bridge.balls"} <= pinned.keys()
    assert "bridge.knots" not in pinned


@pytest.mark.parametrize("key", ["NESS", "VOE"])
def test_a_slotted_head_has_rollers_and_ramps_and_no_bushings(key: str) -> None:
    found = items(SPECS[key])
    assert {"face.rollers", "face.ramps"} <= found.keys()
    assert not {"face.bushings", "face.lacquer"} & found.keys()
    assert "sides of the head" in found["head-back.plates"].words


def test_a_solid_head_has_bushings_and_neither_rollers_nor_ramps() -> None:
    found = items(SPECS["TARN"])
    assert {"face.bushings", "face.lacquer"} <= found.keys()
    assert not {"face.rollers", "face.ramps"} & found.keys()


@EACH_SPEC
def test_only_a_guitar_with_a_pickguard_has_its_edge_looked_at(spec: SpecFacts) -> None:
    assert ("top.guard" in items(spec)) is (spec.guard is not None)


def test_a_kit_without_a_strap_button_has_none_looked_at() -> None:
    assert "heel.button" in items(SPECS["TARN"])
    assert "heel.button" not in items(replace(SPECS["TARN"], strap_button=False))


def test_twelve_strings_are_asked_as_pairs_with_the_side_of_the_octave_string() -> None:
    found = items(SPECS["FIRTH"])
    assert found["face.machines"].words == "12 machines in line, 6 a side"
    assert found["face.order"].words == (
        "Each string of 6 pairs on its own post, pair 6 on the left side, seen from the front"
    )
    assert found["nut.slots"].words.endswith("octave string of pairs 6 to 3 on the bass side")
    assert found["bridge.pins"].words == "12 pins down, alike in height"
    assert "both strings" in found["playing.notes"].words
    assert "12 strings" in found["values.octave"].words
    other = items(replace(SPECS["FIRTH"], octave_on_bass_side=False))
    assert other["nut.slots"].words.endswith("on the treble side")


def test_on_a_left_handed_guitar_the_bass_is_on_the_right() -> None:
    left, right = items(SPECS["WOLD"]), items(SPECS["HOLM"])
    for key in ("face.order", "nut.slots", "bridge.seat"):
        assert "right side, seen from the front" in left[key].words
        assert "left side, seen from the front" in right[key].words


def test_six_in_line_are_named_by_their_side_and_the_string_nearest_the_nut() -> None:
    found = items(SPECS["SKERRY"])
    assert found["face.machines"].words == (
        "6 machines in one straight line, on the left side, seen from the front"
    )
    assert found["face.order"].words.endswith("string 6 nearest the nut")
    turned = items(replace(SPECS["SKERRY"], reversed_line=True))
    assert "right side" in turned["face.machines"].words
    assert turned["face.order"].words.endswith("string 1 nearest the nut")


def test_plates_of_three_lie_on_the_wood() -> None:
    assert items(SPECS["FELL"])["head-back.plates"].words == "Plates flat and square on the wood"


def test_only_what_no_fact_of_the_spec_tells_may_not_apply() -> None:
    untold = {key for key, item in items(SPECS["HOLM"]).items() if item.may_not_apply}
    assert untold == {
        "face.inlay", "face.logo", "board.markers", "heel.cap", "sides.bindings",
        "sides.purfling", "sides.cutaway", "back.seam",
    }  # fmt: skip
    nylon = {key for key, item in items(SPECS["VOE"]).items() if item.may_not_apply}
    assert nylon - untold == {"neck.rod", "extras.key"}


@EACH_SPEC
def test_what_may_hurt_a_person_or_the_rod_is_told_where_it_is_done(spec: SpecFacts) -> None:
    assert "keep your eyes out of its line" in area(13, spec).how
    assert "no further than 1/4 turn" in area(5, spec).how
