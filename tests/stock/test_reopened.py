"""A tray opened again, parts that came back, and what follows in their place."""

from __future__ import annotations

import pytest
from django.db.models import F

from shop.stock import ledger, shelf
from shop.stock.ledger import OutOfStep
from shop.stock.models import Lot, Tray, TrayLine, Wave
from tests.floor.morning import NOW
from tests.stock.corner import DAY, Corner

pytestmark = pytest.mark.django_db


def closed(corner: Corner, **wanted: int) -> Tray:
    tray = corner.ask(**wanted)
    return corner.close(corner.put_in(tray, **{key: key for key in wanted}))


def proved() -> list[str]:
    faults: list[str] = []
    shelf.prove(faults.append)
    return faults + shelf.unbalanced()


def lines(tray: Tray) -> list[tuple[str, int, int]]:
    rows = TrayLine.objects.filter(tray=tray).order_by("part")
    return [(one.state, one.quantity, one.returned) for one in rows]


def test_what_still_lies_there_of_a_line_returned_in_part_is_a_line_of_its_own(
    corner: Corner,
) -> None:
    tray = closed(corner, P04=6)
    line = TrayLine.objects.get(tray=tray)
    ledger.return_sealed(line.pk, 2, corner.clerk, NOW, "two too many")
    ledger.open_tray(tray.pk, corner.clerk, NOW)
    assert ("taken", 2, 2) in lines(tray)
    assert ("taken", 4, 0) in lines(tray)
    assert proved() == []


def test_it_can_be_taken_out_again_where_its_lot_is_held(corner: Corner) -> None:
    tray = closed(corner, P04=6)
    line = TrayLine.objects.get(tray=tray)
    ledger.return_sealed(line.pk, 2, corner.clerk, NOW, "two too many")
    ledger.hold(corner.lot("P04").pk, "Spotted", corner.clerk, NOW)
    ledger.open_tray(tray.pk, corner.clerk, NOW)
    rest = TrayLine.objects.get(tray=tray, state="taken", returned=0)
    ledger.put_in(tray.pk, [ledger.PutIn(rest.pk, None)])
    waiting = TrayLine.objects.filter(tray=tray, state="open")
    ledger.put_in(tray.pk, [ledger.PutIn(one.pk, None) for one in waiting])
    ledger.close_tray(tray.pk, corner.clerk, NOW)
    assert corner.lot("P04").out == 0
    assert proved() == []


def test_a_tray_given_up_after_a_part_came_back_balances(corner: Corner) -> None:
    tray = closed(corner, P04=6)
    line = TrayLine.objects.get(tray=tray)
    ledger.return_opened(line.pk, 2, corner.clerk, NOW, "opened")
    ledger.open_tray(tray.pk, corner.clerk, NOW)
    ledger.give_up_tray(tray.pk, corner.clerk, NOW)
    assert proved() == []


def test_what_is_kept_for_a_short_line_of_a_closed_tray_is_no_fault(corner: Corner) -> None:
    tray = closed(corner, P04=6)
    line = TrayLine.objects.get(tray=tray)
    ledger.return_sealed(line.pk, 6, corner.clerk, NOW, "wrong tray")
    short = TrayLine.objects.get(tray=tray, state="short")
    assert ledger.reserve_lines([short.pk], corner.clerk, NOW) == (short.pk,)
    assert proved() == []
    assert shelf.kept_for(tray.pk) == [short.pk]


def test_a_part_that_came_back_whole_does_not_lie_there_any_more(corner: Corner) -> None:
    tray = closed(corner, P04=6)
    assert shelf.lying([tray.pk]) == {(tray.pk, corner.items["P04"])}
    line = TrayLine.objects.get(tray=tray)
    ledger.return_sealed(line.pk, 6, corner.clerk, NOW, "wrong tray")
    ledger.open_tray(tray.pk, corner.clerk, NOW)
    assert shelf.lying([tray.pk]) == set()
    ledger.swap_line(tray.pk, corner.items["P04"], corner.items["T03"], corner.clerk, NOW)
    assert TrayLine.objects.filter(tray=tray, item=corner.items["T03"], state="open").exists()


def test_one_item_may_stand_in_for_two_lines_of_a_tray(corner: Corner) -> None:
    tray = corner.ask(P04=2, T10=1)
    for out in ("P04", "T10"):
        ledger.swap_line(tray.pk, corner.items[out], corner.items["T03"], corner.clerk, NOW)
    lines = TrayLine.objects.filter(tray=tray, item=corner.items["T03"]).order_by("part")
    assert [(line.part, line.quantity) for line in lines] == [(1, 2), (2, 1)]


def test_a_tray_opened_again_is_in_no_wave(corner: Corner) -> None:
    tray = corner.ask(P04=6)
    wave = ledger.make_wave(DAY, [tray.pk], corner.clerk, NOW)
    corner.close(corner.put_in(tray, P04="P04"))
    assert Tray.objects.get(pk=tray.pk).wave == Wave.objects.get(pk=wave)
    ledger.open_tray(tray.pk, corner.clerk, NOW)
    assert Tray.objects.get(pk=tray.pk).wave is None


def test_what_was_let_go_leads_nobody_to_its_old_lot(corner: Corner) -> None:
    line = TrayLine.objects.get(tray=corner.ask(P04=4))
    ledger.let_go([line.pk], corner.clerk, NOW, "to another")
    line.refresh_from_db()
    assert (line.reserved, line.reserved_lot) == (0, None)


def test_a_second_plating_lot_is_refused_where_no_lot_was_scanned_too(corner: Corner) -> None:
    tray = corner.ask(T03=1, T10=1)
    assert corner.lot("T10").item.metal == corner.lot("T03").item.metal == "nickel"
    Lot.objects.filter(item__key="T10").update(plating="31-09B")
    with pytest.raises(OutOfStep, match="two shades of nickel"):
        corner.put_in(tray, T03="T03", T10="T10")
    assert not TrayLine.objects.filter(tray=tray, state="taken").exists()


def test_what_is_kept_for_trays_is_not_looked_at_as_set_apart(corner: Corner) -> None:
    number = ledger.quarantine(corner.items["P04"], 3, "off Y-1", "Off", corner.clerk, NOW)
    ledger.free(number, "As new", corner.clerk, NOW)
    corner.ask(P04=10)  # all of the other lot
    corner.ask(P04=2)
    ledger.hold(number, "Once more", corner.clerk, NOW)
    with pytest.raises(OutOfStep, match="kept for trays"):
        ledger.look(number, ledger.Thrown(3, "bent"), corner.clerk, NOW)
    assert not Lot.objects.filter(reserved__gt=F("on_hand")).exists()
