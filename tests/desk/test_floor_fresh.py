"""The lead's look along the floor stays fresh: asked again and again, and cheaply.

What is asked here is common practice, no source, unless a test names one.
"""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop.floor import board, door
from shop.floor.demo import loading
from shop.floor.models import Instrument
from tests.bench.crowd import add_instruments
from tests.bench.screens import seen, signed_in
from tests.floor.morning import NOW, act, now, pick
from tests.people.phones import Clock

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def phone() -> Client:
    return signed_in("P-01")


def poll(phone: Client, etag: str, address: str = "/floor/") -> Any:
    return phone.get(address, headers={"X-Fresh": "1", "If-None-Match": etag})


def test_the_list_carries_its_mark_and_a_key_for_each_row(phone: Client) -> None:
    answer = phone.get("/floor/")
    root = seen(answer).root
    part = root.find(".//div[@data-fresh]")
    assert part is not None
    assert (part.get("data-fresh"), part.get("data-at")) == (answer["ETag"], "09:30")
    keys = [one.get("data-key") for one in part.iter("tr") if one.get("data-key")]
    assert sorted(keys, key=str) == sorted(one.serial for one in board.all_open())
    assert len({one.get("data-key") for one in part.iter("section")}) > 4


def test_the_field_for_words_lies_outside_of_what_is_changed(phone: Client) -> None:
    part = seen(phone.get("/floor/")).one(".//div[@data-fresh]")
    assert [one.tag for one in part.iter() if one.tag in {"form", "input"}] == []


@pytest.mark.parametrize("crowd", [0, 200])
def test_what_did_not_change_is_said_in_three_statements_and_no_word(
    phone: Client, crowd: int
) -> None:
    """RFC 9110, 15.4.5: 304 Not Modified has no content and carries the ETag."""
    add_instruments(crowd)
    etag = phone.get("/floor/")["ETag"]
    with CaptureQueriesContext(connection) as captured:
        answer = poll(phone, etag)
    assert (answer.status_code, answer.content, answer["ETag"]) == (304, b"", etag)
    assert len(captured) <= 3, [one["sql"] for one in captured]


def test_a_deed_on_any_instrument_changes_the_mark(phone: Client) -> None:
    etag = phone.get("/floor/")["ETag"]
    assert door.record(act("P-31", "I"), door.Frozen(now("Q-1043").id, "Heel split seen")).done
    answer = poll(phone, etag)
    assert answer.status_code == 200
    assert "Heel split seen" in seen(answer).words


def test_what_is_put_into_a_tray_changes_the_mark(phone: Client) -> None:
    """No row of the journal tells of it: the tray itself does."""
    etag = phone.get("/floor/")["ETag"]
    pick("Q-1062")
    assert poll(phone, etag).status_code == 200


def test_a_reading_of_the_room_changes_the_mark(phone: Client) -> None:
    """It may move a hold, and it is of no instrument."""
    etag = phone.get("/floor/")["ETag"]
    assert door.record(act("P-01"), loading.ROOM).done
    assert poll(phone, etag).status_code == 200


def test_an_instrument_that_ends_changes_the_mark(phone: Client) -> None:
    etag = phone.get("/floor/")["ETag"]
    Instrument.objects.filter(body__serial="Q-1043").update(finished_at=NOW)
    assert poll(phone, etag).status_code == 200


def test_the_next_minute_changes_the_mark(phone: Client, today: Clock) -> None:
    etag = phone.get("/floor/")["ETag"]
    today.now += timedelta(minutes=1)
    assert poll(phone, etag).status_code == 200


def test_whoever_may_do_more_has_another_page(phone: Client) -> None:
    """The lead's rows lead on to what settles them."""
    assert poll(signed_in("P-11"), phone.get("/floor/")["ETag"]).status_code == 200


def test_no_proxy_and_no_phone_keeps_the_page(phone: Client) -> None:
    """RFC 9111, 5.2.2.5: no-store."""
    etag = phone.get("/floor/")["ETag"]
    for answer in (phone.get("/floor/"), poll(phone, etag)):
        assert "no-store" in answer["Cache-Control"]
