"""How items are kept, when they are ordered again, and what is on order.

The formula is checked against published examples in ``tests/craft/test_reorder.py``; here are
its figures out of the ledger. Look-back of 60 days: common practice, no source.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop.catalogue import book
from shop.catalogue.models import Item
from shop.stock import ledger, shelf
from shop.stock.ledger import OutOfStep
from shop.stock.models import Delivery, Order, StockRule
from shop.stock.shelf import Reorder
from tests.floor.morning import NOW
from tests.stock.corner import Corner

pytestmark = pytest.mark.django_db

TODAY = NOW.date()
SOON, LATER = TODAY + timedelta(days=7), TODAY + timedelta(days=30)


def row(key: str = "P04", at: datetime = NOW) -> Reorder:
    return next(one for one in shelf.reordering(at) if one.key == key)


def rule(corner: Corner, key: str = "P04", **said: object) -> None:
    plain = {"least": 0, "pack": 1, "lead_days": 10, "lead_sd_days": 0, "service_pct": 95}
    ledger.keep_rule(corner.items[key], **(plain | said))


def goes_out(corner: Corner, quantity: int, at: datetime = NOW) -> int:
    """So many of P04 leave the shelf in a closed tray. Its id."""
    asks = [ledger.Ask(corner.items["P04"], quantity)]
    serial = f"Y-{at:%m%d}-{quantity}"
    tray = ledger.ask_tray(serial, corner.revision, TODAY, asks, corner.clerk, at)
    corner.put_in(tray, P04="P04")
    corner.check(tray)
    ledger.close_tray(tray.pk, corner.clerk, at)
    return tray.pk


# --- demand ---


def test_an_item_nobody_took_of_is_ordered_at_its_least(corner: Corner) -> None:
    rule(corner, least=4)
    found = row()
    assert (found.point.demand.mean, found.point.at, found.quantity) == (0, 4, 0)
    assert (found.on_hand, found.free, found.needed_on) == (10, 10, None)


def test_demand_is_what_left_the_shelf_in_sixty_days_and_today_is_one_of_them(
    corner: Corner,
) -> None:
    rule(corner)
    goes_out(corner, 2)
    goes_out(corner, 3, NOW - timedelta(days=59))
    goes_out(corner, 4, NOW - timedelta(days=60))
    assert row().point.demand.mean == pytest.approx(5 / 60)


def test_two_trays_of_one_day_are_one_days_demand(corner: Corner) -> None:
    """By hand: 5 on one of 60 days: Σ(x − x̄)² = 25 − 25/60."""
    rule(corner)
    goes_out(corner, 2)
    goes_out(corner, 3, NOW - timedelta(hours=2))
    assert row().point.demand.sd == pytest.approx(((25 - 25 / 60) / 59) ** 0.5)


def test_what_came_back_out_of_a_tray_is_no_demand(corner: Corner) -> None:
    rule(corner)
    tray = goes_out(corner, 3)
    ledger.open_tray(tray, corner.clerk, NOW)
    assert row().point.demand.mean == 0


def test_what_is_adjusted_is_no_demand(corner: Corner) -> None:
    rule(corner, cls="C", tolerance_pct=Decimal(50))
    assert ledger.count(corner.lot("P04").pk, 6, corner.clerk, NOW).ended == "adjusted"
    assert row().point.demand.mean == 0


# --- what is ordered ---


def test_below_the_point_whole_packs_are_proposed_and_come_first(corner: Corner) -> None:
    rule(corner, least=12, pack=6)
    found = row()
    assert (found.position, found.point.at, found.quantity, found.packs) == (10, 12, 6, 1)
    first = shelf.reordering(NOW)
    below = [one.below for one in first]
    assert below == sorted(below, reverse=True)


def test_what_is_on_order_counts_and_what_is_reserved_does_not(corner: Corner) -> None:
    rule(corner, least=12)
    ledger.promise(corner.lot("P04").pk, 3, NOW, "promised")
    assert (row().position, row().quantity) == (7, 5)
    ledger.expect(corner.items["P04"], 4, SOON, "B-1")
    ledger.expect(corner.items["P04"], 2, LATER, "B-2")
    found = row()
    assert (found.on_order, found.next_on, found.position, found.quantity) == (6, SOON, 13, 0)


def test_a_delivery_given_up_is_not_counted_on(corner: Corner) -> None:
    rule(corner, least=12)
    ledger.give_up_delivery(ledger.expect(corner.items["P04"], 6, SOON, "B-1"), "Sold out")
    assert (row().on_order, row().quantity) == (0, 2)


def test_a_held_lot_is_not_counted_on(corner: Corner) -> None:
    rule(corner, least=2)
    ledger.hold(corner.lot("P04").pk, "Spotted", corner.clerk, NOW)
    assert (row().free, row().quantity) == (0, 2)


def test_an_item_without_a_rule_is_reckoned_as_one_that_nothing_is_told_of(
    corner: Corner,
) -> None:
    StockRule.objects.filter(item_id=corner.items["P04"]).delete()
    found = row()
    assert (found.cls, found.pack, found.point.lead.days) == ("C", 1, 14)


def test_an_obsolete_item_is_not_ordered_again(corner: Corner) -> None:
    Item.objects.filter(key="P04").update(obsolete=True)
    assert "P04" not in {one.key for one in shelf.reordering(NOW)}


# --- orders not released yet ---


def spec(key: str = "TARN") -> int:
    found = book.spec_id(key)
    assert found is not None
    return found


def wanted(key: str) -> tuple[int, date | None]:
    found = row(key)
    return found.wanted, found.wanted_on


def test_orders_not_released_want_their_kits(corner: Corner) -> None:
    Order.objects.all().delete()
    ledger.book_order("C-1", spec(), 5, LATER)
    ledger.book_order("C-2", spec(), 4, SOON)
    assert wanted("T01") == (9, LATER)  # 8 are free; C-2 takes 4 of them
    assert wanted("R01") == (9, None)
    assert wanted("T13") == (0, None)
    assert row("T01").needed_on is not None


def test_what_is_released_of_an_order_is_not_wanted_twice(corner: Corner) -> None:
    Order.objects.all().delete()
    ledger.book_order("C-1", spec(), 2, SOON)
    ledger.order_released("C-1", spec())
    assert wanted("T01") == (1, None)
    ledger.order_released("C-1", spec())
    ledger.order_released("C-1", spec())
    assert wanted("T01") == (0, None)
    assert Order.objects.get(ref="C-1").released == 2


def test_an_order_is_corrected_by_its_number_but_not_below_what_is_released(
    corner: Corner,
) -> None:
    first = ledger.book_order("C-1", spec(), 2, SOON)
    ledger.order_released("C-1", spec())
    assert ledger.book_order("C-1", spec(), 3, LATER, as_agreed=True) == first
    told = Order.objects.get(ref="C-1")
    assert (told.quantity, told.due_on, told.as_agreed) == (3, LATER, True)
    with pytest.raises(OutOfStep, match="1 of C-1 are released already, not 0"):
        ledger.book_order("C-1", spec(), 0, SOON)


def test_what_is_wanted_stands_beside_the_proposal_and_does_not_change_it(
    corner: Corner,
) -> None:
    Order.objects.all().delete()
    before = row("T01").quantity
    ledger.book_order("C-1", spec(), 50, SOON)
    assert row("T01").quantity == before


@pytest.mark.parametrize("more", [5, 40])
def test_reordering_takes_eight_statements_for_any_number_of_items_orders_and_days(
    corner: Corner, more: int
) -> None:
    """Rules, lots' items, items and lots on the shelf, deliveries, movements, orders, specs;
    the sheets of the specs are in memory."""
    for number in range(more):
        ledger.book_order(f"C-{number}", spec(), 1, SOON)
        ledger.expect(corner.items["P04"], 1, SOON, f"B-{number}")
        item = Item.objects.get(key="P04")
        corner.receive("P04", 4, TODAY, f"lot {number}")
        StockRule.objects.filter(item=item).update(least=number)
    for number in range(min(more, 10)):
        goes_out(corner, 1, NOW - timedelta(days=number))
    shelf.reordering(NOW)
    with CaptureQueriesContext(connection) as asked:
        shelf.reordering(NOW)
    assert len(asked) == 8


# --- deliveries and rules ---


def test_a_delivery_is_corrected_by_its_order_and_never_below_what_came(corner: Corner) -> None:
    first = ledger.expect(corner.items["P04"], 6, SOON, "B-1")
    assert ledger.expect(corner.items["P04"], 8, LATER, "B-1") == first
    Delivery.objects.filter(pk=first).update(came=5)
    with pytest.raises(OutOfStep, match="5 of B-1 came in already, more than 4"):
        ledger.expect(corner.items["P04"], 4, SOON, "B-1")
    [told] = [one for one in shelf.deliveries() if one.order == "B-1"]
    assert (told.quantity, told.came, told.left, told.due_on) == (8, 5, 3, LATER)


def test_deliveries_still_to_come_stand_first_the_earliest_first(corner: Corner) -> None:
    Delivery.objects.all().delete()
    item = corner.items["P04"]
    gone = ledger.expect(item, 1, TODAY, "B-0")
    ledger.give_up_delivery(gone, "Sold out")
    ledger.expect(item, 1, LATER, "B-1")
    ledger.expect(item, 1, TODAY - timedelta(days=1), "B-2")
    found = shelf.deliveries()
    assert [one.order for one in found] == ["B-2", "B-1", "B-0"]
    assert [one.late(TODAY) for one in found] == [True, False, False]
    assert (found[2].left, found[2].ended_why) == (0, "Sold out")


def test_a_delivery_is_not_given_up_without_a_reason(corner: Corner) -> None:
    delivery = ledger.expect(corner.items["P04"], 6, SOON, "B-1")
    with pytest.raises(OutOfStep, match="Say why nothing more of it comes"):
        ledger.give_up_delivery(delivery, "  ")
    assert Delivery.objects.get(pk=delivery).ended_why == ""


def test_how_an_item_is_kept_is_what_was_told_of_it_last(corner: Corner) -> None:
    rule(corner, cls="A", unit_g=Decimal("0.35"))
    rule(corner, pack=6)
    found = shelf.kept("P04")
    assert found is not None
    assert (found.cls, found.unit_g, found.pack, found.name) == (
        "A", Decimal("0.350"), 6, "six ebony pins, 3°, plain",
    )  # fmt: skip
    assert shelf.kept("T99") is None


def test_an_item_that_nothing_was_told_of_is_kept_as_class_c(corner: Corner) -> None:
    StockRule.objects.filter(item_id=corner.items["P04"]).delete()
    found = shelf.kept("P04")
    assert found is not None
    assert (found.cls, found.least, found.pack, found.tolerance_pct) == ("C", 0, 1, None)
    assert not StockRule.objects.filter(item_id=corner.items["P04"]).exists()
