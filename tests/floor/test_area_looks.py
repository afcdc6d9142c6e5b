"""The checklist of a look: answered area by area by whoever may take the look, kept with whose
answers they are, and asked for before the look is recorded. Areas and items are common practice,
no source."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop.catalogue import revising
from shop.catalogue.models import Operation
from shop.craft.inspecting.areas import areas_of
from shop.craft.inspecting.progress import RULE, Answer
from shop.floor import board, door, following
from shop.floor.models import AreaLook, Entry, Reading
from tests.bench.crowd import add_instruments
from tests.floor.casing import (
    CASED,
    HOUR,
    MINUTE,
    READY,
    SERIAL,
    cased,
    did,
    done,
    number,
    said,
)
from tests.floor.gauged import gauge
from tests.floor.looking import (
    MON,
    answers,
    area_of,
    asks_for_areas,
    kept,
    look,
    look_at_all,
    looked,
    note_one,
)
from tests.floor.many_readings import CROWD, measured, serial_of
from tests.floor.morning import asking, now, ready_for, rules, step, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

AGAIN = READY + HOUR
DEFECT, LEFT_OUT = Answer.DEFECT.value, Answer.NOT_APPLICABLE.value
FIRST = {"relief 7": "0.20", "action bass": "2.40", "action treble": "1.60"}
SECOND = {"relief 7": "0.24", "action bass": "2.80", "action treble": "1.95"}


def statements(ask: object) -> int:
    assert callable(ask)
    with CaptureQueriesContext(connection) as caught:
        ask()
    return len(caught)


# --- answered ---


def test_an_area_is_kept_with_its_answers_and_with_whose_they_are() -> None:
    looked(3)
    row = kept().row(3)
    assert row is not None
    assert (row.by, row.at, row.standing) == ("P-31", MON, "ok")
    one = AreaLook.objects.get()
    assert (one.operation, one.area, one.answers) == ("I10", 3, answers(3))
    assert one.number == Entry.objects.get(instrument_id=number(), kind="area").seq


def test_the_areas_are_those_of_its_spec_and_the_first_open_one_is_next() -> None:
    found = kept()
    assert [row.area.number for row in found.rows] == [
        one.number for one in areas_of(now(SERIAL).sheet.spec)
    ]
    assert (found.answered, found.next and found.next.area.number) == (0, 1)
    looked(1)
    assert (kept().answered, (coming := kept().next) and coming.area.number) == (1, 2)


def test_looked_at_again_the_latest_answers_count_and_the_earlier_ones_stay() -> None:
    looked(10)
    looked(10, MON + MINUTE, seam=LEFT_OUT)
    row = kept().row(10)
    assert row is not None
    assert [one.key for one in row.left_out] == ["back.seam"]
    assert AreaLook.objects.count() == 2


def test_an_area_of_which_an_item_is_open_is_not_kept() -> None:
    given = answers(3)
    del given["nut.ends"]
    outcome = look(3, given=given)
    assert rules(outcome) == [RULE]
    assert words(outcome).startswith("1 of 4 items are still open")
    assert AreaLook.objects.count() == 0


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"nut.seat": "fine"}, "fine is no answer to an item."),
        ({"bridge.edges": "ok"}, "bridge.edges is none of the 4 items"),
        ({"nut.seat": LEFT_OUT}, "not applicable was said of what this guitar has"),
    ],
)
def test_what_is_no_answer_to_an_item_is_not_taken(given: dict[str, str], told: str) -> None:
    outcome = look(3, given=answers(3) | given)
    assert outcome.result == "refused"
    assert told in words(outcome)


@pytest.mark.parametrize("area", [0, 17])
def test_an_area_that_there_is_not_is_not_taken(area: int) -> None:
    outcome = look(area, given={"nut.seat": "ok"})
    assert words(outcome) == f"{SERIAL} has no area {area} on its list."


def test_an_area_that_its_spec_does_not_have_is_not_taken() -> None:
    missing = set(range(1, 17)) - {one.number for one in areas_of(now(SERIAL).sheet.spec)}
    assert missing == {12}, "this guitar has no electronics"
    assert look(12, given={"electronics.noise": "ok"}).result == "refused"


def test_only_a_look_of_the_route_has_areas() -> None:
    assert board.looks_of(now(SERIAL)) == ("I10", "I30")
    assert board.area_looks(now(SERIAL), "A30") is None
    outcome = look(3, operation="A30")
    assert words(outcome) == f"A30 is no look at {SERIAL}."


# --- by whom, and where ---


def test_an_area_is_looked_at_where_the_look_belongs() -> None:
    assert "station" in rules(look(3, station="R"))


def test_whoever_did_the_set_up_does_not_look() -> None:
    assert "person" in rules(look(3, by="P-22"))


def test_where_the_look_asks_for_it_only_who_is_signed_off_looks() -> None:
    inspect = Operation.objects.get(code="I10")
    Operation.objects.filter(pk=inspect.pk).update(trained=True)
    revising.operation_changed(inspect.pk)
    assert "training" in rules(look(3, by="P-12"))
    looked(3)


def test_whoever_took_the_first_look_does_not_take_the_second() -> None:
    cased()
    outcome = look(3, AGAIN, "P-31", "R", "I30")
    assert "person" in rules(outcome)
    looked(3, AGAIN, "P-32", "R", "I30")


def test_before_the_days_in_the_case_are_over_the_second_look_is_not_begun() -> None:
    cased()
    assert look(3, READY - HOUR, "P-32", "R", "I30").result == "refused"


def test_a_defect_that_nobody_has_decided_does_not_keep_the_other_areas_back() -> None:
    deed = door.DefectNoted(number(), "finish", "chip", 2, 1, found_at="I10")
    assert said(deed, MON, "P-31", "I").done
    looked(3)


# --- parked and handed over ---


def test_parked_and_taken_over_what_is_answered_stays_and_says_whose_it_was() -> None:
    done(door.StepStarted(number(), "I10"), MON, "P-31", "I")
    looked(1)
    done(door.StepHanded(number(), "", "My shift ends"), MON + MINUTE, "P-31", "I")
    assert "parked" in rules(look(2, MON + 2 * MINUTE, "P-32"))
    done(door.StepTaken(number()), MON + 3 * MINUTE, "P-32", "I")
    looked(2, MON + 4 * MINUTE, "P-32")
    found = kept()
    assert [(row.by, row.standing) for row in found.rows[:3]] == [
        ("P-31", "ok"), ("P-32", "ok"), ("", "open"),
    ]  # fmt: skip


def test_whoever_had_a_hand_in_it_answers_and_nobody_else() -> None:
    """Whoever hands a look on is beside it from then on, as at any step."""
    done(door.StepStarted(number(), "I10"), MON, "P-31", "I")
    assert "open" in rules(look(2, MON + MINUTE, "P-32"))
    done(door.StepHanded(number(), "P-32", ""), MON + MINUTE, "P-31", "I")
    looked(2, MON + 2 * MINUTE, "P-32")
    looked(3, MON + 3 * MINUTE, "P-31")


def test_whoever_answered_an_area_of_the_first_look_does_not_take_the_second() -> None:
    """Two looks are worth more than one where neither knows what the other found: 1 - (1 - p)^2."""
    asks_for_areas()
    ready_for(SERIAL, "I10", "P-31", "I", MON)
    looked(1, MON, "P-32")
    for one in areas_of(now(SERIAL).sheet.spec)[1:]:
        looked(one.number, MON + MINUTE)
    assert step(SERIAL, "I10", "P-31", "I", MON + HOUR).done
    taken = next(one for one in now(SERIAL).done if one.operation == "I10")
    assert taken.hands == ("P-31", "P-32")
    did(SERIAL, "I20", "P-31", "H", CASED)
    assert "person" in rules(look(1, AGAIN, "P-32", "R", "I30"))


# --- defects ---


def test_an_answer_tells_of_a_defect_only_where_one_is_noted_at_this_look() -> None:
    refused = look(7, marks=DEFECT)
    assert words(refused) == "Area 7 Top: answered as defect 1, defects noted 0."
    note_one()
    looked(7, MON + MINUTE, marks=DEFECT)
    row = kept().row(7)
    assert row is not None
    assert (row.standing, [one.key for one in row.wrong]) == ("defect", ["top.marks"])


def test_each_area_with_a_defect_wants_one_of_its_own() -> None:
    note_one()
    looked(7, MON + MINUTE, marks=DEFECT)
    assert look(9, MON + 2 * MINUTE, scrapes=DEFECT).result == "refused"
    looked(7, MON + 3 * MINUTE, marks=DEFECT)
    note_one(MON + 4 * MINUTE)
    looked(9, MON + 5 * MINUTE, scrapes=DEFECT)


def test_what_is_seen_overall_may_be_what_another_area_tells_of() -> None:
    """One chip is seen close by and at arm's length: common practice, no source."""
    assert look(16, look=DEFECT).result == "refused", "none is noted at all"
    note_one()
    looked(7, MON + MINUTE, marks=DEFECT)
    looked(16, MON + 2 * MINUTE, look=DEFECT)
    assert kept().faults == ()
    assert look(9, MON + 3 * MINUTE, scrapes=DEFECT).result == "refused", "a part wants its own"
    looked(7, MON + 4 * MINUTE, marks=DEFECT)
    assert not kept().stands_for(area_of(9))
    assert kept().stands_for(area_of(16))


def test_one_that_a_bench_noted_and_nobody_decided_need_not_be_noted_twice() -> None:
    """Whoever notes a defect is offered those alike: yes, it is noted already, is an answer."""
    number_of_it = note_one(by="P-41", station="Q", found_at="Q10")
    looked(7, MON + MINUTE, marks=DEFECT)
    assert look(9, MON + MINUTE, scrapes=DEFECT).result == "refused", "it stands for one area"
    assert (kept().defects, kept().known) == (0, 1)
    accept = door.DefectDecided(number(), number_of_it, "accept as is")
    assert said(accept, MON + 2 * MINUTE, "P-31", "I", "Below the limit").done
    assert look(7, MON + 3 * MINUTE, marks=DEFECT).result == "refused", "that one is closed"


def test_what_the_first_look_found_is_not_known_to_the_second() -> None:
    cased()
    note_one(CASED + MINUTE)
    refused = look(7, AGAIN, "P-32", "R", "I30", marks=DEFECT)
    assert words(refused) == "Area 7 Top: answered as defect 1, defects noted 0."


def test_one_noted_by_mistake_is_none_of_this_look() -> None:
    row = note_one(MON + MINUTE)
    wrong = said(door.DefectWithdrawn(number(), row), MON + MINUTE, "P-31", "I", "A hair")
    assert wrong.done, words(wrong)
    assert look(7, MON + 2 * MINUTE, marks=DEFECT).result == "refused"


# --- one defect seen in two areas ---


def test_one_defect_may_be_chosen_for_a_second_area() -> None:
    one = note_one()
    looked(7, MON + MINUTE, marks=DEFECT)
    looked(9, MON + 2 * MINUTE, told_by=one, scrapes=DEFECT)
    assert kept().faults == ()
    row = AreaLook.objects.get(area=9)
    assert row.told_by == row.entry.data["told_by"] == one
    assert row.entry.data["defect"] == {"word": "swirl", "grade": 4, "zone": 6}
    assert following.differences()[1] == []


def test_what_was_chosen_for_one_area_stands_for_no_other_that_is_answered_after_it() -> None:
    one = note_one()
    looked(7, MON + MINUTE, told_by=one, marks=DEFECT)
    assert look(9, MON + 2 * MINUTE, scrapes=DEFECT).result == "refused"
    looked(9, MON + 3 * MINUTE, told_by=one, scrapes=DEFECT)
    looked(16, MON + 4 * MINUTE, look=DEFECT)
    assert kept().faults == ()


def test_an_area_that_was_told_before_may_be_kept_again_after_the_choice() -> None:
    one = note_one()
    looked(7, MON + MINUTE, marks=DEFECT)
    looked(9, MON + 2 * MINUTE, told_by=one, scrapes=DEFECT)
    looked(7, MON + 3 * MINUTE, marks=DEFECT)
    assert kept().faults == ()
    looked(7, MON + 4 * MINUTE)
    assert look(7, MON + 5 * MINUTE, marks=DEFECT).result == "refused", "it was all right between"


def test_another_defect_is_left_for_another_area() -> None:
    one = note_one()
    note_one(MON + MINUTE)
    looked(7, MON + MINUTE, marks=DEFECT)
    looked(9, MON + 2 * MINUTE, told_by=one, scrapes=DEFECT)
    looked(3, MON + 3 * MINUTE, ends=DEFECT)
    assert kept().faults == ()
    assert look(10, MON + 4 * MINUTE, seam=DEFECT).result == "refused"


def test_one_that_is_withdrawn_stands_for_nothing_any_more() -> None:
    one = note_one()
    looked(7, MON + MINUTE, marks=DEFECT)
    looked(9, MON + 2 * MINUTE, told_by=one, scrapes=DEFECT)
    wrong = said(door.DefectWithdrawn(number(), one), MON + 3 * MINUTE, "P-31", "I", "A hair")
    assert wrong.done, words(wrong)
    assert (kept().row(9) or kept().rows[0]).told_by == 0
    assert [one.words for one in kept().faults] == [
        "Area 7 Top: answered as defect 1, defects noted 0.",
        "Area 9 Sides and bindings: answered as defect 1, defects noted 0.",
    ]
    assert look(9, MON + 4 * MINUTE, told_by=one, scrapes=DEFECT).result == "refused"
    note_one(MON + 5 * MINUTE)
    assert [one.words for one in kept().faults] == [
        "Area 9 Sides and bindings: answered as defect 1, defects noted 0.",
    ]


def test_what_was_decided_after_it_was_chosen_still_tells_of_its_area() -> None:
    one = note_one(by="P-41", station="Q", found_at="Q10")
    looked(7, MON + MINUTE, told_by=one, marks=DEFECT)
    accept = door.DefectDecided(number(), one, "accept as is")
    assert said(accept, MON + 2 * MINUTE, "P-31", "I", "Below the limit").done
    assert kept().faults == ()
    looked(7, MON + 3 * MINUTE, told_by=one, marks=DEFECT)
    refused = look(9, MON + 4 * MINUTE, told_by=one, scrapes=DEFECT)
    assert words(refused) == f"Row {one} of {SERIAL} is no defect that may be chosen here."


def test_what_the_first_look_found_is_not_chosen_at_the_second() -> None:
    cased()
    one = note_one(CASED + MINUTE)
    refused = look(7, AGAIN, "P-32", "R", "I30", told_by=one, marks=DEFECT)
    assert words(refused) == f"Row {one} of {SERIAL} is no defect that may be chosen here."


def test_who_may_still_take_the_second_look_does_not_choose_what_others_found() -> None:
    one = note_one()
    refused = look(7, MON + MINUTE, "P-32", told_by=one, marks=DEFECT)
    assert words(refused) == f"Row {one} of {SERIAL} is no defect that may be chosen here."


@pytest.mark.parametrize("chosen", [-1, 1, 999])
def test_what_is_no_defect_of_this_instrument_is_not_chosen(chosen: int) -> None:
    note_one()
    refused = look(7, MON + MINUTE, told_by=chosen, marks=DEFECT)
    assert words(refused) == f"Row {chosen} of {SERIAL} is no defect that may be chosen here."
    assert AreaLook.objects.count() == 0


def test_none_is_chosen_for_an_area_without_a_defect() -> None:
    refused = look(7, MON + MINUTE, told_by=note_one())
    assert words(refused) == "Area 7: a defect is chosen, and no item is answered as one."


def test_the_history_tells_by_which_defect_an_area_is_told() -> None:
    one = note_one()
    looked(9, MON + MINUTE, told_by=one, scrapes=DEFECT)
    page = board.history(now(SERIAL), asking("P-01", "", AGAIN))
    (row,) = (it for it in page.rows if "looked at area 9" in it.words)
    assert ("Told by", "swirl, zone 6 lower bout") in row.details


def test_rows_from_before_a_choice_could_be_made_are_still_read() -> None:
    note_one()
    looked(7, MON + MINUTE, marks=DEFECT)
    row = Entry.objects.get(instrument_id=number(), kind="area")
    AreaLook.objects.all().delete()
    del row.data["told_by"]
    door.AreaLooked.follow(row)
    assert (kept().row(7) or kept().rows[0]).standing == "defect"
    assert kept().faults == ()


# --- asked for before the look is recorded ---


def test_where_the_operation_asks_for_it_a_look_is_recorded_after_all_its_areas() -> None:
    asks_for_areas()
    assert gauge(SERIAL, FIRST, "I10", "P-31", "I", MON).done
    refused = step(SERIAL, "I10", "P-31", "I", MON)
    assert rules(refused) == [RULE]
    look_at_all()
    assert step(SERIAL, "I10", "P-31", "I", MON + MINUTE).result == "recorded"


def test_a_look_may_be_begun_before_any_area_is_looked_at() -> None:
    asks_for_areas()
    done(door.StepStarted(number(), "I10"), MON, "P-31", "I")


def test_where_the_operation_does_not_ask_it_is_recorded_without() -> None:
    did(SERIAL, "I10", "P-31", "I", MON)


def test_a_defect_withdrawn_after_its_area_was_kept_is_asked_about_at_the_record() -> None:
    asks_for_areas()
    assert gauge(SERIAL, FIRST, "I10", "P-31", "I", MON).done
    row = note_one()
    look_at_all()
    looked(7, MON + MINUTE, marks=DEFECT)
    assert said(door.DefectWithdrawn(number(), row), MON + MINUTE, "P-31", "I", "A hair").done
    refused = step(SERIAL, "I10", "P-31", "I", MON + 2 * MINUTE)
    assert "Area 7 Top: answered as defect 1, defects noted 0." in words(refused)


def test_recorded_late_without_its_areas_a_look_is_in_doubt() -> None:
    asks_for_areas()
    assert gauge(SERIAL, FIRST, "I10", "P-31", "I", MON).done
    late = door.StepDone(number(), "I10", done_at=MON + MINUTE)
    outcome = said(late, MON + HOUR, "P-31", "I", "No phone at hand")
    assert outcome.done, words(outcome)
    (look_at,) = (one for one in now(SERIAL).done if one.operation == "I10")
    assert "its areas were not looked at" in look_at.doubt


def test_the_helper_of_every_test_answers_all_areas_where_they_are_asked_for() -> None:
    asks_for_areas("I10")
    ready_for(SERIAL, "I10", "P-31", "I", MON)
    assert kept().next is None
    assert step(SERIAL, "I10", "P-31", "I", MON).done


# --- once more ---


def test_the_second_look_begins_with_nothing_answered_and_the_first_one_keeps_its_own() -> None:
    look_at_all()
    cased()
    assert (kept("I10").answered, kept("I30").answered) == (len(kept().rows), 0)


def test_after_a_repair_every_area_is_looked_at_anew() -> None:
    """What was looked at before may have been disturbed: common practice, no source."""
    looked(1)
    found = door.DefectFound(number(), "swirl", "cosmetic", "I10", "")
    assert said(found, MON + MINUTE, "P-22", "I").done
    assert said(door.RepairDone(number()), MON + HOUR, "P-61", "X").done
    assert kept().answered == 0
    assert AreaLook.objects.count() == 1


def test_a_look_that_is_struck_keeps_what_was_answered() -> None:
    look_at_all()
    did(SERIAL, "I10", "P-31", "I", MON + MINUTE)
    seq = next(one.seq for one in now(SERIAL).done if one.operation == "I10")
    struck = said(door.StepStruck(number(), seq), MON + HOUR, "P-01", "", "Not recorded by hand")
    assert struck.done, words(struck)
    assert kept().next is None


# --- read ---


def test_the_checklist_is_read_in_two_statements_however_much_is_answered() -> None:
    it = now(SERIAL)
    assert it.sheet  # read before it is counted
    before = statements(lambda: board.area_looks(it, "I10"))
    look_at_all()
    assert statements(lambda: board.area_looks(it, "I10")) == before == 2


def test_the_rows_of_the_first_look_are_kept_back_from_who_takes_the_second() -> None:
    looked(3)
    cased()
    page = board.history(now(SERIAL), asking("P-32", "R", AGAIN))
    assert "looked at area 3" not in " ".join(one.words for one in page.rows)
    assert page.kept >= 1
    lead = board.history(now(SERIAL), asking("P-01", "", AGAIN))
    assert "P-31 looked at area 3 Nut for I10 Inspect at Inspection: all as it should be." in [
        one.words for one in lead.rows
    ]


def test_the_first_looks_list_opens_once_every_area_of_the_second_is_answered() -> None:
    """One value of their own must not open it: the list of the second look is a blind one."""
    asks_for_areas()
    cased()
    found = note_one(CASED + MINUTE)

    def seen() -> tuple[int, ...]:
        it, asks = now(SERIAL), asking("P-32", "R", AGAIN)
        rows = board.defects_with_fresh_eyes(board.defects_of(it.id), it, asks)
        return tuple(one.number for one in rows)

    assert seen() == ()
    assert gauge(SERIAL, SECOND, "I30", "P-32", "R", AGAIN).done
    assert seen() == ()
    assert not board.may_compare(now(SERIAL), asking("P-32", "R", AGAIN))
    look_at_all(AGAIN, "P-32", "R", "I30")
    assert seen() == (found,)
    assert board.may_compare(now(SERIAL), asking("P-32", "R", AGAIN))


def test_the_floor_made_again_has_the_same_answers() -> None:
    looked(3)
    note_one()
    looked(7, MON + MINUTE, marks=DEFECT)
    assert following.differences()[1] == []


def test_an_item_has_the_same_key_in_the_row_of_the_journal() -> None:
    looked(3)
    row = Entry.objects.get(instrument_id=number(), kind="area")
    assert set(row.data["answers"]) == {one.key for one in area_of(3).items}
    assert (row.data["title"], row.data["wrong"]) == ("Nut", [])


# --- its values ---


def at_first() -> None:
    assert gauge(SERIAL, FIRST, "I10", "P-31", "I", CASED - HOUR).done
    assert step(SERIAL, "I10", "P-31", "I", CASED - HOUR).done
    did(SERIAL, "I20", "P-31", "H", CASED)


def told(by: str = "P-32", station: str = "R", operation: str = "I30") -> list[board.LookValue]:
    it = now(SERIAL)
    hidden = board.values_kept(it, asking(by, station, AGAIN))
    return list(board.look_values(it, operation, hidden))


def test_the_values_of_a_look_stand_beside_what_is_wanted() -> None:
    assert gauge(SERIAL, FIRST, "I10", "P-31", "I", MON).done
    relief, bass, treble = told("P-31", "I", "I10")
    assert (relief.value, bass.value, treble.value) == (
        Decimal("0.20"), Decimal("2.40"), Decimal("1.60"),
    )  # fmt: skip
    assert relief.wanted is not None
    assert (relief.inside, bass.inside, treble.inside) == (True, True, True)
    assert [one.first for one in (relief, bass, treble)] == [None] * 3


def test_until_the_second_look_has_measured_nothing_is_told_of_the_first() -> None:
    at_first()
    assert [(one.value, one.first, one.verdict) for one in told()] == [(None, None, None)] * 3
    assert [one.value for one in told(operation="I10")] == [None] * 3


def test_once_it_has_measured_both_are_told_and_the_move_is_judged() -> None:
    at_first()
    assert gauge(SERIAL, SECOND, "I30", "P-32", "R", AGAIN).done
    relief, bass, treble = told()
    assert (relief.first, relief.value) == (Decimal("0.20"), Decimal("0.24"))
    assert [one.verdict.kind if one.verdict else "" for one in (relief, bass, treble)] == [
        "usual", "stop", "stop",
    ]  # fmt: skip
    assert bass.verdict is not None
    assert bass.verdict.moved == 0.4
    assert bass.inside is False


def test_where_it_has_measured_one_place_the_others_stay_kept_back() -> None:
    at_first()
    assert gauge(SERIAL, {"relief 7": "0.24"}, "I30", "P-32", "R", AGAIN).done
    assert [one.first for one in told()] == [Decimal("0.20"), None, None]


# --- what the last ones of its spec moved ---


def crowd() -> None:
    add_instruments(CROWD)
    Reading.objects.all().delete()


def test_the_moves_of_a_spec_are_told_oldest_first_and_no_more_than_asked_for() -> None:
    crowd()
    spec = now(serial_of(0)).sheet.spec.key
    measured(["2.40"] * 4)
    measured(["2.50", "2.45", "2.60", "2.41"], operation="I30", hours=96)
    assert board.moves_of(spec, "action") == (0.1, 0.05, 0.2, 0.01)
    assert board.moves_of(spec, "action", last=2) == (0.2, 0.01)
    assert board.moves_of(spec, "action", place="treble") == ()
    but = now(serial_of(3)).id
    assert board.moves_of(spec, "action", place="bass", but=but) == (0.1, 0.05, 0.2)


def test_of_another_spec_or_of_nothing_known_there_are_no_moves() -> None:
    crowd()
    measured(["2.40"])
    measured(["2.50"], operation="I30", hours=96)
    assert board.moves_of("NONE", "action") == ()
    assert board.moves_of("NONE\0", "action") == ()
    assert board.moves_of(now(serial_of(0)).sheet.spec.key, "shoe size") == ()


def test_more_instruments_take_no_more_statements_for_their_moves() -> None:
    crowd()
    spec = now(serial_of(0)).sheet.spec.key
    measured(["2.40"])
    measured(["2.50"], operation="I30", hours=96)
    before = statements(lambda: board.moves_of(spec, "action"))
    measured(["2.41"] * 9, hours=100)
    measured(["2.51"] * 9, operation="I30", hours=200)
    assert statements(lambda: board.moves_of(spec, "action")) == before
