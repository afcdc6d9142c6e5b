"""Strings on posts, and the drawing of the head.

The order of strings on every head is common practice, no source; so is the octave string
on the bass side of its pair. The turns are derived from where the string lies.
"""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import combinations
from xml.etree import ElementTree

import pytest
from django.template import Context, Engine

from shop.craft.hardware import Hand, SpecFacts, TunerFamily
from shop.craft.head import Drawing, View, at_nut, draw, posts
from tests.craft.bench import SPECS

ROOT = __file__.rsplit("/tests/", 1)[0]

TARN, NESS, FIRTH, SKERRY = (SPECS[key] for key in ("TARN", "NESS", "FIRTH", "SKERRY"))


def left_handed(spec: SpecFacts) -> SpecFacts:
    return replace(spec, hand=Hand.LEFT)


REVERSED = replace(SKERRY, reversed_line=True)
TREBLE_OCTAVES = replace(FIRTH, octave_on_bass_side=False)
HEADS = {
    "three and three": TARN,
    "slotted": NESS,
    "on plates": SPECS["FELL"],
    "twelve": FIRTH,
    "twelve, octaves on the treble side": TREBLE_OCTAVES,
    "in line": SKERRY,
    "in line, reversed": REVERSED,
}
HEADS |= {f"{name}, left-handed": left_handed(spec) for name, spec in HEADS.items()}
every_head = pytest.mark.parametrize("spec", HEADS.values(), ids=HEADS)


def from_tip(spec: SpecFacts, view: View) -> tuple[list[str], list[str]]:
    """The strings down the left and the right of a drawing, tip first, as a person reads it."""
    dots = sorted(draw(spec, view).dots, key=lambda dot: dot.y)
    left = [dot.label for dot in dots if dot.side == "left"]
    return left, [dot.label for dot in dots if dot.side == "right"]


@pytest.mark.parametrize(
    ("spec", "left", "right"),
    [
        (TARN, "4 5 6", "3 2 1"),
        (NESS, "4 5 6", "3 2 1"),
        (SPECS["FELL"], "4 5 6", "3 2 1"),
        (SPECS["WOLD"], "3 2 1", "4 5 6"),
        (SKERRY, "1 2 3 4 5 6", ""),
        (left_handed(SKERRY), "", "1 2 3 4 5 6"),
        (REVERSED, "", "6 5 4 3 2 1"),
        (left_handed(REVERSED), "6 5 4 3 2 1", ""),
        (FIRTH, "4 4o 5 5o 6 6o", "3o 3 2 2' 1 1'"),
        (left_handed(FIRTH), "3o 3 2 2' 1 1'", "4 4o 5 5o 6 6o"),
        (TREBLE_OCTAVES, "4o 4 5o 5 6o 6", "3 3o 2 2' 1 1'"),
    ],
)
def test_each_head_is_strung_as_it_is_in_the_shop(spec: SpecFacts, left: str, right: str) -> None:
    """Front view, tip first; common practice, no source."""
    assert from_tip(spec, "front") == (left.split(), right.split())
    assert from_tip(spec, "back") == (right.split(), left.split())


def test_the_strings_of_pairs_cross_the_nut_octave_first_from_the_bass() -> None:
    """Common practice, no source; the other way round is a field of the spec."""
    assert " ".join(at_nut(FIRTH)) == "6o 6 5o 5 4o 4 3o 3 2 2' 1 1'"
    assert " ".join(at_nut(TREBLE_OCTAVES)) == "6 6o 5 5o 4 4o 3 3o 2 2' 1 1'"


@every_head
def test_every_string_has_exactly_one_post(spec: SpecFacts) -> None:
    strings = [post.string for post in posts(spec)]
    assert sorted(strings) == sorted(at_nut(spec))
    assert len(set(strings)) == spec.strings


@every_head
def test_the_posts_of_a_side_are_numbered_from_the_nut_without_a_gap(spec: SpecFacts) -> None:
    for side, count in (("left", spec.left_posts), ("right", spec.right_posts)):
        orders = [post.order for post in posts(spec) if post.side == side]
        assert orders == list(range(1, count + 1))


@every_head
def test_the_outermost_string_at_the_nut_goes_to_the_nearest_post(spec: SpecFacts) -> None:
    first = {post.side: post.string for post in posts(spec) if post.order == 1}
    assert first.get("left", at_nut(spec)[0]) == at_nut(spec)[0]
    assert first.get("right", at_nut(spec)[-1]) == at_nut(spec)[-1]


@every_head
def test_no_string_crosses_another(spec: SpecFacts) -> None:
    """By the orientation test of plane geometry on the drawn strings."""

    def turn(a: tuple[int, int], b: tuple[int, int], c: tuple[int, int]) -> int:
        value = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
        return (value > 0) - (value < 0)

    for one, other in combinations(draw(spec, "front").runs, 2):
        parted = turn(one.nut, one.post, other.nut) == turn(one.nut, one.post, other.post)
        astride = turn(other.nut, other.post, one.nut) == turn(other.nut, other.post, one.post)
        assert parted or astride, (one.string, other.string)


@every_head
def test_no_string_runs_over_the_ring_of_another_post(spec: SpecFacts) -> None:
    drawing = draw(spec, "front")
    for run in drawing.runs:
        for dot in drawing.dots:
            if dot.label == run.string:
                continue
            (x0, y0), (x1, y1) = run.nut, run.post
            along = ((dot.x - x0) * (x1 - x0) + (dot.y - y0) * (y1 - y0)) / (
                (x1 - x0) ** 2 + (y1 - y0) ** 2
            )
            along = min(1.0, max(0.0, along))
            gap = (x0 + along * (x1 - x0) - dot.x) ** 2 + (y0 + along * (y1 - y0) - dot.y) ** 2
            assert gap >= dot.radius**2 - 1, (run.string, dot.label)


@every_head
def test_a_left_handed_head_is_the_mirror_of_a_right_handed_one(spec: SpecFacts) -> None:
    other = replace(spec, hand=Hand.RIGHT if spec.hand is Hand.LEFT else Hand.LEFT)
    here = {(post.side, post.order): post.string for post in posts(spec)}
    there = {
        ("left" if post.side == "right" else "right", post.order): post.string
        for post in posts(other)
    }
    assert here == there


@every_head
def test_a_post_turns_so_that_its_string_moves_toward_the_tip(spec: SpecFacts) -> None:
    """Derived: the velocity of a turning point is the turn crossed with its radius."""
    drawing = draw(spec, "front")
    for dot, run in zip(drawing.dots, drawing.runs, strict=True):
        if drawing.slots:
            assert dot.turn == "front face toward the tip"
            continue
        rightward = run.post[0] - dot.x  # the string touches its post on this side
        counter_clockwise = dot.turn == "counter-clockwise"
        upward = rightward if counter_clockwise else -rightward
        assert upward > 0, dot.label


@every_head
def test_a_machine_keeps_its_hand_in_both_views(spec: SpecFacts) -> None:
    for view in ("front", "back"):
        hands = {dot.label: dot.post.machine for dot in draw(spec, view).dots}
        assert hands == {post.string: post.side[0].upper() for post in posts(spec)}


def test_a_graduated_sets_machine_bears_the_mark_of_its_string() -> None:
    """Common practice, no source: such sets are marked by string."""
    assert [post.mark for post in posts(SPECS["WOLD"])] == ["1", "2", "3", "6", "5", "4"]


# The drawing.


@every_head
def test_a_drawing_turned_over_twice_is_itself(spec: SpecFacts) -> None:
    for view in ("front", "back"):
        drawing = draw(spec, view)
        assert drawing.turned_over() != drawing
        assert drawing.turned_over().turned_over() == drawing


@every_head
def test_the_back_is_the_mirror_of_the_front(spec: SpecFacts) -> None:
    front, back = draw(spec, "front"), draw(spec, "back")
    assert (front.width, front.height) == (back.width, back.height)
    for one, other in zip(front.dots, back.dots, strict=True):
        assert one.label == other.label
        assert one.y == other.y
        assert one.x + other.x == front.width
        assert one.button_x + other.button_x == front.width
        assert one.side != other.side
        assert one.turn != other.turn
    assert front.edges == back.edges[::-1]


def test_a_view_that_is_neither_is_turned_away() -> None:
    with pytest.raises(ValueError, match="name the front or the back"):
        draw(TARN, "side")  # type: ignore[arg-type]


def test_each_view_is_named_in_words() -> None:
    assert draw(TARN, "front").title == "FRONT — strings facing you"
    assert draw(TARN, "back").title == "BACK — buttons and gears facing you"


def test_a_post_is_told_in_one_sentence() -> None:
    spoken = {dot.label: dot.spoken for dot in draw(TARN, "front").dots}
    assert spoken["4"] == (
        "String 4: left side, third from the nut, left machine, turns counter-clockwise"
    )
    behind = {dot.label: dot.spoken for dot in draw(TARN, "back").dots}
    assert behind["4"] == "String 4: right side, third from the nut, left machine, turns clockwise"
    twelve = {dot.label: dot.spoken for dot in draw(FIRTH, "front").dots}
    assert twelve["6o"].startswith("String 6 octave: left side, first from the nut")
    assert twelve["1'"].startswith("String 1 second of the pair: right side, first from the nut")
    assert twelve["4"].startswith("String 4: left side, sixth from the nut")


@every_head
def test_the_summary_tells_every_post_and_where_the_bass_is(spec: SpecFacts) -> None:
    for view in ("front", "back"):
        drawing = draw(spec, view)
        assert all(dot.spoken in drawing.summary for dot in drawing.dots)
        assert f"bass strings on the {drawing.bass}" in drawing.summary
    assert draw(spec, "front").bass == ("right" if spec.hand is Hand.LEFT else "left")


@every_head
def test_everything_lies_inside_the_drawing_and_no_ring_touches_another(spec: SpecFacts) -> None:
    drawing = draw(spec, "front")
    for dot in drawing.dots:
        assert 16 <= dot.button_x <= drawing.width - 16
    for one, other in combinations(drawing.dots, 2):
        assert (one.x - other.x) ** 2 + (one.y - other.y) ** 2 > (one.radius + other.radius) ** 2
    assert all(0 <= x <= drawing.width and 0 <= y <= drawing.height for x, y in drawing.edge)


def rendered(drawing: Drawing) -> str:
    template = Engine(dirs=[f"{ROOT}/templates"]).get_template("drawing/head.svg")
    return template.render(Context({"drawing": drawing}, use_l10n=False, use_tz=False))


SVG = "{http://www.w3.org/2000/svg}"


@every_head
@pytest.mark.parametrize("view", ["front", "back"])
def test_the_picture_shows_every_string_and_names_its_view(spec: SpecFacts, view: View) -> None:
    drawing = draw(spec, view)
    picture = ElementTree.fromstring(rendered(drawing))
    shown = [text.text for text in picture.iter(f"{SVG}text")]
    assert set(at_nut(spec)) <= set(shown)
    assert view.upper() in shown
    assert {"bass", "treble"} <= set(shown)
    assert picture.get("role") == "img"
    assert picture.findtext(f"{SVG}title") == drawing.title
    assert picture.findtext(f"{SVG}desc") == drawing.summary


def test_the_picture_takes_its_colour_from_the_page_and_carries_no_style() -> None:
    for view in ("front", "back"):
        text = rendered(draw(FIRTH, view))
        assert "style" not in text
        assert set(re.findall(r'(?:fill|stroke)="([a-zA-Z#][^"]*)"', text)) == {
            "currentColor",
            "none",
        }


def test_the_pictures_of_both_views_share_no_id() -> None:
    ids = [
        element.get("id")
        for view in ("front", "back")
        for element in ElementTree.fromstring(rendered(draw(TARN, view))).iter()
        if element.get("id")
    ]
    assert len(ids) == len(set(ids)) == 4


def test_no_lettering_is_under_16_px_in_a_picture_170_px_wide() -> None:
    text = rendered(draw(FIRTH, "front"))
    width = draw(FIRTH, "front").width
    sizes = [int(size) * 170 / width for size in re.findall(r'font-size="(\d+)"', text)]
    assert min(sizes) >= 16


def test_only_a_head_with_pairs_carries_the_key_to_their_marks() -> None:
    assert draw(FIRTH, "front").key == "o octave · ' second"
    assert draw(TARN, "front").key == ""
    assert SKERRY.tuner_family is TunerFamily.LINE
