"""Steps recorded after they were done: both times are kept, and clocks run from the later one
unless a witness signs beside that it was so. Times and instruments are invented."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from shop.craft.words import THIN
from shop.floor import door
from shop.floor.models import Entry, Step
from tests.floor.morning import act, now, person, prepared, ready_for, rules, step, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

BACK = datetime(2031, 3, 3, 14, 20, tzinfo=UTC)  # the network is back
DONE = datetime(2031, 3, 3, 13, 5, tzinfo=UTC)  # when it was really done
LATE = "The network was down"
HOUR = timedelta(hours=1)
SERIAL = "Q-1050"  # paired; next is the dry fit, at the joint machine


def late(
    operation: str,
    done_at: datetime = DONE,
    by: str = "P-16",
    station: str = "J",
    at: datetime = BACK,
    reason: str = LATE,
    **more: Any,
) -> door.Outcome:
    deed = door.StepDone(now(SERIAL).id, operation, done_at=done_at)
    return door.record(act(by, station, at, reason=reason, **more), deed)


def glued() -> None:
    """The neck is dry-fitted, and glued at 13:05 with nobody recording it."""
    assert step(SERIAL, "J20", "P-16", "J", DONE - HOUR).done
    ready_for(SERIAL, "J20", "P-16", "J", DONE)


def live(operation: str) -> Step:
    return Step.objects.get(
        instrument_id=now(SERIAL).id, operation__code=operation, void_at__isnull=True
    )


def test_a_step_entered_late_keeps_both_times_and_its_clock_runs_from_the_later() -> None:
    glued()
    assert late("J30").done
    kept = live("J30")
    assert (kept.at, kept.claimed_at) == (BACK, DONE)
    early = step(SERIAL, "J40", "P-16", "J", BACK + HOUR - timedelta(minutes=1))
    assert rules(early) == ["wait"]
    assert step(SERIAL, "J40", "P-16", "J", BACK + HOUR).done


def test_a_witness_beside_lets_the_clock_run_from_when_it_was_done() -> None:
    glued()
    assert late("J30", beside=person("P-17")).done
    kept = live("J30")
    assert (kept.at, kept.claimed_at, kept.others) == (DONE, DONE, ["P-17"])
    assert step(SERIAL, "J40", "P-16", "J", BACK).done


def test_somebody_who_learns_is_no_witness() -> None:
    glued()
    assert late("J30", beside=person("P-25")).done
    assert live("J30").at == BACK


def test_the_journal_row_has_both_times_the_reason_and_the_witness() -> None:
    glued()
    assert late("J30", beside=person("P-17")).done
    row = Entry.objects.get(instrument_id=now(SERIAL).id, seq=now(SERIAL).seq)
    assert (row.at, row.data["done_at"], row.reason) == (BACK, DONE.isoformat(), LATE)
    assert (row.who, row.beside) == ("P-16", "P-17")


def test_a_late_step_without_a_reason_asks_for_one() -> None:
    glued()
    outcome = late("J30", reason="")
    assert (outcome.result, rules(outcome)) == ("refused", ["late"])
    assert "1 h 15 min after it was done" in words(outcome).replace(THIN, " ")


@pytest.mark.parametrize(
    ("done_at", "told"),
    [
        (BACK + timedelta(minutes=1), "still to come"),
        (BACK - timedelta(days=7, minutes=1), "more than a week ago"),
        (DONE - HOUR - timedelta(minutes=1), "J20 before it was done Mon 12:05"),
    ],
)
def test_a_moment_that_cannot_be_is_not_taken(done_at: datetime, told: str) -> None:
    glued()
    outcome = late("J30", done_at)
    assert outcome.result == "refused"
    assert told in words(outcome)


def test_a_late_step_still_comes_after_what_must_come_before_it() -> None:
    outcome = late("J30")
    assert (outcome.result, "order" in rules(outcome)) == ("refused", True)


def test_several_steps_may_be_entered_late_one_after_another() -> None:
    for operation, done_at in (("J20", DONE - HOUR), ("J30", DONE)):
        ready_for(SERIAL, operation, "P-16", "J", BACK)
        assert late(operation, done_at).done


def test_a_witness_cannot_put_a_step_before_one_that_counts_later() -> None:
    assert late("J20", DONE - HOUR).done  # nobody saw it: it counts from now
    outcome = late("J30", beside=person("P-17"))
    assert outcome.result == "refused"
    assert "J20 before it counts from Mon 14:20" in words(outcome)


def test_a_late_step_may_be_entered_at_another_station() -> None:
    glued()
    assert late("J30", station="F").done


def test_a_pair_is_never_made_from_memory() -> None:
    deed = door.StepDone(now("Q-1061").id, "J10", done_at=DONE)
    outcome = door.record(act("P-16", "J", BACK, reason=LATE), deed)
    assert (outcome.result, "neck scan" in rules(outcome)) == ("refused", True)


def test_a_step_late_without_its_scan_and_measure_is_not_proven() -> None:
    deed = door.StepDone(now("Q-1043").id, "N40", done_at=DONE)
    assert door.record(act("P-11", "F", BACK, reason=LATE), deed).done
    kept = next(one for one in now("Q-1043").done if one.operation == "N40")
    assert kept.doubt == "recorded late, its tray was not scanned there and not measured"


def test_a_step_late_with_its_scan_and_measure_is_proven() -> None:
    for outcome in prepared("Q-1043", "N40", at=DONE):
        assert outcome.done
    deed = door.StepDone(now("Q-1043").id, "N40", done_at=DONE)
    assert door.record(act("P-11", "F", BACK, reason=LATE), deed).done
    assert [one.doubt for one in now("Q-1043").done if one.operation == "N40"] == [""]


def test_late_work_that_something_stands_against_is_refused() -> None:
    assert not door.record(
        act("P-11", "N", DONE), door.TrayChecked(now("Q-1043").id, now("Q-1041").tray_code)
    ).done
    deed = door.StepDone(now("Q-1043").id, "N40", done_at=DONE)
    outcome = door.record(act("P-11", "F", BACK, reason=LATE), deed)
    assert outcome.result == "refused"
    assert now("Q-1043").standing["tray"][0].rule in rules(outcome)


def test_the_phones_clock_is_kept_beside_the_servers() -> None:
    wrong = BACK + timedelta(hours=3)
    there = act("P-16", "J", BACK, claimed_at=wrong)
    assert door.record(there, door.StepDone(now(SERIAL).id, "J20")).done
    row = Entry.objects.get(instrument_id=now(SERIAL).id, seq=now(SERIAL).seq)
    assert (row.at, row.claimed_at, live("J20").at) == (BACK, wrong, BACK)
