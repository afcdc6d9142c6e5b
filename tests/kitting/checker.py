"""The tray check and a line's own page, driven as the clerk drives them."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.test import Client

from shop.catalogue import book
from shop.stock import ledger
from shop.stock.models import Lot
from tests.bench.screens import Screen, key, seen
from tests.floor.morning import NOW
from tests.kitting.clerk import code, line


def tray_of(phone: Client, serial: str) -> Screen:
    return seen(phone.get(f"/trays/{code(serial)}/"))


def check_page(phone: Client, serial: str, item: str = "") -> Screen:
    """The check as it comes up, or of the line of an item."""
    asked = {"line": str(line(serial, item)["id"])} if item else {}
    return seen(phone.get(f"/trays/{code(serial)}/check/", asked, follow=True))


def check(phone: Client, serial: str, item: str, **said: str) -> Screen:
    """Say of one line what was counted, weighed or scanned."""
    sent = {"key": key(), "line": str(line(serial, item)["id"])} | said
    return seen(phone.post(f"/trays/{code(serial)}/check/", sent, follow=True))


def sent_later(
    phone: Client,
    serial: str,
    item: str,
    by: str,
    badge: str = "P-41",
    waited: timedelta = timedelta(),
    **said: str,
) -> Any:
    """The same as the phone's outbox sends it: tapped under a badge so long ago."""
    headers = {
        "Idempotency-Key": f'"{by}"',
        "Accept": "application/json",
        "X-Phone-Badge": badge,
        "X-Phone-Station": "K",
        "X-Phone-Sent": NOW.isoformat(),
        "X-Phone-Offset": "0",
    }
    sent = {"key": by, "line": str(line(serial, item)["id"])} | said
    sent["clock"] = (NOW - waited).isoformat()
    return phone.post(f"/trays/{code(serial)}/check/", sent, headers=headers)


def line_address(serial: str, item: str) -> str:
    return f"/trays/{code(serial)}/line/{line(serial, item)['id']}/"


def put_in(phone: Client, serial: str, wanted: str, **sent: str) -> Screen:
    """Say on the line's own page what went in."""
    fields = {"said": "taken", "item": wanted} | sent
    return seen(phone.post(line_address(serial, wanted), fields, follow=True))


def close(phone: Client, serial: str, **sent: str) -> Screen:
    sent = {"key": key()} | sent
    return seen(phone.post(f"/trays/{code(serial)}/close/", sent, follow=True))


def received(item: str, quantity: int, lot: str, place: str = "Y-01") -> Lot:
    """So many of an item out of another receipt."""
    item_id = book.item_ids([item])[item]
    return Lot.objects.get(pk=ledger.receive(item_id, place, lot, quantity, NOW.date(), NOW))


def has_screws(item: str) -> None:
    """A set has six screws and a spare: 0.25 g each, in a bag of 1.20 g. Invented."""
    item_id = book.item_ids([item])[item]
    ledger.keep_rule(item_id, small_parts=7, unit_g="0.25", unit_sd_g="0.004", bag_g="1.20")


def has_no_screws(item: str) -> None:
    """A set comes without a bag of screws."""
    ledger.keep_rule(book.item_ids([item])[item], small_parts=0)
