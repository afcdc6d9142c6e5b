"""Where a lot went, on the clerk's phone: searched, scanned, told, and as CSV."""

from __future__ import annotations

import csv
import io

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop.people.models import Badge
from shop.stock import ledger
from shop.stock.models import Lot
from tests.bench.screens import Screen, seen, signed_in
from tests.floor.morning import NOW, act, now
from tests.stock.corner import Corner

pytestmark = pytest.mark.usefixtures("today")

SERIAL = "Q-1050"  # its tray closed
FIND = "/used/"


@pytest.fixture
def phone() -> Client:
    return signed_in("P-41")


def lot(key: str = "P01") -> Lot:
    return Lot.objects.get(item__key=key, movements__tray__serial=SERIAL, movements__out__gt=0)


def page(phone: Client, one: Lot) -> Screen:
    return seen(phone.get(f"/used/{one.pk}/"))


# --- found ---


def test_the_search_asks_for_a_lot_before_anything_else(phone: Client) -> None:
    assert seen(phone.get(FIND)).heading == "Scan a lot to see where it went"


@pytest.mark.parametrize(
    "text", ["LOT {0}", "lot {0}", "https://shop.lan/LOT/{0}", "HTTP://SHOP.LAN/L/{0}"]
)
def test_a_scanned_lot_is_shown_at_once(phone: Client, text: str) -> None:
    answer = phone.post(FIND, {"code": text.format(lot().pk)})
    assert (answer.status_code, answer["Location"]) == (302, f"/used/{lot().pk}/")


def test_a_typed_code_lists_the_lots_that_have_it(phone: Client) -> None:
    found = seen(phone.post(FIND, {"code": "p01 02A"}, follow=True))
    assert f"/used/{lot().pk}/" in found.links.values()


def test_what_no_lot_is_called_is_said_with_what_to_do(phone: Client) -> None:
    found = seen(phone.get(FIND, {"words": "<b>99</b>"}))
    assert "No lot has “<b>99</b>” in its code. Read the label again" in found.words


# --- told ---


def test_a_lot_tells_its_instruments_and_what_became_of_them(phone: Client) -> None:
    screen = page(phone, lot())
    assert screen.heading == f"Where P01, lot {lot().code} went"
    it = now(SERIAL)
    assert SERIAL in screen.words
    assert f"{it.sheet.spec.key}, being built" in screen.words
    assert screen.links[f"Tray {it.tray_code}"] == f"/trays/{it.tray_code}/"
    assert "closed P-41" in screen.words


def test_a_lot_that_went_nowhere_says_so(phone: Client) -> None:
    screen = page(phone, Lot.objects.get(item__key="T03"))
    assert "0 instruments" in screen.words
    assert "Nothing of it went anywhere yet." in screen.words


def test_a_held_lot_says_so_before_where_it_went(phone: Client) -> None:
    ledger.hold(lot().pk, "Plating is spotted", Badge.objects.get(code="P-41").pk, NOW)
    words = page(phone, lot()).words
    assert words.index("Plating is spotted") < words.index(SERIAL)


def test_singles_lead_to_the_lot_they_are_of_and_back(phone: Client) -> None:
    whole = Lot.objects.get(item__key="T03")
    by = Badge.objects.get(code="P-41").pk
    left, _ = ledger.break_set(whole.pk, by, NOW, "A post is bent on Q-7001")
    ledger.draw(left, 1, "Q-7001", by, NOW, "A post is bent")
    assert f"/used/{left}/" in page(phone, whole).links.values()
    assert "1 drawn for its repair" in page(phone, whole).words
    single = Lot.objects.get(pk=left)
    assert f"/used/{whole.pk}/" in page(phone, single).links.values()


def test_a_lot_that_never_was_is_not_found(phone: Client) -> None:
    assert phone.get("/used/987654/").status_code == 404


def test_who_may_not_see_the_stock_sees_nothing_of_it() -> None:
    bench = signed_in("P-11")
    assert [bench.get(one).status_code for one in (FIND, f"/used/{lot().pk}/")] == [403, 403]


# --- as a spreadsheet takes it ---


def rows(phone: Client, number: int) -> list[dict[str, str]]:
    answer = phone.get(f"/used/{number}/list.csv")
    assert answer["Content-Disposition"] == f'attachment; filename="lot-{number}-used.csv"'
    return list(csv.DictReader(io.StringIO(answer.content.decode())))


def test_the_csv_names_every_instrument_with_all_that_is_known(phone: Client) -> None:
    by = Badge.objects.get(code="P-11").pk
    ledger.consume(now(SERIAL).tray_id, None, by, NOW)
    (row,) = [one for one in rows(phone, lot().pk) if one["serial"] == SERIAL]
    assert (row["item"], row["stage"], row["fitted"]) == ("P01", "fitted", "1")
    assert (row["fitted by"], row["closed by"]) == ("P-11", "P-41")
    assert row["fitted at"].startswith(NOW.date().isoformat())


def test_no_cell_of_the_csv_is_run_as_a_formula(phone: Client) -> None:
    """What is text stays text: OWASP ASVS 5.0, requirement 1.2.10."""
    whole = Lot.objects.get(item__key="T03")
    by = Badge.objects.get(code="P-41").pk
    ledger.draw(whole.pk, 1, "=1+1", by, NOW, "A post is bent")
    assert rows(phone, whole.pk)[0]["serial"] == "'=1+1"


# --- how it is asked ---


@pytest.mark.parametrize("more", [5, 40])
def test_the_page_takes_as_many_statements_for_any_number_of_instruments(
    phone: Client, more: int
) -> None:
    whole = Lot.objects.get(item__key="T03")
    corner = Corner({"T03": whole.item_id}, now(SERIAL).revision_id, act("P-41").by_id)
    corner.receive("T03", 60, whole.received_on, whole.code, whole.bin.code)
    for _ in range(more):
        corner.ask(T03=1)
    page(phone, whole)
    with CaptureQueriesContext(connection) as asked:
        page(phone, whole)
    assert len(asked) == 9
