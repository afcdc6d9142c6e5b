"""What goes to a bench by batch leaves its lot where it is fitted."""

from __future__ import annotations

from datetime import date

import pytest

from shop.stock import ledger, shelf
from shop.stock.models import Lot, Movement
from tests.floor.morning import NOW
from tests.stock.corner import Corner

pytestmark = pytest.mark.django_db


def use(corner: Corner, **wanted: int) -> tuple[list[tuple[str, str, int]], list[str]]:
    asks = [ledger.Ask(corner.items[key], quantity) for key, quantity in wanted.items()]
    fitted, uncounted = ledger.use_batch(asks, "Y-1", corner.clerk, NOW)
    return [(one.key, one.lot, one.quantity) for one in fitted], list(uncounted)


def test_it_leaves_the_oldest_lot_that_has_it_free(corner: Corner) -> None:
    old = corner.lot("P04")
    corner.receive("P04", 5, date(2031, 3, 1), "new", "Y-05")
    assert use(corner, P04=2) == ([("P04", old.code, 2)], [])
    old.refresh_from_db()
    assert (old.on_hand, old.out) == (8, 0)


def test_the_movement_tells_whose_it_was(corner: Corner) -> None:
    use(corner, P04=2)
    row = Movement.objects.filter(lot=corner.lot("P04")).latest("pk")
    assert (row.kind, row.on_hand, row.serial, row.by_id) == ("consumed", -2, "Y-1", corner.clerk)


def test_what_is_kept_for_others_is_left_to_them_and_named(corner: Corner) -> None:
    corner.ask(P04=9)
    assert use(corner, P04=2, T03=1) == ([("T03", corner.lot("T03").code, 1)], ["P04"])
    assert corner.counts("P04") == (10, 9)


def test_what_no_lot_has_leaves_none_and_is_named(corner: Corner) -> None:
    assert use(corner, P04=11) == ([], ["P04"])
    assert shelf.unbalanced() == []


def test_what_an_instrument_has_already_is_not_used_up_again(corner: Corner) -> None:
    use(corner, P04=2)
    assert use(corner, P04=2) == ([], [])
    assert corner.lot("P04").on_hand == 8


def test_a_held_lot_is_not_used_up(corner: Corner) -> None:
    ledger.hold(corner.lot("P04").pk, "Spotted", corner.clerk, NOW)
    assert use(corner, P04=1) == ([], ["P04"])
    assert Lot.objects.get(pk=corner.lot("P04").pk).on_hand == 10
