"""The clerk's phone, and what the shelf says of a tray behind it."""

from __future__ import annotations

from typing import Any

from django.test import Client

from shop.stock import shelf
from shop.stock.models import Lot, Walk
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


def take_up(phone: Client, *serials: str) -> int:
    """A wave of these trays, its walk taken up on this phone. Returns the walk's id."""
    trays = [str(number(one)) for one in serials]
    phone.post("/waves/", {"tray": trays, "waves": "1"})
    made = Walk.objects.latest("id").pk
    phone.post(f"/walks/{made}/take/")
    return made


def walk(phone: Client, *serials: str, passed: int = 0) -> Screen:
    """The bin that comes up for a new wave of these trays after so many were put off."""
    screen = bin_page(phone, take_up(phone, *serials))
    for _ in range(passed):
        screen = seen(phone.get(screen.links["Later"]))
    return screen


def bin_page(phone: Client, walk_id: int) -> Screen:
    """The bin a walk comes to next."""
    return seen(phone.get(f"/walks/{walk_id}/"))


def scan(phone: Client, screen: Screen, text: str) -> Screen:
    """Scan a label, or type what is printed on it, on a bin's page."""
    form = screen.one(".//form[@data-typed]")
    sent = {one.get("name", ""): one.get("value", "") for one in form.iter("input")}
    return seen(phone.post(form.get("action", ""), sent | {"code": text}, follow=True))


def unscanned(phone: Client, screen: Screen) -> Screen:
    """Nothing to scan here: on to the count."""
    while "No label" in screen.links:
        screen = seen(phone.get(screen.links["No label"]))
    return screen


def counted(screen: Screen) -> dict[str, Any]:
    """The fields of a bin's page as it holds them, each name with all of its values."""
    fields: dict[str, Any] = {}
    for one in screen.one(".//form[@id='counted']").iter("input"):
        fields.setdefault(one.get("name", ""), []).append(one.get("value", ""))
    return fields


def tap(phone: Client, screen: Screen, **more: Any) -> Screen:
    """Tap Taken at a bin, its labels not scanned where they were not yet; all else is sent as
    the page holds it."""
    screen = unscanned(phone, screen)
    there = screen.one(".//form[@id='counted']").get("action", "")
    return seen(phone.post(there, counted(screen) | more, follow=True))


def go_short(phone: Client, screen: Screen, found: int, left: int) -> Screen:
    """Fewer than wanted are found, and so many are left in the bin."""
    return tap(phone, tap(phone, screen, found=str(found)), left=str(left))
