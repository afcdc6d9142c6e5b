"""The list of what is short, and the lead's page that shares it out."""

from __future__ import annotations

import csv
import io
from datetime import date

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop.catalogue import book
from shop.floor import door
from shop.floor.models import Entry
from shop.stock import ledger
from shop.stock.models import Delivery, Lot, TrayLine
from tests.bench.crowd import add_instruments
from tests.bench.screens import key, seen, signed_in
from tests.floor.morning import NOW, act

pytestmark = pytest.mark.usefixtures("today")

FRIDAY = date(2031, 3, 7)


@pytest.fixture(autouse=True)
def _nothing_on_order(today: None) -> None:
    for delivery in Delivery.objects.filter(ended_why=""):
        ledger.give_up_delivery(delivery.pk, "a test")


@pytest.fixture
def clerk() -> Client:
    return signed_in("P-41")


@pytest.fixture
def lead() -> Client:
    return signed_in("P-01")


def line(serial: str, item: str) -> TrayLine:
    return TrayLine.objects.get(tray__serial=serial, item__key=item)


def none_left(item: str) -> None:
    for lot in Lot.objects.filter(item__key=item, held="", piece=""):
        if free := lot.on_hand - lot.reserved:
            ledger.promise(lot.pk, free, NOW, "a test")


def short_of(serial: str, item: str) -> None:
    """What was kept for the line is promised to others, and nothing is free."""
    one = line(serial, item)
    lot = one.reserved_lot_id
    assert lot is not None
    ledger.let_go([one.pk], None, NOW, "a test")
    ledger.promise(lot, one.quantity, NOW, "a test")
    none_left(item)


def expect(item: str, quantity: int, on: date) -> None:
    ledger.expect(book.item_ids([item])[item], quantity, on)


def test_a_short_is_told_with_when_and_where_it_is_needed_and_by_how_much_it_slips(
    clerk: Client,
) -> None:
    short_of("Q-1062", "T01")
    expect("T01", 20, FRIDAY)
    words = seen(clerk.get("/shorts/?words=T01")).words
    assert "Tue 07:42 at N60" in words
    assert "Q-1062" in words
    assert "2031-03-07: slips 3 days" in words
    assert "1 for 1 guitar" in words


def test_what_is_needed_first_stands_at_the_head(clerk: Client) -> None:
    short_of("Q-1062", "T01")
    rows = list(csv.DictReader(io.StringIO(clerk.get("/shorts/list.csv").content.decode())))
    assert [row["needed"] for row in rows] == sorted(row["needed"] for row in rows)
    mine = next(row for row in rows if (row["serial"], row["item"]) == ("Q-1062", "T01"))
    assert (mine["operation"], mine["needed"]) == ("N60", "2031-03-04T07:42+00:00")
    assert (mine["next receipt"], mine["days late"]) == ("", "")
    assert mine["why"] == "Needed Tue 07:42 at N60, nothing more on order."


def test_words_narrow_the_list_and_its_file(clerk: Client) -> None:
    short_of("Q-1062", "T01")
    assert seen(clerk.get("/shorts/?words=T01 unpromised")).heading == "Short: 1 line"
    assert seen(clerk.get("/shorts/?words=T01 late")).heading == "Short: 0 lines"
    answer = clerk.get("/shorts/list.csv?words=t01").content.decode()
    assert len(answer.splitlines()) == 2


def test_no_cell_of_the_file_is_run_as_a_formula(clerk: Client) -> None:
    """OWASP ASVS 5.0, requirement 1.2.10."""
    short_of("Q-1062", "T01")
    line("Q-1062", "T01").item.__class__.objects.filter(key="T01").update(name="=1+1")
    assert ",'=1+1," in clerk.get("/shorts/list.csv?words=Q-1062").content.decode()


def test_the_list_asks_for_each_thing_once(clerk: Client) -> None:
    short_of("Q-1062", "T01")
    clerk.get("/shorts/")
    with CaptureQueriesContext(connection) as few:
        before = clerk.get("/shorts/")
    add_instruments(40)
    with CaptureQueriesContext(connection) as many:
        after = clerk.get("/shorts/")
    assert len(after.content) > len(before.content)
    assert len(many) == len(few)


def test_only_a_lead_is_offered_to_share_out(clerk: Client, lead: Client) -> None:
    assert "Share out" not in seen(clerk.get("/shorts/")).words
    assert clerk.get("/shorts/share/").status_code == 403
    assert "Share out what is scarce" in seen(lead.get("/shorts/")).words


def contested() -> None:
    """Q-1063 has the last T01 but no N01 before 2031-03-12; Q-1062 lacks only a T01. Beside
    them Q-1044 was marked short of a T02 that is free."""
    short_of("Q-1062", "T01")
    short_of("Q-1063", "N01")
    expect("T01", 20, FRIDAY)
    expect("N01", 20, date(2031, 3, 12))


def share(lead: Client, mark: str) -> str:
    sent = {"key": key(), "mark": mark}
    return seen(lead.post("/shorts/share/", sent, follow=True)).words


def mark_of(lead: Client) -> str:
    field = seen(lead.get("/shorts/share/")).one(".//input[@name='mark']")
    return field.get("value", "")


def test_who_gets_it_and_who_not_is_told_with_both_dates(lead: Client) -> None:
    contested()
    words = seen(lead.get("/shorts/share/")).words
    assert "3 lines change" in words
    assert "Q-1062 gains" in words
    assert (
        "Q-1063 loses T01 for Q-1063: due 2031-03-19, needed Tue 07:42 at N60. It comes "
        "2031-03-07. That is 3 days late." in words
    )


def test_one_tap_accepts_it_and_each_journal_says_so(lead: Client) -> None:
    contested()
    assert "Shared out." in share(lead, mark_of(lead))
    assert line("Q-1062", "T01").reserved == 1
    assert line("Q-1063", "T01").reserved == 0
    kinds = Entry.objects.filter(kind__startswith="kit", data__item="T01").order_by("subject")
    assert list(kinds.values_list("subject", "kind")) == [
        ("Q-1062", "kit covered"),
        ("Q-1063", "kit short"),
    ]
    assert "well as can be: nothing changes" in seen(lead.get("/shorts/share/")).words


def test_a_proposal_that_is_not_what_was_seen_is_shown_anew(lead: Client) -> None:
    contested()
    old = mark_of(lead)
    ledger.receive(book.item_ids(["N01"])["N01"], "A-01", "31-10", 1, NOW.date(), NOW)
    words = share(lead, old)
    assert "Stock, trays or dates changed since you looked." in words
    assert line("Q-1063", "T01").reserved == 1


def test_the_lead_sees_at_once_what_an_urgent_order_took_until_it_is_covered(lead: Client) -> None:
    none_left("T01")
    expect("T01", 20, FRIDAY)
    for deed in (
        door.PartArrived("body", "Q-3000", "TARN"),
        door.PartArrived("neck", "K-3000", "TARN"),
    ):
        assert door.record(act("P-01", ""), deed).done
    sent = {
        "key": key(), "body": "Q-3000", "neck": "K-3000", "spec": "TARN", "due_on": "2031-03-10",
        "release_on": "2031-03-04", "urgent": "on",
    }  # fmt: skip
    answer = seen(lead.post("/release/", sent, follow=True)).words
    assert "T01 is taken from Q-1063: due 2031-03-19, needed there Tue 2031-03-04 07:42" in answer
    told = (
        "Lost its T01 to urgent Q-3000, needed Tue 07:42 at N60, next receipt 2031-03-07: slips "
        "3 days."
    )
    for page in ("/floor/?words=lost", "/settle/", "/shorts/?words=lost"):
        words = seen(lead.get(page)).words
        assert "Q-1063" in words, page
        assert told in words, page
    taken = line("Q-1063", "T01")
    ledger.receive(taken.item_id, "A-01", "31-10", 1, NOW.date(), NOW)
    ledger.reserve_lines([taken.pk], None, NOW)
    assert told not in seen(lead.get("/settle/")).words
