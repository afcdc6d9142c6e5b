"""What trays and benches lack, in the order it is needed; scarce parts shared out.

Serials, orders and deliveries are invented. That the sooner needed goes before the sooner
ordered, and that a delivery counts from noon of its day, is common practice, no source.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop.catalogue import book
from shop.floor import board, door, following
from shop.floor.board import Short
from shop.floor.models import Entry, Instrument
from shop.stock import ledger, shelf
from shop.stock.models import Delivery, Lot, TrayLine
from tests.bench.crowd import add_instruments
from tests.floor.morning import NOW, act, ready_for, rules, step, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

TUESDAY = date(2031, 3, 4)
NEEDED = datetime(2031, 3, 4, 7, 42, tzinfo=UTC)  # N60, where all begins on Tuesday at 07:00


@pytest.fixture(autouse=True)
def _nothing_on_order(morning: None) -> None:
    """Each test says itself what is to come."""
    for delivery in Delivery.objects.filter(ended_why=""):
        ledger.give_up_delivery(delivery.pk, "a test")


def item_id(key: str) -> int:
    return book.item_ids([key])[key]


def expect(key: str, quantity: int, on: date, order: str = "") -> int:
    return ledger.expect(item_id(key), quantity, on, order)


def arrived(serial: str, spec: str = "TARN") -> str:
    """A body and its neck came in three days ago and have rested. Returns the neck's number."""
    neck = serial.replace("Q", "K")
    earlier = act("P-01", "", NOW - timedelta(days=3))
    for deed in (door.PartArrived("body", serial, spec), door.PartArrived("neck", neck, spec)):
        assert door.record(replace(earlier, key=uuid.uuid4()), deed).done
    return neck


def release(serial: str, due: date, reason: str = "", **more: Any) -> door.Outcome:
    """A TARN that has come in is released for Tuesday."""
    order = {"due_on": due, "release_on": TUESDAY} | more
    deed = door.Released(serial, arrived(serial), "TARN", **order)
    return door.record(act("P-01", "", reason=reason), deed)


def found(key: str, serial: str = "", at: datetime = NOW) -> list[Short]:
    rows = (one for one in board.shorts(at) if one.item.key == key)
    return [one for one in rows if serial in ("", one.serial)]


def line(serial: str, key: str) -> TrayLine:
    return TrayLine.objects.get(tray__serial=serial, item__key=key)


def let_go(serial: str, key: str) -> None:
    """What was kept is promised to others, so that the line is short and nothing is free."""
    one = line(serial, key)
    lot, quantity = one.reserved_lot_id, one.reserved
    ledger.let_go([one.pk], None, NOW, "a test")
    assert lot is not None
    ledger.promise(lot, quantity, NOW, "a test")


def no_more(key: str) -> None:
    """All that is free of an item is promised."""
    for lot in Lot.objects.filter(item__key=key, held="", piece=""):
        if free := lot.on_hand - lot.reserved:
            ledger.promise(lot.pk, free, NOW, "a test")


# --- when an operation can start ---


def test_an_instrument_released_tomorrow_begins_with_the_shift() -> None:
    starts = board.needed(["Q-1062"], NOW)["Q-1062"]
    assert starts["N10"] == datetime(2031, 3, 4, 7, tzinfo=UTC)
    assert starts["N60"] == NEEDED


def test_one_on_the_floor_begins_now_and_what_is_done_is_not_told() -> None:
    starts = board.needed(["Q-1043"], NOW)["Q-1043"]
    assert starts["N40"] == NOW
    assert "N10" not in starts


def test_a_clock_that_runs_already_is_waited_for() -> None:
    """F20 of Q-1049 may begin at 11:25."""
    assert board.needed(["Q-1049"], NOW)["Q-1049"]["F20"] == NOW.replace(hour=11, minute=25)


def test_an_instrument_that_is_not_open_is_left_out() -> None:
    assert board.needed(["Q-9999"], NOW) == {}


# --- shorts ---


def test_eight_free_of_nine_wanted_leave_the_one_due_last_short() -> None:
    """T01: 14 on hand, 6 reserved. Nine more trays want a set each; the next come on Tuesday."""
    lot = Lot.objects.get(item__key="T01")
    assert (lot.on_hand, lot.reserved) == (14, 6)
    before = {one.serial for one in board.shorts(NOW)}
    delivery = expect("T01", 20, TUESDAY, "C-77")
    for n in range(9):
        due = date(2031, 3, 20) + timedelta(days=n)
        assert release(f"Q-{2000 + n}", due, "" if n < 8 else "The rest follows").done
    (short,) = found("T01")
    assert short.serial == "Q-2008"
    assert short.serial not in before
    assert (short.operation, short.needed_at) == ("N60", NEEDED)
    assert (short.quantity, short.due_on) == (1, date(2031, 3, 28))
    assert short.receipt == shelf.Coming(delivery, TUESDAY, 20, "C-77")
    assert short.slips == timedelta(hours=4, minutes=18)
    assert short.why == ("Needed Tue 07:42 at N60, next receipt 2031-03-04: slips 1 day.")


def test_shorts_are_told_by_when_they_are_needed() -> None:
    rows = board.shorts(NOW)
    assert [one.needed_at for one in rows] == sorted(one.needed_at for one in rows)
    assert len({one.needed_at for one in rows}) > 2


def test_a_line_the_clerk_marked_short_is_told_though_the_figures_know_of_more() -> None:
    (short,) = found("T02", "Q-1044")
    assert (short.here, short.receipt, short.slips) == (True, None, timedelta())
    assert short.why == "Needed Mon 10:12 at N60, free on the shelf now."


def test_what_is_kept_is_not_short_until_its_lot_is_held() -> None:
    assert found("T01", "Q-1062") == []
    ledger.hold(Lot.objects.get(item__key="T01").pk, "Spotted", act("P-41").by_id, NOW)
    (short,) = found("T01", "Q-1062")
    assert short.why.startswith("Needed Tue 07:42 at N60, nothing more on order. ")
    assert "Spotted" in short.why


def test_what_an_operation_that_is_done_would_have_used_is_wanted_no_more() -> None:
    let_go("Q-1062", "T01")
    assert len(found("T01")) == 1
    TrayLine.objects.filter(tray__serial="Q-1062", item__key="T01").update(used_at="N10")
    later = NOW + timedelta(days=1)
    ready_for("Q-1062", "N10", at=later)
    assert step("Q-1062", "N10", at=later).done
    assert found("T01", at=later) == []


def test_a_line_that_says_no_operation_is_needed_on_the_release_day() -> None:
    let_go("Q-1062", "T01")
    TrayLine.objects.filter(tray__serial="Q-1062", item__key="T01").update(used_at="")
    (short,) = found("T01")
    assert short.needed_at == datetime(2031, 3, 4, 7, tzinfo=UTC)


def test_a_receipt_is_spoken_for_by_the_one_that_needs_it_first() -> None:
    for serial in ("Q-1062", "Q-1063"):
        let_go(serial, "T01")
    no_more("T01")
    expect("T01", 1, date(2031, 3, 6))
    expect("T01", 1, date(2031, 3, 10))
    assert [(one.serial, one.receipt and one.receipt.due_on, one.days) for one in found("T01")] == [
        ("Q-1062", date(2031, 3, 6), 2),
        ("Q-1063", date(2031, 3, 10), 6),
    ]


def test_two_small_receipts_cover_a_line_once_the_second_is_there() -> None:
    let_go("Q-1062", "P01")
    no_more("P01")
    wanted = line("Q-1062", "P01").quantity
    if wanted == 1:
        TrayLine.objects.filter(tray__serial="Q-1062", item__key="P01").update(quantity=2)
    expect("P01", 1, date(2031, 3, 6))
    expect("P01", 40, date(2031, 3, 10))
    (short,) = found("P01")
    assert short.receipt is not None
    assert short.receipt.due_on == date(2031, 3, 10)


def test_a_receipt_before_it_is_needed_makes_nothing_slip() -> None:
    let_go("Q-1062", "T01")
    expect("T01", 5, date(2031, 3, 3))
    (short,) = found("T01")
    assert (short.slips, short.days, short.slip_words) == (timedelta(), 0, "in time")


def test_what_goes_to_the_bench_by_batch_is_told_where_too_few_are_free() -> None:
    """C01: 12 cases on hand, 7 promised. Whoever needs one first takes of the 5 that are free."""
    rows = found("C01")
    assert {one.line_id for one in rows} == {0}
    assert {one.operation for one in rows} == {"I20"}
    wanting = [
        one for one in board.all_open()
        if "I20" not in one.done_codes
        and any(it.article.key == "C01" for it in one.kit)
    ]  # fmt: skip
    assert len(rows) == len(wanting) - 5
    ledger.receive(item_id("C01"), "C-01", "31-10", len(rows), date(2031, 3, 3), NOW)
    assert found("C01") == []


EVERYONE = [*(f"Q-{n}" for n in range(20000, 20040)), "Q-1062"]
QUESTIONS: dict[str, Callable[[], Any]] = {
    "needed": lambda: board.needed(EVERYONE, NOW),
    "shorts": lambda: board.shorts(NOW),
    "sharing": lambda: board.sharing(NOW),
}


@pytest.mark.parametrize("question", QUESTIONS)
def test_the_floor_is_asked_in_the_same_few_statements_for_any_number(question: str) -> None:
    let_go("Q-1062", "T01")
    QUESTIONS[question]()  # the sheets of all specs are kept from here on
    with CaptureQueriesContext(connection) as few:
        before = QUESTIONS[question]()
    add_instruments(40)
    with CaptureQueriesContext(connection) as many:
        after = QUESTIONS[question]()
    assert after != before
    assert len(many) == len(few)


# --- sharing out ---


def change(sharing: board.Sharing, key: str, serial: str) -> str:
    item = next(one for one in sharing.items if one.article.key == key)
    return next(one.change for one in item.given if one.serial == serial)


def one_left() -> None:
    """Q-1062 and Q-1063 want a T01 and a N01 each at the same hours, and one of either is left:
    the T01 is kept for Q-1063, the N01 for Q-1062. More comes too late."""
    for key in ("T01", "N01"):
        no_more(key)
    let_go("Q-1062", "T01")
    let_go("Q-1063", "N01")
    expect("T01", 5, date(2031, 3, 7))
    expect("N01", 5, date(2031, 3, 12))


def test_one_guitar_gets_both_parts_where_two_would_each_wait_for_one() -> None:
    one_left()
    proposal = board.sharing(NOW)
    assert change(proposal, "T01", "Q-1062") == "gains"
    assert change(proposal, "T01", "Q-1063") == "loses"
    assert change(proposal, "N01", "Q-1063") == "waits"
    lost = next(
        one for item in proposal.items for one in item.of("loses") if item.article.key == "T01"
    )
    assert lost.shared.why.endswith("Giving it to Q-1063 would make Q-1062 late.")
    assert (lost.short.receipt and lost.short.receipt.due_on, lost.short.days) == (
        date(2031, 3, 7),
        3,
    )


def share(mark: str, reason: str = "") -> door.Outcome:
    return door.record(act("P-01", "", reason=reason), door.PartsShared(mark))


def test_a_proposal_that_is_accepted_moves_what_is_kept_and_each_journal_says_so() -> None:
    one_left()
    before = Lot.objects.get(item__key="T01").reserved
    assert share(board.sharing(NOW).mark).done
    assert line("Q-1062", "T01").reserved == 1
    assert line("Q-1063", "T01").reserved == 0
    assert Lot.objects.get(item__key="T01").reserved == before
    lost = Entry.objects.get(kind="kit short", subject="Q-1063")
    assert lost.data["got_by"] == "Q-1062"
    assert lost.data["needed_at"] == NEEDED.isoformat(timespec="minutes")
    assert (lost.data["receipt"], lost.data["days"]) == ("2031-03-07", 3)
    assert Entry.objects.filter(kind="kit covered", subject="Q-1062").count() == 1
    assert shelf.unbalanced() == []
    assert following.differences()[1] == []


def test_who_lost_it_is_told_until_it_is_covered_again() -> None:
    one_left()
    share(board.sharing(NOW).mark)
    (short,) = found("T01", "Q-1063")
    assert short.lost_to == "Q-1062"
    assert short.why == (
        "Lost its T01 to Q-1062, needed Tue 07:42 at N60, next receipt 2031-03-07: slips 3 days."
    )
    ledger.receive(item_id("T01"), "A-01", "31-10", 1, date(2031, 3, 3), NOW)
    assert ledger.reserve_lines([short.line_id], None, NOW) == (short.line_id,)
    assert found("T01", "Q-1063") == []


def test_once_it_is_shared_out_nothing_more_is_proposed() -> None:
    one_left()
    share(board.sharing(NOW).mark)
    proposal = board.sharing(NOW)
    assert proposal.moves == ()
    assert rules(share(proposal.mark)) == ["shared out"]


def test_a_proposal_that_stands_no_more_moves_nothing() -> None:
    one_left()
    mark = board.sharing(NOW).mark
    ledger.receive(item_id("N01"), "A-01", "31-10", 1, date(2031, 3, 3), NOW)
    outcome = share(mark)
    assert words(outcome) == "Stock, trays or dates changed since you looked."
    assert line("Q-1063", "T01").reserved == 1
    assert not Entry.objects.filter(kind="kit short").exists()


def test_what_lies_in_a_tray_already_is_not_shared_out() -> None:
    one_left()
    mine = line("Q-1063", "T01")
    ledger.put_in(mine.tray_id, [ledger.PutIn(mine.pk, mine.item_id, 3, 3)])
    assert change(board.sharing(NOW), "T01", "Q-1062") == "waits"


def test_what_is_free_again_is_given_to_whom_it_serves_without_taking_from_anybody() -> None:
    """Q-1044 was marked short of T02, and two are free."""
    proposal = board.sharing(NOW)
    assert change(proposal, "T02", "Q-1044") == "gains"
    assert not any(item.of("loses") for item in proposal.items)
    assert share(proposal.mark).done
    mine = line("Q-1044", "T02")
    assert (mine.state, mine.reserved) == ("open", 1)
    tray = shelf.tray(mine.tray_id)
    assert tray is not None
    assert tray["state"] == "asked"
    assert found("T02") == []


# --- the ledger beneath ---


def test_lines_are_kept_for_only_where_enough_is_free() -> None:
    no_more("T01")
    let_go("Q-1062", "T01")
    assert ledger.reserve_lines([line("Q-1062", "T01").pk], None, NOW) == ()
    assert line("Q-1062", "T01").reserved == 0


def test_what_cannot_be_shared_so_leaves_all_as_it_was() -> None:
    no_more("T01")
    mine, other = line("Q-1062", "T01"), line("Q-1063", "T01")
    assert mine.reserved_lot_id is not None
    kept = [
        ledger.KeptFor(other.pk, None),
        ledger.KeptFor(line("Q-1062", "N01").pk, mine.reserved_lot_id),
    ]
    with pytest.raises(ledger.OutOfStep, match="is another by now"):
        ledger.share(kept, None, NOW, "a test")
    other.refresh_from_db()
    assert other.reserved == 1
    assert shelf.unbalanced() == []


def test_nothing_is_kept_out_of_a_lot_that_is_held_or_too_small() -> None:
    mine = line("Q-1062", "T01")
    lot = mine.reserved_lot_id
    assert lot is not None
    let_go("Q-1062", "T01")
    no_more("T01")
    with pytest.raises(ledger.OutOfStep, match="0 free, 1 wanted for Q-1062"):
        ledger.share([ledger.KeptFor(mine.pk, lot)], None, NOW, "a test")
    ledger.hold(lot, "Spotted", act("P-41").by_id, NOW)
    with pytest.raises(ledger.OutOfStep, match="Share out again"):
        ledger.share([ledger.KeptFor(mine.pk, lot)], None, NOW, "a test")


def test_a_line_in_its_tray_is_neither_kept_for_nor_shared() -> None:
    mine = line("Q-1062", "T01")
    ledger.put_in(mine.tray_id, [ledger.PutIn(mine.pk, mine.item_id, 3, 3)])
    with pytest.raises(ledger.OutOfStep, match="lies in the tray of Q-1062 already"):
        ledger.reserve_lines([mine.pk], None, NOW)
    with pytest.raises(ledger.OutOfStep, match="not here any more"):
        ledger.reserve_lines([0], None, NOW)


# --- an urgent order ---


def test_an_urgent_order_takes_what_is_not_free_from_the_one_due_last() -> None:
    assert release("Q-2001", date(2031, 3, 25)).done
    no_more("T01")
    expect("T01", 5, date(2031, 3, 7))
    outcome = urgent()
    assert outcome.done, words(outcome)
    assert rules(outcome) == ["taken"]
    assert words(outcome) == (
        "T01 is taken from Q-2001: due 2031-03-25, needed there Tue 2031-03-04 07:42 at N60, "
        "next receipt 2031-03-07: slips 3 days."
    )
    assert line("Q-2001", "T01").reserved == 0
    assert line("Q-3000", "T01").reserved == 1
    assert line("Q-1062", "T01").reserved == 1
    assert shelf.unbalanced() == []


def urgent(due: date = date(2031, 3, 10)) -> door.Outcome:
    return release("Q-3000", due, urgent=True)


def test_the_one_that_loses_it_has_both_dates_in_its_journal_and_on_the_list() -> None:
    no_more("T01")
    expect("T01", 5, date(2031, 3, 7))
    assert urgent().done
    row = Entry.objects.get(kind="kit short")
    assert row.subject == "Q-1063"  # due the same day as Q-1062: the later serial
    assert row.data["got_by"] == "urgent Q-3000"
    assert (row.data["operation"], row.data["receipt"]) == ("N60", "2031-03-07")
    (short,) = found("T01")
    assert short.why.startswith("Lost its T01 to urgent Q-3000, needed Tue 07:42 at N60, ")
    assert short.why.endswith("next receipt 2031-03-07: slips 3 days.")
    assert following.differences()[1] == []


def test_an_urgent_order_takes_nothing_where_enough_is_free() -> None:
    outcome = urgent()
    assert rules(outcome) == []
    assert not Entry.objects.filter(kind="kit short").exists()


def test_an_urgent_order_takes_from_nobody_urgent_nor_out_of_a_tray() -> None:
    """Only Q-1062 has a T01 that could be had; it is in its tray. Q-1063 becomes urgent."""
    no_more("T01")
    mine = line("Q-1062", "T01")
    ledger.put_in(mine.tray_id, [ledger.PutIn(mine.pk, mine.item_id, 3, 3)])
    Instrument.objects.filter(body__serial="Q-1063").update(urgent=True)
    outcome = urgent()
    assert (outcome.result, rules(outcome)) == ("refused", ["short"])
    assert line("Q-1063", "T01").reserved == 1


def test_an_order_that_is_not_urgent_takes_from_nobody() -> None:
    no_more("T01")
    outcome = release("Q-3000", date(2031, 3, 10))
    assert (outcome.result, rules(outcome)) == ("refused", ["short"])


def test_a_refused_urgent_order_takes_nothing() -> None:
    no_more("T01")
    assert urgent(date(2031, 3, 1)).result == "refused"
    assert line("Q-1063", "T01").reserved == 1


def test_several_give_up_theirs_where_one_is_not_enough() -> None:
    """A TARN takes six pins; as many trays as are needed for that give up theirs."""
    no_more("P01")
    wanted = line("Q-1062", "P01").quantity
    lots = Lot.objects.get(item__key="P01")
    assert urgent().done
    assert line("Q-3000", "P01").reserved == wanted
    assert Lot.objects.get(item__key="P01").reserved == lots.reserved
    assert Entry.objects.filter(kind="kit short", data__item="P01").count() == 1


def test_a_promise_to_nobody_is_said_so() -> None:
    no_more("T01")
    assert words(urgent()).endswith("at N60, nothing more on order.")
