"""What an instrument was when it was released, frozen in words that last.

The instrument went through what can happen to one: a trainee with a trainer beside, a step
entered late and confirmed, a loop, its case open by mistake. Badges, times and values are
invented.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.test import override_settings

from shop.catalogue import revising
from shop.catalogue.models import Item, Operation, SpecRevision
from shop.craft import gauging, record
from shop.floor import as_built, board, door
from shop.floor.models import AsBuilt, Entry, Instrument
from tests.floor.morning import NOW, act, check_tray, measured, now, person, step, words
from tests.floor.released import DOERS, STATIONS, go_on
from tests.floor.shipping import boxed

pytestmark = pytest.mark.django_db

SERIAL = "Q-1043"
MINUTE, HOUR = timedelta(minutes=1), timedelta(hours=1)


def done(outcome: door.Outcome) -> door.Outcome:
    assert outcome.done, words(outcome)
    return outcome


def do(by: str, station: str, at: datetime, deed: Any, reason: str = "", **more: Any) -> None:
    done(door.record(act(by, station, at, reason=reason, **more), deed))


def learned(at: datetime) -> None:
    """P-25 gauges the post holes, P-11 beside."""
    it = now(SERIAL)
    done(check_tray(SERIAL, "P-11", "N", at=at))
    done(measured(SERIAL, "N40", "P-11", "N", at))
    do("P-25", "N", at, door.StepDone(it.id, "N40"), beside=person("P-11"))


def late(at: datetime) -> None:
    """P-14 enters the tail hole an hour after it was opened, nothing measured; P-01 confirms."""
    deed = door.StepDone(now(SERIAL).id, "B30", done_at=at - HOUR)
    do("P-14", "B", at, deed, "The network was down")
    seq = next(one.seq for one in now(SERIAL).done if one.operation == "B30")
    assert now(SERIAL).done[-1].doubt
    do("P-01", "", at + MINUTE, door.StepConfirmed(now(SERIAL).id, seq), "Seen on the guitar")


def looped(at: datetime) -> datetime:
    """P-15 finds a swirl, P-61 rubs it out, it is polished again."""
    found = door.DefectFound(now(SERIAL).id, "swirl", "cosmetic", "Q10", "treble side")
    do("P-15", "Q", at + 10 * MINUTE, found)
    do("P-61", "X", at + 40 * MINUTE, door.RepairDone(now(SERIAL).id))
    return at + 40 * MINUTE


def noted(at: datetime) -> None:
    """P-31 notes two defects below the limit, accepts one, and takes back a third."""
    for minute, (word, zone) in enumerate((("dust nib", 6), ("swirl", 0), ("pit", 3))):
        deed = door.DefectNoted(now(SERIAL).id, "finish", word, 4, zone, found_at="I10")
        do("P-31", "I", at + minute * MINUTE, deed)
    first, _, third = (one.number for one in now(SERIAL).undecided)
    accept = door.DefectDecided(now(SERIAL).id, first, "accept as is")
    do("P-31", "I", at + 3 * MINUTE, accept, "Below the limit")
    do("P-31", "I", at + 4 * MINUTE, door.DefectWithdrawn(now(SERIAL).id, third), "Was dust")


def opened(cased: datetime) -> None:
    """The case was open for 40 minutes by mistake; the room is read twice meanwhile."""
    it = now(SERIAL)
    do("P-31", "H", cased + 10 * HOUR, door.CaseOpened(it.id))
    do("P-31", "H", cased + 10 * HOUR + 40 * MINUTE, door.CaseShut(it.id), "Wrong case on the cart")
    for hours, warm, damp in ((20, "22.5", "51"), (40, "20.0", "46")):
        do("P-16", "", cased + hours * HOUR, door.RoomRead(Decimal(warm), Decimal(damp)))


@pytest.fixture(scope="module")
def released(morning: None, django_db_blocker: Any) -> Iterator[datetime]:
    """The moment of its release."""
    with django_db_blocker.unblock():
        at = NOW + 5 * MINUTE
        learned(at)
        late(at + 2 * HOUR)
        at = looped(go_on(SERIAL, at + 2 * HOUR, "Q10"))
        noted(at)
        at = go_on(SERIAL, at + 5 * MINUTE, "I20")
        opened(at)
        yield go_on(SERIAL, at)


@pytest.fixture
def kept(released: datetime) -> dict[str, Any]:
    found = as_built.kept(now(SERIAL).id)
    assert found is not None
    return found


def operation(kept: dict[str, Any], code: str) -> dict[str, Any]:
    return next(one for one in kept["operations"] if one["code"] == code)


def test_the_record_is_made_with_the_release(released: datetime) -> None:
    one = AsBuilt.objects.select_related("entry").get(instrument_id=now(SERIAL).id)
    assert one.entry.data["operation"] == "I50"
    assert (one.at, one.entry.at) == (released, released)
    assert one.record == one.entry.data["as_built"]


def test_what_was_noted_and_what_became_of_it_is_on_record(kept: dict[str, Any]) -> None:
    """A report that sent it on a loop stands with its loop, a mistake nowhere."""
    nib, swirl = kept["defects"]
    assert (nib["word"], nib["grade"], nib["place"]) == ("dust nib", 4, "zone 6 lower bout")
    assert (nib["found_at"], nib["by"], nib["became"]) == ("I10", "P-31", "accept as is")
    assert (nib["decided_by"], nib["reason"]) == (["P-31"], "Below the limit")
    assert nib["at"] < nib["decided"]
    assert (swirl["word"], swirl["place"], swirl["became"], swirl["decided"]) == (
        "swirl", "", "", "",
    )  # fmt: skip
    assert [one.split(",")[0] for one in record.read(kept).defects] == ["dust nib", "swirl"]


def test_an_instrument_that_is_not_released_has_no_record(released: datetime) -> None:
    assert as_built.kept(now("Q-1041").id) is None


def test_the_head_names_it_its_neck_and_its_spec(kept: dict[str, Any]) -> None:
    assert (kept["form"], kept["serial"], kept["neck"]) == (3, SERIAL, "K-2081")
    assert (kept["spec"], kept["revision"]) == ("TARN", 1)
    assert kept["paired"] == operation(kept, "J10")["at"]
    assert kept["released_by"] == ["P-32"]
    assert kept["due"] == "2031-03-14"


def test_the_build_is_told_in_words(kept: dict[str, Any]) -> None:
    build = [tuple(pair) for pair in kept["build"]]
    assert ("Scale", "645\u202fmm") in build
    assert ("Strings", "6, steel") in build
    assert ("Hand", "right-handed") in build
    assert {("Joint", "bolted mortise"), ("Body joins at fret", "14")} <= set(build)
    assert ("Finish", "gloss lacquer") in build
    assert ("Wood", "Indian rosewood (Dalbergia latifolia)") in build


def test_every_operation_of_the_route_up_to_the_release_is_there(kept: dict[str, Any]) -> None:
    codes = [one["code"] for one in kept["operations"]]
    route = [one.code for one in now(SERIAL).sheet.stops]
    assert codes == route[: route.index("I50") + 1]
    assert all(one["name"] and one["by"] and one["at"] for one in kept["operations"])


def test_each_operation_names_the_badge_that_did_it(kept: dict[str, Any]) -> None:
    by = {one["code"]: one["by"] for one in kept["operations"] if one["code"] != "N40"}
    assert by == {code: DOERS[STATIONS[code]] for code in by}


def test_a_trainer_is_named_beside_the_trainee(kept: dict[str, Any]) -> None:
    """Two badges on each record of a trainee: common practice, no source."""
    gauged = operation(kept, "N40")
    assert (gauged["by"], gauged["others"]) == ("P-25", ["P-11"])


def test_work_entered_late_tells_both_moments_and_who_made_sure(kept: dict[str, Any]) -> None:
    tail = operation(kept, "B30")
    assert (tail["claimed"], tail["at"]) == ("2031-03-03T10:35+00:00", "2031-03-03T11:35+00:00")
    assert tail["made_sure"] == "P-01, 2031-03-03: Seen on the guitar"


def test_what_was_done_again_is_counted(kept: dict[str, Any]) -> None:
    assert operation(kept, "Q10")["times"] == 2
    assert operation(kept, "N40")["times"] == 1


def test_each_item_is_named_with_its_lot(kept: dict[str, Any]) -> None:
    lines = {one["key"]: one for one in kept["kit"]}
    assert set(lines) == {"T01", "N01", "S01", "P01", "E01", "E04", "G01", "R01", "C01"}
    assert lines["T01"] == {
        "key": "T01", "name": "open-gear individual set, nickel", "quantity": 1,
        "lot": "31-02A", "best_before": "", "instead_of": "",
    }  # fmt: skip
    # What went to a bench by batch as well as what lay in the tray.
    assert {one["lot"] for one in lines.values()} == {"31-02A"}


def test_the_measures_in_force_are_there_with_their_units(kept: dict[str, Any]) -> None:
    by_name = {one["name"]: one for one in kept["measures"]}
    assert by_name["relief"]["asked"] == "0.20 mm"
    assert by_name["Post hole"]["values"][0] == ["string 6", "8.73\u202fmm"]
    assert by_name["Saddle above the bridge"]["values"] == [
        ["bass side", "3.2\u202fmm"],
        ["treble side", "3.2\u202fmm"],
    ]


def test_what_the_first_look_measured_stands_beside_what_the_second_did(
    released: datetime,
) -> None:
    """Both looks take relief and action; each keeps its own."""
    serial = "Q-1041"
    go_on(serial, until="I20")
    [relief] = [gauging.said(it) for it in now(serial).readings.of("relief")]
    heights = [gauging.said(it) for it in now(serial).readings.of("action")]
    at = go_on(serial, until="I30")
    done(measured(serial, "I30", "P-32", "R", at + HOUR, relief="0.25"))
    by_name = {one["name"]: one for one in as_built.record_of(now(serial), at)["measures"]}
    [[place, value]] = by_name["Relief"]["values"]
    assert value == "0.25\u202fmm" != relief
    assert by_name["Relief"]["first"] == [[place, relief]]
    action = by_name["String height over fret 12"]
    assert [said for _place, said in action["first"]] == heights
    assert by_name["Post hole"]["first"] == [], "no look measures it"


def test_the_hold_tells_what_moved_it(kept: dict[str, Any], released: datetime) -> None:
    """40 minutes out of the case are added to the 96 hours: common practice, no source."""
    hold = kept["hold"]
    cased, ready = (datetime.fromisoformat(hold[name]) for name in ("cased", "ready"))
    assert hold["started"] == hold["cased"] == operation(kept, "I20")["at"]
    assert ready - cased == timedelta(hours=96, minutes=40)
    assert hold["paused_min"] == 40
    [because] = hold["because"]
    assert because.startswith("Out of the case 40")
    assert re.search(r" from 2031-03-\d\dT\d\d:\d\d[+-]\d\d:\d\d: ready 40", because), because
    assert released >= ready


def test_the_room_of_those_days_is_told_by_its_least_and_most(kept: dict[str, Any]) -> None:
    assert kept["room"] == {
        "readings": 3,
        "humidity": "46–51\u202f%RH",
        "temperature": "20–22.5\u202f°C",
    }


def test_the_loop_it_took_is_told_from_find_to_end(kept: dict[str, Any]) -> None:
    [loop] = kept["reworks"]
    assert (loop["loop"], loop["word"], loop["words"]) == ("cosmetic", "swirl", "treble side")
    assert (loop["found_at"], loop["repaired_by"]) == ("Q10", "P-61")
    assert loop["opened"] < loop["repaired"] < loop["closed"] <= operation(kept, "I10")["at"]


def test_both_inspections_are_told_with_their_badges(kept: dict[str, Any]) -> None:
    assert [(one["code"], one["by"]) for one in kept["inspections"]] == [
        ("I10", ["P-31"]),
        ("I30", ["P-32"]),
    ]


def test_the_record_and_the_journal_prove_each_other(kept: dict[str, Any]) -> None:
    """It names the last row before it by its link; its own row holds the record whole."""
    rows = Entry.objects.filter(instrument_id=now(SERIAL).id)
    last = rows.get(seq=kept["journal"]["rows"])
    assert kept["journal"]["link"] == last.link
    own = rows.get(seq=kept["journal"]["rows"] + 1)
    assert own.data["as_built"] == kept


def test_no_moment_depends_on_the_zone_of_whoever_reads(kept: dict[str, Any]) -> None:
    before = record.read(kept)
    with override_settings(TIME_ZONE="Pacific/Auckland"):
        found = as_built.kept(now(SERIAL).id)
        assert found is not None
        assert record.read(found) == before


def test_moments_are_kept_on_the_shops_own_clock(released: datetime) -> None:
    """Half past nine in UTC is half past ten in Berlin in winter (IANA time zone database)."""
    with override_settings(TIME_ZONE="Europe/Berlin"):
        again = as_built.record_of(now(SERIAL), released)
    assert again["operations"][0]["at"].endswith("+01:00")
    assert datetime.fromisoformat(again["released"]) == released


def test_the_record_is_plain_data(kept: dict[str, Any]) -> None:
    assert json.loads(json.dumps(kept)) == kept


def test_no_number_of_the_database_stands_in_it(kept: dict[str, Any]) -> None:
    def names(value: Any) -> Iterator[str]:
        if isinstance(value, dict):
            yield from value
            for one in value.values():
                yield from names(one)
        elif isinstance(value, list):
            for one in value:
                yield from names(one)

    assert [name for name in names(kept) if name == "id" or name.endswith("_id")] == []


def test_what_is_renamed_afterwards_changes_nothing(kept: dict[str, Any]) -> None:
    Operation.objects.filter(code="N40").update(name="Bore the post holes")
    item = Item.objects.get(key="T01")
    Item.objects.filter(pk=item.pk).update(name="a set of another name")
    revising.item_changed(item.pk)
    SpecRevision.objects.filter(spec__key="TARN").update(finish="satin oil")
    Instrument.objects.filter(body__serial=SERIAL).update(order="C-9999")
    assert as_built.kept(now(SERIAL).id) == kept


def test_work_after_the_release_changes_nothing(kept: dict[str, Any], released: datetime) -> None:
    boxed(SERIAL, released + HOUR)
    assert as_built.kept(now(SERIAL).id) == kept


def test_deviations_are_told_with_who_agreed(released: datetime) -> None:
    serial = "Q-1044"
    done(measured(serial, "N10"))
    done(step(serial, "N10"))
    assert as_built.record_of(now(serial), NOW)["deviations"] == [
        [
            "Gold tuning machines instead of nickel, one lot: T02 in place of T01",
            "buyer, order C-0417",
        ],
        ["Gold strap button instead of nickel: E07 in place of E04", "buyer, order C-0417"],
    ]


def test_papers_of_its_woods_are_told_with_their_numbers(released: datetime) -> None:
    do("P-01", "", NOW, door.PermitNoted(now("Q-1055").id, "Dalbergia nigra", "12/345"))
    record_now = as_built.record_of(now("Q-1055"), NOW)
    assert record_now["destination"] == "Norway"
    assert record_now["permits"] == [
        {"wood": "Dalbergia nigra", "number": "12/345", "by": "P-01",
         "at": "2031-03-03T09:30+00:00"},
    ]  # fmt: skip


def test_a_loop_that_is_not_behind_it_is_told_as_open(released: datetime) -> None:
    found = door.DefectFound(now(SERIAL).id, "missing", "paper", "I", "no care sheet")
    do("P-22", "I", released + HOUR, found)
    loops = as_built.record_of(now(SERIAL), released + HOUR)["reworks"]
    assert [bool(one["closed"]) for one in loops] == [True, False]


def test_a_loop_that_the_release_closes_is_told_as_closed_by_it(released: datetime) -> None:
    """Found after the release, so that it is released again: the record is made before the
    row that closes the loop."""
    found = door.DefectFound(now(SERIAL).id, "swirl", "cosmetic", "Z", "bass side")
    do("P-51", "Z", released + HOUR, found)
    do("P-61", "X", released + 2 * HOUR, door.RepairDone(now(SERIAL).id), "Out to be repaired")
    assert "I50" not in now(SERIAL).done_codes
    at = go_on(SERIAL, released + 2 * HOUR)
    kept = as_built.kept(now(SERIAL).id)
    assert kept is not None
    assert kept["reworks"][-1]["closed"] == kept["released"] == as_built.moment(at)
    assert AsBuilt.objects.filter(instrument_id=now(SERIAL).id).count() == 2, "the first one stays"


def test_the_board_answers_for_it(kept: dict[str, Any]) -> None:
    assert board.as_built(now(SERIAL).id) == kept
