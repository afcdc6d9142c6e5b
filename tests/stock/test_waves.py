"""Waves: trays picked in one go, shared between clerks, left and taken up again.

Picking bin by bin in waves, and an urgent tray that jumps in: common practice, no source.
"""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop.catalogue.models import Item
from shop.craft.hardware import Metal
from shop.people.models import Badge
from shop.stock import ledger, shelf
from shop.stock.models import Lot, Tray, TrayLine, Walk, Wave
from tests.floor.morning import NOW
from tests.stock.corner import DAY, Corner

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]


@pytest.fixture
def other() -> int:
    """A second clerk."""
    return Badge.objects.get(code="P-01").pk


def wave_of(corner: Corner, *trays: Tray) -> int:
    return ledger.make_wave(DAY, [one.pk for one in trays], corner.clerk, NOW)


def walks(wave_id: int) -> list[shelf.WalkRow]:
    row = shelf.wave(wave_id)
    assert row is not None
    return list(row.walks)


def only_walk(wave_id: int) -> int:
    (walk,) = walks(wave_id)
    return walk.id


def picks(walk_id: int, key: str, lot_id: int | None = None) -> list[ledger.PutIn]:
    """All that the stop of an item wants, as a clerk would put it in."""
    stop = next(one for one in shelf.stops_of(walk_id) if one.article.key == key)
    return [
        ledger.PutIn(share.line_id, stop.item_id, lot_id=lot_id) for share in stop.shares
    ]  # fmt: skip


def pick(walk_id: int, key: str, by: int) -> ledger.Picked:
    """Take all that the stop of an item wants."""
    stop = next(one for one in shelf.stops_of(walk_id) if one.article.key == key)
    return ledger.pick_stop(walk_id, picks(walk_id, key), stop.take, by)


def states(*trays: Tray) -> list[str]:
    rows = TrayLine.objects.filter(tray__in=trays).order_by("tray", "item__key")
    return list(rows.values_list("state", flat=True))


# --- made ---


def test_a_wave_is_numbered_by_its_day_and_has_one_walk_with_every_open_line(
    corner: Corner,
) -> None:
    first, second = corner.ask(T03=1, P04=1), corner.ask(T03=1)
    one, two = wave_of(corner, first), wave_of(corner, second)
    rows = {row.id: row for row in shelf.waves(DAY)}
    assert [(rows[it].number, rows[it].lines, rows[it].left) for it in (one, two)] == [
        (1, 2, 2),
        (2, 1, 1),
    ]
    (walk,) = rows[one].walks
    assert (walk.number, walk.by, walk.left, walk.done) == (1, "", 2, False)


def test_waves_of_another_day_are_numbered_by_themselves(corner: Corner) -> None:
    wave_of(corner, corner.ask(T03=1))
    tray = corner.ask(T03=1)
    after = ledger.make_wave(DAY + timedelta(days=1), [tray.pk], corner.clerk, NOW)
    assert Wave.objects.get(pk=after).number == 1


def test_a_tray_in_a_wave_already_is_refused_by_name_and_no_wave_is_made(corner: Corner) -> None:
    inside, free = corner.ask(T03=1), corner.ask(T03=1)
    wave_of(corner, inside)
    with pytest.raises(ledger.OutOfStep, match=f"In a wave already: {inside.serial} .wave 1."):
        wave_of(corner, inside, free)
    assert Wave.objects.count() == 1
    assert Tray.objects.get(pk=free.pk).wave is None


def test_a_closed_tray_goes_into_no_wave(corner: Corner) -> None:
    tray = corner.close(corner.put_in(corner.ask(T03=1), T03="T03"))
    with pytest.raises(ledger.OutOfStep, match=f"Closed already: {tray.serial}"):
        wave_of(corner, tray)


def test_trays_with_nothing_to_pick_make_no_wave(corner: Corner) -> None:
    tray = corner.put_in(corner.ask(T03=1), T03="T03")
    with pytest.raises(ledger.OutOfStep, match="Nothing of these trays is to pick"):
        wave_of(corner, tray)


def test_no_tray_chosen_is_told(corner: Corner) -> None:
    with pytest.raises(ledger.OutOfStep, match="Choose a tray or more"):
        ledger.make_wave(DAY, [], corner.clerk, NOW)


def test_an_urgent_tray_joins_the_walk_that_comes_to_its_bins(corner: Corner) -> None:
    """T03 is on the second walk after the split, P04 on neither: it joins the first."""
    wave_id = wave_of(corner, corner.ask(T03=1, T10=1))
    first, second = only_walk(wave_id), ledger.split_walk(only_walk(wave_id), corner.clerk, NOW)
    late = corner.ask(T03=1, T10=1, P04=1)
    ledger.add_to_wave(wave_id, late.pk, corner.clerk, NOW)
    found = {
        walk: {stop.article.key: stop.take for stop in shelf.stops_of(walk)}
        for walk in (first, second)
    }
    assert found == {first: {"T03": 2, "P04": 1}, second: {"T10": 2}}


def test_a_tray_joins_a_wave_once(corner: Corner) -> None:
    wave_id, late = wave_of(corner, corner.ask(T03=1)), corner.ask(T03=1)
    ledger.add_to_wave(wave_id, late.pk, corner.clerk, NOW)
    with pytest.raises(ledger.OutOfStep, match="In a wave already"):
        ledger.add_to_wave(wave_id, late.pk, corner.clerk, NOW)


def test_a_tray_that_comes_when_all_is_picked_opens_the_first_walk_again(corner: Corner) -> None:
    wave_id = wave_of(corner, corner.ask(T03=1))
    walk = only_walk(wave_id)
    pick(walk, "T03", corner.clerk)
    ledger.add_to_wave(wave_id, corner.ask(P04=1).pk, corner.clerk, NOW)
    assert [stop.article.key for stop in shelf.stops_of(walk)] == ["P04"]


# --- split ---


def test_a_split_gives_the_second_half_of_the_way_to_another(corner: Corner) -> None:
    wave_id = wave_of(corner, corner.ask(T03=1, T10=1, P04=1), corner.ask(T03=1, P04=1))
    first = only_walk(wave_id)
    way = [stop.key for stop in shelf.stops_of(first)]
    second = ledger.split_walk(first, corner.clerk, NOW)
    assert [stop.key for stop in shelf.stops_of(first)] == way[:1]
    assert [stop.key for stop in shelf.stops_of(second)] == way[1:]
    assert [(one.number, one.by) for one in walks(wave_id)] == [(1, ""), (2, "")]


def test_the_way_does_not_turn_round_under_a_clerk(corner: Corner) -> None:
    """What is left is walked in the order it had from the start, bin after bin, split or not."""
    tray = Tray.objects.get(serial="Q-1062")
    walk = only_walk(wave_of(corner, tray, corner.ask(T03=1, T10=1, P04=1)))
    way = [stop.key for stop in shelf.stops_of(walk)]
    assert len(way) > 6
    while way:
        assert [stop.key for stop in shelf.stops_of(walk)] == way
        first = shelf.stops_of(walk)[0]
        pick(walk, first.article.key, corner.clerk)
        way.pop(0)


def test_lines_of_one_stop_stay_together(corner: Corner) -> None:
    wave_id = wave_of(corner, *(corner.ask(T03=1, P04=1) for _ in range(3)))
    second = ledger.split_walk(only_walk(wave_id), corner.clerk, NOW)
    assert [stop.take for stop in shelf.stops_of(second)] == [3]


def test_a_walk_with_one_bin_left_is_not_split(corner: Corner) -> None:
    wave_id = wave_of(corner, corner.ask(T03=1))
    with pytest.raises(ledger.OutOfStep, match="One bin cannot be shared"):
        ledger.split_walk(only_walk(wave_id), corner.clerk, NOW)
    assert Walk.objects.count() == 1


def test_the_same_split_come_twice_leaves_the_walk_as_it_is(corner: Corner) -> None:
    """Of two bins one is left on each walk: the second tap would be told so otherwise."""
    wave_id = wave_of(corner, corner.ask(T03=1, P04=1))
    first = only_walk(wave_id)
    second = ledger.split_walk(first, corner.clerk, NOW, 1)
    assert second != first
    assert ledger.split_walk(first, corner.clerk, NOW, 1) == first
    assert [one.left for one in walks(wave_id)] == [1, 1]


# --- left and taken up ---


def test_a_walk_taken_over_says_from_whom(corner: Corner, other: int) -> None:
    walk = only_walk(wave_of(corner, corner.ask(T03=1)))
    assert ledger.take_walk(walk, corner.clerk) == ""
    assert ledger.take_walk(walk, corner.clerk) == ""
    assert ledger.take_walk(walk, other) == "P-41"


def test_a_pause_keeps_its_moment_and_ends_when_it_is_taken_up(corner: Corner) -> None:
    walk = only_walk(wave_of(corner, corner.ask(T03=1)))
    ledger.take_walk(walk, corner.clerk)
    ledger.pause_walk(walk, corner.clerk, NOW)
    ledger.pause_walk(walk, corner.clerk, NOW + timedelta(minutes=5))
    row = shelf.walk_row(walk)
    assert row is not None
    assert row.paused_at == NOW
    ledger.take_walk(walk, corner.clerk)
    assert Walk.objects.get(pk=walk).paused_at is None


def test_nobody_pauses_the_walk_of_another(corner: Corner, other: int) -> None:
    walk = only_walk(wave_of(corner, corner.ask(T03=1)))
    ledger.take_walk(walk, corner.clerk)
    with pytest.raises(ledger.OutOfStep, match="P-41 walks this now"):
        ledger.pause_walk(walk, other, NOW)


# --- picked ---


def test_a_stop_fills_every_tray_that_shares_it_and_moves_no_stock(corner: Corner) -> None:
    trays = corner.ask(T03=1), corner.ask(T03=2)
    walk = only_walk(wave_of(corner, *trays))
    before = corner.counts("T03")
    assert pick(walk, "T03", corner.clerk) == ledger.Picked()
    assert states(*trays) == ["taken", "taken"]
    assert corner.counts("T03") == before
    assert [one.done for one in walks(Wave.objects.get().pk)] == [True]


def test_the_same_tap_twice_changes_nothing(corner: Corner) -> None:
    tray = corner.ask(T03=1)
    walk = only_walk(wave_of(corner, tray))
    ledger.take_walk(walk, corner.clerk)
    tap = picks(walk, "T03")
    ledger.pick_stop(walk, tap, len(tap), corner.clerk)
    version = Tray.objects.get(pk=tray.pk).version
    assert ledger.pick_stop(walk, tap, len(tap), corner.clerk) == ledger.Picked(again=True)
    assert Tray.objects.get(pk=tray.pk).version == version


def test_a_second_clerk_at_the_same_stop_is_told_who_took_it(corner: Corner, other: int) -> None:
    tray = corner.ask(T03=1)
    walk = only_walk(wave_of(corner, tray))
    ledger.take_walk(walk, corner.clerk)
    tap = picks(walk, "T03")
    ledger.pick_stop(walk, tap, len(tap), corner.clerk)
    with pytest.raises(
        ledger.OutOfStep, match=f"1 × T03 for {tray.serial}: taken already, by P-41."
    ):
        ledger.pick_stop(walk, tap, len(tap), other)


def test_a_stop_given_away_by_a_split_is_not_picked_on_the_old_walk(corner: Corner) -> None:
    wave_id = wave_of(corner, corner.ask(T03=1, T10=1))
    walk = only_walk(wave_id)
    tap = picks(walk, shelf.stops_of(walk)[1].article.key)
    ledger.split_walk(walk, corner.clerk, NOW)
    with pytest.raises(ledger.OutOfStep, match="on walk 2 now, with another clerk"):
        ledger.pick_stop(walk, tap, len(tap), corner.clerk)


def test_who_lost_the_walk_to_another_takes_it_up_again_first(corner: Corner, other: int) -> None:
    walk = only_walk(wave_of(corner, corner.ask(T03=1)))
    tap = picks(walk, "T03")
    ledger.take_walk(walk, other)
    with pytest.raises(ledger.OutOfStep, match="P-01 walks this now"):
        ledger.pick_stop(walk, tap, len(tap), corner.clerk)
    assert shelf.stops_of(walk)[0].take == 1


def test_a_line_of_another_walk_is_not_picked_on_this_one(corner: Corner) -> None:
    here, there = wave_of(corner, corner.ask(T03=1)), wave_of(corner, corner.ask(T03=1))
    tap = picks(only_walk(there), "T03")
    with pytest.raises(ledger.OutOfStep, match="Leave it there and go on"):
        ledger.pick_stop(only_walk(here), tap, 1, corner.clerk)


def test_what_is_found_goes_to_the_lines_in_the_order_given_and_the_others_are_short(
    corner: Corner,
) -> None:
    """One of three found: whoever needs it first has it, a whole line or nothing."""
    early, late = corner.ask(T03=2), corner.ask(T03=1)
    walk = only_walk(wave_of(corner, late, early))
    by_need = sorted(picks(walk, "T03"), key=lambda one: one.line_id)
    came = ledger.pick_stop(walk, by_need, 2, corner.clerk)
    assert came.short == {late.lines.get().pk}
    assert states(early, late) == ["taken", "short"]


def test_one_piece_fills_no_line_of_two_but_the_next_of_one(corner: Corner) -> None:
    early, late = corner.ask(T03=2), corner.ask(T03=1)
    walk = only_walk(wave_of(corner, early, late))
    by_need = sorted(picks(walk, "T03"), key=lambda one: one.line_id)
    assert ledger.pick_stop(walk, by_need, 1, corner.clerk).short == {early.lines.get().pk}


def test_more_than_is_wanted_is_put_back(corner: Corner) -> None:
    tray = corner.ask(T03=1)
    walk = only_walk(wave_of(corner, tray))
    with pytest.raises(ledger.OutOfStep, match="2 taken, 1 wanted"):
        ledger.pick_stop(walk, picks(walk, "T03"), 2, corner.clerk)
    assert states(tray) == ["open"]


def test_a_lot_that_is_held_meanwhile_leaves_the_lines_to_pick(corner: Corner) -> None:
    tray = corner.ask(T03=1)
    walk = only_walk(wave_of(corner, tray))
    tap = picks(walk, "T03", corner.lot("T03").pk)
    ledger.hold(corner.lot("T03").pk, "Plating spotted", corner.clerk, NOW)
    ((serial, words),) = ledger.pick_stop(walk, tap, len(tap), corner.clerk).refused
    assert serial == tray.serial
    assert "is held: Plating spotted. Take another lot." in words
    assert states(tray) == ["open"]


def test_a_second_plating_lot_stays_out_of_its_tray_and_the_other_tray_has_its_own(
    corner: Corner,
) -> None:
    """One tray has gold of 31-07A already, the other none: 31-09B goes into the other alone."""
    Item.objects.filter(key__in=["T03", "T10"]).update(metal=Metal.GOLD.value)
    Lot.objects.filter(item__key="T10").update(plating="31-07A")
    Lot.objects.filter(item__key="T03").update(plating="31-09B")
    begun, fresh = corner.ask(T10=1, T03=1), corner.ask(T03=1)
    walk = only_walk(wave_of(corner, begun, fresh))
    of_t10, of_t03 = (
        picks(walk, key, corner.lot(key).pk) for key in ("T10", "T03")
    )  # fmt: skip
    ledger.pick_stop(walk, of_t10, 1, corner.clerk)
    ((serial, words),) = ledger.pick_stop(walk, of_t03, 2, corner.clerk).refused
    assert serial == begun.serial
    assert "Plating lot 31-09B, but T10 in this tray is of 31-07A" in words
    assert states(begun) == ["open", "taken"]  # T03, T10
    assert states(fresh) == ["taken"]


# --- what is told of a stop ---


def test_a_stop_counts_what_lies_in_open_trays_as_gone_from_its_bin(corner: Corner) -> None:
    corner.put_in(corner.ask(T03=2), T03="T03")
    walk = only_walk(wave_of(corner, corner.ask(T03=1)))
    (stop,) = shelf.stops_of(walk)
    assert (stop.on_hand, stop.reserved, stop.free) == (6, 3, 3)
    assert (stop.in_trays, stop.take, stop.left_after) == (2, 1, 3)


def test_a_line_nothing_was_kept_for_is_led_to_the_oldest_lot_that_covers_it(
    corner: Corner,
) -> None:
    tray = corner.ask(T03=8)
    corner.receive("T03", 9, date(2031, 3, 1), "first", "Y-05")
    corner.receive("T03", 20, date(2031, 3, 2), "second", "Y-06")
    (stop,) = shelf.stops_of(only_walk(wave_of(corner, tray)))
    assert (stop.bin, stop.lot, stop.short) == ("Y-05", "first", 0)


def test_eight_of_nine_sets_are_free_where_six_of_fourteen_are_kept_for_others(
    corner: Corner,
) -> None:
    """14 on hand, 6 reserved, 9 wanted: common practice, no source; worked by hand."""
    corner.receive("T03", 8, date(2031, 3, 1), corner.lot("T03").code, "A-03")
    lot = corner.lot("T03")
    ledger.promise(lot.pk, 6, NOW, "invented for this test")
    trays = [corner.ask(T03=1) for _ in range(9)]
    (stop,) = shelf.stops_of(only_walk(wave_of(corner, *trays)))
    assert (stop.on_hand, stop.reserved, stop.free, stop.take, stop.short) == (14, 14, 0, 9, 1)
    assert [share.serial for share in stop.shares if not share.covered] == [trays[-1].serial]


@pytest.mark.parametrize("number", [5, 40])
def test_a_walk_and_a_days_waves_take_as_many_statements_for_any_number_of_trays(
    corner: Corner, number: int
) -> None:
    corner.receive("P04", 40, date(2031, 3, 1), "more", "Y-07")
    walk = only_walk(wave_of(corner, *(corner.ask(T03=1, P04=1) for _ in range(number))))
    for ask, most in ((lambda: shelf.stops_of(walk), 6), (lambda: shelf.waves(DAY), 3)):
        with CaptureQueriesContext(connection) as caught:
            ask()
        assert len(caught) <= most


# --- labels ---


@pytest.mark.parametrize(
    "text",
    [
        "A-03",
        "a-03",
        " A-03 ",
        "BIN A-03",
        "bin  a-03",
        "https://shop.example/BIN/A-03",
        "HTTP://SHOP/B/A-03",
    ],
)
def test_the_label_of_a_bin_is_read_typed_or_scanned(corner: Corner, text: str) -> None:
    assert shelf.read_label(text) == shelf.BinLabel("A-03")


@pytest.mark.parametrize("form", ["LOT {0}", "lot  {0}", "HTTP://HERE:8000/lot/{0}/"])
def test_the_label_of_a_lot_is_read_typed_or_scanned(corner: Corner, form: str) -> None:
    number = corner.lot("T03").pk
    assert shelf.read_label(form.format(number)) == shelf.LotLabel(number)


def test_a_lot_is_read_by_item_and_code_as_printed(corner: Corner) -> None:
    lot = corner.lot("T03")
    assert shelf.read_label(f"t03 {lot.code.lower()}") == shelf.LotLabel(lot.pk)


def test_a_lot_in_two_bins_is_the_one_where_the_scanner_is_held(corner: Corner) -> None:
    code = corner.lot("T03").code
    there = corner.receive("T03", 1, DAY, code, "Y-09")
    assert shelf.read_label(f"T03 {code}", "Y-09") == shelf.LotLabel(there)
    assert shelf.read_label(f"T03 {code}") != shelf.LotLabel(there)


@pytest.mark.parametrize(
    "text",
    [
        "", "Z-99", "LOT 0", "LOT", "BIN", "BIN Z-99", "T03", "T03 never", "https://x/BIN/",
        "https://x/A-03",
    ],
)  # fmt: skip
def test_a_text_on_no_label_here_names_nothing(corner: Corner, text: str) -> None:
    assert shelf.read_label(text) is None


# --- the oldest partial tray ---


def test_the_partial_tray_wanted_first_is_named_among_those_asked_of(corner: Corner) -> None:
    tray = corner.put_in(corner.ask(T03=1, P04=1), T03="T03", P04=None)
    empty = corner.put_in(corner.ask(P04=1), P04=None)
    assert shelf.oldest_partial([tray.serial, empty.serial]) == (tray.serial, DAY)
    assert shelf.oldest_partial([empty.serial]) is None
