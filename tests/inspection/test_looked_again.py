"""What is told where the second look is taken again; instruments and times are invented."""

from __future__ import annotations

import pytest

from shop.catalogue.models import Loop
from shop.craft.words import THIN
from shop.floor import door
from tests.bench.screens import seen, signed_in, tag
from tests.floor.casing import HOUR, READY, SERIAL, cased, did, done, number
from tests.people.phones import Clock

pytestmark = pytest.mark.django_db


def test_that_it_opens_the_look_again_is_told_before_it_is_confirmed(today: Clock) -> None:
    cased()
    today.now = READY
    phone, way = signed_in("P-32", "R"), f"/{tag(SERIAL)}/happened/"
    assert "After that again" not in seen(phone.get(f"{way}?what=restrung")).words
    did(SERIAL, "I30", "P-32", "R", READY)
    for what in ("restrung", "trimmed", "string"):
        screen = seen(phone.get(f"{way}?what={what}"))
        assert "After that again: I30." in screen.words
        assert "measured anew" in screen.words
    assert "After that again" not in seen(phone.get(f"{way}?what=rack")).words


def test_how_long_out_of_its_case_opens_the_look_again_is_told_before_it_is_confirmed(
    today: Clock,
) -> None:
    cased()
    did(SERIAL, "I30", "P-32", "R", READY)
    today.now = READY + HOUR
    phone, way = signed_in("P-32", "R"), f"/{tag(SERIAL)}/case/?was=out"
    screen = seen(phone.get(way)).words.replace(THIN, " ")
    assert "Out of its case for 90 min or more: After that again: I30." in screen
    today.now = READY + 60 * HOUR
    assert "After that again" not in seen(phone.get(way)).words, "it was out after that look"


def test_a_fall_where_no_loop_is_for_it_says_so_too(today: Clock) -> None:
    Loop.objects.filter(key="dropped").delete()
    cased()
    did(SERIAL, "I30", "P-32", "R", READY)
    today.now = READY + HOUR
    words = seen(signed_in("P-32", "R").get(f"/{tag(SERIAL)}/happened/?what=dropped")).words
    assert "Work on it stops until the lead has looked." in words
    assert "After that again: I30." in words


def test_from_how_many_hours_on_a_longer_wait_opens_it_again_is_told_to_the_lead(
    today: Clock,
) -> None:
    cased()
    did(SERIAL, "I30", "P-32", "R", READY + 5 * HOUR)
    today.now = READY + 6 * HOUR
    screen = seen(signed_in("P-01").get(f"/settle/{SERIAL}/longer/")).words.replace(THIN, " ")
    assert "hold longer by 6 h or more: After that again: I30." in screen


def test_the_page_of_the_release_names_it(today: Clock) -> None:
    cased()
    did(SERIAL, "I30", "P-32", "R", READY)
    done(door.Happened(number(), "trimmed"), READY + HOUR)
    today.now = READY + HOUR
    screen = seen(signed_in("P-32", "R").get(f"/{tag(SERIAL)}/release/"))
    assert "I30 Inspect again was recorded Fri 14:10 and is to be done again." in screen.words
    assert f"Release {SERIAL}" not in screen.buttons


def test_the_lead_alone_is_told_before_the_act_and_led_to_a_second_badge(today: Clock) -> None:
    cased()
    did(SERIAL, "I30", "P-32", "R", READY)
    today.now = READY + HOUR
    screen = seen(signed_in("P-01", "R").get(f"/{tag(SERIAL)}/release/"))
    assert "I50 Release is never done by the lead alone: P-01 leads." in screen.words
    assert "A trained badge signs beside you" in screen.links
    assert f"Release {SERIAL}" not in screen.buttons
