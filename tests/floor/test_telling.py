"""Every row of the journal is told in a sentence that somebody reads who was not there.

Rows, badges, serials and times are invented.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from shop.craft.finding import note, stop, warn
from shop.craft.words import THIN
from shop.floor import door
from shop.floor.deeds.deed import Deed
from shop.floor.models import Entry
from shop.floor.telling import GROUPS, TELLERS, Names, Told, kinds_of, told

AT = datetime(2031, 3, 3, 14, 20, tzinfo=UTC)
EARLIER = datetime(2031, 3, 3, 13, 5, tzinfo=UTC)
NAMES = Names(
    operations={"N40": "Gauge the post holes", "J10": "Pair neck and body", "F20": "Level"},
    stations={"N": "Neck bench", "J": "Joint", "F": "Frets", "I": "Inspection"},
    parts={"N7M49Q2": "K-2091"},
    tray="T988SHM",
)


def row(kind: str, said: dict[str, Any] | None = None, **more: Any) -> Entry:
    usual: dict[str, Any] = {
        "seq": 17, "subject": "Q-1050", "outcome": "recorded", "who": "P-11", "station": "N",
        "at": AT, "data": said or {},
    }  # fmt: skip
    return Entry(kind=kind, **(usual | more))


def tell(kind: str, said: dict[str, Any] | None = None, **more: Any) -> Told:
    return told(row(kind, said, **more), NAMES)


STEP = {"operation": "N40", "neck_code": "", "done_at": None}
PAIR = {"operation": "J10", "neck_code": "N7M49Q2", "done_at": None}
OPEN = {"operation": "F20", "from": "P-12"}
DEFECT = {"word": "lift", "loop": "bridge lift", "found_at": "", "words": "", "depth_mm": None}
CHIP = {"number": 9, "family": "finish", "word": "chip", "grade": 2, "zone": 1}
NOTED = CHIP | {
    "view": "front", "x_mm": None, "y_mm": None, "words": "by the treble side", "found_at": "I",
    "photo": "",
}  # fmt: skip
DECIDED = CHIP | {
    "disposition": "rework", "chosen": "finish chip", "depth_mm": None, "department": "",
    "second": "P-31",
}  # fmt: skip
AREA = {"operation": "F20", "area": 3, "answers": {}, "title": "Nut", "asked": 4, "wrong": []}
GAUGE = {
    "name": "G-07", "words": "depth dial", "resolution_mm": "0.01", "interval_days": 90,
    "retired": False,
}  # fmt: skip
CHECK = {
    "name": "G-07", "words": "depth dial", "on": "2031-03-01", "deviation_mm": "0.02",
    "passed": False, "note": "",
}  # fmt: skip

SENTENCES: dict[str, tuple[str, dict[str, Any]]] = {
    "P-11 recorded N40 Gauge the post holes at Neck bench.": ("step", STEP),
    "P-11 recorded J10 Pair neck and body at Neck bench: it is paired with neck K-2091.": (
        "step", PAIR | {"pairs": "K-2091"},
    ),
    "P-11 began N40 Gauge the post holes at Neck bench.": ("start", {"operation": "N40"}),
    "P-11 joined F20 Level as helper at Neck bench.": ("join", OPEN),
    "P-11 handed F20 Level to P-13 at Neck bench: frets 1 to 5 are done.": (
        "handed", OPEN | {"to": "P-13", "note": "frets 1 to 5 are done"},
    ),
    "P-11 parked F20 Level at Neck bench.": ("handed", OPEN | {"to": "", "note": ""}),
    "P-11 took over F20 Level at Neck bench.": ("taken", OPEN),
    "P-11 gave up F20 Level, begun by mistake: Wrong guitar.": ("left", OPEN),
    "P-11 noted a power cut from 2031-03-03 13:05 to 14:20.": (
        "power cut", {"began": EARLIER.isoformat(), "ended": AT.isoformat(), "open": []},
    ),
    "P-11 noted that the power went during F20 Level at Neck bench.": ("cut open", OPEN),
    "P-11 looked at the cut that the power left open, F20 Level: it is spoilt.": (
        "cut seen", OPEN | {"answer": "spoilt"},
    ),
    "P-11 scanned its tray beside it at Neck bench.": ("tray", {"tray_code": "T988SHM"}),
    "P-11 scanned tray T123-456 beside it at Neck bench.": ("tray", {"tray_code": "T123456"}),
    "P-11 checked 1 × T01 in its tray at Neck bench: counted and weighed.": (
        "line check",
        {"line_id": 987654, "lot_id": 987654, "item": "T01", "lot": "31-02A", "how": "weigh",
         "count": 1},
    ),
    "P-11 closed its tray at Neck bench.": ("tray close", {"tray_id": 1}),
    "P-11 opened its tray again: Wrong guitar.": ("tray open", {"tray_id": 1}),
    "P-11 gave back 1 × P01, sealed, into its bin: Wrong guitar.": (
        "returned", {"item": "P01", "lot": "31-02A", "quantity": 1, "sealed": True, "off": 0},
    ),
    "P-11 drew 1 × T01, left machine for its repair: button cracked.": (
        "drawn",
        {"item": "T01", "lot": "31-02A", "piece": "L", "quantity": 1, "why": "button cracked"},
    ),
    "P-11 checked the machines on their posts for N40 Gauge the post holes at Neck bench.": (
        "positions", {"operation": "N40", "marks": {}, "photo": ""},
    ),
    "P-11 entered 1 value for N40 Gauge the post holes at Neck bench.": (
        "readings", {"operation": "N40", "values": [["hole", "6", "8.73"]], "inch": False},
    ),
    "P-11 read 1 fret height for F20 Level at Neck bench: before levelling.": (
        "frets", {"operation": "F20", "stage": "before", "entered": [[9, 3, "1.16"]]},
    ),
    f"P-11 read the room: 21.0{THIN}°C, 47{THIN}%RH.": (
        "room", {"temp_c": "21.0", "rh_pct": "47"},
    ),
    "P-11 brought in the log of sensor S-2: 2 readings of the room from 2031-03-03 13:05 to "
    f"2031-03-03 14:20, 46.5 to 47{THIN}%RH.": (
        "room log",
        {"sensor": "S-2", "known": [],
         "readings": [[EARLIER.isoformat(), "21.4", "47.0"], [AT.isoformat(), "21.3", "46.5"]]},
    ),
    "P-11 took in gauge G-07 depth dial, to be checked every 90 days.": (
        "gauge", GAUGE | {"new": True},
    ),
    "P-11 keeps gauge G-07 depth dial on its list, to be checked every 1 day.": (
        "gauge", GAUGE | {"new": False, "interval_days": 1},
    ),
    "P-11 put away gauge G-07 depth dial.": ("gauge", GAUGE | {"retired": True}),
    f"P-11 checked gauge G-07 depth dial on 2031-03-01: 0.02{THIN}mm off, it failed.": (
        "gauge check", CHECK,
    ),
    "P-11 checked gauge G-07 depth dial on 2031-03-01: it passed.": (
        "gauge check", CHECK | {"deviation_mm": None, "passed": True},
    ),
    "P-11 studied gauge G-07 depth dial on slot depth: "
    f"it takes up 22.7{THIN}% of a tolerance of 0.2{THIN}mm.": (
        "gauge study",
        {"name": "G-07", "words": "depth dial", "what": "slot depth", "tolerance_mm": "0.2",
         "share_pct": "22.7", "entered": []},
    ),
    "P-11 replaced the lost tag B7M4-9Q2 with B123-456.": (
        "tag", {"code": "B7M49Q2", "new": "B123456", "why": "lost", "mark": "Q-1050"},
    ),
    "P-11 printed the body tag of Q-1050, copy 2: Wrong guitar.": (
        "print", {"words": "Body tag", "of": "Q-1050", "copy": 2, "code": "B123456"},
    ),
    "P-11 printed the tray label of Q-1050: Wrong guitar.": (
        "print", {"words": "Tray label", "of": "Q-1050", "copy": 1, "code": ""},
    ),
    "P-11 scanned neck K-2091 beside it at Neck bench: they belong together.": (
        "neck seen", {"neck_code": "N7M49Q2"},
    ),
    "P-11 found that its tag and that of Q-1051 were mixed up, right for the last time "
    "2031-03-03 13:05.": ("mixed", {"other": "Q-1051", "since": EARLIER.isoformat()}),
    "P-11 put in doubt what was recorded since 2031-03-03 13:05: the tag hung on another "
    "guitar.": (
        "doubted",
        {
            "since": EARLIER.isoformat(),
            "words": "the tag hung on another guitar",
            "doubts": [[5, "N40", "the tag hung on another guitar"]],
        },
    ),
    "P-11 noted that one string was replaced, 13:05.": (
        "happened", {"what": "string", "at": EARLIER.isoformat(), "cure_h": 0},
    ),
    "P-11 took it out of its case for its touch-up at Neck bench.": (
        "case open", {"touch_up": True},
    ),
    "P-11 put it back into its case, out since 13:05.": (
        "case shut", {"out_since": EARLIER.isoformat()},
    ),
    "P-11 put up 2 slots of the hold rack, H-111 to H-112.": (
        "slots",
        {"up": 2, "retire": [], "back": [], "slots": [["H-111", "H1"], ["H-112", "H2"]]},
    ),
    "P-11 put up 1 slot of the hold rack, H-113.": (
        "slots", {"up": 1, "retire": [], "back": [], "slots": [["H-113", "H3"]]},
    ),
    "P-11 retired slot H-003 and H-004 of the hold rack.": (
        "slots", {"up": 0, "retire": ["H-003", "H-004"], "back": []},
    ),
    "P-11 took slot H-003 of the hold rack back into use.": (
        "slots", {"up": 0, "retire": [], "back": ["H-003"]},
    ),
    "P-11 put it into slot H-014 of the hold rack.": ("racked", {"slot": "H-014", "from": ""}),
    "P-11 moved it from slot H-014 to H-027 of the hold rack.": (
        "racked", {"slot": "H-027", "from": "H-014"},
    ),
    "P-11 took it out of slot H-014 of the hold rack.": ("unracked", {"slot": "H-014"}),
    "P-11 seeded 2 panels as set 3: gloss, March.": (
        "panels",
        {"words": "gloss, March", "panels": [[["middle", "finish", "chip"]], []], "away": 0,
         "number": 3},
    ),
    "P-11 put away the panels of set 3.": ("panels", {"words": "", "panels": [], "away": 3}),
    "P-11 looked at panel 7 of set 3.": (
        "panel call", {"of": 3, "panel": 7, "found": True, "token": "0f"},
    ),
    "P-11 boxed it with its papers at Neck bench.": (
        "boxed", {"case": "P123456", "label": "P123457"},
    ),
    "P-11 handed 2 cartons to Heron Freight, list M-0001.": (
        "handed over",
        {"instruments": [987654, 987655], "carrier": "Heron Freight", "counted": 2,
         "number": "M-0001", "serials": ["Q-1050", "Q-1051"]},
    ),
    "P-11 handed its carton to Heron Freight, list M-0001.": (
        "carried", {"manifest": "M-0001", "carrier": "Heron Freight"},
    ),
    f"P-11 made its hold wait 24{THIN}h longer: Wrong guitar.": (
        "longer", {"clock": "hold", "hours": 24},
    ),
    "P-11 reported “lift” at Neck bench: at the rear edge.": (
        "defect", DEFECT | {"words": "at the rear edge"},
    ),
    "P-11 reported “lift” found at Inspection.": ("defect", DEFECT | {"found_at": "I"}),
    "P-11 looked at area 3 Nut for F20 Level at Neck bench: all as it should be.": ("area", AREA),
    "P-11 looked at area 3 Nut for F20 Level at Neck bench: 1 of 4 not as it should be.": (
        "area", AREA | {"wrong": ["Nut seated, no light under it"]},
    ),
    "P-11 noted “chip”, class 2, zone 1 peghead face, found at Inspection: by the treble side.": (
        "noted", NOTED,
    ),
    "P-11 noted “hum”, class 3 at Neck bench.": (
        "noted", NOTED | {"word": "hum", "grade": 3, "zone": 0, "found_at": "", "words": ""},
    ),
    "P-11 decided about “chip”, class 2, zone 1 peghead face: it is sent to rework, "
    "Wrong guitar.": ("decided", DECIDED),
    "P-11 decided about “chip”, class 2, zone 1 peghead face: its neck goes back to its makers, "
    "Wrong guitar.": ("decided", DECIDED | {"disposition": "return", "department": "neck"}),
    "P-11 withdrew “chip”, class 2, zone 1 peghead face: Wrong guitar.": ("withdrawn", CHIP),
    "P-11 withdrew the defect of row 9: Wrong guitar.": ("withdrawn", {"number": 9}),
    "P-11 repaired it at Neck bench: loop bridge lift.": (
        "repair", {"loops": ["bridge lift"], "dry_until": None},
    ),
    "P-11 reported that it was dropped at Neck bench: off the bench.": (
        "dropped", {"words": "off the bench"},
    ),
    "P-11 booked in neck K-2091, made as HOLM.": (
        "arrival", {"part": "neck", "serial": "K-2091", "spec": "HOLM"},
    ),
    "P-11 released Q-1050 with neck K-2088 as HOLM, due 2031-03-14.": (
        "release",
        {"neck": "K-2088", "spec": "HOLM", "due_on": "2031-03-14", "order": "", "agreed": []},
    ),
    "P-11 noted paper 12/345 for Dalbergia nigra.": (
        "permit", {"number": "12/345", "wood": "Dalbergia nigra"},
    ),
    "P-11 froze it for the lead at Neck bench: K-2091 belongs to another body.": (
        "frozen", {"words": "K-2091 belongs to another body."},
    ),
    "P-11 freed it: Wrong guitar.": ("freed", {}),
    "P-11 confirmed N40 Gauge the post holes, row 5: Wrong guitar.": (
        "confirm", {"seq": 5, "operation": "N40"},
    ),
    "P-11 struck N40 Gauge the post holes, row 5: Wrong guitar.": (
        "strike", {"seq": 5, "operation": "N40"},
    ),
    "P-11 remarked on row 5 at Neck bench: it was string 5.": (
        "remark", {"seq": 5, "words": "it was string 5"},
    ),
    "P-11 broke the pair with neck K-2088, its neck is scrap: Wrong guitar.": (
        "unpaired", {"fate": "scrap", "neck": "K-2088"},
    ),
    "P-11 named neck K-2099 for it.": ("neck named", {"neck": "K-2099"}),
    "P-11 scrapped it: Wrong guitar.": (
        "scrap",
        {"returns": [], "parts": [{"item": "T01", "quantity": 1, "lot": "off Q-1050"}]},
    ),
    "P-11 moved it to HOLM revision 2: Wrong guitar.": (
        "moved", {"revision_id": 7, "name": "HOLM revision 2"},
    ),
    "P-11 moved it to another revision of its spec: Wrong guitar.": ("moved", {"revision_id": 7}),
    "P-11 put P04 in the place of P01: Wrong guitar.": (
        "substitute",
        {"out_key": "P01", "in_key": "P04", "asked": "yes", "out_id": 987654, "in_id": 987654},
    ),
    "P-11 gave 1 × T01 kept for it to urgent Q-1055: needed 2031-03-04 09:10 at N40 Gauge the post "
    "holes, next receipt 2031-03-07, slips 3 days.": (
        "kit short",
        {
            "line_id": 987654, "item": "T01", "quantity": 1, "got_by": "urgent Q-1055",
            "operation": "N40", "needed_at": "2031-03-04T09:10+00:00", "receipt": "2031-03-07",
            "days": 3,
        },
    ),
    "P-11 had 1 × T01 kept for it.": (
        "kit covered", {"line_id": 987654, "item": "T01", "quantity": 1},
    ),
    "P-11 shared out the scarce parts.": (
        "shared out", {"gain": [["T01", "Q-1050"]], "lose": [["T01", "Q-1051"]]},
    ),
    "P-11 called the lead at Neck bench: Hole 6.52.": (
        "call", {"whom": "lead", "words": "Hole 6.52"},
    ),
    "P-11 answered the call.": ("answer", {"call_id": 3, "row": 9}),
}  # fmt: skip
CAUSED = {
    "left", "longer", "freed", "confirm", "strike", "unpaired", "scrap", "moved", "substitute",
    "returned", "tray open", "print", "decided", "withdrawn",
}  # fmt: skip


def deeds() -> list[type[Deed]]:
    """Every deed that goes through the door."""
    named = [getattr(door, name) for name in door.__all__]
    return [one for one in named if isinstance(one, type) and issubclass(one, Deed)]


def test_every_deed_of_the_door_has_its_sentence() -> None:
    kinds = {one.kind for one in deeds()}
    assert len(kinds) > 10, "the door has no deeds"
    assert kinds - set(TELLERS) == set()


def test_every_sentence_is_tried_here() -> None:
    assert {kind for kind, _ in SENTENCES.values()} == set(TELLERS)


@pytest.mark.parametrize("sentence", SENTENCES)
def test_a_row_reads(sentence: str) -> None:
    kind, said = SENTENCES[sentence]
    reason = "Wrong guitar" if kind in CAUSED else ""
    assert tell(kind, said, reason=reason).words == sentence


@pytest.mark.parametrize("sentence", SENTENCES)
def test_a_refused_row_says_that_it_was_refused(sentence: str) -> None:
    kind, said = SENTENCES[sentence]
    refused = tell(kind, said, outcome="refused")
    assert refused.words.startswith("P-11 ")
    assert refused.words.endswith(": refused.")
    assert refused.mark == "stop"


@pytest.mark.parametrize("sentence", SENTENCES)
def test_no_row_tells_a_number_that_only_the_database_knows(sentence: str) -> None:
    """Each id is a number here that stands in no sentence and no detail."""
    kind, said = SENTENCES[sentence]
    ids = {"instrument_id": 987654, "other_id": 987654, "revision_id": 987654, "tray_id": 987654}
    ids |= {"call_id": 987654, "row": 987654, "operation_id": 987654, "item_id": 987654}
    known = tell(kind, said | {name: one for name, one in ids.items() if name != "row"})
    assert "987654" not in f"{known.words} {known.details} {known.times}"


def test_a_neck_that_was_not_the_right_one_is_told_as_a_scan() -> None:
    wrong = stop("R39", "Neck K-2091 belongs to Q-1061.", "Put it back.").row()
    refused = tell("step", PAIR, outcome="refused", findings=[wrong], who="P-16", station="")
    assert refused.words == "P-16 scanned neck K-2091 beside Q-1050: refused."
    assert [one.words for one in refused.findings] == ["Neck K-2091 belongs to Q-1061."]


def test_a_neck_whose_tag_is_not_known_is_told_by_its_code() -> None:
    wrong = stop("neck scan", "N1234567 is no neck's tag.", "Scan the neck.").row()
    said = PAIR | {"neck_code": "N123456"}
    refused = tell("step", said, outcome="refused", findings=[wrong], station="")
    assert refused.words == "P-11 scanned neck with tag N123-456 beside Q-1050: refused."


def test_a_pair_refused_for_another_reason_is_told_as_a_record() -> None:
    early = stop("wait", "Ready Mon 15:00.", "Come back.").row()
    refused = tell("step", PAIR, outcome="refused", findings=[early])
    assert refused.words == "P-11 tried to record J10 Pair neck and body at Neck bench: refused."


def test_a_kind_that_nobody_knows_is_told_plainly() -> None:
    unknown = tell("polished twice")
    assert unknown.words == "P-11 recorded “polished twice” at Neck bench."
    assert unknown.group == "work"


def test_an_operation_that_left_the_route_is_told_by_its_code() -> None:
    said = STEP | {"operation": "N55"}
    assert tell("step", said).words == "P-11 recorded N55 at Neck bench."


# --- times, hands and corrections ---


def test_work_entered_late_tells_both_moments() -> None:
    late = tell("step", STEP | {"done_at": EARLIER.isoformat()})
    assert late.times == ("done 13:05, recorded 14:20",)


def test_work_of_another_day_entered_late_tells_its_day() -> None:
    day_before = (EARLIER - timedelta(days=1)).isoformat()
    late = tell("step", STEP | {"done_at": day_before})
    assert late.times == ("done 2031-03-02 13:05, recorded 14:20",)


@pytest.mark.parametrize("minutes", [-75, 3])
def test_a_phone_whose_clock_is_off_is_told_with_its_time(minutes: int) -> None:
    shown = AT + timedelta(minutes=minutes)
    assert tell("step", STEP, claimed_at=shown).times == (f"phone clock {shown:%H:%M}",)


@pytest.mark.parametrize("seconds", [-120, 0, 120])
def test_a_phone_within_two_minutes_is_not_spoken_of(seconds: int) -> None:
    """Two minutes: common practice, no source."""
    assert tell("step", STEP, claimed_at=AT + timedelta(seconds=seconds)).times == ()


def test_who_signed_beside_is_told() -> None:
    assert tell("step", STEP, beside="P-10").beside == "P-10"


def test_a_station_that_is_not_in_the_sentence_stands_beside_it() -> None:
    assert tell("step", STEP).place == ""
    assert tell("left", OPEN).place == "Neck bench"


def test_a_correction_tells_which_row_it_corrects() -> None:
    first = row("step", STEP, seq=5)
    correction = row("remark", {"seq": 5, "words": "string 5"}, corrects=first)
    assert told(correction, NAMES).corrects == 5


def test_a_reason_that_is_not_in_the_sentence_stands_beside_it() -> None:
    assert tell("step", STEP, reason="The lead agreed").reason == "The lead agreed"


def test_a_reason_that_the_sentence_tells_is_told_once() -> None:
    assert tell("freed", reason="looked at both block marks").reason == ""


def test_the_reason_of_a_refused_row_is_never_lost() -> None:
    refused = tell("freed", outcome="refused", reason="looked at both block marks")
    assert refused.reason == "looked at both block marks"


# --- what was entered ---


def test_measured_values_are_told_by_name_place_and_unit() -> None:
    said = {"operation": "N40", "values": [["hole", "6", "8.73"]], "inch": False}
    assert tell("readings", said).details == (("Post hole, 6", f"8.73{THIN}mm"),)


def test_an_answer_is_told_in_its_words() -> None:
    said = {"operation": "Z10", "values": [["insulated", "battery", "1"]], "inch": False}
    assert tell("readings", said).details == (
        ("Battery contacts insulated, or its switch off, battery", "Yes"),
    )


def test_values_that_were_refused_are_told_as_they_were_typed() -> None:
    said = {"operation": "N40", "entered": [["hole", "6", "0,344"]], "inch": True}
    refused = tell("readings", said, outcome="refused")
    assert refused.details == (("Post hole, 6", "“0,344” (inches)"),)


def test_a_quantity_that_is_measured_no_more_is_told_as_it_was_kept() -> None:
    said = {"operation": "N40", "values": [["girth", "6", "8.73"]], "inch": False}
    assert tell("readings", said).details == (("girth 6", "8.73"),)


def test_what_came_off_a_scrapped_one_is_listed() -> None:
    parts = [
        {"item": "T01", "quantity": 1, "lot": ""},
        {"item": "P01", "quantity": 6, "lot": "off Q-1050"},
    ]
    assert tell("scrap", {"returns": [], "parts": parts}).details == (
        ("Came off", "1 × T01, not whole: not put back"),
        ("Came off", "6 × P01, held as lot “off Q-1050”"),
    )


def test_where_a_defect_leads_is_listed() -> None:
    said = DEFECT | {
        "title": "Bridge lift", "work": "Warm it off.", "station": "Repair",
        "redo": ["N40", "F20"], "depth_mm": "0.4",
    }  # fmt: skip
    assert tell("defect", said).details == (
        ("Loop", "Bridge lift"),
        ("At Repair", "Warm it off."),
        ("Done again", "N40 Gauge the post holes and F20 Level"),
        ("Depth", f"0.4{THIN}mm"),
    )


def test_where_a_noted_defect_was_tapped_is_told() -> None:
    placed = NOTED | {"zone": 5, "x_mm": "12.0", "y_mm": "-30.4"}
    place = f"12{THIN}mm to the treble side, 30{THIN}mm toward the head from the bridge centre"
    assert tell("noted", placed).details == (("Place", f"zone 5 bridge, {place}"),)
    assert tell("noted", NOTED).details == ()


def test_who_decided_about_a_defect_and_where_it_leads_is_listed() -> None:
    said = DECIDED | {
        "loop": "finish chip", "title": "Finish chip", "work": "Fill in drops.",
        "station": "Repair", "redo": ["F20"], "depth_mm": "0.4",
    }  # fmt: skip
    assert tell("decided", said).details == (
        ("Decided with", "P-31"),
        ("Loop", "Finish chip"),
        ("At Repair", "Fill in drops."),
        ("Done again", "F20 Level"),
        ("Depth", f"0.4{THIN}mm"),
    )


def test_a_print_needs_no_reason_to_be_told_and_tells_its_code() -> None:
    said = {"words": "Traveller", "of": "Q-1050", "copy": 1, "code": "P123456"}
    first = tell("print", said)
    assert first.words == "P-11 printed the traveller of Q-1050."
    assert first.details == (("Code", "P123-456"),)
    assert tell("print", said | {"code": ""}).details == ()


# --- marks and groups ---

MARKS = [
    ("clear", "recorded", []),
    ("clear", "recorded", [note("n", "So it is.")]),
    ("warn", "recorded", [warn("w", "Look twice.", "Say why.")]),
    ("stop", "recorded", [stop("s", "Too tight.", "Ream.")]),
    ("stop", "refused", []),
]


@pytest.mark.parametrize(("mark", "outcome", "findings"), MARKS)
def test_a_row_bears_the_mark_of_what_came_of_it(
    mark: str, outcome: str, findings: list[Any]
) -> None:
    rows = [one.row() for one in findings]
    assert tell("step", STEP, outcome=outcome, findings=rows).mark == mark


@pytest.mark.parametrize("kind", ["frozen", "call"])
def test_what_waits_for_somebody_bears_the_mark_of_waiting(kind: str) -> None:
    assert tell(kind, {"words": "Look.", "whom": "lead"}).mark == "wait"


def test_each_kind_belongs_to_one_group_and_no_group_is_empty() -> None:
    of_groups = [kind for group in GROUPS for kind in kinds_of(group)]
    assert sorted(of_groups) == sorted(TELLERS)
    assert all(kinds_of(group) for group in GROUPS)


def test_a_group_that_there_is_not_has_no_kinds() -> None:
    assert kinds_of("gossip") == ()
