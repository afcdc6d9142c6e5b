"""A set is one only with all of its machines, screws and a spare, bushings, one lot.

Common practice, no source.
"""

from __future__ import annotations

from dataclasses import fields, replace
from decimal import Decimal

import pytest

from shop.craft.hardware import Bushing, Hand, TunerFamily, TunerSet
from shop.craft.singles import Laid, lacks, questions, spares_wanted

SET = TunerSet(
    key="T01", name="open-gear set", carried=TunerFamily.SOLO, left=3, right=3, hand=Hand.ANY,
    bushing=Bushing.PRESS, bushing_od_mm=Decimal("8.8"), post_mm=Decimal(6), reach_mm=Decimal(21),
    peghead_min_mm=Decimal(13), peghead_max_mm=Decimal("15.5"), spacing_mm=None,
    plate_width_mm=Decimal(15), button_width_mm=Decimal("15.5"), screw_length_mm=Decimal("9.5"),
    ratios=("18:1",),
)  # fmt: skip
MARKED = replace(SET, ratios=("18:1", "16:1", "14:1", "14:1", "16:1", "18:1"))
ALL = Laid(*[True] * len(fields(Laid)))


def test_a_set_with_all_that_belongs_to_it_lacks_nothing() -> None:
    assert lacks(SET, ALL) == ()
    assert lacks(MARKED, ALL) == ()


@pytest.mark.parametrize(
    ("lost", "words"),
    [
        ("machines", "machines: 3 left and 3 right belong to it"),
        ("screws", "screws and 1 spare"),
        ("bushings", "6 bushings"),
        ("one_lot", "one lot for all of it"),
        ("strings", "one machine for each string"),
    ],
)
def test_each_answer_that_is_no_is_told(lost: str, words: str) -> None:
    assert lacks(MARKED, replace(ALL, **{lost: False})) == (words,)


def test_nothing_answered_lacks_everything_that_is_asked() -> None:
    assert len(lacks(MARKED, Laid())) == len(questions(MARKED)) == 5


def test_a_set_whose_machines_are_alike_is_not_asked_for_their_strings() -> None:
    assert "strings" not in questions(SET)
    assert lacks(SET, replace(ALL, strings=False)) == ()


def test_a_set_without_bushings_is_not_asked_for_them() -> None:
    plates = replace(SET, bushing=Bushing.NONE, bushing_od_mm=None)
    assert "bushings" not in questions(plates)
    assert lacks(plates, replace(ALL, bushings=False)) == ()


def test_the_questions_name_how_many_machines_on_which_side() -> None:
    line = replace(SET, left=6, right=0)
    assert questions(line)["machines"] == "All 6 left and 0 right machines are there"


@pytest.mark.parametrize(("sets", "spares"), [(0, 0), (1, 1), (20, 1), (21, 2), (40, 2), (41, 3)])
def test_one_spare_single_is_kept_for_each_begun_twenty_sets(sets: int, spares: int) -> None:
    assert spares_wanted(sets) == spares
