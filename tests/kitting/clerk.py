"""The clerk's phone, and what the shelf says of a tray behind it."""

from __future__ import annotations

from typing import Any

from django.test import Client

from shop.stock import shelf
from shop.stock.models import Lot
from tests.bench.screens import Screen, key, seen
from tests.floor.morning import now

# Wanted for Tuesday: two TARN, one HOLM, one FELL. Q-1044 was wanted today and lacks T02.
TOMORROW = ("Q-1062", "Q-1063", "Q-1064", "Q-1065")


def number(serial: str) -> int:
    return now(serial).tray_id


def code(serial: str) -> str:
    return now(serial).tray_code


def counts(item: str) -> tuple[int, int]:
    """On hand and reserved of an item that lies in one lot."""
    lot = Lot.objects.get(item__key=item)
    return lot.on_hand, lot.reserved


def line(serial: str, item: str) -> dict[str, Any]:
    """The line of a tray that wants this item."""
    tray = shelf.tray(number(serial))
    assert tray is not None
    found: dict[str, Any] = next(one for one in tray["lines"] if one["article"].key == item)
    return found


def tray_page(phone: Client, serial: str) -> Screen:
    return seen(phone.get(f"/trays/{code(serial)}/"))


def say(phone: Client, serial: str, wanted: str, **sent: str) -> Screen:
    """Say on the line's own page what went in; the answer is the tray's page."""
    share = f"{number(serial)}:{line(serial, wanted)['id']}"
    fields = {"share": share, "tray_code": code(serial), "said": "taken", "item": wanted} | sent
    return seen(phone.post("/trays/pick/", fields, follow=True))


def close(phone: Client, serial: str, **sent: str) -> Screen:
    return seen(phone.post(f"/trays/{code(serial)}/close/", {"key": key()} | sent, follow=True))


def walk(phone: Client, *serials: str, passed: int = 0) -> Screen:
    """The bin that comes up for these trays after so many were put off."""
    asked = {"tray": [str(number(one)) for one in serials], "passed": str(passed)}
    return seen(phone.get("/trays/walk/", asked))


def tap(phone: Client, screen: Screen, **more: Any) -> Screen:
    """Tap Taken, or another word, on a bin's page; all else is sent as the page holds it."""
    form = screen.one(".//form[@action='/trays/pick/']")
    fields: dict[str, Any] = {}
    for one in form.iter("input"):
        fields.setdefault(one.get("name", ""), []).append(one.get("value", ""))
    chosen = [one.get("value", "") for one in form.iter("option") if "selected" in one.attrib]
    sent = fields | {"item": chosen, "said": "taken"} | more
    return seen(phone.post("/trays/pick/", sent, follow=True))
