"""The tags of a cart, looked up one after another."""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import partial
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from shop.craft.code import Kind, mint
from shop.floor import board, door
from shop.people.badges import cards
from tests.bench.crowd import add_instruments
from tests.bench.screens import Screen, seen, signed_in, tag
from tests.floor.morning import NOW, _fresh, act, morning, now
from tests.floor.printed import paper
from tests.people.phones import Clock

__all__ = ["_fresh", "morning"]

pytestmark = pytest.mark.usefixtures("today")

# At the neck bench (P-11's), at another one.
HERE, ELSEWHERE = "Q-1043", "Q-1061"
# In the case until its hold is over.
HELD = "Q-1040"


@pytest.fixture
def today(morning: None, db: None, monkeypatch: pytest.MonkeyPatch) -> Clock:
    clock = Clock(NOW)
    monkeypatch.setattr(timezone, "now", lambda: clock.now)
    return clock


@pytest.fixture
def phone() -> Client:
    return signed_in("P-11")


def look(phone: Client, code: str) -> Screen:
    answer = phone.get("/cart/look/", {"code": code})
    assert answer.status_code == 200
    return seen(answer)


def cue(row: Screen) -> str:
    return row.one(".//*[@data-cue]").get("data-cue", "")


def test_a_guitar_whose_next_work_is_here_is_a_match_and_leads_to_its_page(phone: Client) -> None:
    row = look(phone, tag(HERE))
    assert cue(row) == "clear"
    assert row.links == {HERE: f"/{tag(HERE)}"}
    assert row.words.startswith(f"Here {HERE} N40 ")


def test_a_guitar_that_belongs_elsewhere_is_told_with_its_station(phone: Client) -> None:
    row = look(phone, tag(ELSEWHERE))
    assert cue(row) == "warn"
    assert f"Check {ELSEWHERE} Next, at Joint: " in row.words


def test_a_frozen_guitar_is_a_stop_wherever_it_belongs(phone: Client) -> None:
    for serial in (HERE, ELSEWHERE):
        door.record(act("P-31", "I"), door.Frozen(now(serial).id, "Heel split seen"))
        row = look(phone, tag(serial))
        assert cue(row) == "stop"
        assert f"{serial} was frozen" in row.words
        assert row.links == {serial: f"/{tag(serial)}"}


def replace_tag(serial: str) -> str:
    """Give a body another tag; the code of the one that is void from then on."""
    before = tag(serial)
    lead = signed_in("P-01")
    sent = {"key": "5f0c9a52-3f5e-4d4e-9f0e-1b7f1b9a0c11", "reason": "lost", "mark": serial}
    assert lead.post(f"/release/{serial}/tag/", sent).status_code in {200, 302}
    assert tag(serial) != before
    return before


def test_a_void_tag_is_a_stop_and_leads_nowhere(phone: Client) -> None:
    row = look(phone, replace_tag(HERE))
    assert cue(row) == "stop"
    assert "is void since" in row.words
    assert row.links == {}


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("B7M49QZ", "does not add up"),
        ("https://192.0.2.7/menu", "is an address outside this workshop"),
        ("4006381333931", "is not one of this workshop's codes"),
        ("", "Nothing was read."),
        ("<b>x</b>", "is an address outside this workshop"),
        ("\0", "Nothing was read."),
        ("B" * 5000, "is not one of this workshop's codes"),
    ],
)
def test_what_is_no_tag_is_a_stop_with_its_reason(phone: Client, text: str, words: str) -> None:
    row = look(phone, text)
    assert cue(row) == "stop"
    assert words in row.words
    assert row.links == {}


def test_a_whole_code_that_hangs_on_nothing_is_a_stop(phone: Client) -> None:
    row = look(phone, mint(Kind.BODY, lambda _: 1))
    assert cue(row) == "stop"
    assert "no tag here carries it" in row.words


def test_a_badge_card_is_a_stop(phone: Client) -> None:
    row = look(phone, cards(["P-11"])["P-11"].card)
    assert cue(row) == "stop"
    assert "is a badge card, not a tag" in row.words


def test_a_tray_stands_for_its_guitar_and_says_what_was_read(phone: Client) -> None:
    row = look(phone, now(HERE).tray_code)
    assert cue(row) == "clear"
    assert f"{HERE} Read from its tray label." in row.words


def test_a_printed_sheet_is_no_proof_of_the_guitar(phone: Client) -> None:
    row = look(phone, paper(HERE))
    assert cue(row) == "warn"
    assert "Scan the tag on the body." in row.words


def test_a_guitar_held_by_its_clock_is_here_and_says_why_it_waits() -> None:
    (each,) = next(one for one in board.waiting_list(NOW) if one.serial == HELD).nexts
    assert each.ready is not None
    phone = signed_in("P-31", each.station_code)
    row = look(phone, tag(HELD))
    assert cue(row) == "clear"
    assert " ".join(each.reasons[0].words.split()) in row.words


def statements(ask: Callable[[], Any]) -> int:
    with CaptureQueriesContext(connection) as captured:
        ask()
    return len(captured)


# Who asks and their rights; the tag and the live one of its body; the instrument and its steps.
ROW = 6


def test_a_row_takes_as_many_statements_on_a_floor_of_any_size(phone: Client) -> None:
    codes = [tag(serial) for serial in (HERE, ELSEWHERE)]

    def counted() -> list[int]:
        for code in codes:  # what is kept of a spec in memory is read once
            look(phone, code)
        return [statements(partial(look, phone, code)) for code in codes]

    few = counted()
    add_instruments(200)
    assert counted() == few
    assert max(few) <= ROW


def sent(screen: Screen, code: str) -> dict[str, str]:
    return {"code": code, "had": screen.form("/cart/")["had"]}


def test_without_script_the_list_goes_to_and_fro(phone: Client) -> None:
    first = seen(phone.get("/cart/"))
    one = seen(phone.post("/cart/", sent(first, tag(HERE))))
    two = seen(phone.post("/cart/", sent(one, tag(ELSEWHERE))))
    again = seen(phone.post("/cart/", sent(two, tag(HERE))))
    assert "2 on the list" in again.words
    serials = [name for name in again.links if name.startswith("Q-")]
    assert serials == [HERE, ELSEWHERE]
    assert "Empty the list" in again.buttons
    assert "1 on the list" not in seen(phone.get("/cart/")).words


@pytest.mark.parametrize(
    "had",
    [
        "not a list",
        "null",
        "7",
        "[7]",
        '[["clear"]]',
        '[["evil", "B7M49Q2", "Q-1"]]',
        "[" * 100_000,
    ],
)
def test_a_list_that_was_tampered_with_is_dropped(phone: Client, had: str) -> None:
    screen = seen(phone.post("/cart/", {"had": had}))
    assert json.loads(screen.form("/cart/")["had"]) == []


def test_what_a_list_brings_back_is_text_and_leads_to_tags_only(phone: Client) -> None:
    had = json.dumps([["clear", "//evil.example", "<script>alert(1)</script>"]])
    answer = phone.post("/cart/", {"had": had})
    assert "<script>alert" not in answer.content.decode()
    assert not [way for way in seen(answer).links.values() if "evil" in way]


def test_a_list_is_never_longer_than_a_cart(phone: Client) -> None:
    had = json.dumps([["clear", "", f"Q-{n}"] for n in range(500)])
    screen = seen(phone.post("/cart/", {"had": had, "code": tag(HERE)}))
    assert len(json.loads(screen.form("/cart/")["had"])) == 60


def test_a_row_is_said_in_the_language_of_whoever_looks(phone: Client) -> None:
    phone.post("/screens/", {"language": "es"})
    row = look(phone, "https://192.0.2.7/menu")
    assert row.answer["Content-Language"] == "es"
