"""A phone left alone asks for the PIN, and what was on it comes back."""

from __future__ import annotations

import json
from typing import Any

import pytest
from django.conf import settings
from django.test import Client

from shop.people import badges
from tests.people.phones import PIN, Clock, enter, form_to

pytestmark = pytest.mark.usefixtures("operator")

IDLE_S = settings.IDLE_SECONDS + 1
# A step's fields, with what would break a form or a parcel that is not quoted.
REASON = 'Reamed to 8.73 mm; "tight" <left> & 5° – ok\r\nSecond line'
FIELDS: dict[str, str | list[str]] = {
    "key": "0b5f6c1e-9f0f-4b8e-8f0e-3f6a2d9c1a77",
    "operation": "N40",
    "reason": REASON,
    "line": ["4", "7"],
    "empty": "",
}


def sent_as(fields: dict[str, str | list[str]]) -> dict[str, list[str]]:
    return {name: [one] if isinstance(one, str) else one for name, one in fields.items()}


def idle_post(phone: Client, clock: Clock) -> Any:
    """Sign in, wait too long, then send the fields."""
    enter(phone, "P-11")
    clock.pass_s(IDLE_S)
    return phone.post("/probe/?at=N", FIELDS)


def test_until_the_idle_time_is_over_nobody_is_asked(phone: Client, clock: Clock) -> None:
    enter(phone, "P-11")
    clock.pass_s(settings.IDLE_SECONDS)
    assert phone.get("/probe/").status_code == 200


def test_after_the_idle_time_the_page_asks_for_the_pin_of_the_badge_that_had_the_phone(
    phone: Client, clock: Clock
) -> None:
    enter(phone, "P-11")
    clock.pass_s(IDLE_S)
    answer = phone.get("/probe/")
    assert answer.status_code == 401
    assert answer.context["badge"] == "P-11"


def test_work_keeps_the_phone_awake(phone: Client, clock: Clock) -> None:
    enter(phone, "P-11")
    for _ in range(4):
        clock.pass_s(settings.IDLE_SECONDS * 2 // 3)
        assert phone.get("/probe/").status_code == 200


def test_after_the_pin_the_page_that_was_asked_for_comes(phone: Client, clock: Clock) -> None:
    enter(phone, "P-11")
    clock.pass_s(IDLE_S)
    asked = phone.get("/probe/?at=N").context["next"]
    assert enter(phone, "P-11", next=asked).headers["Location"] == "/probe/?at=N"


def test_what_was_sent_from_an_idle_phone_is_not_done(phone: Client, clock: Clock) -> None:
    assert idle_post(phone, clock).status_code == 401


def test_what_was_sent_from_an_idle_phone_is_offered_again_with_the_same_values(
    phone: Client, clock: Clock
) -> None:
    kept = form_to(idle_post(phone, clock), "/sign-in/").values("kept")[0]
    offered = form_to(enter(phone, "P-11", kept=kept), "/probe/?at=N")
    again: dict[str, list[str]] = {}
    for name, value in offered.fields:
        if name != "csrfmiddlewaretoken":
            again.setdefault(name, []).append(value)
    told = phone.post(offered.action, again).json()
    assert told["fields"] == sent_as(FIELDS)


def test_what_another_badge_began_is_offered_with_its_name(phone: Client, clock: Clock) -> None:
    badges.issue("P-12", PIN, ["operator"], "N")
    kept = form_to(idle_post(phone, clock), "/sign-in/").values("kept")[0]
    offered = enter(phone, "P-12", kept=kept).content.decode()
    assert "P-11 began this. Recorded now, it stands under P-12." in offered


def test_what_the_same_badge_began_is_offered_without_a_warning(
    phone: Client, clock: Clock
) -> None:
    kept = form_to(idle_post(phone, clock), "/sign-in/").values("kept")[0]
    assert "began this" not in enter(phone, "P-11", kept=kept).content.decode()


def test_a_wrong_pin_does_not_lose_what_was_kept(phone: Client, clock: Clock) -> None:
    kept = form_to(idle_post(phone, clock), "/sign-in/").values("kept")[0]
    refused = enter(phone, "P-11", "0000", kept=kept)
    assert form_to(refused, "/sign-in/").values("kept") == [kept]


def test_a_scanned_card_does_not_lose_what_was_kept_nor_where_it_led(
    phone: Client, clock: Clock
) -> None:
    card = badges.issue("P-11", PIN, ["operator"], "N").card
    kept = form_to(idle_post(phone, clock), "/sign-in/").values("kept")[0]
    scanned = phone.post("/sign-in/card/", {"code": card, "kept": kept, "next": "/probe/"})
    assert scanned.context["badge"] == "P-11"
    form = form_to(scanned, "/sign-in/")
    assert (form.values("kept"), form.values("next")) == ([kept], ["/probe/"])


def test_a_scanned_tag_that_is_no_card_keeps_what_was_kept_and_says_so(
    phone: Client, clock: Clock
) -> None:
    idle_post(phone, clock)
    scanned = phone.post("/sign-in/card/", {"code": "B7M49Q2", "kept": "{}"})
    assert scanned.status_code == 401
    assert scanned.context["refusal"].words == "That is not a badge card of this shop."
    assert scanned.context["kept"] == "{}"


def test_a_pin_is_never_among_what_is_kept(phone: Client, clock: Clock) -> None:
    enter(phone, "P-11")
    clock.pass_s(IDLE_S)
    kept = phone.post("/probe/", {"pin": PIN, "operation": "N40"}).context["kept"]
    assert json.loads(kept)["fields"] == {"operation": ["N40"]}


def test_the_same_badge_picks_up_its_session_and_form_tokens(phone: Client, clock: Clock) -> None:
    phone = Client(enforce_csrf_checks=True)
    page = phone.get("/sign-in/?badge=P-11")
    token = form_to(page, "/sign-in/").values("csrfmiddlewaretoken")[0]
    page = phone.post("/sign-in/", {"badge": "P-11", "pin": PIN, "csrfmiddlewaretoken": token})
    secret = phone.cookies["csrftoken"].value
    clock.pass_s(IDLE_S)
    asking = phone.get("/probe/")
    token = form_to(asking, "/sign-in/").values("csrfmiddlewaretoken")[0]
    phone.post("/sign-in/", {"badge": "P-11", "pin": PIN, "csrfmiddlewaretoken": token})
    assert phone.cookies["csrftoken"].value == secret
    again = phone.post("/probe/", {"operation": "N40", "csrfmiddlewaretoken": token})
    assert again.json()["badge"] == "P-11"


def test_the_same_badge_is_still_at_the_station_it_chose(phone: Client, clock: Clock) -> None:
    enter(phone, "P-11")
    session = phone.session
    session["station"] = "F"
    session.save()
    phone.cookies[settings.SESSION_COOKIE_NAME] = session.session_key or ""
    clock.pass_s(IDLE_S)
    enter(phone, "P-11")
    assert phone.get("/probe/").json()["station"] == "F"


@pytest.mark.usefixtures("other")
def test_another_badge_starts_a_fresh_session_at_its_own_station(
    phone: Client, clock: Clock
) -> None:
    enter(phone, "P-11")
    phone.get("/sign-in/")
    session = phone.session
    session["found"] = "Q-1043"
    session.save()
    phone.cookies[settings.SESSION_COOKIE_NAME] = session.session_key or ""
    secret = phone.cookies["csrftoken"].value
    clock.pass_s(IDLE_S)
    enter(phone, "P-14")
    assert "found" not in phone.session
    assert phone.get("/probe/").json()["station"] == "B"
    assert phone.cookies["csrftoken"].value != secret


def test_after_a_change_of_pin_the_new_one_signs_in_at_the_first_go(
    phone: Client, clock: Clock
) -> None:
    enter(phone, "P-11")
    badges.issue("P-11", "8888", ["operator"], "N")
    clock.pass_s(IDLE_S)
    enter(phone, "P-11", "8888")
    assert phone.get("/probe/").status_code == 200


def test_a_change_of_pin_ends_the_sessions_that_used_the_old_one(
    phone: Client, clock: Clock
) -> None:
    enter(phone, "P-11")
    badges.issue("P-11", "8888", ["operator"], "N")
    clock.pass_s(1)
    assert phone.get("/probe/").status_code == 401


def test_a_partial_change_on_an_idle_phone_gets_the_pad_alone_laid_over_the_page(
    phone: Client, clock: Clock
) -> None:
    enter(phone, "P-11")
    clock.pass_s(IDLE_S)
    answer = phone.post("/probe/", FIELDS, headers={"HX-Request": "true"})
    assert (answer.status_code, answer.headers["HX-Retarget"]) == (401, "#lock")
    assert b"<html" not in answer.content


def test_the_right_pin_on_the_pad_takes_it_off_the_page(phone: Client, clock: Clock) -> None:
    enter(phone, "P-11")
    clock.pass_s(IDLE_S)
    answer = phone.post("/sign-in/pad/", {"pin": PIN}, headers={"HX-Request": "true"})
    assert answer.content == b""
    assert phone.get("/probe/").status_code == 200


def test_a_wrong_pin_on_the_pad_leaves_the_phone_locked(phone: Client, clock: Clock) -> None:
    enter(phone, "P-11")
    clock.pass_s(IDLE_S)
    answer = phone.post("/sign-in/pad/", {"pin": "0000"}, headers={"HX-Request": "true"})
    assert answer.context["refusal"].words == "Wrong PIN."
    assert phone.get("/probe/").status_code == 401


@pytest.mark.usefixtures("clock")
def test_the_page_itself_may_lock_the_phone_at_once(phone: Client) -> None:
    enter(phone, "P-11")
    phone.post("/sign-in/pad/", headers={"HX-Request": "true"})
    assert phone.get("/probe/").status_code == 401


@pytest.mark.usefixtures("clock")
def test_signing_out_leaves_nothing_of_the_session_behind(phone: Client) -> None:
    enter(phone, "P-11")
    phone.post("/sign-out/")
    assert phone.get("/probe/").context["badge"] == ""
