"""What becomes of a defect: who decides with whom, and what follows. The guitars are invented;
which class allows what, and the second badge, are common practice, no source."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.contrib.auth.models import Group

from shop.craft.inspecting.disposing import Disposition
from shop.floor import board, door, following
from shop.floor.models import Defect, Entry, Rework
from shop.floor.models.defects import WAITS
from shop.people.models import Badge
from tests.floor.casing import HOUR, MINUTE, SERIAL, cased, did, done, moment, number, said
from tests.floor.morning import act, now, person, rules, step, words
from tests.floor.test_defects import MON, note_it, told

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

TUE = moment(4, 9)
FREE_OF_PAIR = "Q-1061"  # neck and body wait for the cut that makes them a pair


def decided(
    row: int,
    disposition: str = "rework",
    at: Any = MON + HOUR,
    by: str = "P-31",
    beside: str = "P-32",
    reason: str = "Through the finish",
    serial: str = SERIAL,
    **more: Any,
) -> door.Outcome:
    if disposition in ("rework", "touch-up"):
        more.setdefault("loop", "finish chip")
    one = act(by, "I", at, reason=reason, beside=person(beside) if beside else None)
    return door.record(one, door.DefectDecided(number(serial), row, disposition, **more))


def decide(
    row: int, disposition: str = "rework", at: Any = MON + HOUR, **more: Any
) -> door.Outcome:
    outcome = decided(row, disposition, at, **more)
    assert outcome.result == "recorded", words(outcome)
    return outcome


def standing(serial: str = SERIAL) -> list[str]:
    return [one.standing for one in board.defects_of(number(serial))]


# --- sent to be made good ---


def test_rework_takes_the_guitar_where_a_report_would() -> None:
    row = note_it(words="Treble bushing", found_at="I10")
    outcome = decide(row)
    facts = now(SERIAL).rework
    assert facts is not None
    assert (facts.loop, facts.stage, facts.since) == ("finish chip", "repair", MON + HOUR)
    assert (facts.words, facts.redo) == ("chip, Treble bushing", ("Q10",))
    loop = Rework.objects.get()
    assert (loop.word, loop.words, loop.found_at) == ("chip", "Treble bushing", "I10")
    assert [one.rule for one in outcome.findings] == ["loop"]
    assert now(SERIAL).undecided == ()


def test_the_defect_says_who_decided_what_with_whom_and_why() -> None:
    decide(note_it())
    one = Defect.objects.get()
    assert (one.disposition, one.decided_at, one.second, one.reason) == (
        "rework", MON + HOUR, "P-32", "Through the finish",
    )  # fmt: skip
    assert one.decided_by is not None
    assert one.decided_by.code == "P-31"
    assert one.rework == Rework.objects.get()


def test_it_is_closed_once_what_its_loop_does_again_is_done() -> None:
    decide(note_it())
    assert standing() == ["in rework"]
    assert board.defects_of(number())[0].recheck == ("Q10",)
    done(door.RepairDone(number()), MON + 2 * HOUR, "P-61", "X")
    assert standing() == ["in rework"]
    did(SERIAL, "Q10", "P-15", "Q", TUE + 24 * HOUR)
    assert standing() == ["closed"]
    assert board.defects_of(number())[0].recheck == ()


def test_two_sent_on_one_after_the_other_are_one_loop() -> None:
    first, second = note_it(), note_it(MON + MINUTE, family="joint", word="lift", zone=5)
    decide(first)
    decide(second, at=MON + 2 * HOUR, loop="bridge lift")
    assert Rework.objects.count() == 1
    assert {one.rework_id for one in Defect.objects.all()} == {Rework.objects.get().pk}
    assert [one.joined for one in board.loops_of(number())] == [("bridge lift",)]
    assert [one["title"] for one in board.to_repair(number())] == ["Finish chip", "Bridge lift"]
    (listed,) = (one for one in board.repair_list(MON + 3 * HOUR) if one.serial == SERIAL)
    assert (listed.minutes, listed.worst) == (100, 2)
    assert listed.defects == ("chip, class 2, zone 1 peghead face", "lift, class 2, zone 5 bridge")


def test_a_deep_fill_dries_by_its_depth() -> None:
    decide(note_it(), depth_mm=Decimal("0.4"))
    repaired = MON + 2 * HOUR
    done(door.RepairDone(number()), repaired, "P-61", "X")
    facts = now(SERIAL).rework
    assert facts is not None
    assert facts.dry_until == repaired + timedelta(hours=48)


def test_touch_up_of_a_minor_one_needs_no_second_badge() -> None:
    row = note_it(word="swirl", grade=3)
    decide(row, "touch-up", beside="", loop="cosmetic")
    assert standing() == ["in rework"]
    assert Defect.objects.get().second == ""


# --- closed as it is ---


def test_the_lead_accepts_a_minor_one_and_work_goes_on() -> None:
    row = note_it(grade=3)
    decide(row, "accept as is", by="P-01", beside="", reason="Hidden by the bridge")
    assert standing() == ["closed"]
    did(SERIAL, "I10", "P-31", "I", MON + 2 * HOUR)


def test_an_inspector_accepts_a_mere_note_alone() -> None:
    row = note_it(grade=4)
    decide(row, "accept as is", beside="", reason="Below the limit")
    assert standing() == ["closed"]


def test_seconds_close_it_with_a_lead_who_approves() -> None:
    row = note_it()
    decide(row, "seconds", by="P-01", beside="P-31", reason="Buyer knows")
    assert standing() == ["closed"]
    assert now(SERIAL).frozen is None


# --- handed to the lead ---


@pytest.mark.parametrize(
    ("disposition", "grade", "sentence", "how"),
    [
        ("hold for decision", 2, "held for your decision", "held"),
        ("scrap", 1, "to be scrapped", "closed"),
        ("cannibalise", 1, "to be scrapped, its good parts kept", "closed"),
    ],
)
def test_what_the_lead_ends_or_decides_freezes_it_with_a_clear_sentence(
    disposition: str, grade: int, sentence: str, how: str
) -> None:
    row = note_it(grade=grade)
    decide(row, disposition, by="P-01", beside="P-31", reason="Split to the tuner.")
    frozen = now(SERIAL).frozen
    assert frozen is not None
    assert frozen.words == (
        f"chip, class {grade}, zone 1 peghead face: {sentence}, Split to the tuner."
    )
    assert standing() == [how]
    kinds = Entry.objects.filter(instrument_id=number()).order_by("-seq")
    assert list(kinds.values_list("kind", flat=True)[:2]) == ["frozen", "decided"]


def test_what_is_held_still_keeps_the_inspection_back_once_it_is_freed() -> None:
    row = note_it()
    decide(row, WAITS)
    done(door.Freed(number()), MON + 2 * HOUR, "P-01", "", reason="Looked at it")
    refused = step(SERIAL, "I10", "P-31", "I", MON + 3 * HOUR)
    assert told(refused) == [
        "chip, class 2, zone 1, noted 2031-03-03 10:20, is held for decision: I10 waits."
    ]


def test_what_is_held_is_decided_later() -> None:
    row = note_it()
    decide(row, WAITS)
    decide(row, "rework", MON + 2 * HOUR, by="P-01", beside="P-31")
    one = Defect.objects.get()
    assert (one.disposition, one.decided_at) == ("rework", MON + 2 * HOUR)
    assert now(SERIAL).undecided == ()


@pytest.mark.parametrize("what", ["rework", "hold for decision"])
def test_what_is_held_for_the_lead_is_decided_by_no_two_others(what: str) -> None:
    row = note_it()
    decide(row, WAITS)
    outcome = decided(row, what, MON + 2 * HOUR)
    assert rules(outcome) == ["right"]
    assert words(outcome) == "chip, class 2, zone 1, is held for the lead."
    assert outcome.findings[0].then == "The lead decides what becomes of it, or signs beside you."
    decide(row, what, MON + 3 * HOUR, beside="P-01")


def test_what_it_was_frozen_for_before_stays_said() -> None:
    row = note_it()
    done(door.Frozen(number(), "The neck is another's."), MON + MINUTE, "P-01", "")
    decide(row, WAITS, reason="Look")
    frozen = now(SERIAL).frozen
    assert frozen is not None
    assert frozen.words.endswith("Look. Frozen before: The neck is another's.")
    decide(row, WAITS, MON + 2 * HOUR, by="P-01", beside="P-31", reason="Look again")
    again = now(SERIAL).frozen
    assert again is not None
    assert "Look again." in again.words


def test_a_neck_goes_back_to_its_makers_before_the_pair_is_cut() -> None:
    row = note_it(serial=FREE_OF_PAIR, family="wood", word="twist", zone=2)
    decide(row, "return", serial=FREE_OF_PAIR, department="neck", reason="Twisted 1 mm")
    frozen = now(FREE_OF_PAIR).frozen
    assert frozen is not None
    assert "the neck goes back to its makers, Twisted 1" in frozen.words
    assert Defect.objects.get().department == "neck"


def test_once_the_pair_is_cut_neither_goes_back() -> None:
    row = note_it(family="wood", word="twist", zone=2)
    assert rules(decided(row, "return", department="neck")) == ["department"]


# --- refused ---


@pytest.mark.parametrize(
    ("grade", "more", "rule"),
    [
        (2, {"disposition": "wish"}, "disposition"),
        (2, {"disposition": ""}, "disposition"),
        (2, {"beside": ""}, "second"),
        (1, {"beside": ""}, "second"),
        (2, {"beside": "P-31"}, "second"),
        (2, {"beside": "P-11"}, "second"),
        (2, {"reason": ""}, "reason"),
        (2, {"reason": "..."}, "reason"),
        (2, {"loop": ""}, "loop"),
        (2, {"loop": "sauna"}, "loop"),
        (2, {"depth_mm": Decimal(0)}, "depth"),
        (2, {"disposition": "accept as is"}, "class"),
        (1, {"disposition": "seconds", "by": "P-01", "beside": "P-31"}, "class"),
        (2, {"disposition": "scrap", "by": "P-01", "beside": "P-31"}, "class"),
        (2, {"disposition": "touch-up"}, "class"),
        (3, {"disposition": "accept as is"}, "right"),
        (2, {"disposition": "seconds"}, "right"),
        (1, {"disposition": "scrap"}, "right"),
        (2, {"disposition": "return", "serial": FREE_OF_PAIR}, "department"),
    ],
)
def test_a_decision_that_cannot_be_so_is_refused_and_changes_nothing(
    grade: int, more: dict[str, Any], rule: str
) -> None:
    serial = more.get("serial", SERIAL)
    row = note_it(grade=grade, serial=serial)
    outcome = decided(row, **more)
    assert (outcome.result, rules(outcome)) == ("refused", [rule])
    assert Defect.objects.get().disposition == ""
    state = now(serial)
    assert (state.rework, state.frozen, len(state.undecided)) == (None, None, 1)


def test_a_badge_that_still_learns_is_no_second_one() -> None:
    trainee = Badge.objects.get(code="P-25")
    assert trainee.groups.filter(name="trainee").exists()
    assert rules(decided(note_it(), beside="P-25")) == ["second"]


def test_a_second_badge_decides_once_its_role_may() -> None:
    row = note_it()
    assert rules(decided(row, beside="P-11")) == ["second"]
    Badge.objects.get(code="P-11").groups.add(Group.objects.get(name="inspector"))
    decide(row, beside="P-11")


def test_what_is_decided_is_not_decided_again() -> None:
    row = note_it(grade=4)
    decide(row, "accept as is", beside="")
    assert rules(decided(row, "touch-up", beside="", loop="cosmetic")) == ["undecided"]


def test_a_row_that_noted_no_defect_is_refused() -> None:
    note_it()
    outcome = decided(1)
    assert rules(outcome) == ["undecided"]
    assert words(outcome) == f"Row 1 of {SERIAL} is no defect that waits for a decision."


def test_nothing_is_decided_of_an_instrument_that_is_ended() -> None:
    row = note_it()
    done(door.Scrapped(number()), MON + MINUTE, "P-01", "", reason="Neck split")
    assert rules(decided(row)) == ["ended"]
    assert list(Defect.objects.open()) == []


def test_the_same_decision_sent_twice_is_one() -> None:
    row = note_it()
    one = act("P-31", "I", MON + HOUR, reason="Deep", beside=person("P-32"))
    deed = door.DefectDecided(number(), row, "rework", "finish chip")
    assert [door.record(one, deed).result for _ in range(2)] == ["recorded", "already"]
    assert Rework.objects.count() == 1


def test_every_disposition_can_be_kept() -> None:
    most = Defect._meta.get_field("disposition").max_length
    assert most is not None
    assert max(len(one.value) for one in Disposition) <= most


# --- cased ---


def test_rework_of_one_in_its_case_says_what_becomes_of_its_days() -> None:
    cased(moment(3, 14, 10))
    row = note_it(moment(3, 15))
    outcome = decide(row, "rework", moment(3, 16))
    assert "hold clock" in rules(outcome)
    assert now(SERIAL).cased_at is not None, "the strings stay at pitch"


# --- withdrawn ---


def withdrawn(
    row: int, at: Any = MON + HOUR, by: str = "P-31", reason: str = "It was dust"
) -> door.Outcome:
    return said(door.DefectWithdrawn(number(), row), at, by, "I", reason)


def test_whoever_noted_it_withdraws_it_in_the_same_shift() -> None:
    row = note_it()
    assert withdrawn(row).result == "recorded"
    one = Defect.objects.get()
    assert (one.disposition, one.reason, one.decided_at) == ("withdrawn", "It was dust", MON + HOUR)
    assert (standing(), now(SERIAL).undecided) == (["withdrawn"], ())
    assert list(Defect.objects.real()) == []
    corrects = Entry.objects.get(instrument_id=number(), kind="withdrawn").corrects
    assert corrects is not None
    assert corrects.seq == row
    did(SERIAL, "I10", "P-31", "I", MON + 2 * HOUR)


@pytest.mark.parametrize(
    ("by", "after", "taken"),
    [
        ("P-31", 12 * HOUR, True),
        ("P-31", 12 * HOUR + MINUTE, False),
        ("P-32", HOUR, False),
        ("P-01", 48 * HOUR, True),
    ],
)
def test_later_or_by_another_only_the_lead_withdraws_it(
    by: str, after: timedelta, taken: bool
) -> None:
    outcome = withdrawn(note_it(), MON + after, by)
    assert (outcome.result == "recorded") is taken
    assert rules(outcome) == ([] if taken else ["withdrawn"])


def test_it_is_withdrawn_for_a_reason_and_once() -> None:
    row = note_it()
    assert rules(withdrawn(row, reason="")) == ["withdrawn"]
    assert withdrawn(row).done
    assert rules(withdrawn(row)) == ["undecided"]


def test_what_was_decided_is_not_withdrawn() -> None:
    row = note_it()
    decide(row)
    assert rules(withdrawn(row, MON + 2 * HOUR)) == ["undecided"]


# --- made again ---


def test_a_floor_with_decisions_is_made_again_as_it_was() -> None:
    rows = [note_it(MON + minute * MINUTE, grade=1 + minute % 4) for minute in range(6)]
    decide(rows[0], WAITS)
    decide(rows[1], "rework", MON + 2 * HOUR)
    decide(rows[2], "touch-up", MON + 2 * HOUR, beside="", loop="cosmetic")
    decide(rows[3], "accept as is", MON + 2 * HOUR, beside="")
    assert withdrawn(rows[4], MON + 2 * HOUR).done
    assert decided(rows[5], "scrap").result == "refused"
    done(door.Freed(number()), MON + 3 * HOUR, "P-01", "", reason="Looked at it")
    done(door.RepairDone(number()), MON + 4 * HOUR, "P-61", "X")
    before = following.picture()
    assert following.differences()[1] == []
    following.rebuild()
    assert following.picture() == before
