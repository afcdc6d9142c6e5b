"""What was recorded and may not be so: a tag on the wrong guitar, confirmed, struck, remarked.

What is asked here is common practice, no source.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest

from shop.floor import board, door
from shop.floor.deeds.doubts import OTHER_GUITAR
from shop.floor.models import AsBuilt, Entry, Instrument, Pair, Step
from tests.floor.morning import (
    NOW,
    act,
    check_tray,
    measured,
    now,
    person,
    prepared,
    ready_for,
    rules,
    step,
    words,
)
from tests.floor.shipping import boxed, hand_over

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

# Both tags were seen to hang right at SURE; what was recorded since is in doubt.
SURE = NOW + timedelta(minutes=1)
THEN = NOW + timedelta(minutes=10)
FOUND = NOW + timedelta(minutes=30)
SEEN = "Read both block marks"


def seq_of(serial: str, operation: str) -> int:
    return next(one.seq for one in now(serial).done if one.operation == operation)


def mixed(
    one: str = "Q-1043", other: str = "Q-1058", since: datetime = SURE, by: str = "P-14"
) -> door.Outcome:
    deed = door.TagsMixed(now(one).id, now(other).id, since)
    return door.record(act(by, "B", FOUND), deed)


def confirm(
    serial: str, operation: str, by: str = "P-01", reason: str = SEEN, **more: Any
) -> door.Outcome:
    deed = door.StepConfirmed(now(serial).id, seq_of(serial, operation))
    return door.record(act(by, "", FOUND, reason=reason, **more), deed)


def strike(serial: str, operation: str, reason: str = SEEN, at: datetime = FOUND) -> door.Outcome:
    deed = door.StepStruck(now(serial).id, seq_of(serial, operation))
    return door.record(act("P-01", "", at, reason=reason), deed)


def in_doubt(serial: str) -> list[str]:
    return [one.operation for one in board.doubtful(now(serial).id)]


def free(serial: str) -> None:
    deed = door.Freed(now(serial).id)
    assert door.record(act("P-01", "", FOUND, reason=SEEN), deed).done


@pytest.fixture
def moved() -> None:
    """B30 is recorded on Q-1043 and B20 on Q-1058 while their tags hang on each other's."""
    ready_for("Q-1043", "B30", "P-14", "B", THEN)
    assert step("Q-1043", "B30", "P-14", "B", THEN).done
    assert step("Q-1058", "B20", "P-14", "B", THEN).done
    assert mixed().done


# --- a tag that hung on the wrong guitar ---


@pytest.mark.usefixtures("moved")
def test_a_tag_moved_to_the_wrong_body_freezes_both() -> None:
    said = "The tags of Q-1043 and Q-1058 were mixed up. Read both block marks."
    for serial in ("Q-1043", "Q-1058"):
        frozen = now(serial).frozen
        assert frozen is not None
        assert (frozen.words, frozen.by, frozen.since) == (said, "P-14", FOUND)
    assert rules(step("Q-1043", "N40", at=FOUND))[0] == "frozen"
    assert rules(step("Q-1058", "B30", "P-14", "B", FOUND))[0] == "frozen"


@pytest.mark.usefixtures("moved")
def test_every_record_since_the_sure_moment_is_to_be_confirmed_on_both() -> None:
    assert in_doubt("Q-1043") == ["B30"]
    assert in_doubt("Q-1058") == ["B20"]
    (one,) = board.doubtful(now("Q-1058").id)
    assert (one.seq, one.by, one.at) == (seq_of("Q-1058", "B20"), "P-14", THEN)
    assert one.doubt == OTHER_GUITAR


@pytest.mark.usefixtures("moved")
def test_nothing_recorded_is_taken_away_by_the_doubt() -> None:
    assert "B30" in now("Q-1043").done_codes
    assert Step.objects.get(operation__code="B30", instrument=now("Q-1043").id).void_at is None


@pytest.mark.usefixtures("moved")
def test_the_sure_moment_is_kept_with_both_numbers_in_each_journal() -> None:
    here, there = (board.journal(now(one).id) for one in ("Q-1043", "Q-1058"))
    assert [row["kind"] for row in here[:3]] == ["frozen", "doubted", "mixed"]
    assert [row["kind"] for row in there[:2]] == ["frozen", "doubted"]
    assert here[2]["data"]["since"] == SURE.isoformat()
    assert here[2]["data"]["other"] == "Q-1058"


def test_a_record_of_the_sure_moment_itself_is_in_doubt_and_one_before_is_not() -> None:
    assert step("Q-1058", "B20", "P-14", "B", SURE).done
    with_moment = now("Q-1058").id
    door.record(act("P-01", ""), door.Doubted(with_moment, SURE + timedelta(seconds=1), "Moved"))
    assert in_doubt("Q-1058") == []
    door.record(act("P-01", ""), door.Doubted(with_moment, SURE, "Moved"))
    assert in_doubt("Q-1058") == ["B20"]


def test_what_counts_is_when_it_was_recorded_and_not_when_it_was_done() -> None:
    """Done before the sure moment and recorded late, by the tag that hung wrong by then."""
    late = door.StepDone(now("Q-1058").id, "B20", done_at=NOW - timedelta(minutes=5))
    assert door.record(act("P-14", "B", THEN, reason="Phone was flat"), late).done
    assert mixed().done
    assert in_doubt("Q-1058") == ["B20"]


def test_it_does_not_matter_which_of_the_two_is_named_first() -> None:
    assert step("Q-1058", "B20", "P-14", "B", THEN).done
    assert mixed("Q-1058", "Q-1043").done
    assert (in_doubt("Q-1058"), in_doubt("Q-1043")) == (["B20"], [])
    assert None not in (now("Q-1058").frozen, now("Q-1043").frozen)


def test_a_tag_hung_on_another_guitar_and_not_on_its_own() -> None:
    outcome = mixed("Q-1043", "Q-1043")
    assert rules(outcome) == ["mixed"]
    assert now("Q-1043").frozen is None


def test_a_moment_still_to_come_is_no_sure_one() -> None:
    outcome = mixed(since=FOUND + timedelta(seconds=1))
    assert words(outcome) == "Sure until Mon 10:00: that is still to come."
    assert now("Q-1043").frozen is None


def test_a_guitar_that_came_to_its_end_is_mixed_up_with_none() -> None:
    Instrument.objects.filter(pk=now("Q-1058").id).update(ended="Split from end to end")
    assert rules(mixed()) == ["ended"]
    assert now("Q-1043").frozen is None


def test_a_guitar_that_is_not_there_is_mixed_up_with_none() -> None:
    with pytest.raises(LookupError):
        door.record(act("P-14", "B"), door.TagsMixed(now("Q-1043").id, 999_999, SURE))
    assert now("Q-1043").frozen is None


# --- what was measured and scanned meanwhile ---


def test_what_was_measured_since_and_belongs_to_no_step_yet_is_measured_again() -> None:
    ready_for("Q-1043", "N40", at=THEN)
    assert now("Q-1043").readings.values
    assert mixed().done
    free("Q-1043")
    assert rules(step("Q-1043", "N40", at=FOUND)) == ["tray scan", "readings"]
    for outcome in prepared("Q-1043", "N40", at=FOUND):
        assert outcome.done
    assert step("Q-1043", "N40", at=FOUND).done


def test_a_value_of_before_is_in_force_again_in_the_place_of_one_of_since() -> None:
    check_tray("Q-1043")
    measured("Q-1043", "N40", hole="8.72")
    measured("Q-1043", "N40", hole="8.60", at=THEN)
    assert "readings" in now("Q-1043").standing
    assert mixed().done
    it = now("Q-1043")
    holes = {one.value for one in it.readings.values if one.quantity == "hole"}
    assert holes == {Decimal("8.72")}
    assert "readings" not in it.standing


def test_a_value_that_was_given_up_before_does_not_come_back() -> None:
    ready_for("Q-1043", "N40")
    assert step("Q-1043", "N40").done
    assert strike("Q-1043", "N40", at=SURE - timedelta(seconds=1)).done
    measured("Q-1043", "N40", at=THEN)
    assert "hole" in {one.quantity for one in now("Q-1043").readings.values}
    assert mixed().done
    assert "hole" not in {one.quantity for one in now("Q-1043").readings.values}


@pytest.mark.usefixtures("moved")
def test_what_a_step_in_doubt_measured_stays_with_it_until_that_is_struck() -> None:
    quantities = {"tail_hole", "tail_block"}
    assert quantities <= {one.quantity for one in now("Q-1043").readings.values}
    assert strike("Q-1043", "B30").done
    assert quantities.isdisjoint(one.quantity for one in now("Q-1043").readings.values)


def test_the_posts_are_looked_at_again() -> None:
    for code in ("N40", "N50"):
        ready_for("Q-1043", code)
        assert step("Q-1043", code).done
    ready_for("Q-1043", "N60", at=THEN)
    assert now("Q-1043").placed
    assert mixed().done
    assert not now("Q-1043").placed


# --- confirmed ---


@pytest.mark.usefixtures("moved")
def test_the_lead_confirms_a_step_for_a_reason_that_is_kept() -> None:
    assert confirm("Q-1043", "B30").done
    assert in_doubt("Q-1043") == []
    assert in_doubt("Q-1058") == ["B20"]
    row = board.journal(now("Q-1043").id)[0]
    assert (row["kind"], row["reason"], row["by__code"]) == ("confirm", SEEN, "P-01")
    assert (row["data"]["operation"], row["data"]["doubt"]) == ("B30", OTHER_GUITAR)


@pytest.mark.usefixtures("moved")
def test_a_step_is_confirmed_for_a_reason() -> None:
    outcome = confirm("Q-1043", "B30", reason="")
    assert words(outcome) == "B30 of Q-1043 waits for a reason."
    assert in_doubt("Q-1043") == ["B30"]


@pytest.mark.usefixtures("moved")
def test_nobody_but_the_lead_confirms_alone() -> None:
    outcome = confirm("Q-1043", "B30", "P-14")
    assert words(outcome) == "B30 of Q-1043 is confirmed by two, or by the lead."
    assert confirm("Q-1043", "B30", "P-14", beside=person("P-14")).result == "refused"
    assert confirm("Q-1043", "B30", "P-14", beside=person("P-25")).result == "refused"
    assert in_doubt("Q-1043") == ["B30"]


@pytest.mark.usefixtures("moved")
def test_a_step_is_confirmed_with_a_witness_whose_badge_is_kept() -> None:
    assert confirm("Q-1043", "B30", "P-14", beside=person("P-11")).done
    assert in_doubt("Q-1043") == []
    row = Entry.objects.get(kind="confirm")
    assert (row.who, row.beside) == ("P-14", "P-11")


def test_a_step_that_is_sure_is_not_confirmed() -> None:
    assert words(confirm("Q-1043", "B20")) == "B20 of Q-1043 is not in doubt."


@pytest.mark.usefixtures("moved")
def test_only_a_step_is_confirmed_or_struck() -> None:
    it = now("Q-1043")
    for deed in (door.StepConfirmed, door.StepStruck):
        outcome = door.record(act("P-01", "", reason=SEEN), deed(it.id, it.seq))
        assert words(outcome).startswith("Row ")
        assert "is no step that counts" in words(outcome)
        it = now("Q-1043")


@pytest.mark.usefixtures("moved")
def test_the_step_of_another_guitar_is_not_confirmed_by_its_number() -> None:
    seq = seq_of("Q-1043", "B30")
    other = now("Q-1058").id
    before = in_doubt("Q-1058")
    door.record(act("P-01", "", reason=SEEN), door.StepConfirmed(other, seq))
    assert in_doubt("Q-1043") == ["B30"]
    assert in_doubt("Q-1058") == before


def test_the_older_doubt_is_kept_beside_the_newer_one() -> None:
    assert step("Q-1058", "B20", "P-14", "B", THEN).done
    it = now("Q-1058").id
    door.record(act("P-01", ""), door.Doubted(it, SURE, "recorded late, not measured"))
    assert mixed().done
    (one,) = board.doubtful(it)
    assert one.doubt == f"recorded late, not measured; {OTHER_GUITAR}"


def test_an_older_doubt_that_leaves_no_room_is_kept_alone() -> None:
    assert step("Q-1058", "B20", "P-14", "B", THEN).done
    it = now("Q-1058").id
    door.record(act("P-01", ""), door.Doubted(it, SURE, "x" * 130))
    assert mixed().done
    (one,) = board.doubtful(it)
    assert one.doubt == "x" * 120


def test_a_step_in_doubt_keeps_the_inspection_back_until_it_is_confirmed() -> None:
    it = now("Q-1037").id
    strings = seq_of("Q-1037", "A30")
    at = Step.objects.get(instrument=it, seq=strings).at
    assert door.record(act("P-01", ""), door.Doubted(it, at, OTHER_GUITAR)).done
    outcome = step("Q-1037", "I10", "P-31", "I")
    assert rules(outcome)[0] == "doubt"
    assert words(outcome).startswith(f"A30 is not proven: {OTHER_GUITAR}.")
    assert confirm("Q-1037", "A30").done
    ready_for("Q-1037", "I10", "P-31", "I")
    assert step("Q-1037", "I10", "P-31", "I").done


# --- struck ---


@pytest.mark.usefixtures("moved")
def test_a_struck_step_stays_as_struck_and_its_operation_is_open_again() -> None:
    seq = seq_of("Q-1043", "B30")
    assert strike("Q-1043", "B30").done
    assert "B30" not in now("Q-1043").done_codes
    assert "B30" in now("Q-1043").next_codes
    kept = Step.objects.get(instrument=now("Q-1043").id, seq=seq)
    assert (kept.void_at, kept.void_why) == (FOUND, f"struck: {SEEN}")
    assert kept.by.code == "P-14"


@pytest.mark.usefixtures("moved")
def test_each_step_in_doubt_is_confirmed_or_struck_one_by_one_and_the_guitar_goes_on() -> None:
    assert confirm("Q-1058", "B20").done
    assert strike("Q-1043", "B30").done
    assert (in_doubt("Q-1043"), in_doubt("Q-1058")) == ([], [])
    for serial in ("Q-1043", "Q-1058"):
        free(serial)
        ready_for(serial, "B30", "P-14", "B", FOUND)
        assert step(serial, "B30", "P-14", "B", FOUND).done


@pytest.mark.usefixtures("moved")
def test_confirming_and_striking_point_at_the_row_they_correct_and_leave_it_as_it_is() -> None:
    rows = {
        serial: Entry.objects.get(instrument=now(serial).id, seq=seq_of(serial, operation))
        for serial, operation in (("Q-1043", "B30"), ("Q-1058", "B20"))
    }
    strike("Q-1043", "B30")
    confirm("Q-1058", "B20")
    for kind, serial in (("strike", "Q-1043"), ("confirm", "Q-1058")):
        was = rows[serial]
        assert Entry.objects.get(kind=kind).corrects_id == was.pk
        kept = Entry.objects.get(pk=was.pk)
        assert (kept.data, kept.reason, kept.link) == (was.data, was.reason, was.link)


def test_a_step_is_struck_for_a_reason() -> None:
    assert rules(strike("Q-1043", "B20", reason="")) == ["strike"]
    assert "B20" in now("Q-1043").done_codes


def test_a_step_is_struck_once() -> None:
    seq = seq_of("Q-1043", "B20")
    assert strike("Q-1043", "B20").done
    deed = door.StepStruck(now("Q-1043").id, seq)
    assert rules(door.record(act("P-01", "", reason=SEEN), deed)) == ["strike"]


def test_a_step_that_made_the_pair_is_not_struck() -> None:
    outcome = strike("Q-1050", "J10")
    assert words(outcome) == "J10 made the pair of Q-1050 and K-2088."
    assert outcome.findings[0].then == "Break the pair instead."
    assert Pair.objects.get(instrument=now("Q-1050").id).ended_at is None
    assert "J10" in now("Q-1050").done_codes


def test_what_a_struck_step_measured_is_measured_again() -> None:
    ready_for("Q-1043", "N40")
    assert step("Q-1043", "N40").done
    assert strike("Q-1043", "N40").done
    assert rules(step("Q-1043", "N40", at=FOUND)) == ["readings"]


def test_what_stood_against_a_struck_steps_values_falls_away_with_them() -> None:
    ready_for("Q-1043", "N40")
    assert step("Q-1043", "N40").done
    measured("Q-1043", "N40", hole="8.60")
    assert "readings" in now("Q-1043").standing
    assert strike("Q-1043", "N40").done
    assert "readings" not in now("Q-1043").standing


def test_values_of_other_steps_stay_in_force_when_one_is_struck() -> None:
    before = now("Q-1043").readings.values
    ready_for("Q-1043", "N40")
    assert step("Q-1043", "N40").done
    assert strike("Q-1043", "N40").done
    assert now("Q-1043").readings.values == before
    assert before


def test_the_posts_of_a_struck_step_are_looked_at_again() -> None:
    for code in ("N40", "N50", "N60"):
        ready_for("Q-1043", code)
        assert step("Q-1043", code).done
    assert strike("Q-1043", "N60").done
    assert not now("Q-1043").placed


TO_THE_END = [
    ("I30", "P-32", "R"),
    ("I50", "P-32", "R"),
]


def test_what_is_in_the_record_as_built_is_not_struck_and_what_came_after_is() -> None:
    for place, (code, by, station) in enumerate(TO_THE_END):
        at = NOW + timedelta(hours=2 + place)
        ready_for("Q-1040", code, by, station, at)
        assert step("Q-1040", code, by, station, at).done
    boxed("Q-1040", NOW + timedelta(hours=4))
    assert hand_over("Q-1040", at=NOW + timedelta(hours=5)).done
    at = NOW + timedelta(hours=7)
    assert AsBuilt.objects.filter(instrument=now("Q-1040").id).exists()
    for code in ("I20", "I50"):
        outcome = strike("Q-1040", code, at=at)
        assert "stands in its record for good" in words(outcome)
    assert now("Q-1040").finished_at is not None
    assert strike("Q-1040", "Z20", at=at).done
    assert now("Q-1040").finished_at is None
    assert step("Q-1040", "Z20", "P-51", "Z", at).done
    assert now("Q-1040").finished_at == at


def test_nothing_is_confirmed_or_struck_on_a_guitar_that_came_to_its_end() -> None:
    seq = seq_of("Q-1043", "B20")
    it = now("Q-1043").id
    door.record(act("P-01", ""), door.Doubted(it, NOW - timedelta(days=9), OTHER_GUITAR))
    Instrument.objects.filter(pk=it).update(ended="Split from end to end")
    for deed in (door.StepConfirmed(it, seq), door.StepStruck(it, seq)):
        assert rules(door.record(act("P-01", "", reason=SEEN), deed)) == ["ended"]


# --- remarks ---


def remark(seq: int, said: str = "It was the bass side", reason: str = "") -> door.Outcome:
    deed = door.Remarked(now("Q-1043").id, seq, said)
    return door.record(act("P-14", "B", FOUND, reason=reason), deed)


def test_a_remark_points_at_an_earlier_row_and_changes_nothing_else() -> None:
    was = now("Q-1043")
    assert remark(2).done
    row = Entry.objects.get(kind="remark")
    assert row.corrects is not None
    assert (row.corrects.instrument_id, row.corrects.seq) == (was.id, 2)
    assert row.data["words"] == "It was the bass side"
    after = now("Q-1043")
    assert (after.done, after.readings, after.seq) == (was.done, was.readings, was.seq + 1)


def test_a_remark_is_made_on_a_frozen_guitar_and_on_one_that_came_to_its_end() -> None:
    it = now("Q-1043").id
    door.record(act("P-01", ""), door.Frozen(it, "Look at the heel"))
    assert remark(2).done
    Instrument.objects.filter(pk=it).update(ended="Split from end to end")
    assert remark(2, "It was the treble side").done


def test_a_remark_needs_a_row_that_is_there() -> None:
    last = now("Q-1043").seq
    assert remark(last + 1).result == "refused"
    assert rules(remark(0)) == ["remark"]
    assert Entry.objects.filter(kind="remark", outcome="refused", corrects=None).count() == 2


def test_a_remark_says_something() -> None:
    assert rules(remark(2, "  ")) == ["remark"]
    assert remark(2, "", reason="It was the bass side").done


def test_a_remark_that_has_no_room_is_refused_and_not_cut() -> None:
    assert remark(2, "x" * 200).done
    assert words(remark(2, "x" * 201)) == "The remark has 201 characters; 200 have room."


# --- what waits for the lead, asked for ---


def test_what_is_frozen_is_listed_with_its_words_in_two_statements(
    django_assert_num_queries: Any,
) -> None:
    assert board.frozen_list() == []
    door.record(act("P-01", "", FOUND), door.Frozen(now("Q-1049").id, "Look at the heel"))
    mixed()
    with django_assert_num_queries(2):
        found = board.frozen_list()
    assert [one.serial for one in found] == ["Q-1043", "Q-1049", "Q-1058"]
    heel = found[1]
    assert (heel.words, heel.by, heel.since) == ("Look at the heel", "P-01", FOUND)
    tag = board.by_tag(heel.tag)
    assert tag is not None
    assert tag.serial == "Q-1049"


@pytest.mark.usefixtures("moved")
def test_what_is_in_doubt_takes_one_statement(django_assert_num_queries: Any) -> None:
    number = now("Q-1043").id
    with django_assert_num_queries(1):
        assert [one.operation for one in board.doubtful(number)] == ["B30"]
