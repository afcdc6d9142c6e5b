"""The print page, as a browser asks for it."""

from __future__ import annotations

import sys
from http import HTTPStatus
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from shop.people.idle import SEEN
from shop.people.models import Badge
from tests.floor.morning import now
from tests.paper.printing import release_more
from tests.paper.reading import pictures, squares

pytestmark = pytest.mark.usefixtures("morning", "db")


def signed_in(badge: str) -> Client:
    client = Client()
    client.force_login(Badge.objects.get(code=badge))
    session = client.session
    session[SEEN] = int(timezone.now().timestamp())
    session.save()
    client.cookies["sessionid"] = session.session_key or ""
    return client


@pytest.fixture
def clerk() -> Client:
    return signed_in("P-41")


def test_the_page_offers_every_open_instrument_and_every_form(clerk: Client) -> None:
    page = clerk.get("/paper/").content.decode()
    for serial in ("Q-1037", "Q-1043", "Q-1044", "Q-1065"):
        assert f'value="{serial}"' in page
    for form in ("traveller", "body_tag", "neck_tag", "tray_label"):
        assert f'value="{form}"' in page


def test_what_another_page_chose_is_ticked(clerk: Client) -> None:
    page = clerk.get("/paper/?form=neck_tag&serial=Q-1043&serial=Q-1058").content.decode()
    for chosen in ("neck_tag", "Q-1043", "Q-1058"):
        assert f'value="{chosen}" checked' in page
    assert page.count(" checked") == 3


def test_all_can_be_ticked_at_once(clerk: Client) -> None:
    page = clerk.get("/paper/?all=1").content.decode()
    assert page.count('name="serial"') == page.count(" checked") - 1


def test_the_print_is_a_pdf_to_look_at_with_a_name_to_keep_it_by(clerk: Client) -> None:
    answer = clerk.get("/paper/print/?form=body_tag&serial=Q-1043&serial=Q-1044")
    assert answer.status_code == HTTPStatus.OK
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == ('inline; filename="body-tag-Q-1043-and-1-more.pdf"')
    assert "no-store" in answer["Cache-Control"]
    assert answer.content.startswith(b"%PDF-")


def test_the_pdf_carries_the_tag_that_the_phone_will_find(clerk: Client) -> None:
    answer = clerk.get("/paper/print/?form=tray_label&serial=Q-1043")
    (square,) = squares(pictures(answer.content, 150)[0])
    assert square.text.endswith(f"/{now('Q-1043').tray_code}")


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        ("form=traveller&serial=Q-9999", "No instrument here has the serial Q-9999."),
        ("form=traveller", "No instrument was chosen."),
        ("serial=Q-1043", "No form was chosen."),
        ("form=%3Cb%3E&serial=Q-1043", "There is no form “&lt;b&gt;”."),
    ],
)
def test_what_cannot_be_printed_is_said_on_the_page_it_came_from(
    clerk: Client, asked: str, told: str
) -> None:
    answer = clerk.get(f"/paper/print/?{asked}")
    assert answer.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
    assert told in answer.content.decode()


def test_what_was_chosen_stays_chosen_after_a_refusal(clerk: Client) -> None:
    page = clerk.get("/paper/print/?form=neck_tag&serial=Q-1043&serial=Q-9999").content.decode()
    assert 'value="Q-1043" checked' in page
    assert 'value="neck_tag" checked' in page


def test_a_shop_that_cannot_print_says_so_and_what_to_install(
    clerk: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delitem(sys.modules, "shop.paper.typesetting", raising=False)
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    answer = clerk.get("/paper/print/?form=traveller&serial=Q-1043")
    assert answer.status_code == HTTPStatus.SERVICE_UNAVAILABLE
    assert "Printing is off" in answer.content.decode()


@pytest.mark.parametrize("address", ["/paper/", "/paper/print/?form=body_tag&serial=Q-1043"])
def test_an_operator_may_not_print(address: str) -> None:
    assert signed_in("P-11").get(address).status_code == HTTPStatus.FORBIDDEN


@pytest.mark.parametrize("address", ["/paper/", "/paper/print/?form=body_tag&serial=Q-1043"])
def test_nobody_is_asked_for_a_badge(address: str) -> None:
    answer = Client().get(address)
    assert answer.status_code == HTTPStatus.UNAUTHORIZED
    assert b"%PDF" not in answer.content


def test_printing_is_asked_for_and_never_posted(clerk: Client) -> None:
    answer = clerk.post("/paper/print/", {"form": "traveller", "serial": "Q-1043"})
    assert answer.status_code == HTTPStatus.METHOD_NOT_ALLOWED


def test_two_more_instruments_take_no_more_statements(clerk: Client) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    def statements() -> int:
        clerk.get("/paper/")  # sheets and badges are kept from now on
        with CaptureQueriesContext(connection) as asked:
            clerk.get("/paper/")
        return len(asked)

    before: Any = statements()
    release_more()
    assert statements() == before
