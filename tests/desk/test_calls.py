"""Calls from the benches, badges that are locked, and tags that are lost."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

from shop.floor import door
from shop.floor.models import Entry, HelpCall, Tag
from shop.people import badges
from shop.people.models import Badge
from tests.bench.screens import Screen, key, seen, signed_in, tag
from tests.floor.morning import act, now
from tests.people.phones import Clock, enter

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def phone() -> Client:
    return signed_in("P-01")


def call(whom: str = "lead", serial: str = "Q-1043", words: str = "The peghead is split.") -> int:
    """A call from the neck bench; its number."""
    assert door.record(act(), door.CallMade(now(serial).id, whom, words)).done
    return HelpCall.objects.latest("id").pk


def calls(phone: Client) -> list[str]:
    return seen(phone.get("/calls/")).of_class("finding-stop")


def answer(phone: Client, number: int, by: str | None = None, **more: Any) -> Screen:
    sent = {"key": by or key()}
    return seen(phone.post(f"/calls/{number}/answer/", sent, follow=True, **more))


# --- calls ---


def test_a_call_says_who_calls_from_where_about_which_instrument_and_why(phone: Client) -> None:
    call()
    assert calls(phone) == [
        "P-11 at station N calls the lead Q-1043 The peghead is split. Mon 09:30 I am coming"
    ]


def test_when_nobody_calls_the_page_says_how_calls_come_to_it(phone: Client) -> None:
    assert (
        "Nobody calls. A call comes here when a bench is stopped"
        in seen(phone.get("/calls/")).words
    )


def test_the_clerk_sees_calls_to_the_clerk_alone() -> None:
    call("lead")
    call("clerk", "Q-1044")
    [told] = calls(signed_in("P-41"))
    assert "calls the clerk Q-1044" in told


def test_an_answered_call_leaves_the_page(phone: Client) -> None:
    number = call()
    assert "Nobody calls." in answer(phone, number).words


def test_an_answered_call_keeps_who_answered_and_when(phone: Client, today: Clock) -> None:
    number = call()
    answer(phone, number)
    kept = HelpCall.objects.get(pk=number)
    assert kept.answered_by is not None
    assert (kept.answered_by.code, kept.answered_at) == ("P-01", today.now)


def test_a_call_that_somebody_answered_meanwhile_is_told_and_stays_theirs(phone: Client) -> None:
    number = call("clerk")
    answer(signed_in("P-41"), number)
    screen = answer(phone, number)
    assert "Somebody has answered this call." in screen.of_class("finding-stop")[0]
    kept = HelpCall.objects.get(pk=number)
    assert kept.answered_by is not None
    assert kept.answered_by.code == "P-41"


def test_the_same_answer_sent_twice_is_one_answer(phone: Client) -> None:
    number, by = call(), key()
    first, again = (answer(phone, number, by) for _ in range(2))
    assert first.words == again.words
    assert Entry.objects.filter(key=by).count() == 1


def test_with_script_an_answer_changes_the_list_of_calls_alone(phone: Client) -> None:
    number = call()
    call("lead", "Q-1044")
    sent = {"key": key()}
    screen = seen(phone.post(f"/calls/{number}/answer/", sent, headers={"HX-Request": "true"}))
    assert [one.get("id") for one in screen.root] == ["calls"]
    assert screen.of_class("big") == ["Q-1044"]


def test_with_script_a_call_answered_meanwhile_is_told_in_the_list(phone: Client) -> None:
    number = call("clerk")
    answer(signed_in("P-41"), number)
    headers = {"HX-Request": "true"}
    screen = seen(phone.post(f"/calls/{number}/answer/", {"key": key()}, headers=headers))
    assert "Somebody has answered this call." in screen.words


def test_a_call_that_never_was_is_not_found(phone: Client) -> None:
    assert phone.post("/calls/0/answer/", {"key": key()}).status_code == 404


def test_an_operator_answers_no_calls() -> None:
    number = call()
    answered = signed_in("P-11").post(f"/calls/{number}/answer/", {"key": key()})
    assert answered.status_code == 403
    assert HelpCall.objects.get(pk=number).answered_at is None


# --- badges ---


def enter_wrongly(badge: str, clock: Clock) -> None:
    """Wrong PINs, each after its wait, until the badge is locked."""
    for _ in range(badges.LOCK_AT):
        enter(Client(), badge, "0000")
        clock.pass_s(max(badges.WAITS_S) + 1)
    assert Badge.objects.get(code=badge).locked


def test_a_locked_badge_stands_on_the_page_with_its_wrong_pins(today: Clock) -> None:
    enter_wrongly("P-12", today)
    [told] = seen(signed_in("P-01").get("/badges/")).of_class("finding-stop")
    assert told == "P-12: 7 wrong PINs, locked Unlock P-12"


def test_an_unlocked_badge_signs_in_again(today: Clock) -> None:
    enter_wrongly("P-12", today)
    lead = signed_in("P-01")
    screen = seen(lead.post("/badges/unlock/", {"badge": "P-12"}, follow=True))
    assert "Badge P-12 is unlocked." in screen.of_class("finding-clear")[0]
    assert enter(Client(), "P-12", "1212").status_code == 302


def test_a_badge_that_is_not_locked_says_so(phone: Client) -> None:
    screen = seen(phone.post("/badges/unlock/", {"badge": "P-12"}, follow=True))
    assert "Badge P-12 was not locked." in screen.of_class("finding-stop")[0]


def test_when_no_badge_is_locked_the_page_says_how_badges_come_to_it(phone: Client) -> None:
    assert (
        "No badge is locked. Badges come here after wrong PINs."
        in seen(phone.get("/badges/")).words
    )


def test_nobody_but_a_lead_unlocks_a_badge(today: Clock) -> None:
    enter_wrongly("P-12", today)
    assert signed_in("P-11").post("/badges/unlock/", {"badge": "P-12"}).status_code == 403
    assert Badge.objects.get(code="P-12").locked


# --- tags ---

ADDRESS = "/release/Q-1043/tag/"


def replace(phone: Client, **more: str) -> Screen:
    sent = {"key": key(), "reason": "lost", "mark": "Q-1043"} | more
    return seen(phone.post(ADDRESS, sent, follow=True))


def test_before_a_tag_is_replaced_the_mark_on_the_block_is_to_be_read(phone: Client) -> None:
    words = seen(phone.get(ADDRESS)).words
    assert "Read the mark on the neck block first: it must say Q-1043." in words
    assert "The old tag is void for ever." in words


def test_a_replaced_tag_leads_to_the_papers_to_print(phone: Client) -> None:
    screen = replace(phone)
    assert "The old tag of Q-1043 is void." in screen.of_class("finding-clear")[0]
    assert "Body tag" in screen.links


def test_the_old_code_says_that_it_is_void(phone: Client) -> None:
    old = tag("Q-1043")
    replace(phone)
    [told] = seen(signed_in("P-11").get(f"/{old}")).of_class("finding-stop")
    assert "hung on Q-1043 and is void since 2031-03-03" in told


def test_the_new_code_opens_the_instrument(phone: Client) -> None:
    old = tag("Q-1043")
    replace(phone)
    assert tag("Q-1043") != old
    assert "1043" in seen(signed_in("P-11").get(f"/{tag('Q-1043')}")).of_class("serial")[0]


def test_a_tag_is_not_replaced_without_saying_why(phone: Client) -> None:
    old = tag("Q-1043")
    screen = replace(phone, reason="")
    assert "Say lost or spoilt." in screen.of_class("finding-stop")[0]
    assert tag("Q-1043") == old


def test_a_lost_tag_asks_for_the_mark_that_was_read(phone: Client) -> None:
    old = tag("Q-1043")
    screen = replace(phone, mark="")
    [told] = screen.of_class("finding-stop")
    assert "No mark was read; the lost tag hung on Q-1043." in told
    assert tag("Q-1043") == old


def test_another_mark_than_the_tag_hung_on_is_told_and_stays_chosen(phone: Client) -> None:
    old = tag("Q-1043")
    screen = replace(phone, mark="Q-1044")
    [told] = screen.of_class("finding-stop")
    assert "The mark read is Q-1044; the lost tag hung on Q-1043." in told
    assert screen.one(".//select[@name='mark']/option[@selected]").text == "Q-1044"
    assert screen.one(".//input[@value='lost']").get("checked") is not None
    assert tag("Q-1043") == old


def test_a_spoilt_tag_is_replaced_in_one_tap(phone: Client) -> None:
    old = tag("Q-1043")
    replace(phone, reason="spoilt", mark="")
    assert Tag.objects.get(code=old).void_why == "spoilt"


def test_it_is_told_how_many_tags_were_printed_for_it(phone: Client) -> None:
    assert "1 tag printed for Q-1043 so far." in seen(phone.get(ADDRESS)).words
    replace(phone)
    assert "2 tags printed for Q-1043 so far." in seen(phone.get(ADDRESS)).words


def test_the_tag_of_a_loose_neck_is_replaced_by_the_mark_on_its_heel(phone: Client) -> None:
    old = tag("Q-1043", "neck")
    address = "/release/K-2081/tag/"
    assert "Read the mark on the heel first: it must say K-2081." in seen(phone.get(address)).words
    sent = {"key": key(), "reason": "lost", "mark": "K-2081"}
    assert seen(phone.post(address, sent, follow=True)).heading == "Q-1043 is released"
    assert tag("Q-1043", "neck") != old


def test_the_tag_of_a_part_in_store_is_replaced_too(phone: Client) -> None:
    sent = {"key": key(), "reason": "spoilt"}
    screen = seen(phone.post("/release/Q-1060/tag/", sent, follow=True))
    assert "The old tag of Q-1060 is void." in screen.of_class("finding-clear")[0]
    assert Tag.objects.filter(body__serial="Q-1060").count() == 2


def test_a_neck_that_is_paired_has_no_tag_to_replace(phone: Client) -> None:
    assert phone.get("/release/K-2088/tag/").status_code == 404


def test_the_same_tap_sent_twice_replaces_the_tag_once(phone: Client) -> None:
    by = key()
    replace(phone, key=by)
    once = tag("Q-1043")
    screen = replace(phone, key=by)
    assert screen.heading == "Q-1043 is released"
    assert screen.of_class("finding-stop") == []
    assert tag("Q-1043") == once
    assert Tag.objects.filter(body__serial="Q-1043").count() == 2


def test_a_serial_that_is_not_here_has_no_tag_to_replace(phone: Client) -> None:
    assert phone.get("/release/Q-9999/tag/").status_code == 404


def test_nobody_but_a_lead_replaces_a_tag() -> None:
    old = tag("Q-1043")
    assert signed_in("P-41").post(ADDRESS, {"key": key(), "reason": "lost"}).status_code == 403
    assert tag("Q-1043") == old
