"""The hold rack on a screen: each slot drawn by shape and words, what is due, the week ahead.

What moves the days in the case, and that what is ready on a day off is due on the next working
day, are common practice, no source.
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop.craft.rack import Day
from shop.craft.words import THIN
from shop.floor import board, door
from shop.floor.models import Instrument, Step
from shop.inspection.rack_chart import FLOOR, HIGH, week
from tests.bench.crowd import add_instruments
from tests.bench.screens import Screen, classes, said, seen, signed_in, tag
from tests.floor.casing import CASED, HOUR, READY, SERIAL, cased, done, looked, moment, number
from tests.floor.morning import NOW, act, now
from tests.inspection.full_rack import in_slots, in_their_cases
from tests.people.phones import Clock

pytestmark = pytest.mark.usefixtures("today")

TUE, SAT, MON = moment(4, 9), moment(8, 9), moment(10, 9)
SLOT = "H-001"


def look(badge: str = "P-31", **asked: str) -> Screen:
    """The rack, by somebody who signs in now."""
    return seen(signed_in(badge).get("/rack/", asked))


def tiles(screen: Screen) -> dict[str, str]:
    """What stands on each slot, by its name."""
    return {words.split()[0]: words.partition(" ")[2] for words in screen.of_class("tile")}


def mark_of(screen: Screen, code: str) -> str:
    """The shape on a slot."""
    [item] = [one for one in screen.root.iter("li") if one.get("data-key") == code]
    shape = item.find(".//svg")
    assert shape is not None, f"{code} has no shape"
    return classes(shape)[-1]


def racked() -> None:
    """Cased on Monday and put into its slot a moment later."""
    cased()
    done(door.Racked(number(), SLOT), CASED + HOUR / 4, "P-31", "H")


# --- the drawing ---


def test_the_slots_stand_ten_to_a_row_under_their_names() -> None:
    rows = [one for one in look().root.iter("section") if classes(one) == ["ten"]]
    assert [len(one.findall(".//li")) for one in rows] == [10] * 11
    heads = [said(head) for one in rows if (head := one.find("h3")) is not None]
    assert (heads[0], heads[-1]) == ("H-001 to H-010", "H-101 to H-110")


def test_a_retired_slot_leaves_its_row() -> None:
    door.record(act("P-01", ""), door.SlotsKept(retire=("H-003",)))
    screen = look()
    first = next(one for one in screen.root.iter("section") if classes(one) == ["ten"])
    assert "H-003" not in tiles(screen)
    assert len(first.findall(".//li")) == 9


def test_a_free_slot_and_one_that_is_due_are_told_by_words_and_shape() -> None:
    screen = look()
    assert tiles(screen)["H-001"] == "free"
    assert tiles(screen)["H-014"] == "1038 due today"
    assert mark_of(screen, "H-001") == "rack-mark-free"
    assert mark_of(screen, "H-014") == "rack-mark-due"


def nothing() -> None:
    """Its days go on."""


def opened() -> None:
    done(door.CaseOpened(number()), TUE)


def restrung() -> None:
    done(door.Happened(number(), "restrung"), TUE, reason="One was dead")


def looked_again() -> None:
    assert looked(READY + HOUR).done


@pytest.mark.parametrize(
    ("then", "at", "words", "kind"),
    [
        (nothing, TUE, "1037 until Fri 14:10", "holding"),
        (nothing, moment(7, 9), "1037 due today, 14:10", "due"),  # not before that hour
        (nothing, READY, "1037 due today", "due"),
        (nothing, SAT, "1037 overdue", "overdue"),
        (opened, TUE + HOUR, "1037 paused", "paused"),
        (restrung, TUE + HOUR, "1037 again, Sat 09:00", "again"),
        (looked_again, READY + 2 * HOUR, "1037 looked at", "looked"),
    ],
)
def test_a_slot_says_how_its_case_stands(
    today: Clock, then: Callable[[], None], at: Any, words: str, kind: str
) -> None:
    racked()
    then()
    today.now = at
    screen = look()
    assert tiles(screen)[SLOT] == words
    assert mark_of(screen, SLOT) == f"rack-mark-{kind}"


def test_no_two_ways_to_stand_have_one_shape() -> None:
    """Told by shape, not by colour alone: WCAG 2.2, 1.4.1 Use of Color."""
    from django.template.loader import render_to_string

    kinds = ("free", "holding", "again", "due", "overdue", "paused", "looked", "loose")
    drawn = {
        render_to_string("drawing/rack_mark.svg", {"kind": kind}).split(">", 1)[1] for kind in kinds
    }
    assert len(drawn) == len(kinds)


def test_why_a_case_stands_still_is_in_the_table(today: Clock) -> None:
    racked()
    opened()
    today.now = TUE + HOUR
    words = look().words
    assert "paused: its days stand still" in words
    assert "Out of the case since Tue 09:00: the hold stands still until it is back." in words


def test_a_case_in_no_slot_stands_by_itself_and_leads_to_where_it_is_put() -> None:
    cased()
    screen = look()
    [words] = screen.of_class("loose")
    assert words.startswith(f"In no slot: 1 {SERIAL}")
    way = screen.one(".//section[@class='loose']//a").get("href")
    assert way == f"/{tag(SERIAL)}/rack/"


def test_before_there_are_slots_the_page_says_what_will_stand_there() -> None:
    Instrument.objects.update(slot="")
    every = tuple(one.code for one in board.slots())
    door.record(act("P-01", ""), door.SlotsKept(retire=every))
    assert "No slots yet." in look().words


# --- counts, and what a tap leaves ---


def test_the_counts_stand_on_top_each_a_tap() -> None:
    screen = look()
    assert screen.words.startswith("Hold rack 110 slots · 2 cases")
    assert screen.links["2 due today"] == "?only=due"
    assert screen.links["108 free"] == "?only=free"
    assert "0 overdue" not in screen.links


def test_one_tap_leaves_what_is_due_today() -> None:
    screen = look(only="due")
    assert list(tiles(screen)) == ["H-014", "H-027"]
    assert "due today: 2" in screen.words
    assert screen.links["all"] == "/rack/"
    chosen = [said(one) for one in screen.root.iter("a") if one.get("aria-current") == "true"]
    assert chosen == ["2 due today"]


def test_one_tap_on_a_day_leaves_what_is_due_on_it() -> None:
    cased()
    screen = look(only="2031-03-07")
    assert "Due on Fri 2031-03-07: 1 case" in screen.words
    assert tiles(screen) == {}
    assert SERIAL in screen.words


@pytest.mark.parametrize("asked", ["elsewhere", "2031-02-31", "\0", "Q-1038"])
def test_what_the_rack_cannot_be_narrowed_to_leaves_all_of_it(asked: str) -> None:
    assert len(tiles(look(only=asked))) == 110


def test_a_tap_that_leaves_nothing_says_so() -> None:
    assert "None stands so now." in look(only="overdue").words


# --- a slot leads on ---


def test_a_slot_leads_to_its_page_and_the_table_to_the_instrument() -> None:
    screen = look()
    assert screen.links["H-014 1038 due today"] == "/rack/H-014/"
    assert screen.links["Q-1038"] == f"/{tag('Q-1038')}"


def test_the_table_says_the_same_as_the_drawing() -> None:
    screen = look()
    rows = [said(one) for one in screen.root.findall(".//table[@class='ledger rows']/tbody/tr")]
    assert len(rows) == 110
    assert rows[0] == "H-001 free"
    assert rows[26].startswith("H-027 Q-1040 NESS due today, ready Mon 10:30 Mon 2031-03-03")


def test_the_rack_as_csv() -> None:
    cased()
    answer = signed_in("P-31").get("/rack/list.csv")
    rows = list(csv.DictReader(answer.content.decode().splitlines()))
    assert len(rows) == 111
    assert (rows[0]["slot"], rows[0]["stands"], rows[0]["serial"]) == ("H-001", "free", "")
    assert (rows[26]["serial"], rows[26]["stands"], rows[26]["due"]) == (
        "Q-1040", "due", "2031-03-03",
    )  # fmt: skip
    assert (rows[-1]["slot"], rows[-1]["serial"], rows[-1]["ready"]) == (
        "", SERIAL, "2031-03-07T14:10+00:00",
    )  # fmt: skip


def test_the_csv_holds_what_the_page_was_narrowed_to() -> None:
    phone = signed_in("P-31")
    way = seen(phone.get("/rack/", {"only": "due"})).links["as CSV"]
    rows = list(csv.DictReader(phone.get(way).content.decode().splitlines()))
    assert [row["slot"] for row in rows] == ["H-014", "H-027"]


# --- the days ahead ---


def test_the_next_seven_days_are_told_with_the_monday_lump_by_name() -> None:
    [words] = look().of_class("lump")
    assert words.startswith("The Monday lump, Mon 2031-03-03: 2 due.")


def test_the_monday_lump_shows_a_week_before(today: Clock) -> None:
    """Cased on Tuesday: ready on Saturday, so on Monday."""
    Step.objects.filter(operation__code="I20").update(at=moment(4, 14))
    today.now = moment(4, 15)
    screen = look()
    assert screen.of_class("lump")[0].startswith("The Monday lump, Mon 2031-03-10: 2 due.")
    assert screen.links["Mon 2031-03-10: 2"] == "?only=2031-03-10"
    assert len(screen.root.findall(".//ul[@class='rack-ways due-days']/li")) == 7


def test_most_on_another_day_is_no_monday_lump() -> None:
    Instrument.objects.filter(body__serial__in=("Q-1038", "Q-1040")).update(slot="")
    Step.objects.filter(operation__code="I20").update(struck=True, void_at=NOW)
    cased()
    assert look().of_class("lump") == ["Most on Fri 2031-03-07: 1 due."]


def test_a_rack_that_is_too_small_is_told_before_it_is_full() -> None:
    """110 cases and two that leave today; of one casing in five days the first is Wednesday's."""
    add_instruments(110)
    in_their_cases(110, moment(3, 8))
    [told, *_] = look().of_class("finding-warn")
    assert "Wed 2031-03-05: 111 in the rack at night, 110 slots: 1 too many." in told
    assert "Put up 1 slot more." in told


def test_the_days_are_reckoned_with_one_inspector_of_450_min_or_those_typed() -> None:
    usual = "Reckoned with 1 inspector of 450 min a day, 12 min a look"
    assert usual in look().words
    typed = look(people="0", minutes="400", look="15")
    assert "Reckoned with 0 inspectors of 400 min a day, 15 min a look" in typed.words
    [told] = typed.of_class("finding-warn")
    assert "2 due × 15 min = 30 min. 0 inspectors do 0." in told.replace(THIN, " ")


def test_figures_that_no_inspectors_have_are_said_and_the_usual_are_reckoned_with() -> None:
    screen = look(people="many", look="0")
    faults = screen.of_class("finding-stop")
    assert "Write a whole number of people, 0 to 20." in faults[0]
    assert "Write whole minutes, 1 to 1440." in faults[1]
    assert "Reckoned with 1 inspector of 450 min a day, 12 min a look" in screen.words
    assert screen.one(".//input[@name='people']").get("value") == "many"


def test_taps_keep_the_inspectors_that_were_typed() -> None:
    screen = look(people="2")
    assert screen.links["2 due today"] == "?only=due&people=2&minutes=450&look=12"


def test_casings_that_are_planned_are_typed_and_kept_by_every_tap() -> None:
    """120 a day fill 110 slots on the first night, whatever was cased of late."""
    screen = look(casings="120")
    [told, *_] = screen.of_class("finding-warn")
    assert "Mon 2031-03-03: 120 in the rack at night, 110 slots: 10 too many." in told
    assert "120 cased each working day, as typed below." in screen.words
    assert "the mean of the last" not in screen.words
    assert screen.links["2 due today"].endswith("people=1&minutes=450&look=12&casings=120")
    wrong = look(casings="many")
    assert "Write a whole number of cases, 0 to 999" in wrong.of_class("finding-stop")[0]
    assert "the mean of the last 10 working days" in wrong.words


def day(number: int, in_rack: int, due: int = 0, slots: int = 100) -> Day:
    short = max(in_rack - slots, 0)
    return Day(date(2031, 3, number), True, 0, due, 0, 0, in_rack, max(slots - in_rack, 0), short)


def test_the_week_is_drawn_to_one_scale_with_monday_and_the_slots_marked() -> None:
    """Invented nights: 50 of 100 slots, then 100, then 125, which is the highest there is."""
    drawn = week([day(8, 50), day(9, 100), day(10, 125, due=25)], 100)
    half, full, over = drawn.columns
    assert [one.monday for one in drawn.columns] == [False, False, True]
    assert (half.high, full.high) == (HIGH * 50 / 125, HIGH * 100 / 125)
    assert (over.high, over.over) == (full.high, HIGH * 25 / 125)
    assert (over.over_top, over.due_high) == (FLOOR - HIGH, HIGH * 25 / 125)
    assert drawn.line == full.top == FLOOR - full.high


def test_a_rack_without_slots_and_cases_is_drawn_too() -> None:
    drawn = week([day(8, 0, slots=0)], 0)
    assert (drawn.line, drawn.columns[0].high) == (FLOOR, 0)


def test_the_drawing_has_seven_days_and_its_table_fourteen() -> None:
    screen = look()
    drawn = screen.one(".//svg[@class='rack-week']")
    assert len(drawn.findall("g")) == 7
    assert len([one for one in drawn.findall("g") if one.get("class") == "monday"]) == 1
    table = screen.root.findall(".//div[@class='scroll']/table/tbody/tr")
    assert len(table) == 14
    assert said(table[0]).startswith("Mon 2031-03-03")
    assert "nobody works" in said(table[5])


# --- fresh, cheap, for everybody on the floor ---


def test_the_page_stays_fresh_by_itself() -> None:
    """RFC 9110, 15.4.5: 304 Not Modified."""
    phone = signed_in("P-31")
    answer = phone.get("/rack/")
    part = seen(answer).one(".//div[@data-fresh]")
    assert (part.get("data-fresh"), part.get("data-at")) == (answer["ETag"], "09:30")
    assert [one.tag for one in part.iter() if one.tag in {"form", "input"}] == []
    ask = {"X-Fresh": "1", "If-None-Match": answer["ETag"]}
    assert phone.get("/rack/", headers=ask).status_code == 304
    assert door.record(act("P-31", "R"), door.Unracked(now("Q-1038").id)).done
    changed = phone.get("/rack/", headers=ask)
    assert changed.status_code == 200
    assert tiles(seen(changed))["H-014"] == "free"


def asked(phone: Client) -> int:
    with CaptureQueriesContext(connection) as caught:
        assert phone.get("/rack/").status_code == 200
    return len(caught)


def test_two_hundred_cases_take_as_many_statements_as_two() -> None:
    """Badge and rights, the mark, the rack in five, their tags in two."""
    door.record(act("P-01", ""), door.SlotsKept(up=80))
    add_instruments(198)
    phone = signed_in("P-31")
    asked(phone)  # the sheets are drawn once a process
    few = asked(phone)
    in_their_cases(198, moment(3, 8))
    in_slots()
    screen = seen(phone.get("/rack/"))
    assert "190 slots · 200 cases" in screen.words
    assert sum(words != "free" for words in tiles(screen).values()) == 190
    many = asked(phone)
    assert many == few
    assert many <= 12


@pytest.mark.parametrize("badge", ["P-01", "P-11", "P-25", "P-31", "P-41", "P-61"])
def test_everybody_on_the_floor_sees_the_rack(badge: str) -> None:
    phone = signed_in(badge)
    assert seen(phone.get("/floor/")).links["Rack"] == "/rack/"
    assert phone.get("/rack/").status_code == 200


def test_only_the_lead_is_led_to_the_slots_themselves() -> None:
    assert "Put up, retire, label slots" not in look("P-31").links
    assert look("P-01").links["Put up, retire, label slots"] == "/rack/slots/"


def test_a_day_later_the_same_rack_says_otherwise(today: Clock) -> None:
    today.now = NOW + timedelta(days=1)
    assert tiles(look())["H-027"] == "1040 overdue"
