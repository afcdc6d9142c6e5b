"""Figures of quality over what was done: first by hand on a few guitars, then against the plain
way to say the same. The guitars are invented."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from shop.catalogue import book
from shop.catalogue.models import Loop
from shop.floor import board, door, first_pass, spell
from shop.floor.board import Spell
from shop.floor.models import Defect, Entry, Instrument, Rework, Step
from tests.floor.casing import (
    CASED,
    HOUR,
    READY,
    SERIAL,
    cased,
    did,
    done,
    looked,
    moment,
    number,
)
from tests.floor.morning import act, now, person, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

DAY = 24 * HOUR
MARCH = Spell(moment(1), moment(31))
EVER = Spell(datetime(2030, 1, 1, tzinfo=UTC), datetime(2032, 1, 1, tzinfo=UTC))
MON, TUE = moment(3, 10), moment(4, 9)


def found(
    word: str = "chip", loop: str = "finish chip", at: datetime = MON, serial: str = SERIAL
) -> None:
    done(door.DefectFound(number(serial), word, loop), at, "P-22", "I")


def noted(
    word: str = "chip", at: datetime = MON, by: str = "P-31", station: str = "I", **more: Any
) -> int:
    deed = door.DefectNoted(number(), "finish", word, more.pop("grade", 3), **more)
    seq = done(deed, at, by, station).seq
    assert seq is not None
    return seq


def decided(seq: int, loop: str) -> None:
    one = act("P-31", "I", MON + seq * HOUR / 60, reason="Seen from afar", beside=person("P-32"))
    outcome = door.record(one, door.DefectDecided(number(), seq, "touch-up", loop=loop))
    assert outcome.result == "recorded", words(outcome)


def repaired(at: datetime, serial: str = SERIAL) -> None:
    done(door.RepairDone(number(serial)), at, "P-61", "X")


def counted(spell: Spell = EVER, by: board.By = "") -> dict[str, dict[str, tuple[int, int]]]:
    """Passed and started of each operation of each group."""
    return {
        group.key: {
            one.operation: (one.counted.passed, one.counted.started) for one in group.operations
        }
        for group in board.yields(spell, by)
    }


def at(operation: str, spell: Spell = EVER) -> tuple[int, int]:
    return counted(spell).get("", {}).get(operation, (0, 0))


def steps(operation: str, serial: str = SERIAL) -> Any:
    return Step.objects.filter(operation__code=operation, instrument__body__serial=serial)


# --- what passed the first time ---


def test_what_nothing_sent_back_has_passed() -> None:
    """Four guitars of the demo came as far as the polish."""
    serials = Step.objects.filter(operation__code="Q10").values_list("instrument__body__serial")
    assert sorted(one for (one,) in serials) == ["Q-1037", "Q-1038", "Q-1040", "Q-1041"]
    assert at("Q10") == (4, 4)


def test_what_a_rework_sent_back_over_an_operation_did_not_pass_it() -> None:
    found()
    assert at("Q10") == (3, 4)
    assert at("A30") == (3, 3)  # the loop does not disturb the strings


def test_done_again_it_is_not_started_twice() -> None:
    found()
    repaired(MON + HOUR)
    did(SERIAL, "Q10", "P-15", "Q", MON + HOUR + DAY)
    assert at("Q10") == (3, 4)


def test_sent_back_twice_it_failed_once() -> None:
    found("dust nib", "cosmetic")
    repaired(MON + HOUR)
    did(SERIAL, "Q10", "P-15", "Q", MON + 2 * HOUR)
    found("dust nib", "cosmetic", MON + 3 * HOUR)
    assert at("Q10") == (3, 4)


def rejected(loop: str = "set-up", found_at: str = "I10") -> None:
    """The first look finds a buzz and sends it on a loop; all is done again, then it is inspected
    for the first time."""
    deed = door.DefectNoted(number(), "setup", "buzz", 2, found_at=found_at)
    seq = done(deed, MON, "P-31", "I").seq
    assert seq is not None
    one = act("P-31", "I", MON + HOUR / 60, reason="It rattles", beside=person("P-32"))
    outcome = door.record(one, door.DefectDecided(number(), seq, "rework", loop=loop))
    assert outcome.result == "recorded", words(outcome)
    repaired(MON + HOUR)
    did(SERIAL, "U30", "P-20", "U", MON + 2 * HOUR)
    did(SERIAL, "A30", "P-20", "A", MON + 3 * HOUR)
    did(SERIAL, "I10", "P-31", "I", MON + 5 * HOUR)


@pytest.mark.parametrize("found_at", ["I10", ""])
def test_what_a_look_itself_sent_on_a_loop_did_not_pass_it(found_at: str) -> None:
    """Two guitars of the demo passed the first look. Units passed with no rework of units started:
    the third was reworked before it was inspected for the first time."""
    assert at("I10") == (2, 2)
    rejected(found_at=found_at)
    assert at("I10") == (2, 3)
    assert at("U30") == (3, 4)  # sent back over it, and counted once
    assert counted(by="station")["I"]["I10"] == (2, 3)
    assert counted(Spell(MON, MON + DAY, spec="TARN"), "week")["2031-W10"]["I10"] == (0, 1)
    (group,) = board.yields(Spell(EVER.since, EVER.until, station="I"))
    assert group.rolled == pytest.approx(2 / 3)


def test_what_a_look_sent_on_a_loop_is_named_with_it() -> None:
    rejected()
    (one,) = board.started_at(EVER, "I10", failed=True).rows
    assert (one.serial, one.at, one.where) == (SERIAL, MON + 5 * HOUR, "I10")
    assert one.words == "set-up: buzz"
    assert len(board.started_at(EVER, "I10").rows) == 3


def test_what_was_found_elsewhere_is_no_failure_of_the_look() -> None:
    rejected(found_at="A30")
    assert at("I10") == (3, 3)


def test_what_was_noted_and_not_sent_on_a_loop_has_passed() -> None:
    seq = noted("haze", found_at="I10", grade=4)
    one = act("P-31", "I", MON + HOUR / 60, reason="Hardly seen")
    outcome = door.record(one, door.DefectDecided(number(), seq, "accept as is"))
    assert outcome.result == "recorded", words(outcome)
    did(SERIAL, "I10", "P-31", "I", MON + HOUR)
    assert at("I10") == (3, 3)


def test_a_row_that_was_struck_never_was() -> None:
    steps("Q10").update(void_at=MON, void_why="struck: Another guitar", struck=True)
    assert at("Q10") == (3, 3)


def test_a_struck_row_does_not_make_what_came_after_it_a_second_time() -> None:
    row = steps("Q10").get()
    steps("Q10").update(void_at=MON, void_why="struck: Another guitar", struck=True)
    row.pk, row.at = None, TUE
    row.save()
    assert at("Q10") == (4, 4)
    assert at("Q10", Spell(TUE, TUE + HOUR)) == (1, 1)


def test_parting_a_pair_voids_work_and_is_no_failure_of_it() -> None:
    steps("J20").update(void_at=MON, void_why="pair broken: Neck twisted")
    before = at("J20")
    assert before[0] == before[1]
    assert steps("J20").count() == 1


def test_it_counts_when_it_was_first_done_whatever_came_later() -> None:
    first = steps("Q10").get().at
    found(at=MON)
    repaired(MON + HOUR)
    did(SERIAL, "Q10", "P-15", "Q", TUE + DAY)
    then = Spell(first, first + HOUR / 60, spec="TARN")
    assert at("Q10", then) == (0, 1)
    assert at("Q10", Spell(TUE, TUE + 2 * DAY)) == (0, 0)


def test_a_spell_begins_with_its_first_moment_and_ends_before_its_last() -> None:
    first = steps("Q10").get().at
    assert at("Q10", Spell(first - HOUR, first, spec="TARN")) == (0, 0)
    assert at("Q10", Spell(first, first + HOUR, spec="TARN")) == (1, 1)


def test_a_spell_has_its_moments_in_order_and_with_their_zone() -> None:
    with pytest.raises(ValueError, match="is after"):
        Spell(TUE, MON)
    with pytest.raises(ValueError, match="no time zone"):
        Spell(datetime(2031, 3, 3), TUE)


def test_stations_stand_along_the_floor_each_with_its_own_operations() -> None:
    found("buzz", "set-up")
    groups = counted(by="station")
    along = [code for code, _ in book.stations() if code in groups]
    assert list(groups) == along
    assert groups["U"] == {"U10": (4, 4), "U30": (3, 4)}
    assert groups["A"]["A30"] == (2, 3)


def test_a_station_has_the_sum_of_its_operations_and_their_product() -> None:
    found("buzz", "set-up")
    (one,) = [one for one in board.yields(EVER, "station") if one.key == "U"]
    assert (one.counted.passed, one.counted.started) == (7, 8)
    assert one.rolled == pytest.approx(4 / 4 * 3 / 4)


def test_one_station_asked_for_has_nothing_of_another() -> None:
    assert set(counted(Spell(EVER.since, EVER.until, station="U"))[""]) == {"U10", "U30"}
    assert counted(Spell(EVER.since, EVER.until, station="none")) == {}


def test_specs_are_told_apart() -> None:
    """Of the four at the polish two are TARN, one FELL and one NESS."""
    found()
    groups = counted(by="spec")
    assert {key: one["Q10"] for key, one in groups.items() if "Q10" in one} == {
        "FELL": (1, 1), "NESS": (1, 1), "TARN": (1, 2),
    }  # fmt: skip
    assert at("Q10", Spell(EVER.since, EVER.until, spec="TARN")) == (1, 2)
    assert counted(Spell(EVER.since, EVER.until, spec="NONE")) == {}


def test_weeks_are_those_of_the_shops_calendar() -> None:
    """Sunday night in London is Monday morning in Berlin: another ISO week."""
    late = datetime(2031, 3, 9, 23, 30, tzinfo=UTC)
    steps("Q10").update(at=late)
    spell = Spell(moment(8), moment(12), spec="TARN")
    with timezone.override("Europe/London"):
        assert counted(spell, "week") == {"2031-W10": {"Q10": (1, 1)}}
    with timezone.override("Europe/Berlin"):
        assert counted(spell, "week") == {"2031-W11": {"Q10": (1, 1)}}


def test_nothing_was_started_in_an_empty_spell() -> None:
    assert board.yields(Spell(MON + 300 * DAY, MON + 301 * DAY)) == ()


# --- against the plain way to say it ---

WHYS = ("rework: fret: high", "rework: set-up: buzz", "pair broken: Twisted", "struck: No")


def at_random(chance: random.Random) -> None:
    """Steps of every kind on the demo's guitars, over a year that has both changes of clocks."""
    Step.objects.all().delete()
    hand, entry = act().by_id, Entry.objects.order_by("pk")[0].pk
    rows = []
    for instrument in Instrument.objects.order_by("pk").values_list("pk", flat=True):
        for operation, *_ in chance.sample(book.operations(), 9):
            for last in [False] * chance.choice((0, 0, 0, 1, 2, 3)) + [True]:
                standing = last and chance.random() < 0.8
                why = "" if standing else chance.choice(WHYS)
                when = EVER.since + timedelta(minutes=chance.randrange(365 * 24 * 60))
                void = {} if standing else {"void_at": when + HOUR, "void_why": why}
                rows.append(
                    Step(
                        instrument_id=instrument, operation_id=operation, by_id=hand, at=when,
                        seq=1, entry_id=entry, struck=why.startswith("struck"), **void,
                    )
                )  # fmt: skip
    Step.objects.bulk_create(rows)
    assert hand is not None
    sent_at_random(chance, hand, entry)


def sent_at_random(chance: random.Random, hand: int, entry: int) -> None:
    """Loops that were begun at operations and at stations, some joined by another defect."""
    places = sorted({one for _, *codes in book.operations() for one in codes})
    loops, defects = [], []
    for instrument in Instrument.objects.order_by("pk").values_list("pk", flat=True):
        for n in range(chance.randrange(5)):
            when = EVER.since + timedelta(minutes=chance.randrange(365 * 24 * 60))
            said = {"instrument_id": instrument, "word": "buzz", "entry_id": entry}
            loop = Rework(
                **said, loop="set-up", found_at=chance.choice(places), opened_at=when,
                closed_at=when + HOUR,
            )  # fmt: skip
            loops.append(loop)
            if chance.random() < 0.5:  # the others: a fall
                later = when + chance.choice((0, 1)) * HOUR
                defects.append((loop, later, chance.choice(places), said | {"number": n + 1}))
    Rework.objects.bulk_create(loops)
    Defect.objects.bulk_create(
        Defect(
            **said, found_at=place, at=when, decided_at=when, disposition="rework",
            found_by_id=hand, decided_by_id=hand, rework=loop,
        )
        for loop, when, place, said in defects
    )  # fmt: skip


def plainly(spell: Spell, by: board.By) -> dict[str, dict[str, tuple[int, int]]]:
    """One row after the other."""
    first: dict[tuple[int, str], datetime] = {}
    back: set[tuple[int, str]] = set()
    known: dict[tuple[int, str], dict[str, str]] = {}
    rows = Step.objects.select_related("operation__station", "instrument__revision__spec")
    for row in rows.exclude(struck=True).order_by("?"):
        key = row.instrument_id, row.operation.code
        first[key] = min(first.get(key, row.at), row.at)
        if row.void_why.startswith("rework:"):
            back.add(key)
        known[key] = {
            "": "",
            "station": row.operation.station.code,
            "spec": row.instrument.revision.spec.key,
        }
    back |= sent_away(first)
    sums: dict[str, dict[str, tuple[int, int]]] = {}
    for key, when in first.items():
        facts = known[key]
        if (
            spell.since <= when < spell.until
            and spell.station in ("", facts["station"])
            and spell.spec in ("", facts["spec"])
        ):
            year, week, _ = timezone.localtime(when).isocalendar()
            group = sums.setdefault(facts.get(by, f"{year}-W{week:02}"), {})
            passed, started = group.get(key[1], (0, 0))
            group[key[1]] = passed + (key not in back), started + 1
    return sums


def sent_away(first: dict[tuple[int, str], datetime]) -> set[tuple[int, str]]:
    """What was sent on a loop from an operation, or from a station where it was recorded next."""
    sent = [(one.instrument_id, one.found_at, one.opened_at) for one in Rework.objects.all()]
    for defect in Defect.objects.filter(rework__isnull=False):
        assert defect.decided_at is not None
        sent.append((defect.instrument_id, defect.found_at, defect.decided_at))
    stations = {code: station for _, code, station in book.operations()}
    away = set()
    for instrument, place, when in sent:
        to_come = [
            (at, code)
            for (of, code), at in first.items()
            if of == instrument and place in (code, stations[code]) and at > when
        ]
        if to_come:
            away.add((instrument, min(to_come)[1]))
    return away


@pytest.mark.parametrize("seed", range(6))
def test_yields_are_what_one_row_after_the_other_says(seed: int) -> None:
    chance = random.Random(seed)
    at_random(chance)
    year = Spell(EVER.since, EVER.since + 365 * DAY)
    part = Spell(EVER.since + 57 * DAY, EVER.since + 142.3 * DAY)
    spells = [
        year,
        part,
        Spell(part.since, part.until, station=chance.choice("NJGUAQ")),
        Spell(year.since, year.until, spec=chance.choice(("TARN", "FELL", "HOLM"))),
    ]
    zone = chance.choice(("UTC", "Europe/Berlin", "America/New_York", "Australia/Sydney"))
    with timezone.override(zone):
        for spell in spells:
            for by in ("", "station", "spec", "week"):
                assert counted(spell, by) == plainly(spell, by), (spell, by, zone)


@pytest.mark.parametrize("bits", [1, 7])
def test_more_operations_than_one_number_tells_are_counted_all_the_same(
    bits: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By spec they are told as bits; here so few to a number that it takes several."""
    monkeypatch.setattr(first_pass, "BITS", bits)
    at_random(random.Random(6))
    for asked in (EVER, Spell(EVER.since, EVER.until, station="Q", spec="TARN")):
        for by in ("", "station", "spec"):
            assert counted(asked, by) == plainly(asked, by), (asked, by)


def test_the_instruments_behind_a_bar_are_as_many_as_it_counts() -> None:
    at_random(random.Random(7))
    for operation, (passed, started) in counted(EVER)[""].items():
        assert len(board.started_at(EVER, operation).rows) == started
        assert len(board.started_at(EVER, operation, failed=True).rows) == started - passed


# --- what was found ---


def test_defects_are_told_by_word_with_how_many_on_a_hundred_inspected() -> None:
    """Two guitars of the demo were inspected before, a third is, and on a fourth something was
    found there: 2 of 4 makes 50."""
    cased()
    found("chip", at=CASED + HOUR)
    found("dust nib", "cosmetic", CASED + HOUR, "Q-1041")
    found("chip", at=CASED + 2 * HOUR, serial="Q-1041")
    told = board.defects_by_word(EVER)
    assert told.inspected == 4
    assert [(one.word, one.count, round(one.per_hundred or 0, 1)) for one in told.words] == [
        ("chip", 2, 50.0), ("dust nib", 1, 25.0),
    ]  # fmt: skip


@pytest.mark.parametrize(("found_at", "inspected"), [("I10", 3), ("", 3), ("A30", 2)])
def test_what_a_look_scraps_was_inspected_though_never_recorded(
    found_at: str, inspected: int
) -> None:
    """Two guitars of the demo were inspected before. 1 on 3 is 33.3; on 2 it would be 50."""
    seq = noted("crack", found_at=found_at, grade=1)
    told = board.defects_by_word(EVER)
    assert (told.inspected, told.words[0].count) == (inspected, 1)
    assert board.defects_by_word(Spell(EVER.since, EVER.until, station="I")).inspected == inspected
    done(door.DefectWithdrawn(number(), seq), MON + HOUR, "P-31", "I", reason="Wrong guitar")
    assert board.defects_by_word(EVER).inspected == 2


def test_each_takes_the_usual_minutes_of_the_loop_it_was_sent_on() -> None:
    """Also where that joined another: 40 for a chip, 15 for a nib; 30 for a fret."""
    found()
    found("dust nib", "cosmetic", MON + HOUR)
    found("high", "fret", MON, "Q-1041")
    told = board.defects_by_word(EVER)
    assert {one.word: one.minutes for one in told.words} == {"chip": 40, "dust nib": 15, "high": 30}
    assert [one.word for one in told.pareto.by_minutes.bars] == ["chip", "high", "dust nib"]


def test_what_was_decided_later_takes_the_minutes_of_its_own_loop_too() -> None:
    decided(noted(), "finish chip")
    decided(noted("dust nib"), "cosmetic")
    told = board.defects_by_word(EVER)
    assert {one.word: one.minutes for one in told.words} == {"chip": 40, "dust nib": 15}
    assert len(board.open_rework(TUE)) == 1  # the second joined the first


def test_a_loop_that_is_not_chosen_any_more_keeps_its_minutes() -> None:
    found()
    Loop.objects.filter(key="finish chip").update(active=False)
    assert board.defects_by_word(EVER).words[0].minutes == 40


def test_what_is_not_decided_takes_no_minutes_yet() -> None:
    noted()
    (one,) = board.defects_by_word(EVER).words
    assert (one.family, one.count, one.minutes) == ("finish", 1, 0)


def test_what_was_noted_by_mistake_was_not_found() -> None:
    seq = noted()
    withdrawn = door.DefectWithdrawn(number(), seq)
    done(withdrawn, MON + HOUR, "P-31", "I", reason="Wrong guitar")
    assert board.defects_by_word(EVER).words == ()


def test_defects_of_another_time_station_or_spec_are_left_out() -> None:
    noted(found_at="I10")
    inside = {
        "station": Spell(EVER.since, EVER.until, station="I"),
        "spec": Spell(EVER.since, EVER.until, spec="TARN"),
        "time": Spell(MON, MON + HOUR),
    }
    outside = {
        "station": Spell(EVER.since, EVER.until, station="Q"),
        "spec": Spell(EVER.since, EVER.until, spec="FELL"),
        "time": Spell(MON - HOUR, MON),
    }
    assert {key: len(board.defects_by_word(one).words) for key, one in inside.items()} == {
        "station": 1, "spec": 1, "time": 1,
    }  # fmt: skip
    assert {key: len(board.defects_by_word(one).words) for key, one in outside.items()} == {
        "station": 0, "spec": 0, "time": 0,
    }  # fmt: skip


def test_nothing_is_said_on_a_hundred_where_none_was_inspected() -> None:
    noted(found_at="U30")
    told = board.defects_by_word(Spell(MON, MON + HOUR))
    assert (told.inspected, told.words[0].per_hundred) == (0, None)


# --- what the first look let through ---


def twice() -> None:
    cased()
    assert looked(READY + HOUR).done


def test_what_only_the_second_look_says_escaped_the_first() -> None:
    twice()
    assert board.escapes(MARCH) == board.Escapes(0, 1)
    noted("haze", READY + 2 * HOUR, "P-32", "R", found_at="I30", zone=6)
    told = board.escapes(MARCH)
    assert (told.escaped, told.inspected, told.rate) == (1, 1, 1.0)


def test_what_the_first_look_had_said_is_no_escape() -> None:
    cased()
    noted("haze", CASED + HOUR, found_at="I10", zone=6)
    assert looked_at_again("haze", 6) == 0
    assert looked_at_again("haze", 3) == 1  # the same elsewhere


def looked_at_again(word: str, zone: int) -> int:
    """Found at the second look; how many escaped by then."""
    noted(word, READY + 2 * HOUR, "P-32", "R", found_at="I30", zone=zone)
    return board.escapes(MARCH).escaped


def test_two_of_a_kind_in_one_zone_both_escaped() -> None:
    twice()
    noted("haze", READY + 2 * HOUR, "P-32", "R", found_at="I30", zone=6)
    noted("haze", READY + 3 * HOUR, "P-32", "R", zone=6)  # found at the station
    assert board.escapes(MARCH) == board.Escapes(2, 1)
    assert len(board.escaped(MARCH).rows) == 2
    found = board.compare(now(SERIAL))
    assert found is not None
    assert [(one.kind, one.first) for one in found.found] == [("second", None)] * 2


def test_what_a_second_look_found_is_known_once_the_first_was_taken_again() -> None:
    """As where it goes back to the first inspector after a repair."""
    twice()
    noted("haze", READY + 2 * HOUR, "P-32", "R", found_at="I30", zone=6)
    row = steps("I10").get()
    steps("I10").update(void_at=READY + 3 * HOUR, void_why="rework: set-up: buzz")
    last = noted("pit", READY + 3 * HOUR, zone=9)
    row.pk, row.at, row.seq = None, READY + 3 * HOUR, last
    row.save()
    noted("haze", READY + 4 * HOUR, "P-32", "R", found_at="I30", zone=6)
    assert board.escapes(MARCH) == board.Escapes(1, 1)
    found = board.compare(now(SERIAL))
    assert found is not None
    assert [one.kind for one in found.found] == ["second", "both", "first"]


def test_two_of_a_kind_that_the_first_look_knew_are_both_found_again() -> None:
    cased()
    for hours in (1, 2):
        noted("haze", CASED + hours * HOUR, found_at="I10", zone=6)
    assert [looked_at_again("haze", 6) for _ in range(2)] == [0, 0]
    found = board.compare(now(SERIAL))
    assert found is not None
    assert [one.kind for one in found.found] == ["both", "both"]
    assert len({one.first.number for one in found.found if one.first}) == 2


def test_a_look_counts_that_found_something_and_is_not_recorded_yet() -> None:
    cased()
    assert board.escapes(MARCH) == board.Escapes(0, 0)
    assert looked_at_again("haze", 6) == 1
    assert board.escapes(MARCH) == board.Escapes(1, 1)


def test_an_escape_that_was_noted_by_mistake_is_none() -> None:
    twice()
    seq = noted("haze", READY + 2 * HOUR, "P-32", "R", found_at="I30")
    withdrawn = door.DefectWithdrawn(number(), seq)
    done(withdrawn, READY + 3 * HOUR, "P-32", "R", reason="A reflection")
    assert board.escapes(MARCH) == board.Escapes(0, 1)


def test_what_is_found_at_the_first_look_is_no_escape() -> None:
    cased()
    noted("haze", CASED + HOUR, found_at="I10")
    assert board.escapes(MARCH) == board.Escapes(0, 0)


def test_escapes_of_another_time_station_or_spec_are_left_out() -> None:
    twice()
    noted("haze", READY + 2 * HOUR, "P-32", "R", found_at="I30")
    for more, times in (
        ({"station": "R"}, 1), ({"station": "I"}, 1), ({"station": "Q"}, 0),
        ({"spec": "TARN"}, 1), ({"spec": "FELL"}, 0),
    ):  # fmt: skip
        assert board.escapes(Spell(MARCH.since, MARCH.until, **more)).escaped == times, more
    assert board.escapes(Spell(moment(20), moment(21))) == board.Escapes(0, 0)


@pytest.mark.parametrize("zone", ["UTC", "Europe/Berlin"])
def test_escapes_by_spec_and_by_week_are_those_of_each_alone(zone: str) -> None:
    """Two guitars of two specs: one with an escape on a Sunday night by London, which is Monday
    in Berlin, and one in whose later week something more is found."""
    twice()
    noted("haze", READY + 2 * HOUR, "P-32", "R", found_at="I30")
    of = Defect.objects.get()
    other = Instrument.objects.get(body__serial="Q-1040")
    late = datetime(2031, 3, 9, 23, 30, tzinfo=UTC)
    assert steps("I10", "Q-1040").exists()
    row = steps("I30").get()
    row.pk, row.instrument, row.at = None, other, READY
    row.save()
    for at in (1, 2):
        Defect.objects.create(
            instrument=other, number=1000 + at, family="finish", word="pit", zone=at,
            found_at="I30", found_by_id=of.found_by_id, at=late, entry_id=of.entry_id,
        )  # fmt: skip
    with timezone.override(zone):
        every, specs = board.escapes_by(EVER, "spec")
        assert every == board.escapes(EVER) == board.Escapes(3, 2)
        assert specs == {
            key: board.escapes(Spell(EVER.since, EVER.until, spec=key)) for key in ("NESS", "TARN")
        }
        assert specs == {"NESS": board.Escapes(2, 1), "TARN": board.Escapes(1, 1)}
        again, weeks = board.escapes_by(MARCH, "week")
        alone = {monday: board.escapes(MARCH.of_week(monday)) for monday in MARCH.weeks}
        assert list(weeks.values()) == [one for one in alone.values() if one.inspected]
    assert again == every
    assert list(weeks) == {"UTC": ["2031-W10"], "Europe/Berlin": ["2031-W10", "2031-W11"]}[zone]
    assert board.escapes_by(Spell(EVER.since, EVER.until, station="Q"), "spec")[1] == {}


def test_the_instruments_that_escaped_are_named() -> None:
    twice()
    noted("haze", READY + 2 * HOUR, "P-32", "R", found_at="I30", words="By the bridge")
    (one,) = board.escaped(MARCH).rows
    assert (one.serial, one.spec, one.at) == (SERIAL, "TARN", READY + 2 * HOUR)
    assert (one.where, one.words) == ("I30", "haze, By the bridge")


# --- at repair ---


def test_open_rework_is_told_with_its_age_and_the_station_that_has_it() -> None:
    found()
    (one,) = board.open_rework(MON + 5 * HOUR)
    assert (one.serial, one.spec, one.loop, one.word) == (SERIAL, "TARN", "finish chip", "chip")
    assert (one.age, one.stage, one.station) == (5 * HOUR, "repair", "X")


def test_what_was_repaired_dries_and_then_waits_where_it_is_done_again() -> None:
    found()
    repaired(MON + HOUR)
    (one,) = board.open_rework(MON + 2 * HOUR)
    assert (one.stage, one.station) == ("drying", "Q")
    (one,) = board.open_rework(MON + HOUR + DAY)
    assert (one.stage, one.station) == ("redo", "Q")
    did(SERIAL, "Q10", "P-15", "Q", MON + HOUR + DAY)
    assert board.open_rework(MON + 2 * DAY) == ()


def test_it_stands_at_the_first_station_that_has_to_do_it_again() -> None:
    found("buzz", "set-up")
    repaired(MON + HOUR)
    assert [one.station for one in board.open_rework(MON + HOUR)] == ["U"]
    did(SERIAL, "U30", "P-20", "U", MON + 2 * HOUR)
    assert [one.station for one in board.open_rework(MON + 2 * HOUR)] == ["A"]


def test_open_rework_is_asked_for_by_station_and_spec() -> None:
    found()
    found("high", "fret", MON, "Q-1040")
    both = board.open_rework(TUE)
    assert [one.serial for one in both] == [SERIAL, "Q-1040"]
    assert board.open_rework(TUE, "X") == both
    assert board.open_rework(TUE, "U") == ()
    assert [one.serial for one in board.open_rework(TUE, spec="NESS")] == ["Q-1040"]


# --- the instruments behind a bar ---


def test_those_that_were_sent_back_are_named_with_the_loop() -> None:
    found()
    (one,) = board.started_at(EVER, "Q10", failed=True).rows
    first = steps("Q10").get().at
    assert (one.serial, one.spec, one.at) == (SERIAL, "TARN", first)
    assert (one.where, one.words) == ("Q10", "finish chip: chip")


def test_those_of_a_station_and_a_spec_are_named() -> None:
    tarn = board.started_at(Spell(EVER.since, EVER.until, station="Q", spec="TARN"))
    assert sorted(one.serial for one in tarn.rows) == ["Q-1037", "Q-1041"]


def test_instruments_come_a_page_at_a_time_the_newest_first(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(spell, "SHOWN", 3)
    pages = [board.started_at(EVER, "Q10", page=page) for page in (1, 2, 3)]
    assert [(len(one.rows), one.later) for one in pages] == [(3, 2), (1, None), (0, None)]
    times = [one.at for page in pages for one in page.rows]
    assert times == sorted(times, reverse=True)
    assert board.started_at(EVER, "Q10", page=-5) == pages[0]


def test_what_a_word_was_found_on_is_named_once_the_second_look_is_taken() -> None:
    """Who looks a second time is not to know what the first look found."""
    cased()
    noted("haze", CASED + HOUR, found_at="I10", grade=4)
    assert [one.serial for one in board.found_on(EVER, "finish", "haze").rows] == [""]
    assert looked(READY + HOUR).done
    assert [one.serial for one in board.found_on(EVER, "finish", "haze").rows] == [SERIAL]
    assert board.found_on(EVER, "finish", "chip").rows == ()


# --- as rows of a table ---


def test_every_table_has_a_row_that_names_its_columns_and_rows_as_long() -> None:
    twice()
    noted("haze", READY + 2 * HOUR, "P-32", "R", found_at="I30")
    found("high", "fret", MON, "Q-1040")
    tables = (
        board.yield_rows(board.yields(EVER, "spec"), "spec"),
        board.defect_rows(board.defects_by_word(EVER)),
        board.escape_rows([("TARN", board.escapes(EVER))]),
        board.open_rework_rows(board.open_rework(TUE)),
        board.one_rows(board.started_at(EVER, "Q10")),
    )
    for table in tables:
        head, *rows = table
        assert rows
        assert {len(row) for row in rows} == {len(head)}, head
        assert all(isinstance(cell, str) for row in rows for cell in row)


def test_a_row_of_yields_has_its_interval() -> None:
    found()
    table = list(board.yield_rows(board.yields(Spell(EVER.since, EVER.until, station="Q"))))
    assert table[0][:6] == ["group", "operation", "station", "started", "passed", "yield"]
    assert table[1] == ["", "Q10", "Q", "4", "3", "0.7500", "0.3006", "0.9544"]
    assert table[2][1:6] == ["rolled", "", "4", "3", "0.7500"]


# --- what it costs ---


def everything() -> Iterator[tuple[str, int, Callable[[], Any]]]:
    """Each figure with the statements it takes."""
    yield "yields", 3, lambda: board.yields(EVER)
    yield "yields by station", 3, lambda: board.yields(EVER, "station")
    yield "yields by spec", 4, lambda: board.yields(EVER, "spec")
    yield "yields by week", 3, lambda: board.yields(EVER, "week")
    yield "defects", 4, lambda: board.defects_by_word(EVER)
    yield "escapes", 3, lambda: board.escapes(EVER)
    yield "escapes by spec", 3, lambda: board.escapes_by(EVER, "spec")
    yield "escapes by week", 3, lambda: board.escapes_by(EVER, "week")
    yield "open rework", 4, lambda: board.open_rework(READY)
    yield "started", 3, lambda: board.started_at(EVER, "Q10")
    yield "found on", 2, lambda: board.found_on(EVER, "finish", "chip")
    yield "escaped", 2, lambda: board.escaped(EVER)


def test_each_figure_takes_so_many_statements_however_many_guitars_there_are() -> None:
    def asked() -> dict[str, int]:
        counts = {}
        for what, _, ask in everything():
            ask()  # what is kept of the catalogue is read
            with CaptureQueriesContext(connection) as caught:
                ask()
            counts[what] = len(caught)
        return counts

    cased()
    noted("chip", CASED + HOUR, found_at="I10")
    noted("haze", READY + HOUR, "P-32", "R", found_at="I30")
    found("high", "fret", MON, "Q-1040")
    few = asked()
    found("chip", at=MON + HOUR, serial="Q-1041")
    found("dust nib", "cosmetic", MON, "Q-1050")
    assert few == asked() == {what: times for what, times, _ in everything()}
    assert Defect.objects.count() == 5
    assert now("Q-1050").rework is not None
