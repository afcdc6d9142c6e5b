"""The end of a shift and the return of the power, on the screen.

What is asked here is common practice, no source.
"""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest
from django.test import Client

from shop.floor import door
from shop.floor.models import Entry
from shop.people import badges
from shop.people.models import Badge
from tests.bench.screens import Screen, said, seen, signed_in
from tests.floor.morning import NOW, act, now, words
from tests.people.phones import Clock

pytestmark = pytest.mark.usefixtures("today")

BOARD = "Q-1043"  # B30 in the hands of P-14
CUT = "Q-1061"  # the joint machine cuts its pocket, P-16 beside it


@pytest.fixture
def lead() -> Client:
    return signed_in("P-01")


def begin(serial: str = BOARD, operation: str = "B30", by: str = "P-14", at: str = "B") -> None:
    outcome = door.record(act(by, at), door.StepStarted(now(serial).id, operation))
    assert outcome.done, words(outcome)


def look(phone: Client, path: str = "/handover/") -> Screen:
    return seen(phone.get(path))


def send(phone: Client, path: str, **sent: str) -> Screen:
    kept = {"key": str(uuid.uuid4())} | sent
    return seen(phone.post(path, kept, follow=True))


def steps(screen: Screen) -> list[str]:
    """Each open step on the list."""
    return [said(one) for one in screen.root.findall(".//ul[@class='plain to-settle']/li")]


# --- what is open ---


def test_with_nothing_open_the_page_says_what_would_stand_there(lead: Client) -> None:
    assert "No step is open." in look(lead).words


def test_every_open_step_stands_there_with_who_has_it_the_oldest_first(
    lead: Client, today: Clock
) -> None:
    begin()
    assert door.record(act("P-13", "B", NOW + timedelta(minutes=1)), door.StepJoined(now(BOARD).id))
    begin(CUT, "J10", "P-16", "J")
    today.now += timedelta(hours=6)
    found = steps(look(signed_in("P-01")))
    assert len(found) == 2
    assert "Q-1043 B30" in found[0]
    assert "With P-14" in found[0]
    assert "Body bench, since Mon 09:30, 6 h" in found[0]
    assert "With P-16" in found[1]


def test_an_operator_hands_over_and_a_trainee_does_not() -> None:
    assert look(signed_in("P-11")).answer.status_code == 200
    assert signed_in("P-25").get("/handover/").status_code == 403


def test_the_way_there_is_on_every_page(lead: Client) -> None:
    assert look(lead).links["Hand-over"] == "/handover/"


# --- handed and parked ---


def test_one_tap_on_a_badge_hands_the_step_to_it_with_the_note(lead: Client) -> None:
    begin()
    screen = send(lead, f"/handover/{BOARD}/", to="P-11", note="Second hole still to ream")
    assert "B30 of Q-1043 is with P-11 now." in screen.words
    one = now(BOARD).open
    assert one is not None
    assert (one.by, one.helpers, one.note) == ("P-11", ("P-14",), "Second hole still to ream")


def test_a_step_is_parked(lead: Client) -> None:
    begin()
    assert "B30 of Q-1043 is parked now." in send(lead, f"/handover/{BOARD}/", to="").words
    one = now(BOARD).open
    assert one is not None
    assert one.parked
    assert "Parked by P-14" in steps(look(lead))[0]


def test_those_signed_off_for_the_station_stand_first(lead: Client) -> None:
    begin(CUT, "J10", "P-16", "J")
    new, trainer = (Badge.objects.get(code=code) for code in ("P-11", "P-01"))
    badges.train(new, "J", trainer, NOW.date())
    screen = look(lead, f"/handover/{CUT}/")
    heads = [said(one) for one in screen.root.iter("h2")]
    assert heads == ["Signed off for Joint", "Others"]
    offered = [one.get("value") for one in screen.root.iter("button") if one.get("name") == "to"]
    assert offered[:2] == ["", "P-11"]
    assert "P-16" not in offered


def test_park_is_the_first_button_so_that_enter_in_the_note_hands_it_to_nobody(
    lead: Client,
) -> None:
    begin()
    form = look(lead, f"/handover/{BOARD}/").one(".//main//form[@method='post']")
    first = next(form.iter("button"))
    assert (first.get("name"), first.get("value")) == ("to", "")


def test_a_badge_that_may_not_have_it_is_said_and_the_note_is_kept(lead: Client) -> None:
    begin()
    screen = send(lead, f"/handover/{BOARD}/", to="P-41", note="Half reamed")
    assert "P-41 records no steps." in screen.words
    assert screen.one(".//input[@id='note']").get("value") == "Half reamed"
    one = now(BOARD).open
    assert one is not None
    assert one.by == "P-14"


def test_a_step_recorded_meanwhile_leads_back_to_the_list(lead: Client) -> None:
    screen = send(lead, f"/handover/{BOARD}/", to="P-11")
    assert "Q-1043 has no step open any more." in screen.words
    assert lead.get("/handover/Q-9999/").status_code == 404


def test_a_second_tap_hands_nothing_twice(lead: Client) -> None:
    begin()
    key = str(uuid.uuid4())
    for _ in range(2):
        send(lead, f"/handover/{BOARD}/", to="P-11", key=key)
    assert Entry.objects.filter(kind="handed").count() == 1


def test_all_that_is_in_hand_is_parked_with_one_note(lead: Client) -> None:
    begin()
    begin(CUT, "J10", "P-16", "J")
    screen = send(lead, "/handover/all/", note="Shift ended")
    assert "Parked: B30 of Q-1043 and J10 of Q-1061." in screen.words
    for serial in (BOARD, CUT):
        one = now(serial).open
        assert one is not None
        assert (one.parked, one.note) == (True, "Shift ended")


def test_parked_twice_is_parked_once(lead: Client) -> None:
    begin()
    key = str(uuid.uuid4())
    send(lead, "/handover/all/", key=key)
    assert "Nothing was in hand any more." in send(lead, "/handover/all/", key=key).words
    assert Entry.objects.filter(kind="handed").count() == 1


def test_a_note_too_long_parks_nothing_and_says_so(lead: Client) -> None:
    begin()
    screen = send(lead, "/handover/all/", note="x" * 201)
    assert "Q-1043: The note has 201 characters; 200 have room." in screen.words
    one = now(BOARD).open
    assert one is not None
    assert not one.parked


# --- the power ---


def test_a_power_cut_is_noted_by_taps_and_lists_what_is_unknown(lead: Client, today: Clock) -> None:
    begin()
    begin(CUT, "J10", "P-16", "J")
    today.now += timedelta(hours=1)
    phone = signed_in("P-01")
    assert "Machine: its cut is unknown until somebody looks" in look(phone, "/power/").words
    screen = send(phone, "/power/", went="30", came="10")
    assert "The power cut is noted." in screen.words
    assert "Mon 10:00 to Mon 10:20" in screen.words
    assert "20 min, noted by P-01. 1 cut unknown." in screen.words
    assert "Q-1061 J10 of P-16: look at the cut" in screen.words
    assert "Q-1043 B30 of P-14: no machine, nothing to look at" in screen.words


@pytest.mark.parametrize(
    ("answer", "told"),
    [
        ("whole", "whole, seen by P-16"),
        ("again", "to be cut again, seen by P-16"),
        ("spoilt", "spoilt, seen by P-16"),
    ],
)
def test_what_was_found_is_told_once_somebody_has_looked(
    today: Clock, answer: str, told: str
) -> None:
    begin(CUT, "J10", "P-16", "J")
    today.now += timedelta(hours=1)
    phone = signed_in("P-01")
    send(phone, "/power/", went="30", came="10")
    seen_it = door.CutSeen(now(CUT).id, answer)
    assert door.record(act("P-16", "J", today.now), seen_it).done
    screen = look(phone, "/power/")
    assert f"Q-1061 J10 of P-16: {told}" in screen.words
    assert "Nothing is unknown any more." in screen.words


def test_a_power_cut_is_noted_by_the_clock(lead: Client) -> None:
    send(lead, "/power/", went_at="2031-03-03T08:10", came_at="2031-03-03T08:25")
    said_so = Entry.objects.get(kind="power cut").data
    assert said_so["began"].startswith("2031-03-03T08:10")
    assert said_so["ended"].startswith("2031-03-03T08:25")
    assert "No step was open." in look(lead, "/power/").words


@pytest.mark.parametrize(
    ("sent", "fault"),
    [
        ({}, "Tap when the power went, or give day and time."),
        ({"went": "30"}, "Tap when it came back, or give day and time."),
        ({"went": "7", "came": "0"}, "Tap one of the list."),
        ({"went_at": "at ten", "came": "0"}, "Give day and time, as 2031-03-14 09:30."),
        (
            {"went": "30", "went_at": "2031-03-03T08:10", "came": "0"},
            "Two moments are given. Empty this one, or tap none.",
        ),
        ({"went": "10", "came": "30"}, "Say when it went and when it came."),
        ({"went": "10", "came_at": "2031-03-03T12:00"}, "that moment is still to come."),
    ],
)
def test_what_is_not_clear_about_a_power_cut_is_said(
    lead: Client, sent: dict[str, str], fault: str
) -> None:
    assert fault in send(lead, "/power/", **sent).words
    assert not Entry.objects.filter(kind="power cut", outcome="recorded").exists()


def test_a_second_tap_notes_no_second_cut(lead: Client) -> None:
    key = str(uuid.uuid4())
    for _ in range(2):
        send(lead, "/power/", went="10", came="5", key=key)
    assert Entry.objects.filter(kind="power cut").count() == 1


@pytest.mark.parametrize("badge", ["P-11", "P-31", "P-41"])
def test_nobody_but_the_lead_notes_a_power_cut(badge: str) -> None:
    phone = signed_in(badge)
    assert phone.get("/power/").status_code == 403
    assert send(phone, "/power/", went="10", came="5").answer.status_code == 403
    assert not Entry.objects.filter(kind="power cut").exists()
