"""Lists brought in: every bad row is named, nothing changes until they are taken over, and
then all of it or nothing. The demo's items; everything else invented: common practice, no
source. How cells are quoted: RFC 4180.
"""

from __future__ import annotations

import io
from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import openpyxl
import pytest
from django.db import connection
from django.db.models import CheckConstraint
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from shop.catalogue import book, revising
from shop.catalogue.listing import BROKEN
from shop.catalogue.models import PARTS, Item, SpecRevision, TunerSet
from shop.stock import ledger, shelf
from shop.stock.changes.bins import CODE
from shop.stock.ledger import OutOfStep
from shop.stock.lists import KINDS
from shop.stock.lists.files import write
from shop.stock.lists.stock import BIN
from shop.stock.models import Bin, Delivery, Intake, Lot, Movement, Order
from tests.floor.morning import NOW, undone
from tests.stock.corner import Corner
from tests.stock.listed import (
    brought,
    count_of,
    faults,
    last,
    lines,
    states,
    taken,
    workbook,
)

pytestmark = pytest.mark.django_db

RECEIPTS = "item,quantity,due,order number"
ORDERS = "number,spec,quantity,due,as agreed"
STOCK = "item,bin,lot,received,quantity"
DUE = date(2031, 3, 17)


@pytest.fixture
def by(corner: Corner) -> int:
    return corner.clerk


def item_list(*names: str) -> str:
    return ",".join(("family", "key", "name", *names))


# --- before anything is taken over ---


def test_reading_a_list_changes_nothing(by: int) -> None:
    before = (Delivery.objects.count(), Lot.objects.count(), Movement.objects.count())
    sheet = brought("receipts", lines(RECEIPTS, "T01,10,2031-03-17,4711"), by)
    assert states(sheet) == ["new"]
    assert (Delivery.objects.count(), Lot.objects.count(), Movement.objects.count()) == before
    kept = last()
    assert (kept.name, kept.by_id, kept.at, kept.taken_at) == ("list.csv", by, NOW, None)
    assert kept.rows[0]["line"] == 2
    assert kept.rows[0]["cells"]["order number"] == "4711"


def test_every_bad_row_is_named_with_its_line_its_column_and_what_to_do(by: int) -> None:
    content = lines(
        RECEIPTS,
        "T01,10,2031-03-17,4711",
        "",
        "T77,10,2031-03-17,4711",
        "T02,ten,17.3.2031,4711",
        "T03,,2031-03-17,4711",
        "T04,5,2031-03-17,4711",
        "t04,6,2031-03-17,4711",
    )
    sheet = brought("receipts", content, by)
    assert faults(sheet) == [
        (4, "item", "There is no item T77. Correct the key, or bring the items in first."),
        (5, "quantity", "ten is no whole number. Write it as 1200."),
        (5, "due", "17.3.2031 is no date. Write it as 2031-03-04."),
        (6, "quantity", "The cell is empty. Fill it in."),
        (8, "", "T04 4711 stands on line 7 already. Take one of the two out."),
    ]
    assert states(sheet) == ["new", "bad", "bad", "bad", "new", "bad"]


def test_columns_that_are_missing_unknown_or_doubled_are_named(by: int) -> None:
    sheet = brought("receipts", lines("item,QUANTITY,colour,Item", "T01,1,red,T02"), by)
    assert faults(sheet) == [
        (1, "colour", "No such column. Use item, quantity, due and order number."),
        (1, "item", "The column is there twice. Take one out."),
        (1, "due", "The column is missing. Add it."),
    ]
    with pytest.raises(OutOfStep, match="Nothing is taken over: 3 things are wrong in it"):
        ledger.accept(sheet.row.id, by, NOW)


def test_a_cell_under_no_column_is_named(by: int) -> None:
    """A comma that is not quoted makes a cell too many: RFC 4180, section 2, rule 6."""
    sheet = brought("receipts", lines("item,quantity,due", "T01,1,000,2031-03-17"), by)
    [(line, column, words), *_] = faults(sheet)
    assert (line, column) == (2, "")
    assert words.startswith("2031-03-17 stands under no column.")


def test_a_formula_without_a_value_keeps_its_list_from_being_taken_over(by: int) -> None:
    content = workbook(RECEIPTS.split(","), ["T01", "=5+5", DUE, 4711])
    sheet = brought("receipts", content, by)
    assert [(line, column) for line, column, _ in faults(sheet)] == [(2, "quantity")]
    assert states(sheet) == ["bad"]
    with pytest.raises(OutOfStep, match="1 thing is wrong in it"):
        ledger.accept(sheet.row.id, by, NOW)


def test_dates_and_numbers_of_a_workbook_are_read_as_such(by: int) -> None:
    content = workbook(RECEIPTS.split(","), ["T01", 10.0, DUE, 4711])
    assert count_of(taken("receipts", content, by)) == (True, 1, 0)
    row = Delivery.objects.get(order="4711")
    assert (row.item.key, row.quantity, row.due_on) == ("T01", 10, DUE)


@pytest.mark.parametrize(
    ("what", "content", "told"),
    [
        ("receipts", b"a,b\r\n1,2\r\n", "This is no list of receipts: its first line names none"),
        ("receipts", lines(RECEIPTS), "The list has no rows below its first line."),
        ("receipts", b"", "There is nothing in this file."),
        ("wishes", lines(RECEIPTS, "T01,1,2031-03-17,1"), "Say what kind of list it is."),
    ],
)
def test_a_file_that_is_no_such_list_is_not_kept(
    by: int, what: str, content: bytes, told: str
) -> None:
    with pytest.raises(OutOfStep, match=told):
        ledger.bring_in(what, "list.csv", content, by, NOW)
    assert not Intake.objects.exists()


# --- taken over ---


def test_a_list_is_taken_over_whole_or_not_at_all(by: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """The second row is refused at the very moment: the first is not kept either."""
    content = lines(STOCK, "T01,Y-01,A,2031-03-01,5", "T02,Y-02,B,2031-03-01,5")
    sheet = brought("stock", content, by)
    make = ledger.make_bin

    def refused(code: str) -> str:
        if code == "Y-02":
            raise OutOfStep("The shelf is full. Wait.")
        return make(code)

    monkeypatch.setattr("shop.stock.changes.bins.make_bin", refused)
    with pytest.raises(OutOfStep, match=r"Line 3: The shelf is full\. Wait\. Nothing of the list"):
        ledger.accept(sheet.row.id, by, NOW)
    assert not Bin.objects.filter(code="Y-01").exists()
    assert not Lot.objects.filter(code__in=["A", "B"]).exists()
    assert last().taken_at is None


def test_a_list_taken_over_twice_is_taken_over_once(by: int) -> None:
    sheet = brought("stock", lines(STOCK, "T01,Y-01,A,2031-03-01,5"), by)
    first = ledger.accept(sheet.row.id, by, NOW)
    again = ledger.accept(sheet.row.id, by, NOW + timedelta(minutes=1))
    assert (first.already, again.already) == (False, True)
    assert Lot.objects.get(code="A").on_hand == 5
    assert (last().taken_by_id, last().taken_at) == (by, NOW)


def test_what_changed_meanwhile_is_told_and_nothing_is_taken_over(by: int) -> None:
    content = lines(RECEIPTS, "T01,10,2031-03-17,4711", "T02,4,2031-03-17,4711")
    sheet = brought("receipts", content, by)
    ledger.expect(book.item_ids(["T01"])["T01"], 12, DUE, "4711")
    outcome = ledger.accept(sheet.row.id, by, NOW)
    assert not outcome.taken
    assert outcome.meanwhile == (
        "Line 2, T01 4711: was new (10 due 2031-03-17), is changed (quantity 10, was 12) now.",
    )
    assert not Delivery.objects.filter(item__key="T02", order="4711").exists()
    assert Delivery.objects.get(item__key="T01", order="4711").quantity == 12
    looked_at_again = ledger.accept(sheet.row.id, by, NOW)
    assert count_of(looked_at_again) == (True, 1, 1)
    assert Delivery.objects.get(item__key="T01", order="4711").quantity == 10


def test_a_row_that_became_bad_meanwhile_keeps_the_list_back(by: int) -> None:
    sheet = brought("stock", lines(STOCK, "T01,Y-01,A,2031-03-01,5"), by)
    ledger.receive(book.item_ids(["T01"])["T01"], "Y-01", "A", 3, date(2031, 3, 1), NOW)
    assert ledger.accept(sheet.row.id, by, NOW).meanwhile
    now = shelf.intake(sheet.row.id)
    assert now is not None
    assert faults(now) == [(2, "lot", "T01 lot A is here already: count it instead.")]
    with pytest.raises(OutOfStep, match="1 thing is wrong in it"):
        ledger.accept(sheet.row.id, by, NOW)
    assert Lot.objects.get(code="A").on_hand == 3


def test_a_row_that_names_what_is_here_by_now_is_good_when_it_is_read_again(by: int) -> None:
    sheet = brought("receipts", lines(RECEIPTS, "G77,10,2031-03-17,4711"), by)
    assert sheet.may_pass
    taken("items", lines(item_list("hand"), "guard,G77,clear,RH"), by)
    assert ledger.accept(sheet.row.id, by, NOW).meanwhile
    assert count_of(ledger.accept(sheet.row.id, by, NOW)) == (True, 1, 0)


def test_a_list_that_never_was_cannot_be_taken_over(by: int) -> None:
    with pytest.raises(OutOfStep, match=r"There is no such list\."):
        ledger.accept(0, by, NOW)


# --- stock ---


def test_a_new_lot_is_received_by_a_movement_that_names_the_list(by: int) -> None:
    head = f"{STOCK},plating,best before"
    content = lines(head, "V01,y-01,31-77,2031-03-01,5,,2034-03-31", "T01,Y-01,A,2031-03-01,4,P7,")
    assert count_of(taken("stock", content, by)) == (True, 2, 0)
    lot = Lot.objects.get(code="31-77")
    assert (lot.bin.code, lot.on_hand, lot.best_before) == ("Y-01", 5, date(2034, 3, 31))
    assert Lot.objects.get(code="A").plating == "P7"
    move = Movement.objects.get(lot=lot)
    assert (move.kind, move.on_hand, move.by_id, move.why) == ("received", 5, by, "List list.csv")
    assert list(shelf.unbalanced()) == []


def test_a_lot_that_is_here_is_counted_not_written_over(corner: Corner) -> None:
    code = corner.lot("T03").code
    content = lines(STOCK, f"T03,Y-09,{code.lower()},2031-03-01,99")
    told = f"T03 lot {code.lower()} is here already: count it instead."
    assert faults(brought("stock", content, corner.clerk)) == [(2, "lot", told)]
    assert corner.counts("T03") == (6, 0)


@pytest.mark.parametrize(
    ("row", "column", "told"),
    [
        ("T01,Y-01,A,2031-03-04,5,", "received", "2031-03-04 is still to come."),
        ("T01,Y-01,A,2031-03-03,5,2034-03-31", "best before", "T01 is no battery."),
        ("V01,Y-01,A,2031-03-03,5,2031-03-02", "best before", "2031-03-02 is past."),
        ("T01,Y 01,A,2031-03-03,5,", "bin", "Y 01 is no code for a bin"),
        ("T01,Y-01,ABCDEFGHIJKLMNOPQRSTU,2031-03-03,5,", "lot", "has 21 characters"),
        ("T01,Y-01,A,2031-03-03,0,", "quantity", "0 cannot be: it lies between 1 and 1000000."),
    ],
)
def test_a_lot_that_cannot_be_says_why(by: int, row: str, column: str, told: str) -> None:
    [fault] = faults(brought("stock", lines(f"{STOCK},best before", row), by))
    assert (fault[1], told in fault[2]) == (column, True), fault


def test_a_new_bin_is_said_to_be_new(by: int) -> None:
    content = lines(STOCK, "T01,Y-99,A,2031-03-01,5", "T01,A-01,B,2031-03-01,5")
    words = [one.words for one in brought("stock", content, by).lines]
    assert words == ["5 into Y-99, a new bin", "5 into A-01"]


def test_a_bin_of_a_list_may_be_called_what_any_bin_may() -> None:
    assert BIN.pattern == CODE.pattern


# --- what is on order ---


def test_the_same_order_of_an_item_is_corrected(by: int) -> None:
    taken("receipts", lines(RECEIPTS, "T01,10,2031-03-17,4711"), by)
    sheet = brought("receipts", lines(RECEIPTS, "T01,12,2031-03-24,4711"), by)
    assert [one.words for one in sheet.lines] == [
        "quantity 12, was 10; due 2031-03-24, was 2031-03-17"
    ]
    assert count_of(ledger.accept(sheet.row.id, by, NOW)) == (True, 0, 1)
    row = Delivery.objects.get(order="4711")
    assert (row.quantity, row.due_on) == (12, date(2031, 3, 24))


def test_a_delivery_without_a_number_is_not_doubled_by_its_list(by: int) -> None:
    content = lines(RECEIPTS, "T01,10,2031-03-17,", "T01,10,2031-03-17,")
    assert count_of(taken("receipts", content, by)) == (True, 2, 0)
    assert count_of(taken("receipts", content, by)) == (True, 0, 0)
    more = lines(RECEIPTS, *["T01,10,2031-03-17,"] * 3)
    assert states(brought("receipts", more, by)) == ["same", "same", "new"]


def test_fewer_than_came_in_already_are_refused(by: int) -> None:
    taken("receipts", lines(RECEIPTS, "T01,10,2031-03-17,4711"), by)
    Delivery.objects.filter(order="4711").update(came=6)
    [fault] = faults(brought("receipts", lines(RECEIPTS, "T01,5,2031-03-17,4711"), by))
    told = "6 of 4711 came in already. Write so many or more."
    assert fault == (2, "quantity", told)


def test_an_order_given_up_is_not_woken_by_a_list(by: int) -> None:
    taken("receipts", lines(RECEIPTS, "T01,10,2031-03-17,4711"), by)
    ledger.give_up_delivery(Delivery.objects.get(order="4711").pk, "The maker stopped")
    [fault] = faults(brought("receipts", lines(RECEIPTS, "T01,10,2031-03-17,4711"), by))
    assert fault[2] == "4711 was given up: The maker stopped. Give another number."


# --- orders ---


def test_an_order_is_booked_and_corrected(by: int) -> None:
    content = lines(ORDERS, "B-12,TARN,4,2031-04-01,yes", "B-12,HOLM,2,2031-04-01,")
    assert count_of(taken("orders", content, by)) == (True, 2, 0)
    row = Order.objects.get(ref="B-12", spec__key="TARN")
    assert (row.quantity, row.due_on, row.as_agreed) == (4, date(2031, 4, 1), True)
    sheet = brought("orders", lines(ORDERS, "B-12,tarn,4,2031-04-01,no"), by)
    assert [one.words for one in sheet.lines] == ["as agreed no, was yes"]


def test_a_list_that_does_not_say_as_agreed_leaves_it_as_it_was(by: int) -> None:
    taken("orders", lines(ORDERS, "B-12,TARN,4,2031-04-01,yes"), by)
    shorter = lines("number;spec;quantity;due", "B-12;TARN;5;2031-04-01")
    assert count_of(taken("orders", shorter, by)) == (True, 0, 1)
    assert Order.objects.get(ref="B-12").as_agreed is True


def test_fewer_instruments_than_are_released_and_unknown_specs_are_refused(by: int) -> None:
    taken("orders", lines(ORDERS, "B-12,TARN,4,2031-04-01,"), by)
    Order.objects.filter(ref="B-12").update(released=3)
    found = faults(
        brought("orders", lines(ORDERS, "B-12,TARN,2,2031-04-01,", "B-1,WISH,2,2031-04-01,"), by)
    )
    assert [(line, column) for line, column, _ in found] == [(2, "quantity"), (3, "spec")]
    assert found[0][2] == "3 of B-12 are released already. Write so many or more."


# --- items ---

TUNERS = item_list(
    "metal", "carried", "left", "right", "hand", "bushing", "bushing_od_mm", "post_mm",
    "plate_width_mm", "button_width_mm", "screw_length_mm", "ratios",
)  # fmt: skip
SET = 'tuners,T77,wide set,nickel,solo,3,3,any,press,"8,8",6,15,15.5,9.5,18:1'


def test_a_new_item_needs_only_the_measures_of_its_family(by: int) -> None:
    content = lines(TUNERS, SET, "guard,G77,clear,,,,,LH,,,,,,,")
    assert count_of(taken("items", content, by)) == (True, 2, 0)
    made = TunerSet.objects.get(key="T77")
    assert (made.bushing_od_mm, made.screw_mm) == (Decimal("8.8"), Decimal("2.2"))
    article = book.articles([made.pk])[made.pk]
    assert (article.key, article.name) == ("T77", "wide set")


def test_a_known_item_takes_what_becomes_other_and_keeps_the_rest(by: int) -> None:
    content = lines("Family;Key;Name;Post mm", "tuners;T01;open-gear individual set;6,35")
    sheet = brought("items", content, by)
    assert [one.words for one in sheet.lines] == ["post_mm 6.35, was 6.000"]
    assert count_of(ledger.accept(sheet.row.id, by, NOW)) == (True, 0, 1)
    row = TunerSet.objects.get(key="T01")
    assert (row.post_mm, row.bushing_od_mm) == (Decimal("6.350"), Decimal("8.800"))


def test_an_item_changed_by_a_list_redraws_the_revisions_that_name_it(corner: Corner) -> None:
    """T01 is of TARN, which is open: as in the office pages it is changed and drawn again."""
    before = SpecRevision.objects.get(pk=corner.revision).version
    content = lines(item_list("metal"), "tuners,T01,open-gear set,nickel")
    assert count_of(taken("items", content, corner.clerk)) == (True, 0, 1)
    assert SpecRevision.objects.get(pk=corner.revision).version > before


def test_what_then_stands_against_a_kit_is_told(by: int) -> None:
    """A bushing of 8.35 mm falls out of the holes of TARN."""
    content = lines(item_list("bushing_od_mm"), "tuners,T01,open-gear individual set,8.35")
    against = taken("items", content, by).against
    assert any(one.startswith("TARN") for one in against), against


def test_the_same_item_is_not_written_again(corner: Corner) -> None:
    before = SpecRevision.objects.get(pk=corner.revision).version
    content = shelf.list_file("items", "csv")
    assert content is not None
    outcome = taken("items", content[0], corner.clerk)
    assert count_of(outcome) == (True, 0, 0)
    assert SpecRevision.objects.get(pk=corner.revision).version == before


@pytest.mark.parametrize(
    ("was", "now", "column", "told"),
    [
        ("tuners,", "lids,", "family", "No such family. Write one of tuners, nut,"),
        ("T77", "N01", "family", "N01 is of nut. Give the new item its own key."),
        (",3,3,", ",0,0,", "left", "A set has machines left, right or both."),
        (",press,", ",glue,", "bushing", "glue is not known. Write one of "),
        ('"8,8"', "", "bushing_od_mm", "A bushing has a diameter."),
        (",6,15,", ",,15,", "post_mm", "It is missing. The family tuners has one."),
        (",6,15,", ",6,0,", "plate_width_mm", "Ensure this value is greater than or equal"),
        (",6,15,", ",6,wide,", "plate_width_mm", "wide is no number."),
        (",nickel,", ",lead,", "metal", "lead is not known."),
        ("wide set", "w" * 81, "name", "has 81 characters. Say it in 80."),
        ("T77", "T1234567890123", "key", "at most 12 characters"),
    ],
)
def test_an_item_that_cannot_be_says_why(
    by: int, was: str, now: str, column: str, told: str
) -> None:
    found = faults(brought("items", lines(TUNERS, SET.replace(was, now, 1)), by))
    assert [(line, name) for line, name, _ in found] == [(2, column)], found
    assert told in found[0][2]


def test_a_measure_of_another_family_is_refused(by: int) -> None:
    content = lines(item_list("hand", "post_mm"), "guard,G77,clear,RH,6")
    told = "The family guard has no post_mm. Leave the cell empty."
    assert faults(brought("items", content, by)) == [(2, "post_mm", told)]


def test_every_rule_of_an_items_table_has_words() -> None:
    """Each check of the database names a column, by its words or as above zero."""
    for part in PARTS:
        columns = {one.name for one in part._meta.local_fields}
        for rule in part._meta.constraints:
            if isinstance(rule, CheckConstraint):
                named = BROKEN[rule.name][0] if rule.name in BROKEN else ""
                above = any(rule.name.endswith(f"_{one}_positive") for one in columns)
                assert named in columns or above, rule.name


def test_no_column_of_an_item_is_left_out() -> None:
    fields = {one.name for part in PARTS for one in part._meta.fields if not one.is_relation}
    assert set(revising.ITEM_COLUMNS) == fields - {"id"}


# --- out and in again ---


@pytest.mark.parametrize("form", ["csv", "xlsx"])
@pytest.mark.parametrize("what", ["items", "receipts", "orders"])
def test_a_list_written_here_is_the_same_when_it_comes_back(by: int, what: str, form: str) -> None:
    Item.objects.filter(key="T03").update(name="=1+1 @ \u20ac; \"wide\", 'plain'")
    taken("receipts", lines(RECEIPTS, "T01,10,2031-03-17,=4711", "T02,3,2031-03-18,"), by)
    taken("orders", lines(ORDERS, "-B12,TARN,4,2031-04-01,yes", "+1,HOLM,2,2031-04-02,no"), by)
    found = shelf.list_file(what, form)
    assert found is not None
    sheet = brought(what, found[0], by)
    assert faults(sheet) == []
    assert set(states(sheet)) == {"same"}
    assert len(sheet.lines) == sum(1 for _ in KINDS[what].rows())


def test_items_come_back_whole_on_an_empty_shelf_of_another_shop(by: int) -> None:
    """Every item but those a kit or a lot points at is taken away, and read in again."""
    found = shelf.list_file("items", "xlsx")
    assert found is not None
    before = revising.item_cells(revising.items_as_they_are()["T16"])
    gone = TunerSet.objects.get(key="T16")
    with undone():
        Item.objects.filter(pk=gone.pk).update(key="OLD")
        assert count_of(taken("items", found[0], by)) == (True, 1, 0)
        assert revising.item_cells(revising.items_as_they_are()["T16"]) == before


def test_stock_is_written_with_what_is_on_hand(corner: Corner) -> None:
    found = shelf.list_file("stock", "xlsx")
    assert found is not None
    sheet = openpyxl.load_workbook(io.BytesIO(found[0])).worksheets[0]
    head, *rows = sheet.iter_rows(values_only=True)
    assert head[:7] == (
        "item", "bin", "lot", "plating", "received", "quantity", "best before",
    )  # fmt: skip
    lot = corner.lot("T03")
    [row] = [one for one in rows if one[0] == "T03"]
    assert (row[1], row[2], row[5]) == (lot.bin.code, lot.code, 6)
    assert len(rows) == Lot.objects.filter(on_hand__gt=0, piece="").count()


@pytest.mark.parametrize("what", ["items", "stock", "receipts", "orders"])
def test_a_list_in_two_forms_and_no_other(by: int, what: str) -> None:
    for form in ("csv", "xlsx"):
        assert shelf.list_file(what, form) is not None
    assert shelf.list_file(what, "pdf") is None
    assert shelf.list_file("wishes", "csv") is None


# --- how much it asks of the database ---


def asked(run: Callable[[], Any]) -> int:
    with CaptureQueriesContext(connection) as statements:
        run()
    return len(statements)


@pytest.mark.parametrize(
    ("what", "head", "row"),
    [
        ("receipts", RECEIPTS, "T01,10,2031-03-17,{}"),
        ("orders", ORDERS, "B-{},TARN,4,2031-04-01,"),
        ("stock", STOCK, "T01,Y-01,{},2031-03-01,5"),
    ],
)
def test_reading_takes_as_many_statements_for_forty_rows_as_for_five(
    by: int, what: str, head: str, row: str
) -> None:
    def reading(count: int) -> int:
        content = lines(head, *(row.format(one) for one in range(count)))
        return asked(lambda: ledger.bring_in(what, "x.csv", content, by, NOW))

    assert reading(5) == reading(40)


def test_known_items_take_as_many_statements_for_forty_rows_as_for_five(by: int) -> None:
    found = shelf.list_file("items", "csv")
    assert found is not None
    rows = found[0].splitlines(keepends=True)
    assert len(rows) > 41

    def reading(count: int) -> int:
        content = b"".join(rows[: count + 1])
        return asked(lambda: ledger.bring_in("items", "x.csv", content, by, NOW))

    assert reading(5) == reading(40)


# --- whatever comes ---

WORDS = st.one_of(
    st.text(max_size=12),
    st.sampled_from(
        ["T01", "T03", "N01", "TARN", "tuners", "guard", "10", "8,8", "-1", "1e9", "2031-03-17",
         "9999-12-31", "0001-01-01", "yes", "", "", "RH", "post_mm -1/+1", "1:0.3", "\u0661"]
    ),
)  # fmt: skip


@settings(
    max_examples=80,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(
    what=st.sampled_from(["items", "stock", "receipts", "orders"]),
    data=st.data(),
    form=st.sampled_from(["csv", "xlsx"]),
)
def test_any_row_is_taken_over_or_says_why_not(
    by: int, what: str, data: st.DataObject, form: str
) -> None:
    names = [one.name for one in KINDS[what].columns]
    rows = data.draw(st.lists(st.lists(WORDS, min_size=1, max_size=len(names)), max_size=4))
    filled = [[*row, *[""] * (len(names) - len(row))] for row in rows]
    with undone():
        try:
            sheet = brought(what, write(form, what, names, filled), by)
            outcome = ledger.accept(sheet.row.id, by, NOW)
            said = ""
        except OutOfStep as why:
            said = str(why)
        assert said.endswith(".") or outcome.taken
        assert list(shelf.unbalanced()) == []
