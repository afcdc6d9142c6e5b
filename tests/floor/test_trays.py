"""The tray at the bench and at the kitting desk: whose it is, what lies in it, stock once."""

from __future__ import annotations

import pytest

from shop.catalogue import book, revising
from shop.catalogue.models import SpecRevision
from shop.craft.finding import Severity
from shop.floor import board, door
from shop.floor.models import Entry, Instrument
from shop.stock import ledger, shelf
from shop.stock.models import Lot, Tray
from tests.floor.morning import NOW, act, check_tray, now, pick, put, rules, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

CLEAN = ["Q-1037", "Q-1038", "Q-1040", "Q-1041", "Q-1043", "Q-1049", "Q-1050", "Q-1055", "Q-1061"]


def close(tray_id: int, reason: str = "") -> door.Outcome:
    return door.record(act("P-41", "K", reason=reason), door.TrayClosed(tray_id))


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
    assert close(now("Q-1044").tray_id, "Rest comes Tuesday").done
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
    assert [one.rule for one in board.tray_outlook("Q-1062")] == ["missing"]


def test_a_close_is_in_the_instruments_journal() -> None:
    tray = pick("Q-1062")
    close(tray)
    row = Entry.objects.filter(subject="Q-1062", kind="tray close").get()
    assert (row.by.code, row.station, row.at) == ("P-41", "K", NOW)
