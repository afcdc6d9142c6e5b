"""What the clerk sees: the way past the bins, what is short, what lies in a tray."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop.craft.hardware import Family
from shop.stock import ledger, shelf
from shop.stock.models import Tray
from tests.floor.morning import now, pick
from tests.stock.corner import DAY, Corner, never_stocked

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

# Wanted for Tuesday: two TARN, one HOLM, one FELL.
TOMORROW = ("Q-1062", "Q-1063", "Q-1064", "Q-1065")


def trays_of(*serials: str) -> list[int]:
    return [now(serial).tray_id for serial in serials]


def stop_of(key: str, *serials: str) -> shelf.BinStop:
    return next(one for one in shelf.walk(trays_of(*serials)) if one.article.key == key)


def test_the_walk_goes_from_bin_to_bin_in_their_order() -> None:
    bins = [one.bin for one in shelf.walk(trays_of(*TOMORROW))]
    assert bins == shelf.walking_order(sorted(bins))
    assert bins[0] == "A-01"


def test_the_walk_comes_to_each_bin_once() -> None:
    bins = [one.bin for one in shelf.walk(trays_of(*TOMORROW))]
    assert len(bins) == len(set(bins))


def test_a_bin_tells_how_many_to_take_and_which_tray_gets_how_many() -> None:
    stop = stop_of("E04", *TOMORROW)
    assert stop.take == 3
    assert {(share.serial, share.quantity) for share in stop.shares} == {
        ("Q-1062", 1),
        ("Q-1063", 1),
        ("Q-1065", 1),
    }


def test_a_bin_tells_what_is_left_in_it_after_the_walk() -> None:
    stop = stop_of("T01", *TOMORROW)
    assert (stop.on_hand, stop.take, stop.left_after) == (14, 2, 12)


def test_tuning_machines_are_picked_by_wells() -> None:
    by_wells = [one.article.family for one in shelf.walk(trays_of(*TOMORROW)) if one.by_wells]
    assert by_wells == [Family.TUNERS] * 3


def test_a_line_that_is_picked_is_not_walked_for_again() -> None:
    pick("Q-1062")
    assert [share.serial for share in stop_of("T01", "Q-1062", "Q-1063").shares] == ["Q-1063"]


def test_a_line_that_no_lot_covers_shows_its_bin_short(corner: Corner) -> None:
    tray = corner.ask(T03=8)
    (stop,) = shelf.walk([tray.pk])
    assert (stop.bin, stop.on_hand, stop.short, stop.left_after) == ("A-03", 6, 8, -2)


def test_a_line_that_is_covered_is_not_short(corner: Corner) -> None:
    (stop,) = shelf.walk([corner.ask(T03=2).pk])
    assert stop.short == 0


def test_an_uncovered_line_leads_to_the_fullest_bin(corner: Corner) -> None:
    corner.receive("T03", 9, date(2031, 3, 1), "new", "Y-05")
    (stop,) = shelf.walk([corner.ask(T03=20).pk])
    assert stop.bin == "Y-05"


def test_an_item_in_no_bin_comes_last_and_says_so(corner: Corner) -> None:
    with never_stocked(corner.items["P04"]):
        stops = shelf.walk([corner.ask(P04=1, T10=1).pk])
        assert [stop.bin for stop in stops] == ["B-02", "no bin"]


def statements(deed: Any) -> int:
    with CaptureQueriesContext(connection) as caught:
        deed()
    return len(caught)


def many(corner: Corner, number: int) -> list[int]:
    return [corner.ask(T03=1, T10=1, P04=1).pk for _ in range(number)]


@pytest.mark.parametrize("number", [2, 40])
def test_the_walk_takes_five_statements_for_any_number_of_trays(
    corner: Corner, number: int
) -> None:
    trays = many(corner, number)
    assert statements(lambda: shelf.walk(trays)) == 5


@pytest.mark.parametrize("number", [2, 40])
def test_the_list_of_trays_takes_three_statements_for_any_number_of_them(
    corner: Corner, number: int
) -> None:
    many(corner, number)
    assert statements(lambda: shelf.trays(DAY)) == 3


def test_the_list_holds_open_trays_wanted_by_the_day_soonest_first() -> None:
    assert [row["serial"] for row in shelf.trays(date(2031, 3, 3))] == ["Q-1044"]
    assert [row["serial"] for row in shelf.trays(date(2031, 3, 4))] == ["Q-1044", *TOMORROW]


def test_a_closed_tray_leaves_the_list(corner: Corner) -> None:
    tray = corner.put_in(corner.ask(T03=1), T03="T03")
    corner.close(tray)
    assert tray.serial not in [row["serial"] for row in shelf.trays(DAY)]


def test_a_tray_tells_its_lines_in_the_order_a_kit_is_fitted() -> None:
    tray = shelf.tray(now("Q-1050").tray_id)
    assert tray is not None
    ranks = [line["article"].family.rank for line in tray["lines"]]
    assert ranks == sorted(ranks)


def test_a_tray_is_found_by_its_code_as_by_its_number() -> None:
    state = now("Q-1050")
    assert shelf.tray(state.tray_code) == shelf.tray(state.tray_id)


def test_a_code_that_no_tray_carries_finds_nothing() -> None:
    assert shelf.tray("T000000") is None


def test_a_short_line_is_among_what_is_missing_and_not_among_what_lies_in_the_tray() -> None:
    tray = shelf.tray(now("Q-1044").tray_id)
    assert tray is not None
    facts = shelf.tray_facts(tray)
    assert [one.key for one in facts.missing] == ["T02"]
    assert "T02" not in {line.article.key for line in facts.lines}


def test_free_is_what_the_fullest_single_lot_can_give(corner: Corner) -> None:
    corner.ask(T03=2)
    corner.receive("T03", 3, date(2031, 3, 1), "new", "Y-05")
    number = corner.items["T03"]
    assert shelf.free([number]) == {number: 4}


def test_an_item_in_no_lot_has_nothing_free(corner: Corner) -> None:
    number = corner.items["P04"]
    with never_stocked(number):
        assert shelf.free([number]) == {number: 0}


def test_a_covered_tray_has_nothing_that_is_not_covered() -> None:
    assert shelf.not_covered(pick("Q-1062")) == []


def test_what_lies_in_the_tray_is_counted_by_its_wells(corner: Corner) -> None:
    tray = corner.ask(T03=1)
    line = tray.lines.get()
    ledger.put_in(tray.pk, [ledger.PutIn(line.pk, line.item_id, 2, 4)])
    row = shelf.tray(tray.pk)
    assert row is not None
    (picked,) = shelf.tray_facts(row).lines
    assert (picked.left_counted, picked.right_counted) == (2, 4)


def test_every_tray_of_the_demo_that_is_closed_says_by_whom() -> None:
    assert set(Tray.objects.filter(state="closed").values_list("closed_by__code", flat=True)) == {
        "P-41"
    }
