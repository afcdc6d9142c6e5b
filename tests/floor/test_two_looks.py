"""What the two looks, the days between them and the release let through.

The instruments, badges and times are invented; what is asked of looks, hold and release is
common practice, no source.
"""

from __future__ import annotations

from typing import Any

import pytest

from shop.craft.finding import Finding, Severity
from shop.floor import areas, board, door, following
from tests.floor.casing import CASED, HOUR, MINUTE, READY, SERIAL, cased, did, number
from tests.floor.gauged import gauge
from tests.floor.morning import act, asking, now, person, ready_for, rules, step, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

LATE = READY + HOUR
FAR_OFF = {"action bass": "3.40"}  # the spec wants 2.40 mm


@pytest.fixture
def looked_twice(morning: None, db: None) -> None:
    """P-31 took the first look, P-32 the second: it may be released."""
    cased()
    did(SERIAL, "I30", "P-32", "R", READY)


def release(at: Any = LATE, by: str = "P-32", beside: str = "") -> door.Outcome:
    more: dict[str, Any] = {"beside": person(beside)} if beside else {}
    return door.record(act(by, "R", at, **more), door.StepDone(number(), "I50"))


# --- what stands against release ---


def against_release(raised: str, it: board.State) -> board.State:
    """The same instrument, as if this had raised a stop against it."""
    found = Finding("R99", Severity.STOP, "It does not fit.", "Look at it.", call="lead")
    return it.with_standing(raised, (found,))  # type: ignore[arg-type]


@pytest.mark.usefixtures("looked_twice")
def test_a_value_that_came_late_and_stands_against_it_stops_the_release() -> None:
    """A page that lay open posts the second look's action once that is recorded."""
    late = gauge(SERIAL, FAR_OFF, "I30", "P-32", "R", LATE)
    assert (late.done, rules(late)) == (True, ["R42"])
    outcome = release()
    assert (outcome.done, rules(outcome)) == (False, ["R42"])
    again = gauge(SERIAL, {"action bass": "2.42"}, "I50", "P-32", "R", LATE + MINUTE)
    assert again.done, words(again)
    assert release(LATE + 2 * MINUTE).done


@pytest.mark.usefixtures("looked_twice")
@pytest.mark.parametrize("raised", ["tray", "readings", "positions"])
def test_whatever_stands_against_it_stops_the_release(raised: str) -> None:
    it = against_release(raised, now(SERIAL))
    found = board.against(it, "I50", asking("P-32", "R", LATE))
    assert [one.rule for one in found] == ["R99"]
    waits = board.waiting_of(it, LATE).nexts
    assert "R99" in [one.rule for wait in waits for one in wait.reasons]


# --- whose values the second look's are, and when ---

OWN = {"action bass": "2.45", "action treble": "1.65", "relief 7": "0.20"}


def test_the_second_looks_values_are_not_read_by_who_took_the_first() -> None:
    cased()
    outcome = gauge(SERIAL, OWN, "I30", "P-31", "R", READY)
    assert (outcome.done, rules(outcome)) == (False, ["person", "training"])
    assert "needs other eyes" in words(outcome)
    assert gauge(SERIAL, OWN, "I30", "P-32", "R", READY).done


def test_nor_by_who_stands_beside_them() -> None:
    cased()
    deed = door.Gauged(number(), "I30", {("action", "bass"): "2.45"})
    outcome = door.record(act("P-32", "R", READY, beside=person("P-31")), deed)
    assert (outcome.done, rules(outcome)) == (False, ["person"])


def test_nor_before_its_days_in_the_case_are_over() -> None:
    cased()
    outcome = gauge(SERIAL, OWN, "I30", "P-32", "R", READY - MINUTE)
    assert (outcome.done, rules(outcome)) == (False, ["wait"])
    assert gauge(SERIAL, OWN, "I30", "P-32", "R", READY).done


def test_the_first_looks_values_are_not_read_by_who_set_it_up() -> None:
    """P-22 strung it and set it up."""
    outcome = gauge(SERIAL, OWN, "I10", "P-22", "I", CASED - HOUR)
    assert (outcome.done, rules(outcome)) == (False, ["person", "training"])


@pytest.mark.usefixtures("looked_twice")
def test_a_value_that_comes_after_the_record_is_kept_if_it_is_of_the_right_eyes() -> None:
    assert gauge(SERIAL, OWN, "I30", "P-32", "R", LATE).done
    assert "person" in rules(gauge(SERIAL, OWN, "I30", "P-31", "R", LATE))


# --- what moved between the looks ---


def measured_twice(second: str, first: str = "2.40") -> None:
    """The bass side's action at both looks; all else moved as is usual."""
    ready_for(SERIAL, "I10", "P-31", "I", CASED - HOUR)
    assert gauge(SERIAL, {"action bass": first}, "I10", "P-31", "I", CASED - HOUR).done
    assert step(SERIAL, "I10", "P-31", "I", CASED - HOUR).done
    did(SERIAL, "I20", "P-31", "H", CASED)
    ready_for(SERIAL, "I30", "P-32", "R", READY)
    assert gauge(SERIAL, {"action bass": second}, "I30", "P-32", "R", READY).done


def test_a_move_beyond_what_is_allowed_stops_the_second_look_until_it_is_adjusted() -> None:
    """2.40 mm, then 2.65 mm; the saddle takes it back, and a check of 24 h:
    common practice, no source."""
    measured_twice("2.65")
    outcome = step(SERIAL, "I30", "P-32", "R", READY, reason="It looks right")
    assert (outcome.done, "DR2" in rules(outcome)) == (False, True)
    assert "moved +0.25" in words(outcome)
    assert "off the base of the saddle" in outcome.findings[0].then
    assert door.record(act("P-32", "R", READY + HOUR), door.Happened(number(), "trimmed")).done
    early = gauge(SERIAL, {"action bass": "2.45"}, "I30", "P-32", "R", READY + 24 * HOUR)
    assert rules(early) == ["wait"]
    checked = READY + 25 * HOUR
    again = step(SERIAL, "I30", "P-32", "R", checked, reason="It was lowered")
    assert (again.done, "DR2" in rules(again)) == (False, True)
    assert gauge(SERIAL, {"action bass": "2.45"}, "I30", "P-32", "R", checked).done
    assert step(SERIAL, "I30", "P-32", "R", checked).done


def test_nor_is_it_recorded_late() -> None:
    measured_twice("2.65")
    late = door.StepDone(number(), "I30", done_at=READY)
    outcome = door.record(act("P-32", "R", READY + HOUR, reason="Forgot"), late)
    assert (outcome.done, "DR2" in rules(outcome)) == (False, True)


def test_a_move_that_is_not_usual_asks_for_a_reason() -> None:
    """Action moves +0.05 to +0.25 mm: this one did not."""
    measured_twice("2.40")
    assert rules(step(SERIAL, "I30", "P-32", "R", READY)) == ["DR2"]
    assert step(SERIAL, "I30", "P-32", "R", READY, reason="Measured three times").done


def test_a_usual_move_says_nothing() -> None:
    measured_twice("2.50")
    assert board.against(now(SERIAL), "I30", asking("P-32", "R", READY)) == ()


def test_by_how_much_it_moved_is_told_to_who_read_it_alone() -> None:
    """It tells what the first look read."""
    measured_twice("2.65")
    (own,) = board.look_moves(now(SERIAL), "I30", {"P-32"})
    (other,) = board.look_moves(now(SERIAL), "I30", {"P-23"})
    assert ("2.4 to 2.65" in own.words, "2.4" in other.words) == (True, False)
    assert (other.rule, other.severity) == (own.rule, own.severity)
    assert "P-32 read it" in other.then


def test_the_moves_take_two_statements_however_many_values_there_are(
    django_assert_num_queries: Any,
) -> None:
    measured_twice("2.65")
    it = now(SERIAL)
    assert it.sheet.stops
    with django_assert_num_queries(2):
        board.look_moves(it, "I30", {"P-32"})


# --- what happens after the second look ---

HOLD = 96 * HOUR


@pytest.mark.usefixtures("looked_twice")
@pytest.mark.parametrize(
    ("what", "long"), [("restrung", HOLD), ("trimmed", 24 * HOUR), ("string", 24 * HOUR)]
)
def test_what_moves_the_clock_after_the_second_look_opens_it_again(what: str, long: Any) -> None:
    """96 h again after new strings, 24 h after saddle, rod or one string; then the look."""
    outcome = door.record(act("P-32", "R", LATE), door.Happened(number(), what))
    assert (outcome.done, rules(outcome)) == (True, ["again"])
    assert words(outcome) == "After that again: I30."
    it = now(SERIAL)
    assert "I30" not in it.done_codes
    assert not any(one.answers("I30") for one in it.readings.values)
    looks = board.area_looks(it, "I30")
    assert (looks.answered if looks else None) == 0
    assert "order" in rules(release(LATE + long))
    assert not step(SERIAL, "I30", "P-32", "R", LATE + long - MINUTE).done
    assert rules(step(SERIAL, "I30", "P-32", "R", LATE + long)) == ["readings"]
    did(SERIAL, "I30", "P-32", "R", LATE + long)
    assert release(LATE + long).done
    assert following.differences()[1] == []


@pytest.mark.usefixtures("looked_twice")
def test_what_is_told_late_opens_it_too_where_its_days_were_not_over() -> None:
    told = door.Happened(number(), "restrung", at=READY - HOUR)
    assert door.record(act("P-32", "R", LATE), told).done
    assert "I30" not in now(SERIAL).done_codes


@pytest.mark.usefixtures("looked_twice")
@pytest.mark.parametrize(
    ("what", "at"), [("rack", LATE), ("string", CASED + HOUR)], ids=["no change", "long before"]
)
def test_what_does_not_move_the_clock_leaves_it(what: str, at: Any) -> None:
    assert door.record(act("P-32", "R", LATE), door.Happened(number(), what, at=at)).done
    assert "I30" in now(SERIAL).done_codes


@pytest.mark.usefixtures("looked_twice")
def test_a_released_one_is_looked_at_and_released_again() -> None:
    assert release().done
    outcome = door.record(act("P-32", "R", LATE + HOUR), door.Happened(number(), "trimmed"))
    assert words(outcome) == "After that again: I30 and I50."
    did(SERIAL, "I30", "P-32", "R", LATE + 25 * HOUR)
    assert release(LATE + 25 * HOUR).done
    assert following.differences()[1] == []


# --- who releases it ---


@pytest.mark.usefixtures("looked_twice")
def test_the_lead_does_not_release_it_alone() -> None:
    outcome = release(by="P-01")
    assert (outcome.done, rules(outcome)) == (False, ["training", "beside"])
    late = door.StepDone(number(), "I50", done_at=LATE)
    told = door.record(act("P-01", "R", LATE + HOUR, reason="Forgot"), late)
    assert (told.done, "beside" in rules(told)) == (False, True)
    assert release(by="P-01", beside="P-32").done


@pytest.mark.usefixtures("looked_twice")
def test_an_inspector_releases_it_alone() -> None:
    assert release(by="P-32").done


# --- who had a part in a look ---


def first_look_by_two(measures: str = "P-31", notes: str = "") -> None:
    """P-31 answers the areas and records; another measures, or notes a slight defect."""
    at = CASED - HOUR
    ready_for(SERIAL, "I10", "P-31", "I", at)
    assert gauge(SERIAL, {"action bass": "2.40"}, "I10", measures, "I", at).done
    if notes:
        deed = door.DefectNoted(number(), "finish", "swirl", 4, 6, found_at="I10")
        assert door.record(act(notes, "I", at), deed).done
    assert step(SERIAL, "I10", "P-31", "I", at).done
    did(SERIAL, "I20", "P-31", "H", CASED)


@pytest.mark.parametrize("part", [{"measures": "P-32"}, {"notes": "P-32"}], ids=str)
def test_whoever_had_a_part_in_the_first_look_does_not_take_the_second(part: Any) -> None:
    first_look_by_two(**part)
    assert now(SERIAL).done[-2].hands == ("P-31", "P-32")
    outcome = gauge(SERIAL, OWN, "I30", "P-32", "R", READY)
    assert (outcome.done, rules(outcome)) == (False, ["person"])
    assert "person" in rules(step(SERIAL, "I30", "P-32", "R", READY))


def test_whoever_had_none_takes_it() -> None:
    first_look_by_two(notes="P-31")
    assert now(SERIAL).done[-2].hands == ("P-31",)
    did(SERIAL, "I30", "P-32", "R", READY)


def test_what_was_read_before_a_repair_is_no_part_of_the_look_after_it() -> None:
    """It is read anew: only who has a part in it then counts."""
    first_look_by_two("P-32")
    assert areas.hands_in(now(SERIAL), "I10") == ("P-31", "P-32")
    found = door.DefectFound(number(), "swirl", "cosmetic")
    assert door.record(act("P-22", "I", CASED + HOUR), found).done
    mended = door.RepairDone(number())
    assert door.record(act("P-61", "X", CASED + 2 * HOUR, reason="Open"), mended).done
    assert areas.hands_in(now(SERIAL), "I10") == ()
