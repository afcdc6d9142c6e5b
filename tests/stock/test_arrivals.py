"""Deliveries taken in: counted against what is on order, held until one box in ten is measured.

One box in ten, and one piece out holding all of them: common practice, no source.
"""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from pytest_django import DjangoAssertNumQueries

from shop.catalogue import book
from shop.craft.fit import receiving
from shop.stock import ledger, shelf
from shop.stock.ledger import MoreThanOrdered, OutOfStep
from shop.stock.models import Bin, Delivery, Lot, LotHold, Movement
from tests.floor.morning import NOW
from tests.stock.corner import Corner

pytestmark = pytest.mark.django_db

TODAY = NOW.date()
BIN = "A-03"


@pytest.fixture
def delivery(corner: Corner) -> int:
    return ledger.expect(corner.items["T03"], 12, TODAY, "M-77")


def arrive(corner: Corner, quantity: int = 12, lot: str = "31-10A", **more: Any) -> Lot:
    if "delivery_id" not in more:
        more.setdefault("item_id", corner.items["T03"])
    place = more.pop("place", BIN)
    on, at = more.pop("on", TODAY), more.pop("at", NOW)
    found = ledger.arrive(place, lot, quantity, on, corner.clerk, at, **more)
    return Lot.objects.get(pk=found)


def measure(corner: Corner, lot: Lot, pieces: int, **differs: Decimal) -> None:
    """Measure so many pieces, each dimension as declared but for those named."""
    article = book.articles([lot.item_id])[lot.item_id]
    for one in receiving.measures(article):
        value = differs.get(one.dimension, (one.size.least + one.size.most) / 2)
        ledger.measure(lot.pk, [(one.dimension, value)] * pieces, corner.clerk, NOW)


# --- counted ---


def test_what_came_in_is_on_hand_and_counted_against_its_delivery(
    corner: Corner, delivery: int
) -> None:
    lot = arrive(corner, 5, delivery_id=delivery)
    assert (lot.on_hand, lot.bin.code, lot.received_on) == (5, BIN, TODAY)
    assert Delivery.objects.get(pk=delivery).came == 5
    [more] = shelf.coming([corner.items["T03"]])[corner.items["T03"]]
    assert more.quantity == 7
    kept = Movement.objects.get(lot=lot)
    assert (kept.kind, kept.by_id, kept.why) == ("received", corner.clerk, "Came in, order M-77")
    assert shelf.unbalanced() == []


def test_a_delivery_that_came_in_whole_is_not_due_any_more(corner: Corner, delivery: int) -> None:
    assert delivery in [one.id for one in shelf.arriving()]
    arrive(corner, 12, delivery_id=delivery)
    assert delivery not in [one.id for one in shelf.arriving()]


def test_more_than_is_on_order_is_told_with_both_numbers(corner: Corner, delivery: int) -> None:
    arrive(corner, 10, delivery_id=delivery)
    with pytest.raises(MoreThanOrdered, match="3 came in, 2 of 12 are still on order"):
        arrive(corner, 3, delivery_id=delivery)
    assert Delivery.objects.get(pk=delivery).came == 10


def test_more_than_is_on_order_is_taken_in_once_it_was_counted_again(
    corner: Corner, delivery: int
) -> None:
    assert arrive(corner, 13, delivery_id=delivery, counted=True).on_hand == 13
    assert Delivery.objects.get(pk=delivery).came == 13
    assert shelf.coming([corner.items["T03"]]) == {corner.items["T03"]: ()}


def test_what_nobody_ordered_is_taken_in_too(corner: Corner) -> None:
    lot = arrive(corner)
    assert Movement.objects.get(lot=lot).why == "Came in, none was on order"


def test_the_same_receipt_come_twice_is_taken_in_once(corner: Corner, delivery: int) -> None:
    after = shelf.last_movement()
    first = arrive(corner, 5, delivery_id=delivery, after=after)
    assert arrive(corner, 5, delivery_id=delivery, after=after) == first
    assert (Lot.objects.get(pk=first.pk).on_hand, Delivery.objects.get(pk=delivery).came) == (5, 5)
    again = arrive(corner, 5, delivery_id=delivery, after=shelf.last_movement())
    assert again.on_hand == 10


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({"place": "Z-99"}, r"There is no bin Z-99\. Scan the label on the shelf"),
        ({"place": " "}, "There is no bin without a name"),
        ({"quantity": 0}, r"0 came in: that is none\. Count again"),
        ({"on": TODAY + timedelta(days=1)}, "2031-03-04 is to come"),
        ({"on": date(2021, 3, 1)}, "2021-03-01 is more than ten years back. Say the day they came"),
        ({"on": date(1, 1, 1)}, "0001-01-01 is more than ten years back"),
        ({"lot": "off Q-1050"}, "is a name for what is set apart"),
        ({"lot": "x" * 21}, "has 21 letters. A lot has 20 at most"),
        ({"plating": "x" * 21}, "has 21 letters. A plating lot has 20"),
        ({"item_id": 0}, "Say what came in"),
        ({"delivery_id": 0}, "not here any more"),
    ],
)
def test_what_cannot_be_taken_in_is_told_and_nothing_is(
    corner: Corner, more: dict[str, Any], told: str
) -> None:
    before = Movement.objects.count(), Lot.objects.count()
    with pytest.raises(OutOfStep, match=told):
        arrive(corner, **more)
    assert (Movement.objects.count(), Lot.objects.count()) == before


def test_what_came_in_ten_years_ago_is_taken_in(corner: Corner) -> None:
    assert arrive(corner, on=date(2021, 3, 3)).received_on == date(2021, 3, 3)


def test_nothing_comes_in_of_a_delivery_that_was_given_up(corner: Corner, delivery: int) -> None:
    ledger.give_up_delivery(delivery, "Maker is out of them")
    with pytest.raises(OutOfStep, match="given up: Maker is out of them"):
        arrive(corner, delivery_id=delivery)


# --- its lot ---


def test_without_a_makers_lot_the_day_names_it(corner: Corner) -> None:
    assert arrive(corner, lot="  ").code == "2031-03-03"


def test_a_lot_is_kept_in_capitals_with_its_bath(corner: Corner) -> None:
    lot = arrive(corner, lot=" 31-10a ", plating="bath 7")
    assert (lot.code, lot.plating) == ("31-10A", "BATH 7")


def test_two_baths_do_not_share_a_lot(corner: Corner) -> None:
    arrive(corner, plating="31-09B")
    with pytest.raises(OutOfStep, match="is of plating lot 31-09B, these are of 31-07A"):
        arrive(corner, plating="31-07A")


def battery(corner: Corner, best_before: date | None) -> Lot:
    item = book.item_ids(["V01"])["V01"]
    place = Lot.objects.filter(item_id=item)[0].bin.code
    return arrive(corner, item_id=item, place=place, lot="B-9", best_before=best_before)


def test_batteries_want_their_date(corner: Corner) -> None:
    with pytest.raises(OutOfStep, match="Read the best-before date off the batteries"):
        battery(corner, None)
    with pytest.raises(OutOfStep, match="2031-03-02 is past"):
        battery(corner, TODAY - timedelta(days=1))
    assert battery(corner, date(2034, 1, 1)).best_before == date(2034, 1, 1)


def test_two_dates_do_not_share_a_lot(corner: Corner) -> None:
    battery(corner, date(2034, 1, 1))
    with pytest.raises(OutOfStep, match="best before 2034-01-01, these 2035-01-01"):
        battery(corner, date(2035, 1, 1))


# --- held until it is measured ---


def test_what_is_measured_at_receiving_is_held_until_it_was(corner: Corner) -> None:
    lot = arrive(corner, 12)
    assert lot.held == "to be measured, open 2 boxes of 12: 1 in 10"
    assert shelf.free([lot.item_id]) == {lot.item_id: 6}


def test_what_has_nothing_to_measure_is_free_at_once(corner: Corner) -> None:
    item = book.item_ids(["R01"])["R01"]
    assert arrive(corner, item_id=item).held == ""


def test_it_is_free_once_each_dimension_of_one_box_in_ten_is_inside(corner: Corner) -> None:
    lot = arrive(corner, 12)
    measure(corner, lot, 1)
    lot.refresh_from_db()
    assert lot.held
    measure(corner, lot, 1)
    lot.refresh_from_db()
    assert lot.held == ""
    last = LotHold.objects.filter(lot=lot).order_by("-id")[0]
    assert (last.held, last.why) == (False, "Measured inside: 2 of 12")
    assert shelf.free([lot.item_id]) == {lot.item_id: 12}


def test_the_sheet_says_what_is_still_to_be_measured(corner: Corner) -> None:
    lot = arrive(corner, 12)
    ledger.measure(lot.pk, [("post_mm", Decimal(6))], corner.clerk, NOW)
    sheet = shelf.lot(lot.pk)
    assert sheet is not None
    assert sheet.to_measure is not None
    assert sheet.to_measure.left(["post_mm", "reach_mm"]) == {"post_mm": 1, "reach_mm": 2}


def test_one_piece_out_holds_the_whole_lot_for_the_lead(corner: Corner) -> None:
    lot = arrive(corner, 12)
    measure(corner, lot, 1, post_mm=Decimal("6.20"))
    lot.refresh_from_db()
    assert lot.held.startswith("Post 6.2")
    measure(corner, lot, 2)
    lot.refresh_from_db()
    assert lot.held.startswith("Post 6.2")


def test_more_boxes_of_a_lot_are_measured_anew(corner: Corner) -> None:
    lot = arrive(corner, 12)
    measure(corner, lot, 2)
    lot = arrive(corner, 10, at=NOW + timedelta(hours=1))
    assert (lot.on_hand, lot.held) == (22, "to be measured, open 1 box of 10: 1 in 10")
    sheet = shelf.lot(lot.pk)
    assert sheet is not None
    assert sheet.to_measure is not None
    assert sheet.to_measure.left(["post_mm"]) == {"post_mm": 1}


def test_more_boxes_before_the_first_are_measured_raise_what_is_opened(corner: Corner) -> None:
    arrive(corner, 10)
    lot = arrive(corner, 15)
    sheet = shelf.lot(lot.pk)
    assert sheet is not None
    assert sheet.to_measure is not None
    assert sheet.to_measure.came == 25
    assert lot.held == "to be measured, open 3 boxes of 25: 1 in 10"


def test_a_lot_held_in_those_words_by_hand_is_not_freed_by_measuring(corner: Corner) -> None:
    lot = corner.lot("T03")
    later = NOW + timedelta(days=1)
    ledger.hold(lot.pk, "to be measured again in daylight", corner.clerk, later)
    measure(corner, lot, 5)
    lot.refresh_from_db()
    assert lot.held == "to be measured again in daylight"


def test_what_the_ledger_receives_itself_is_not_held(corner: Corner) -> None:
    assert Lot.objects.get(pk=corner.receive("T03", 5, TODAY, "plain")).held == ""


# --- the list ---


@pytest.mark.parametrize("rows", [5, 40])
def test_what_is_due_takes_one_statement_for_any_number_of_deliveries(
    corner: Corner, rows: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    Delivery.objects.all().delete()
    for number in range(rows):
        ledger.expect(corner.items["T03"], 1, TODAY + timedelta(days=number), f"M-{number}")
    with django_assert_num_queries(1):
        assert len(shelf.arriving()) == rows


def test_where_an_item_lies_is_proposed_the_newest_lot_first(corner: Corner) -> None:
    item = corner.items["T03"]
    Bin.objects.get_or_create(code="Y-02")
    corner.receive("T03", 1, TODAY, "new", "Y-02")
    assert shelf.bins_of([item]) == {item: ("Y-02", BIN)}
