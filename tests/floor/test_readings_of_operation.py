"""What two operations measure is measured at each: a value answers the operation it was read at."""

from __future__ import annotations

import pytest

from shop.floor import board, door
from shop.floor.models import Instrument, Reading
from tests.floor.casing import CASED, HOUR, READY, SERIAL, cased, did, done
from tests.floor.gauged import gauge
from tests.floor.morning import act, asking, check_tray, measured, now, step, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

LOOK = CASED - HOUR
AGAIN = READY + HOUR
HEIGHTS = {"relief 7": "0.2", "action bass": "2.4", "action treble": "1.6"}


def test_what_the_set_up_measured_is_not_the_answer_at_the_inspection() -> None:
    assert now(SERIAL).readings.at("action", "bass") is not None
    refused = step(SERIAL, "I10", "P-31", "I", LOOK)
    assert "I10 measures relief and string height over fret 12: 3 values to go." in words(refused)


def test_what_the_first_look_measured_is_not_the_answer_at_the_second() -> None:
    cased()
    refused = step(SERIAL, "I30", "P-32", "R", AGAIN)
    assert "I30 measures relief and string height over fret 12: 3 values to go." in words(refused)
    assert gauge(SERIAL, HEIGHTS, "I30", "P-32", "R", AGAIN).done
    assert step(SERIAL, "I30", "P-32", "R", AGAIN, reason="Measured again: the same").done


def test_each_value_says_where_it_was_measured_and_which_operation_it_answers() -> None:
    cased()
    at_i10 = Reading.objects.filter(instrument_id=now(SERIAL).id, operation="I10")
    assert sorted(at_i10.values_list("quantity", "place")) == [
        ("action", "bass"), ("action", "treble"), ("relief", "7"),
    ]  # fmt: skip
    in_force = {(one.quantity, one.place): one.operation for one in now(SERIAL).readings.values}
    assert in_force["relief", "7"] == "I10"
    assert in_force["octave_off", "6"] == "A30"


def test_a_value_corrected_at_a_later_bench_still_answers_the_one_that_asks_for_it() -> None:
    """N60 stops at a hole that N40 gauged; gauged again there, N40 has its answer."""
    assert check_tray("Q-1043").done
    assert measured("Q-1043", "N40").done
    assert gauge("Q-1043", {"hole 6": "8.74"}, "N60").done
    assert now("Q-1043").readings.at("hole", "6") is not None
    (one,) = (it for it in now("Q-1043").readings.of("hole") if it.place == "6")
    assert (f"{one.value}", one.operation) == ("8.74", "N40")
    assert step("Q-1043", "N40").done


def test_a_value_kept_before_its_operation_was_answers_any() -> None:
    """As an older release kept it: quantity, place and value alone."""
    it = now(SERIAL)
    older = [one.row()[:3] for one in it.readings.values]
    Instrument.objects.filter(pk=it.id).update(gauged=older)
    assert operations() == {""}
    assert step(SERIAL, "I10", "P-31", "I", LOOK).done


def test_a_struck_inspection_takes_its_own_values_along_and_no_others() -> None:
    did(SERIAL, "I10", "P-31", "I", LOOK)
    seq = next(one.seq for one in now(SERIAL).done if one.operation == "I10")
    done(door.StepStruck(now(SERIAL).id, seq), LOOK, "P-01", "", reason="It was another guitar")
    assert "I10" not in operations()
    assert {"A30", "U30", "N60"} <= operations()


def test_a_loop_measures_again_what_its_operations_ask_for() -> None:
    """A set-up again takes U30, A30 and I10: what each had measured goes, U10's stays."""
    did(SERIAL, "I10", "P-31", "I", LOOK)
    assert {"U10", "U30", "A30", "I10"} <= operations()
    loop = door.DefectFound(now(SERIAL).id, "low action", "set-up")
    done(loop, LOOK, "P-22", "I")
    assert "U10" in operations()
    assert not {"U30", "A30", "I10"} & operations()


def test_doubts_of_the_first_look_are_not_told_before_the_second_has_measured() -> None:
    high = HEIGHTS | {"action bass": "2.6"}
    assert gauge(SERIAL, high, "I10", "P-31", "I", LOOK).done
    did_it = door.record(
        act("P-31", "I", LOOK, reason="Within what the buyer asked"),
        door.StepDone(now(SERIAL).id, "I10"),
    )
    assert did_it.done, words(did_it)
    did(SERIAL, "I20", "P-31", "H", CASED)
    before = said_at_the_second()
    assert "2.6" not in before
    assert "3 values to go" in before
    assert gauge(SERIAL, high, "I30", "P-32", "R", AGAIN).done
    assert "2.6" in said_at_the_second()


def operations() -> set[str]:
    """The operations that the values in force answer."""
    return {one.operation for one in now(SERIAL).readings.values}


def said_at_the_second() -> str:
    it = now(SERIAL)
    work = board.work(it, asking("P-32", "R", AGAIN))
    return " ".join(one.words for one in work.findings)
