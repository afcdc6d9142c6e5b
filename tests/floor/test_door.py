"""The one door: the same act is done once, and every attempt is written down."""

from __future__ import annotations

import uuid
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop.craft.finding import Severity
from shop.floor import board, door
from shop.floor.models import Entry, Instrument, Step
from tests.floor.morning import NOW, act, now, ready_for, rules

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

LOCK = int(connection.features.has_select_for_update)
KEY = uuid.UUID("6f7a1c1e-0d0b-4a52-9d53-2a1c4f0f9b10")


def n40(serial: str = "Q-1043") -> door.StepDone:
    return door.StepDone(now(serial).id, "N40")


def rows(key: uuid.UUID = KEY) -> int:
    return Entry.objects.filter(key=key).count()


def test_an_act_that_passes_every_gate_is_recorded() -> None:
    ready_for("Q-1043", "N40")
    outcome = door.record(act(key=KEY), n40())
    assert (outcome.result, outcome.findings, outcome.subject) == ("recorded", (), "Q-1043")


def test_the_same_act_twice_is_done_once_and_says_already() -> None:
    ready_for("Q-1043", "N40")
    first = door.record(act(key=KEY), n40())
    second = door.record(act(key=KEY), n40())
    assert (first.result, second.result) == ("recorded", "already")
    assert second.seq == first.seq
    assert rows() == 1
    assert Step.objects.filter(instrument=now("Q-1043").id, operation__code="N40").count() == 1


def test_a_later_moment_on_the_same_phone_is_still_the_same_act() -> None:
    ready_for("Q-1043", "N40")
    door.record(act(key=KEY), n40())
    later = act(key=KEY, at=NOW.replace(hour=15), device="another browser", claimed_at=NOW)
    assert door.record(later, n40()).result == "already"


@pytest.mark.parametrize("differs", ["deed", "badge", "station", "reason"])
def test_the_key_of_one_act_on_another_is_refused_and_nothing_is_done(differs: str) -> None:
    ready_for("Q-1043", "N40")
    door.record(act(key=KEY), n40())
    other: dict[str, Any] = {
        "badge": {"by": "P-10"},
        "station": {"station": "B"},
        "reason": {"reason": "For luck"},
    }.get(differs, {})
    deed = n40("Q-1050") if differs == "deed" else n40()
    outcome = door.record(act(key=KEY, **other), deed)
    assert (outcome.result, rules(outcome)) == ("refused", ["key"])
    assert rows() == 1


def test_the_refusal_of_a_borrowed_key_tells_what_to_do() -> None:
    ready_for("Q-1043", "N40")
    door.record(act(key=KEY), n40())
    (finding,) = door.record(act(key=KEY), n40("Q-1050")).findings
    assert finding.then == "Open the instrument again and record from there."


def test_a_refused_act_is_written_down_with_its_rule_and_sentence() -> None:
    outcome = door.record(act(key=KEY), n40())
    row = Entry.objects.get(key=KEY)
    assert (outcome.result, row.outcome, row.kind) == ("refused", "refused", "step")
    assert [one["rule"] for one in row.findings] == ["tray scan", "readings"]
    assert row.findings[0]["words"] == outcome.findings[0].words
    assert row.data == {
        "instrument_id": now("Q-1043").id,
        "operation": "N40",
        "neck_code": "",
        "done_at": None,
    }


def test_a_refused_act_sent_again_gets_the_same_answer_and_no_second_row() -> None:
    first = door.record(act(key=KEY), n40())
    second = door.record(act(key=KEY), n40())
    told = [(one.result, one.findings, one.subject, one.seq) for one in (first, second)]
    assert told[0] == told[1]
    assert rows() == 1


def test_a_refused_act_stays_refused_and_the_next_try_has_a_key_of_its_own() -> None:
    door.record(act(key=KEY), n40())
    ready_for("Q-1043", "N40")
    assert door.record(act(key=KEY), n40()).result == "refused"
    assert door.record(act(), n40()).result == "recorded"


def test_a_refused_step_changes_nothing_on_the_instrument() -> None:
    before = now("Q-1043")
    door.record(act(key=KEY), n40())
    after = now("Q-1043")
    assert (after.done, after.seq) == (before.done, before.seq + 1)


def test_the_journal_of_an_instrument_counts_up_without_a_gap() -> None:
    door.record(act(), n40())
    ready_for("Q-1043", "N40")
    door.record(act(), n40())
    number = now("Q-1043").id
    sequence = list(Entry.objects.filter(instrument=number).values_list("seq", flat=True))
    assert sequence == list(range(1, len(sequence) + 1))
    assert Instrument.objects.get(pk=number).seq == len(sequence)


def test_a_zero_character_in_what_was_sent_is_left_out_of_the_journal() -> None:
    """PostgreSQL keeps none in a text (its manual, character types)."""
    door.record(act(key=KEY, reason="Torn\0"), door.StepDone(now("Q-1043").id, "N40\0"))
    row = Entry.objects.get(key=KEY)
    assert (row.reason, row.data["operation"], row.outcome) == ("Torn", "N40", "refused")


def test_the_journal_tells_who_where_on_what_phone_and_by_both_clocks() -> None:
    claimed = NOW.replace(minute=29)
    door.record(act(key=KEY, device="bench 3", claimed_at=claimed), n40())
    row = Entry.objects.get(key=KEY)
    assert (row.by.code, row.station, row.device) == ("P-11", "N", "bench 3")
    assert (row.claimed_at, row.at) == (claimed, NOW)


def test_worse_findings_are_told_before_milder_ones() -> None:
    outcome = door.record(
        act("P-01", ""),
        door.Released(
            "Q-1060", "K-2099", "VOE", due_on=NOW.date(), release_on=NOW.date().replace(day=4)
        ),
    )
    ranks = [list(Severity).index(one.severity) for one in outcome.findings]
    assert ranks == sorted(ranks)
    assert len(ranks) > 1


@pytest.mark.parametrize(
    "deed",
    [
        door.StepDone(0, "N40"),
        door.TrayChecked(0, "T000000"),
        door.TrayClosed(0),
        door.LineChecked(0, 0, 0, None, "count", 1),
        door.CallMade(0, "lead", "Come"),
        door.CallAnswered(0),
        door.TagReplaced("B000000"),
    ],
    ids=lambda deed: deed.kind,
)
def test_a_deed_about_nothing_that_exists_is_a_look_up_error_and_leaves_no_row(
    deed: Any,
) -> None:
    with pytest.raises(LookupError):
        door.record(act(key=KEY), deed)
    assert rows() == 0


def statements(act_: door.Act, deed: Any) -> list[str]:
    with CaptureQueriesContext(connection) as caught:
        assert door.record(act_, deed).done
    told = [str(one["sql"]) for one in caught.captured_queries]
    return [sql for sql in told if "SAVEPOINT" not in sql]


def test_recording_a_step_takes_six_statements() -> None:
    """Instrument, steps, key, count, row, step; on PostgreSQL the lock is one of its own."""
    ready_for("Q-1043", "N40")
    board.by_serial("Q-1043")
    doing, deed = act(), n40()
    told = statements(doing, deed)
    assert len(told) == 6 + LOCK, "\n".join(told)


def test_checking_a_tray_takes_nine_statements_for_any_number_of_lines() -> None:
    """Instrument, steps, key, tray, lines, articles, count, row, and the check noted; on
    PostgreSQL the lock is one of its own.
    """
    it = now("Q-1050")
    it.sheet  # noqa: B018 drawn once a process
    doing = act("P-16", "J")
    told = statements(doing, door.TrayChecked(it.id, it.tray_code))
    assert len(told) == 9 + LOCK, "\n".join(told)
