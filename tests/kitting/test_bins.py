"""The clerk's bins: on one list in walking order, each put in its place by taps.

Common practice, no source.
"""

from __future__ import annotations

import csv
import io
from datetime import date
from decimal import Decimal

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop.catalogue import book
from shop.people.models import Badge
from shop.stock import ledger
from shop.stock.models import Bin
from tests.bench.screens import Screen, seen, signed_in
from tests.floor.morning import NOW

pytestmark = pytest.mark.usefixtures("today")

D = Decimal


@pytest.fixture
def phone() -> Client:
    return signed_in("P-41")


@pytest.fixture(autouse=True)
def _bare(today: None) -> None:
    """No bin has a place yet."""
    Bin.objects.update(aisle=None, along_m=None)


def look(phone: Client, code: str) -> Screen:
    return seen(phone.get(f"/bins/{code}/"))


def place(phone: Client, code: str, where: str) -> Screen:
    return seen(phone.post(f"/bins/{code}/place/", {"place": where}, follow=True))


def tap(phone: Client, code: str, words: str) -> Screen:
    """Tap a button on the bin's page: what it sends is what it is for."""
    screen = look(phone, code)
    named = {
        "".join(one.itertext()).replace("\u202f", " "): one for one in screen.root.iter("button")
    }
    assert "disabled" not in named[words].attrib
    return place(phone, code, named[words].get("value", ""))


def at(code: str) -> tuple[int | None, Decimal | None]:
    found: tuple[int | None, Decimal | None] = Bin.objects.values_list("aisle", "along_m").get(
        code=code
    )
    return found


def listed(screen: Screen) -> list[str]:
    return screen.of_class("bin-code")


# --- the list ---


def test_every_bin_stands_on_the_list_with_what_it_holds(phone: Client) -> None:
    screen = seen(phone.get("/bins/"))
    assert listed(screen) == sorted(Bin.objects.values_list("code", flat=True))
    [told] = screen.words.split("A-03 ")[1:2]
    assert told.startswith("No place yet 6 × T03 open-gear individual set, small bushing, nickel")


def test_the_list_goes_the_way_the_clerk_walks(phone: Client) -> None:
    ledger.place_bin("F-01", 1, D("0.5"))
    ledger.place_bin("A-01", 1, D("2.0"))
    screen = seen(phone.get("/bins/"))
    assert set(listed(screen)[:2]) == {"F-01", "A-01"}
    assert f"{Bin.objects.count()} bins in walking order, 2 with a place" in screen.words


def test_look_alikes_too_near_are_told_above_the_list(phone: Client) -> None:
    """C-11 holds P01 of 3°, C-12 beside it P02 of 5°."""
    words = seen(phone.get("/bins/")).words
    assert "P01 (C-11), 3°, and P02 (C-12), 5°, lie in bins side by side." in words
    ledger.place_bin("C-11", 1, D("0.2"))
    ledger.place_bin("C-12", 2, D("0.2"))
    assert "P02 (C-12), 5°, lie" not in seen(phone.get("/bins/")).words


def test_the_list_as_csv_keeps_a_formula_for_text(phone: Client) -> None:
    item = book.item_ids(["T03"])["T03"]
    ledger.receive(item, "Y-01", "=1+1", 2, date(2031, 3, 3), NOW)
    ledger.place_bin("Y-01", 2, D("3.0"))
    rows = list(csv.reader(io.StringIO(phone.get("/bins/list.csv").content.decode())))
    assert rows[0] == ["bin", "aisle", "metres along", "item", "name", "lot", "well", "on hand"]
    assert rows[1] == [
        "Y-01", "2", "3", "T03", "open-gear individual set, small bushing", "'=1+1", "", "2",
    ]  # fmt: skip
    assert {one[0] for one in rows[1:]} == set(Bin.objects.values_list("code", flat=True))


@pytest.mark.parametrize("path", ["/bins/", "/bins/list.csv", "/bins/A-03/"])
def test_more_bins_take_no_more_statements(phone: Client, path: str) -> None:
    item = book.item_ids(["T03"])["T03"]
    counts = []
    for many in (5, 40):
        for number in range(many):
            ledger.receive(item, f"W-{number:02}", "one", 1, date(2031, 3, 3), NOW)
        phone.get(path)  # the stations of the strip are known from here on
        with CaptureQueriesContext(connection) as asked:
            assert phone.get(path).status_code == 200
        counts.append(len(asked))
    assert counts[0] == counts[1]


def test_an_empty_shelf_says_how_bins_come_to_it(
    phone: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("shop.stock.shelf.bins", lambda: ())
    words = seen(phone.get("/bins/")).words
    assert "No bins yet. A bin stands here once it is made below" in words


# --- one bin and its place ---


def test_a_bin_gets_its_first_place_by_one_tap(phone: Client) -> None:
    screen = tap(phone, "A-01", "At the kitting table: aisle 1, 0 m along")
    assert at("A-01") == (1, D("0.0"))
    assert screen.of_class("big") == ["Aisle 1, 0 m along"]


def test_the_next_bin_is_put_beside_the_one_before_it(phone: Client) -> None:
    ledger.place_bin("A-01", 2, D("3.4"))
    screen = tap(phone, "A-02", "Beside A-01: aisle 2, 3.7 m along")
    assert at("A-02") == (2, D("3.7"))
    assert screen.links["Next without a place: A-03"] == "/bins/A-03/"


@pytest.mark.parametrize(
    ("words", "where"),
    [
        ("One aisle nearer", (1, "3.4")),
        ("One aisle farther", (3, "3.4")),
        ("−1 m", (2, "2.4")),
        ("−0.1 m", (2, "3.3")),
        ("+0.1 m", (2, "3.5")),
        ("+1 m", (2, "4.4")),
    ],
)
def test_a_tap_moves_it_one_step(phone: Client, words: str, where: tuple[int, str]) -> None:
    ledger.place_bin("A-03", 2, D("3.4"))
    tap(phone, "A-03", words)
    assert at("A-03") == (where[0], D(where[1]))


def test_the_same_tap_sent_twice_moves_it_once(phone: Client) -> None:
    ledger.place_bin("A-03", 2, D("3.4"))
    place(phone, "A-03", "2 4.4")
    place(phone, "A-03", "2 4.4")
    assert at("A-03") == (2, D("4.4"))


def test_no_tap_leads_off_the_shelf(phone: Client) -> None:
    ledger.place_bin("A-03", 1, D("0.0"))
    off = [one for one in look(phone, "A-03").root.iter("button") if "disabled" in one.attrib]
    assert len(off) == 3  # one aisle nearer, a metre and a tenth nearer
    told = place(phone, "A-03", "0 0.0").words
    assert "Aisle 0 cannot be" in told
    assert at("A-03") == (1, D("0.0"))


def test_a_place_can_be_taken_from_a_bin_again(phone: Client) -> None:
    ledger.place_bin("A-03", 1, D("0.0"))
    assert tap(phone, "A-03", "It has no place any more").of_class("big") == ["No place yet"]


@pytest.mark.parametrize("sent", ["", "2", "two 3.4", "2 x"])
def test_what_no_button_sends_moves_nothing(phone: Client, sent: str) -> None:
    ledger.place_bin("A-03", 2, D("3.4"))
    assert "This page is too old." in place(phone, "A-03", sent).words
    assert at("A-03") == (2, D("3.4"))


def test_a_bin_tells_the_look_alike_it_stands_beside(phone: Client) -> None:
    assert "P02 (C-12), 5°" in look(phone, "C-11").words
    assert "look the same" not in look(phone, "C-01").words


def test_a_bin_that_is_not_there_is_not_found(phone: Client) -> None:
    assert phone.get("/bins/Z-99/").status_code == 404


# --- a new one ---


def test_a_new_bin_is_made_and_goes_on_to_its_place(phone: Client) -> None:
    screen = seen(phone.post("/bins/new/", {"code": "g-01"}, follow=True))
    assert screen.heading == "G-01"


def test_a_bin_that_is_there_already_is_opened_with_a_plain_word(phone: Client) -> None:
    before = Bin.objects.count()
    screen = seen(phone.post("/bins/new/", {"code": " a-03"}, follow=True))
    assert screen.heading == "A-03"
    assert screen.of_class("finding-clear") == ["Done A-03 is there. This is its page."]
    assert screen.of_class("finding-stop") == []
    assert Bin.objects.count() == before


def test_a_code_that_is_none_is_told_and_stays_as_it_was_typed(phone: Client) -> None:
    screen = seen(phone.post("/bins/new/", {"code": "a 03/b"}))
    assert "A 03/B is no code for a bin" in screen.of_class("finding-stop")[0]
    assert screen.one(".//input[@id='code']").get("value") == "a 03/b"
    opened = [one for one in screen.root.iter("details") if "open" in one.attrib]
    assert [one.findtext("summary") for one in opened] == ["A new bin"]


def test_who_only_sees_the_stock_moves_no_bin() -> None:
    group = Badge.objects.get(code="P-41").groups.get()
    group.permissions.remove(group.permissions.get(codename="stock_receive"))
    phone = signed_in("P-41")
    ledger.place_bin("A-03", 2, D("3.4"))
    screen = look(phone, "A-03")
    assert "One aisle farther" not in screen.buttons
    assert phone.post("/bins/A-03/place/", {"place": "3 3.4"}).status_code == 403
    assert phone.post("/bins/new/", {"code": "G-01"}).status_code == 403
    assert at("A-03") == (2, D("3.4"))


@pytest.mark.parametrize(("scanned", "page"), [("/B/A-03", "/bins/A-03/"), ("/L/1", "/lots/1/")])
def test_a_label_read_by_the_phones_own_camera_opens_its_page(
    phone: Client, scanned: str, page: str
) -> None:
    answer = phone.get(scanned)
    assert (answer.status_code, answer["Location"]) == (302, page)
