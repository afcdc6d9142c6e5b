"""Defects noted with class and place, several on one guitar; what waits for them and what is
read of them. The guitars are invented; which class keeps what back is common practice, no
source."""

from __future__ import annotations

import importlib
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.apps import apps
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop.craft.finding import Severity
from shop.craft.start import may_start
from shop.craft.zones import PLACES
from shop.floor import board, course, door, following
from shop.floor.models import Defect, Entry, Photo
from shop.floor.photos import Picture
from tests.floor.casing import HOUR, MINUTE, SERIAL, cased, did, done, moment, number, said
from tests.floor.morning import act, asking, now, rules, step, words
from tests.floor.tampering import alter, relink, tampering

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

MON = moment(3, 10, 20)
PICTURE = Picture(b"a chip beside a ruler", "cd" * 32)


def noted(at: Any = MON, by: str = "P-31", station: str = "I", **differs: Any) -> door.Outcome:
    usual: dict[str, Any] = {"family": "finish", "word": "chip", "grade": 2, "zone": 1}
    serial = differs.pop("serial", SERIAL)
    return said(door.DefectNoted(number(serial), **(usual | differs)), at, by, station)


def note_it(at: Any = MON, **differs: Any) -> int:
    """It is noted; its number is that of its row."""
    outcome = noted(at, **differs)
    assert outcome.result == "recorded", words(outcome)
    assert outcome.seq is not None
    return outcome.seq


def the_one() -> Defect:
    return Defect.objects.get(instrument__body__serial=SERIAL)


def told(outcome: door.Outcome, rule: str = "undecided") -> list[str]:
    return [one.words for one in outcome.findings if one.rule == rule]


def statements(read: Any) -> int:
    with CaptureQueriesContext(connection) as caught:
        read()
    return len(caught)


# --- noted ---


def test_a_defect_is_kept_with_all_that_was_said_of_it() -> None:
    row = note_it(
        view="front", zone=5, x_mm=Decimal("12.04"), y_mm=Decimal(-30), words="By pin 6",
        found_at="I10",
    )  # fmt: skip
    one = the_one()
    assert (one.number, one.family, one.word, one.grade, one.zone) == (row, "finish", "chip", 2, 5)
    assert (one.view, one.x_mm, one.y_mm) == ("front", Decimal("12.0"), Decimal("-30.0"))
    assert (one.words, one.found_at, one.found_by.code, one.at) == (
        "By pin 6", "I10", "P-31", MON,
    )  # fmt: skip
    assert (one.disposition, one.decided_at, one.rework) == ("", None, None)


def test_a_defect_is_found_where_the_phone_is_unless_it_is_said() -> None:
    note_it()
    assert the_one().found_at == "I"


def test_a_noted_defect_takes_the_guitar_nowhere() -> None:
    before = now(SERIAL)
    outcome = noted()
    assert outcome.findings == ()
    after = now(SERIAL)
    assert (after.rework, after.frozen, after.done) == (None, None, before.done)


def test_several_stand_on_one_guitar_each_with_its_number() -> None:
    first = note_it()
    second = note_it(MON + MINUTE, word="dust nib", grade=4, zone=6)
    kept = now(SERIAL).undecided
    assert [(one.number, one.word, one.grade, one.zone) for one in kept] == [
        (first, "chip", 2, 1), (second, "dust nib", 4, 6),
    ]  # fmt: skip
    assert [(one.family, one.disposition, one.at) for one in kept] == [
        ("finish", "", MON), ("finish", "", MON + MINUTE),
    ]  # fmt: skip


def test_the_same_defect_is_noted_twice_where_somebody_insists() -> None:
    assert note_it() != note_it(MON + MINUTE)
    assert Defect.objects.count() == 2


def test_the_same_note_sent_twice_is_one() -> None:
    one = act("P-31", "I", MON)
    deed = door.DefectNoted(number(), "finish", "chip", 2, 1)
    assert [door.record(one, deed).result for _ in range(2)] == ["recorded", "already"]
    assert Defect.objects.count() == 1


def test_an_outcome_shows_the_guitar_with_what_was_noted() -> None:
    outcome = noted()
    assert outcome.after is not None
    assert outcome.after.undecided == now(SERIAL).undecided


def test_a_photo_is_kept_with_its_defect() -> None:
    row = note_it(picture=PICTURE, found_at="I10")
    photo = Photo.objects.get(sha256=PICTURE.sha256)
    assert (photo.view, photo.operation, photo.bytes) == ("spot", "I10", len(PICTURE.jpeg))
    assert photo.entry.seq == row
    assert [one.photo for one in board.defects_of(number())] == [PICTURE.sha256]


@pytest.mark.parametrize(
    ("differs", "rule"),
    [
        ({"word": "ugly"}, "defect"),
        ({"word": ""}, "defect"),
        ({"family": "paint"}, "defect"),
        ({"family": "fret", "word": "chip"}, "defect"),
        ({"grade": 0}, "class"),
        ({"grade": 5}, "class"),
        ({"zone": 17}, "zone"),
        ({"zone": -1}, "zone"),
        ({"view": "from afar"}, "place"),
        ({"view": "back"}, "place"),
        ({"view": "front", "x_mm": Decimal(3)}, "place"),
        ({"x_mm": Decimal(3), "y_mm": Decimal(4)}, "place"),
        ({"view": "front", "x_mm": Decimal("NaN"), "y_mm": Decimal(4)}, "place"),
        ({"view": "front", "x_mm": Decimal(3), "y_mm": Decimal("2000.1")}, "place"),
        ({"words": "x" * 201}, "words"),
        ({"found_at": "Y99"}, "found at"),
    ],
)
def test_a_note_that_cannot_be_so_is_refused_and_changes_nothing(
    differs: dict[str, Any], rule: str
) -> None:
    outcome = noted(**differs)
    assert (outcome.result, rules(outcome)) == ("refused", [rule])
    assert Defect.objects.count() == 0
    assert now(SERIAL).undecided == ()


def test_a_word_of_two_families_is_that_of_the_family_named() -> None:
    note_it(family="wood", word="crack")
    assert the_one().family == "wood"


def test_nothing_is_noted_of_an_instrument_that_is_ended() -> None:
    done(door.Scrapped(number()), MON, "P-01", "", reason="Neck split")
    assert rules(noted(MON + MINUTE)) == ["ended"]


def test_a_frozen_instrument_is_still_looked_at() -> None:
    done(door.Frozen(number(), "Look at it"), MON, "P-01", "")
    assert noted(MON + MINUTE).result == "recorded"


# --- what waits for it ---


@pytest.mark.parametrize("grade", [1, 2, 3])
def test_an_inspection_waits_until_a_defect_is_decided(grade: int) -> None:
    note_it(grade=grade)
    refused = step(SERIAL, "I10", "P-31", "I", MON + HOUR)
    assert told(refused) == [
        f"chip, class {grade}, zone 1, noted 2031-03-03 10:20, is not decided: I10 waits."
    ]
    assert refused.result == "refused"


def test_a_mere_note_is_told_and_keeps_nothing_back() -> None:
    note_it(grade=4, word="dust nib", zone=0)
    did(SERIAL, "I10", "P-31", "I", MON + HOUR)
    row = Entry.objects.get(instrument_id=number(), kind="step", data__operation="I10")
    assert [(one["rule"], one["severity"], one["words"]) for one in row.findings] == [
        ("undecided", "note", "dust nib, class 4, noted 2031-03-03 10:20, is not decided.")
    ]


def test_each_of_several_is_told() -> None:
    note_it()
    note_it(MON + MINUTE, word="pit", grade=3, zone=10)
    assert len(told(step(SERIAL, "I10", "P-31", "I", MON + HOUR))) == 2


def test_work_before_the_first_inspection_goes_on() -> None:
    """N40 lies before every operation that proves."""
    note_it(serial="Q-1043")
    assert told(step("Q-1043", "N40", at=MON + HOUR)) == []


def test_casing_and_all_after_it_wait_as_the_inspection_does() -> None:
    did(SERIAL, "I10", "P-31", "I", MON)
    note_it(MON + MINUTE)
    waits = step(SERIAL, "I20", "P-31", "H", MON + HOUR)
    assert told(waits) == [
        "chip, class 2, zone 1, noted 2031-03-03 10:21, is not decided: I20 waits."
    ]
    for code in ("I30", "I50", "Z10", "Z20"):
        found = door_against(code)
        assert "undecided" in found, code


def door_against(code: str) -> set[str]:
    stop = now(SERIAL).sheet.stop(code)
    assert stop is not None
    outcome = step(SERIAL, code, "P-32", stop.station_code, MON + 2 * HOUR)
    return {one.rule for one in outcome.findings if one.severity is Severity.STOP}


def test_an_inspection_is_not_begun_either() -> None:
    note_it()
    begun = said(door.StepStarted(number(), "I10"), MON + HOUR, "P-31", "I")
    assert (begun.result, len(told(begun))) == ("refused", 1)


def test_the_list_of_what_waits_says_for_which_defect() -> None:
    note_it()
    found = next(row for row in board.waiting_list(MON + HOUR) if row.serial == SERIAL)
    first = found.first("I10")
    assert first is not None
    assert (first.rule, first.call) == ("undecided", "lead")


def test_a_second_look_is_not_told_of_a_mere_note() -> None:
    """What the first look noted below the limit would lead the second one's eyes."""
    did(SERIAL, "I10", "P-31", "I", MON)
    note_it(MON + MINUTE, grade=4)
    did(SERIAL, "I20", "P-31", "H", MON + HOUR)
    at = moment(8, 9)
    found = may_start(now(SERIAL).stands(at), "I30", asking("P-32", "R", at))
    assert "undecided" not in [one.rule for one in found]
    for badge, is_told in (("P-32", False), ("P-31", True)):  # P-31 has found it
        found = may_start(now(SERIAL).stands(at), "I50", asking(badge, "R", at))
        assert ("undecided" in [one.rule for one in found]) is is_told


# --- what is read ---


def test_the_defects_of_an_instrument_are_read_in_the_order_they_were_found() -> None:
    note_it()
    note_it(MON + MINUTE, word="pit", grade=3, zone=10)
    rows = board.defects_of(number())
    assert [(one.word, one.standing, one.undecided) for one in rows] == [
        ("chip", "open", True), ("pit", "open", True),
    ]  # fmt: skip
    assert [one.found_by for one in rows] == ["P-31", "P-31"]


def test_they_are_read_in_three_statements_however_many() -> None:
    note_it()
    its_number = number()
    few = statements(lambda: board.defects_of(its_number))
    for minute in range(1, 6):
        note_it(MON + minute * MINUTE, word="pit", picture=PICTURE)
    many = statements(lambda: board.defects_of(its_number))
    assert few == many == 3


def test_a_scan_needs_no_statement_for_them() -> None:
    def read() -> Any:
        found = board.by_serial(SERIAL)
        assert found is not None
        return found.undecided, found.stands(MON)

    read()  # the sheet and the room are remembered
    before = statements(read)
    note_it()
    assert statements(read) == before


def test_the_second_inspector_does_not_read_what_the_first_found() -> None:
    cased(moment(3, 14, 10))
    note_it(moment(3, 14, 20), grade=4, found_at="I10")
    note_it(moment(3, 14, 30), grade=4, found_at="B", word="pit", by="P-14", station="B")
    rows = board.defects_of(number())
    second = asking("P-32", "R", moment(8, 9))
    fresh = board.defects_with_fresh_eyes(rows, now(SERIAL), second)
    assert [one.word for one in fresh] == ["pit"]
    first = asking("P-31", "I", moment(8, 9))
    assert board.defects_with_fresh_eyes(rows, now(SERIAL), first) == rows


def test_the_names_of_how_they_stand_split_them_without_rest() -> None:
    note_it()
    done(
        door.DefectFound(number(), "dust nib", "cosmetic"), MON + MINUTE, "P-22", "I"
    )  # fmt: skip
    names = ("open", "in_rework", "closed")
    found = {name: list(getattr(Defect.objects, name)()) for name in names}
    assert [[one.word for one in found[name]] for name in names] == [["chip"], ["dust nib"], []]
    assert done(door.RepairDone(number()), MON + HOUR, "P-61", "X").done
    did(SERIAL, "Q10", "P-15", "Q", MON + 3 * HOUR)
    assert [one.word for one in Defect.objects.closed()] == ["dust nib"]
    assert list(Defect.objects.in_rework()) == []


# --- a report that sends it on a loop at once ---


def test_a_report_with_its_loop_is_a_defect_that_is_decided() -> None:
    done(
        door.DefectFound(number(), "lift", "bridge lift", words="Rear edge"), MON, "P-22", "I"
    )  # fmt: skip
    one = the_one()
    assert (one.family, one.word, one.grade, one.zone) == ("joint", "lift", 0, 0)
    assert (one.words, one.found_at, one.disposition, one.decided_at) == (
        "Rear edge", "I", "rework", MON,
    )  # fmt: skip
    assert one.rework is not None
    assert one.rework.loop == "bridge lift"
    assert now(SERIAL).undecided == ()


@pytest.mark.parametrize(
    ("word", "loop", "family"),
    [
        ("loose", "fret", "fret"),
        ("loose", "small hardware", "hardware"),
        ("missing", "paper", "paper"),
        ("crack", "cosmetic", ""),
    ],
)
def test_the_loop_tells_the_family_of_a_word_that_two_have(
    word: str, loop: str, family: str
) -> None:
    done(door.DefectFound(number(), word, loop), MON, "P-22", "I")
    assert the_one().family == family


def test_what_joins_a_loop_is_made_good_with_it() -> None:
    done(door.DefectFound(number(), "chip", "finish chip"), MON, "P-22", "I")
    done(door.DefectFound(number(), "lift", "bridge lift"), MON + MINUTE, "P-22", "I")
    reworks = {one.rework_id for one in Defect.objects.all()}
    assert len(reworks) == 1
    rows = board.defects_of(number())
    assert [one.standing for one in rows] == ["in rework", "in rework"]
    assert rows[0].recheck == rows[1].recheck != ()


def test_a_report_of_an_older_shop_is_followed_too() -> None:
    """It said neither class nor family."""
    done(door.DefectFound(number(), "lift", "bridge lift"), MON, "P-22", "I")
    row = Entry.objects.get(instrument_id=number(), kind="defect")
    said_then = {name: one for name, one in row.data.items() if name != "family"}
    with tampering():
        alter(row, data=said_then)
        relink(SERIAL)
        following.rebuild()
        one = the_one()
    assert (one.family, one.word, one.grade, one.disposition) == ("", "lift", 0, "rework")


def test_reports_from_before_there_were_defects_become_defects() -> None:
    """As the migration brings them over: each with the loop it began or joined."""
    done(door.DefectFound(number(), "chip", "finish chip"), MON, "P-22", "I")
    done(door.DefectFound(number(), "lift", "bridge lift"), MON + MINUTE, "P-22", "I")
    done(door.DefectFound(number("Q-1043"), "pit", "cosmetic", "N40"), MON, "P-11", "N")
    done(door.RepairDone(number("Q-1043")), MON + HOUR, "P-61", "X")
    done(door.DefectFound(number("Q-1043"), "run", "cosmetic"), MON + 2 * HOUR, "P-11", "N")
    columns = [one.attname for one in Defect._meta.fields if one.name not in ("id", "family")]
    before = list(Defect.objects.order_by("entry").values_list(*columns))
    Defect.objects.all().delete()
    importlib.import_module("shop.floor.migrations.0013_defects").as_their_rows_say(apps, None)
    assert list(Defect.objects.order_by("entry").values_list(*columns)) == before
    assert len({one.rework_id for one in Defect.objects.all()}) == 3


# --- the repairer's list ---


def test_the_repairer_reads_what_waits_how_long_and_what_follows() -> None:
    done(
        door.DefectFound(number(), "chip", "finish chip", words="Treble side"), MON, "P-22", "I"
    )  # fmt: skip
    (row,) = (one for one in board.repair_list(MON + 26 * HOUR) if one.serial == SERIAL)
    assert (row.since, row.age) == (MON, timedelta(hours=26))
    assert (row.loops, row.minutes, row.spent) == (("Finish chip",), 40, 0)
    assert row.works[0].startswith("Fill in 3 to 6 passes")
    assert (row.stations, row.recheck, row.defects) == (
        ("Repair",), ("Q10",), ("chip, Treble side",),
    )  # fmt: skip


def test_what_is_repaired_leaves_the_list_and_counts_as_spent_the_next_time() -> None:
    done(door.DefectFound(number(), "chip", "finish chip"), MON, "P-22", "I")
    done(door.RepairDone(number()), MON + HOUR, "P-61", "X")
    assert SERIAL not in [one.serial for one in board.repair_list(MON + 2 * HOUR)]
    done(door.DefectFound(number(), "lift", "bridge lift"), MON + 2 * HOUR, "P-22", "I")
    (row,) = (one for one in board.repair_list(MON + 3 * HOUR) if one.serial == SERIAL)
    assert (row.loops, row.minutes, row.spent) == (("Bridge lift",), 60, 40)
    assert row.since == MON, "it has been off its route since then"


def test_the_list_is_read_in_the_same_statements_for_any_number() -> None:
    done(door.DefectFound(number(), "chip", "finish chip"), MON, "P-22", "I")
    few = statements(lambda: board.repair_list(MON + HOUR))
    for serial in ("Q-1043", "Q-1050", "Q-1055"):
        deed = door.DefectFound(number(serial), "dust nib", "cosmetic")
        done(deed, MON + MINUTE, "P-22", "I")
    rows = board.repair_list(MON + HOUR)
    assert {SERIAL, "Q-1043", "Q-1050", "Q-1055"} <= {one.serial for one in rows}
    assert statements(lambda: board.repair_list(MON + HOUR)) == few == 5


# --- plain data and what is made again ---


def test_what_is_noted_goes_into_plain_data_and_comes_back() -> None:
    note_it()
    kept = now(SERIAL).undecided
    assert course.undecided(course.undecided_rows(kept)) == kept
    assert (kept[0].found_at, kept[0].found_by) == ("I", "P-31")


def test_a_row_kept_before_its_finder_was_is_still_read_and_kept_as_it_was() -> None:
    rows = [[9, "finish", "chip", 2, 1, "", MON.isoformat()]]
    (one,) = course.undecided(rows)
    assert (one.word, one.found_at, one.found_by) == ("chip", "", "")
    assert course.undecided_rows((one,)) == rows
    before = {"words": "Dropped", "by": "P-11", "since": MON.isoformat()}
    frozen = course.frozen(before)
    assert frozen is not None
    assert (frozen.words, frozen.found_by) == ("Dropped", "")
    assert course.frozen_row(frozen) == before


def test_every_zone_of_the_drawing_can_be_noted() -> None:
    for minute, zone in enumerate(PLACES):
        note_it(MON + minute * MINUTE, zone=zone)
    assert len(now(SERIAL).undecided) == len(PLACES)


def test_a_floor_with_defects_is_made_again_as_it_was() -> None:
    note_it(view="front", x_mm=Decimal("1.25"), y_mm=Decimal(-300), picture=PICTURE)
    note_it(MON + MINUTE, word="pit", grade=3)
    done(door.DefectFound(number(), "lift", "bridge lift"), MON + HOUR, "P-22", "I")
    before = following.picture()
    assert following.differences()[1] == []
    following.rebuild()
    assert following.picture() == before
