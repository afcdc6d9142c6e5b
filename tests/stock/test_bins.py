"""Bins: where they stand, what lies in them, in which order they are passed.

Common practice, no source; the way itself is tried in tests/craft/test_aisles.py.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop.catalogue import book
from shop.craft.aisles import Place
from shop.stock import ledger, shelf
from shop.stock.models import Bin
from tests.floor.morning import NOW
from tests.stock.corner import DAY, Corner

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

D = Decimal


@pytest.fixture(autouse=True)
def _bare(db: None, morning: None) -> None:
    """No bin has a place yet."""
    Bin.objects.update(aisle=None, along_m=None)


def row(code: str) -> shelf.BinRow:
    return next(one for one in shelf.bins() if one.code == code)


def refused(deed: Any, *said: Any) -> str:
    before = list(Bin.objects.order_by("pk").values())
    with pytest.raises(ledger.OutOfStep) as told:
        deed(*said)
    assert list(Bin.objects.order_by("pk").values()) == before
    return str(told.value)


# --- places ---


def test_a_bin_is_put_in_its_place_and_taken_from_it() -> None:
    assert (row("A-03").place, row("A-03").where) == (None, "no place yet")
    ledger.place_bin("A-03", 2, D("3.4"))
    assert row("A-03").place == Place(2, D("3.4"))
    assert row("A-03").where.startswith("aisle 2, 3.4")
    ledger.place_bin("A-03", None, None)
    assert row("A-03").place is None


@pytest.mark.parametrize(
    ("place", "words"),
    [
        ((1, None), "Give both."),
        ((None, D(1)), "Give both."),
        ((0, D(1)), "Aisle 0 cannot be: 1 to 99"),
        ((100, D(1)), "Aisle 100 cannot be: 1 to 99"),
        ((1, D("-0.1")), "along cannot be: 0 to 99.9"),
        ((1, D(100)), "along cannot be: 0 to 99.9"),
        ((1, D("NaN")), "along cannot be: 0 to 99.9"),
    ],
)
def test_a_place_no_shelf_has_is_told(place: tuple[Any, Any], words: str) -> None:
    assert words in refused(ledger.place_bin, "A-03", *place)


def test_a_bin_that_is_not_there_has_no_place() -> None:
    assert refused(ledger.place_bin, "Z-99", 1, D(1)) == (
        "There is no bin Z-99. Choose one of the list."
    )


def test_a_new_bin_is_made_once_under_its_code_in_capitals() -> None:
    assert ledger.make_bin(" g-01 ") == "G-01"
    assert (row("G-01").place, row("G-01").lies) == (None, ())
    assert refused(ledger.make_bin, "G-01") == "G-01 is there already. Choose another code."


@pytest.mark.parametrize("code", ["", "-01", "A 03", "A-03-04-05", "Ä-01"])
def test_what_is_no_code_for_a_bin_is_told(code: str) -> None:
    assert "is no code for a bin" in refused(ledger.make_bin, code)


# --- what lies in them ---


def test_a_bin_tells_what_lies_in_it_oldest_first(corner: Corner) -> None:
    corner.receive("T10", 2, DAY, "later", "Y-01")
    corner.receive("T03", 1, DAY.replace(year=2030), "earlier", "Y-01")
    lies = row("Y-01").lies
    assert [(one.article.key, one.lot, one.on_hand) for one in lies] == [
        ("T03", "earlier", 1), ("T10", "later", 2)
    ]  # fmt: skip


def test_what_is_held_is_told_and_what_is_gone_is_not(corner: Corner) -> None:
    lot = corner.receive("T10", 2, DAY, "X", "Y-01")
    ledger.hold(lot, "spotted", corner.clerk, NOW)
    assert [one.held for one in row("Y-01").lies] == [True]
    tray = corner.ask(P04=10)
    corner.put_in(tray, P04="P04")
    corner.close(tray)
    assert row("C-14").lies == ()


def test_any_number_of_bins_takes_three_statements() -> None:
    for many in (5, 40):
        for number in range(many):
            ledger.receive(book.item_ids(["T03"])["T03"], f"W-{number:02}", "one", 1, DAY, NOW)
        with CaptureQueriesContext(connection) as asked:
            shelf.bins()
        assert len(asked) == 3


# --- the order ---


def test_bins_are_walked_up_one_aisle_and_down_the_next_with_the_placeless_last() -> None:
    """The farthest bin stands 9 m along, so the back cross aisle lies at 10."""
    for code, aisle, along in (("A-01", 1, 5), ("A-02", 1, 9), ("B-01", 2, 9), ("B-02", 2, 1)):
        ledger.place_bin(code, aisle, D(along))
    order = shelf.walking_order(["D-01", "B-02", "A-02", "C-01", "B-01", "A-01"])
    assert order[4:] == ["C-01", "D-01"]
    assert order[:4] in (["A-01", "A-02", "B-01", "B-02"], ["B-02", "B-01", "A-02", "A-01"])


def test_without_any_place_the_order_is_that_of_the_codes() -> None:
    assert shelf.walking_order(["C-01", "A-02", "no bin", "A-01"]) == [
        "A-01", "A-02", "C-01", "no bin"
    ]  # fmt: skip
    assert [one.code for one in shelf.bins()] == sorted(Bin.objects.values_list("code", flat=True))


def test_the_walking_order_of_any_number_takes_one_statement() -> None:
    for codes in (["A-01"], list(Bin.objects.values_list("code", flat=True))):
        with CaptureQueriesContext(connection) as asked:
            shelf.walking_order(codes)
        assert len(asked) == 1
