"""A step that is begun: who has it in hand, shift hand-over, two on one guitar, a power cut.

What is asked here is common practice, no source, unless a test names one.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest

from shop.craft.start import OpenStep
from shop.floor import board, door
from shop.floor.models import Entry, Instrument, Tag
from shop.people.models import Badge
from tests.floor.morning import (
    NOW,
    act,
    asking,
    check_tray,
    measured,
    now,
    person,
    ready_for,
    rules,
    step,
    words,
)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

# Q-1049 waits at Frets from 11:25 on: its neck was glued the day before.
NOON = NOW + timedelta(hours=2, minutes=30)
LATER = NOON + timedelta(minutes=40)


def start(
    serial: str = "Q-1049",
    operation: str = "F20",
    by: str = "P-12",
    station: str = "F",
    at: datetime = NOON,
    **more: Any,
) -> door.Outcome:
    deed = door.StepStarted(now(serial).id, operation)
    return door.record(act(by, station, at, **more), deed)


def join(by: str = "P-13", station: str = "F", serial: str = "Q-1049") -> door.Outcome:
    return door.record(act(by, station, LATER), door.StepJoined(now(serial).id))


def hand(to: str = "", note: str = "", by: str = "P-12", serial: str = "Q-1049") -> door.Outcome:
    return door.record(act(by, "F", LATER), door.StepHanded(now(serial).id, to, note))


def take(by: str = "P-13", serial: str = "Q-1049") -> door.Outcome:
    return door.record(act(by, "F", LATER), door.StepTaken(now(serial).id))


def newest(serial: str) -> dict[str, Any]:
    return board.journal(now(serial).id)[0]


# --- begun ---


def test_a_step_that_is_begun_is_open_in_the_hands_of_who_began_it() -> None:
    assert start().result == "recorded"
    assert now("Q-1049").open == OpenStep("F20", "P-12", NOON)


def test_a_step_that_was_begun_is_closed_by_its_record() -> None:
    start()
    assert step("Q-1049", "F20", "P-12", "F", LATER).done
    assert now("Q-1049").open is None
    assert now("Q-1049").done[-1].hands == ("P-12",)


def test_what_you_have_open_is_not_begun_again() -> None:
    start()
    outcome = start(at=LATER)
    assert (outcome.result, rules(outcome)) == ("refused", ["open"])
    assert words(outcome) == "You have F20 open since Mon 12:00."
    assert now("Q-1049").open == OpenStep("F20", "P-12", NOON)


def test_two_people_on_one_instrument_the_second_may_help_or_wait() -> None:
    start()
    outcome = start("Q-1049", "Q10", "P-15", "Q", LATER)
    assert outcome.result == "refused"
    assert outcome.findings[0].words == "P-12 has F20 open since Mon 12:00."
    assert outcome.findings[0].then == "Join as helper, or wait until it is recorded."
    assert now("Q-1049").open == OpenStep("F20", "P-12", NOON)


def test_the_same_step_is_not_begun_by_a_second_person() -> None:
    start()
    assert rules(start(by="P-13", at=LATER)) == ["open"]


def test_nobody_records_what_another_has_open() -> None:
    start()
    assert rules(step("Q-1049", "F20", "P-13", "F", LATER)) == ["open"]


def test_you_do_not_begin_a_second_step_beside_the_one_you_have_open() -> None:
    start("Q-1043", "B30", "P-14", "B")
    check_tray("Q-1043", at=NOON)
    outcome = start("Q-1043", "N40", "P-14", "N")
    assert words(outcome) == "You have B30 open since Mon 12:00."


def test_a_step_whose_wait_runs_is_not_begun() -> None:
    assert rules(start(at=NOW)) == ["wait"]
    assert now("Q-1049").open is None


def test_a_step_out_of_order_is_not_begun() -> None:
    assert "order" in rules(start("Q-1049", "U10", "P-20", "U"))


def test_a_step_is_begun_at_its_own_station() -> None:
    assert rules(start(station="N")) == ["station"]


def test_a_step_that_is_not_on_the_route_is_not_begun() -> None:
    assert rules(start("Q-1043", "U20", "P-24", "E")) == ["route"]


def test_a_frozen_instrument_is_not_begun_on() -> None:
    it = now("Q-1049").id
    assert door.record(act("P-01", ""), door.Frozen(it, "Look at the heel")).done
    assert rules(start()) == ["frozen"]


def test_only_signed_off_hands_begin_where_the_operation_asks_for_them() -> None:
    assert rules(start("Q-1061", "J10", "P-12", "J")) == ["training"]


def test_nobody_begins_a_second_look_at_their_own_first_one() -> None:
    outcome = start("Q-1040", "I30", "P-31", "R")
    assert rules(outcome) == ["person", "training"]


def test_a_trainee_begins_with_a_trainer_whose_hand_is_in_it() -> None:
    check_tray("Q-1043")
    assert rules(start("Q-1043", "N40", "P-25", "N")) == ["beside"]
    assert start("Q-1043", "N40", "P-25", "N", beside=person("P-11")).done
    assert now("Q-1043").open == OpenStep("N40", "P-25", NOON, ("P-11",))


def test_a_step_that_fits_hardware_is_begun_once_its_tray_is_scanned() -> None:
    assert rules(start("Q-1043", "N40", "P-11", "N")) == ["tray scan"]
    check_tray("Q-1043")
    assert start("Q-1043", "N40", "P-11", "N").done


def test_a_stopped_tray_keeps_a_step_from_being_begun() -> None:
    check_tray("Q-1043", of="Q-1037")
    assert rules(start("Q-1043", "N40", "P-11", "N")) == ["tray stop"]


def test_what_is_measured_in_the_course_of_a_step_is_asked_for_at_its_record() -> None:
    check_tray("Q-1043")
    assert start("Q-1043", "N40", "P-11", "N").done
    assert rules(step("Q-1043", "N40", at=LATER)) == ["readings"]
    assert measured("Q-1043", "N40", at=LATER).done
    assert step("Q-1043", "N40", at=LATER).done


def test_a_hole_found_too_tight_does_not_keep_its_reaming_from_being_begun() -> None:
    check_tray("Q-1043")
    measured("Q-1043", "N40", hole="8.60")
    assert start("Q-1043", "N40", "P-11", "N").done
    assert step("Q-1043", "N40", at=LATER).result == "refused"


def test_glue_is_not_begun_in_a_cold_room() -> None:
    """White glue wants 13 °C: a glue maker's data sheet, as in ``test_conditions.py``."""
    assert step("Q-1050", "J20", "P-16", "J").done
    cold = door.RoomRead(Decimal("12.0"), Decimal("47.0"))
    door.record(act("P-16", "J", NOON), cold)
    assert rules(start("Q-1050", "J30", "P-16", "J")) == ["R37"]


def test_a_step_may_be_recorded_without_having_been_begun() -> None:
    assert step("Q-1049", "F20", "P-12", "F", NOON).done
    assert newest("Q-1049")["data"]["closes"] is False


def test_beginning_a_step_is_one_row_of_the_journal_with_what_is_open() -> None:
    start()
    row = newest("Q-1049")
    assert (row["kind"], row["by__code"], row["station"], row["at"]) == ("start", "P-12", "F", NOON)
    assert row["data"]["operation"] == "F20"


# --- helpers ---


def test_a_helper_joins_the_open_step_and_both_badges_are_on_its_record() -> None:
    start()
    assert join().done
    assert now("Q-1049").open == OpenStep("F20", "P-12", NOON, ("P-13",))
    assert step("Q-1049", "F20", "P-12", "F", LATER).done
    assert now("Q-1049").done[-1].hands == ("P-12", "P-13")


def test_a_helper_may_record_and_who_began_it_has_had_a_hand_in_it() -> None:
    start()
    join()
    assert step("Q-1049", "F20", "P-13", "F", LATER).done
    assert now("Q-1049").done[-1].hands == ("P-13", "P-12")


def test_who_has_the_step_does_not_help_with_it() -> None:
    start()
    outcome = join("P-12")
    assert (outcome.result, rules(outcome)) == ("refused", ["joined"])


def test_nobody_helps_twice() -> None:
    start()
    join()
    assert rules(join()) == ["joined"]
    assert now("Q-1049").open == OpenStep("F20", "P-12", NOON, ("P-13",))


def test_there_is_nothing_to_help_with_where_nothing_is_open() -> None:
    outcome = join()
    assert words(outcome) == "Q-1049 has no step open."


def test_a_parked_step_is_taken_over_and_not_helped_with() -> None:
    start()
    hand()
    assert rules(join()) == ["parked"]
    assert rules(join("P-12")) == ["parked"]


def test_a_helper_stands_at_the_station_of_the_step() -> None:
    start()
    assert rules(join(station="N")) == ["station"]


def test_a_helper_need_not_be_signed_off() -> None:
    start("Q-1061", "J10", "P-16", "J")
    assert join("P-14", "J", "Q-1061").done


def test_nobody_helps_on_a_frozen_instrument() -> None:
    start()
    door.record(act("P-01", ""), door.Frozen(now("Q-1049").id, "Look at the heel"))
    assert rules(join()) == ["frozen"]


def test_who_looked_first_does_not_help_with_the_second_look() -> None:
    assert start("Q-1040", "I30", "P-32", "R").done
    assert rules(join("P-31", "R", "Q-1040")) == ["person"]


def test_a_helper_at_the_set_up_does_not_inspect_it() -> None:
    ready_for("Q-1041", "A30", "P-22", "A", NOON)
    assert start("Q-1041", "A30", "P-22", "A").done
    assert join("P-31", "A", "Q-1041").done
    assert step("Q-1041", "A30", "P-22", "A", LATER).done
    at = LATER + timedelta(hours=3)
    assert rules(start("Q-1041", "I10", "P-31", "I", at)) == ["person"]
    assert start("Q-1041", "I10", "P-32", "I", at).done


# --- shift hand-over ---


def test_a_step_is_handed_to_a_named_badge_that_has_it_from_then_on() -> None:
    start()
    assert hand("P-13", "Frets 1 to 9 are level").done
    handed = OpenStep("F20", "P-13", NOON, ("P-12",), note="Frets 1 to 9 are level")
    assert now("Q-1049").open == handed


def test_a_hand_over_keeps_from_whom_to_whom_the_note_and_the_time() -> None:
    start()
    hand("P-13", "Frets 1 to 9 are level")
    row = newest("Q-1049")
    said = {name: row["data"][name] for name in ("operation", "from", "to", "note")}
    note = "Frets 1 to 9 are level"
    assert said == {"operation": "F20", "from": "P-12", "to": "P-13", "note": note}
    assert (row["kind"], row["at"]) == ("handed", LATER)


def test_who_handed_a_step_on_has_had_a_hand_in_it() -> None:
    start()
    hand("P-13")
    assert step("Q-1049", "F20", "P-13", "F", LATER).done
    assert now("Q-1049").done[-1].hands == ("P-13", "P-12")


def test_a_helper_who_is_handed_the_step_is_its_helper_no_more() -> None:
    start()
    join()
    hand("P-13")
    assert now("Q-1049").open == OpenStep("F20", "P-13", NOON, ("P-12",))


def test_a_parked_step_waits_with_its_note_until_somebody_takes_it_over() -> None:
    start()
    assert hand(note="Files are in the rack").done
    refused = step("Q-1049", "F20", "P-12", "F", LATER)
    assert rules(refused) == ["parked"]
    assert "Files are in the rack" in words(refused)
    assert take().done
    taken = OpenStep("F20", "P-13", NOON, ("P-12",), note="Files are in the rack")
    assert now("Q-1049").open == taken
    assert step("Q-1049", "F20", "P-13", "F", LATER).done


def test_who_parked_a_step_may_take_it_up_again() -> None:
    start()
    hand()
    assert take("P-12").done
    assert now("Q-1049").open == OpenStep("F20", "P-12", NOON)


def test_who_signs_beside_one_that_joins_or_takes_over_has_a_hand_in_it_too() -> None:
    start()
    it = now("Q-1049").id
    assert door.record(act("P-13", "F", LATER, beside=person("P-11")), door.StepJoined(it)).done
    assert now("Q-1049").open == OpenStep("F20", "P-12", NOON, ("P-13", "P-11"))
    hand()
    assert door.record(act("P-14", "F", LATER, beside=person("P-10")), door.StepTaken(it)).done
    hands = ("P-12", "P-13", "P-11", "P-10")
    assert now("Q-1049").open == OpenStep("F20", "P-14", NOON, hands)


def test_a_parked_step_may_be_handed_to_somebody() -> None:
    start()
    hand()
    assert hand("P-13", by="P-01").done
    assert now("Q-1049").open == OpenStep("F20", "P-13", NOON, ("P-12",))


def test_a_step_is_parked_once() -> None:
    start()
    hand()
    assert rules(hand()) == ["parked"]


def test_what_somebody_has_in_hand_is_not_taken_from_them() -> None:
    start()
    outcome = take()
    assert words(outcome) == "P-12 has F20 of Q-1049 open since Mon 12:00."
    assert now("Q-1049").open == OpenStep("F20", "P-12", NOON)


def test_only_signed_off_hands_take_over_what_asks_for_them() -> None:
    start("Q-1061", "J10", "P-16", "J")
    hand(by="P-16", serial="Q-1061")
    deed = door.StepTaken(now("Q-1061").id)
    assert rules(door.record(act("P-12", "J", LATER), deed)) == ["training"]
    assert door.record(act("P-12", "J", LATER, beside=person("P-16")), deed).done
    assert now("Q-1061").open == OpenStep("J10", "P-12", NOON, ("P-16",))


def test_a_step_is_handed_to_a_badge_that_works_here() -> None:
    start()
    assert words(hand("P-99")) == "No badge P-99 works here."
    Badge.objects.filter(code="P-13").update(is_active=False)
    assert words(hand("P-13")) == "No badge P-13 works here."
    assert now("Q-1049").open == OpenStep("F20", "P-12", NOON)


def test_a_step_is_not_handed_to_a_badge_that_records_none() -> None:
    start()
    assert words(hand("P-41")) == "P-41 records no steps."


def test_a_step_is_not_handed_to_who_has_it() -> None:
    start()
    assert rules(hand("P-12")) == ["handed"]


def test_a_second_look_is_not_handed_to_who_looked_first() -> None:
    start("Q-1040", "I30", "P-32", "R")
    outcome = hand("P-31", by="P-32", serial="Q-1040")
    assert words(outcome) == "I30 of Q-1040 needs other eyes than those of P-31."


def test_a_hand_over_without_a_note_keeps_the_one_before() -> None:
    start()
    hand(note="Files are in the rack")
    hand("P-13")
    one = now("Q-1049").open
    assert one is not None
    assert one.note == "Files are in the rack"


def test_a_note_that_has_no_room_is_refused_and_not_cut() -> None:
    start()
    assert hand(note="x" * 200).done
    assert words(hand("P-13", "x" * 201)) == "The note has 201 characters; 200 have room."


def test_a_shift_ends_on_a_frozen_instrument_too() -> None:
    start()
    door.record(act("P-01", ""), door.Frozen(now("Q-1049").id, "Look at the heel"))
    assert hand().done


# --- begun by mistake ---


def test_a_step_begun_by_mistake_is_left_for_a_reason_that_is_kept() -> None:
    start()
    deed = door.StepLeft(now("Q-1049").id)
    assert rules(door.record(act("P-12", "F", LATER), deed)) == ["left"]
    assert door.record(act("P-12", "F", LATER, reason="Wrong guitar"), deed).done
    assert now("Q-1049").open is None
    row = newest("Q-1049")
    assert (row["kind"], row["reason"], row["data"]["operation"]) == ("left", "Wrong guitar", "F20")
    assert start(at=LATER).done


def test_nothing_is_left_where_nothing_is_open() -> None:
    deed = door.StepLeft(now("Q-1049").id)
    assert rules(door.record(act("P-12", "F", reason="Wrong guitar"), deed)) == ["open"]


# --- power cut ---

WENT, CAME = NOON + timedelta(minutes=5), NOON + timedelta(minutes=25)


def cut(began: datetime = WENT, ended: datetime = CAME) -> door.Outcome:
    return door.record(act("P-01", "", LATER), door.PowerCut(began, ended))


def look(answer: str, by: str = "P-16", station: str = "J", serial: str = "Q-1061") -> door.Outcome:
    return door.record(act(by, station, LATER), door.CutSeen(now(serial).id, answer))


def pair(by: str = "P-16") -> door.Outcome:
    tag = Tag.objects.get(neck__serial="K-2095", void_at__isnull=True).code
    return step("Q-1061", "J10", by, "J", LATER, tag)


@pytest.fixture
def in_the_dark() -> None:
    """The power goes while the joint machine cuts Q-1061 and the frets of Q-1049 are filed."""
    assert start("Q-1061", "J10", "P-16", "J").done
    assert start().done
    assert cut().done


@pytest.mark.usefixtures("in_the_dark")
def test_a_power_cut_keeps_the_gap_and_every_step_that_was_open() -> None:
    row = Entry.objects.get(kind="power cut")
    assert row.instrument_id is None
    assert (row.data["began"], row.data["ended"]) == (WENT.isoformat(), CAME.isoformat())
    told = [
        (one["serial"], one["operation"], one["by"], one["machine"]) for one in row.data["open"]
    ]
    assert sorted(told) == [("Q-1049", "F20", "P-12", False), ("Q-1061", "J10", "P-16", True)]


@pytest.mark.usefixtures("in_the_dark")
def test_a_cut_open_when_the_power_went_is_unknown_until_somebody_looks() -> None:
    one = now("Q-1061").open
    assert one is not None
    assert one.unsure
    outcome = pair()
    assert rules(outcome)[0] == "power cut"
    assert "the cut is unknown until somebody looks" in words(outcome)


@pytest.mark.usefixtures("in_the_dark")
def test_hand_work_goes_on_after_a_power_cut() -> None:
    assert now("Q-1049").open == OpenStep("F20", "P-12", NOON)
    assert step("Q-1049", "F20", "P-12", "F", LATER).done


@pytest.mark.usefixtures("in_the_dark")
def test_a_cut_found_whole_is_recorded() -> None:
    assert look("whole").done
    assert now("Q-1061").open == OpenStep("J10", "P-16", NOON)
    assert pair().done


@pytest.mark.usefixtures("in_the_dark")
def test_a_cut_that_is_made_again_stays_open_and_says_so() -> None:
    assert look("again").done
    assert now("Q-1061").open == OpenStep("J10", "P-16", NOON, note="To be cut again.")
    assert pair().done


@pytest.mark.usefixtures("in_the_dark")
def test_a_spoilt_cut_is_open_no_more_and_its_guitar_waits_for_the_lead() -> None:
    assert look("spoilt").done
    it = now("Q-1061")
    assert it.open is None
    assert it.frozen is not None
    assert it.frozen.words == "The power went while J10 was cut, and the cut is spoilt."
    assert [row["kind"] for row in board.journal(it.id)[:2]] == ["frozen", "cut seen"]
    assert rules(pair()) == ["frozen"]


@pytest.mark.usefixtures("in_the_dark")
def test_anybody_at_the_machine_may_look_and_the_answer_names_them() -> None:
    assert rules(look("whole", station="N")) == ["station"]
    assert look("whole", by="P-14").done
    row = newest("Q-1061")
    assert (row["by__code"], row["data"]["operation"]) == ("P-14", "J10")
    assert row["data"]["answer"] == "whole"


@pytest.mark.usefixtures("in_the_dark")
def test_a_cut_is_whole_cut_again_or_spoilt_and_nothing_else() -> None:
    assert rules(look("fine")) == ["cut seen"]
    one = now("Q-1061").open
    assert one is not None
    assert one.unsure


@pytest.mark.usefixtures("in_the_dark")
def test_what_is_known_is_not_looked_at_again() -> None:
    look("whole")
    assert words(look("spoilt")) == "J10 of Q-1061 was not open in a power cut."
    assert now("Q-1061").frozen is None


@pytest.mark.usefixtures("in_the_dark")
def test_an_unknown_cut_is_not_left_helped_with_or_taken_over_but_may_be_parked() -> None:
    it = now("Q-1061").id
    left = door.record(act("P-16", "J", LATER, reason="Wrong guitar"), door.StepLeft(it))
    assert rules(left) == ["power cut"]
    assert rules(join("P-17", "J", "Q-1061")) == ["power cut"]
    assert hand(by="P-16", serial="Q-1061").done
    assert rules(door.record(act("P-16", "J", LATER), door.StepTaken(it))) == ["power cut"]
    one = now("Q-1061").open
    assert one is not None
    assert one.unsure


def test_a_step_begun_after_the_power_came_back_is_not_touched_by_the_cut() -> None:
    start("Q-1061", "J10", "P-16", "J", CAME)
    assert cut().done
    assert Entry.objects.get(kind="power cut").data["open"] == []
    assert now("Q-1061").open == OpenStep("J10", "P-16", CAME)


def test_a_power_cut_moves_no_clock() -> None:
    early = NOW - timedelta(hours=1)
    before = [now("Q-1040").held(NOW), board.work(now("Q-1049"), asking("P-12", "F")).ready]
    deed = door.PowerCut(early - timedelta(hours=1), early)
    assert door.record(act("P-01", ""), deed).done
    after = [now("Q-1040").held(NOW), board.work(now("Q-1049"), asking("P-12", "F")).ready]
    assert after == before
    assert after[1] is not None


def test_a_power_cut_does_not_end_before_it_begins() -> None:
    outcome = cut(CAME, WENT)
    assert words(outcome) == "The power came back Mon 12:05, before it went Mon 12:25."
    assert cut(WENT, WENT).done


def test_a_power_cut_that_is_still_to_come_is_not_noted() -> None:
    start("Q-1061", "J10", "P-16", "J")
    outcome = cut(WENT, LATER + timedelta(seconds=1))
    assert rules(outcome) == ["power cut"]
    assert now("Q-1061").open == OpenStep("J10", "P-16", NOON)


# --- what is open, asked for ---


@pytest.mark.usefixtures("in_the_dark")
def test_what_is_open_is_listed_with_who_has_it() -> None:
    join()
    hand(by="P-16", serial="Q-1061")
    frets, joint = board.open_steps()
    assert (frets.serial, frets.operation, frets.by) == ("Q-1049", "F20", "P-12")
    assert (frets.since, frets.helpers) == (NOON, ("P-13",))
    assert (frets.parked, frets.unsure) == (False, False)
    assert (joint.serial, joint.parked, joint.unsure) == ("Q-1061", True, True)
    tag = board.by_tag(joint.tag)
    assert tag is not None
    assert tag.serial == "Q-1061"


def test_what_is_open_takes_two_statements_for_any_number(
    django_assert_num_queries: Any,
) -> None:
    assert board.open_steps() == []
    start()
    with django_assert_num_queries(2):
        assert len(board.open_steps()) == 1
    start("Q-1061", "J10", "P-16", "J", CAME)
    start("Q-1043", "B30", "P-14", "B", CAME)
    with django_assert_num_queries(2):
        assert [one.serial for one in board.open_steps()] == ["Q-1049", "Q-1043", "Q-1061"]


def test_what_has_come_off_the_floor_is_not_listed_as_open() -> None:
    start()
    Instrument.objects.filter(pk=now("Q-1049").id).update(finished_at=LATER)
    assert board.open_steps() == []
