"""The tray at the bench and at the kitting desk: whose it is, what lies in it, stock once."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop.catalogue import book, revising
from shop.catalogue.models import Item, SpecRevision
from shop.craft.finding import Severity
from shop.craft.start import Rework
from shop.floor import board, course, door
from shop.floor.models import Entry, Instrument
from shop.stock import ledger, shelf
from shop.stock.models import Lot, Movement, Tray, TrayLine
from tests.floor.morning import (
    NOW,
    act,
    check_lines,
    check_tray,
    now,
    pick,
    put,
    ready_for,
    rules,
    step,
    words,
)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

TUESDAY = NOW.date() + timedelta(days=1)
FRIDAY = NOW.date() + timedelta(days=4)
CLEAN = ["Q-1037", "Q-1038", "Q-1040", "Q-1041", "Q-1043", "Q-1049", "Q-1050", "Q-1055", "Q-1061"]


def close(tray_id: int, reason: str = "") -> door.Outcome:
    return door.record(act("P-41", "K", reason=reason), door.TrayClosed(tray_id))


def comes(key: str, due_on: date, quantity: int = 1) -> int:
    """Promise a delivery; its number."""
    return ledger.expect(book.item_ids([key])[key], quantity, due_on)


def on_hand(key: str) -> int:
    return Lot.objects.get(item__key=key).on_hand


@pytest.mark.parametrize("serial", CLEAN)
def test_the_own_tray_of_an_instrument_is_clean(serial: str) -> None:
    outcome = check_tray(serial)
    assert (outcome.result, outcome.findings) == ("recorded", ())


def test_a_tray_of_another_body_is_named_alone_with_both_serials() -> None:
    outcome = check_tray("Q-1043", of="Q-1050")
    assert rules(outcome) == ["tray"]
    assert "is for Q-1050" in words(outcome)
    assert "The body in front of you is Q-1043" in words(outcome)


def test_a_tray_of_the_same_model_is_still_another_bodys() -> None:
    assert rules(check_tray("Q-1043", of="Q-1041")) == ["tray"]


def test_the_wrong_attempt_itself_is_in_the_journal() -> None:
    check_tray("Q-1043", of="Q-1050")
    newest = board.journal(now("Q-1043").id)[0]
    assert (newest["kind"], newest["outcome"]) == ("tray", "refused")
    assert newest["data"]["tray_code"] == now("Q-1050").tray_code


def test_a_code_that_is_on_no_tray_is_told_so() -> None:
    outcome = door.record(act(), door.TrayChecked(now("Q-1043").id, "T000000"))
    assert rules(outcome) == ["tray unknown"]
    assert "No tray here carries T000000." in words(outcome)


def test_a_tray_the_clerk_has_not_closed_goes_back_to_kitting() -> None:
    outcome = check_tray("Q-1062")
    assert rules(outcome) == ["tray open"]
    assert outcome.findings[0].call == "clerk"


def test_machines_miscounted_into_the_wells_are_stopped_with_both_counts() -> None:
    outcome = check_tray("Q-1058")
    assert rules(outcome) == ["R04"]
    assert words(outcome).startswith("7 left and 5 right in the tray.")


def test_a_tray_built_to_another_revision_is_stopped() -> None:
    opened = SpecRevision.objects.get(spec__key="TARN", state="open")
    draft = revising.next_draft(opened)
    Tray.objects.filter(serial="Q-1043").update(revision=draft)
    outcome = check_tray("Q-1043")
    assert rules(outcome) == ["revision"]
    assert "Tray picked to TARN revision 2" in words(outcome)


def test_a_partial_tray_is_passed_with_a_warning_that_stays_with_it() -> None:
    comes("E07", NOW.date())
    assert close(pick("Q-1044", short=("E07",)), "Rest comes at noon").done
    outcome = check_tray("Q-1044")
    assert (outcome.result, outcome.findings[0].rule) == ("recorded", "missing")
    assert {one.severity for one in outcome.findings[1:]} <= {Severity.NOTE}
    assert Instrument.objects.get(body__serial="Q-1044").checked_worst == "warn"


# --- closing ---


def test_a_picked_tray_is_closed_and_its_stock_goes_down() -> None:
    before = on_hand("T01")
    assert close(pick("Q-1062")).result == "recorded"
    assert (now("Q-1062").tray_state, on_hand("T01")) == ("closed", before - 1)
    assert shelf.unbalanced() == []


def test_a_tray_is_closed_once_and_the_second_clerk_is_told() -> None:
    tray = pick("Q-1062")
    close(tray)
    before = on_hand("T01")
    assert rules(close(tray)) == ["tray closed"]
    assert on_hand("T01") == before


def test_a_tray_with_lines_to_pick_is_not_closed_and_they_are_named() -> None:
    outcome = close(now("Q-1062").tray_id)
    assert rules(outcome) == ["tray unpicked"]
    assert "T01" in words(outcome)


def test_a_tray_with_short_lines_is_closed_for_a_reason_only() -> None:
    tray = pick("Q-1062", short=("S01",))
    comes("S01", NOW.date())
    assert (close(tray).result, rules(close(tray))) == ("refused", ["missing"])
    assert close(tray, "Saddles come at noon").result == "recorded"


def with_instead(serial: str, key: str, other: str) -> int:
    """The tray of a serial picked as wanted, but one item taken from another bin."""
    number = pick(serial)
    tray = shelf.tray(number)
    assert tray is not None
    line = next(one for one in tray["lines"] if one["article"].key == key)
    picked = put(line)
    wrong = book.item_ids([other])[other]
    ledger.put_in(
        number, [ledger.PutIn(line["id"], wrong, picked.left_counted, picked.right_counted)]
    )
    return number


@pytest.mark.parametrize(
    ("key", "other", "rule"),
    [("T01", "T02", "R15"), ("T01", "T05", "R05"), ("N01", "N02", "R16"), ("N01", "N05", "R16")],
)
def test_a_tray_with_a_look_alike_in_it_is_not_closed(key: str, other: str, rule: str) -> None:
    outcome = close(with_instead("Q-1062", key, other))
    assert outcome.result == "refused"
    assert rule in rules(outcome)
    assert now("Q-1062").tray_state != "closed"


def test_what_the_figures_say_is_not_there_stops_the_close_with_its_numbers() -> None:
    """All sixteen nuts are kept for others, and yet the clerk found one."""
    lot = Lot.objects.get(item__key="N05")
    ledger.promise(lot.pk, lot.on_hand - lot.reserved, NOW, "orders to come")
    day = NOW.date()
    order = door.Released("Q-1067", "K-2103", "FELL", due_on=day, release_on=day)
    assert door.record(act("P-01", "", reason="Nuts come at noon"), order).done
    outcome = close(pick("Q-1067"))
    assert rules(outcome) == ["count"]
    assert words(outcome) == "N05: 16 on hand, 16 kept for others, 1 put in."


def test_what_stands_against_a_close_is_known_before_anybody_tries() -> None:
    pick("Q-1062", short=("S01",))
    comes("S01", TUESDAY)
    assert [one.rule for one in board.tray_outlook("Q-1062")] == ["missing"]


def test_a_close_is_in_the_instruments_journal() -> None:
    tray = pick("Q-1062")
    close(tray)
    row = Entry.objects.filter(subject="Q-1062", kind="tray close").get()
    assert (row.by.code, row.station, row.at) == ("P-41", "K", NOW)


# --- a tray that lacks something ---


def test_a_tray_lacking_what_nobody_promised_is_not_closed_whatever_the_reason() -> None:
    outcome = close(pick("Q-1062", short=("P01",)), "It comes")
    assert (outcome.result, rules(outcome)) == ("refused", ["partial", "missing"])
    assert words(outcome).startswith("P01 ")
    assert "at A30, and no date is promised." in words(outcome)
    assert now("Q-1062").tray_state == "picked"


def test_the_demos_gold_set_is_used_before_anybody_could_bring_it() -> None:
    """T02 of Q-1044 is wanted at N60: 2, 4 and 6 min for N10 to N30, then the oil's half hour,
    so at 10:12. A delivery at noon comes too late."""
    comes("T02", NOW.date())
    check_lines(now("Q-1044").tray_id)
    [told] = [one for one in close(now("Q-1044").tray_id, "so").findings if one.rule == "partial"]
    assert "needed Mon 10:12 at N60, promised Mon 12:00: it comes too late." in told.words


def test_what_is_used_in_the_next_two_operations_is_not_left_out_though_it_is_promised() -> None:
    """With N10 to N40 done, N50 and N60 come next; T01 is used at N60."""
    close(pick("Q-1062"))
    for code in ("N10", "N20", "N30", "N40"):
        ready_for("Q-1062", code)
        assert step("Q-1062", code).done
    again(now("Q-1062").tray_id)
    comes("T01", NOW.date())
    told = words(close(pick("Q-1062", short=("T01",)), "so"))
    assert "at N60. The next 2 operations: N50 and N60." in told


def setup_day(serial: str) -> date:
    """The day A30 starts at the earliest."""
    return board.needed([serial], NOW)[serial]["A30"].date()


def test_a_promise_before_the_work_lets_the_tray_go_and_once_it_slips_the_bench_is_stopped() -> (
    None
):
    day, pins = setup_day("Q-1062"), book.item_ids(["P01"])["P01"]
    emptied("P01")
    ledger.expect(pins, 1, day - timedelta(days=1), "K-7")
    assert close(pick("Q-1062", short=("P01",)), "It follows").done
    emptied("P01")
    assert check_tray("Q-1062").done
    ledger.expect(pins, 1, day + timedelta(days=1), "K-7")
    outcome = check_tray("Q-1062")
    assert (outcome.result, rules(outcome)) == ("refused", ["partial", "missing"])
    assert "it comes too late." in words(outcome)
    assert Instrument.objects.get(body__serial="Q-1062").checked_worst == "stop"


def test_the_bench_is_stopped_once_the_work_moves_ahead_of_the_promise() -> None:
    ready = Instrument.objects.filter(body__serial="Q-1062")
    ready.update(release_on=FRIDAY)
    day = setup_day("Q-1062")
    comes("P01", day - timedelta(days=1))
    assert close(pick("Q-1062", short=("P01",)), "It follows").done
    emptied("P01")
    assert check_tray("Q-1062").done
    ready.update(release_on=NOW.date())
    assert setup_day("Q-1062") < day
    outcome = check_tray("Q-1062")
    assert (outcome.result, rules(outcome)[0]) == ("refused", "partial")


def test_what_came_in_since_lets_the_tray_through_again() -> None:
    delivery = comes("P01", TUESDAY)
    assert close(pick("Q-1062", short=("P01",)), "It follows").done
    ledger.give_up_delivery(delivery, "it came by another")
    later = NOW + timedelta(hours=1)
    assert check_tray("Q-1062", at=later).done  # forty of P01 lie in their bin


def test_a_whole_tray_asks_nothing_of_deliveries() -> None:
    close(pick("Q-1062"))
    with CaptureQueriesContext(connection) as seen:
        check_tray("Q-1062")
    assert [one["sql"] for one in seen if "stock_delivery" in one["sql"]] == []


def test_a_partial_check_asks_as_much_for_three_lines_as_for_one() -> None:
    for key in ("P01", "E01", "E04"):
        comes(key, NOW.date())

    def asked(serial: str, *short: str) -> int:
        assert close(pick(serial, short=short), "so").done
        with CaptureQueriesContext(connection) as seen:
            assert check_tray(serial).done
        return len(seen)

    assert asked("Q-1062", "P01") == asked("Q-1063", "P01", "E01", "E04")


def emptied(key: str) -> None:
    """All that is free of an item is promised away."""
    for lot in Lot.objects.filter(item__key=key):
        if lot.on_hand > lot.reserved:
            ledger.promise(lot.pk, lot.on_hand - lot.reserved, NOW, "promised to others")


# --- opened again ---


def again(
    tray_id: int, at: datetime = NOW, reason: str = "What was missing has come"
) -> door.Outcome:
    return door.record(act("P-41", "K", at, reason=reason), door.TrayOpened(tray_id))


def test_a_closed_tray_is_opened_again_with_a_reason_and_its_stock_is_back_and_kept() -> None:
    before = Lot.objects.get(item__key="T01")
    tray = pick("Q-1062")
    close(tray)
    closed = Lot.objects.get(item__key="T01")
    assert (closed.on_hand, closed.out) == (before.on_hand - 1, before.out + 1)
    assert again(tray).done
    opened = Lot.objects.get(item__key="T01")
    assert (opened.on_hand, opened.reserved, opened.out) == (
        before.on_hand, before.reserved, before.out,
    )  # fmt: skip
    assert now("Q-1062").tray_state == "picked"
    assert shelf.unbalanced() == []


def test_without_a_reason_a_closed_tray_stays_closed() -> None:
    tray = pick("Q-1062")
    close(tray)
    outcome = again(tray, reason="")
    assert (outcome.result, rules(outcome)) == ("refused", ["why open"])
    assert now("Q-1062").tray_state == "closed"


def test_an_open_tray_is_not_opened() -> None:
    assert rules(again(pick("Q-1062"))) == ["tray open"]


def test_the_tray_of_a_finished_instrument_stays_as_it_is() -> None:
    Instrument.objects.filter(body__serial="Q-1043").update(finished_at=NOW)
    assert rules(again(now("Q-1043").tray_id)) == ["ended"]


def test_opening_again_is_in_the_journal_with_its_reason() -> None:
    tray = pick("Q-1062")
    close(tray)
    again(tray)
    row = Entry.objects.filter(subject="Q-1062", kind="tray open").get()
    assert (row.by.code, row.reason, row.outcome) == (
        "P-41", "What was missing has come", "recorded",
    )  # fmt: skip


def test_the_bench_asks_for_the_tray_again_after_it_was_opened() -> None:
    tray = pick("Q-1062")
    close(tray)
    for code in ("N10", "N20", "N30"):
        ready_for("Q-1062", code)
        assert step("Q-1062", code).done
    ready_for("Q-1062", "N40")
    assert check_tray("Q-1062").done
    again(tray)
    assert rules(step("Q-1062", "N40")) == ["tray scan"]
    assert rules(check_tray("Q-1062")) == ["tray open"]
    close(tray)
    assert rules(step("Q-1062", "N40")) == ["tray scan"]
    check_tray("Q-1062")
    assert step("Q-1062", "N40").done


def test_the_missing_line_follows_the_whole_way_and_each_piece_leaves_its_bin_once() -> None:
    keys = ("T01", "N01", "S01", "P01", "E01", "E04")
    before = {lot.item.key: lot for lot in Lot.objects.filter(item__key__in=keys)}
    comes("P01", TUESDAY)
    tray = pick("Q-1062", short=("P01",))
    assert close(tray, "It follows").done
    assert shelf.unbalanced() == []
    assert again(tray, NOW + timedelta(minutes=5)).done
    assert shelf.unbalanced() == []
    row = shelf.tray(tray)
    assert row is not None
    [line] = [one for one in row["lines"] if one["article"].key == "P01"]
    assert [one["article"].key for one in row["lines"] if one["to_check"]] == []
    ledger.put_in(tray, [put(line)])
    assert "tray unchecked" in rules(close(tray))
    check_lines(tray)
    assert close(tray).done
    for key in keys:
        lot = Lot.objects.get(pk=before[key].pk)
        assert lot.on_hand == before[key].on_hand - 1, key
        assert lot.out == before[key].out + 1, key
    assert shelf.unbalanced() == []


def test_what_is_fitted_stays_fitted_when_the_tray_is_opened_and_closed_again() -> None:
    """T01 is fitted; the rest goes back and out again. The last T01 in its bin is taken by
    others meanwhile, and closing does not ask for another."""
    tray = pick("Q-1062")
    close(tray)
    line = TrayLine.objects.get(tray=tray, item__key="T01")
    ledger.consume(tray, "N60", act("P-11").by_id, NOW)
    lot = Lot.objects.get(item__key="T01")
    again(tray)
    assert Lot.objects.get(pk=lot.pk).on_hand == lot.on_hand
    emptied("T01")
    assert close(tray).done
    line.refresh_from_db()
    assert (line.fitted, line.quantity) == (1, 1)
    out = Movement.objects.filter(line=line, kind="deducted").count()
    assert out == 1
    assert shelf.unbalanced() == []


# --- superseded items ---


def superseded_in(serial: str) -> int:
    """T16, an approved substitute of T01, is superseded and was put in."""
    Item.objects.filter(key="T16").update(obsolete=True)
    return with_instead(serial, "T01", "T16")


def test_a_superseded_item_is_not_closed_into_new_work() -> None:
    tray = superseded_in("Q-1062")
    check_lines(tray)
    outcome = close(tray, "so")
    [told] = [one for one in outcome.findings if one.rule == "obsolete"]
    assert told.words == "T16 is superseded and kept for repairs; Q-1062 is new work."
    assert outcome.result == "refused"


def test_a_superseded_item_that_the_kit_itself_asks_for_is_closed() -> None:
    Item.objects.filter(key="T01").update(obsolete=True)
    assert close(pick("Q-1062")).done


def test_a_superseded_item_goes_into_a_guitar_on_a_repair_loop() -> None:
    tray = superseded_in("Q-1062")
    check_lines(tray)
    loop = Rework("fretwork", "buzz", NOW, "repair", ("A30",))
    Instrument.objects.filter(body__serial="Q-1062").update(rework=course.rework_row(loop))
    assert "obsolete" not in rules(close(tray))
