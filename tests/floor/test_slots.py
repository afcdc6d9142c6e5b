"""The slots of the hold rack: put up, retired, and which case lies in which.

That a case moved from slot to slot changes nothing in its days is common practice, no source.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from shop.craft.code import Kind, read
from shop.craft.sent import Tapped
from shop.floor import board, door, following, tags
from shop.floor.models import Entry, Instrument
from tests.floor.casing import HOUR, READY, SERIAL, cased, done, held, moment, number, said
from tests.floor.morning import NOW, act, now, rules, words
from tests.floor.released import go_on

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

TUE = moment(4, 9)
THERE = "Q-1038"  # of the demo: in H-014, its days over since Sunday
MORE = timedelta(days=1)


def keep(**asked: Any) -> door.Outcome:
    return door.record(act("P-01", ""), door.SlotsKept(**asked))


def rack_it(slot: str, serial: str = SERIAL, at: Any = TUE) -> door.Outcome:
    return said(door.Racked(number(serial), slot), at, "P-31", "H")


def take_out(serial: str = SERIAL, at: Any = TUE) -> door.Outcome:
    return said(door.Unracked(number(serial)), at, "P-31", "H")


def lies_in(code: str) -> str:
    return board.slots_by_code([code])[code].serial


@pytest.fixture
def in_its_case(morning: None, db: None) -> None:
    cased()


# --- the slots ---


def test_the_demo_has_a_hundred_and_ten_slots_each_with_a_label_of_its_own_kind() -> None:
    slots = board.slots()
    assert [one.code for one in slots] == [f"H-{n:03}" for n in range(1, 111)]
    assert {read(one.tag, ()).kind for one in slots} == {Kind.SLOT}
    assert {one.code: one.serial for one in slots if one.serial} == {
        "H-014": "Q-1038",
        "H-027": "Q-1040",
    }


def test_more_slots_go_on_after_the_last_number_and_older_ones_keep_their_labels() -> None:
    before = {one.code: one.tag for one in board.slots()}
    assert keep(up=2).result == "recorded"
    after = {one.code: one.tag for one in board.slots()}
    assert list(after)[110:] == ["H-111", "H-112"]
    assert {code: after[code] for code in before} == before


def test_rows_of_slots_are_rows_of_no_instrument() -> None:
    keep(up=1)
    row = Entry.objects.latest("id")
    assert (row.subject, row.instrument_id, row.kind) == ("hold rack", None, "slots")


def test_a_retired_slot_is_not_offered_any_more_and_can_be_taken_back() -> None:
    assert keep(retire=("H-003",)).result == "recorded"
    assert "H-003" not in [one.code for one in board.slots()]
    assert "H-003" in [one.code for one in board.slots(retired=True)]
    assert keep(back=("H-003",)).result == "recorded"
    assert "H-003" in [one.code for one in board.slots()]


def test_the_number_of_a_retired_slot_is_not_given_again() -> None:
    keep(retire=("H-110",))
    keep(up=1)
    assert board.slots()[-1].code == "H-111"


def test_a_slot_retired_already_writes_nothing() -> None:
    keep(retire=("H-003",))
    rows = Entry.objects.count()
    assert keep(retire=("H-003",)).result == "already"
    assert keep(back=("H-004",)).result == "already"
    assert Entry.objects.count() == rows


def test_a_slot_in_which_a_case_lies_is_not_retired() -> None:
    outcome = keep(retire=("H-014", "H-015"))
    assert (outcome.result, rules(outcome)) == ("refused", ["slot taken"])
    assert words(outcome) == "The case of Q-1038 lies in slot H-014."
    assert "H-015" in [one.code for one in board.slots()]


@pytest.mark.parametrize(
    ("asked", "rule"),
    [
        ({}, "slots"),
        ({"up": -1}, "slots"),
        ({"up": 890}, "slots"),  # a label has three figures
        ({"retire": ("H-111",)}, "slot"),
        ({"back": ("",)}, "slot"),
        ({"retire": ("H-003",), "back": ("H-003",)}, "slots"),
    ],
)
def test_what_no_rack_can_be_is_refused(asked: dict[str, Any], rule: str) -> None:
    before = board.slots(retired=True)
    outcome = keep(**asked)
    assert (outcome.result, rules(outcome)) == ("refused", [rule])
    assert board.slots(retired=True) == before


def test_the_most_a_rack_takes_are_taken() -> None:
    assert keep(up=889).done
    assert board.slots()[-1].code == "H-999"


# --- a case in a slot ---


@pytest.mark.usefixtures("in_its_case")
def test_a_case_put_into_a_slot_lies_there_and_its_days_run_on() -> None:
    before = held(TUE)
    outcome = rack_it("H-001")
    assert outcome.result == "recorded"
    assert outcome.after is not None
    assert (outcome.after.slot, now(SERIAL).slot, lies_in("H-001")) == ("H-001", "H-001", SERIAL)
    assert (held(TUE), held(TUE).ready) == (before, READY)


@pytest.mark.usefixtures("in_its_case")
def test_a_case_moved_to_another_slot_leaves_the_first_one_free() -> None:
    rack_it("H-001")
    assert rack_it("H-002", at=TUE + HOUR).result == "recorded"
    assert (lies_in("H-001"), lies_in("H-002")) == ("", SERIAL)
    assert held(TUE + HOUR).ready == READY
    assert Entry.objects.latest("id").data["from"] == "H-001"


@pytest.mark.usefixtures("in_its_case")
def test_a_case_put_where_it_lies_already_writes_nothing() -> None:
    rack_it("H-001")
    rows = Entry.objects.count()
    assert rack_it("H-001", at=TUE + HOUR).result == "already"
    assert Entry.objects.count() == rows


@pytest.mark.usefixtures("in_its_case")
def test_a_slot_that_is_taken_says_by_whom_and_since_when() -> None:
    rack_it("H-001")
    outcome = rack_it("H-001", THERE, TUE + HOUR)
    assert (outcome.result, rules(outcome)) == ("refused", ["slot taken"])
    assert words(outcome) == f"The case of {SERIAL} lies in slot H-001 since Tue 09:00."
    assert now(THERE).slot == "H-014"


@pytest.mark.usefixtures("in_its_case")
@pytest.mark.parametrize("slot", ["H-111", "", "h-001", "H-003"])
def test_a_slot_that_there_is_not_or_that_is_retired_takes_no_case(slot: str) -> None:
    keep(retire=("H-003",))
    outcome = rack_it(slot)
    assert (outcome.result, rules(outcome)) == ("refused", ["slot"])
    assert now(SERIAL).slot == ""


def test_what_is_not_cased_does_not_lie_in_the_rack() -> None:
    outcome = rack_it("H-001", "Q-1043", NOW)
    assert rules(outcome) == ["uncased"]
    assert words(outcome) == "Q-1043 is not cased yet: what lies in the hold rack is."


@pytest.mark.usefixtures("in_its_case")
def test_a_case_taken_out_leaves_its_slot_free() -> None:
    rack_it("H-001")
    outcome = take_out()
    assert outcome.after is not None
    assert (outcome.result, outcome.after.slot, lies_in("H-001")) == ("recorded", "", "")
    assert held(TUE).ready == READY
    assert rack_it("H-001", THERE, TUE + HOUR).done
    outcome = take_out(at=TUE + HOUR)
    assert words(outcome) == f"{SERIAL} lies in no slot of the hold rack."


def kept_on_a_phone(deed: Any, tapped: datetime, came: datetime) -> door.Outcome:
    """It waited on P-31's phone from the tap until it came."""
    sending = door.Sending(
        badge="P-31", station="H", tapped=Tapped(tapped, kept=True), sent_at=came,
        received_at=came, sent_by="P-31", proven=True, mark="",
    )  # fmt: skip
    return door.record(act("P-31", "H", tapped, sending=sending), deed)


@pytest.mark.usefixtures("in_its_case")
def test_a_tap_that_comes_late_moves_no_case_that_was_moved_since() -> None:
    """Two phones: what was tapped first, without the network, comes last."""
    rack_it("H-005", at=TUE + HOUR)
    late = kept_on_a_phone(door.Racked(number(), "H-003"), TUE, TUE + 2 * HOUR)
    assert (late.result, rules(late)) == ("refused", ["slot", "kept"])
    assert words(late).startswith(
        f"Tapped Tue 09:00, but the case of {SERIAL} lies in slot H-005 since Tue 10:00."
    )
    out = kept_on_a_phone(door.Unracked(number()), TUE, TUE + 2 * HOUR)
    assert (out.result, now(SERIAL).slot, lies_in("H-003")) == ("refused", "H-005", "")
    take_out(at=TUE + 3 * HOUR)
    gone = kept_on_a_phone(door.Racked(number(), "H-003"), TUE, TUE + 4 * HOUR)
    assert words(gone).startswith(
        f"Tapped Tue 09:00, but the case of {SERIAL} was taken out of its slot Tue 12:00."
    )


@pytest.mark.usefixtures("in_its_case")
def test_a_tap_that_comes_late_and_was_the_last_one_moves_it() -> None:
    rack_it("H-005")
    late = kept_on_a_phone(door.Racked(number(), "H-003"), TUE + HOUR, TUE + 2 * HOUR)
    assert (late.result, now(SERIAL).slot) == ("recorded", "H-003")


# --- free again ---


def test_the_second_look_leaves_it_its_slot_and_the_release_frees_that() -> None:
    at = go_on(THERE, until="I30")
    assert now(THERE).slot == "H-014"
    at = go_on(THERE, at)
    assert (now(THERE).slot, lies_in("H-014")) == ("", "")
    assert rules(rack_it("H-014", THERE, at + HOUR)) == ["released"]


def test_scrap_frees_its_slot_and_takes_no_other() -> None:
    done(door.Scrapped(number(THERE)), NOW, "P-01", "", "Back crushed")
    assert lies_in("H-014") == ""
    assert rules(rack_it("H-014", THERE, NOW + HOUR)) == ["ended"]


@pytest.mark.usefixtures("in_its_case")
def test_a_fall_begins_its_route_again_and_leaves_it_its_slot() -> None:
    rack_it("H-001")
    done(door.Dropped(number(), "Off the rack"), TUE + HOUR, "P-32", "R")
    assert (now(SERIAL).cased_at, now(SERIAL).slot) == (None, "H-001")
    assert rules(rack_it("H-002", at=TUE + 2 * HOUR)) == ["uncased"]
    assert take_out(at=TUE + 2 * HOUR).done


@pytest.mark.usefixtures("in_its_case")
def test_the_floor_made_again_has_every_case_where_it_lay() -> None:
    keep(up=3)
    keep(retire=("H-005",))
    rack_it("H-112")
    rack_it("H-001", at=TUE + HOUR)
    rack_it("H-014", at=TUE + HOUR)  # refused
    take_out("Q-1040", TUE + HOUR)
    go_on(THERE, TUE + MORE)
    assert following.differences()[1] == []
    following.rebuild()
    slots = board.slots(retired=True)
    assert {one.code: one.serial for one in slots if one.serial} == {"H-001": SERIAL}
    assert [one.code for one in slots if one.retired] == ["H-005"]


# --- scanned ---


def test_the_label_of_a_slot_says_what_lies_there() -> None:
    tag = {one.code: one.tag for one in board.slots()}
    found = tags.find(tag["H-014"], Kind.SLOT).finding
    assert found is not None
    assert found.words == "This is slot H-014 of the hold rack: the case of Q-1038 lies here."
    free = tags.find(tag["H-001"], Kind.SLOT).finding
    assert free is not None
    assert free.words == "This is slot H-001 of the hold rack, and it is free."
    keep(retire=("H-001",))
    retired = tags.find(tag["H-001"], Kind.SLOT).finding
    assert retired is not None
    assert retired.words == "This is slot H-001 of the hold rack, which is retired."


def test_a_label_of_no_slot_is_told_plainly() -> None:
    found = tags.find("H123456", Kind.SLOT).finding
    assert found is not None
    assert found.words == "H123-456 is a whole code, but no slot of the hold rack carries it."


def test_no_two_cases_lie_in_one_slot_whoever_writes() -> None:
    """The database's own constraint: what two phones scan at one moment."""
    with pytest.raises(IntegrityError), transaction.atomic():
        Instrument.objects.filter(body__serial="Q-1040").update(slot="H-014")
