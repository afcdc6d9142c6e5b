"""Recording with one tap, with and without script, once whatever the network does."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

from shop.floor import board
from shop.floor.models import Entry, Pair, Step, Tag
from tests.bench.screens import Screen, key, seen, signed_in, tag
from tests.floor.morning import now

pytestmark = pytest.mark.usefixtures("today")

# The most a partial answer may weigh.
FRAGMENT_BYTES = 12_000


@pytest.fixture
def phone() -> Client:
    return signed_in("P-11")


@pytest.fixture
def joint() -> Client:
    return signed_in("P-16")


def send(phone: Client, serial: str, operation: str, by: str | None = None, **more: str) -> Any:
    sent = {"key": by or key(), "operation": operation} | more
    return phone.post(f"/{tag(serial)}/record/", sent)


def send_by_htmx(phone: Client, serial: str, operation: str, by: str | None = None) -> Any:
    sent = {"key": by or key(), "operation": operation}
    return phone.post(f"/{tag(serial)}/record/", sent, headers={"HX-Request": "true"})


def steps(serial: str, operation: str) -> int:
    return Step.objects.filter(instrument__body__serial=serial, operation__code=operation).count()


# --- with and without script ---


def test_without_script_the_answer_leads_to_the_page_that_shows_the_outcome(
    phone: Client,
) -> None:
    by = key()
    answer = send(phone, "Q-1055", "N30", by)
    assert (answer.status_code, answer["Location"]) == (302, f"/{tag('Q-1055')}?after={by}")
    screen = seen(phone.get(answer["Location"]))
    assert screen.of_class("finding-clear")[0].startswith("Done Recorded.")


def test_without_script_a_refusal_is_shown_on_the_page_too(phone: Client) -> None:
    answer = send(phone, "Q-1055", "N60")
    screen = seen(phone.get(answer["Location"]))
    assert "N60 Fit the tuning machines comes after" in screen.of_class("finding-stop")[0]


def test_the_page_after_an_act_stands_when_the_address_was_spoilt(phone: Client) -> None:
    answer = phone.get(f"/{tag('Q-1055')}?after=spoilt")
    assert answer.status_code == 200
    assert seen(answer).of_class("finding-clear") == []


def test_with_script_the_answer_is_the_part_of_the_page_that_changed(phone: Client) -> None:
    screen = seen(send_by_htmx(phone, "Q-1055", "N30"))
    assert [one.get("id") for one in screen.root] == ["work"]
    assert screen.of_class("finding-clear")[0].startswith("Done Recorded. 3 of")
    assert screen.heading.startswith("N40")


def test_the_part_of_the_page_weighs_less_than_12_kb(phone: Client) -> None:
    assert len(send_by_htmx(phone, "Q-1055", "N30").content) < FRAGMENT_BYTES


def test_a_refusal_with_script_says_the_same_as_without(phone: Client) -> None:
    plain = seen(phone.get(send(phone, "Q-1055", "N60")["Location"]))
    part = seen(send_by_htmx(phone, "Q-1055", "N60"))
    assert part.of_class("finding-stop") == plain.of_class("finding-stop")


def test_the_next_step_gets_a_key_of_its_own(joint: Client) -> None:
    address = f"/{tag('Q-1050')}/record/"
    first = seen(joint.get(f"/{tag('Q-1050')}")).form(address)
    answer = joint.post(address, first, headers={"HX-Request": "true"})
    assert seen(answer).form(address)["key"] != first["key"]


# --- once ---


def test_the_same_tap_sent_twice_records_once(phone: Client) -> None:
    by = key()
    for _ in range(2):
        send(phone, "Q-1055", "N30", by)
    assert steps("Q-1055", "N30") == 1
    assert Entry.objects.filter(key=by).count() == 1


def test_the_second_of_two_taps_is_told_that_nothing_changed(phone: Client) -> None:
    by = key()
    send_by_htmx(phone, "Q-1055", "N30", by)
    screen = seen(send_by_htmx(phone, "Q-1055", "N30", by))
    assert "This was recorded before; nothing changed." in screen.of_class("finding-clear")[0]


def test_a_step_recorded_by_somebody_else_meanwhile_says_when_and_by_whom(
    phone: Client,
) -> None:
    send(signed_in("P-10"), "Q-1055", "N30")
    screen = seen(send_by_htmx(phone, "Q-1055", "N30"))
    assert "was recorded Mon 09:30 by P-10" in screen.of_class("finding-stop")[0]
    assert steps("Q-1055", "N30") == 1


def test_a_form_without_its_key_is_sent_back(phone: Client) -> None:
    answer = phone.post(f"/{tag('Q-1055')}/record/", {"operation": "N30"})
    assert answer.status_code == 400
    assert steps("Q-1055", "N30") == 0


def test_a_step_at_the_wrong_station_is_refused_with_the_way(phone: Client) -> None:
    screen = seen(send_by_htmx(phone, "Q-1061", "J10"))
    assert "J10 belongs to Joint; this phone is at N." in screen.words
    assert steps("Q-1061", "J10") == 0


def test_a_step_on_a_code_that_hangs_nowhere_is_not_found(phone: Client) -> None:
    answer = phone.post("/B000000/record/", {"key": key(), "operation": "N30"})
    assert answer.status_code == 404


# --- the pair of neck and body ---


def at_joint(joint: Client, serial: str = "Q-1061") -> Screen:
    return seen(joint.get(f"/{tag(serial)}"))


def scan_neck(joint: Client, code: str) -> Any:
    return joint.post(f"/{tag('Q-1061')}/neck/", {"code": code}, follow=True)


def test_where_the_pair_is_made_the_neck_is_asked_for(joint: Client) -> None:
    screen = at_joint(joint)
    assert screen.links["Scan the neck"] == f"/{tag('Q-1061')}/neck/"
    assert [one for one in screen.buttons if "Record" in one] == []


def test_the_neck_screen_says_which_neck_is_waited_for(joint: Client) -> None:
    screen = seen(joint.get(f"/{tag('Q-1061')}/neck/"))
    assert "Q-1061 waits for neck K-2095." in screen.words


def test_the_neck_of_another_body_is_stopped_with_both_serials(joint: Client) -> None:
    screen = seen(scan_neck(joint, tag("Q-1043", "neck")))
    assert "Body Q-1061 · R39" in screen.words
    assert screen.of_class("big") == [
        "This neck is K-2081 and belongs to Q-1043. Q-1061 waits for K-2095."
    ]
    assert screen.of_class("then") == ["Hold both. Call the lead."]
    assert "Call the lead" in screen.buttons


def wrong_neck(joint: Client, body: str) -> list[tuple[str, str]]:
    """Scan the neck of Q-1043 beside a body; what its journal gains."""
    before = Entry.objects.filter(subject=body).count()
    sent = {"code": tag("Q-1043", "neck"), "key": key()}
    joint.post(f"/{tag(body)}/neck/", sent)
    rows = Entry.objects.filter(subject=body).order_by("id")[before:]
    return [(row.kind, row.outcome) for row in rows]


def test_the_wrong_neck_itself_is_in_the_journal(joint: Client) -> None:
    assert wrong_neck(joint, "Q-1061") == [("step", "refused")]
    row = Entry.objects.filter(subject="Q-1061").latest("id")
    assert (row.data["operation"], row.findings[-1]["rule"]) == ("J10", "R39")


def test_a_wrong_neck_beside_a_body_that_has_its_pair_freezes_it_and_records_no_step(
    joint: Client,
) -> None:
    assert wrong_neck(joint, "Q-1050") == [("neck seen", "refused"), ("frozen", "recorded")]
    assert not Step.objects.filter(
        instrument__body__serial="Q-1050", operation__code="J20"
    ).exists()


def test_a_neck_kept_for_no_body_is_stopped_as_well(joint: Client) -> None:
    code = Tag.objects.get(neck__serial="K-2103").code
    assert "K-2103 and is kept for no body yet" in seen(scan_neck(joint, code)).of_class("big")[0]


def test_a_body_tag_in_the_place_of_the_neck_is_no_neck(joint: Client) -> None:
    screen = seen(scan_neck(joint, tag("Q-1061")))
    assert "is no neck's tag" in screen.of_class("big")[0]


def test_the_right_neck_offers_to_record_the_pair(joint: Client) -> None:
    screen = seen(scan_neck(joint, tag("Q-1061", "neck")))
    assert "Record J10" in screen.buttons
    assert screen.form(f"/{tag('Q-1061')}/record/")["neck"] == tag("Q-1061", "neck")


def test_the_right_neck_makes_the_pair(joint: Client) -> None:
    address = f"/{tag('Q-1061')}/record/"
    sent = seen(scan_neck(joint, tag("Q-1061", "neck"))).form(address)
    joint.post(address, sent)
    pair = Pair.objects.get(instrument_id=now("Q-1061").id)
    assert (pair.neck.serial, pair.ended_at) == ("K-2095", None)


@pytest.mark.parametrize("neck", ["", "Q-1043"], ids=["none", "another's"])
def test_a_pair_forced_without_its_neck_is_refused_and_kept_in_the_journal(
    joint: Client, neck: str
) -> None:
    send(joint, "Q-1061", "J10", neck=tag(neck, "neck") if neck else "")
    assert not Pair.objects.filter(instrument_id=now("Q-1061").id)
    row = board.journal(now("Q-1061").id)[0]
    assert (row["kind"], row["outcome"]) == ("step", "refused")
