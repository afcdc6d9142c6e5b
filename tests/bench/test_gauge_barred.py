"""The page of a look's values leads nobody to measure who may not: badges and times invented."""

from __future__ import annotations

import pytest

from tests.bench.screens import key, seen, signed_in, tag
from tests.floor.casing import READY, SERIAL, cased
from tests.floor.gauged import gauge
from tests.floor.morning import measured
from tests.people.phones import Clock

pytestmark = pytest.mark.django_db

TOO_HIGH = {"action bass": "3.40"}  # the spec wants 2.40 mm


def test_who_took_the_first_look_is_not_led_to_measure_at_the_second(today: Clock) -> None:
    cased()
    assert gauge(SERIAL, TOO_HIGH, "I30", "P-32", "R", READY).done
    today.now = READY
    first, second = signed_in("P-31", "R"), signed_in("P-32", "R")
    page, way = f"/{tag(SERIAL)}", f"/{tag(SERIAL)}/gauge/"
    assert "Measure again" in seen(second.get(page)).links
    assert "Measure again" not in seen(first.get(page)).links
    assert "Record these values" in seen(second.get(way)).buttons
    screen = seen(first.get(way))
    assert "Record these values" not in screen.buttons
    assert "needs other eyes" in screen.words


def test_what_they_post_all_the_same_is_refused_and_says_why(today: Clock) -> None:
    cased()
    today.now = READY
    sent = {"key": key(), "operation": "I30", "unit": "mm"} | TOO_HIGH
    answer = signed_in("P-31", "R").post(f"/{tag(SERIAL)}/gauge/", sent)
    assert "needs other eyes" in seen(answer).words


def test_before_its_days_are_over_the_page_says_when(today: Clock) -> None:
    cased()
    today.now = READY.replace(hour=11)
    screen = seen(signed_in("P-32", "R").get(f"/{tag(SERIAL)}/gauge/"))
    assert "Record these values" not in screen.buttons
    assert "Ready" in screen.words


def test_a_move_that_stops_is_told_before_the_look_is_recorded(today: Clock) -> None:
    """2.40 mm at the first look, 2.65 mm at the second: common practice, no source."""
    cased()
    assert measured(SERIAL, "I30", "P-32", "R", READY, action="2.65").done
    today.now = READY
    phone = signed_in("P-32", "R")
    screen = seen(phone.get(f"/{tag(SERIAL)}"))
    assert "moved +0.25" in screen.words
    assert "Record I30" not in screen.buttons
    assert "Measure again" in screen.links
    assert "moved +0.25" in seen(phone.get(f"/{tag(SERIAL)}/look/")).words
    assert "moved" not in seen(signed_in("P-31", "R").get(f"/{tag(SERIAL)}")).words
