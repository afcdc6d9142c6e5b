"""Bins counted by one, and by two where the first is far off.

Classes, tolerances and the second person: common practice, no source. P04 lies in one lot of
10 that nobody takes of; forty of it are made where a case wants forty.
"""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop.craft.counting import Accuracy
from shop.people.models import Badge
from shop.stock import ledger, shelf
from shop.stock.ledger import Counted, OutOfStep
from shop.stock.models import Lot, LotCount, Movement, StockRule, Tray, TrayLine
from tests.floor.morning import NOW
from tests.stock.corner import Corner

pytestmark = pytest.mark.django_db

TODAY = NOW.date()
WHY = "Taken without a tray"
EARLY, LATE = date(2031, 3, 4), date(2031, 3, 11)


@pytest.fixture
def lead() -> int:
    return Badge.objects.get(code="P-01").pk


def keep(corner: Corner, key: str = "P04", **said: Any) -> None:
    ledger.keep_rule(corner.items[key], **said)


def count(corner: Corner, counted: int, key: str = "P04") -> Counted:
    return ledger.count(corner.lot(key).pk, counted, corner.clerk, NOW)


def second(found: Counted, counted: int, by: int, why: str = WHY) -> Counted:
    return ledger.second_count(found.id, counted, by, NOW, why)


def forty(corner: Corner) -> None:
    """Forty of P04, within 2 %."""
    lot = corner.lot("P04")
    ledger.receive(lot.item_id, lot.bin.code, lot.code, 30, lot.received_on, NOW)
    keep(corner, cls="A", tolerance_pct=None)


def ask(corner: Corner, wanted_on: date, quantity: int = 2, urgent: bool = False) -> Tray:
    asks = [ledger.Ask(corner.items["P04"], quantity)]
    serial = f"Y-{wanted_on:%m%d}{'u' if urgent else ''}{Tray.objects.count()}"
    return ledger.ask_tray(serial, corner.revision, wanted_on, asks, corner.clerk, NOW, urgent)


def kept(tray: Tray) -> int:
    return TrayLine.objects.get(tray=tray).reserved


def adjusted(key: str = "P04") -> list[tuple[int, str]]:
    rows = Movement.objects.filter(lot__item__key=key, kind="adjusted")
    return list(rows.values_list("on_hand", "why"))


# --- one count ---


def test_a_count_as_by_the_figures_moves_nothing(corner: Corner) -> None:
    found = count(corner, 10)
    assert (found.ended, found.judged.difference, found.short) == ("agreed", 0, ())
    row = LotCount.objects.get(pk=found.id)
    assert (row.expected, row.counted, row.by_id, row.at) == (10, 10, corner.clerk, NOW)
    assert adjusted() == []


@pytest.mark.parametrize(("counted", "off"), [(39, -1), (41, 1)])
def test_a_count_within_its_tolerance_is_taken_over_at_once(
    corner: Corner, counted: int, off: int
) -> None:
    forty(corner)
    keep(corner, tolerance_pct=Decimal("2.5"))
    found = count(corner, counted)
    assert (found.ended, found.judged.within) == ("adjusted", True)
    assert corner.counts("P04") == (counted, 0)
    assert adjusted() == [(off, "within tolerance")]
    assert shelf.unbalanced() == []


def test_thirty_seven_of_forty_ask_for_a_second_person_and_move_nothing_yet(
    corner: Corner,
) -> None:
    forty(corner)
    found = count(corner, 37)
    assert (found.ended, found.judged.pct, found.judged.within) == ("", Decimal("-7.5"), False)
    assert corner.counts("P04") == (40, 0)


def test_thirty_seven_again_is_taken_over_with_the_reason(corner: Corner, lead: int) -> None:
    forty(corner)
    found = second(count(corner, 37), 37, lead)
    assert found.ended == "adjusted"
    assert corner.counts("P04") == (37, 0)
    assert adjusted() == [(-3, WHY)]
    row = LotCount.objects.get(pk=found.id)
    told = (row.second, row.second_by_id, row.second_at, row.ended, row.why)
    assert told == (37, lead, NOW, "adjusted", WHY)
    assert shelf.unbalanced() == []


@pytest.mark.parametrize("other", [38, 40, 0])
def test_another_second_number_moves_nothing_and_both_count_again(
    corner: Corner, lead: int, other: int
) -> None:
    forty(corner)
    assert second(count(corner, 37), other, lead).ended == "apart"
    assert corner.counts("P04") == (40, 0)
    assert adjusted() == []
    assert count(corner, 40).ended == "agreed"


def test_the_second_person_is_never_the_first(corner: Corner, lead: int) -> None:
    forty(corner)
    found = count(corner, 37)
    with pytest.raises(OutOfStep, match="You counted C-14 first"):
        second(found, 37, corner.clerk)
    assert LotCount.objects.get(pk=found.id).second is None
    assert second(found, 37, lead).ended == "adjusted"


def test_what_two_people_counted_alike_is_not_taken_over_without_a_reason(
    corner: Corner, lead: int
) -> None:
    forty(corner)
    found = count(corner, 37)
    with pytest.raises(OutOfStep, match="Say why the figures were off"):
        second(found, 37, lead, why=" ")
    assert corner.counts("P04") == (40, 0)
    assert LotCount.objects.get(pk=found.id).ended == ""


def test_a_lot_that_waits_for_its_second_count_takes_no_first_one(corner: Corner) -> None:
    forty(corner)
    count(corner, 37)
    with pytest.raises(OutOfStep, match="C-14 waits for a second count"):
        count(corner, 40)
    assert LotCount.objects.count() == counts_of_the_demo() + 1


def counts_of_the_demo() -> int:
    return LotCount.objects.filter(at__lt=NOW - timedelta(days=1)).count()


@pytest.mark.parametrize("counted", [10, 9])
def test_the_same_count_come_twice_is_given_back(corner: Corner, counted: int) -> None:
    """Once as by the figures, once waiting for another person."""
    lot = corner.lot("P04").pk
    bin_ = shelf.bin_to_count(lot)
    assert bin_ is not None
    first, again = (
        ledger.count(lot, counted, corner.clerk, NOW, after=bin_.after) for _ in range(2)
    )
    assert again == first
    assert LotCount.objects.filter(lot=lot, pk__gt=bin_.after).count() == 1


def test_another_number_or_another_person_is_no_count_come_twice(corner: Corner, lead: int) -> None:
    lot = corner.lot("P04").pk
    first = ledger.count(lot, 10, corner.clerk, NOW, after=0)
    other = ledger.count(lot, 10, lead, NOW, after=0)
    newer = ledger.count(lot, 10, corner.clerk, NOW, after=other.id)
    assert len({first.id, other.id, newer.id}) == 3
    assert ledger.count(lot, 9, corner.clerk, NOW, after=0).id > newer.id


def test_a_count_taken_over_come_twice_moves_the_figures_once(corner: Corner) -> None:
    forty(corner)
    keep(corner, tolerance_pct=Decimal("2.5"))
    lot = corner.lot("P04").pk
    first, again = (ledger.count(lot, 39, corner.clerk, NOW, after=0) for _ in range(2))
    assert again == first
    assert corner.counts("P04") == (39, 0)


def test_a_count_that_has_ended_takes_no_second(corner: Corner, lead: int) -> None:
    forty(corner)
    found = second(count(corner, 37), 37, lead)
    with pytest.raises(OutOfStep, match="counted twice already"):
        second(found, 37, lead)
    with pytest.raises(OutOfStep, match="This count is not here"):
        ledger.second_count(0, 3, lead, NOW, WHY)
    assert corner.counts("P04") == (37, 0)


def test_what_leaves_the_bin_between_two_counts_is_no_difference(corner: Corner, lead: int) -> None:
    """37 of 40; two go out in a tray; 35 of 38 is the same three too few."""
    forty(corner)
    found = count(corner, 37)
    tray = ask(corner, EARLY)
    corner.put_in(tray, P04="P04")
    corner.close(tray)
    assert second(found, 35, lead).ended == "adjusted"
    assert corner.counts("P04") == (35, 0)
    assert adjusted() == [(-3, WHY)]


@pytest.mark.parametrize("counted", [-1, 100_000])
def test_a_number_that_cannot_be_is_told_and_not_kept(corner: Corner, counted: int) -> None:
    before = LotCount.objects.count()
    with pytest.raises(OutOfStep, match=f"{counted} pieces cannot lie in C-14. Count again."):
        count(corner, counted)
    assert LotCount.objects.count() == before


def test_a_dear_set_of_machines_is_right_or_wrong(corner: Corner) -> None:
    keep(corner, "T03", cls="A")
    assert count(corner, 5, "T03").ended == ""


# --- trays ---


def test_what_lies_in_a_tray_not_closed_is_counted_with_the_bin(corner: Corner) -> None:
    tray = ask(corner, EARLY)
    corner.put_in(tray, P04="P04")
    [told] = shelf.in_open_trays([corner.lot("P04").pk])[corner.lot("P04").pk]
    assert (told.serial, told.quantity) == (tray.serial, 2)
    with pytest.raises(OutOfStep, match=f"hold more: 2 in that of {tray.serial}. Count them"):
        count(corner, 1)
    assert count(corner, 10).ended == "agreed"
    corner.close(tray)
    assert count(corner, 8).ended == "agreed"


def test_fewer_than_are_kept_give_up_the_latest_release_first(corner: Corner, lead: int) -> None:
    """10 are counted as 7: of 2, 2 and 4 kept, the latest tray's 4 are given up."""
    early, late, middle = ask(corner, EARLY), ask(corner, LATE, 4), ask(corner, date(2031, 3, 6))
    found = second(count(corner, 7), 7, lead)
    assert found.short == (late.serial,)
    assert [kept(one) for one in (early, middle, late)] == [2, 2, 0]
    assert corner.counts("P04") == (7, 4)
    assert shelf.unbalanced() == []


def test_an_urgent_tray_keeps_its_own_before_an_earlier_one_that_is_not(
    corner: Corner, lead: int
) -> None:
    urgent, early = ask(corner, LATE, 4, urgent=True), ask(corner, EARLY, 4)
    found = second(count(corner, 5), 5, lead)
    assert (found.short, kept(urgent), kept(early)) == ((early.serial,), 4, 0)


def test_only_as_much_is_given_up_as_is_missing(corner: Corner, lead: int) -> None:
    trays = [ask(corner, EARLY + timedelta(days=more)) for more in range(3)]
    found = second(count(corner, 5), 5, lead)
    assert found.short == (trays[2].serial,)
    assert corner.counts("P04") == (5, 4)


def test_promises_are_given_up_after_the_trays(corner: Corner, lead: int) -> None:
    lot, tray = corner.lot("P04").pk, ask(corner, EARLY)
    ledger.promise(lot, 5, NOW, "promised")
    found = second(count(corner, 6), 6, lead)
    assert (found.short, corner.counts("P04")) == ((tray.serial,), (6, 5))
    found = second(count(corner, 4), 4, lead)
    assert (found.short, corner.counts("P04")) == ((), (4, 4))
    assert shelf.unbalanced() == []


def test_what_lies_in_an_open_tray_is_never_given_up(corner: Corner, lead: int) -> None:
    picked, waiting = ask(corner, LATE, 4), ask(corner, EARLY, 4)
    corner.put_in(picked, P04="P04")
    found = second(count(corner, 4), 4, lead)
    assert (found.short, kept(picked), kept(waiting)) == ((waiting.serial,), 4, 0)
    corner.close(picked)
    assert corner.counts("P04") == (0, 0)


def test_what_is_kept_for_a_tray_filled_out_of_another_lot_is_given_up_first(
    corner: Corner, lead: int
) -> None:
    filled, waiting = ask(corner, EARLY, 4), ask(corner, LATE, 4)
    other = corner.receive("P04", 4, date(2031, 1, 1), "older")
    line = TrayLine.objects.get(tray=filled)
    ledger.put_in(filled.pk, [ledger.PutIn(line.pk, corner.items["P04"], None, None, other)])
    first = Lot.objects.exclude(pk=other).get(item__key="P04")
    found = ledger.count(first.pk, 4, corner.clerk, NOW)
    assert second(found, 4, lead).short == ()
    assert (kept(filled), kept(waiting)) == (0, 4)
    corner.close(filled)
    assert shelf.unbalanced() == []


# --- what is due ---


def due(today: date = TODAY) -> dict[str, str]:
    return {one.key: one.cls for one in shelf.to_count(today) if one.count_id is None}


def test_a_bin_is_due_when_its_interval_is_over_and_again_after_it(corner: Corner) -> None:
    keep(corner, cls="A")
    count(corner, 10)
    assert "P04" not in due(TODAY + timedelta(days=13))
    assert due(TODAY + timedelta(days=14))["P04"] == "A"
    keep(corner, count_every_days=3)
    assert "P04" in due(TODAY + timedelta(days=3))


def test_a_bin_never_counted_is_due_at_once(corner: Corner) -> None:
    corner.receive("P04", 4, TODAY, "new")
    [found] = [one for one in shelf.to_count(TODAY) if one.code == "new"]
    assert (found.bin, found.last) == ("Y-01", None)


def test_counts_that_ended_apart_leave_the_bin_due(corner: Corner, lead: int) -> None:
    corner.receive("P04", 4, TODAY, "new")
    new = Lot.objects.get(item__key="P04", code="new")
    second(ledger.count(new.pk, 1, corner.clerk, NOW), 2, lead)
    assert "new" in {one.code for one in shelf.to_count(TODAY)}


def test_second_counts_come_first_then_class_a_then_bin_by_bin(corner: Corner) -> None:
    for key, cls in (("T03", "C"), ("T10", "A"), ("P04", "C")):
        keep(corner, key, cls=cls, count_every_days=0)
    count(corner, 7)
    found = shelf.to_count(TODAY)
    assert (found[0].key, found[0].counted_by) == ("P04", "P-41")
    classes = [one.cls for one in found[1:]]
    assert classes == sorted(classes)
    keys = [one.key for one in found]
    assert keys.index("T10") < keys.index("T03")
    bins = [one.bin for one in found[1:] if one.cls == "A"]
    assert bins == sorted(bins)
    assert shelf.counts_due(TODAY) == len(found)


def test_an_empty_lot_is_not_due_unless_it_waits_for_a_second_count(
    corner: Corner, lead: int
) -> None:
    keep(corner, count_every_days=0)
    found = count(corner, 0)
    assert "P04" in {one.key for one in shelf.to_count(TODAY)}
    second(found, 0, lead)
    assert "P04" not in {one.key for one in shelf.to_count(TODAY)}


def test_whoever_counts_is_not_told_the_figures(corner: Corner) -> None:
    seen = shelf.bin_to_count(corner.lot("P04").pk)
    assert seen is not None
    told = {*shelf.BinToCount.__dataclass_fields__} | {*shelf.ToCount.__dataclass_fields__}
    assert told.isdisjoint({"on_hand", "reserved", "expected", "counted"})
    assert (seen.bin, seen.article.key, seen.count_id) == ("C-14", "P04", None)
    assert shelf.bin_to_count(0) is None


@pytest.mark.parametrize("more", [5, 40])
def test_the_list_to_count_takes_two_statements_for_any_number_of_lots(
    corner: Corner, more: int
) -> None:
    for number in range(more):
        corner.receive("P04", 4, TODAY, f"lot {number}")
    with CaptureQueriesContext(connection) as asked:
        assert len(shelf.to_count(TODAY)) >= more
    assert len(asked) == 2


# --- looking back ---


def test_accuracy_is_lines_within_over_lines_and_leaves_out_what_came_apart(
    corner: Corner, lead: int
) -> None:
    for key in ("P04", "T03", "T10"):
        keep(corner, key, cls="C")
    count(corner, 10)
    count(corner, 6, "T03")
    second(count(corner, 4, "T10"), 4, lead)
    assert shelf.count_accuracy(NOW) == Accuracy(2, 3)
    second(count(corner, 7), 8, lead)
    assert shelf.count_accuracy(NOW) == Accuracy(2, 3)
    count(corner, 7)
    assert shelf.count_accuracy(NOW) == Accuracy(2, 4)
    assert shelf.count_accuracy(NOW + timedelta(seconds=1)).lines == 0


def test_a_count_that_waits_for_its_second_number_is_not_told(corner: Corner, lead: int) -> None:
    found = count(corner, 7)
    assert [one.key for one in shelf.counts_done(NOW)] == []
    second(found, 7, lead)
    [told] = shelf.counts_done(NOW)
    assert (told.bin, told.by, told.second, told.second_by) == ("C-14", "P-41", 7, "P-01")
    assert (told.ended, told.why, told.judged.difference) == ("adjusted", WHY, -3)


@pytest.mark.parametrize("more", [5, 40])
def test_looking_back_takes_one_statement_for_any_number_of_counts(
    corner: Corner, more: int
) -> None:
    for _ in range(more):
        count(corner, 10)
    for ask_for in (shelf.counts_done, shelf.count_accuracy):
        with CaptureQueriesContext(connection) as asked:
            ask_for(NOW)
        assert len(asked) == 1


def test_an_item_nothing_is_told_of_is_counted_as_class_c(corner: Corner) -> None:
    StockRule.objects.filter(item_id=corner.items["P04"]).delete()
    count(corner, 10)
    assert "P04" not in due(TODAY + timedelta(days=179))
    assert due(TODAY + timedelta(days=180))["P04"] == "C"
