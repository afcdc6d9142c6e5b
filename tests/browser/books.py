"""What a shop's own database says: its tags, its journal, its shelf."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from tests.browser.shop import ROOT, Shop


def body_tag(shop: Shop, serial: str) -> str:
    """The code of the live tag on a body."""
    return _one(
        shop,
        "SELECT t.code FROM floor_tag t JOIN floor_body b ON b.id = t.body_id"
        " WHERE b.serial = %s AND t.void_at IS NULL",
        serial,
    )


def neck_tag(shop: Shop, serial: str) -> str:
    """The code of the live tag on a neck, by the neck's own mark."""
    return _one(
        shop,
        "SELECT t.code FROM floor_tag t JOIN floor_neck n ON n.id = t.neck_id"
        " WHERE n.serial = %s AND t.void_at IS NULL",
        serial,
    )


def tray_label(shop: Shop, serial: str) -> str:
    """The code on the tray of an instrument."""
    return _one(shop, "SELECT code FROM stock_tray WHERE serial = %s", serial)


def printed(shop: Shop, code: str) -> str:
    """A code as the square of its tag holds it: the shop's address in capitals."""
    return f"{shop.address}/{code}".upper()


def journal(shop: Shop, serial: str) -> list[tuple[str, str, str, str]]:
    """The journal of an instrument, oldest first: kind, outcome, badge and station."""
    return [
        (kind, outcome, badge, station)
        for kind, outcome, badge, station in shop.rows(
            "SELECT e.kind, e.outcome, p.code, e.station FROM floor_entry e"
            " JOIN people_badge p ON p.id = e.by_id WHERE e.subject = %s ORDER BY e.id",
            serial,
        )
    ]


def steps(shop: Shop, serial: str) -> list[str]:
    """The operations recorded on an instrument, in the order they were recorded."""
    return [
        code
        for (code,) in shop.rows(
            "SELECT o.code FROM floor_step s"
            " JOIN catalogue_operation o ON o.id = s.operation_id"
            " JOIN floor_instrument i ON i.id = s.instrument_id"
            " JOIN floor_body b ON b.id = i.body_id WHERE b.serial = %s ORDER BY s.id",
            serial,
        )
    ]


def on_hand(shop: Shop) -> dict[str, int]:
    """How many of each item the shelf holds, over all its lots."""
    return dict(
        shop.rows(
            "SELECT i.key, SUM(l.on_hand) FROM stock_lot l"
            " JOIN catalogue_item i ON i.id = l.item_id GROUP BY i.key"
        )
    )


def _one(shop: Shop, query: str, *values: object) -> str:
    rows = shop.rows(query, *values)
    assert len(rows) == 1, f"{len(rows)} rows, not one, for {values}"
    return str(rows[0][0])


def own_texts(shop: Shop) -> list[str]:
    """What the demo workshop named itself, and what was typed in it until now: reasons, why an
    instrument was frozen, what printers are called."""
    demo = json.loads((ROOT / "shop/floor/demo/workshop.json").read_text())
    reasons = shop.rows("SELECT DISTINCT reason FROM floor_entry WHERE reason <> ''")
    printers = shop.rows("SELECT name FROM paper_printer")
    frozen = shop.rows("SELECT data FROM floor_entry WHERE kind = 'frozen'")
    said = (json.loads(data) if isinstance(data, str) else data for (data,) in frozen)
    typed = [text for (text,) in [*reasons, *printers]]
    return [*_texts(demo), *typed, *filter(None, (one.get("words", "") for one in said))]


def _texts(said: Any) -> Iterator[str]:
    if isinstance(said, str):
        yield said
    elif isinstance(said, dict):
        for one in said.values():
            yield from _texts(one)
    elif isinstance(said, list):
        for one in said:
            yield from _texts(one)
