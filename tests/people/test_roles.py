"""Roles are Django groups: furnished once, then the lead's."""

from __future__ import annotations

from typing import Any

import pytest
from django.contrib.auth.models import Group, Permission
from django.test import Client

from shop.people import badges, roles
from shop.people.gate import may, needs
from shop.people.models import Badge
from tests.people.phones import PIN, Clock, enter

pytestmark = pytest.mark.django_db


def rights_of(role: str) -> set[str]:
    rows = Group.objects.get(name=role).permissions.filter(content_type__model="right")
    return set(rows.values_list("codename", flat=True))


def test_every_role_of_the_floor_is_a_group() -> None:
    asked = {"operator", "kitting clerk", "inspector", "repairer", "lead", "trainee"}
    assert asked <= set(Group.objects.values_list("name", flat=True))


@pytest.mark.parametrize("role", sorted(roles.ROLES))
def test_a_group_is_furnished_with_the_rights_of_its_role(role: str) -> None:
    assert rights_of(role) == {roles.codename(right) for right in roles.ROLES[role]}


def test_after_the_first_migration_a_lead_may_edit_the_catalogue(lead: Badge) -> None:
    assert lead.has_perms(["catalogue.change_item", "catalogue.add_specrevision"])


def test_after_the_first_migration_a_lead_may_edit_badges_and_roles(lead: Badge) -> None:
    assert lead.has_perms(["people.change_badge", "auth.change_group"])


@pytest.mark.parametrize(
    ("role", "right"), [("operator", "people.step_record"), ("lead", "catalogue.change_item")]
)
def test_a_right_that_a_lead_took_from_a_role_stays_away_after_a_migration(
    role: str, right: str
) -> None:
    room, codename = right.split(".")
    taken = Permission.objects.get(content_type__app_label=room, codename=codename)
    group = Group.objects.get(name=role)
    group.permissions.remove(taken)
    roles.furnish()
    assert taken not in group.permissions.all()


def test_a_right_that_a_lead_gave_to_a_role_stays_after_a_migration() -> None:
    given = Permission.objects.get(codename="paper_print")
    Group.objects.get(name="operator").permissions.add(given)
    roles.furnish()
    assert "paper_print" in rights_of("operator")


def test_a_right_of_a_newer_version_goes_to_its_roles_and_brings_nothing_else_back(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setitem(roles.RIGHTS, "hold.end", "End a hold")
    monkeypatch.setitem(roles.ROLES, "operator", roles.BENCH | {"hold.end"})
    group = Group.objects.get(name="operator")
    group.permissions.remove(Permission.objects.get(codename="help_call"))
    before = rights_of("operator")
    roles.furnish()
    assert rights_of("operator") == before | {"hold_end"}


def test_a_gate_for_a_right_that_does_not_exist_is_not_built() -> None:
    with pytest.raises(KeyError, match=r"'step\.recrod' is not a right"):
        needs("step.recrod")


@pytest.mark.usefixtures("clock")
def test_a_badge_without_the_right_is_told_which_one_it_lacks(phone: Client) -> None:
    badges.issue("P-25", PIN, ["trainee"])
    enter(phone, "P-25")
    answer = phone.get("/probe/")
    assert answer.status_code == 403
    assert answer.context["right"] == "record a step"


@pytest.mark.usefixtures("operator", "clock")
def test_a_badge_with_the_right_is_let_through(phone: Client) -> None:
    enter(phone, "P-11")
    assert phone.get("/probe/").json()["badge"] == "P-11"


@pytest.mark.parametrize("right", sorted(roles.RIGHTS))
def test_a_badge_without_a_role_may_nothing(right: str) -> None:
    assert not may(badges.issue("P-11", PIN, []), right)


@pytest.mark.parametrize(
    ("right", "who"),
    [
        ("step.learn", {"trainee"}),
        ("step.hand", {"operator", "inspector", "repairer"}),
        ("event.report", {"operator", "inspector", "repairer", "kitting clerk", "trainee"}),
        ("defect.report", {"operator", "inspector", "repairer"}),
        ("defect.note", {"inspector"}),
        ("defect.decide", {"inspector"}),
        ("defect.second", {"inspector"}),
        ("instrument.settle", set()),
        ("power.cut", set()),
        ("badge.train", set()),
    ],
)
def test_a_right_is_held_by_the_lead_and_by_who_needs_it(right: str, who: set[str]) -> None:
    holding = {role for role in roles.ROLES if roles.codename(right) in rights_of(role)}
    assert holding == who | {"lead"}


def test_no_trainee_records_alone(db: None) -> None:
    trainee = badges.issue("P-25", PIN, ["trainee"])
    assert may(trainee, "step.learn")
    assert not may(trainee, "step.record")


def test_a_shop_from_before_these_rights_is_given_them_and_keeps_what_its_lead_chose() -> None:
    new = {"step.learn", "step.hand", "event.report", "defect.report", "badge.train"}
    Permission.objects.filter(codename__in=map(roles.codename, new)).delete()
    operator = Group.objects.get(name="operator")
    operator.permissions.remove(Permission.objects.get(codename="room_log"))
    before = rights_of("operator")
    roles.furnish()
    assert rights_of("operator") == before | {"step_hand", "event_report", "defect_report"}
    assert "step_learn" in rights_of("trainee")
    assert "badge_train" in rights_of("lead")


@pytest.mark.parametrize("right", sorted(roles.RIGHTS))
def test_a_lead_may_everything(lead: Badge, right: str) -> None:
    assert may(lead, right)


def test_all_rights_of_a_badge_are_read_in_one_statement(
    operator: Badge, django_assert_num_queries: Any
) -> None:
    with django_assert_num_queries(1):
        for right in roles.RIGHTS:
            may(operator, right)


# --- the office pages ---


@pytest.mark.usefixtures("clock")
def test_the_office_sends_a_stranger_to_badge_and_pin(phone: Client) -> None:
    answer = phone.get("/office/", follow=True)
    assert answer.redirect_chain[-1][0].startswith("/sign-in/?next=/office/")


@pytest.mark.usefixtures("lead")
def test_a_lead_who_signs_in_at_the_office_door_is_in_and_stays_in(
    phone: Client, clock: Clock
) -> None:
    asked = phone.get("/office/", follow=True).redirect_chain[-1][0].split("next=")[1]
    enter(phone, "P-01", next=asked)
    clock.pass_s(60)
    assert phone.get("/office/").status_code == 200


@pytest.mark.usefixtures("operator", "clock")
def test_an_operator_is_not_let_into_the_office(phone: Client) -> None:
    enter(phone, "P-11")
    assert phone.get("/office/").status_code == 302


@pytest.mark.usefixtures("lead", "clock")
def test_a_lead_makes_a_badge_with_pin_card_and_role_in_the_office(phone: Client) -> None:
    enter(phone, "P-01")
    group = Group.objects.get(name="kitting clerk")
    sent = {"code": "P-42", "pin": "1234", "home_station": "K", "units": "mm", "groups": [group.pk]}
    phone.post("/office/people/badge/add/", sent | {"is_active": "on"})
    made = Badge.objects.get(code="P-42")
    assert made.check_password("1234")
    assert made.card
    assert may(made, "tray.pick")
    assert not made.is_staff


@pytest.mark.usefixtures("lead", "clock")
def test_a_new_badge_without_a_pin_is_not_made_in_the_office(phone: Client) -> None:
    enter(phone, "P-01")
    answer = phone.post("/office/people/badge/add/", {"code": "P-42", "pin": "", "is_active": "on"})
    assert "A new badge needs a PIN of 4 to 8 digits." in answer.content.decode()
    assert not Badge.objects.filter(code="P-42").exists()


@pytest.mark.usefixtures("lead", "clock")
def test_a_badge_cannot_be_deleted_in_the_office(phone: Client, operator: Badge) -> None:
    enter(phone, "P-01")
    assert phone.post(f"/office/people/badge/{operator.pk}/delete/").status_code == 403
    assert Badge.objects.filter(pk=operator.pk).exists()


@pytest.mark.usefixtures("lead", "clock")
def test_a_lead_changes_the_rights_of_a_role_in_the_office(phone: Client) -> None:
    enter(phone, "P-01")
    group = Group.objects.get(name="repairer")
    phone.post(f"/office/auth/group/{group.pk}/change/", {"name": "repairer", "permissions": []})
    assert rights_of("repairer") == set()


@pytest.mark.usefixtures("lead", "clock")
def test_the_office_changes_a_pin_to_digits_only(phone: Client) -> None:
    enter(phone, "P-01")
    asked = {"old_password": PIN, "new_password1": "oak-desk", "new_password2": "oak-desk"}
    answer = phone.post("/office/password_change/", asked)
    assert "A PIN is 4 to 8 digits." in answer.content.decode()
    assert Badge.objects.get(code="P-01").check_password(PIN)
