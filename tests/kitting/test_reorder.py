"""What to order again, how it is reckoned, and how an item is kept.

The formula is checked against published examples in ``tests/craft/test_reorder.py``.
"""

from __future__ import annotations

import csv
import io
from decimal import Decimal

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop.catalogue import book
from shop.catalogue.models import Item
from shop.stock import ledger, shelf
from shop.stock.models import Lot, StockRule
from tests.bench.screens import Screen, seen, signed_in
from tests.floor.morning import NOW

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def phone() -> Client:
    return signed_in("P-41")


def item(key: str = "P04") -> int:
    return Item.objects.get(key=key).pk


def said(phone: Client, key: str = "P04") -> str:
    """What the page says of one item: all items whose words have its key, which is it alone."""
    screen = seen(phone.get("/reorder/", {"words": key}))
    return " ".join(screen.of_class("reorder-row")).replace("\u202f", " ")


def table(phone: Client, name: str, words: str = "") -> list[dict[str, str]]:
    answer = phone.get(f"/reorder/{name}.csv", {"words": words})
    assert answer["Content-Type"].startswith("text/csv")
    return list(csv.DictReader(io.StringIO(answer.content.decode())))


# --- the list ---


def test_what_is_below_its_point_comes_first_with_how_many_to_order(phone: Client) -> None:
    ledger.keep_rule(item(), least=14, pack=6)
    screen = seen(phone.get("/reorder/"))
    below = [row.key for row in shelf.reordering(NOW) if row.below]
    assert f"{len(below)} items at or below the point" in screen.words
    keys = [one.split()[0] for one in screen.of_class("reorder-row")]
    assert keys[: len(below)] == below
    assert len(keys) == Lot.objects.count()
    assert "Order 6, 1 pack of 6" in said(phone)
    assert "10 free of 10 on hand · order at 14" in said(phone)


def test_what_is_above_its_point_says_nothing_of_ordering(phone: Client) -> None:
    assert "Order" not in said(phone).split("How P04")[0]


def test_each_item_opens_to_the_formula_with_its_numbers(phone: Client) -> None:
    """P04 has no demand: everything is 0 but its least, 4."""
    words = said(phone)
    assert "Wanted a day: 0.000, deviation 0.000, over 60 days" in words
    assert "Safety stock: 1.645 × √(14 × 0.000² + 0.000² × 0²) = 0.00" in words
    assert "Never ordered later than at 4: order at 4" in words
    assert "There: 10 free + 0 on order = 10, above 4" in words


def test_what_is_on_order_and_what_orders_will_want_stand_beside(phone: Client) -> None:
    """T01: 8 free, 12 due tomorrow, 6 for C-0431; 10 for another are more than are free."""
    words = said(phone, "T01")
    assert "8 free of 14 on hand + 12 on order, next Tue 2031-03-04" in words
    assert "Orders not released yet want 6." in words
    spec = book.spec_id("TARN")
    assert spec is not None
    ledger.book_order("C-9", spec, 10, NOW.date())
    assert "Orders not released yet want 16, not covered from Mon 2031-03-03." in said(phone, "T01")


def test_the_list_narrows_to_items_with_all_of_the_words(phone: Client) -> None:
    screen = seen(phone.get("/reorder/", {"words": "gold class a"}))
    assert screen.of_class("reorder-row") == []
    assert "No item has all of these words." in screen.words


@pytest.mark.parametrize("more", [5, 40])
def test_the_list_takes_ten_statements_for_any_number_of_lots_and_deliveries(
    phone: Client, more: int
) -> None:
    """Badge and rights, and the eight of the shelf."""
    for number in range(more):
        ledger.receive(item(), "Y-01", f"lot {number}", 4, NOW.date(), NOW)
        ledger.expect(item(), 1, NOW.date(), f"B-{number}")
    phone.get("/reorder/")
    with CaptureQueriesContext(connection) as asked:
        phone.get("/reorder/")
    assert len(asked) == 10


# --- the lists as files ---


def test_the_shopping_list_has_what_is_below_its_point_and_nothing_else(phone: Client) -> None:
    ledger.keep_rule(item(), least=14, pack=6)
    rows = table(phone, "shopping")
    assert {row["item"] for row in rows} == {row.key for row in shelf.reordering(NOW) if row.below}
    [mine] = [row for row in rows if row["item"] == "P04"]
    assert list(mine.values()) == ["P04", "six ebony pins, 3°, plain", "6", "1", ""]


def test_the_whole_list_has_what_each_point_is_made_of(phone: Client) -> None:
    rows = table(phone, "list")
    assert len(rows) == Lot.objects.count()
    [mine] = [row for row in rows if row["item"] == "T01"]
    asked = {
        "on hand": "14", "free": "8", "on order": "12", "next due": "2031-03-04",
        "lead days": "28", "deviation of lead": "4", "least": "10", "wanted by orders": "6",
    }  # fmt: skip
    assert {name: mine[name] for name in asked} == asked


def test_an_operator_sees_no_list_to_order(phone: Client) -> None:
    phone = signed_in("P-11")
    assert phone.get("/reorder/").status_code == 403
    assert phone.get("/items/P04/keep/").status_code == 403


# --- how an item is kept ---


def keep(phone: Client, **changed: str) -> Screen:
    """Send the page's form back with some fields changed."""
    form = seen(phone.get("/items/P04/keep/")).one(".//main//form[@method='post']")
    sent = {
        one.get("name", ""): one.get("value", "")
        for one in form.iter("input")
        if one.get("type") != "radio" or "checked" in one.attrib
    }
    return seen(phone.post("/items/P04/keep/", sent | changed, follow=True))


def test_how_an_item_is_kept_is_changed_with_comma_or_point(phone: Client) -> None:
    screen = keep(
        phone, cls="A", tolerance_pct="1,5", pack="12", unit_g="0.352", service_pct="97.5"
    )
    assert "P04 is kept so." in screen.of_class("finding-clear")[0]
    kept = shelf.kept("P04")
    assert kept is not None
    assert (kept.cls, kept.tolerance_pct, kept.pack) == ("A", Decimal("1.5"), 12)
    assert (kept.unit_g, kept.service_pct, kept.least) == (Decimal("0.352"), Decimal("97.5"), 4)


def test_what_is_left_empty_goes_by_the_class(phone: Client) -> None:
    keep(phone, tolerance_pct="1", count_every_days="3")
    keep(phone, tolerance_pct="", count_every_days="")
    kept = shelf.kept("P04")
    assert kept is not None
    assert (kept.tolerance_pct, kept.count_every_days) == (None, None)


@pytest.mark.parametrize(
    ("name", "typed", "told"),
    [
        ("pack", "0", "Give a whole number from 1 to 9999."),
        ("pack", "", "Give a whole number from 1 to 9999."),
        ("least", "-1", "Give a whole number from 0 to 99999."),
        ("service_pct", "100", "Give a number from 50.1 to 99.9, 1 decimals at most."),
        ("service_pct", "50", "Give a number from 50.1 to 99.9"),
        ("tolerance_pct", "1.55", "Give a number from 0 to 100, 1 decimals at most."),
        ("unit_g", "0", "Give a number from 0.001 to 9999"),
        ("unit_g", "NaN", "Give a number from 0.001 to 9999"),
        ("lead_days", "two", "Give a whole number from 0 to 730."),
        ("cls", "Z", "Choose a class."),
    ],
)
def test_what_cannot_be_is_told_at_its_field_and_nothing_is_kept(
    phone: Client, name: str, typed: str, told: str
) -> None:
    before = StockRule.objects.filter(item__key="P04").values().get()
    screen = keep(phone, **({"pack": "77", name: typed}))
    assert told in " ".join(screen.of_class("finding-stop"))
    assert StockRule.objects.filter(item__key="P04").values().get() == before


def test_an_item_that_never_was_is_not_found(phone: Client) -> None:
    assert phone.get("/items/T99/keep/").status_code == 404
