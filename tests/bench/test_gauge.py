"""Entering readings at the bench: what is asked, what is taken, and what is shown of it.

Plausible ranges, doubts and the limits of a press fit are common practice, no source.
"""

from __future__ import annotations

import re
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop.floor import board
from shop.floor.models import Entry, Reading
from shop.people.models import Badge
from tests.bench.screens import Screen, classes, key, said, seen, signed_in, tag
from tests.floor.gauged import holes, measures
from tests.floor.morning import check_tray, now
from tests.people.phones import Clock

pytestmark = pytest.mark.usefixtures("today", "gauging_at_n40")

PAGE = 6  # badge, rights, instrument, steps, readings, gauges


@pytest.fixture
def gauging_at_n40(today: Clock) -> None:
    """N40 gauges the post holes, and the tray of Q-1043 was scanned there."""
    measures("N40", "hole")
    assert check_tray("Q-1043").done


@pytest.fixture
def phone(gauging_at_n40: None) -> Client:
    return signed_in("P-11")


def ask(phone: Client, serial: str = "Q-1043") -> Screen:
    return seen(phone.get(f"/{tag(serial)}/gauge/"))


def send(phone: Client, values: dict[str, str], serial: str = "Q-1043", **more: Any) -> Any:
    sent = {"key": key(), "operation": "N40", "unit": "mm"} | values | more
    return phone.post(f"/{tag(serial)}/gauge/", sent)


def figures(screen: Screen) -> dict[str, str]:
    """What stands in each field, by its name."""
    return {
        one.get("name", ""): one.get("value", "")
        for one in screen.root.iter("input")
        if "figure-in" in classes(one)
    }


def problems(screen: Screen) -> list[str]:
    return screen.of_class("problem")


def units(badge: str, chosen: str) -> Client:
    """A phone of a badge that has lengths in these units."""
    Badge.objects.filter(code=badge).update(units=chosen)
    return signed_in(badge)


# --- what is asked ---


def test_the_instrument_page_leads_to_the_measuring(phone: Client) -> None:
    screen = seen(phone.get(f"/{tag('Q-1043')}"))
    assert screen.links["Measure"] == f"/{tag('Q-1043')}/gauge/"
    assert [one for one in screen.buttons if "Record" in one] == []


def test_each_hole_is_asked_from_the_thickest_string_with_its_post(phone: Client) -> None:
    screen = ask(phone)
    assert screen.heading == "N40 Measure"
    assert list(figures(screen)) == [f"hole {string}" for string in "654321"]
    of_holes = (one for one in screen.root.iter("label") if one.get("for", "").startswith("hole"))
    labels = [said(one) for one in of_holes]
    assert labels[0] == "String 6 left side, first from the nut"
    assert labels[5] == "String 1 right side, first from the nut"


def test_what_is_asked_comes_in_the_order_it_is_measured(phone: Client) -> None:
    measures("N40", "peghead", "worm", "hole")
    check_tray("Q-1043")
    legends = [said(one) for one in ask(phone).root.iter("legend")]
    assert legends == [
        "Peghead thickness, mm",
        "Bench test of one left and one right machine",
        "Post hole, mm",
    ]


def test_an_answer_is_one_of_two_big_choices(phone: Client) -> None:
    measures("N40", "worm")
    check_tray("Q-1043")
    screen = ask(phone)
    assert screen.of_class("answer")[:2] == [
        "Worm nearest the nut, button tightens counter-clockwise",
        "Otherwise",
    ]
    assert send(phone, {"worm L": "1", "worm R": "1"}).status_code == 302
    assert now("Q-1043").readings.at("worm", "R") == 1


def test_before_the_tray_is_scanned_nothing_can_be_entered(phone: Client) -> None:
    check_tray("Q-1043", by="P-14", station="B")
    screen = ask(phone)
    assert figures(screen) == {}
    assert screen.links["Scan the tray"] == f"/{tag('Q-1043')}/tray/"


def test_at_another_station_the_way_is_shown() -> None:
    measures("I30", "hole")
    screen = ask(signed_in("P-31", "N"), "Q-1038")
    assert figures(screen) == {}
    assert "belongs to" in screen.words
    assert screen.links["Set your station"] == "/station/"


def test_where_nothing_is_measured_the_page_says_so(phone: Client) -> None:
    measures("N50", "hole")
    check_tray("Q-1043")
    assert "Nothing is measured here." in ask(phone).words


# --- what is taken ---


def test_measured_values_lead_back_to_the_instrument_and_the_step_can_be_recorded(
    phone: Client,
) -> None:
    answer = send(phone, holes())
    assert answer.status_code == 302
    screen = seen(phone.get(answer["Location"]))
    assert screen.of_class("finding-clear")[0].startswith("Done Recorded.")
    assert "Record N40" in screen.buttons


def test_some_values_are_kept_and_the_others_are_still_asked_for(phone: Client) -> None:
    send(phone, {"hole 6": "8,73", "hole 5": "8.74 mm"})
    assert Reading.objects.filter(instrument__body__serial="Q-1043").count() == 2
    assert "Measure" in seen(phone.get(f"/{tag('Q-1043')}")).buttons
    opened = [one.get("name") for one in ask(phone).root.iter("input") if "data-open" in one.attrib]
    assert opened == [f"hole {string}" for string in "4321"]


def test_the_same_form_sent_twice_is_kept_once(phone: Client) -> None:
    sent = holes() | {"key": key()}
    for _ in range(2):
        assert send(phone, sent).status_code == 302
    assert Reading.objects.filter(instrument__body__serial="Q-1043").count() == 6
    assert Entry.objects.filter(key=sent["key"]).count() == 1


def test_a_form_without_its_key_is_sent_back(phone: Client) -> None:
    answer = phone.post(f"/{tag('Q-1043')}/gauge/", holes() | {"operation": "N40"})
    assert answer.status_code == 400
    assert now("Q-1043").readings.values == ()


def test_a_code_that_hangs_nowhere_is_not_found(phone: Client) -> None:
    assert phone.get("/B000000/gauge/").status_code == 404


# --- what is refused ---


def test_a_value_that_cannot_be_is_told_at_its_field_and_nothing_typed_is_lost(
    phone: Client,
) -> None:
    typed = holes(at_3="873") | {"hole 1": ""}
    screen = seen(send(phone, typed))
    assert problems(screen) == [
        "Stop 873 mm cannot be: post hole is 5\u201313 mm. Measure it and enter it again."
    ]
    assert figures(screen) == typed
    assert "1 value to look at below. Nothing is recorded yet" in screen.words
    assert now("Q-1043").readings.values == ()


def test_what_is_wrong_is_tied_to_its_field(phone: Client) -> None:
    screen = seen(send(phone, holes(at_3="8.7.3")))
    field = screen.one(".//input[@name='hole 3']")
    assert field.get("aria-invalid") == "true"
    told = screen.one(f".//*[@id='{field.get('aria-describedby')}']")
    assert "8.7.3 is no number. Write it as 8.73 or 8,73." in said(told)


def test_a_doubtful_value_is_asked_again_with_a_tick_and_taken_with_it(phone: Client) -> None:
    screen = seen(send(phone, holes(at_3="9.15")))
    (told,) = problems(screen)
    assert told.startswith("Check 9.15 mm? The others are about 8.73 mm. Measure it again, or say")
    assert told.endswith("I measured again: it is so")
    tick = screen.one(".//input[@name='sure']")
    assert tick.get("value") == "hole 3"
    assert "checked" not in tick.attrib
    assert now("Q-1043").readings.values == ()
    send(phone, holes(at_3="9.15"), sure=["hole 3"])
    assert now("Q-1043").readings.at("hole", "3") == Decimal("9.15")


def test_a_value_that_cannot_be_has_no_tick(phone: Client) -> None:
    assert seen(send(phone, {"hole 6": "873"})).root.find(".//input[@name='sure']") is None


def test_nothing_entered_is_said_and_asked_for(phone: Client) -> None:
    screen = seen(send(phone, {}))
    assert "Nothing was entered. Measure and enter." in screen.of_class("finding-stop")[0]


def test_a_refused_form_comes_back_with_a_key_of_its_own(phone: Client) -> None:
    used = key()
    screen = seen(send(phone, {"hole 6": "873"}, key=used))
    assert screen.form(f"/{tag('Q-1043')}/gauge/")["key"] != used


def test_what_enter_would_press_presses_nothing(phone: Client) -> None:
    """HTML Living Standard, implicit submission: a form whose first submit button is disabled
    is not sent by Enter."""
    form = ask(phone).one(".//form[@action='/" + tag("Q-1043") + "/gauge/']")
    first = form.find(".//button")
    assert first is not None
    assert {"disabled", "hidden"} <= set(first.attrib)


# --- what it says ---


@pytest.fixture
def stopped(phone: Client) -> Screen:
    """A hole of 8.95 for a bushing of 8.80."""
    return seen(send(phone, holes(at_3="8.95")))


def test_a_stop_is_shown_as_a_stop_with_the_next_step_and_two_ways_on(stopped: Screen) -> None:
    assert stopped.heading == "Stop"
    assert "Body Q-1043 · R06" in stopped.words
    assert "at string 3" in stopped.of_class("big")[0]
    assert stopped.links["Measure again"] == f"/{tag('Q-1043')}/gauge/"
    assert [one for one in stopped.buttons if one.startswith("Call the")] != []


def test_why_it_stops_is_one_tap_away(stopped: Screen) -> None:
    why = said(stopped.one(".//details"))
    assert why.startswith("Why: Press-in bushing in its hole")
    assert "R06 Press-in bushing in its hole" in why
    assert "Bushing of T01 8." in why
    assert "Hole gauged at string 3 8.95 mm" in why
    assert re.search(r"Reckoned 8\.\S+ \u2212 8\.95 = \u2212\S+ mm", why)
    assert "Limit least press 0.02 mm" in why
    assert "Whose limit common practice" in why


@pytest.mark.usefixtures("stopped")
def test_beside_the_call_stands_measure_again(phone: Client) -> None:
    screen = seen(phone.get(f"/{tag('Q-1043')}"))
    assert screen.links["Measure again"] == f"/{tag('Q-1043')}/gauge/"
    assert [one for one in screen.buttons if one.startswith(("Call", "Record"))] != []
    assert "Record N40" not in screen.buttons


@pytest.mark.usefixtures("stopped")
def test_the_reason_of_a_finding_stands_in_the_history_too(phone: Client) -> None:
    screen = seen(phone.get(f"/{tag('Q-1043')}/history/"))
    assert "Hole gauged at string 3 8.95 mm" in screen.words
    assert "Post hole, string 6 8.73 mm Post hole, string 5 8.73 mm" in screen.words


@pytest.mark.usefixtures("stopped")
def test_measuring_again_clears_the_stop_and_shows_what_it_was(phone: Client, today: Clock) -> None:
    today.now += timedelta(minutes=2)
    screen = ask(phone)
    assert len(figures(screen)) == 6
    assert screen.of_class("earlier")[3] == "now 8.95 mm, Mon 09:30 P-11"
    assert send(phone, {"hole 3": "8.73"}).status_code == 302
    assert "Record N40" in seen(phone.get(f"/{tag('Q-1043')}")).buttons
    assert ask(phone).of_class("earlier")[3] == (
        "now 8.73 mm, Mon 09:32 P-11, was 8.95 mm, Mon 09:30 P-11"
    )


# --- units ---


def test_who_reads_inches_types_and_sees_inches() -> None:
    """11/32 in is 8.73125 mm: an inch is 25.4 mm exactly (international yard and pound
    agreement, 1959)."""
    phone = units("P-11", "inch")
    screen = ask(phone)
    assert [said(one) for one in screen.root.iter("legend")] == ["Post hole, in"]
    assert screen.form(f"/{tag('Q-1043')}/gauge/")["unit"] == "in"
    send(phone, {"hole 6": "0.34375"}, unit="in")
    assert now("Q-1043").readings.at("hole", "6") == Decimal("8.7313")
    assert ask(phone).of_class("earlier") == ["now 0.3438 in, Mon 09:30 P-11"]
    refused = seen(send(phone, {"hole 5": "8.73"}, unit="in"))
    assert "8.7300 in cannot be: post hole is 0.1969\u20130.5118 in." in problems(refused)[0]
    assert figures(refused)["hole 5"] == "8.73"


def test_a_form_drawn_for_inches_stays_in_inches_whoever_sends_it(phone: Client) -> None:
    send(phone, {"hole 6": "0.34375"}, unit="in")
    assert now("Q-1043").readings.at("hole", "6") == Decimal("8.7313")


def test_the_journal_stays_in_millimetres() -> None:
    send(units("P-11", "inch"), {"hole 6": "0.36"}, unit="in", sure=["hole 6"])
    row = board.journal(now("Q-1043").id)[0]
    assert "9.144" in row["findings"][0]["words"]


def test_who_reads_both_sees_the_inch_beside() -> None:
    phone = units("P-11", "both")
    assert "post, hole 6.00 mm (0.2362 in), 6.40 mm (0.2520 in)" in " ".join(
        seen(phone.get(f"/{tag('Q-1043')}")).of_class("ledger")
    )
    why = said(seen(send(phone, holes(at_3="8.95"))).one(".//details"))
    assert "8.95 mm (0.3524 in)" in why


def test_two_people_of_two_units_never_see_each_others_kit_sheet() -> None:
    for chosen, limit in (("mm", "6.00 mm, 6.40 mm"), ("inch", "0.2362 in, 0.2520 in")) * 2:
        shown = seen(units("P-11", chosen).get(f"/{tag('Q-1043')}"))
        assert f"post, hole {limit}" in " ".join(shown.of_class("ledger"))


# --- statements ---


def test_the_page_takes_as_few_statements_with_values_as_without(phone: Client) -> None:
    code = tag("Q-1043")
    phone.get(f"/{code}/gauge/")
    counts = []
    for values in ({}, holes()):
        if values:
            send(phone, values)
        with CaptureQueriesContext(connection) as captured:
            assert phone.get(f"/{code}/gauge/").status_code == 200
        counts.append(len(captured))
    assert counts == [PAGE, PAGE]
