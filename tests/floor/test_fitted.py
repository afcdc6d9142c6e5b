"""Parts out of a tray are fitted when the operation that uses them is recorded, and once."""

from __future__ import annotations

import io
from datetime import timedelta
from typing import Any

import pytest
from django.core.management import call_command

from shop.floor import board, door, following
from shop.floor.models import Entry
from shop.stock import shelf
from shop.stock.models import Lot, Movement, TrayLine
from tests.floor.morning import NOW, act, asking, now, ready_for, step, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

SERIAL, FITS, PART = "Q-1041", "A30", "P01"  # its pins come next
AT = ("P-22", "A")


def of_tray(kind: str = "consumed") -> list[Movement]:
    return list(Movement.objects.filter(tray__serial=SERIAL, kind=kind, lot__item__key=PART))


def line() -> TrayLine:
    return TrayLine.objects.get(tray__serial=SERIAL, item__key=PART)


def lot(key: str = PART) -> Lot:
    return Lot.objects.get(item__key=key)


def fit(at: Any = NOW) -> Entry:
    by, station = AT
    ready_for(SERIAL, FITS, by, station, at)
    outcome = step(SERIAL, FITS, by, station, at)
    assert outcome.done, words(outcome)
    return Entry.objects.filter(kind="step", outcome="recorded").latest("pk")


def test_the_operation_that_uses_a_part_fits_it_out_of_the_tray() -> None:
    before = lot()
    assert (line().fitted, of_tray()) == (0, [])
    fit()
    after = lot()
    (moved,) = of_tray()
    assert (moved.out, moved.on_hand, moved.reserved) == (-1, 0, 0)
    assert (moved.line_id, moved.at, moved.by_id) == (line().pk, NOW, act(AT[0]).by_id)
    assert (after.on_hand, after.out) == (before.on_hand, before.out - 1)
    assert line().fitted == 1
    assert shelf.unbalanced() == []


def test_its_row_names_what_was_fitted_and_the_history_tells_it() -> None:
    row = fit()
    assert row.data["fitted"] == [{"key": PART, "lot": lot().code, "quantity": 1}]
    told = board.history(now(SERIAL), asking(*AT)).rows[0]
    strings = row.data["batch"][0]
    assert strings == {"key": "R01", "lot": lot("R01").code, "quantity": 1}
    both = f"1 × {PART} of lot {lot().code} and 1 × R01 of lot {strings['lot']}"
    assert ("Fitted", both) in told.details


def test_a_step_that_uses_nothing_of_the_tray_fits_nothing() -> None:
    before = Movement.objects.count()
    assert step("Q-1050", "J20", "P-16", "J").done
    row = Entry.objects.filter(kind="step").latest("pk")
    assert "fitted" not in row.data
    assert Movement.objects.count() == before


def test_a_refused_step_fits_nothing() -> None:
    before = Movement.objects.count()
    assert not step(SERIAL, FITS, AT[0], "N").done
    assert (Movement.objects.count(), line().fitted) == (before, 0)


def test_a_step_done_again_after_it_was_struck_fits_nothing_twice() -> None:
    first = fit()
    later = NOW + timedelta(minutes=20)
    strike = door.StepStruck(now(SERIAL).id, first.seq or 0)
    assert door.record(act("P-01", "", later, reason="It was another guitar"), strike).done
    again = fit(later)
    assert again.data["fitted"] == []
    assert (again.data["batch"], again.data["uncounted"]) == ([], [])
    assert len(of_tray()) == 1
    assert Movement.objects.filter(serial=SERIAL, lot__item__key="R01").count() == 1
    assert (line().fitted, shelf.unbalanced()) == (1, [])


def test_a_step_done_again_after_a_loop_fits_nothing_twice() -> None:
    fit()
    later = NOW + timedelta(minutes=20)
    number = now(SERIAL).id
    found = door.DefectFound(number, "high action", "set-up")
    assert door.record(act("P-22", "I", later), found).done
    assert door.record(act("P-61", "X", later), door.RepairDone(number)).done
    for code, by, station in (("U30", "P-20", "U"), (FITS, *AT)):
        later += timedelta(days=1)
        ready_for(SERIAL, code, by, station, later)
        outcome = step(SERIAL, code, by, station, later)
        assert outcome.done, words(outcome)
    assert Entry.objects.filter(kind="step").latest("pk").data["fitted"] == []
    assert len(of_tray()) == 1
    assert (line().fitted, shelf.unbalanced()) == (1, [])


def test_the_floor_made_again_fits_nothing() -> None:
    """The shelf is no part of what follows from the journal."""
    fit()
    before = list(Movement.objects.order_by("pk").values())
    lots = list(Lot.objects.order_by("pk").values())
    lines = list(TrayLine.objects.order_by("pk").values())
    assert following.differences()[1] == []
    call_command("rebuild_floor", stdout=io.StringIO())
    assert list(Movement.objects.order_by("pk").values()) == before
    assert list(Lot.objects.order_by("pk").values()) == lots
    assert list(TrayLine.objects.order_by("pk").values()) == lines
