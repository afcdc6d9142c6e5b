"""Why everything waits, and what waits for the lead.

What is asked here is common practice, no source, unless a test names one.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop.catalogue.models import LimitChange, SpecRevision
from shop.floor import board, conditions, door
from shop.floor.models import Deviation, Instrument, Step
from shop.floor.waiting import NextWait, WaitRow
from shop.people.models import Badge
from tests.bench.crowd import add_instruments
from tests.floor.casing import CASED, SERIAL, cased, did, done
from tests.floor.morning import NOW, act, check_tray, measured, now, ready_for, step, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

NOON = NOW + timedelta(hours=2, minutes=30)  # from 11:25 on F20 of Q-1049 may begin
PAIR = "Q-1050"


def row(serial: str, at: datetime = NOW) -> WaitRow:
    return next(one for one in board.waiting_list(at) if one.serial == serial)


def nexts(serial: str, at: datetime = NOW) -> dict[str, NextWait]:
    return {one.code: one for one in row(serial, at).nexts}


def rules(serial: str, operation: str, at: datetime = NOW) -> list[str]:
    return [one.rule for one in nexts(serial, at)[operation].reasons]


def frozen(serial: str, why: str = "Heel split seen") -> None:
    assert door.record(act("P-31", "I"), door.Frozen(now(serial).id, why)).done


def begun(serial: str, operation: str, by: str, station: str, at: datetime = NOW) -> None:
    outcome = door.record(act(by, station, at), door.StepStarted(now(serial).id, operation))
    assert outcome.done, words(outcome)


def before_the_tray(serial: str) -> None:
    """Everything on the neck that needs no tray is done."""
    for code in ("N10", "N20", "N30"):
        did(serial, code, "P-11", "N", NOW)


# --- why everything waits ---


def test_every_open_instrument_stands_there_soonest_due_first() -> None:
    there = [one.serial for one in board.waiting_list(NOW)]
    assert there == [one.serial for one in board.all_open()]


def test_each_operation_that_comes_next_is_named_with_its_station() -> None:
    found = nexts("Q-1043")
    assert {code: one.station for code, one in found.items()} == {
        "N40": "Neck bench",
        "B30": "Body bench",
    }


def test_work_that_only_wants_a_scan_a_measure_or_a_person_waits_for_nothing() -> None:
    """N40 wants the tray scanned and the holes measured: all that is done at the bench."""
    assert rules("Q-1043", "N40") == []
    assert row("Q-1043").words == ""


def test_whoever_is_not_signed_off_is_no_reason_to_wait() -> None:
    Badge.objects.update(trained={})
    assert rules("Q-1043", "N40") == []


def test_a_hold_says_until_when_it_keeps_the_next_look_back() -> None:
    """At least 96 h in the case: Q-1040 was cased on Thursday at 10:30."""
    it = nexts("Q-1040")["I30"]
    assert [one.rule for one in it.reasons] == ["wait"]
    assert it.ready == NOW.replace(hour=10, minute=30)
    assert row("Q-1040").words.startswith("I30: Ready Mon 10:30.")
    assert "hold" in row("Q-1040").marks


def test_a_hold_that_has_passed_is_no_reason_and_no_mark() -> None:
    at = NOW + timedelta(hours=1)
    assert rules("Q-1040", "I30", at) == []
    assert "hold" not in row("Q-1040", at).marks


def test_glue_that_cures_says_until_when() -> None:
    it = nexts("Q-1049")["F20"]
    assert it.ready == NOW.replace(hour=11, minute=25)
    assert it.reasons[0].then == "Take another instrument and come back Mon 11:25."


def test_a_part_that_still_rests_in_the_room_says_until_when() -> None:
    body = Instrument.objects.get(body__serial="Q-1062").body
    body.arrived_at = NOW - timedelta(hours=8)
    body.save()
    found = [it for one in row("Q-1062").nexts for it in one.reasons if it.rule == "rest"]
    assert [one.words.endswith("Ready Wed 01:30.") for one in found] == [True]


def test_a_frozen_instrument_waits_with_all_that_comes_next() -> None:
    frozen("Q-1043")
    found = row("Q-1043")
    assert all([one.rule for one in each.reasons] == ["frozen"] for each in found.nexts)
    assert found.marks == ("frozen",)
    assert found.words == "Q-1043 was frozen Mon 09:30 by P-31: Heel split seen."
    assert [one.then for one in found.whole] == ["Leave it as it is. The lead looks and frees it."]


def test_a_step_in_hand_keeps_the_rest_back() -> None:
    begun("Q-1043", "B30", "P-14", "B")
    assert rules("Q-1043", "N40") == ["open"]
    assert row("Q-1043").whole[0].words == "P-14 has B30 open since Mon 09:30."
    assert row("Q-1043").marks == ("open",)


def test_a_parked_step_and_a_cut_unknown_say_so() -> None:
    begun("Q-1043", "B30", "P-14", "B")
    assert door.record(act("P-14", "B"), door.StepHanded(now("Q-1043").id)).done
    assert row("Q-1043").marks == ("open", "parked")
    assert rules("Q-1043", "B30") == ["parked"]


def test_a_rework_keeps_it_at_repair() -> None:
    deed = door.DefectFound(now(SERIAL).id, "lift", "bridge lift", "I10", "rear edge")
    assert door.record(act("P-22", "I"), deed).done
    found = row(SERIAL)
    assert [one.rule for one in found.whole] == ["rework"]
    assert "rework" in found.marks


def test_a_tray_that_is_short_names_what_is_missing() -> None:
    """N40 is the first operation out of the tray."""
    before_the_tray("Q-1044")
    [found] = nexts("Q-1044")["N40"].reasons
    assert found.rule == "tray short"
    assert found.words.startswith("The tray of Q-1044 is short of ")
    assert found.call == "clerk"
    assert "short" in row("Q-1044").marks


def test_a_tray_that_is_not_closed_waits_for_kitting() -> None:
    before_the_tray("Q-1062")
    [found] = nexts("Q-1062")["N40"].reasons
    assert (found.rule, found.words) == (
        "tray not closed",
        "The tray of Q-1062 is not picked yet.",
    )


def test_what_was_measured_and_does_not_fit_keeps_the_work_back() -> None:
    """A hole so tight that its bushing would split the head."""
    check_tray("Q-1043")
    assert measured("Q-1043", "N40", hole="8.60").done
    assert rules("Q-1043", "N40")
    assert all(one.startswith("R") for one in rules("Q-1043", "N40"))


def test_what_was_judged_by_an_older_limit_is_told_as_that() -> None:
    check_tray("Q-1043")
    assert measured("Q-1043", "N40", hole="8.60").done
    SpecRevision.objects.filter(spec__key="TARN").update(version=99)
    assert rules("Q-1043", "N40") == ["judged before"]


def test_a_tray_stopped_at_its_last_check_keeps_the_work_back() -> None:
    check_tray("Q-1043", of="Q-1050")
    assert rules("Q-1043", "N40") == ["tray stop"]


def test_a_cold_room_keeps_glue_back_and_nothing_else() -> None:
    """J30 glues, N40 does not."""
    assert step(PAIR, "J20", "P-16", "J").done
    cold = door.RoomRead(Decimal(9), Decimal(48))
    assert door.record(act("P-16", "J"), cold).done
    assert rules(PAIR, "J30") == ["R37"]
    assert rules("Q-1043", "N40") == []


def test_a_body_without_a_neck_waits_for_the_lead_with_all_of_the_neck() -> None:
    broken = door.PairBroken(now(PAIR).id, "scrap")
    assert door.record(act("P-01", "", reason="Heel split"), broken).done
    found = row(PAIR)
    assert "no neck" in found.marks
    assert [one.rule for one in nexts(PAIR)["N10"].reasons] == ["neck"]


def test_doubts_keep_back_what_wants_all_proven() -> None:
    Step.objects.filter(instrument__body__serial=SERIAL, operation__code="Q10").update(
        doubt="recorded late"
    )
    assert "doubt" in rules(SERIAL, "I10")
    assert "doubt" in row(SERIAL).marks


def test_a_wood_without_its_paper_keeps_it_from_leaving() -> None:
    """The same finding as at the bench, whether papers are read for one or for all."""
    it = now("Q-1055")
    sheet = it.sheet.stop("Z10")
    assert sheet is not None
    Instrument.objects.filter(pk=it.id).update(destination="Elsewhere")
    at_the_bench = conditions.gate(now("Q-1055"), sheet, NOW)
    Step.objects.bulk_create(_all_before(it, "Z10"))
    found = nexts("Q-1055")["Z10"].reasons
    unpapered = [one for one in at_the_bench if one.rule == "R40"]
    assert unpapered
    assert [one for one in found if one.rule == "R40"] == unpapered


def _all_before(it: board.State, operation: str) -> list[Step]:
    """A record of every operation before one that has none yet."""
    like = Step.objects.filter(operation__code="N10")[0]
    missing = it.sheet.route.before(operation) - it.done_codes
    return [
        Step(
            instrument_id=it.id,
            operation_id=one.operation_id,
            by_id=like.by_id,
            at=NOW - timedelta(days=30),
            seq=1000 + place,
            entry_id=like.entry_id,
        )
        for place, one in enumerate(it.sheet.stops)
        if one.code in missing
    ]


def test_one_instrument_is_asked_for_by_itself_with_the_same_answer() -> None:
    frozen("Q-1049")
    assert board.waiting_of(now("Q-1049"), NOW) == row("Q-1049")


# --- as many statements for many as for few ---


def asked(what: Callable[[], Any]) -> int:
    conditions.forget_room()
    with CaptureQueriesContext(connection) as caught:
        what()
    return len(caught)


def only(serials: int) -> None:
    """So many open instruments are left: one in its case, one with deviations, one to glue."""
    did(PAIR, "J20", "P-16", "J", NOW)
    keep = ["Q-1040", "Q-1044", "Q-1043", "Q-1062", PAIR][:serials]
    Instrument.objects.exclude(body__serial__in=keep).update(finished_at=NOW)


def test_five_instruments_take_as_many_statements_as_forty() -> None:
    only(5)
    Instrument.objects.filter(body__serial="Q-1062").update(destination="Elsewhere")
    board.waiting_list(NOW)  # the sheets are drawn once a process
    few = asked(lambda: board.waiting_list(NOW))
    add_instruments(35)
    Instrument.objects.filter(body__serial__startswith="Q-200").update(
        destination="Elsewhere", deviations_count=1
    )
    Deviation.objects.bulk_create(
        Deviation(instrument=one, words="Gold", approved="buyer")
        for one in Instrument.objects.filter(body__serial__startswith="Q-200")
    )
    frozen("Q-20001")
    assert len(board.waiting_list(NOW)) == 40
    many = asked(lambda: board.waiting_list(NOW))
    assert (few, many) == (9, 9)


def test_limits_set_since_ask_for_nothing_more() -> None:
    check_tray("Q-1043")
    measured("Q-1043", "N40", hole="8.60")
    board.waiting_list(NOW)
    few = asked(lambda: board.waiting_list(NOW))
    revision = SpecRevision.objects.get(spec__key="TARN", state="open")
    LimitChange.objects.create(
        revision=revision, name="R06.least", value=Decimal("0.01"), by="P-01", on=NOW.date(),
        why="Tried on scrap",
    )  # fmt: skip
    SpecRevision.objects.filter(pk=revision.pk).update(version=revision.version + 1)
    board.waiting_list(NOW)
    assert asked(lambda: board.waiting_list(NOW)) == few


def test_the_room_is_read_once_for_all_that_glue() -> None:
    """Once its log since the first hold began, once how it is now."""
    did(PAIR, "J20", "P-16", "J", NOW)
    conditions.forget_room()
    with CaptureQueriesContext(connection) as caught:
        board.waiting_list(NOW)
    read = [one["sql"] for one in caught if one["sql"].startswith('SELECT "floor_roomreading"')]
    assert len(read) == 2


# --- what waits for the lead ---


def test_doubts_are_gathered_by_instrument() -> None:
    steps = Step.objects.filter(instrument__body__serial="Q-1043")
    steps.filter(operation__code="N10").update(doubt="recorded late")
    steps.filter(operation__code="N20").update(doubt="recorded late")
    [found] = board.doubts()
    assert (found.serial, found.operations, found.words) == (
        "Q-1043",
        ("N10", "N20"),
        ("recorded late",),
    )


def test_a_body_without_a_neck_says_since_when_and_why() -> None:
    broken = door.PairBroken(now(PAIR).id, "store")
    assert door.record(act("P-01", "", reason="Heel too thin"), broken).done
    [found] = board.neckless()
    assert (found.serial, found.since, found.why) == (PAIR, NOW, "Heel too thin")


def test_an_open_loop_says_since_when_it_is_open() -> None:
    cased()
    deed = door.DefectFound(now(SERIAL).id, "lift", "bridge lift", "I30", "rear edge")
    at = CASED + timedelta(days=5)
    done(deed, at, "P-22", "R")
    [found] = board.reworks_open()
    assert (found.serial, found.loop, found.word, found.since) == (
        SERIAL,
        "bridge lift",
        "lift",
        at,
    )


def test_a_power_cut_lists_what_was_open_and_what_is_still_unknown() -> None:
    begun("Q-1043", "B30", "P-14", "B")
    begun(PAIR, "J20", "P-16", "J")
    begun("Q-1061", "J10", "P-16", "J")
    at = NOW + timedelta(minutes=20)
    cut = door.PowerCut(NOW + timedelta(minutes=10), at)
    assert door.record(act("P-01", "", at), cut).done
    [found] = board.power_cuts()
    assert {one.serial: (one.machine, one.unknown) for one in found.lines} == {
        "Q-1043": (False, False),
        PAIR: (False, False),
        "Q-1061": (True, True),
    }
    assert found.unknown == 1


def test_a_cut_that_somebody_looked_at_is_known_with_its_answer() -> None:
    begun("Q-1061", "J10", "P-16", "J")
    at = NOW + timedelta(minutes=20)
    cut = door.PowerCut(NOW + timedelta(minutes=10), at)
    assert door.record(act("P-01", "", at), cut).done
    seen = door.CutSeen(now("Q-1061").id, "whole")
    assert door.record(act("P-16", "J", at), seen).done
    [found] = board.power_cuts()
    [line] = found.lines
    assert (line.answer, line.seen_by, line.unknown, found.unknown) == ("whole", "P-16", False, 0)


# --- what would follow ---


def test_what_is_done_again_with_another_neck_is_told_before() -> None:
    told = board.undone_by_parting(now(PAIR))
    broken = door.PairBroken(now(PAIR).id, "scrap")
    before = now(PAIR).done_codes
    assert door.record(act("P-01", "", reason="Heel split"), broken).done
    assert set(told) == before - now(PAIR).done_codes


def test_what_would_be_in_doubt_is_what_is_recorded_since() -> None:
    at = NOW + timedelta(minutes=10)
    ready_for("Q-1043", "B30", "P-14", "B", at)
    assert step("Q-1043", "B30", "P-14", "B", at).done
    assert board.in_doubt_since(now("Q-1043"), at) == ("B30",)
    assert board.in_doubt_since(now("Q-1043"), at + timedelta(seconds=1)) == ()


def test_every_wait_of_a_route_can_be_named_with_what_was_added() -> None:
    longer = door.WaitLengthened(now("Q-1043").id, "hold", 24)
    assert door.record(act("P-01", "", reason="Damp"), longer).done
    hold = next(one for one in board.clocks_of(now("Q-1043")) if one.name == "hold")
    assert (hold.wait, hold.added) == (timedelta(hours=96), timedelta(hours=24))


def test_waits_stand_in_the_order_in_which_they_begin() -> None:
    names = [one.name for one in board.clocks_of(now("Q-1043"))]
    assert names == [
        "oil", "neck clamp", "neck load", "bridge clamp", "string load", "adhesive", "settle",
        "hold",
    ]  # fmt: skip
