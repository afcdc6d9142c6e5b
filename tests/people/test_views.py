"""Signing in leads back into the shop and nowhere else."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from tests.people.phones import enter

pytestmark = pytest.mark.usefixtures("operator", "clock")


@pytest.mark.parametrize(
    "outside",
    [
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
def test_signing_in_never_leads_out_of_the_shop(phone: Client, outside: str) -> None:
    """The forms are those of the OWASP cheat sheet on unvalidated redirects (CWE-601), from
    memory.
    """
    assert enter(phone, "P-11", next=outside).headers["Location"] == reverse("bench:scan")


def test_signing_in_leads_back_to_the_page_that_was_asked_for(phone: Client) -> None:
    assert enter(phone, "P-11", next="/probe/?at=N").headers["Location"] == "/probe/?at=N"


@pytest.mark.parametrize(
    "kept",
    [
        "not a parcel",
        "null",
        "[]",
        "7",
        "{}",
        '{"to": "/probe/"}',
        '{"to": "/probe/", "fields": [1]}',
        '{"to": "/probe/", "fields": {"a": 1}}',
        '{"to": "//evil.example/", "fields": {}}',
        '{"to": "/\\\\evil.example/", "fields": {}}',
        '{"to": "https://evil.example/", "fields": {}}',
        '{"to": "javascript:alert(1)", "fields": {}}',
        "[" * 100_000,
    ],
)
def test_a_parcel_that_was_tampered_with_is_dropped(phone: Client, kept: str) -> None:
    answer = enter(phone, "P-11", kept=kept)
    assert (answer.status_code, answer.headers["Location"]) == (302, reverse("bench:scan"))


def test_what_is_kept_is_shown_as_text_and_never_as_markup(phone: Client) -> None:
    kept = '{"to": "/probe/", "fields": {"reason": ["\\"><script>alert(1)</script>"]}}'
    page = enter(phone, "P-11", kept=kept).content.decode()
    assert "alert(1)" in page
    assert "<script>alert(1)" not in page


def test_a_form_from_another_site_cannot_sign_a_phone_in() -> None:
    phone = Client(enforce_csrf_checks=True)
    assert enter(phone, "P-11").status_code == 403


@pytest.mark.parametrize("address", ["/sign-out/", "/sign-in/card/", "/sign-in/pad/"])
def test_following_a_link_changes_nothing(phone: Client, address: str) -> None:
    assert phone.get(address).status_code == 405
