"""What is on order: noted, corrected by its number, given up with a reason."""

from __future__ import annotations

import csv
import io
from datetime import date

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop.catalogue.models import Item
from shop.stock import ledger
from shop.stock.models import Delivery
from tests.bench.screens import Screen, seen, signed_in
from tests.floor.morning import NOW

pytestmark = pytest.mark.usefixtures("today")

PLAIN = {"item": "P04", "quantity": "12", "due_on": "2031-03-10", "order": "B-1"}


@pytest.fixture
def phone() -> Client:
    return signed_in("P-41")


def note(phone: Client, **changed: str) -> Screen:
    return seen(phone.post("/deliveries/note/", PLAIN | changed, follow=True))


def give_up(phone: Client, order: str = "B-1", **sent: str) -> Screen:
    row = Delivery.objects.get(order=order)
    return seen(phone.post(f"/deliveries/{row.pk}/give-up/", sent, follow=True))


def mine() -> list[tuple[int, date]]:
    rows = Delivery.objects.filter(item__key="P04")
    return list(rows.values_list("quantity", "due_on"))


def test_what_is_to_come_stands_there_the_earliest_first(phone: Client) -> None:
    screen = seen(phone.get("/deliveries/"))
    keys = [one.split()[0] for one in screen.of_class("reorder-row")]
    assert keys[:3] == ["R02", "T01", "T02"]
    assert "12 due Tue 2031-03-04" in screen.words


def test_what_should_be_here_by_now_is_marked(phone: Client) -> None:
    first, second, *_ = seen(phone.get("/deliveries/")).of_class("reorder-row")
    assert "12 due Sun 2031-03-02 Check: this day is past." in first
    assert "Check" not in second


def test_an_order_is_noted_with_its_number(phone: Client) -> None:
    screen = note(phone)
    assert "12 of P04 due 2031-03-10, order B-1." in screen.of_class("finding-clear")[0]
    assert mine() == [(12, date(2031, 3, 10))]


def test_the_same_number_corrects_it_and_the_same_tap_twice_is_one_delivery(
    phone: Client,
) -> None:
    note(phone)
    note(phone)
    assert mine() == [(12, date(2031, 3, 10))]
    note(phone, quantity="10", due_on="2031-03-12")
    assert mine() == [(10, date(2031, 3, 12))]


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({"item": ""}, "No item yet. Give one."),
        ({"item": "T99"}, "There is no item T99. Choose one of the list."),
        ({"quantity": ""}, "No quantity yet. Give one."),
        ({"quantity": "0"}, "0 cannot be on order. Give a number from 1."),
        ({"quantity": "-4"}, "-4 cannot be on order."),
        ({"quantity": "1.5"}, "1.5 cannot be on order."),
        ({"due_on": ""}, "No day yet. Give one."),
        ({"due_on": "31/3/31"}, "31/3/31 is no date. Write it as 2031-03-31."),
        ({"due_on": "20310331"}, "20310331 is no date. Write it as 2031-03-31."),
        ({"due_on": "2031-W14-1"}, "2031-W14-1 is no date."),
        ({"due_on": "2031-02-29"}, "2031-02-29 is no date."),
        ({"due_on": "2031-03-310"}, "2031-03-310 is no date."),
        ({"due_on": "203\N{ARABIC-INDIC DIGIT ONE}-03-10"}, "is no date. Write it as"),
        ({"due_on": "2030-03-02"}, "2030-03-02 cannot be due: a day from 1 year back"),
        ({"due_on": "2036-03-04"}, "2036-03-04 cannot be due: a day from 1 year back to 5 years"),
        ({"due_on": "0001-01-01"}, "0001-01-01 cannot be due"),
        ({"order": " "}, "Give the number of the order, so that it is kept once."),
    ],
)
def test_what_cannot_be_says_so_and_what_was_typed_stays(
    phone: Client, changed: dict[str, str], told: str
) -> None:
    screen = note(phone, **changed)
    assert told in screen.of_class("finding-stop")[0]
    assert mine() == []
    kept = {one.get("name"): one.get("value") for one in screen.root.iter("input")}
    sent = PLAIN | changed
    assert {name: kept[name] for name in ("quantity", "due_on", "order")} == {
        name: sent[name] for name in ("quantity", "due_on", "order")
    }


@pytest.mark.parametrize("day", ["2030-03-03", "2036-03-03"])
def test_the_first_and_the_last_day_that_can_be_are_kept(phone: Client, day: str) -> None:
    note(phone, due_on=day)
    assert mine() == [(12, date.fromisoformat(day))]


def test_fewer_than_came_already_is_told(phone: Client) -> None:
    note(phone)
    Delivery.objects.filter(order="B-1").update(came=5)
    assert (
        "5 of B-1 came in already, more than 4."
        in note(phone, quantity="4").of_class("finding-stop")[0]
    )
    assert "7 due Mon 2031-03-10 Order B-1 · 5 of 12 came" in seen(phone.get("/deliveries/")).words


def test_a_delivery_is_given_up_with_a_reason_and_not_counted_on_any_more(
    phone: Client,
) -> None:
    note(phone)
    assert "Say why nothing more of it comes." in give_up(phone).of_class("finding-stop")[0]
    screen = give_up(phone, why="Sold out")
    assert "12 of P04 are not counted on any more." in screen.of_class("finding-clear")[0]
    assert "given up: Sold out" in screen.words
    assert (
        "Nothing more of B-1 is to come."
        in give_up(phone, why="Sold out").of_class("finding-stop")[0]
    )


def test_a_number_that_was_given_up_is_not_used_again(phone: Client) -> None:
    note(phone)
    give_up(phone, why="Sold out")
    told = note(phone).of_class("finding-stop")[0]
    assert "B-1 was given up for P04: Sold out. Use another number." in told


def test_the_list_comes_as_csv_narrowed_by_the_same_words(phone: Client) -> None:
    answer = phone.get("/deliveries/list.csv", {"words": "coming T01"})
    [row] = csv.DictReader(io.StringIO(answer.content.decode()))
    told = (row["item"], row["order"], row["to come"], row["due"])
    assert told == ("T01", "B-2291", "12", "2031-03-04")


def test_without_deliveries_the_page_says_how_one_comes_to_be(phone: Client) -> None:
    Delivery.objects.all().delete()
    assert (
        "Nothing is on order. What you note below stands here"
        in seen(phone.get("/deliveries/")).words
    )


@pytest.mark.parametrize("more", [5, 40])
def test_the_list_takes_four_statements_for_any_number_of_deliveries(
    phone: Client, more: int
) -> None:
    """Badge and rights, deliveries, items to choose from."""
    item = Item.objects.get(key="P04").pk
    for number in range(more):
        ledger.expect(item, 1, NOW.date(), f"B-{number}")
    phone.get("/deliveries/")
    with CaptureQueriesContext(connection) as asked:
        phone.get("/deliveries/")
    assert len(asked) == 4


def test_an_operator_neither_sees_nor_notes_what_is_on_order() -> None:
    phone = signed_in("P-11")
    assert phone.get("/deliveries/").status_code == 403
    assert phone.post("/deliveries/note/", PLAIN).status_code == 403
    assert mine() == []


def test_a_delivery_that_never_was_is_not_found(phone: Client) -> None:
    assert phone.post("/deliveries/0/give-up/", {"why": "Sold out"}).status_code == 404
