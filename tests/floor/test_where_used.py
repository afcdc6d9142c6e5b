"""Where a lot went, and what became of the instruments that had of it."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop.catalogue import book
from shop.floor import board, door
from shop.floor.models import AsBuilt, Entry, Instrument, Step
from shop.stock import ledger
from shop.stock.models import Lot
from tests.floor.morning import NOW, act, now, ready_for, step

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

SERIAL = "Q-1050"  # its tray closed
LATER = NOW + timedelta(days=2)


def lot_of(serial: str, key: str) -> int:
    return Lot.objects.get(item__key=key, movements__tray__serial=serial, movements__out__gt=0).pk


def told(serial: str = SERIAL, key: str = "P01") -> board.Became | None:
    found = board.where_used(lot_of(serial, key))
    assert found is not None
    return next(it for one, it in found.uses if one.serial == serial)


def became(serial: str = SERIAL, key: str = "P01") -> board.Became:
    found = told(serial, key)
    assert found is not None
    return found


def test_an_instrument_on_its_way_is_being_built() -> None:
    it = now(SERIAL)
    assert (became().stage, became().at, became().spec) == ("being built", None, it.sheet.spec.key)
    assert (became().order, became().destination) == (it.order, it.destination)


def test_an_instrument_that_was_released_is_told_as_released() -> None:
    entry = Entry.objects.latest("pk")
    AsBuilt.objects.create(instrument_id=now(SERIAL).id, record={}, at=LATER, entry=entry)
    assert (became().stage, became().at) == ("released", LATER)


def test_one_that_is_in_its_box_is_told_as_boxed() -> None:
    stop = next(one for one in now(SERIAL).sheet.stops if one.facts.papers)
    entry = Entry.objects.latest("pk")
    boxed = Step.objects.create(
        instrument_id=now(SERIAL).id, operation_id=stop.operation_id, by_id=act("P-11").by_id,
        at=LATER, seq=9999, entry=entry,
    )  # fmt: skip
    assert (became().stage, became().at) == ("boxed", LATER)
    Step.objects.filter(pk=boxed.pk).update(void_at=LATER)
    assert became().stage == "being built"


def test_one_that_left_is_told_and_counted_once_it_has_the_part_on() -> None:
    Instrument.objects.filter(body__serial=SERIAL).update(finished_at=LATER)
    found = board.where_used(lot_of(SERIAL, "P01"))
    assert found is not None
    assert (became().stage, found.out_of_the_shop) == ("finished", ())
    assert ledger.consume(now(SERIAL).tray_id, None, act().by_id, NOW)
    found = board.where_used(lot_of(SERIAL, "P01"))
    assert found is not None
    assert found.out_of_the_shop == (SERIAL,)


def test_one_that_was_scrapped_is_told_with_why() -> None:
    deed = door.Scrapped(now(SERIAL).id, ())
    assert door.record(act("P-01", "", reason="Side split at the waist"), deed).done
    assert (became().stage, became().at) == ("scrapped", NOW)
    assert became().why == "Side split at the waist"


def test_a_step_that_fits_parts_says_who_fitted_them() -> None:
    ready_for("Q-1041", "A30", "P-22", "A")
    assert step("Q-1041", "A30", "P-22", "A").done
    found = board.where_used(lot_of("Q-1041", "P01"))
    assert found is not None
    (one,) = [use for use, _ in found.uses if use.serial == "Q-1041"]
    assert (one.stage, one.fitted_by, one.fitted_at) == ("fitted", "P-22", NOW)


def test_a_tray_whose_instrument_is_not_on_this_floor_is_told_all_the_same() -> None:
    ask = ledger.Ask(book.item_ids(["T03"])["T03"], 1)
    revision = now(SERIAL).revision_id
    ledger.ask_tray("Y-1", revision, NOW.date(), [ask], act("P-41").by_id, NOW)
    found = board.where_used(Lot.objects.get(item__key="T03").pk)
    assert found is not None
    assert [(one.serial, it) for one, it in found.uses] == [("Y-1", None)]


def test_a_lot_that_never_was_was_used_nowhere() -> None:
    assert board.where_used(0) is None


def test_it_takes_three_statements_more_than_the_shelf_for_any_number_of_instruments() -> None:
    lots = {lot_of(SERIAL, "P01"), Lot.objects.get(item__key="T01").pk}
    counts = set()
    for lot in lots:
        with CaptureQueriesContext(connection) as asked:
            found = board.where_used(lot)
        assert found is not None
        assert found.uses
        counts.add(len(asked))
    assert counts == {9}
