"""Drawings of figures: no style, read out by a title, the same text for the same values."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.desk.plain_svg import SVG
from shop.desk.plotting import BELOW, PANEL, WIDTH, Band, Level, Panel, Row, drawing

MONDAY = datetime(2031, 3, 3, 6, 0, tzinfo=UTC)
ACTIONS = (2.41, 2.38, 2.44, 2.40, 2.62, 2.39)


def panels(values: tuple[float, ...] = ACTIONS) -> list[Panel]:
    numbers = list(range(1, len(values) + 1))
    return [
        Panel(
            "Action, mm",
            [Row(numbers, values, dot="disc"), Row([5], [2.62], "stop", False, "square", True)],
            [Level(2.4, dashed=False), Level(2.55, "wanted", "note", left=True)],
        ),
        Panel("Moving range, mm", [Row(numbers, values, dot="ring")], share=0.7),
    ]


def drawn(title: str = "Action at fret 12", name: str = "a") -> ElementTree.Element:
    return ElementTree.fromstring(drawing(name, title, panels(), "Reading"))


def words(picture: ElementTree.Element) -> list[str]:
    return [one.text or "" for one in picture.iter(f"{{{SVG}}}text")]


def test_it_carries_no_style_and_says_nothing_about_itself() -> None:
    """What the pages' Content-Security-Policy would refuse: W3C, CSP Level 3, style-src."""
    text = drawing("a", "Action", panels())
    assert "style" not in text
    assert "metadata" not in text
    assert "font-family" not in text
    assert "<?xml" not in text
    assert "<!DOCTYPE" not in text
    assert not re.search(r"#[0-9a-f]{6}\b", text)


def test_it_is_read_out_by_its_title() -> None:
    picture = drawn("Action <bass> & treble")
    title = picture[0]
    assert title.tag == f"{{{SVG}}}title"
    assert title.text == "Action <bass> & treble"
    assert picture.get("role") == "img"
    assert picture.get("aria-labelledby") == title.get("id")


def test_its_words_stay_words() -> None:
    found = words(drawn())
    assert {"Action, mm", "Moving range, mm", "wanted", "Reading", "2.48"} <= set(found)


def test_it_is_as_wide_as_a_phone_and_no_letter_is_small_then() -> None:
    """360 units on a page of 358 px are read at their size; 11 px at least."""
    picture = drawn()
    assert picture.get("viewBox") == f"0 0 {WIDTH:g} {PANEL * 1.7 + BELOW:g}"
    assert "width" not in picture.attrib
    sizes = [float(one.get("font-size", "0")) for one in picture.iter(f"{{{SVG}}}text")]
    assert min(sizes) >= 11


def test_every_word_lies_within_it() -> None:
    for one in drawn().iter(f"{{{SVG}}}text"):
        x, y = float(one.get("x", "0")), float(one.get("y", "0"))
        assert 0 <= x <= WIDTH
        assert 0 < y <= PANEL * 1.7 + BELOW


def test_the_same_values_give_the_same_text() -> None:
    assert drawing("a", "Action", panels()) == drawing("a", "Action", panels())


def test_what_is_asked_for_by_an_id_is_there_and_two_drawings_share_none() -> None:
    one, other = drawn(name="a"), drawn(name="b")
    ids = [{part.get("id") for part in it.iter() if part.get("id")} for it in (one, other)]
    asked = [part.get("href", "#")[1:] for part in one.iter() if part.get("href")]
    clipped = re.findall(r"url\(#([\w-]+)\)", ElementTree.tostring(one, encoding="unicode"))
    assert asked
    assert clipped
    assert {*asked, *clipped} <= ids[0]
    assert not ids[0] & ids[1]


def test_inks_are_classes_with_the_colour_of_the_text_behind_them() -> None:
    parts = [one for one in drawn().iter() if "line-stop" in (one.get("class") or "")]
    assert parts
    assert {one.get("stroke") for one in parts} == {"currentColor"}


def test_what_speaks_has_a_shape_of_its_own() -> None:
    """An open square about the disc of a reading: four corners, no curve."""
    square, used = (one for one in drawn().iter() if one.get("class") == "line-stop")
    assert square.tag == f"{{{SVG}}}path"
    assert "C" not in square.get("d", "")
    assert used.tag == f"{{{SVG}}}use"
    assert used.get("fill-opacity") == "0"


@pytest.mark.parametrize(
    ("step", "form"), [(timedelta(minutes=10), r"\d\d:\d\d"), (timedelta(hours=6), r"\d\d-\d\d")]
)
def test_moments_stand_along_the_axis_as_hours_or_as_days(step: timedelta, form: str) -> None:
    moments = [MONDAY + step * number for number in range(60)]
    room = Panel(
        "%RH",
        [Row(moments, [47.0 + number % 3 for number in range(60)])],
        bands=[Band(42, 55), Band(moments[20], moments[30], "stop", upright=True)],
    )
    found = words(ElementTree.fromstring(drawing("room", "Room", [room])))
    assert sum(bool(re.fullmatch(form, one)) for one in found) >= 3


def test_a_row_without_a_value_for_each_place_is_a_mistake() -> None:
    with pytest.raises(ValueError, match="1 values at 2 places"):
        Row([1, 2], [2.4])


@settings(max_examples=15, deadline=None)
@given(st.lists(st.floats(-1e4, 1e4), min_size=1, max_size=30))
def test_any_values_can_be_drawn(values: list[float]) -> None:
    text = drawing("a", "Any", [Panel("mm", [Row(list(range(len(values))), values, dot="disc")])])
    picture = ElementTree.fromstring(text)
    assert sum(one.tag == f"{{{SVG}}}use" for one in picture.iter()) >= len(values)
    assert "nan" not in text


def test_the_words_of_a_level_stand_on_paper_so_that_dots_do_not_cross_them() -> None:
    parts = list(drawn().iter())
    papers = [at for at, one in enumerate(parts) if one.get("class") == "fill-paper"]
    wanted = next(at for at, one in enumerate(parts) if one.text == "wanted")
    assert wanted - 1 in papers
