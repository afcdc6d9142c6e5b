"""The page of what waits on a phone names nobody; every act at a bench can wait there.

What is asked here is common practice, no source, unless a test names one.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from django.contrib.auth.models import Group
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shop.people.models import Badge
from tests.people.phones import PIN, enter

pytestmark = pytest.mark.django_db

BENCH = Path(__file__).resolve().parents[2] / "templates" / "bench"
FORM = re.compile(r"<form[^<]*?method=\"post\".*?</form>", re.DOTALL)
OPENING = re.compile(r"<form(?:\{[{%].*?[%}]\}|[^>])*>", re.DOTALL)


def phone_of(role: str) -> Client:
    badge = Badge.objects.create_user(f"X-{len(role)}", PIN)
    badge.groups.add(Group.objects.get(name=role))
    phone = Client()
    assert enter(phone, badge.code).status_code == 302
    return phone


def test_it_is_the_same_page_byte_for_byte_whoever_asks() -> None:
    phones = (phone_of("operator"), phone_of("lead"), Client())
    assert len({one.get("/waiting/").content for one in phones}) == 1


def test_it_names_no_badge_and_carries_no_form_token() -> None:
    page = phone_of("operator").get("/waiting/").content.decode()
    assert "X-8" not in page
    assert "csrfmiddlewaretoken" not in page
    assert 'data-badge="' not in page


def test_it_may_be_kept_for_everybody_and_is_asked_again_first() -> None:
    """RFC 9111, 5.2.2.4: no-cache is kept, and asked again before each use."""
    answer = Client().get("/waiting/")
    assert answer["X-Offline"] == "shared"
    assert "no-cache" in answer["Cache-Control"]
    assert "no-store" not in answer["Cache-Control"]


def test_it_takes_no_statement(django_assert_num_queries: DjangoAssertNumQueries) -> None:
    phone = Client()
    with django_assert_num_queries(0):
        phone.get("/waiting/")


def test_the_words_of_the_keeping_are_on_every_page_of_a_badge() -> None:
    page = phone_of("operator").get("/scan/").content.decode()
    assert 'data-badge="X-8"' in page
    for name in ("sending", "waits", "behind", "unsigned", "nobody", "refused"):
        assert re.search(rf'data-say-{name}="[^"]+"', page), name


def test_the_sign_in_page_says_whose_work_waits() -> None:
    page = Client().get("/sign-in/").content.decode()
    assert re.search(r'data-waits data-say-one="[^"]+" data-say-many="[^"]+"', page)
    assert "phone/outbox.js" in page


def test_every_form_at_a_bench_that_carries_a_key_is_kept_by_the_phone_first() -> None:
    bare, kept = [], 0
    for path in sorted(BENCH.glob("*.html")):
        for form in FORM.findall(path.read_text()):
            if 'name="key"' not in form:
                continue
            opening = OPENING.match(form)
            assert opening, form[:80]
            if "data-outbox" in opening[0]:
                kept += 1
            else:
                bare.append(f"{path.name}: {opening[0]}")
    assert bare == []
    assert kept > 20
