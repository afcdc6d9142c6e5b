"""Every change of stock is a movement, and the counts are their sums."""

from __future__ import annotations

from datetime import date

import pytest
from django.db import IntegrityError, transaction

from shop.catalogue import book, revising
from shop.stock import ledger, shelf
from shop.stock.ledger import OutOfStep
from shop.stock.models import Lot, Movement, Tray
from tests.floor.morning import NOW
from tests.stock.corner import Corner, never_stocked, tampering

pytestmark = pytest.mark.django_db


def movements(tray: Tray) -> list[tuple[str, int, int]]:
    return list(
        Movement.objects.filter(tray=tray).values_list("kind", "on_hand", "reserved").order_by("pk")
    )


# --- asking ---


def test_a_tray_that_is_asked_for_reserves_what_it_wants(corner: Corner) -> None:
    corner.ask(T03=2)
    assert corner.counts("T03") == (6, 2)


def test_a_tray_is_given_a_code_of_its_own(corner: Corner) -> None:
    assert corner.ask(T03=1).code != corner.ask(T03=1).code


def test_what_is_not_free_is_not_reserved_and_the_line_stays(corner: Corner) -> None:
    tray = corner.ask(T03=7)
    assert corner.counts("T03") == (6, 0)
    assert tray.lines.get().reserved_lot is None


def test_what_others_reserved_is_not_reserved_again(corner: Corner) -> None:
    corner.ask(T03=4)
    assert corner.ask(T03=3).lines.get().reserved == 0
    assert corner.counts("T03") == (6, 4)


def test_the_oldest_lot_that_covers_the_whole_line_is_taken(corner: Corner) -> None:
    """First in, first out, and one lot for one instrument: common practice, no source."""
    corner.receive("T03", 1, date(2031, 1, 1), "too small")
    corner.receive("T03", 4, date(2031, 1, 2), "old enough")
    corner.receive("T03", 9, date(2031, 3, 1), "newest")
    lot = corner.ask(T03=3).lines.get().reserved_lot
    assert lot is not None
    assert lot.code == "old enough"


def test_pieces_of_two_lots_do_not_make_one_line(corner: Corner) -> None:
    corner.receive("T03", 6, date(2031, 1, 1), "other")
    assert corner.ask(T03=8).lines.get().reserved_lot is None


@pytest.mark.parametrize(("quantity", "fits"), [(6, True), (7, False)])
def test_nothing_can_be_promised_that_is_not_on_hand(
    corner: Corner, quantity: int, fits: bool
) -> None:
    lot = corner.lot("T03").pk
    try:
        with transaction.atomic():
            ledger.promise(lot, quantity, NOW, "an order to come")
    except IntegrityError:
        assert not fits
    else:
        assert fits
    assert corner.counts("T03") == (6, quantity if fits else 0)
    assert shelf.unbalanced() == []


def test_the_database_keeps_the_reserved_at_or_below_what_is_on_hand(corner: Corner) -> None:
    """By a constraint of the lots' own table, even where nothing guards the ledger."""
    with tampering(), pytest.raises(IntegrityError), transaction.atomic():
        Lot.objects.filter(pk=corner.lot("T03").pk).update(reserved=7)


def test_a_movement_that_moves_nothing_is_not_written(corner: Corner) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        corner.receive("T03", 0, date(2031, 3, 1), "nothing")


# --- putting in ---


def test_stock_does_not_move_while_the_clerk_picks(corner: Corner) -> None:
    tray = corner.ask(T03=2)
    corner.put_in(tray, T03="T03")
    assert corner.counts("T03") == (6, 2)


def test_a_tray_with_a_line_to_pick_is_not_picked_yet(corner: Corner) -> None:
    tray = corner.put_in(corner.ask(T03=1, P04=1), T03="T03")
    assert tray.state == "asked"


def test_a_tray_with_every_line_taken_or_short_is_picked(corner: Corner) -> None:
    tray = corner.put_in(corner.ask(T03=1, P04=1), T03="T03", P04=None)
    assert tray.state == "picked"


def test_each_change_to_what_lies_in_the_tray_raises_its_version(corner: Corner) -> None:
    tray = corner.ask(T03=1)
    versions = [tray.version]
    versions += [corner.put_in(tray, T03=got).version for got in ("T03", None, "T03")]
    versions.append(corner.close(tray).version)
    assert versions == [1, 2, 3, 4, 5]


def test_nothing_is_put_into_a_closed_tray(corner: Corner) -> None:
    tray = corner.put_in(corner.ask(T03=1), T03="T03")
    corner.close(tray)
    with pytest.raises(OutOfStep, match=f"Tray of {tray.serial} is closed. Nothing goes in"):
        corner.put_in(tray, T03=None)
    assert tray.lines.get().state == "taken"


def test_a_line_of_another_tray_is_refused_and_the_good_lines_with_it(corner: Corner) -> None:
    mine, theirs = corner.ask(T03=1), corner.ask(P04=1)
    picks = [ledger.PutIn(one.lines.get().pk, one.lines.get().item_id) for one in (mine, theirs)]
    with pytest.raises(OutOfStep, match=f"is not a line of the tray of {mine.serial}"):
        ledger.put_in(mine.pk, picks)
    assert mine.lines.get().state == "open"


def test_a_line_noted_short_holds_nothing(corner: Corner) -> None:
    tray = corner.put_in(corner.ask(T03=1), T03="T03")
    corner.put_in(tray, T03=None)
    line = tray.lines.get()
    assert (line.state, line.put_in_id, line.lot_id) == ("short", None, None)


# --- closing ---


def test_at_close_what_was_put_in_leaves_the_shelf_and_its_reservation_with_it(
    corner: Corner,
) -> None:
    tray = corner.put_in(corner.ask(T03=2), T03="T03")
    corner.close(tray)
    assert corner.counts("T03") == (4, 0)
    assert movements(tray) == [("reserved", 0, 2), ("released", 0, -2), ("deducted", -2, 0)]


def test_a_tray_is_closed_once_and_stock_goes_down_once(corner: Corner) -> None:
    tray = corner.put_in(corner.ask(T03=2), T03="T03")
    corner.close(tray)
    with pytest.raises(OutOfStep, match="is closed already; stock went down then"):
        corner.close(tray)
    assert corner.counts("T03") == (4, 0)


def test_a_closed_tray_says_who_closed_it_and_when(corner: Corner) -> None:
    tray = corner.close(corner.put_in(corner.ask(T03=1), T03="T03"))
    assert (tray.closed_by_id, tray.closed_at) == (corner.clerk, NOW)


def test_a_tray_with_lines_to_pick_is_not_closed_and_they_are_named(corner: Corner) -> None:
    tray = corner.put_in(corner.ask(T03=1, P04=1), T03="T03")
    with pytest.raises(OutOfStep, match=r"Still to pick: P04\."):
        corner.close(tray)


def test_a_short_line_gives_its_reservation_back_and_deducts_nothing(corner: Corner) -> None:
    tray = corner.put_in(corner.ask(T03=2), T03=None)
    corner.close(tray)
    assert corner.counts("T03") == (6, 0)


def test_what_was_really_put_in_is_deducted_and_not_what_was_wanted(corner: Corner) -> None:
    tray = corner.put_in(corner.ask(T03=2), T03="T10")
    corner.close(tray)
    assert (corner.counts("T03"), corner.counts("T10")) == ((6, 0), (4, 0))


def test_pieces_reserved_for_others_are_not_taken_and_the_counts_are_told(
    corner: Corner,
) -> None:
    tray = corner.put_in(corner.ask(T03=2), T03="T10")
    corner.ask(T10=5)
    with pytest.raises(OutOfStep, match="6 on hand, 5 reserved for others, 2 wanted"):
        corner.close(tray)
    assert corner.counts("T03") == (6, 2)


def test_an_item_that_no_bin_can_give_stops_the_close(corner: Corner) -> None:
    tray = corner.put_in(corner.ask(T03=1), T03=None)
    corner.ask(T10=6)
    corner.put_in(tray, T03="T10")
    with pytest.raises(OutOfStep, match="No bin holds 1 of T10"):
        corner.close(tray)


def test_what_one_line_kept_may_fill_another_line_of_the_same_tray(corner: Corner) -> None:
    """All six T10 are kept by this tray's own second line, which was then noted short."""
    tray = corner.ask(T03=6, T10=6)
    corner.put_in(tray, T10=None)
    line = tray.lines.get(item__key="T03")
    line.state, line.put_in_id, line.lot = "taken", corner.items["T10"], corner.lot("T10")
    line.save()
    Tray.objects.filter(pk=tray.pk).update(state="picked")
    assert shelf.not_covered(tray.pk) == []
    corner.close(tray)
    assert corner.counts("T10") == (0, 0)


def test_two_lines_filled_from_one_lot_are_counted_together_before_the_close(
    corner: Corner,
) -> None:
    corner.ask(P04=7)  # leaves 3 free of 10
    tray = corner.put_in(corner.ask(T03=2, T10=2), T03="P04", T10="P04")
    assert shelf.not_covered(tray.pk) == [shelf.Bare("P04", 4, 10, 7)]
    with pytest.raises(OutOfStep, match="8 on hand, 7 reserved for others, 2 wanted"):
        corner.close(tray)


def test_receipts_of_one_lot_add_up(corner: Corner) -> None:
    for quantity in (3, 4):
        number = corner.receive("T03", quantity, date(2031, 3, 1), "31-03A")
    assert Lot.objects.get(pk=number).on_hand == 7
    assert shelf.unbalanced() == []


def test_a_count_that_no_movement_explains_is_found(corner: Corner) -> None:
    """The balance check itself can fail."""
    with tampering():
        Lot.objects.filter(pk=corner.lot("T03").pk).update(on_hand=5)
        assert shelf.unbalanced() == ["T03 31-02A in A-03: counts 5/0/0, movements 6/0/0"]


# --- what comes back, and trays given up ---


def set_apart(corner: Corner, key: str = "T03", quantity: int = 1, lot: str = "off Y-1") -> Lot:
    why = "Off Y-1, scrapped: split"
    number = ledger.quarantine(corner.items[key], quantity, lot, why, corner.clerk, NOW)
    return Lot.objects.get(pk=number)


def test_what_comes_off_is_a_held_lot_of_its_own_in_its_items_bin(corner: Corner) -> None:
    own = corner.lot("T03")
    lot = set_apart(corner)
    assert lot.pk != own.pk
    assert (lot.bin_id, lot.code, lot.on_hand, lot.reserved) == (own.bin_id, "off Y-1", 1, 0)
    assert lot.held == "Off Y-1, scrapped: split"
    assert lot.received_on == NOW.date()
    assert shelf.unbalanced() == []


def test_what_comes_off_is_reserved_for_nobody_before_it_is_free(corner: Corner) -> None:
    corner.ask(T03=6)
    lot = set_apart(corner)
    assert corner.ask(T03=1).lines.get().reserved_lot is None
    ledger.free(lot.pk, "Looked at, as new", corner.clerk, NOW)
    assert corner.ask(T03=1).lines.get().reserved_lot == lot


def test_more_that_comes_off_the_same_guitar_lies_with_the_rest(corner: Corner) -> None:
    first, again = set_apart(corner), set_apart(corner, quantity=2)
    assert (first.pk, again.on_hand) == (again.pk, 3)
    assert shelf.unbalanced() == []


def test_an_item_that_never_had_a_bin_is_kept_as_having_none(corner: Corner) -> None:
    bare = book.item_ids(["E03"])["E03"]
    with never_stocked(bare):
        number = ledger.quarantine(bare, 1, "off Y-1", "Scrapped", corner.clerk, NOW)
        assert Lot.objects.get(pk=number).bin.code == "no bin"


def test_a_long_reason_is_cut_and_nothing_is_lost_by_it(corner: Corner) -> None:
    number = ledger.quarantine(corner.items["T03"], 1, "off Y-1", "x" * 300, corner.clerk, NOW)
    assert Lot.objects.get(pk=number).held == "x" * 200
    assert Movement.objects.get(lot_id=number).why == "x" * 120


def test_a_tray_given_up_keeps_nothing_and_holds_nothing(corner: Corner) -> None:
    tray = corner.put_in(corner.ask(T03=2, P04=3), T03="T03", P04=None)
    ledger.give_up_tray(tray.pk, corner.clerk, NOW)
    assert (corner.counts("T03"), corner.counts("P04")) == ((6, 0), (10, 0))
    lines = tray.lines.filter(state="short", put_in=None, lot=None, reserved=0)
    assert lines.count() == tray.lines.count() == 2
    assert corner.deducted(tray) == 0
    assert shelf.unbalanced() == []


def test_a_tray_given_up_is_closed_by_whoever_gave_it_up(corner: Corner) -> None:
    tray = corner.ask(T03=2)
    given = ledger.give_up_tray(tray.pk, corner.clerk, NOW)
    assert (given.state, given.closed_at, given.closed_by_id) == ("closed", NOW, corner.clerk)
    assert given.version == tray.version + 1
    with pytest.raises(OutOfStep, match="closed"):
        corner.put_in(tray, T03="T03")


def test_a_tray_that_is_closed_is_not_given_up(corner: Corner) -> None:
    tray = corner.close(corner.put_in(corner.ask(T03=2), T03="T03"))
    with pytest.raises(OutOfStep, match="is closed already"):
        ledger.give_up_tray(tray.pk, corner.clerk, NOW)
    assert corner.counts("T03") == (4, 0)


def test_a_tray_renamed_to_another_revision_keeps_what_lies_in_it(corner: Corner) -> None:
    tray = corner.put_in(corner.ask(T03=2), T03="T03")
    draft = revising.next_draft(tray.revision)
    ledger.rename_tray(tray.pk, draft.pk)
    after = Tray.objects.get(pk=tray.pk)
    assert (after.revision_id, after.version) == (draft.pk, tray.version + 1)
    assert corner.counts("T03") == (6, 2)
    assert after.lines.get().put_in_id == corner.items["T03"]
