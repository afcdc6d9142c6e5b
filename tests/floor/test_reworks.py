"""Defects, repairs, and what is done again. The guitars are invented; where a defect leads,
what is done again and how long it dries are common practice, no source."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from shop.catalogue.models import Loop
from shop.craft.finding import Severity
from shop.craft.words import THIN
from shop.floor import board, course, door, following
from shop.floor.models import Defect, Entry, Instrument, Rework, Step
from tests.floor.casing import (
    CASED,
    HOUR,
    MINUTE,
    READY,
    SERIAL,
    cased,
    did,
    done,
    held,
    moment,
    number,
    ready,
    said,
)
from tests.floor.morning import act, check_tray, now, person, ready_for, rules, step, words
from tests.floor.released import go_on
from tests.floor.shipping import boxed, hand_over

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

MON = moment(3, 10)
TUE = moment(4, 9)
DAY = 24 * HOUR

# The bench of each operation that is done again after a bridge has lifted.
HANDS = {
    "G20": ("P-18", "G"),
    "G30": ("P-18", "G"),
    "G40": ("P-18", "G"),
    "G50": ("P-18", "G"),
    "U30": ("P-20", "U"),
    "Q10": ("P-15", "Q"),
    "A30": ("P-22", "A"),
    "I10": ("P-31", "I"),
    "I20": ("P-31", "H"),
}


@pytest.fixture
def in_its_case(morning: None, db: None) -> None:
    cased()


def found(
    word: str = "chip", loop: str = "finish chip", at: Any = MON, serial: str = SERIAL, **more: Any
) -> door.Outcome:
    deed = door.DefectFound(number(serial), word, loop, **more)
    return said(deed, at, "P-22", "I")


def sent(word: str = "chip", loop: str = "finish chip", at: Any = MON, **more: Any) -> door.Outcome:
    outcome = found(word, loop, at, **more)
    assert outcome.result == "recorded", words(outcome)
    return outcome


def repaired(at: Any = MON + HOUR, by: str = "P-61", station: str = "X") -> door.Outcome:
    return said(door.RepairDone(number()), at, by, station)


def again(operation: str, at: Any) -> None:
    did(SERIAL, operation, *HANDS[operation], at)


def alone(**more: Any) -> None:
    Loop.objects.filter(key="finish chip").update(**more)


def told(outcome: door.Outcome, rule: str) -> str:
    return next(one.words for one in outcome.findings if one.rule == rule)


def nothing_changed(serial: str = SERIAL) -> bool:
    no_rows = not Rework.objects.filter(instrument__body__serial=serial).exists()
    no_void = not Step.objects.filter(void_at__isnull=False).exists()
    return now(serial).rework is None and no_rows and no_void


# --- found ---


def test_a_defect_takes_the_guitar_to_repair() -> None:
    outcome = sent(words="Treble bushing, zone 1")
    facts = now(SERIAL).rework
    assert facts is not None
    assert (facts.loop, facts.stage, facts.since) == ("finish chip", "repair", MON)
    assert facts.words == "chip, Treble bushing, zone 1"
    assert facts.redo == ("Q10",)
    assert told(outcome, "loop").startswith(f"{SERIAL} goes to Repair: Fill in 3 to 6 passes")
    assert outcome.findings[0].then == "After that again: Q10."
    assert all(one.severity is Severity.NOTE for one in outcome.findings)


def test_at_repair_no_bench_goes_on_with_it() -> None:
    sent()
    assert "rework" in rules(step(SERIAL, "I10", "P-31", "I", at=MON + HOUR))


def test_what_is_done_again_is_void_and_stays_as_history() -> None:
    before = Step.objects.get(instrument__body__serial=SERIAL, operation__code="Q10")
    sent()
    before.refresh_from_db()
    assert (before.void_at, before.void_why) == (MON, "rework: finish chip: chip")
    assert "Q10" not in now(SERIAL).done_codes
    assert "A30" in now(SERIAL).done_codes


def test_the_row_of_a_loop_tells_what_was_found_where() -> None:
    sent(words="Treble bushing", found_at="A30")
    row = Rework.objects.get()
    assert (row.loop, row.word, row.words, row.found_at) == (
        "finish chip", "chip", "Treble bushing", "A30",
    )  # fmt: skip
    assert (row.redo, row.opened_at, row.closed_at) == (["Q10"], MON, None)


def test_a_defect_is_found_where_the_phone_is_unless_it_is_said() -> None:
    sent()
    assert Rework.objects.get().found_at == "I"


@pytest.mark.parametrize(
    ("more", "rule"),
    [
        ({"word": "ugly"}, "defect"),
        ({"word": ""}, "defect"),
        ({"loop": "sauna"}, "loop"),
        ({"loop": ""}, "loop"),
        ({"found_at": "Y99"}, "found at"),
        ({"words": "x" * 201}, "words"),
        ({"words": "\0"}, "words"),
        ({"depth_mm": Decimal(0)}, "depth"),
        ({"depth_mm": Decimal("-0.2")}, "depth"),
        ({"depth_mm": Decimal("NaN")}, "depth"),
        ({"depth_mm": Decimal("Infinity")}, "depth"),
        ({"depth_mm": Decimal("1E+30")}, "depth"),
        ({"depth_mm": Decimal("10.01")}, "depth"),
    ],
)
def test_a_report_that_cannot_be_so_is_refused_and_changes_nothing(
    more: dict[str, Any], rule: str
) -> None:
    outcome = found(**more)
    assert (outcome.result, rules(outcome)) == ("refused", [rule])
    assert nothing_changed()


def test_a_loop_that_is_not_chosen_any_more_is_refused_with_the_usual_one() -> None:
    Loop.objects.filter(key="cosmetic").update(active=False)
    outcome = found("chip", "cosmetic")
    assert rules(outcome) == ["loop"]
    assert outcome.findings[0].then == "chip usually leads to finish chip."


@pytest.mark.parametrize(("by", "station"), [("P-31", "I"), ("P-32", "R")])
def test_where_a_look_is_taken_a_defect_is_not_reported_without_its_class(
    by: str, station: str
) -> None:
    """Whoever grades defects grades it: what is serious is decided by two. Common practice, no
    source."""
    deed = door.DefectFound(number(), "chip", "finish chip")
    refused = said(deed, MON, by, station)
    assert (refused.result, rules(refused)) == ("refused", ["class"])
    assert words(refused) == f"A defect is noted with its class where {SERIAL} is inspected."
    assert Defect.objects.count() == 0
    assert said(deed, MON, by, "Q").done, "at a bench it is only reported"


def test_who_only_reports_defects_does_so_where_a_look_is_taken_too() -> None:
    assert said(door.DefectFound(number(), "chip", "finish chip"), MON, "P-22", "I").done


def test_the_same_report_sent_twice_is_one() -> None:
    sent_on = act("P-22", "I", MON)
    deed = door.DefectFound(number(), "chip", "finish chip")
    assert [door.record(sent_on, deed).result for _ in range(2)] == ["recorded", "already"]
    assert Rework.objects.count() == 1


def test_a_loop_that_may_take_the_neck_off_says_who_breaks_the_pair() -> None:
    outcome = sent("bow", "truss rod")
    one = next(one for one in outcome.findings if one.rule == "unpairs")
    assert (one.then, one.call) == ("The lead breaks the pair, nobody else.", "lead")


def test_an_outcome_shows_the_guitar_as_it_was_sent() -> None:
    outcome = sent("lift", "bridge lift")
    assert outcome.after is not None
    fresh = now(SERIAL)
    assert outcome.after.rework == fresh.rework
    assert outcome.after.done == fresh.done
    assert outcome.after.readings == fresh.readings
    assert (outcome.after.seq, outcome.after.link) == (fresh.seq, fresh.link)


def test_what_an_operation_measures_is_measured_again_with_it() -> None:
    def measured() -> set[str]:
        return {one.quantity for one in now(SERIAL).readings.values}

    before = measured()
    assert {"proud", "nut_slot"} <= before
    sent("lift", "bridge lift")
    lost = before - measured()
    assert "proud" in lost  # at U30
    assert "nut_slot" in measured()  # U10 stays done
    assert repaired().done
    for code in ("G20", "G30", "G40", "G50"):
        again(code, moment(3, 12) + 2 * HOUR * int(code[1]))
    bare = step(SERIAL, "U30", "P-20", "U", at=moment(4, 8))
    assert "readings" in rules(bare)


def test_what_readings_said_of_an_operation_that_is_done_again_is_taken_back() -> None:
    check_tray(SERIAL, "P-20", "U", at=MON)
    low = {("proud", "bass"): "1.0"}
    done(door.Gauged(number(), "U30", low, sure=frozenset(low)), MON, "P-20", "U")
    assert [one.rule for one in now(SERIAL).standing["readings"]] == ["R32"]
    sent("low action", "set-up", MON + HOUR)
    assert "readings" not in now(SERIAL).standing


def test_machines_that_come_off_are_looked_at_on_their_posts_again() -> None:
    assert now(SERIAL).placed
    sent("wrong item", "wrong machines")
    assert not now(SERIAL).placed


def test_a_step_begun_is_put_down_when_the_guitar_goes_to_repair() -> None:
    done(door.StepStarted(number(), "I10"), MON, "P-31", "I")
    outcome = sent(at=MON + MINUTE)
    assert told(outcome, "put down") == "I10, begun by P-31, is put down."
    assert now(SERIAL).open is None


def test_a_cut_that_nobody_has_looked_at_stays_open() -> None:
    unsure = course.open_step({"operation": "I10", "by": "P-31", "since": MON.isoformat()})
    assert unsure is not None
    row = course.open_step_row(unsure) | {"unsure": True}
    Instrument.objects.filter(pk=number()).update(open_step=row)
    sent(at=MON + MINUTE)
    assert now(SERIAL).open is not None


def test_the_cut_of_the_pair_is_never_done_again_by_a_loop() -> None:
    alone(redo="J10 Q10")
    sent()
    assert "J10" in now(SERIAL).done_codes
    assert Rework.objects.get().redo == ["Q10"]


# --- repaired ---


def test_after_the_repair_it_dries_and_comes_back_where_it_was_disturbed() -> None:
    sent()
    assert repaired().done
    facts = now(SERIAL).rework
    assert facts is not None
    assert (facts.stage, facts.dry_until) == ("redo", MON + HOUR + DAY)
    wet = step(SERIAL, "Q10", "P-15", "Q", at=MON + 2 * HOUR)
    assert rules(wet) == ["wait"]
    assert words(wet) == f"Ready Tue 11:00. 23{THIN}h left after the repair."
    again("Q10", MON + HOUR + DAY)
    assert now(SERIAL).rework is None


@pytest.mark.parametrize(
    ("depth", "hours"), [("0.2", 24), ("0.21", 48), ("0.5", 72), ("1.4", 168), ("3", 168)]
)
def test_a_fill_dries_a_day_for_each_layer_and_a_week_at_most(depth: str, hours: int) -> None:
    sent(depth_mm=Decimal(depth))
    assert repaired().done
    facts = now(SERIAL).rework
    assert facts is not None
    assert facts.dry_until == MON + HOUR + hours * HOUR


def test_a_guitar_keeps_the_loop_it_was_sent_on() -> None:
    sent()
    alone(dry_h=2, per_mm=None, most_h=None, work="Forget it.")
    assert [one["work"][:4] for one in board.to_repair(number())] == ["Fill"]
    repaired()
    facts = now(SERIAL).rework
    assert facts is not None
    assert facts.dry_until == MON + HOUR + DAY


def test_a_repair_is_recorded_at_repair_and_nowhere_else() -> None:
    sent()
    outcome = repaired(station="Q")
    assert rules(outcome) == ["station"]
    assert words(outcome) == "The repair belongs to Repair; this phone is at Q."
    facts = now(SERIAL).rework
    assert facts is not None
    assert facts.stage == "repair"


def test_what_waits_for_no_repair_gets_none() -> None:
    assert rules(repaired()) == ["repair"]
    sent()
    assert repaired().done
    assert rules(repaired(MON + 2 * HOUR)) == ["repair"]


def test_who_is_learning_repairs_with_a_trainer_beside() -> None:
    sent()
    assert rules(repaired(by="P-25")) == ["beside"]
    beside = act("P-25", "X", MON + HOUR, beside=person("P-61"))
    assert door.record(beside, door.RepairDone(number())).done
    assert [one.hands for one in now(SERIAL).repairs] == [("P-25", "P-61")]


def test_who_repaired_it_does_not_look_at_it_within_the_week() -> None:
    sent("dust nib", "cosmetic")
    assert repaired(MON, by="P-31").done
    again("Q10", MON + 2 * HOUR)
    ready_for(SERIAL, "I10", "P-32", "I", MON + 3 * HOUR)
    outcome = step(SERIAL, "I10", "P-31", "I", at=MON + 3 * HOUR)
    assert rules(outcome) == ["person"]
    assert "You repaired this guitar Mon 10:00." in words(outcome)
    assert step(SERIAL, "I10", "P-32", "I", at=MON + 3 * HOUR).done


def test_a_loop_with_nothing_to_repair_is_done_again_at_once() -> None:
    alone(work="")
    outcome = sent()
    facts = now(SERIAL).rework
    assert facts is not None
    assert facts.stage == "redo"
    assert told(outcome, "loop") == "Finish chip"
    again("Q10", MON + HOUR)
    assert now(SERIAL).rework is None


def test_a_loop_with_nothing_to_do_again_is_over_with_its_repair() -> None:
    sent("missing", "paper")  # not boxed yet: only the paper itself is wrong
    assert repaired().done
    assert now(SERIAL).rework is None
    assert Rework.objects.get().closed_at == MON + HOUR


def test_a_loop_with_nothing_to_repair_nor_to_do_again_is_a_line_in_its_history() -> None:
    Loop.objects.filter(key="paper").update(work="")
    sent("missing", "paper")
    assert now(SERIAL).rework is None
    assert Rework.objects.get().closed_at == MON


# --- the way round ---


def test_a_chip_comes_back_to_the_polish_and_repeats_the_checks_after_it() -> None:
    did(SERIAL, "I10", "P-31", "I", MON)
    sent(at=MON + HOUR)
    assert repaired(MON + 2 * HOUR).done
    dry = MON + 2 * HOUR + DAY
    assert rules(step(SERIAL, "I10", "P-31", "I", at=dry))[0] == "order"
    again("Q10", dry)
    assert rules(step(SERIAL, "I20", "P-31", "H", at=dry + MINUTE)) == ["order"]
    again("I10", dry + HOUR)
    assert now(SERIAL).rework is None
    assert Rework.objects.get().closed_at == dry + HOUR
    assert step(SERIAL, "I20", "P-31", "H", at=dry + 2 * HOUR).done


@pytest.mark.usefixtures("in_its_case")
def test_a_bridge_that_lifts_is_glued_again_and_the_days_begin_anew() -> None:
    sent("lift", "bridge lift", TUE)
    assert now(SERIAL).held(TUE) is None
    facts = now(SERIAL).rework
    assert facts is not None
    assert facts.redo == ("G20", "G30", "G40", "G50", "U30", "A30", "I10", "I20")
    assert repaired(TUE + HOUR).done
    again("G20", TUE + 2 * HOUR)
    again("G30", TUE + 3 * HOUR)
    assert rules(step(SERIAL, "G40", "P-18", "G", at=TUE + 3 * HOUR + 59 * MINUTE)) == ["wait"]
    again("G40", TUE + 4 * HOUR)
    again("G50", TUE + 5 * HOUR)
    again("U30", TUE + 6 * HOUR)
    assert "wait" in rules(step(SERIAL, "A30", "P-22", "A", at=TUE + 26 * HOUR))
    again("A30", TUE + 27 * HOUR)
    again("I10", TUE + 28 * HOUR)
    again("I20", TUE + 29 * HOUR)
    assert now(SERIAL).rework is None
    assert ready(TUE + 29 * HOUR) == TUE + 29 * HOUR + 96 * HOUR
    assert Step.objects.filter(instrument_id=number(), void_at__isnull=False).count() == 8


@pytest.mark.usefixtures("in_its_case")
def test_a_chip_found_in_the_days_of_the_hold_does_not_begin_them_again() -> None:
    outcome = sent(at=TUE)
    assert held(TUE).started == CASED
    case = next(one for one in outcome.findings if one.rule == "case")
    assert case.then == "Open the case and note it."


@pytest.mark.usefixtures("in_its_case")
def test_what_was_repaired_while_its_case_was_shut_is_asked_about() -> None:
    sent(at=TUE)
    outcome = repaired(TUE + HOUR)
    assert (outcome.result, rules(outcome)) == ("refused", ["case"])
    assert words(outcome) == f"By the record {SERIAL} is in its case."
    done(door.CaseOpened(number(), touch_up=True), TUE + HOUR)
    assert repaired(TUE + 2 * HOUR).done


@pytest.mark.usefixtures("in_its_case")
def test_a_chip_found_at_the_second_look_has_both_looks_done_again() -> None:
    did(SERIAL, "I30", "P-32", "R", READY)
    sent(at=READY + HOUR)
    facts = now(SERIAL).rework
    assert facts is not None
    assert facts.redo == ("Q10", "I10", "I30")
    assert "I20" in now(SERIAL).done_codes


# --- two at once ---


def test_a_second_defect_joins_the_loop_that_is_open() -> None:
    sent(words="Treble bushing")
    outcome = sent("low slot", "low nut slot", MON + HOUR)
    assert told(outcome, "joined") == (
        f"{SERIAL} is on a loop already since Mon 10:00: chip, Treble bushing."
    )
    row = Rework.objects.get()
    assert row.redo == ["U10", "Q10", "A30"]
    assert row.words == "chip, Treble bushing; low slot"
    facts = now(SERIAL).rework
    assert facts is not None
    assert (facts.stage, facts.since, facts.redo) == ("repair", MON, ("U10", "Q10", "A30"))
    assert [one["loop"] for one in board.to_repair(number())] == ["finish chip", "low nut slot"]


def test_one_repair_answers_for_all_that_joined_and_dries_the_longest() -> None:
    sent(depth_mm=Decimal("0.4"))
    sent("low slot", "low nut slot", MON + HOUR)
    assert repaired(MON + 2 * HOUR).done
    facts = now(SERIAL).rework
    assert facts is not None
    assert facts.dry_until == MON + 2 * HOUR + 48 * HOUR
    assert [one.operation for one in now(SERIAL).repairs] == ["finish chip", "low nut slot"]
    assert board.to_repair(number()) == ()


def test_what_joins_with_nothing_to_repair_is_not_among_the_repairs() -> None:
    Loop.objects.filter(key="low nut slot").update(work="")
    sent()
    sent("low slot", "low nut slot", MON + HOUR)
    assert [one["loop"] for one in board.to_repair(number())] == ["finish chip"]
    assert repaired(MON + 2 * HOUR).done
    assert [one.operation for one in now(SERIAL).repairs] == ["finish chip"]


def test_a_defect_found_on_the_way_back_goes_to_repair_again() -> None:
    sent()
    assert repaired(MON + HOUR).done
    sent("low slot", "low nut slot", MON + 2 * HOUR)
    facts = now(SERIAL).rework
    assert facts is not None
    assert facts.stage == "repair"
    assert [one["loop"] for one in board.to_repair(number())] == ["low nut slot"]
    assert repaired(MON + 3 * HOUR).done
    facts = now(SERIAL).rework
    assert facts is not None
    # The fill still dries, though the nut needs no time.
    assert (facts.stage, facts.dry_until) == ("redo", MON + HOUR + DAY)


# --- counted and timed ---


def test_loops_are_counted_and_timed() -> None:
    sent("dust nib", "cosmetic")
    assert repaired(MON + 30 * MINUTE).done
    again("Q10", MON + 2 * HOUR)
    sent("swirl", "cosmetic", MON + 3 * HOUR)
    first, second = board.loops_of(number())
    assert (first.loop, first.turn, first.word) == ("cosmetic", 1, "dust nib")
    assert (first.repair_took, first.took) == (30 * MINUTE, 2 * HOUR)
    assert (first.took_words, first.repaired_by) == (f"2{THIN}h", "P-61")
    assert (second.turn, second.repair_took, second.took, second.took_words) == (2, None, None, "")


def test_a_loop_tells_which_others_joined_it() -> None:
    sent()
    sent("low slot", "low nut slot", MON + HOUR)
    (only,) = board.loops_of(number())
    assert (only.loop, only.joined) == ("finish chip", ("low nut slot",))


def test_a_guitar_that_was_on_no_loop_tells_none() -> None:
    assert board.loops_of(number()) == ()


# --- dropped ---


@pytest.mark.usefixtures("in_its_case")
@pytest.mark.parametrize("by", ["P-25", "P-41", "P-01"])
def test_whoever_saw_it_fall_stops_work_on_it(by: str) -> None:
    done(door.Dropped(number(), "From the rack"), TUE, by, "")
    facts = now(SERIAL).rework
    assert facts is not None
    assert (facts.loop, facts.words) == ("dropped", "dropped, From the rack")
    assert facts.redo == ("J40", "I10", "I20")
    assert [one.what for one in now(SERIAL).happened] == ["dropped"]
    assert now(SERIAL).held(TUE) is None


@pytest.mark.usefixtures("in_its_case")
def test_after_a_fall_the_days_begin_with_the_new_casing() -> None:
    done(door.Dropped(number()), TUE, "P-25", "")
    assert repaired(TUE + HOUR).done
    did(SERIAL, "J40", "P-16", "J", TUE + 2 * HOUR)
    again("I10", TUE + 3 * HOUR)
    again("I20", TUE + 4 * HOUR)
    assert ready(TUE + 4 * HOUR) == TUE + 4 * HOUR + 96 * HOUR


@pytest.mark.usefixtures("in_its_case")
def test_a_shop_without_a_loop_for_a_fall_freezes_what_fell() -> None:
    Loop.objects.filter(key="dropped").delete()
    done(door.Dropped(number(), "From the rack"), TUE, "P-25", "")
    frozen = now(SERIAL).frozen
    assert frozen is not None
    assert (frozen.words, frozen.by) == ("Dropped: From the rack", "P-25")
    assert ready() == TUE + 96 * HOUR
    kinds = [one["kind"] for one in board.journal(number(), 2)]
    assert kinds == ["frozen", "dropped"]


def test_what_falls_before_it_is_glued_goes_to_repair_all_the_same() -> None:
    done(door.Dropped(number("Q-1043")), MON, "P-11", "N")
    facts = now("Q-1043").rework
    assert facts is not None
    assert (facts.stage, facts.redo) == ("repair", ())


# --- frozen, ended, finished ---


def freeze() -> None:
    row = course.frozen_row(course.frozen({"words": "?", "by": "P-01", "since": MON.isoformat()}))
    Instrument.objects.filter(pk=number()).update(frozen=row)


def test_a_defect_is_reported_on_a_frozen_guitar_and_repaired_once_it_is_free() -> None:
    freeze()
    sent()
    assert rules(repaired()) == ["frozen"]
    done(door.Freed(number()), MON + HOUR, "P-01", "", "Looked at both")
    assert repaired(MON + 2 * HOUR).done


@pytest.mark.parametrize("kind", ["found", "dropped", "repaired"])
def test_nothing_more_is_reported_of_what_came_to_its_end(kind: str) -> None:
    Instrument.objects.filter(pk=number()).update(ended="scrapped: back crushed")
    deeds: dict[str, Any] = {
        "found": door.DefectFound(number(), "chip", "finish chip"),
        "dropped": door.Dropped(number()),
        "repaired": door.RepairDone(number()),
    }
    assert rules(said(deeds[kind], MON, "P-61", "X")) == ["ended"]
    assert nothing_changed()


WAY_OUT = [("I30", "P-32", "R"), ("I50", "P-32", "R")]


def finished(at: Any, *first: tuple[str, str, str]) -> None:
    """Q-1040 goes all the way out, a day for each operation."""
    for code, by, station in (*first, *WAY_OUT):
        did("Q-1040", code, by, station, at)
        at += DAY
    boxed("Q-1040", at)
    assert hand_over("Q-1040", at=at + DAY).done
    assert now("Q-1040").finished_at == at + DAY


def came_back(at: Any) -> None:
    done(door.DefectFound(number("Q-1040"), "chip", "finish chip"), at, "P-51", "Z")


def test_a_finished_guitar_that_comes_back_is_on_the_floor_again() -> None:
    finished(MON + HOUR)
    came_back(moment(10, 9))
    assert now("Q-1040").finished_at is None
    facts = now("Q-1040").rework
    assert facts is not None
    assert facts.redo == ("Q10", "I10", "I30", "I50", "Z10", "Z20")
    assert "Q-1040" in [one.serial for one in board.all_open()]


def test_a_guitar_that_came_back_is_released_again() -> None:
    finished(MON + HOUR)
    came_back(moment(10, 9))
    done(door.RepairDone(number("Q-1040")), moment(10, 10), "P-61", "X")
    finished(moment(12, 9), ("Q10", "P-15", "Q"), ("I10", "P-31", "I"))
    assert now("Q-1040").rework is None


# --- the journal ---


def test_a_row_of_the_journal_says_all_that_followed() -> None:
    sent(words="Treble bushing", depth_mm=Decimal("0.5"))
    said_so = Entry.objects.filter(instrument_id=number()).latest("seq").data
    assert said_so["loop"] == "finish chip"
    assert said_so["depth_mm"] == "0.5"
    assert said_so["dries_h"] == 72
    assert said_so["redo"] == ["Q10"]
    assert len(said_so["voids"]) == 1


def test_a_refused_report_is_kept_as_it_was_tried() -> None:
    found("ugly")
    row = Entry.objects.filter(instrument_id=number()).latest("seq")
    assert (row.kind, row.outcome, row.data["word"]) == ("defect", "refused", "ugly")


@pytest.mark.usefixtures("in_its_case")
def test_the_floor_made_again_from_its_journal_has_the_same_loops_and_happenings() -> None:
    done(door.CaseOpened(number()), TUE)
    done(door.CaseShut(number()), TUE + 30 * MINUTE, reason="Wrong case")
    done(door.WaitLengthened(number(), "hold", 24), TUE, "P-01", "", "Damp week")
    sent("lift", "bridge lift", TUE + HOUR)
    sent("chip", "finish chip", TUE + HOUR, depth_mm=Decimal("0.4"))
    assert repaired(TUE + 2 * HOUR).done
    done(door.Dropped(number("Q-1038"), "From the rack"), TUE, "P-25", "")
    sent("missing", "paper", TUE, serial="Q-1040")
    made, differs = following.differences()
    assert differs == []
    assert made.instruments > 0


# --- it dries, though nothing is done again ---

BEFORE_POLISH = "Q-1043"


def to_the_saddle(serial: str) -> Any:
    """It has its saddle and waits for its polish; the moment of its last step."""
    return go_on(serial, until="U30")


def test_a_fill_dries_before_the_polish_though_nothing_is_done_again() -> None:
    """A chip of 0.4 mm found at the saddle: two days, then Q10 closes the loop."""
    at = to_the_saddle(BEFORE_POLISH) + HOUR
    it = now(BEFORE_POLISH)
    assert "Q10" not in it.done_codes
    deed = door.DefectFound(it.id, "chip", "finish chip", depth_mm=Decimal("0.4"))
    done(deed, at, "P-20", "U")
    assert now(BEFORE_POLISH).rework.redo == ()  # type: ignore[union-attr]
    mended = at + HOUR
    done(door.RepairDone(it.id), mended, "P-61", "X")
    loop = now(BEFORE_POLISH).rework
    assert loop is not None
    assert loop.dry_until == mended + 48 * HOUR
    early = step(BEFORE_POLISH, "Q10", "P-15", "Q", mended + MINUTE)
    assert (early.done, rules(early)) == (False, ["wait"])
    assert not step(BEFORE_POLISH, "Q10", "P-15", "Q", mended + 48 * HOUR - MINUTE).done
    assert Rework.objects.filter(instrument_id=it.id, closed_at=None).count() == 1
    assert step(BEFORE_POLISH, "Q10", "P-15", "Q", mended + 48 * HOUR).done
    assert now(BEFORE_POLISH).rework is None
    assert not Rework.objects.filter(instrument_id=it.id, closed_at=None).exists()
    assert following.differences()[1] == []


def test_a_loop_with_nothing_to_repair_that_joins_leaves_it_drying() -> None:
    """Invented: a loop that only does an operation again, of one that is not done."""
    at = to_the_saddle(BEFORE_POLISH) + HOUR
    it = now(BEFORE_POLISH)
    deed = door.DefectFound(it.id, "chip", "finish chip", depth_mm=Decimal("0.4"))
    done(deed, at, "P-20", "U")
    done(door.RepairDone(it.id), at + HOUR, "P-61", "X")
    Loop.objects.filter(key="paper").update(work="")
    done(door.DefectFound(it.id, "wrong label", "paper"), at + 2 * HOUR, "P-20", "U")
    loop = now(BEFORE_POLISH).rework
    assert loop is not None
    assert loop.dry_until == at + 49 * HOUR
