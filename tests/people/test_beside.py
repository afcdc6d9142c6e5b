"""A second badge beside the one at the phone: how it comes, and everything that ends it."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from django.conf import settings
from django.contrib.auth.models import Group, Permission
from django.test import Client
from django.urls import reverse

from shop.people import badges
from shop.people.models import Badge
from tests.bench.screens import seen
from tests.people.phones import PIN, Clock, enter, form_to

pytestmark = pytest.mark.usefixtures("operator", "other", "clock")

IDLE_S = settings.IDLE_SECONDS + 1
WRONG = "0000"


@pytest.fixture
def trainee(db: None) -> Badge:
    return badges.issue("P-25", PIN, ["trainee"], "N")


@pytest.fixture
def mine(phone: Client, trainee: Badge) -> Client:
    """A phone that trainee P-25 is signed in on."""
    assert enter(phone, "P-25").status_code == 302
    return phone


def stand(phone: Client, badge: str = "P-11", pin: str = PIN, **more: str) -> Any:
    return phone.post("/beside/", {"badge": badge, "pin": pin, **more})


def at_side(phone: Client) -> str:
    """The badge beside, or nothing."""
    badge = badges.beside(phone.session)
    return badge.code if badge else ""


# --- how it comes ---


def test_badge_and_pin_bring_a_second_badge_beside(mine: Client) -> None:
    assert at_side(mine) == ""
    assert stand(mine).status_code == 302
    assert at_side(mine) == "P-11"


def test_whoever_holds_the_phone_still_holds_it(mine: Client) -> None:
    stand(mine)
    assert seen(mine.get("/beside/")).one(".//header//b").text == "P-25"


def test_the_page_says_what_a_second_badge_is_for(mine: Client) -> None:
    words = seen(mine.get("/beside/")).words
    assert "A trainer or witness signs beside you: each record then carries both badges." in words


def test_badges_that_record_are_there_to_tap_and_ones_own_is_not(mine: Client) -> None:
    badges.issue("P-41", PIN, ["kitting clerk"])
    badges.issue("P-26", PIN, ["trainee"])
    badges.issue("P-01", PIN, ["lead"])
    badges.issue("P-12", PIN, ["operator"])
    Badge.objects.filter(code="P-12").update(is_active=False)
    offered = [one["code"] for one in mine.get("/beside/").context["badges"]]
    assert offered == ["P-01", "P-11", "P-14"]


def test_an_operator_takes_a_witness_and_is_not_offered_themself(phone: Client) -> None:
    enter(phone, "P-11")
    offered = [one["code"] for one in phone.get("/beside/").context["badges"]]
    assert offered == ["P-14"]
    stand(phone, "P-14")
    assert at_side(phone) == "P-14"


def test_a_tapped_badge_is_asked_for_its_pin(mine: Client) -> None:
    screen = seen(mine.get("/beside/", {"badge": "P-11", "next": "/screens/"}))
    assert screen.heading == "Badge P-11 beside you"
    assert "Hand the phone to P-11 for the PIN." in screen.words
    assert screen.form("/beside/") == {"badge": "P-11", "next": "/screens/"}


def test_a_scanned_card_is_asked_for_its_pin_and_keeps_the_way_back(mine: Client) -> None:
    card = Badge.objects.get(code="P-11").card
    answer = mine.post("/beside/card/", {"code": card, "next": "/screens/"})
    form = form_to(answer, "/beside/")
    assert (form.values("badge"), form.values("next")) == (["P-11"], ["/screens/"])
    assert at_side(mine) == ""


@pytest.mark.parametrize("code", ["B7M49Q2", "", "W000000", "https://192.0.2.7/menu"])
def test_what_is_no_badge_card_is_said_to_be_none(mine: Client, code: str) -> None:
    answer = mine.post("/beside/card/", {"code": code, "next": "/screens/"})
    assert answer.status_code == 401
    assert answer.context["refusal"].words == "That is not a badge card of this shop."
    assert form_to(answer, "/beside/card/").values("next") == ["/screens/"]


def test_the_one_who_came_last_stands_beside(mine: Client) -> None:
    stand(mine)
    stand(mine, "P-14")
    assert at_side(mine) == "P-14"


# --- who does not come ---


@pytest.mark.parametrize("typed", ["P-25", " p-25 ", "P-25\0"])
def test_the_badge_that_holds_the_phone_cannot_stand_beside_itself(
    phone: Client, trainee: Badge, typed: str
) -> None:
    """Even one that may record, and however its number is typed."""
    trainee.groups.add(Group.objects.get(name="operator"))
    enter(phone, "P-25")
    answer = stand(phone, typed)
    assert answer.status_code == 401
    assert answer.context["refusal"].words == "P-25 holds this phone already."
    assert at_side(phone) == ""


def test_the_card_of_whoever_holds_the_phone_is_said_to_be_theirs(
    mine: Client, trainee: Badge
) -> None:
    answer = mine.post("/beside/card/", {"code": trainee.card})
    assert answer.context["refusal"].words == "P-25 holds this phone already."


@pytest.mark.parametrize("role", ["trainee", "kitting clerk"])
def test_a_badge_that_records_no_steps_cannot_stand_beside(mine: Client, role: str) -> None:
    badges.issue("P-42", PIN, [role])
    answer = stand(mine, "P-42")
    assert answer.status_code == 401
    assert answer.context["refusal"].words.startswith("P-42 records no steps")
    assert at_side(mine) == ""


def test_a_wrong_pin_brings_nobody_and_counts_against_that_badge(mine: Client) -> None:
    answer = stand(mine, pin=WRONG)
    assert answer.context["refusal"].words == "Wrong PIN."
    assert at_side(mine) == ""
    assert Badge.objects.get(code="P-11").wrong_pins == 1
    assert Badge.objects.get(code="P-25").wrong_pins == 0


def test_wrong_pins_beside_and_at_sign_in_count_together(mine: Client) -> None:
    enter(Client(), "P-11", WRONG)
    enter(Client(), "P-11", WRONG)
    assert stand(mine, pin=WRONG).context["refusal"].words == "Wrong PIN. Wait 10 s."
    assert stand(mine).context["refusal"].words == "Wait 11 s before the next try."
    assert enter(Client(), "P-11").status_code == 401
    assert at_side(mine) == ""


def test_after_the_wait_the_right_pin_brings_the_badge_and_forgets_the_wrong_ones(
    mine: Client, clock: Clock
) -> None:
    for _ in range(3):
        stand(mine, pin=WRONG)
    clock.pass_s(10)
    assert stand(mine).status_code == 302
    assert Badge.objects.get(code="P-11").wrong_pins == 0


def test_seven_wrong_pins_lock_the_badge_for_signing_in_too(mine: Client, clock: Clock) -> None:
    for _ in range(7):
        stand(mine, pin=WRONG)
        clock.pass_s(600)  # the longest wait there is; the phone locks meanwhile
        enter(mine, "P-25")
    assert "locked" in stand(mine).context["refusal"].words
    assert enter(Client(), "P-11").status_code == 401


def test_a_wrong_pin_keeps_the_badge_and_the_way_back(mine: Client) -> None:
    form = form_to(stand(mine, pin=WRONG, next="/screens/"), "/beside/")
    assert (form.values("badge"), form.values("next")) == (["P-11"], ["/screens/"])


def test_a_form_without_a_pin_asks_for_it_and_counts_nothing(mine: Client) -> None:
    answer = mine.post("/beside/", {"badge": "P-11"})
    assert seen(answer).heading == "Badge P-11 beside you"
    assert Badge.objects.get(code="P-11").wrong_pins == 0


def test_an_empty_pin_is_a_wrong_one(mine: Client) -> None:
    assert stand(mine, pin="").status_code == 401
    assert Badge.objects.get(code="P-11").wrong_pins == 1


@pytest.mark.parametrize("badge", ["", "P-99", "<i>", "\0"])
def test_a_badge_that_is_none_brings_nobody(mine: Client, badge: str) -> None:
    answer = stand(mine, badge)
    assert answer.status_code == 401
    assert "is not known here." in answer.context["refusal"].words
    assert b"<i>" not in answer.content.lower()
    assert at_side(mine) == ""


# --- the way back ---


def test_signing_beside_leads_back_to_where_it_was_asked_from(mine: Client) -> None:
    assert stand(mine, next="/probe/?at=N").headers["Location"] == "/probe/?at=N"


@pytest.mark.parametrize("address", ["/beside/", "/beside/end/"])
@pytest.mark.parametrize(
    "outside",
    [
        "",
        "//evil.example/",
        "///evil.example/",
        "https://evil.example/",
        "http:evil.example",
        "/\\evil.example/",
        "\\\\evil.example/",
        "javascript:alert(1)",
        "\t//evil.example/",
        "//testserver@evil.example/",
    ],
)
def test_the_way_back_never_leads_out_of_the_shop(mine: Client, address: str, outside: str) -> None:
    """The forms are those of the OWASP cheat sheet on unvalidated redirects (CWE-601), from
    memory.
    """
    answer = mine.post(address, {"badge": "P-11", "pin": PIN, "next": outside})
    assert answer.headers["Location"] == reverse("bench:scan")


# --- everything that ends it ---


@pytest.fixture
def two(mine: Client) -> Client:
    """P-25 at the phone with P-11 beside."""
    stand(mine)
    assert at_side(mine) == "P-11"
    return mine


def test_done_ends_it_and_leads_back(two: Client) -> None:
    answer = two.post("/beside/end/", {"next": "/screens/"})
    assert answer.headers["Location"] == "/screens/"
    assert at_side(two) == ""


def test_done_with_nobody_beside_changes_nothing(mine: Client) -> None:
    assert mine.post("/beside/end/").status_code == 302
    assert at_side(mine) == ""


def test_work_keeps_the_second_badge_beside(two: Client, clock: Clock) -> None:
    for _ in range(4):
        clock.pass_s(settings.IDLE_SECONDS * 2 // 3)
        two.get("/beside/")
    assert at_side(two) == "P-11"


def test_until_the_idle_time_is_over_it_stays(two: Client, clock: Clock) -> None:
    clock.pass_s(settings.IDLE_SECONDS)
    two.get("/beside/")
    assert at_side(two) == "P-11"


def test_an_idle_phone_has_nobody_beside_after_the_pin_either(two: Client, clock: Clock) -> None:
    clock.pass_s(IDLE_S)
    two.get("/beside/")
    assert at_side(two) == ""
    enter(two, "P-25")
    assert at_side(two) == ""


def test_the_first_request_of_an_idle_phone_may_be_the_pin_itself(
    two: Client, clock: Clock
) -> None:
    clock.pass_s(IDLE_S)
    enter(two, "P-25")
    assert two.get("/beside/").status_code == 200
    assert at_side(two) == ""


def test_the_pad_over_the_page_brings_back_the_page_and_nobody_beside(two: Client) -> None:
    two.post("/sign-in/pad/")  # the phone locks itself
    two.post("/sign-in/pad/", {"pin": PIN})
    assert two.get("/beside/").status_code == 200
    assert at_side(two) == ""


def test_signing_out_ends_it(two: Client) -> None:
    two.post("/sign-out/")
    assert at_side(two) == ""
    enter(two, "P-25")
    assert at_side(two) == ""


def test_another_badge_at_the_phone_has_nobody_beside(two: Client) -> None:
    enter(two, "P-14")
    assert at_side(two) == ""


def test_the_badge_beside_may_take_the_phone_and_stands_beside_nobody_then(two: Client) -> None:
    enter(two, "P-11")
    assert at_side(two) == ""


@pytest.mark.parametrize("changed", [{"is_active": False}, {"locked": True}])
def test_a_badge_that_is_switched_off_or_locked_counts_no_longer(
    two: Client, changed: dict[str, bool]
) -> None:
    Badge.objects.filter(code="P-11").update(**changed)
    assert at_side(two) == ""


def test_a_badge_that_may_not_record_any_more_counts_no_longer(two: Client) -> None:
    Group.objects.get(name="operator").permissions.remove(
        Permission.objects.get(codename="step_record")
    )
    assert at_side(two) == ""


def test_a_lead_stands_beside_by_the_rights_of_a_lead(mine: Client) -> None:
    badges.issue("P-01", PIN, ["lead"])
    stand(mine, "P-01")
    assert at_side(mine) == "P-01"


def test_a_badge_that_may_all_stands_beside_without_a_role(mine: Client) -> None:
    Badge.objects.create_superuser("P-99", PIN)
    assert "P-99" in [one["code"] for one in mine.get("/beside/").context["badges"]]
    stand(mine, "P-99")
    assert at_side(mine) == "P-99"


def test_asking_who_stands_beside_takes_one_statement_and_none_for_nobody(
    two: Client, django_assert_num_queries: Any
) -> None:
    with django_assert_num_queries(1):
        assert at_side(two) == "P-11"
    two.post("/beside/end/")
    with django_assert_num_queries(0):
        assert at_side(two) == ""


def test_the_badge_beside_brings_its_training(two: Client) -> None:
    lead = badges.issue("P-01", PIN, ["lead"])
    operator = Badge.objects.get(code="P-11")
    until = badges.train(operator, "N", lead, date(2031, 3, 3))
    found = badges.beside(two.session)
    assert found is not None
    assert badges.person(found).trained == {"N": until}


# --- what is shown ---


def test_who_stands_beside_is_shown_with_the_way_to_end_it(two: Client) -> None:
    screen = seen(two.get("/beside/", {"next": "/screens/"}))
    assert screen.of_class("beside") == ["P-11 beside you Done"]
    assert screen.form("/beside/end/") == {"next": "/screens/"}


def test_nobody_beside_is_nothing_shown(mine: Client) -> None:
    assert seen(mine.get("/beside/")).of_class("beside") == []


def test_a_form_from_another_site_brings_nobody_beside(trainee: Badge) -> None:
    phone = Client(enforce_csrf_checks=True)
    token = form_to(phone.get("/sign-in/?badge=P-25"), "/sign-in/").values("csrfmiddlewaretoken")
    enter(phone, "P-25", csrfmiddlewaretoken=token[0])
    assert phone.get("/beside/").status_code == 200
    assert stand(phone).status_code == 403
    assert at_side(phone) == ""


@pytest.mark.parametrize("address", ["/beside/card/", "/beside/end/"])
def test_following_a_link_ends_and_brings_nothing(two: Client, address: str) -> None:
    assert two.get(address).status_code == 405
    assert at_side(two) == "P-11"
