"""The step that is open, on the phones of all who scan its guitar.

How a shift is handed over and what a power cut leaves is common practice, no source.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest
from django.test import Client

from shop.craft.start import OpenStep
from shop.floor import door
from shop.floor.models import Entry, Instrument, Tag
from tests.bench.screens import Screen, key, said, seen, signed_in, tag
from tests.floor.morning import act, now, ready_for, rules
from tests.people.phones import Clock

pytestmark = pytest.mark.usefixtures("today")

SERIAL = "Q-1050"  # paired; the dry fit is next, at Joint: neither tray nor neck to scan


def page(phone: Client, serial: str = SERIAL) -> Screen:
    return seen(phone.get(f"/{tag(serial)}"))


def send(phone: Client, way: str, serial: str = SERIAL, **fields: str) -> Any:
    """Post to one of the ways of an instrument, without script, as far as it leads."""
    return phone.post(f"/{tag(serial)}/{way}/", {"key": key()} | fields, follow=True)


def begin(by: str = "P-16", station: str = "J", serial: str = SERIAL, code: str = "J20") -> None:
    outcome = door.record(act(by, station), door.StepStarted(now(serial).id, code))
    assert outcome.done, rules(outcome)


@pytest.fixture
def joint() -> Client:
    return signed_in("P-16")


@pytest.fixture
def other() -> Client:
    return signed_in("P-17")


# --- begun ---


def test_what_may_be_done_may_be_begun_first(joint: Client) -> None:
    screen = page(joint)
    assert {"Record J20", "Start J20"} <= set(screen.buttons)


def test_begun_without_script_it_is_open_and_still_to_record(joint: Client) -> None:
    screen = seen(send(joint, "start", operation="J20"))
    assert screen.of_class("finding-clear") == ["Done J20 is begun. Record it once it is done."]
    assert screen.of_class("finding-note")[0].startswith("J20 open since Mon 09:30")
    assert "Record J20" in screen.buttons
    assert "Start J20" not in screen.buttons
    assert now(SERIAL).open is not None


def test_with_script_the_answer_is_the_part_that_changed(joint: Client) -> None:
    sent = {"key": key(), "operation": "J20"}
    answer = joint.post(f"/{tag(SERIAL)}/start/", sent, headers={"HX-Request": "true"})
    screen = seen(answer)
    assert [one.get("id") for one in screen.root] == ["work"]
    assert screen.of_class("finding-note")[0].startswith("J20 open since Mon 09:30")


def test_begun_and_recorded_are_two_acts_of_one_page(joint: Client) -> None:
    screen = page(joint)
    address = f"/{tag(SERIAL)}"
    keys = {screen.form(f"{address}/{way}/")["key"] for way in ("start", "record")}
    assert len(keys) == 2


def test_recording_what_is_begun_closes_it(joint: Client) -> None:
    begin()
    assert seen(send(joint, "record", operation="J20")).of_class("finding-clear") != []
    assert now(SERIAL).open is None
    assert "J20" in now(SERIAL).done_codes


def test_where_the_tray_is_still_to_scan_nothing_is_begun() -> None:
    screen = page(signed_in("P-11"), "Q-1043")
    assert "Scan the tray" in screen.buttons
    assert "Start N40" not in screen.buttons


def test_what_is_measured_in_its_course_may_be_begun_before() -> None:
    screen = page(signed_in("P-14"), "Q-1043")
    assert {"Measure", "Start B30"} <= set(screen.buttons)


def test_a_step_begun_before_its_values_are_in_is_recorded_once_they_are() -> None:
    body = signed_in("P-14")
    send(body, "start", "Q-1043", operation="B30")
    ready_for("Q-1043", "B30", "P-14", "B")
    screen = seen(send(body, "record", "Q-1043", operation="B30"))
    assert screen.of_class("finding-clear")[0].startswith("Done Recorded.")
    assert now("Q-1043").open is None


def test_a_clerk_begins_nothing() -> None:
    screen = page(signed_in("P-41", "J"))
    assert "Your badge does not record steps." in screen.words
    assert [one for one in screen.buttons if "J20" in one] == []


# --- two people on one guitar ---


def test_what_another_has_open_says_who_and_offers_to_help(other: Client) -> None:
    begin()
    screen = page(other)
    assert "P-16 has J20 open since Mon 09:30." in screen.of_class("reason")[0]
    assert "Join as helper" in screen.buttons
    assert "Record J20" not in screen.buttons


def test_a_helper_has_joined_and_may_record(other: Client) -> None:
    begin()
    screen = seen(send(other, "join"))
    assert screen.of_class("finding-clear") == ["Done You help with J20."]
    assert "P-16 has it in hand, with P-17." in screen.words
    send(other, "record", operation="J20")
    [done] = [one for one in now(SERIAL).done if one.operation == "J20"]
    assert set(done.hands) == {"P-16", "P-17"}


def test_from_another_station_one_goes_there_first_and_nothing_is_lost() -> None:
    """A polisher scans a guitar that somebody works on at another station."""
    begin()
    polish = signed_in("P-15")
    screen = page(polish)
    assert "Join as helper, or wait until it is recorded." in screen.of_class("reason")[0]
    assert "Join as helper" not in screen.buttons
    form = screen.form("/station/")
    there = polish.post("/station/", form | {"station": "J"}, follow=True)
    assert there.redirect_chain[-1][0] == f"/{tag(SERIAL)}"
    assert "Join as helper" in seen(there).buttons
    assert in_hands_of("P-16").helpers == ()


def in_hands_of(by: str) -> OpenStep:
    """The step that is open on the guitar, in these hands."""
    one = now(SERIAL).open
    assert one is not None
    assert one.by == by
    return one


@pytest.mark.parametrize("body", ["", "B000000", "//evil.example/", "https://evil.example/"])
def test_a_station_is_set_and_leads_to_no_other_place(joint: Client, body: str) -> None:
    answer = joint.post("/station/", {"station": "G", "body": body})
    assert answer["Location"] == "/scan/"


def test_another_step_of_the_guitar_waits_while_you_have_one_open() -> None:
    begin("P-14", "B", "Q-1043", "B30")
    neck = signed_in("P-14", "N")
    screen = page(neck, "Q-1043")
    assert "You have B30 open since Mon 09:30." in screen.of_class("reason")[0]
    assert "Hand over or park B30" in screen.buttons


# --- handed over, parked, taken ---


def test_the_list_has_the_badges_of_the_station_first(joint: Client) -> None:
    begin()
    answer = joint.get(f"/{tag(SERIAL)}/hand/")
    assert [one["code"] for one in answer.context["near"]] == ["P-17"]
    others = [one["code"] for one in answer.context["others"]]
    assert "P-18" in others
    assert {"P-16", "P-17", "P-41", "P-25"}.isdisjoint(others)


def test_a_step_is_handed_to_a_badge_with_a_note(joint: Client, other: Client) -> None:
    begin()
    screen = seen(send(joint, "hand", to="P-17", note="Half done"))
    assert screen.of_class("finding-clear") == ["Done P-17 has J20 in hand now."]
    told = page(other).of_class("finding-note")[0]
    assert "Half done" in told
    assert "Record J20" in page(other).buttons


def test_a_note_in_other_words_wins_over_the_tap(joint: Client) -> None:
    begin()
    send(joint, "hand", to="P-17", note="Half done", words=" Shim 0.1 at the heel ")
    assert in_hands_of("P-17").note == "Shim 0.1 at the heel"


def test_a_parked_step_is_taken_over(joint: Client, other: Client) -> None:
    begin()
    screen = seen(send(joint, "hand", to="", note="My shift ends"))
    assert screen.of_class("finding-clear") == ["Done J20 is parked."]
    told = page(other)
    assert "J20 is parked by P-16 since Mon 09:30: My shift ends." in told.of_class("reason")[0]
    assert "Take it over" in told.buttons
    screen = seen(send(other, "take"))
    assert screen.of_class("finding-clear") == ["Done You have J20 in hand now."]
    assert "Record J20" in screen.buttons


def test_a_badge_that_cannot_take_it_is_told_and_the_note_is_kept(joint: Client) -> None:
    begin()
    answer = send(joint, "hand", to="P-41", words="Shim 0.1")
    assert answer.status_code == 422
    screen = seen(answer)
    assert "P-41 records no steps." in screen.words
    assert screen.one(".//input[@id='words']").get("value") == "Shim 0.1"
    assert in_hands_of("P-16").note == ""


def test_enter_in_the_note_hands_nothing_over(joint: Client) -> None:
    """The first button of a form is what Enter presses (HTML Living Standard, implicit
    submission, from memory); that one is switched off."""
    begin()
    form = seen(joint.get(f"/{tag(SERIAL)}/hand/")).one(f".//form[@action='/{tag(SERIAL)}/hand/']")
    first = next(form.iter("button"))
    assert first.get("disabled") is not None


def test_nothing_open_leads_back_to_the_instrument(joint: Client) -> None:
    for way in ("hand", "left", "cut"):
        answer = joint.get(f"/{tag(SERIAL)}/{way}/")
        assert (answer.status_code, answer["Location"]) == (302, f"/{tag(SERIAL)}")


# --- begun by mistake ---


def test_begun_by_mistake_it_is_open_no_more(joint: Client) -> None:
    begin()
    screen = seen(send(joint, "left", reason="Wrong guitar"))
    assert screen.of_class("finding-clear") == ["Done J20 is open no more: nothing was done."]
    assert now(SERIAL).open is None
    assert Entry.objects.get(kind="left").reason == "Wrong guitar"


def test_begun_by_mistake_asks_how_it_came(joint: Client) -> None:
    begin()
    answer = send(joint, "left")
    assert answer.status_code == 422
    assert "Say why it was begun by mistake." in seen(answer).words
    assert in_hands_of("P-16")


# --- after a power cut ---


@pytest.fixture
def unsure(today: Clock) -> None:
    """The power went while P-16 cut the pocket of Q-1061."""
    begin("P-16", "J", "Q-1061", "J10")
    outcome = door.record(act("P-01", ""), door.CutOpen(now("Q-1061").id))
    assert outcome.done


@pytest.mark.usefixtures("unsure")
def test_a_cut_that_nobody_looked_at_comes_before_all_else(joint: Client) -> None:
    screen = page(joint, "Q-1061")
    assert "the cut is unknown until somebody looks" in screen.of_class("reason")[0]
    assert screen.links["Look at the cut"] == f"/{tag('Q-1061')}/cut/"


@pytest.mark.usefixtures("unsure")
def test_there_are_three_answers_to_how_a_cut_stands(joint: Client) -> None:
    screen = seen(joint.get(f"/{tag('Q-1061')}/cut/"))
    answers = [one for one in screen.root.iter("button") if one.get("name") == "answer"]
    assert [(one.get("value"), said(one)) for one in answers] == [
        ("whole", "The cut is wholeGo on and record it."),
        ("again", "It must be cut againIt stays open until it is cut and recorded."),
        ("spoilt", "It is spoiltNothing more is done on it until the lead has looked."),
    ]


@pytest.mark.usefixtures("unsure")
def test_a_whole_cut_goes_on(joint: Client) -> None:
    screen = seen(send(joint, "cut", "Q-1061", answer="whole"))
    assert screen.of_class("finding-clear") == ["Done How the cut stands is noted."]
    assert "Scan the neck" in screen.buttons


@pytest.mark.usefixtures("unsure")
def test_a_spoilt_cut_stops_the_guitar_until_the_lead_has_looked(joint: Client) -> None:
    screen = seen(send(joint, "cut", "Q-1061", answer="spoilt"))
    assert screen.heading == "Stop"
    assert "the cut is spoilt" in screen.of_class("stop")[0]
    assert "Call the lead" in screen.buttons
    assert [one for one in screen.buttons if "Record" in one] == []


@pytest.mark.usefixtures("unsure")
def test_an_answer_that_is_none_is_asked_for_again(joint: Client) -> None:
    answer = send(joint, "cut", "Q-1061", answer="maybe")
    assert answer.status_code == 422
    assert "Nobody has said yet how the cut at J10 stands." in seen(answer).words


# --- frozen, ended, and reasons in their order ---


def test_a_frozen_guitar_is_a_full_stop_with_its_lead(joint: Client) -> None:
    door.record(act("P-01", ""), door.Frozen(now(SERIAL).id, "Look at the heel"))
    screen = page(joint)
    assert screen.heading == "Stop"
    assert "Look at the heel" in screen.of_class("stop")[0]
    sent = screen.form(f"/{tag(SERIAL)}/call/")
    assert sent["whom"] == "lead"
    assert "Look at the heel" in sent["words"]


def test_an_ended_guitar_is_a_full_stop(joint: Client) -> None:
    Instrument.objects.filter(pk=now(SERIAL).id).update(ended="the top is split")
    assert "has come to its end: the top is split." in page(joint).of_class("stop")[0]


def test_the_first_reason_stands_alone_and_the_others_are_folded() -> None:
    """It dries until 11:25, and it belongs to another station."""
    screen = page(signed_in("P-15"), "Q-1049")
    [first] = screen.of_class("reason")
    assert first.startswith("Wait Ready Mon 11:25.")
    [folded] = screen.of_class("more")
    assert folded.startswith("1 more reason")
    assert "F20 belongs to Frets" in folded


def test_elsewhere_the_station_comes_before_who_may_do_it() -> None:
    screen = page(signed_in("P-11"), "Q-1061")
    assert "J10 belongs to Joint" in screen.of_class("reason")[0]
    assert "P-11 is not signed off for Joint." in screen.of_class("more")[0]


# --- the neck of a pair ---


def neck_beside(phone: Client, code: str) -> Screen:
    return seen(send(phone, "neck", code=code))


def test_at_the_joint_the_neck_of_a_pair_can_be_checked(joint: Client) -> None:
    assert page(joint).links["Check the neck"] == f"/{tag(SERIAL)}/neck/"
    screen = seen(joint.get(f"/{tag(SERIAL)}/neck/"))
    assert "The neck of Q-1050 is K-2088." in screen.words


def test_its_own_neck_belongs_there_and_the_journal_has_it(joint: Client) -> None:
    """Its tag retired when the pair was made, and is still read."""
    code = Tag.objects.get(neck__serial="K-2088").code
    screen = neck_beside(joint, code)
    assert screen.of_class("finding-clear") == [
        "Done K-2088 belongs here: it is the neck of Q-1050."
    ]
    assert Entry.objects.filter(subject=SERIAL).latest("id").kind == "neck seen"


def test_another_neck_stops_both_and_the_screen_says_so(joint: Client) -> None:
    """K-2081 waits for Q-1043, and Q-1050 is cut for K-2088."""
    screen = neck_beside(joint, tag("Q-1043", "neck"))
    assert screen.of_class("big") == [
        "This neck is K-2081 and belongs to Q-1043. Q-1050 is cut for K-2088."
    ]
    assert "Q-1050 and Q-1043 are frozen until the lead has looked." in screen.words
    assert "Call the lead" in screen.buttons
    assert (now(SERIAL).frozen, now("Q-1043").frozen).count(None) == 0


def test_a_neck_read_from_a_photo_is_checked_by_one_more_tap(joint: Client) -> None:
    before = Entry.objects.count()
    code = tag("Q-1043", "neck")
    screen = seen(joint.get(f"/{tag(SERIAL)}/neck/?code={code}"))
    assert "Check this neck" in screen.buttons
    assert Entry.objects.count() == before


# --- the phone's clock ---


def test_what_the_phones_clock_said_is_kept_beside_the_servers(joint: Client) -> None:
    send(joint, "start", operation="J20", clock="2031-03-03T12:41:00.000Z")
    kept = Entry.objects.get(kind="start")
    assert kept.claimed_at == datetime(2031, 3, 3, 12, 41, tzinfo=UTC)
