"""The nut as it is drawn on a screen."""

from __future__ import annotations

import pytest

from shop.craft.hardware import Hand
from shop.craft.set_up import nut_drawing
from shop.craft.set_up.nut import NutString, place

SIX = (("6", 1.346), ("5", 1.067), ("4", 0.813), ("3", 0.610), ("2", 0.406), ("1", 0.305))


def drawn(hand: Hand) -> nut_drawing.NutDrawing:
    plan = place(tuple((NutString(*one),) for one in SIX), 44.5, hand)
    return nut_drawing.draw(plan, 44.5)


def test_a_slot_is_drawn_as_wide_as_its_string_about_its_middle() -> None:
    for mark, (name, diameter_mm) in zip(drawn(Hand.RIGHT).marks, SIX, strict=True):
        assert mark.string == name
        assert mark.width == pytest.approx(diameter_mm * 10, abs=0.06)
        assert mark.begins + mark.width / 2 == pytest.approx(mark.x, abs=0.11)


def test_a_left_handed_nut_is_drawn_as_the_mirror_of_a_right_handed_one() -> None:
    right, left = drawn(Hand.RIGHT), drawn(Hand.LEFT)
    assert right.words == "6 5 4 3 2 1"
    assert left.words == "1 2 3 4 5 6"
    for one, other in zip(left.marks, reversed(right.marks), strict=True):
        assert one.x == pytest.approx(445 - other.x, abs=0.11)


def test_the_names_of_a_pair_stand_on_two_lines() -> None:
    pairs = tuple((NutString(f"{one}o", 0.3), NutString(f"{one}", 1.0)) for one in (6, 5, 4, 3))
    drawing = nut_drawing.draw(place(pairs, 47.6), 47.6)
    assert {mark.name_y for mark in drawing.marks[0::2]} == {nut_drawing.LINES[0]}
    assert {mark.name_y for mark in drawing.marks[1::2]} == {nut_drawing.LINES[1]}
    assert {mark.name_y for mark in drawn(Hand.RIGHT).marks} == {nut_drawing.LINES[0]}
