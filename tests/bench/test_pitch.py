"""The page that listens to a string, and what a typed pitch comes to."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from typing import Any

import pytest
from django.test import Client
from django.utils.html import strip_tags

from shop.bench.pitch import heard

pytestmark = pytest.mark.django_db

# B. H. Suits, Michigan Technological University, Physics of Music: Notes, equal-tempered scale,
# A4 = 440 Hz (ISO 16:1975), to two decimals.
SUITS_HZ = {"E2": 82.41, "A2": 110.00, "D3": 146.83, "G3": 196.00, "B3": 246.94, "E4": 329.63}


class Buttons(HTMLParser):
    """The attributes of every button and option of a page that is a string."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if "data-wants" in dict(attrs):
            self.found.append((tag, dict(attrs)))


def page(**asked: str) -> str:
    return Client().get("/pitch/", asked).content.decode()


def test_it_is_the_same_for_everybody_and_may_be_kept() -> None:
    told = Client().get("/pitch/")
    assert told.status_code == 200
    assert told["X-Offline"] == "shared"
    assert "no-store" not in told["Cache-Control"]
    assert "Set-Cookie" not in told.headers


def test_the_answer_to_one_pitch_is_not_kept_as_the_page() -> None:
    assert "X-Offline" not in Client().get("/pitch/", {"hz": "110"}).headers


def test_a_phone_keeps_the_page_and_its_script_before_it_is_needed() -> None:
    worker = Client().get("/sw.js").content.decode()
    assert '"/pitch/"' in worker
    assert re.search(r'"/static/bench/pitch(\.\w+)?\.js"', worker)


def test_each_string_stands_with_the_frequency_of_its_note() -> None:
    found = Buttons()
    found.feed(page())
    for tag in ("button", "option"):
        hz = [float(attrs["data-wants"] or 0) for each, attrs in found.found if each == tag]
        assert hz == pytest.approx(list(SUITS_HZ.values()), abs=0.005)
    assert [one.note for one in heard()] == list(SUITS_HZ)


def test_the_strings_of_another_guitar_can_be_asked_for() -> None:
    assert [(one.key, one.note) for one in heard(["6", "6o"])] == [("6", "E2"), ("6o", "E3")]


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ("string=6&fret=0&hz=82.41", "82.41 Hz is 0.1 cents above E2, which is 82.41 Hz."),
        ("string=5&fret=0&hz=110", "110 Hz is A2: 110.00 Hz."),
        ("string=5&fret=0&hz=109,5", "109.5 Hz is 7.9 cents below A2, which is 110.00 Hz."),
        ("string=5&fret=12&hz=220.3", "220.3 Hz is 2.4 cents above A3, which is 220.00 Hz."),
        ("string=1&fret=12&hz=659.26", "659.26 Hz is E5: 659.26 Hz."),
        ("string=?&fret=7&hz=82.4069", "82.4069 Hz is E2: 82.41 Hz."),
    ],
)
def test_a_typed_pitch_is_answered_in_cents_against_the_note(asked: str, words: str) -> None:
    """The cent is the twelve-hundredth part of an octave: 1200 · log2(f / f0)."""
    told = Client().get(f"/pitch/?{asked}").content.decode()
    found = re.search(r"data-answer>(.*?)</p>", told)
    assert found
    assert found[1] == words


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("", "Nothing is no number"),
        ("la", "la is no number"),
        ("30", "No string sounds there: 40 to 1400 Hz can be."),
        ("2000", "No string sounds there: 40 to 1400 Hz can be."),
        ("<i>1</i>", "no number"),
        ("82 in", "This is no length. Write the number alone in Hz."),
        ("1\x0010", "110 Hz is A2"),
    ],
)
def test_what_cannot_be_a_string_is_told_and_stays_typed(typed: str, words: str) -> None:
    told = page(string="5", hz=typed)
    assert words in strip_tags(told)
    assert "<i>1</i>" not in told
    if typed.isdigit():
        assert f'value="{typed}"' in told
        assert 'aria-invalid="true"' in told


def test_it_says_that_it_asks_for_the_microphone_and_keeps_nothing() -> None:
    assert "Asks for the microphone. Nothing is kept or sent." in page()


def test_it_asks_the_database_at_most_for_the_language(django_assert_max_num_queries: Any) -> None:
    with django_assert_max_num_queries(1):
        Client().get("/pitch/")


def test_the_script_is_told_what_can_be_and_what_to_say_else() -> None:
    told = page()
    assert 'data-least="40" data-most="1400"' in told
    assert 'data-say-range="No string sounds there: 40 to 1400 Hz can be."' in told
