"""Deliveries taken in at the table: what is due, counted into a bin, on to its lot's page."""

from __future__ import annotations

import csv
import io
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop.catalogue import book
from shop.craft.fit import receiving
from shop.stock import ledger
from shop.stock.models import Delivery, Lot
from tests.bench.screens import Screen, seen, signed_in

pytestmark = pytest.mark.usefixtures("today")

DUE = date(2031, 3, 4)


@pytest.fixture
def phone() -> Client:
    return signed_in("P-41")


@pytest.fixture
def delivery() -> int:
    return ledger.expect(book.item_ids(["T03"])["T03"], 12, DUE, "M-77")


def form(phone: Client, **asked: Any) -> dict[str, Any]:
    """The fields of the page as it comes up: what is hidden, prefilled or chosen."""
    page = seen(phone.get("/receiving/take/", asked))
    box = page.one(".//form[@action='/receiving/take/']")
    return {
        one.get("name", ""): one.get("value", "")
        for one in box.iter("input")
        if one.get("type") not in {"radio", "checkbox"} or "checked" in one.attrib
    }


def take(phone: Client, asked: dict[str, Any], **more: Any) -> Screen:
    sent = {name: value for name, value in (form(phone, **asked) | more).items() if value != ""}
    return seen(phone.post("/receiving/take/", sent, follow=True))


def stops(screen: Screen) -> str:
    return " ".join(screen.of_class("finding-stop")).replace("\u202f", " ")


# --- what is due ---


def test_what_is_due_is_listed_with_what_is_still_to_come(phone: Client, delivery: int) -> None:
    ledger.expect(book.item_ids(["T01"])["T01"], 5, date(2031, 2, 1), "M-1")
    screen = seen(phone.get("/receiving/"))
    assert "12 × T03" in screen.words
    assert "due Tue 2031-03-04 · order M-77" in screen.words
    assert "Late: due Sat 2031-02-01" in screen.words
    assert screen.links["It came in: T03, order M-77"] == f"/receiving/take/?delivery={delivery}"


def test_without_a_delivery_the_page_says_what_would_be_here(phone: Client) -> None:
    Delivery.objects.all().delete()
    assert "Nothing is on order." in seen(phone.get("/receiving/")).words


def test_what_is_due_comes_as_csv(phone: Client, delivery: int) -> None:
    rows = csv.DictReader(io.StringIO(phone.get("/receiving/list.csv").content.decode()))
    [row] = [one for one in rows if one["order"] == "M-77"]
    assert (row["item"], row["due"], row["to come"]) == ("T03", "2031-03-04", "12")


@pytest.mark.parametrize("more", [5, 40])
def test_the_list_takes_four_statements_for_any_number_of_deliveries(
    phone: Client, more: int
) -> None:
    """Badge and rights, what is due, and the items to choose from."""
    item = book.item_ids(["T03"])["T03"]
    for number in range(more):
        ledger.expect(item, 1, DUE + timedelta(days=number), f"M-{number}")
    phone.get("/receiving/")
    with CaptureQueriesContext(connection) as asked:
        phone.get("/receiving/")
    assert len(asked) == 4


# --- taken in ---


def test_a_delivery_is_taken_in_with_one_tap_once_it_is_counted(
    phone: Client, delivery: int
) -> None:
    fields = form(phone, delivery=delivery)
    assert (fields["quantity"], fields["bin"]) == ("12", "A-03")
    screen = take(phone, {"delivery": delivery}, lot_code="31-10a")
    lot = Lot.objects.get(code="31-10A")
    assert screen.heading == "T03, lot 31-10A"
    assert (lot.on_hand, lot.bin.code) == (12, "A-03")
    assert "12 × T03 taken in, bin A-03. Now open 2 boxes of 12" in screen.words
    assert "Open 2 boxes of 12: 1 in 10" in screen.words
    assert "In each, count 3 left and 3 right, seen from the front." in screen.words
    assert "Post: 2 to go" in screen.words


def test_the_lot_is_free_after_the_last_dimension_is_measured(phone: Client, delivery: int) -> None:
    take(phone, {"delivery": delivery}, lot_code="31-10A")
    lot = Lot.objects.get(code="31-10A")
    article = book.articles([lot.item_id])[lot.item_id]
    for one in receiving.measures(article):
        page = seen(phone.get(f"/lots/{lot.pk}/"))
        chosen = [box for box in page.root.iter("input") if "checked" in box.attrib]
        assert chosen[0].get("value") == one.dimension
        value = str((one.size.least + one.size.most) / 2)
        sent = {"dimension": one.dimension, "value": [value, value], "after": "0"}
        last = seen(phone.post(f"/lots/{lot.pk}/", sent, follow=True))
    assert "inside the size. The lot is free to pick." in last.words
    lot.refresh_from_db()
    assert lot.held == ""


def test_more_than_is_on_order_is_asked_again(phone: Client, delivery: int) -> None:
    screen = take(phone, {"delivery": delivery}, quantity="13")
    assert "13 came in, 12 of 12 are still on order. Count again" in stops(screen)
    assert "Counted again: so many came in" in screen.words
    assert Delivery.objects.get(pk=delivery).came == 0
    take(phone, {"delivery": delivery}, quantity="13", counted="1")
    assert Delivery.objects.get(pk=delivery).came == 13


def test_the_same_tap_twice_takes_it_in_once(phone: Client, delivery: int) -> None:
    sent = {name: value for name, value in form(phone, delivery=delivery).items() if value}
    sent |= {"quantity": "5", "lot_code": "31-10A"}
    for _ in range(2):
        screen = seen(phone.post("/receiving/take/", sent, follow=True))
        assert screen.heading == "T03, lot 31-10A"
    assert Lot.objects.get(code="31-10A").on_hand == 5


def test_what_nobody_ordered_is_taken_in_by_its_item(phone: Client) -> None:
    screen = take(phone, {"item": "R01"}, quantity="10", lot_code="S-1")
    assert screen.heading == "R01, lot S-1"
    assert Lot.objects.get(code="S-1").held == ""


def test_a_bin_that_is_scanned_is_chosen(phone: Client, delivery: int) -> None:
    sent = {"delivery": delivery, "code": "https://heelcap.example/BIN/a-01"}
    screen = seen(phone.post("/receiving/take/", sent, follow=True))
    chosen = [one for one in screen.root.iter("input") if "checked" in one.attrib]
    assert [one.get("value") for one in chosen] == ["A-01"]
    wrong = seen(phone.post("/receiving/take/", sent | {"code": "Z-99"}, follow=True))
    assert "That is no bin's label." in stops(wrong)


def test_another_bin_counts_before_the_one_that_was_chosen(phone: Client, delivery: int) -> None:
    take(phone, {"delivery": delivery}, other_bin="a-01", lot_code="31-10A")
    assert Lot.objects.get(code="31-10A").bin.code == "A-01"


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({"quantity": "0"}, "Count what came in: 1 to 9999 pieces."),
        ({"quantity": "x"}, "Count what came in: 1 to 9999 pieces."),
        ({"other_bin": "Z-99"}, "There is no bin Z-99. Scan the label on the shelf."),
        ({"received_on": "31.3."}, "Say the day it came in."),
        ({"lot_code": "off Q-1"}, "is a name for what is set apart"),
    ],
)
def test_what_cannot_be_is_told_and_what_was_typed_stays(
    phone: Client, delivery: int, more: dict[str, str], told: str
) -> None:
    screen = take(phone, {"delivery": delivery}, **({"lot_code": "31-10A"} | more))
    assert told in stops(screen)
    fields = {one.get("name"): one.get("value") for one in screen.root.iter("input")}
    assert fields["lot_code"] == more.get("lot_code", "31-10A")
    assert fields["quantity"] == more.get("quantity", "12")
    assert Delivery.objects.get(pk=delivery).came == 0


def test_batteries_are_asked_for_their_date(phone: Client) -> None:
    screen = seen(phone.get("/receiving/take/", {"item": "V01"}))
    assert "Best before, as printed on the batteries" in screen.words
    told = take(phone, {"item": "V01"}, quantity="5")
    assert "Read the best-before date off the batteries." in stops(told)
    take(phone, {"item": "V01"}, quantity="5", lot_code="B-9", best_before="2034-01-01")
    assert Lot.objects.get(code="B-9").best_before == date(2034, 1, 1)


def test_a_delivery_that_came_meanwhile_leads_back_to_the_list(
    phone: Client, delivery: int
) -> None:
    ledger.give_up_delivery(delivery, "Out of them")
    screen = seen(phone.get("/receiving/take/", {"delivery": delivery}, follow=True))
    assert screen.heading == "What is due to come in"
    assert "That is not due any more." in stops(screen)


def test_an_operator_takes_nothing_in(delivery: int) -> None:
    phone = signed_in("P-11")
    assert phone.get("/receiving/").status_code == 403
    assert phone.post("/receiving/take/", {"delivery": delivery}).status_code == 403


def test_a_piece_measured_out_leaves_the_lot_to_the_lead(phone: Client, delivery: int) -> None:
    take(phone, {"delivery": delivery}, lot_code="31-10A")
    lot = Lot.objects.get(code="31-10A")
    sent = {"dimension": "post_mm", "value": ["6.2"], "after": "0"}
    screen = seen(phone.post(f"/lots/{lot.pk}/", sent, follow=True))
    assert "The whole lot is held." in stops(screen)
    assert "to go" not in screen.words
    assert lot.checks.get().value_mm == Decimal("6.200")
