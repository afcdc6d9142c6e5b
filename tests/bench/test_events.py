"""What happened to a guitar, told on the phone: a fall, its strings, its case, its repair."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from typing import Any

import pytest

from shop.bench.templatetags.happenings import hold, rework
from shop.catalogue.models import Loop
from shop.craft.words import THIN
from shop.floor import board, door
from tests.bench.screens import Screen, key, seen, signed_in, tag
from tests.floor.casing import CASED, HOUR, MINUTE, READY, SERIAL, cased, did, done, number, ready
from tests.floor.morning import NOW, now
from tests.people.phones import Clock

pytestmark = pytest.mark.usefixtures("today")

TEN = CASED + 20 * HOUR - 10 * MINUTE  # Tuesday 10:00, in the case


@pytest.fixture
def in_its_case(today: Clock) -> Clock:
    cased()
    today.now = TEN
    return today


def page(path: str = "", badge: str = "P-32", station: str = "R", serial: str = SERIAL) -> Screen:
    return seen(signed_in(badge, station).get(f"/{tag(serial)}{path}"))


def told(
    path: str, badge: str = "P-32", station: str = "R", serial: str = SERIAL, **fields: str
) -> Any:
    """What is answered to a form sent from the phone."""
    fields.setdefault("key", key())
    return signed_in(badge, station).post(f"/{tag(serial)}{path}", fields)


def last_row(serial: str = SERIAL) -> tuple[str, str, str]:
    row = board.journal(number(serial), 1)[0]
    return row["kind"], row["outcome"], row["reason"]


def thin(words: str) -> str:
    return words.replace(THIN, " ")


def answers(screen: Screen) -> list[str]:
    """What may be tapped to say what happened."""
    listed = screen.one(".//ul[@class='answers answers-wide']")
    return ["".join(one.itertext()) for one in listed.iter("b")]


# --- what may be told ---


def test_before_the_case_only_a_fall_and_a_defect_can_be_told() -> None:
    assert answers(page("/happened/")) == ["It was dropped", "A defect"]


@pytest.mark.usefixtures("in_its_case")
def test_in_the_case_its_strings_saddle_rack_and_lid_can_be_told_too() -> None:
    assert answers(page("/happened/")) == [
        "It was dropped",
        "A defect",
        "The case was opened",
        "Strings replaced or slack",
        "One string replaced",
        "Saddle lowered or rod turned",
        "Moved to another rack",
    ]


@pytest.mark.usefixtures("in_its_case")
def test_what_is_out_of_its_case_goes_back_in_it() -> None:
    done(door.CaseOpened(number()), TEN)
    assert "Back in its case" in answers(page("/happened/"))
    assert "The case was opened" not in answers(page("/happened/"))


def test_a_badge_that_reports_no_defects_is_offered_none() -> None:
    assert answers(page("/happened/", "P-41", "K")) == ["It was dropped"]


def test_every_page_of_an_instrument_leads_to_telling_what_happened() -> None:
    for badge in ("P-11", "P-25", "P-41"):
        links = page("", badge, "N", "Q-1043").links
        assert links["Something happened"] == f"/{tag('Q-1043')}/happened/"


def test_telling_what_happened_leads_back_to_the_instrument() -> None:
    assert page("/happened/").links[f"Back to {SERIAL}"] == f"/{tag(SERIAL)}"


@pytest.mark.parametrize("path", ["/happened/", "/defect/", "/case/", "/repair/"])
def test_of_a_scrapped_guitar_nothing_more_is_told(path: str) -> None:
    address = f"/{tag(SERIAL)}{path}"
    done(door.Scrapped(number(), ()), NOW, "P-01", reason="Split block")
    phone = signed_in("P-61", "X")
    assert phone.get(address).status_code == 404  # its tag is void
    assert phone.post(address, {"key": key()}).status_code == 404


def test_of_a_frozen_guitar_what_happened_is_still_told() -> None:
    done(door.Frozen(number(), "Wrong neck"), NOW)
    assert told("/happened/", what="dropped").status_code == 302
    assert last_row()[:2] == ("dropped", "recorded")


# --- a fall, strings, saddle, rack ---


def test_a_fall_says_what_it_leads_to_before_it_is_noted() -> None:
    costs = page("/happened/?what=dropped").of_class("costs")[0]
    assert "Goes to Repair" in costs
    assert "Then again: J40." in costs  # it is not inspected yet


@pytest.mark.usefixtures("in_its_case")
def test_a_fall_in_the_case_says_that_the_days_begin_again() -> None:
    costs = page("/happened/?what=dropped").of_class("costs")[0]
    assert "Then again: J40, I10 and I20." in costs
    assert "The 96 h in the case begin again." in thin(costs)


def test_in_a_shop_with_no_loop_for_a_fall_the_page_names_the_lead() -> None:
    Loop.objects.filter(key="dropped").delete()
    assert "until the lead has looked" in page("/happened/?what=dropped").words


def test_looking_at_the_question_notes_nothing() -> None:
    before = last_row()
    page("/happened/?what=dropped")
    assert last_row() == before


def test_a_fall_that_is_noted_takes_the_guitar_to_repair() -> None:
    answer = told("/happened/", what="dropped")
    screen = seen(signed_in("P-61", "X").get(answer.url))
    assert "On the loop dropped since Mon 09:30, at Repair" in screen.words
    assert "Done" in screen.words


@pytest.mark.parametrize(
    ("what", "wanted"),
    [
        # Common practice, no source: all strings begin the days again, one string or the saddle
        # asks for 24 h at least, another rack for nothing.
        ("restrung", TEN + 96 * HOUR),
        ("rack", READY),
        ("string", READY),
        ("trimmed", READY),
    ],
)
def test_what_happened_in_the_days_moves_them_as_it_should(
    in_its_case: Clock, what: str, wanted: datetime
) -> None:
    answer = told("/happened/", what=what)
    assert answer.status_code == 302
    assert last_row()[:2] == ("happened", "recorded")
    assert ready(TEN) == wanted


def test_one_string_replaced_late_asks_for_a_last_check(in_its_case: Clock) -> None:
    """Common practice, no source: 24 h at least."""
    in_its_case.now = READY - HOUR
    words = thin(page("/happened/?what=string").words)
    assert "A last check of 24 h: not ready before Sat 13:10." in words
    told("/happened/", what="string")
    assert ready(READY) == READY + 23 * HOUR


@pytest.mark.parametrize("what", ["string", "case", "nothing", ""])
def test_what_cannot_have_happened_is_asked_again(what: str) -> None:
    assert page(f"/happened/?what={what}").heading == "What happened?"


def test_a_string_of_what_is_not_cased_is_refused_in_words() -> None:
    screen = seen(told("/happened/", what="string"))
    assert "it was not cased yet" in screen.words


def test_the_same_tap_sent_twice_is_one_fall() -> None:
    phone, sent = signed_in("P-32", "R"), {"key": key(), "what": "dropped"}
    first: Any = phone.post(f"/{tag(SERIAL)}/happened/", sent)
    again: Any = phone.post(f"/{tag(SERIAL)}/happened/", sent)
    assert (first.url, first.status_code) == (again.url, again.status_code)
    assert [row["kind"] for row in board.journal(number())].count("dropped") == 1


# --- the case ---


@pytest.mark.usefixtures("in_its_case")
def test_the_case_is_opened_with_one_tap_and_the_days_stand_still() -> None:
    assert told("/case/", do="out").status_code == 302
    assert ready(TEN + MINUTE) is None
    assert "Is Q-1037 back in its case?" in page("/case/").words


def test_back_within_a_quarter_of_an_hour_needs_no_reason(in_its_case: Clock) -> None:
    """Common practice, no source: under 15 min nothing changes."""
    told("/case/", do="out")
    in_its_case.now = TEN + 14 * MINUTE
    assert "Why was it out?" not in page("/case/").words
    assert told("/case/", do="back").status_code == 302
    assert ready(in_its_case.now) == READY


def test_back_after_40_min_says_why_and_is_ready_40_min_later(in_its_case: Clock) -> None:
    """Common practice, no source: from 15 min to 2 h the days stand still."""
    told("/case/", do="out")
    in_its_case.now = TEN + 40 * MINUTE
    screen = page("/case/")
    assert "Out of its case since Tue 10:00, 40 min now." in thin(screen.words)
    assert "Opened by mistake" in screen.words
    assert told("/case/", do="back", reason="Opened by mistake").status_code == 302
    assert last_row() == ("case shut", "recorded", "Opened by mistake")
    assert ready(in_its_case.now) == READY + 40 * MINUTE


def test_back_without_the_reason_is_asked_for_it_and_nothing_is_noted(in_its_case: Clock) -> None:
    told("/case/", do="out")
    in_its_case.now = TEN + 40 * MINUTE
    answer = told("/case/", do="back")
    assert answer.status_code == 422
    assert "Say why it was out." in seen(answer).words
    assert ready(in_its_case.now) is None


@pytest.mark.parametrize(
    ("minutes", "wanted"),
    [
        # Common practice, no source: up to 2 h the days stand still, beyond they begin again.
        (15, READY + 15 * MINUTE),
        (40, READY + 40 * MINUTE),
        (120, READY + 120 * MINUTE),
        (180, TEN + 96 * HOUR),
    ],
)
def test_a_case_that_was_open_unnoted_is_told_by_how_long(
    in_its_case: Clock, minutes: int, wanted: datetime
) -> None:
    answer = told("/case/", out=str(minutes), reason="Opened by mistake")
    assert answer.status_code == 302
    assert ready(TEN) == wanted


@pytest.mark.usefixtures("in_its_case")
def test_the_guesses_say_which_of_them_begin_the_days_again() -> None:
    screen = page("/case/?was=out")
    still, again, why = screen.of_class("taps")
    assert thin(still).endswith("so long 15 min 30 min 40 min 60 min 90 min 2 h")
    assert thin(again) == "Out for more than 2 h 3 h 4 h 8 h 12 h"
    assert "More than 2 h: the 96 h begin again" in thin(screen.words)
    assert why.startswith("Why was it out?")


def test_nobody_can_say_it_was_out_for_longer_than_it_was_cased(in_its_case: Clock) -> None:
    in_its_case.now = CASED + 35 * MINUTE
    assert [thin(one) for one in page("/case/?was=out").of_class("tap")][:3] == [
        "15 min",
        "30 min",
        "Opened by mistake",
    ]
    in_its_case.now = CASED + 5 * MINUTE
    assert "less than 15 min ago: nothing to note" in page("/case/?was=out").words


def test_a_guess_sent_again_later_is_the_same_act(in_its_case: Clock) -> None:
    phone, sent = signed_in("P-32", "R"), {"key": key(), "out": "40", "reason": "Opened by mistake"}
    first: Any = phone.post(f"/{tag(SERIAL)}/case/", sent)
    in_its_case.now = TEN + 3 * MINUTE
    again: Any = phone.post(f"/{tag(SERIAL)}/case/", sent)
    assert (again.status_code, again.url) == (302, first.url)
    assert ready(in_its_case.now) == READY + 40 * MINUTE
    assert "Done" in seen(phone.get(again.url)).words


@pytest.mark.usefixtures("in_its_case")
def test_a_guess_without_a_reason_is_kept_and_asked_for_it() -> None:
    answer = told("/case/", out="40")
    assert answer.status_code == 422
    checked = seen(answer).one(".//input[@checked]")
    assert (checked.get("name"), checked.get("value")) == ("out", "40")


@pytest.mark.usefixtures("in_its_case")
@pytest.mark.parametrize("guess", ["", "41", "soon", "-15", "99999999"])
def test_what_is_no_guess_is_asked_again_and_notes_nothing(guess: str) -> None:
    before = last_row()
    answer = told("/case/", out=guess, reason="Opened by mistake")
    assert answer.url.endswith("/case/?was=out")
    assert last_row() == before


def test_what_has_no_case_yet_says_so() -> None:
    assert page("/case/").heading == "Not cased yet"


@pytest.mark.usefixtures("in_its_case")
def test_out_for_touch_up_is_offered_on_a_loop_that_leaves_the_strings_at_pitch() -> None:
    assert "Out for touch-up" not in page("/case/").buttons
    done(door.DefectFound(number(), "chip", "finish chip"), TEN, "P-22")
    assert "Out for touch-up" in page("/case/").buttons
    told("/case/", do="touch-up")
    held = board.hold(now(SERIAL), TEN)
    assert held is not None
    assert held.touch_up


def test_a_touch_up_of_26_h_lets_the_days_stand_still(in_its_case: Clock) -> None:
    """Common practice, no source: up to 72 h, strings at pitch."""
    done(door.DefectFound(number(), "chip", "finish chip"), TEN, "P-22")
    told("/case/", do="touch-up")
    in_its_case.now = TEN + 26 * HOUR
    assert "Why was it out?" not in page("/case/").words
    told("/case/", do="back")
    assert ready(in_its_case.now) == READY + 26 * HOUR


# --- the days in the case on the instrument's page ---


@pytest.mark.usefixtures("in_its_case")
@pytest.mark.parametrize(("badge", "station"), [("P-31", "H"), ("P-32", "R")])
def test_at_the_rack_and_at_the_second_look_the_days_are_the_first_thing_seen(
    badge: str, station: str
) -> None:
    screen = page("", badge, station)
    hold = screen.one(".//section[@aria-label='Days in the case']")
    assert "hold-large" in hold.get("class", "")
    words = screen.words
    assert words.index("Ready Fri 14:10") < words.index("I30 Inspect again")


@pytest.mark.usefixtures("in_its_case")
def test_elsewhere_the_days_are_told_smaller() -> None:
    hold = page("", "P-22", "A").one(".//section[@aria-label='Days in the case']")
    assert "hold-large" not in hold.get("class", "")


def test_the_days_tell_what_moved_them(in_its_case: Clock) -> None:
    told("/case/", out="40", reason="Opened by mistake")
    words = thin(page().of_class("hold")[0])
    assert words.startswith("Ready Fri 14:50 Days in the case count from Mon 14:10.")
    assert "Out of the case 40 min from Tue 09:20: ready 40 min later." in words


def test_what_is_out_now_says_since_when_and_how_it_gets_back(in_its_case: Clock) -> None:
    told("/case/", do="out")
    in_its_case.now = TEN + 5 * MINUTE
    screen = page()
    assert "Out of the case since Tue 10:00" in screen.of_class("hold")[0]
    assert screen.links["Back in its case"] == f"/{tag(SERIAL)}/case/"


def test_days_that_are_over_are_marked_as_done(in_its_case: Clock) -> None:
    in_its_case.now = READY
    assert "finding-clear" in page().one(".//section[@aria-label='Days in the case']").get(
        "class", ""
    )


def test_before_the_case_no_days_are_told() -> None:
    assert page().of_class("hold") == []


def test_once_looked_at_again_the_days_are_told_no_more(in_its_case: Clock) -> None:
    in_its_case.now = READY
    did(SERIAL, "I30", "P-32", "R", READY)
    assert page().of_class("hold") == []
    told("/happened/", what="trimmed")
    assert "Ready Sat 14:10" in page().of_class("hold")[0]  # the last check after a touch-up


# --- the repair ---


def found(word: str, loop: str, at: datetime = NOW, **more: Any) -> None:
    done(door.DefectFound(number(), word, loop, words="zone 5 bridge", **more), at, "P-22")


def test_on_every_station_the_loop_is_told_on_the_instruments_page() -> None:
    found("lift", "bridge lift")
    for badge, station in (("P-61", "X"), ("P-18", "G"), ("P-41", "K")):
        words = page("", badge, station).of_class("loop")[0]
        assert words.startswith("On the loop bridge lift since Mon 09:30, at Repair")
        assert "lift, zone 5 bridge" in words
        assert "Then again: G20, G30" in words


def test_only_at_repair_stands_what_to_do_and_the_button() -> None:
    found("lift", "bridge lift")
    at_repair = page("", "P-61", "X")
    assert "Warm the bridge off" in at_repair.of_class("loop")[0]
    assert at_repair.links["Repair done"] == f"/{tag(SERIAL)}/repair/"
    at_bridge = page("", "P-18", "G")
    assert "Warm the bridge off" not in at_bridge.of_class("loop")[0]
    assert "Repair done" not in at_bridge.links


def test_the_repair_is_recorded_with_one_tap() -> None:
    found("lift", "bridge lift")
    screen = page("/repair/", "P-61", "X")
    assert "Warm the bridge off" in screen.words
    assert "Then again: G20, G30" in screen.words
    assert told("/repair/", "P-61", "X").status_code == 302
    loop = page("", "P-18", "G").of_class("loop")[0]
    assert "Still to do again: G20, G30" in loop
    assert "at Repair" not in loop


def test_a_repair_that_dries_says_until_when() -> None:
    """Common practice, no source: 24 h for each 0.2 mm of a fill."""
    found("chip", "finish chip", depth_mm=Decimal("0.4"))
    assert "Dries 48 h from when you record it" in thin(page("/repair/", "P-61", "X").words)
    told("/repair/", "P-61", "X")
    assert "Dry Wed 09:30" in page("", "P-15", "Q").of_class("loop")[0]


def test_what_was_done_again_is_told_apart_from_what_is_left() -> None:
    found("lift", "bridge lift")
    told("/repair/", "P-61", "X")
    did(SERIAL, "G20", "P-18", "G", NOW)
    loop = page("", "P-18", "G").of_class("loop")[0]
    assert "Done again: G20" in loop
    assert "Still to do again: G30, G40" in loop


def test_at_another_station_the_repair_is_not_recorded_from_its_page() -> None:
    found("lift", "bridge lift")
    screen = page("/repair/", "P-18", "G")
    assert "It is repaired at Repair." in screen.words
    assert "Repair done" not in screen.buttons
    assert "The repair belongs to Repair" in seen(told("/repair/", "P-18", "G")).words


def test_what_is_not_at_repair_has_nothing_to_repair() -> None:
    assert page("/repair/", "P-61", "X").heading == "Nothing to repair"


@pytest.mark.usefixtures("in_its_case")
def test_what_is_repaired_in_its_shut_case_is_asked_about_before() -> None:
    found("chip", "finish chip", TEN)
    screen = page("/repair/", "P-61", "X")
    assert f"By the record {SERIAL} is in its case." in screen.words
    assert screen.links["It is out: note it first"] == f"/{tag(SERIAL)}/case/"
    assert told("/repair/", "P-61", "X").status_code == 422
    assert now(SERIAL).rework is not None
    answer = told("/repair/", "P-61", "X", reason="Done in its open case")
    assert answer.status_code == 302
    assert last_row() == ("repair", "recorded", "Done in its open case")


def test_a_frozen_guitar_is_not_repaired() -> None:
    found("lift", "bridge lift")
    done(door.Frozen(number(), "Wrong neck"), NOW)
    assert page("/repair/", "P-61", "X").heading == "Stop"
    assert "Repair done" not in page("", "P-61", "X").links


def test_who_is_learning_repairs_with_a_trainer_beside() -> None:
    found("lift", "bridge lift")
    screen = page("/repair/", "P-25", "X")
    assert "A trainer signs beside you" in screen.links
    assert "Repair done" not in screen.buttons
    assert now(SERIAL).rework is not None


# --- what it takes ---


def test_a_guitar_to_which_nothing_happened_costs_no_statement_more(
    django_assert_num_queries: Any,
) -> None:
    it = now("Q-1043")
    assert it.sheet  # drawn once for all of its spec
    context = {"now": it, "code": tag("Q-1043"), "station": "N"}
    with django_assert_num_queries(0):
        assert hold(context) == rework(context) == {}
