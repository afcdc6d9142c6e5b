"""How far a checklist is answered. All common practice, no source."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft.finding import Severity
from shop.craft.inspecting.areas import areas_of
from shop.craft.inspecting.progress import Answer, Progress
from tests.craft.bench import SPECS

EACH_SPEC = pytest.mark.parametrize("key", SPECS)
OK, DEFECT, NOT_APPLICABLE = Answer.OK, Answer.DEFECT, Answer.NOT_APPLICABLE


def begun(key: str = "TARN") -> Progress:
    return Progress(areas_of(SPECS[key]))


def all_ok(key: str = "TARN") -> Progress:
    progress = begun(key)
    for item in progress.open:
        progress = progress.answered(item.key, OK)
    return progress


@EACH_SPEC
def test_area_after_area_comes_until_all_are_answered(key: str) -> None:
    progress, seen = begun(key), []
    while (area := progress.next) is not None:
        seen.append(area.number)
        for item in area.items:
            assert not progress.complete
            progress = progress.answered(item.key, OK)
    assert seen == [area.number for area in progress.areas]
    assert progress.complete
    assert progress.open == ()
    assert progress.to_finish({}) == ()


def test_what_is_skipped_comes_next_and_is_counted_before_the_end() -> None:
    progress = all_ok()
    answers = {key: one for key, one in progress.answers.items() if key != "nut.seat"}
    progress = replace(progress, answers=answers)
    assert progress.next is not None
    assert progress.next.number == 3
    assert [item.key for item in progress.open] == ["nut.seat"]
    (finding,) = progress.to_finish({})
    assert (finding.rule, finding.severity) == ("checklist", Severity.STOP)
    assert finding.words == f"1 of {progress.asked} items are still open, the first in area 3 Nut."
    assert finding.then == "Go on with area 3 Nut."
    assert progress.findings({}) == ()


def test_an_answer_given_again_stands_in_the_place_of_the_first() -> None:
    progress = begun().answered("nut.seat", DEFECT).answered("nut.seat", OK)
    assert progress.answers == {"nut.seat": OK}


def test_a_defect_needs_one_noted_in_its_area() -> None:
    progress = all_ok().answered("bridge.edges", DEFECT).answered("bridge.lean", DEFECT)
    (finding,) = progress.to_finish({7: 3})
    assert finding.severity is Severity.STOP
    assert finding.words == "Area 8 Bridge: answered as defect 2, defects noted 0."
    assert finding.then.startswith("Note the defect with its word and its place")
    assert progress.to_finish({8: 1}) == ()
    assert progress.findings({8: 0}) == progress.findings({7: 3})


def test_not_applicable_is_taken_only_of_what_may_not_be_there() -> None:
    progress = begun()
    assert progress.refused("sides.cutaway", NOT_APPLICABLE) == ()
    (finding,) = progress.refused("nut.seat", NOT_APPLICABLE)
    assert finding.severity is Severity.STOP
    assert finding.words == (
        "Area 3 Nut, not applicable was said of what this guitar has: "
        "Nut seated, no light under it."
    )
    assert progress.refused("nut.seat", DEFECT) == ()
    with pytest.raises(ValueError, match=r"'not applicable' is no answer to 'nut\.seat'"):
        progress.answered("nut.seat", NOT_APPLICABLE)


def test_not_applicable_from_before_a_spec_had_the_part_is_told() -> None:
    kept = {**all_ok().plain(), "neck.rod": "not applicable"}
    (finding,) = Progress.of(areas_of(SPECS["TARN"]), kept).findings({})
    assert "Area 5 Neck" in finding.words
    nylon = {**all_ok("VOE").plain(), "neck.rod": "not applicable"}
    assert Progress.of(areas_of(SPECS["VOE"]), nylon).to_finish({}) == ()


def test_an_answer_to_what_the_spec_does_not_have_is_named() -> None:
    progress = begun("VOE")
    (finding,) = progress.refused("bridge.pins", OK)
    assert finding.severity is Severity.STOP
    assert finding.words == (
        f"bridge.pins is none of the {progress.asked} items asked of this guitar."
    )
    given = replace(progress, answers={"bridge.pins": OK})
    assert given.findings({}) == (finding,)
    with pytest.raises(ValueError, match=r"bridge\.pins"):
        progress.answered("bridge.pins", OK)


def test_answers_of_another_revision_are_told_and_not_lost() -> None:
    kept = {**all_ok().plain(), "bridge.plate": "ok", "nut.seat": "later"}
    progress = Progress.of(areas_of(SPECS["TARN"]), kept)
    assert progress.others == {"bridge.plate": "ok", "nut.seat": "later"}
    assert [item.key for item in progress.open] == ["nut.seat"]
    (told,) = progress.findings({})
    assert told.severity is Severity.NOTE
    assert "2, not asked here: nut.seat (later), bridge.plate (ok)." in told.words
    assert progress.plain() == kept
    answered = progress.answered("nut.seat", OK)
    assert answered.complete
    assert answered.plain() == {**kept, "nut.seat": "ok"}


def test_an_item_that_a_later_revision_asks_is_open() -> None:
    kept = all_ok("TARN").plain()
    progress = Progress.of(areas_of(SPECS["HOLM"]), kept)
    assert progress.next is not None
    assert progress.next.number == 11
    assert {item.key for item in progress.open} == {
        "inside.wires", "electronics.strings", "electronics.noise", "electronics.controls",
        "electronics.battery",
    }  # fmt: skip


@EACH_SPEC
@given(data=st.data())
def test_parked_and_taken_up_again_nothing_has_changed(key: str, data: st.DataObject) -> None:
    progress = begun(key)
    known = [item.key for item in progress.open]
    for one in data.draw(st.lists(st.sampled_from(known), unique=True)):
        answer = data.draw(st.sampled_from(Answer))
        if not progress.refused(one, answer):
            progress = progress.answered(one, answer)
    kept = json.loads(json.dumps(progress.plain()))
    again = Progress.of(progress.areas, kept)
    assert again == progress
    assert again.plain() == kept


@given(st.dictionaries(st.text(max_size=12), st.text(max_size=12), max_size=5))
def test_whatever_was_kept_is_kept_on(kept: dict[str, str]) -> None:
    progress = Progress.of(areas_of(SPECS["TARN"]), kept)
    assert progress.plain() == kept
    assert len(progress.findings({})) == bool(kept)
