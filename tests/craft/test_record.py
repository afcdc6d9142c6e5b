"""The as-built record is read from itself alone. All that stands in it here is invented."""

from __future__ import annotations

import doctest
from typing import Any

import pytest

from shop.craft import record
from shop.craft.words import THIN

RECORD: dict[str, Any] = {
    "form": 1,
    "serial": "Q-1043",
    "neck": "K-2081",
    "paired": "2031-03-03T11:35+01:00",
    "spec": "TARN",
    "revision": 2,
    "build": [["Scale", "645 mm"], ["Wood", "sapele (E. c.)"], ["Wood", "spruce (P. s.)"]],
    "order": "C-0417",
    "due": "2031-03-14",
    "destination": "Norway",
    "released": "2031-03-08T16:00+01:00",
    "released_by": ["P-32", "P-01"],
    "kit": [
        {"key": "T02", "name": "open-gear set, gold", "quantity": 1, "lot": "31-02A",
         "best_before": "", "instead_of": "T01"},
        {"key": "P01", "name": "bone pins", "quantity": 6, "lot": "31-02A", "best_before": "",
         "instead_of": ""},
        {"key": "V01", "name": "9 V battery", "quantity": 1, "lot": "31-02A",
         "best_before": "2034-03-01", "instead_of": ""},
        {"key": "R01", "name": "light six", "quantity": 1, "lot": "", "best_before": "",
         "instead_of": ""},
    ],
    "deviations": [["Gold machines: T02 in place of T01", "buyer, order C-0417"]],
    "operations": [
        {"code": "N40", "name": "Gauge the post holes", "by": "P-25", "others": ["P-11"],
         "at": "2031-03-03T09:55+01:00", "claimed": "", "times": 1, "made_sure": ""},
        {"code": "Q10", "name": "Polish", "by": "P-15", "others": [],
         "at": "2031-03-04T14:20+01:00", "claimed": "2031-03-04T13:05+01:00", "times": 2,
         "made_sure": "P-01, 2031-03-05: seen on the guitar"},
    ],
    "measures": [
        {"name": "relief", "asked": "0.20 mm", "values": []},
        {"name": "Post hole", "asked": "",
         "values": [["string 6", "8.73 mm"], ["string 5", "8.73 mm"]]},
        {"name": "Nut slot", "asked": "",
         "values": [["string 6", "1.45 mm"], ["string 5", "1.17 mm"]]},
        {"name": "Pilot bit", "asked": "", "values": [["the bit", "1.4 mm"]]},
    ],
    "room": {"readings": 3, "humidity": "46–51 %RH", "temperature": "20.5–22 °C"},
    "hold": {"cased": "2031-03-04T15:35+01:00", "started": "2031-03-04T15:35+01:00",
             "ready": "2031-03-08T16:15+01:00", "paused_min": 40,
             "because": ["Out of the case 40 min from Wed 01:35: ready 40 min later."]},
    "reworks": [
        {"loop": "cosmetic", "word": "swirl", "words": "treble side", "found_at": "I10",
         "opened": "2031-03-04T10:00+01:00", "repaired": "2031-03-04T11:00+01:00",
         "repaired_by": "P-61", "closed": "2031-03-04T12:00+01:00"},
    ],
    "permits": [{"wood": "Dalbergia nigra", "number": "12/345", "by": "P-01",
                 "at": "2031-03-03T08:00+01:00"}],
    "inspections": [{"code": "I10", "name": "Inspect", "by": ["P-31"],
                     "at": "2031-03-04T15:10+01:00"}],
    "journal": {"rows": 47, "link": "ba7816bf8f01cfea414140de5dae2223"},
}  # fmt: skip


def sheet(**differs: Any) -> record.Sheet:
    return record.read(RECORD | differs)


def test_the_head_names_body_neck_and_who_released_it_when() -> None:
    one = sheet()
    assert (one.serial, one.last_four, one.spec, one.revision) == ("Q-1043", "1043", "TARN", 2)
    assert one.pair == "Body Q-1043, neck K-2081"
    assert one.paired == "2031-03-03 11:35"
    assert one.released == "2031-03-08 16:00 by P-32 and P-01"


def test_moments_are_told_by_the_clock_of_the_shop_at_that_time() -> None:
    """The offset is kept in the record; no zone that is set today moves the hour."""
    assert record.when("2031-07-01T09:30+02:00") == "2031-07-01 09:30"


def test_woods_stand_together_and_apart_from_the_build() -> None:
    assert sheet().woods == ("sapele (E. c.)", "spruce (P. s.)")
    assert sheet().facts == (
        ("Scale", "645 mm"),
        ("Order", "C-0417"),
        ("Due", "2031-03-14"),
        ("Goes to", "Norway"),
    )


def test_what_there_is_not_has_no_line() -> None:
    assert sheet(order="", destination="", build=[]).facts == (("Due", "2031-03-14"),)


def test_each_line_of_hardware_tells_its_lot() -> None:
    assert [(one.key, one.words, one.lot) for one in sheet().hardware] == [
        ("T02", "open-gear set, gold in place of T01", "lot 31-02A"),
        ("P01", "6 × bone pins", "lot 31-02A"),
        ("V01", "9 V battery", "lot 31-02A, best before 2034-03-01"),
        ("R01", "light six", "no lot on record"),
    ]


def test_an_operation_tells_every_hand_and_what_is_to_be_noted() -> None:
    plain, noted = sheet().operations
    assert (plain.badges, plain.at, plain.note) == ("P-25, P-11", "2031-03-03 09:55", "")
    assert noted.note == (
        "done 2031-03-04 13:05, recorded late; done 2 times; "
        "confirmed by P-01, 2031-03-05: seen on the guitar"
    )


def test_values_that_are_all_alike_are_told_once() -> None:
    assert sheet().measures == (
        ("Post hole", "8.73 mm at 2 places"),
        ("Nut slot", "string 6 1.45 mm; string 5 1.17 mm"),
        ("Pilot bit", "1.4 mm"),
    )


def test_what_the_first_look_measured_stands_beside_what_the_second_did() -> None:
    relief = {"name": "Relief", "asked": "", "values": [["fret 7", "0.22 mm"]]}
    action = {
        "name": "String height over fret 12", "asked": "",
        "values": [["bass side", "2.4 mm"], ["treble side", "1.9 mm"]],
        "first": [["bass side", "2.3 mm"], ["treble side", "1.8 mm"]],
    }  # fmt: skip
    second = "bass side 2.4 mm; treble side 1.9 mm"
    told = sheet(form=3, measures=[relief | {"first": [["fret 7", "0.18 mm"]]}, action])
    assert told.measures == (
        ("Relief", "0.22 mm (first look: 0.18 mm)"),
        (
            "String height over fret 12",
            f"{second} (first look: bass side 2.3 mm; treble side 1.8 mm)",
        ),
    )


@pytest.mark.parametrize("form", [1, 2])
def test_a_record_from_before_the_first_look_was_kept_is_read_as_ever(form: int) -> None:
    assert sheet(form=form).measures == sheet(form=3).measures


def test_what_the_spec_asks_of_the_set_up_stands_apart() -> None:
    assert sheet().asked == (("relief", "0.20 mm"),)


def test_the_hold_tells_its_start_its_end_and_what_moved_it() -> None:
    assert sheet().hold == (
        "Cased 2031-03-04 15:35, ready 2031-03-08 16:15.",
        f"Stood still 40{THIN}min.",
        "Out of the case 40 min from Wed 01:35: ready 40 min later.",
        "Room 46–51 %RH, 20.5–22 °C, 3 readings.",
    )


def test_what_moved_the_hold_is_told_with_its_day_by_the_shops_clock_then() -> None:
    kept = "Out of the case 40 min from 2031-03-05T01:35+01:00: ready 40 min later."
    told = sheet(hold=RECORD["hold"] | {"because": [kept]}).hold
    assert told[2] == "Out of the case 40 min from 2031-03-05 01:35: ready 40 min later."


def test_a_hold_that_began_again_tells_from_when_it_counts() -> None:
    hold = RECORD["hold"] | {"started": "2031-03-05T08:00+01:00", "paused_min": 150}
    first, still, *_ = sheet(hold=hold).hold
    assert first == (
        "Cased 2031-03-04 15:35, counted from 2031-03-05 08:00, ready 2031-03-08 16:15."
    )
    assert still == f"Stood still 2{THIN}h 30{THIN}min."


def test_a_room_that_nobody_read_is_told_as_such() -> None:
    assert sheet(room={}).hold[-1] == "The room was not read in these days."


def test_an_instrument_without_a_hold_is_told_as_such() -> None:
    assert sheet(hold={}).hold == ("Not cased.",)


def test_a_loop_tells_what_was_found_who_repaired_it_and_when_it_was_behind_it() -> None:
    [told] = sheet().reworks
    assert told == (
        "cosmetic: swirl (treble side), found at I10; opened 2031-03-04 10:00, "
        "repaired 2031-03-04 11:00 by P-61, closed 2031-03-04 12:00"
    )


def test_a_loop_that_was_never_closed_says_so() -> None:
    still = RECORD["reworks"][0] | {"repaired": "", "repaired_by": "", "closed": ""}
    assert sheet(reworks=[still]).reworks[0].endswith("opened 2031-03-04 10:00, still open")


def test_inspections_and_papers_name_badges_and_days() -> None:
    assert sheet().looks == ("I10 Inspect: P-31, 2031-03-04 15:10",)
    assert sheet().permits == ("Dalbergia nigra: paper 12/345, noted by P-01 2031-03-03 08:00",)


def test_the_link_is_told_in_groups_that_can_be_read_out() -> None:
    """The first 16 letters of SHA-256 of "abc" (FIPS 180-4, its published example)."""
    assert sheet().link == "ba78 16bf 8f01 cfea"
    assert sheet().journal == "rows 1 to 47"


def test_a_record_of_another_form_is_not_guessed_at() -> None:
    with pytest.raises(ValueError, match="form 4 cannot be read: this reads 1, 2 and 3"):
        sheet(form=4)


@pytest.mark.parametrize("damaged", [[], "record", {"form": 2}, RECORD | {"kit": None}])
def test_what_is_not_made_as_a_record_is_told_as_such(damaged: Any) -> None:
    with pytest.raises(record.Unreadable, match=r"^(It|A record of form) .*\.$"):
        record.read(damaged)


def test_a_record_of_the_first_form_says_nothing_of_defects() -> None:
    assert sheet().defects == ()


DEFECT = {
    "word": "chip", "grade": 2, "place": "zone 1 peghead face", "words": "by pin 6",
    "found_at": "I10", "by": "P-31", "at": "2031-03-03T10:20+01:00", "became": "rework",
    "decided": "2031-03-03T11:20+01:00", "decided_by": ["P-31", "P-32"],
    "reason": "Through the finish", "loop": "finish chip",
}  # fmt: skip


def test_a_defect_tells_what_became_of_it_and_who_decided() -> None:
    noted = "chip, class 2, zone 1 peghead face (by pin 6), found at I10; noted 2031-03-03 10:20"
    decided = "rework finish chip, decided 2031-03-03 11:20 by P-31 and P-32: Through the finish"
    assert sheet(form=2, defects=[DEFECT]).defects == (f"{noted} by P-31; {decided}",)


def test_a_mere_note_that_nobody_decided_is_told_as_such() -> None:
    noted = {"grade": 4, "place": "", "words": "", "decided": "", "became": "", "loop": ""}
    assert sheet(form=2, defects=[DEFECT | noted]).defects == (
        "chip, class 4, found at I10; noted 2031-03-03 10:20 by P-31, not decided",
    )


def test_the_examples_hold() -> None:
    result = doctest.testmod(record)
    assert result.attempted > 0
    assert result.failed == 0
