"""The tray beside the body: scanned before hardware goes on, and stopped when it is wrong."""

from __future__ import annotations

import pytest
from django.test import Client

from shop.catalogue import book
from shop.floor import board, door
from shop.floor.models import Entry, Instrument, Step
from shop.stock import ledger
from tests.bench.screens import Screen, key, seen, signed_in, tag
from tests.floor.morning import NOW, act, now, pick, ready_for, step

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def phone() -> Client:
    return signed_in("P-11")


def check(phone: Client, serial: str, code: str, **more: str) -> Screen:
    """Scan a tray's label beside an instrument."""
    return seen(phone.post(f"/{tag(serial)}/tray/", {"key": key(), "code": code} | more))


def record(phone: Client, serial: str, operation: str, **more: str) -> Screen:
    """Record without script: the page that the answer leads to."""
    sent = {"key": key(), "operation": operation} | more
    return seen(phone.post(f"/{tag(serial)}/record/", sent, follow=True))


def newest(serial: str) -> Entry:
    return Entry.objects.filter(subject=serial).latest("id")


def partial_tray(serial: str = "Q-1062") -> str:
    """An instrument measured for N40, its tray closed with the strap button missing, which
    is promised for noon."""
    ledger.expect(book.item_ids(["E04"])["E04"], 1, NOW.date())
    tray_id = pick(serial, short=("E04",))
    closed = door.record(act("P-41", "K", reason="It follows"), door.TrayClosed(tray_id))
    assert closed.done, closed.findings
    for operation in ("N10", "N20", "N30"):
        ready_for(serial, operation)
        assert step(serial, operation).done
    ready_for(serial, "N40")
    return now(serial).tray_code


# --- the tray comes first ---


def test_where_hardware_goes_on_the_tray_is_asked_for_and_nothing_can_be_recorded(
    phone: Client,
) -> None:
    screen = seen(phone.get(f"/{tag('Q-1043')}"))
    assert screen.links["Scan the tray"] == f"/{tag('Q-1043')}/tray/"
    assert [one for one in screen.buttons if "Record" in one] == []
    assert screen.root.find(".//form[@id='record']") is None


def test_a_step_forced_past_the_tray_is_refused_with_the_reason(phone: Client) -> None:
    screen = record(phone, "Q-1043", "N40")
    assert "the tray of Q-1043 is not scanned here yet" in screen.of_class("finding-stop")[0]
    assert not Step.objects.filter(instrument__body__serial="Q-1043", operation__code="N40")


def test_a_step_forced_past_the_tray_is_kept_in_the_journal(phone: Client) -> None:
    record(phone, "Q-1043", "N40")
    row = newest("Q-1043")
    assert (row.kind, row.outcome, row.data["operation"]) == ("step", "refused", "N40")
    assert row.findings[0]["rule"] == "tray scan"


def test_the_tray_screen_asks_for_the_label_of_the_tray(phone: Client) -> None:
    screen = seen(phone.get(f"/{tag('Q-1043')}/tray/"))
    assert screen.heading == "Scan the tray's label"
    assert screen.links["Back to Q-1043"] == f"/{tag('Q-1043')}"


def test_the_right_tray_fits_and_offers_to_record(phone: Client) -> None:
    ready_for("Q-1043", "N40")
    screen = check(phone, "Q-1043", now("Q-1043").tray_code)
    assert screen.of_class("finding-clear")[0].startswith("Fits This is the tray of Q-1043")
    assert "Record N40" in screen.buttons


def test_with_the_right_tray_checked_the_step_is_recorded(phone: Client) -> None:
    ready_for("Q-1043", "N40")
    check(phone, "Q-1043", now("Q-1043").tray_code)
    screen = record(phone, "Q-1043", "N40")
    assert screen.of_class("finding-clear")[0].startswith("Done Recorded. 6 of 32 done")
    assert screen.heading.startswith("N50")


def test_the_recorded_step_has_its_row_in_the_journal(phone: Client) -> None:
    ready_for("Q-1043", "N40")
    check(phone, "Q-1043", now("Q-1043").tray_code)
    record(phone, "Q-1043", "N40")
    newest_row = board.journal(now("Q-1043").id)[0]
    assert (newest_row["kind"], newest_row["outcome"]) == ("step", "recorded")
    assert (newest_row["by__code"], newest_row["station"]) == ("P-11", "N")
    assert newest_row["data"]["operation"] == "N40"


def test_a_tray_checked_at_another_bench_is_asked_for_again_here(phone: Client) -> None:
    check(signed_in("P-14"), "Q-1043", now("Q-1043").tray_code)
    assert "Scan the tray" in seen(phone.get(f"/{tag('Q-1043')}")).buttons


def test_a_code_out_of_a_photo_waits_for_a_tap_before_it_counts(phone: Client) -> None:
    """The photo page sends the code on without the key of an act."""
    code = now("Q-1043").tray_code
    screen = seen(phone.post(f"/{tag('Q-1043')}/tray/", {"code": code}))
    assert "Check this tray" in screen.buttons
    sent = screen.form(f"/{tag('Q-1043')}/tray/")
    assert sent["code"] == code
    checked = seen(phone.post(f"/{tag('Q-1043')}/tray/", sent))
    assert checked.of_class("finding-clear")[0].startswith("Fits")


# --- the wrong tray ---


def test_a_swapped_tray_names_both_serials_before_anything_else(phone: Client) -> None:
    screen = check(phone, "Q-1043", now("Q-1058").tray_code)
    assert screen.heading == "Stop"
    assert "is for Q-1058. The body in front of you is Q-1043." in screen.of_class("big")[0]


def test_a_swapped_tray_that_would_fit_is_stopped_all_the_same(phone: Client) -> None:
    """Q-1041 takes the same kit, of the same revision."""
    screen = check(phone, "Q-1043", now("Q-1041").tray_code)
    assert "is for Q-1041. The body in front of you is Q-1043." in screen.of_class("big")[0]


def test_a_swapped_tray_says_what_to_do_and_offers_one_call(phone: Client) -> None:
    screen = check(phone, "Q-1043", now("Q-1058").tray_code)
    assert "fetch the tray of Q-1043" in screen.of_class("then")[0]
    assert [one for one in screen.buttons if one.startswith("Call")] == ["Call the clerk"]


def test_a_swapped_tray_is_kept_in_the_journal_as_refused(phone: Client) -> None:
    code = now("Q-1058").tray_code
    check(phone, "Q-1043", code)
    row = newest("Q-1043")
    assert (row.kind, row.outcome, row.data["tray_code"]) == ("tray", "refused", code)
    assert row.findings[0]["rule"] == "tray"


def test_after_a_stop_the_tray_is_asked_for_again_and_nothing_is_recorded(phone: Client) -> None:
    check(phone, "Q-1043", now("Q-1058").tray_code)
    assert "Scan the tray" in seen(phone.get(f"/{tag('Q-1043')}")).buttons
    screen = record(phone, "Q-1043", "N40")
    assert "was stopped at its last check" in screen.of_class("finding-stop")[0]


def test_a_stop_leads_back_to_the_scan_and_to_the_instrument(phone: Client) -> None:
    links = check(phone, "Q-1043", now("Q-1058").tray_code).links
    assert links["Scan again"] == f"/{tag('Q-1043')}/tray/"
    assert links["Back to Q-1043"] == f"/{tag('Q-1043')}"


def test_the_call_carries_the_words_of_the_stop_to_the_clerk(phone: Client) -> None:
    stopped = check(phone, "Q-1043", now("Q-1058").tray_code)
    address = f"/{tag('Q-1043')}/call/"
    called = seen(phone.post(address, stopped.form(address)))
    assert "The clerk is called to Neck bench for Q-1043." in called.words
    calls = seen(signed_in("P-41").get("/calls/")).of_class("finding-stop")
    assert "P-11 at station N calls the clerk Q-1043" in calls[0]
    assert "is for Q-1058. The body in front of you is Q-1043." in calls[0]


def test_the_same_call_sent_twice_is_one_call(phone: Client) -> None:
    stopped = check(phone, "Q-1043", now("Q-1058").tray_code)
    address = f"/{tag('Q-1043')}/call/"
    for _ in range(2):
        phone.post(address, stopped.form(address))
    assert len(board.calls(["clerk"])) == 1


def test_a_call_to_nobody_says_who_can_be_called(phone: Client) -> None:
    sent = {"key": key(), "whom": "boss", "words": ""}
    screen = seen(phone.post(f"/{tag('Q-1043')}/call/", sent))
    assert "Call clerk or lead." in screen.of_class("finding-stop")[0]


def test_machines_in_the_wrong_wells_are_counted_out_in_words(phone: Client) -> None:
    """The demo's twelve-string lies 7 and 5 in its wells; R04 wants as many as posts a side."""
    screen = check(phone, "Q-1058", now("Q-1058").tray_code)
    assert screen.of_class("big") == [
        "7 left and 5 right in the tray. This head needs 6 left and 6 right, seen from the front."
    ]
    assert "Body Q-1058 · R04" in screen.words
    assert "exchanges 1 left machine for right" in screen.of_class("then")[0]


def test_a_tray_that_the_clerk_has_not_closed_goes_back(phone: Client) -> None:
    screen = check(phone, "Q-1044", now("Q-1044").tray_code)
    assert "is not closed by the clerk yet" in screen.of_class("big")[0]


def test_a_body_tag_in_the_place_of_a_label_is_no_tray(phone: Client) -> None:
    screen = check(phone, "Q-1043", tag("Q-1043"))
    assert "No tray here carries" in screen.of_class("big")[0]


def test_a_label_that_cannot_be_read_is_told_and_keeps_no_row(phone: Client) -> None:
    before = Entry.objects.count()
    screen = check(phone, "Q-1043", "T12")
    assert "is not one of this workshop's codes" in screen.of_class("big")[0]
    assert Entry.objects.count() == before


# --- with a warning ---


def test_a_partial_tray_is_a_check_that_names_what_is_missing(phone: Client) -> None:
    screen = check(phone, "Q-1062", partial_tray())
    [told] = screen.of_class("finding-warn")[:1]
    assert told.startswith("Check PARTIAL tray, 1 line still to come: E04")


def test_to_go_on_with_a_partial_tray_a_reason_is_asked(phone: Client) -> None:
    screen = check(phone, "Q-1062", partial_tray())
    assert "Why do you go on?" in screen.words
    radios = [one for one in screen.root.iter("input") if one.get("type") == "radio"]
    reasons = [one for one in radios if one.get("name") == "reason"]
    assert len(reasons) == 3
    assert "Record N40" in screen.buttons


def test_without_a_reason_a_partial_tray_is_refused(phone: Client) -> None:
    check(phone, "Q-1062", partial_tray())
    screen = record(phone, "Q-1062", "N40")
    assert "Say why you go on with it." in screen.of_class("finding-warn")[0]
    assert newest("Q-1062").outcome == "refused"


def test_with_a_reason_a_partial_tray_is_recorded_and_the_reason_kept(phone: Client) -> None:
    check(phone, "Q-1062", partial_tray())
    screen = record(phone, "Q-1062", "N40", reason="The lead agreed")
    assert screen.of_class("finding-clear")[0].startswith("Done Recorded.")
    row = newest("Q-1062")
    assert (row.outcome, row.reason) == ("recorded", "The lead agreed")


# --- trainee and clerk ---


def test_a_trainee_sees_the_instrument_and_who_signs_beside() -> None:
    screen = seen(signed_in("P-25").get(f"/{tag('Q-1055')}"))
    assert screen.heading.startswith("N30")
    assert "A trainer signs beside you" in screen.buttons
    assert [one for one in screen.buttons if "Record" in one] == []


def test_a_trainee_may_scan_the_tray() -> None:
    trainee = signed_in("P-25")
    assert "Scan the tray" in seen(trainee.get(f"/{tag('Q-1043')}")).buttons
    screen = check(trainee, "Q-1043", now("Q-1043").tray_code)
    assert screen.of_class("finding-clear")[0].startswith("Fits")


def test_a_step_sent_by_a_trainee_alone_is_not_recorded() -> None:
    sent = {"key": key(), "operation": "N30"}
    answer = signed_in("P-25").post(f"/{tag('Q-1055')}/record/", sent, follow=True)
    assert "a trainer signs beside you" in seen(answer).of_class("finding-stop")[0]
    assert not Step.objects.filter(instrument__body__serial="Q-1055", operation__code="N30")


def test_the_clerk_is_offered_no_tray_check_at_a_bench() -> None:
    screen = seen(signed_in("P-41", "N").get(f"/{tag('Q-1043')}"))
    assert "An operator of this station records." in screen.words
    assert "Scan the tray" not in screen.buttons


def test_the_tray_of_a_void_tag_is_nobodys(phone: Client) -> None:
    code = tag("Q-1043")
    assert door.record(act("P-01", reason="lost"), door.TagReplaced(code)).done
    assert phone.get(f"/{code}/tray/").status_code == 404
    assert Instrument.objects.get(body__serial="Q-1043").checked_version is None
