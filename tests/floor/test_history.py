"""An instrument's history: a page at a time, narrowed to a group, and what is kept back."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest

from shop.floor import board, door
from shop.floor.models import Entry
from tests.floor.casing import did
from tests.floor.gauged import gauge
from tests.floor.morning import NOW, act, asking, check_tray, measured, now, step

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

SERIAL = "Q-1043"
STRUNG = "Q-1037"  # all is done but the inspections
WORDS = "The label names Q-1038"


def history(serial: str = SERIAL, by: str = "P-01", station: str = "", **more: Any) -> Any:
    return board.history(now(serial), asking(by, station), **more)


def told(page: Any) -> str:
    return " ".join(one.words for one in page.rows)


def test_the_newest_row_comes_first() -> None:
    step(SERIAL, "N40")
    rows = history().rows
    assert [one.seq for one in rows] == list(range(len(rows), 0, -1))
    assert rows[0].words == (
        "P-11 tried to record N40 Gauge the post holes and clear the lacquer at Neck bench: "
        "refused."
    )
    assert rows[-1].words.startswith("P-01 released Q-1043 with neck K-2081 as TARN")


def test_values_are_told_with_the_names_of_their_places() -> None:
    check_tray(SERIAL)
    measured(SERIAL, "N40")
    newest = history().rows[0]
    assert newest.words.startswith("P-11 entered 6 values for N40")
    assert ("Post hole, string 6", "8.73\u202fmm") in newest.details


def test_the_neck_of_a_scan_is_named_by_its_serial() -> None:
    other = board.tags_of([SERIAL])[SERIAL]["neck"]
    step("Q-1061", "J10", "P-16", "J", neck=other)
    refused = next(one for one in history("Q-1061").rows if "scanned neck" in one.words)
    assert refused.words == "P-16 scanned neck K-2081 beside Q-1061 at Joint: refused."


def test_a_page_ends_where_the_next_one_goes_on() -> None:
    whole = [one.seq for one in history(count=200).rows]
    read: list[int] = []
    before = None
    while True:
        page = history(before_seq=before, count=4)
        read += [one.seq for one in page.rows]
        assert len(page.rows) <= 4
        if page.earlier is None:
            break
        before = page.earlier
    assert read == whole
    assert len(whole) > 4


def test_a_page_that_just_fits_has_no_earlier_one() -> None:
    count = len(history(count=200).rows)
    assert history(count=count).earlier is None
    assert history(count=count - 1).earlier is not None


@pytest.mark.parametrize(
    ("group", "kinds"), [("work", {"step"}), ("measures", {"readings"}), ("lead", {"release"})]
)
def test_a_group_holds_its_own_rows_alone(group: str, kinds: set[str]) -> None:
    found = [one.seq for one in history(group=group).rows]
    rows = Entry.objects.filter(instrument_id=now(SERIAL).id, kind__in=kinds).order_by("-seq")
    assert found == list(rows.values_list("seq", flat=True)) != []


def test_a_group_without_rows_is_empty() -> None:
    assert history(group="calls") == board.history(now(SERIAL), asking("P-01", ""), group="calls")
    assert history(group="calls").rows == ()


@pytest.mark.parametrize(
    "sent",
    [{"group": "gossip"}, {"before": "soon"}, {"before": "-3"}, {"before": "9" * 40}, {}],
)
def test_what_an_address_names_that_does_not_exist_is_left_out(sent: dict[str, str]) -> None:
    page = board.history_asked(now(SERIAL), asking("P-01", ""), sent)
    assert page == history()


def test_what_an_address_names_is_found() -> None:
    sent = {"group": "work", "before": "5"}
    page = board.history_asked(now(SERIAL), asking("P-01", ""), sent)
    assert page == history(group="work", before_seq=5)
    assert all(one.seq < 5 and one.group == "work" for one in page.rows)


def add_rows(count: int) -> None:
    for _ in range(count):
        door.record(act("P-01", ""), door.CallMade(now(SERIAL).id, "lead", "Look."))


def test_a_history_takes_as_many_statements_however_long_it_is(
    django_assert_num_queries: Callable[..., Any],
) -> None:
    it, who = now(SERIAL), asking("P-01", "")
    board.history(it, who)  # the names of the stations are remembered for a minute
    with django_assert_num_queries(1):
        board.history(it, who)
    add_rows(60)
    step("Q-1061", "J10", "P-16", "J", neck=board.tags_of([SERIAL])[SERIAL]["neck"])
    it = now(SERIAL)
    assert it.sheet.stops
    with django_assert_num_queries(1):
        assert len(board.history(it, who).rows) == 50


def test_necks_take_one_statement_more_however_many_were_scanned(
    django_assert_num_queries: Callable[..., Any],
) -> None:
    for serial in (SERIAL, "Q-1062", "Q-1044"):
        step("Q-1061", "J10", "P-16", "J", neck=board.tags_of([serial])[serial]["neck"])
    it, who = now("Q-1061"), asking("P-01", "")
    assert it.sheet.stops
    board.history(it, who)
    with django_assert_num_queries(2):
        board.history(it, who)


# --- two looks: the second does not see the first one's list ---


@pytest.fixture
def inspected() -> str:
    """P-31 has inspected, and has entered what was found. Invented."""
    did(STRUNG, "I10", "P-31", "I", NOW)
    report("P-31", "I", WORDS)
    return STRUNG


def report(by: str, station: str, words: str, minutes: int = 1) -> None:
    """A finding that sends the guitar nowhere: a label, and nothing waits for it."""
    at = NOW + timedelta(minutes=minutes)
    found = door.DefectNoted(now(STRUNG).id, "paper", "wrong label", 4, 16, words=words)
    outcome = door.record(act(by, station, at), found)
    assert outcome.done, outcome.findings


def test_the_second_inspector_does_not_see_what_the_first_one_found(inspected: str) -> None:
    """Two independent looks: common practice, no source."""
    page = history(inspected, "P-32", "R")
    assert page.kept == 2  # what was measured, and the label
    assert "String height" not in told(page)
    assert "wrong label" not in told(page)
    assert WORDS not in told(page)


def parked() -> None:
    """P-31 has measured for the first look, and put it by before recording it."""
    values = {"relief 7": "0.21", "action bass": "2.41"}
    assert gauge(STRUNG, values, "I10", "P-31", "I").done


def at_i10(by: str, station: str) -> set[tuple[str, str]]:
    found = board.with_fresh_eyes(now(STRUNG), asking(by, station)).readings.values
    return {(one.quantity, one.place) for one in found if one.operation == "I10"}


def test_what_the_first_look_measured_is_kept_back_before_it_is_recorded_too() -> None:
    parked()
    it, who = now(STRUNG), asking("P-32", "R")
    measured_there = {("relief", "7"), ("action", "bass")}
    assert board.values_kept(it, who) == measured_there
    assert at_i10("P-32", "R") == set()
    assert history(STRUNG, "P-32", "R").kept == 1
    assert at_i10("P-31", "I") == at_i10("P-01", "") == measured_there


def test_who_takes_the_first_look_sees_what_they_measured_though_they_could_take_the_second() -> (
    None
):
    parked()
    assert board.values_kept(now(STRUNG), asking("P-31", "R")) == frozenset()
    again = {"relief 7": "0.22"}
    assert gauge(STRUNG, again, "I10", "P-32", "I", NOW + timedelta(minutes=5)).done
    assert board.values_kept(now(STRUNG), asking("P-31", "R")) == {("relief", "7")}


def test_what_the_bench_measured_is_nobodys_look() -> None:
    it = now(STRUNG)
    assert it.readings.of("action")
    assert board.with_fresh_eyes(it, asking("P-32", "R")).readings == it.readings


def test_that_the_first_look_was_taken_is_no_secret(inspected: str) -> None:
    assert "P-31 recorded I10 Inspect" in told(history(inspected, "P-32", "R"))


def test_it_is_kept_back_at_another_station_too_from_who_is_signed_off_for_the_second(
    inspected: str,
) -> None:
    it = now(inspected)
    trained = asking("P-32", "R").who.trained
    page = board.history(it, asking("P-32", "I"))
    assert page.kept == (2 if "R" in trained else 0)


@pytest.mark.parametrize(("by", "station"), [("P-01", ""), ("P-31", "I"), ("P-61", "X")])
def test_everybody_else_sees_it(inspected: str, by: str, station: str) -> None:
    page = history(inspected, by, station)
    assert page.kept == 0
    assert WORDS in told(page)


def test_what_the_second_one_enters_opens_the_first_ones_list(inspected: str) -> None:
    report("P-32", "R", "The label is torn", minutes=2)
    page = history(inspected, "P-32", "R")
    assert page.kept == 1  # what was measured: they have not measured there yet
    assert WORDS in told(page)
    assert "entered 3 values for I10" not in told(page)


def test_a_row_of_values_opens_once_they_have_measured_all_of_it(inspected: str) -> None:
    some = {"relief 7": "0.2", "action bass": "2.4"}
    it = now(inspected)

    def shown() -> list[tuple[str, str]]:
        found = board.with_fresh_eyes(now(inspected), asking("P-32", "R")).readings
        at_i10 = [one for one in found.values if one.operation == "I10"]
        return [(one.quantity, one.place) for one in at_i10]

    assert shown() == []
    did(inspected, "I20", "P-31", "H", NOW + timedelta(minutes=5))
    enter = door.Gauged(it.id, "I30", {tuple(key.split()): text for key, text in some.items()})  # type: ignore[misc]
    assert door.record(act("P-32", "R", NOW + timedelta(hours=200)), enter).done
    assert history(inspected, "P-32", "R").kept == 1
    assert shown() == []


def test_what_the_second_one_entered_before_the_first_look_opens_nothing() -> None:
    report("P-32", "R", "The label is torn", minutes=-5)
    did(STRUNG, "I10", "P-31", "I", NOW)
    report("P-31", "I", WORDS)
    assert history(STRUNG, "P-32", "R").kept == 2


def test_a_word_on_a_row_that_is_kept_back_is_kept_back_with_it(inspected: str) -> None:
    it = now(inspected)
    said = door.Remarked(it.id, it.seq, "It is the treble side")
    assert door.record(act("P-01", ""), said).done
    page = history(inspected, "P-32", "R")
    assert page.kept == 3
    assert "treble" not in told(page)


def test_looking_whether_something_was_entered_takes_one_statement(
    inspected: str, django_assert_num_queries: Callable[..., Any]
) -> None:
    it, who = now(inspected), asking("P-32", "R")
    assert it.sheet.stops
    board.history(it, who)
    with django_assert_num_queries(3):  # the page, the neck it was paired with, their own rows
        board.history(it, who)


# --- finding one by its serial, or by what hangs on it ---


@pytest.mark.parametrize("words", ["Q-1043", "q-1043", " 1043 ", "043"])
def test_an_instrument_is_found_by_its_serial_or_the_end_of_it(words: str) -> None:
    assert board.serials(words) == [SERIAL]


def test_an_end_that_several_share_finds_them_all() -> None:
    assert board.serials("4") == ["Q-1044", "Q-1064"]


@pytest.mark.parametrize("words", ["", " ", "Q-9999", "%", "_"])
def test_what_no_serial_ends_with_finds_nothing(words: str) -> None:
    assert board.serials(words) == []


@pytest.mark.parametrize("part", ["body", "neck"])
def test_a_tag_leads_to_its_instrument(part: str) -> None:
    assert board.serial_of(board.tags_of([SERIAL])[SERIAL][part]) == SERIAL


def test_a_void_tag_leads_to_its_instrument_too() -> None:
    code = board.tags_of([SERIAL])[SERIAL]["body"]
    lost = door.TagReplaced(code, "lost", SERIAL)
    assert door.record(act("P-01", "", reason="lost"), lost).done
    assert board.serial_of(code) == SERIAL


def test_a_tray_label_leads_to_its_instrument() -> None:
    assert board.serial_of(now(SERIAL).tray_code) == SERIAL


def test_a_code_that_nothing_carries_leads_nowhere() -> None:
    assert board.serial_of("B000000") is None
