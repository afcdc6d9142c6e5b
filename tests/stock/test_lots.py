"""Lots measured at receiving, held and given free; nobody picks from one that is held.

That one piece out of its size raises the whole lot: common practice, no source.
"""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop.catalogue import book
from shop.catalogue.models import Item
from shop.stock import ledger, shelf
from shop.stock.ledger import OutOfStep
from shop.stock.models import Lot, LotCheck, LotHold, Movement
from tests.floor.morning import NOW
from tests.stock.corner import Corner

pytestmark = pytest.mark.django_db

POST = "post_mm"
INSIDE, OUT = Decimal("6.00"), Decimal("6.20")  # of T03, post 6 mm, nothing declared: ±0.05
OLD = date(2031, 1, 1)
WHY = "Plating is spotted"


def measure(corner: Corner, *values: Decimal, after: int | None = None) -> list[str]:
    found = ledger.measure(
        corner.lot("T03").pk, [(POST, one) for one in values], corner.clerk, NOW, after=after
    )
    return [one.rule for one in found]


def hold(corner: Corner, key: str = "T03") -> int:
    lot = corner.lot(key).pk
    ledger.hold(lot, WHY, corner.clerk, NOW)
    return lot


# --- measuring ---


def test_pieces_inside_their_size_are_kept_and_hold_nothing(corner: Corner) -> None:
    assert measure(corner, INSIDE, INSIDE) == []
    assert corner.lot("T03").held == ""
    rows = corner.lot("T03").checks.values_list("dimension", "value_mm", "inside", "by_id", "at")
    assert list(rows) == [(POST, INSIDE, True, corner.clerk, NOW)] * 2


def test_one_piece_out_of_its_size_holds_the_whole_lot(corner: Corner) -> None:
    assert measure(corner, INSIDE, OUT, INSIDE) == ["lot"]
    told = "Post 6.2 mm: 0.15 mm over the 5.95–6.05 of T03."
    assert corner.lot("T03").held.replace("\u202f", " ") == told
    kept = LotHold.objects.get(lot=corner.lot("T03"))
    assert (kept.held, kept.why, kept.by_id) == (True, corner.lot("T03").held, corner.clerk)
    inside = corner.lot("T03").checks.values_list("inside", flat=True)
    assert list(inside) == [True, False, True]


def test_several_pieces_out_are_told_as_the_first_and_how_many_more(corner: Corner) -> None:
    measure(corner, OUT, Decimal("6.30"), Decimal("5.80"))
    assert corner.lot("T03").held.endswith(" 2 more out.")


def test_the_tolerance_an_item_declares_counts_before_the_usual_one(corner: Corner) -> None:
    Item.objects.filter(key="T03").update(tolerances="post_mm -0.01/+0.25")
    assert measure(corner, OUT) == []
    assert measure(corner, Decimal("5.98")) == ["lot"]


def test_a_value_is_kept_to_the_micrometre(corner: Corner) -> None:
    measure(corner, Decimal("5.98765"))
    assert corner.lot("T03").checks.get().value_mm == Decimal("5.988")


@pytest.mark.parametrize(
    ("dimension", "value", "told"),
    [
        ("spacing_mm", "35", "has no spacing_mm. Choose one of the list."),
        ("", "6", "has no dimension without a name."),
        (POST, "0", "0 mm cannot be. Measure again."),
        (POST, "-6", "-6 mm cannot be. Measure again."),
        (POST, "12000", "12000 mm cannot be. Measure again."),
    ],
)
def test_a_value_that_cannot_be_kept_keeps_none_of_them(
    corner: Corner, dimension: str, value: str, told: str
) -> None:
    values = [(POST, OUT), (dimension, Decimal(value))]
    with pytest.raises(OutOfStep, match=told):
        ledger.measure(corner.lot("T03").pk, values, corner.clerk, NOW)
    assert not LotCheck.objects.exists()
    assert corner.lot("T03").held == ""


def test_measuring_nothing_is_told(corner: Corner) -> None:
    with pytest.raises(OutOfStep, match="Nothing is measured yet"):
        measure(corner)


def test_the_same_tap_come_twice_is_kept_once(corner: Corner) -> None:
    before = 0
    assert measure(corner, INSIDE, OUT, after=before) == ["lot"]
    assert measure(corner, INSIDE, OUT, after=before) == ["lot"]
    assert corner.lot("T03").checks.count() == 2
    assert LotHold.objects.count() == 1


def test_the_same_values_measured_on_more_pieces_are_kept_too(corner: Corner) -> None:
    measure(corner, INSIDE, after=0)
    sheet = shelf.lot(corner.lot("T03").pk)
    assert sheet is not None
    measure(corner, INSIDE, after=sheet.last_check)
    assert corner.lot("T03").checks.count() == 2


# --- held and free ---


def test_a_lot_is_held_by_hand_with_a_reason(corner: Corner) -> None:
    hold(corner)
    assert corner.lot("T03").held == WHY


def test_a_lot_given_free_is_picked_from_again_and_the_history_stays(corner: Corner) -> None:
    lot = hold(corner)
    ledger.free(lot, "Measured again", corner.clerk, NOW)
    assert corner.ask(T03=1).lines.get().reserved == 1
    kept = list(LotHold.objects.filter(lot=lot).values_list("held", "why"))
    assert kept == [(True, WHY), (False, "Measured again")]


@pytest.mark.parametrize("deed", [ledger.hold, ledger.free])
def test_nothing_is_held_or_freed_without_a_reason(corner: Corner, deed: object) -> None:
    lot = corner.lot("T03").pk
    if deed is ledger.free:
        hold(corner)
    before = LotHold.objects.count()
    with pytest.raises(OutOfStep, match="Say why it is"):
        deed(lot, "  ", corner.clerk, NOW)  # type: ignore[operator]
    assert LotHold.objects.count() == before


def test_a_reason_too_long_to_keep_says_how_long_it_may_be(corner: Corner) -> None:
    with pytest.raises(OutOfStep, match=r"201 characters\. Say it in 200"):
        ledger.hold(corner.lot("T03").pk, "x" * 201, corner.clerk, NOW)


def test_a_lot_is_not_held_twice_by_hand_nor_freed_twice(corner: Corner) -> None:
    lot = hold(corner)
    with pytest.raises(OutOfStep, match=f"is held: {WHY}. Nothing more to do"):
        ledger.hold(lot, "Another", corner.clerk, NOW)
    ledger.free(lot, "Looked at", corner.clerk, NOW)
    with pytest.raises(OutOfStep, match="is free already"):
        ledger.free(lot, "Looked at", corner.clerk, NOW)
    assert LotHold.objects.count() == 2


def test_a_lot_that_is_not_here_is_told(corner: Corner) -> None:
    with pytest.raises(OutOfStep, match="This lot is not here"):
        ledger.hold(0, WHY, corner.clerk, NOW)


def test_holding_moves_no_stock(corner: Corner) -> None:
    before = Movement.objects.count()
    ledger.free(hold(corner), "Looked at", corner.clerk, NOW)
    assert Movement.objects.count() == before
    assert shelf.unbalanced() == []


# --- nobody picks from it ---


def test_a_held_lot_is_not_reserved_for_a_tray(corner: Corner) -> None:
    hold(corner)
    line = corner.ask(T03=1).lines.get()
    assert (line.reserved, line.reserved_lot) == (0, None)


def test_another_lot_is_reserved_in_its_place(corner: Corner) -> None:
    hold(corner)
    other = corner.receive("T03", 2, OLD + timedelta(days=60), "other")
    assert corner.ask(T03=1).lines.get().reserved_lot_id == other


def test_a_held_lot_is_not_promised(corner: Corner) -> None:
    lot = hold(corner)
    with pytest.raises(OutOfStep, match=f"is held: {WHY}. Promise from another lot"):
        ledger.promise(lot, 1, NOW, "an order to come")
    assert corner.counts("T03") == (6, 0)


def test_a_held_lot_counts_as_not_free(corner: Corner) -> None:
    hold(corner)
    assert shelf.free([corner.items["T03"]]) == {corner.items["T03"]: 0}


def test_a_reservation_on_a_lot_held_since_shows_as_short_with_the_reason(corner: Corner) -> None:
    tray = corner.ask(T03=1)
    code = corner.lot("T03").code
    hold(corner)
    row = shelf.tray(tray.pk)
    assert row is not None
    [line] = row["lines"]
    assert (line["reserved"], line["held"]) == (0, f"Lot {code} is held: {WHY}.")
    [listed] = [one for one in shelf.trays(tray.wanted_on) if one["id"] == tray.pk]
    assert listed["lines"][0]["reserved"] == 0


def test_a_reservation_on_a_lot_that_is_free_is_not_said_to_be_held(corner: Corner) -> None:
    row = shelf.tray(corner.ask(T03=1).pk)
    assert row is not None
    assert [(one["reserved"], one["held"]) for one in row["lines"]] == [(1, "")]


def test_the_walk_leads_past_a_held_lot_to_another_bin(corner: Corner) -> None:
    tray = corner.ask(T03=1)
    hold(corner)
    corner.receive("T03", 2, OLD, "other", "Y-07")
    [stop] = shelf.walk([tray.pk])
    assert (stop.bin, stop.short) == ("Y-07", 0)  # two are free there
    assert [WHY in one for one in stop.held] == [True]


def test_where_every_lot_is_held_the_walk_leads_to_no_bin(corner: Corner) -> None:
    tray = corner.ask(T03=1)
    hold(corner)
    [stop] = shelf.walk([tray.pk])
    assert (stop.bin, stop.on_hand, stop.short) == ("no bin", 0, 1)
    assert WHY in stop.held[0]


def test_what_is_put_in_comes_from_a_lot_that_is_free(corner: Corner) -> None:
    tray = corner.ask(T03=1)
    hold(corner)
    other = corner.receive("T03", 2, OLD, "other")
    corner.put_in(tray, T03="T03")
    assert tray.lines.get().lot_id == other
    corner.close(tray)
    assert corner.deducted(tray) == 1
    held = Lot.objects.get(item__key="T03", held=WHY)
    assert (held.on_hand, held.reserved) == (6, 0)


def test_a_tray_picked_before_its_lot_was_held_does_not_close(corner: Corner) -> None:
    tray = corner.ask(T03=1)
    corner.put_in(tray, T03="T03")
    hold(corner)
    [bare] = shelf.not_covered(tray.pk)
    assert (bare.key, bare.on_hand) == ("T03", 0)
    assert WHY in bare.held
    with pytest.raises(OutOfStep, match=f"is held: {WHY}. Take another lot, or mark it short"):
        corner.close(tray)
    assert corner.counts("T03") == (6, 1)


def test_an_item_whose_only_lot_is_held_is_not_put_in_from_it(corner: Corner) -> None:
    tray = corner.ask(P04=1)
    hold(corner)
    corner.put_in(tray, P04="T03")
    [bare] = shelf.not_covered(tray.pk)
    assert (bare.key, bare.on_hand, bare.reserved) == ("T03", 0, 0)
    with pytest.raises(OutOfStep, match="No bin holds 1 of T03"):
        corner.close(tray)


def test_a_lot_given_free_covers_the_tray_again(corner: Corner) -> None:
    tray = corner.ask(T03=1)
    corner.put_in(tray, T03="T03")
    ledger.free(hold(corner), "Looked at", corner.clerk, NOW)
    assert shelf.not_covered(tray.pk) == []
    assert corner.close(tray).state == "closed"


# --- batteries ---


def battery() -> Lot:
    return Lot.objects.get(item__key="V01")


def test_a_lot_of_batteries_is_given_the_date_printed_on_them(corner: Corner) -> None:
    ledger.keep_until(battery().pk, date(2034, 3, 31), NOW.date())
    assert battery().best_before == date(2034, 3, 31)


def test_the_date_goes_with_the_battery_into_the_tray(corner: Corner) -> None:
    ledger.keep_until(battery().pk, date(2034, 3, 31), NOW.date())
    ids = book.item_ids(["V01"])
    ask = [ledger.Ask(ids["V01"], 1)]
    tray = ledger.ask_tray("Y-8001", corner.revision, NOW.date(), ask, corner.clerk, NOW)
    ledger.put_in(tray.pk, [ledger.PutIn(tray.lines.get().pk, ids["V01"])])
    row = shelf.tray(tray.pk)
    assert row is not None
    assert [one.best_before for one in shelf.tray_facts(row).lines] == [date(2034, 3, 31)]


def test_batteries_may_come_in_with_their_date(corner: Corner) -> None:
    ids = book.item_ids(["V01"])
    until = date(2035, 1, 31)
    lot = ledger.receive(ids["V01"], "Y-02", "35-01", 4, OLD, NOW, best_before=until)
    assert Lot.objects.get(pk=lot).best_before == until


@pytest.mark.parametrize(
    ("key", "day", "told"),
    [
        ("V01", date(2031, 3, 2), "2031-03-02 is past"),
        ("T03", date(2034, 3, 31), "T03 .* is no battery"),
    ],
)
def test_a_date_that_cannot_be_is_told_and_not_kept(
    corner: Corner, key: str, day: date, told: str
) -> None:
    lot = Lot.objects.get(item__key=key)
    before = lot.best_before
    with pytest.raises(OutOfStep, match=told):
        ledger.keep_until(lot.pk, day, NOW.date())
    lot.refresh_from_db()
    assert lot.best_before == before


# --- what is asked ---


def test_the_list_of_lots_begins_with_those_that_are_held(corner: Corner) -> None:
    hold(corner, "P04")
    rows = shelf.lots()
    assert rows[0].key == "P04"
    assert (rows[0].free, rows[0].held) == (0, WHY)
    assert [one.held for one in rows[1:]] == [""] * (len(rows) - 1)


def test_a_lot_used_up_stands_on_the_list_only_while_it_is_held(corner: Corner) -> None:
    lot = corner.receive("T03", 1, OLD, "used up")
    corner.close(corner.put_in(corner.ask(T03=1), T03="T03"))
    assert lot not in [one.id for one in shelf.lots()]
    ledger.hold(lot, WHY, corner.clerk, NOW)
    assert lot in [one.id for one in shelf.lots()]


def test_a_lot_tells_which_trays_have_of_it_closed_ones_last(corner: Corner) -> None:
    closed = corner.close(corner.put_in(corner.ask(T03=1), T03="T03"))
    picked = corner.put_in(corner.ask(T03=1), T03="T03")
    reserved = corner.ask(T03=2)
    corner.ask(T10=1)
    sheet = shelf.lot(corner.lot("T03").pk)
    assert sheet is not None
    assert [(one.serial, one.quantity, one.state) for one in sheet.trays] == [
        (picked.serial, 1, "picked"),
        (reserved.serial, 2, "reserved"),
        (closed.serial, 1, "closed"),
    ]


def test_a_lot_that_never_was_has_no_sheet(corner: Corner) -> None:
    assert shelf.lot(0) is None


@pytest.mark.parametrize("pieces", [1, 60])
def test_one_lot_takes_five_statements_for_any_number_of_pieces(
    corner: Corner, pieces: int
) -> None:
    measure(corner, *[INSIDE] * pieces)
    lot = corner.lot("T03").pk
    with CaptureQueriesContext(connection) as asked:
        shelf.lot(lot)
    assert len(asked) == 5


@pytest.mark.parametrize("more", [0, 40])
def test_the_list_of_lots_takes_one_statement_for_any_number_of_them(
    corner: Corner, more: int
) -> None:
    for number in range(more):
        corner.receive("T03", 1, OLD, f"lot {number}")
    with CaptureQueriesContext(connection) as asked:
        shelf.lots()
    assert len(asked) == 1


def test_an_article_stands_on_the_shelf_with_all_of_its_lots(corner: Corner) -> None:
    corner.ask(T03=2)
    corner.receive("T03", 3, OLD, "second", "Y-09")
    bad = corner.receive("T03", 5, OLD, "bad", "Y-10")
    ledger.hold(bad, WHY, corner.clerk, NOW)
    found = shelf.stocked([corner.items["T03"]])[corner.items["T03"]]
    assert found.article.key == "T03"
    assert (found.on_hand, found.free) == (9, 7)
    assert found.bins == ("A-03", "Y-09")
    assert found.held == (f"Lot bad is held: {WHY}.",)


def test_an_article_that_is_not_on_the_shelf_has_none(corner: Corner) -> None:
    corner.close(corner.put_in(corner.ask(T03=6), T03="T03"))
    found = shelf.stocked([corner.items["T03"]])[corner.items["T03"]]
    assert (found.on_hand, found.free, found.bins, found.held) == (0, 0, (), ())


@pytest.mark.parametrize("more", [0, 40])
def test_what_is_stocked_takes_two_statements_for_any_number_of_lots(
    corner: Corner, more: int
) -> None:
    for number in range(more):
        corner.receive("T03", 1, OLD, f"lot {number}")
    ids = list(corner.items.values())
    with CaptureQueriesContext(connection) as asked:
        shelf.stocked(ids)
    assert len(asked) == 2
