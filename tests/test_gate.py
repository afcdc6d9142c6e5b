"""Every address, with every role and with nobody."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from django.contrib import admin
from django.contrib.auth.models import Group
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from shop.people.models import Badge
from shop.people.roles import ROLES, codename

pytestmark = pytest.mark.django_db

# What somebody who is not signed in may open: the way to sign in, and what a phone asks for by
# itself, which tells of nobody and of no instrument.
OPEN = {
    "people:sign-in", "people:choose", "people:another", "people:card", "people:pad",
    "people:sign-out",
    "bench:pitch", "phone:aside", "phone:manifest", "phone:waiting", "phone:who", "phone:worker",
}  # fmt: skip
ARGUMENTS = {
    "code": "B000000",
    "sha256": "0" * 64,
    "serial": "Q-0000",
    "line_id": 1,
    "call_id": 1,
    "lot_id": 1,
    "spec": "TARN",
    "name": "R06.least",
    "wave_id": 1,
    "walk_id": 1,
    "delivery_id": 1,
    "intake_id": 1,
    "key": "T01",
    "station": "J",
    "job_id": 1,
    "gauge": "G-01",
    "panels": 1,
    "printer_id": 1,
    "operation": "I10",
    "quantity": "action",
    "slot": "H-001",
    "manifest": "M-0001",
    "area": 1,
    "number": 1,
}


def addresses(
    resolver: URLResolver | None = None, room: str = "", before: str = ""
) -> Iterator[tuple[str, URLPattern]]:
    """Name and pattern of every address of the shop's own rooms."""
    for one in (resolver or get_resolver()).url_patterns:
        if isinstance(one, URLResolver):
            if one.namespace != "admin":
                yield from addresses(one, one.namespace or room, before)
        else:
            yield f"{room}:{one.name}", one


NAMED = sorted(addresses(), key=lambda pair: pair[0])


def path_of(name: str, pattern: URLPattern) -> str:
    wanted = pattern.pattern.converters
    return reverse(name, kwargs={key: ARGUMENTS[key] for key in wanted})


def ask(client: Client, name: str, pattern: URLPattern) -> int:
    """GET, or POST where the view takes nothing else; the status of the answer."""
    path = path_of(name, pattern)
    status = client.get(path).status_code
    return client.post(path).status_code if status == 405 else status


def person(role: str) -> Client:
    badge = Badge.objects.create_user("X-1", "1111", is_staff=role == "lead")
    badge.groups.add(Group.objects.get(name=role))
    client = Client(raise_request_exception=False)
    answer = client.post("/sign-in/", {"badge": "X-1", "pin": "1111"})
    assert answer.status_code == 302
    return client


def test_there_are_addresses_to_walk() -> None:
    assert len(NAMED) > 25


@pytest.mark.parametrize(("name", "pattern"), NAMED, ids=[name for name, _ in NAMED])
def test_nobody_gets_past_an_address_without_signing_in(name: str, pattern: URLPattern) -> None:
    status = ask(Client(), name, pattern)
    if name in OPEN:
        assert status in {200, 302, 401}, f"{name} answered {status}"
    else:
        assert status == 401, f"{name} answered {status} to nobody"


@pytest.mark.parametrize("role", sorted(ROLES))
def test_a_role_gets_past_exactly_the_addresses_its_rights_name(role: str) -> None:
    client = person(role)
    wrong = []
    for name, pattern in NAMED:
        if name in OPEN:
            continue
        rights = pattern.callback.rights  # type: ignore[attr-defined]
        let_in = ask(client, name, pattern) != 403
        if let_in != bool(ROLES[role].intersection(rights)):
            wrong.append(f"{name} needs {rights}: {'let in' if let_in else 'kept out'}")
    assert wrong == []


@pytest.mark.parametrize("role", sorted(ROLES))
def test_only_a_lead_opens_any_page_of_the_office(role: str) -> None:
    client = person(role)
    models = [model._meta for model in admin.site._registry]
    lists = [reverse(f"admin:{one.app_label}_{one.model_name}_changelist") for one in models]
    pages = [reverse("admin:index"), *lists]
    let_in = [page for page in pages if client.get(page).status_code == 200]
    assert let_in == (pages if role == "lead" else [])


def test_the_office_asks_nobody_in_except_by_badge_and_pin() -> None:
    answer = Client().get("/office/", follow=True)
    assert answer.redirect_chain[-1][0].startswith("/sign-in/?next=")
    assert answer.status_code == 200


def test_every_view_names_the_right_it_needs() -> None:
    asked = [(name, getattr(one.callback, "rights", ())) for name, one in NAMED]
    bare = [name for name, rights in asked if name not in OPEN and not rights]
    assert bare == []


def test_rights_of_a_group_are_what_the_groups_table_says_not_what_the_code_says() -> None:
    client = person("operator")
    group = Group.objects.get(name="operator")
    group.permissions.remove(group.permissions.get(codename=codename("floor.see")))
    assert client.get("/floor/").status_code == 403
