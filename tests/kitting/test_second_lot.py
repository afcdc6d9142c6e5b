"""A second plating lot in one tray, and one line out of two lots.

Plating lots differ in shade; that one guitar takes one is common practice, no source.
"""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

from shop.floor import board, door
from shop.stock import ledger, shelf
from shop.stock.models import Lot, TrayLine
from tests.bench.screens import key, seen, signed_in
from tests.floor.morning import NOW, act, check_lines, rules, words
from tests.kitting.checker import line_address, put_in, received, tray_of
from tests.kitting.clerk import code, line, number

pytestmark = pytest.mark.usefixtures("today")

SERIAL = "Q-1044"  # ordered with gold machines, T02, and a gold strap button, E07


@pytest.fixture
def phone() -> Client:
    """The clerk, with nothing in the tray but what shows no gold; of gold there are machines
    of plating lot 31-07A and buttons of 31-09B alone."""
    for row in rows():
        taken = None if row["article"].metal else row["item_id"]
        ledger.put_in(number(SERIAL), [ledger.PutIn(row["id"], taken)])
    for item in ("T02", "E07"):
        for lot in Lot.objects.filter(item__key=item):
            ledger.hold(lot.pk, "Set aside for this test", act("P-01").by_id, NOW)
    received("T02", 2, "31-07A")
    received("E07", 2, "31-09B", "Y-02")
    return signed_in("P-41")


def rows() -> list[dict[str, Any]]:
    tray = shelf.tray(number(SERIAL))
    assert tray is not None
    found: list[dict[str, Any]] = tray["lines"]
    return found


def lot(code_: str) -> Lot:
    return Lot.objects.get(code=code_)


def second(serial: str = SERIAL, item: str = "E07") -> str:
    return f"{line_address(serial, item)}second/"


def test_the_last_gold_part_of_another_plating_lot_is_refused_with_both_lots(
    phone: Client,
) -> None:
    put_in(phone, SERIAL, "T02", lot=str(lot("31-07A").pk))
    screen = put_in(phone, SERIAL, "E07", lot=str(lot("31-09B").pk))
    [told] = screen.of_class("finding-stop")
    assert "Plating lot 31-09B, but T02 in this tray is of 31-07A: two shades of gold." in told
    assert line(SERIAL, "E07")["state"] == "short"
    assert "Two shades of gold" in screen.of_class("boxed")[0]
    assert "Ask the lead" in screen.buttons


def test_the_lead_is_called_with_what_is_to_be_decided(phone: Client) -> None:
    put_in(phone, SERIAL, "T02", lot=str(lot("31-07A").pk))
    screen = put_in(phone, SERIAL, "E07", lot=str(lot("31-09B").pk))
    address = f"{line_address(SERIAL, 'E07')}ask/"
    called = seen(phone.post(address, screen.form(address), follow=True))
    assert "The lead is called." in called.of_class("finding-clear")[0]
    [call] = board.calls(["lead"])
    assert call["instrument__body__serial"] == SERIAL
    assert "E07 is there of plating lot 31-09B only" in call["words"]
    assert "gold of 31-07A" in call["words"]


def test_a_call_about_a_lot_that_can_go_in_is_not_made(phone: Client) -> None:
    sent = {"key": key(), "lot": str(lot("31-09B").pk)}
    screen = seen(phone.post(f"{line_address(SERIAL, 'E07')}ask/", sent, follow=True))
    assert "can go in as it is" in screen.of_class("finding-stop")[0]
    assert board.calls(["lead"]) == []


def test_the_clerk_accepts_no_second_lot(phone: Client) -> None:
    assert phone.get(second()).status_code == 403
    assert phone.post(second(), {"why": "so"}).status_code == 403


def test_the_lead_sees_both_lots_and_which_parts_they_are(phone: Client) -> None:
    put_in(phone, SERIAL, "T02", lot=str(lot("31-07A").pk))
    screen = seen(signed_in("P-01").get(second()))
    assert screen.of_class("shade") == ["31-07A", "31-09B"]
    assert "T02 open-gear individual set in the tray" in screen.words
    assert "Gold part" in screen.words


def test_where_all_is_of_one_plating_lot_there_is_nothing_to_accept(phone: Client) -> None:
    put_in(phone, SERIAL, "T02", lot=str(lot("31-07A").pk))
    Lot.objects.filter(code="31-09B").update(plating="31-07A")
    screen = seen(signed_in("P-01").get(second()))
    assert "Nothing to accept." in screen.words
    assert "Accept the second lot" not in screen.buttons


def test_without_a_reason_no_second_lot_is_accepted(phone: Client) -> None:
    lead = signed_in("P-01")
    screen = seen(lead.post(second(), {"words": " ", "why": "because"}, follow=True))
    assert "Say why a second plating lot is accepted." in screen.of_class("finding-stop")[0]
    assert line(SERIAL, "E07")["second_lot_why"] == ""


def test_accepted_by_the_lead_it_goes_in_and_the_close_still_warns(phone: Client) -> None:
    """First machines of 31-07A, the last gold part of 31-09B."""
    put_in(phone, SERIAL, "T02", lot=str(lot("31-07A").pk))
    why = "Laid side by side in daylight: one shade"
    told = seen(signed_in("P-01").post(second(), {"why": why}, follow=True))
    assert "A second plating lot is accepted for E07." in told.words
    screen = put_in(phone, SERIAL, "E07", lot=str(lot("31-09B").pk))
    assert f"second plating lot, P-01: {why}" in screen.words
    check_lines(number(SERIAL))
    deed = door.TrayClosed(number(SERIAL))
    refused = door.record(act("P-41", "K"), deed)
    assert (refused.result, rules(refused)[0]) == ("refused", "R27")
    assert "31-07A (T02) and 31-09B (E07)" in words(refused)
    assert door.record(act("P-41", "K", reason="The lead agreed to go on"), deed).done
    assert (lot("31-07A").on_hand, lot("31-09B").on_hand) == (1, 1)
    assert shelf.unbalanced() == []


def test_a_lot_of_the_same_bath_is_no_second_lot(phone: Client) -> None:
    """Two items plated together carry one plating lot, whatever their own codes."""
    received("E07", 3, "31-11C", "Y-03")
    Lot.objects.filter(code="31-11C").update(plating="31-07A")
    put_in(phone, SERIAL, "T02", lot=str(lot("31-07A").pk))
    screen = put_in(phone, SERIAL, "E07", lot=str(lot("31-11C").pk))
    assert screen.heading == f"Tray of {SERIAL}"
    assert line(SERIAL, "E07")["lot_code"] == "31-11C"


def test_the_lots_label_scanned_says_the_lot(phone: Client) -> None:
    put_in(phone, SERIAL, "T02", code="T02 31-07A")
    assert line(SERIAL, "T02")["lot_code"] == "31-07A"


def test_what_is_no_label_puts_nothing_in(phone: Client) -> None:
    screen = put_in(phone, SERIAL, "T02", code="A-01")
    assert "A-01 is no lot's label." in screen.of_class("finding-stop")[0]
    assert line(SERIAL, "T02")["state"] == "short"


# --- one line out of two lots ---


@pytest.fixture
def two_lots() -> Client:
    """Six of the pin set are wanted; 4 lie in one lot and 3 in another."""
    for one in Lot.objects.filter(item__key="P01"):
        ledger.hold(one.pk, "Set aside for this test", act("P-01").by_id, NOW)
    TrayLine.objects.filter(tray=number("Q-1062"), item__key="P01").update(quantity=6)
    received("P01", 4, "31-20A")
    received("P01", 3, "31-21B", "Y-02")
    return signed_in("P-41")


def test_no_single_lot_covers_and_two_are_offered(two_lots: Client) -> None:
    screen = seen(two_lots.get(line_address("Q-1062", "P01")))
    assert "No lot has 6" in screen.of_class("boxed")[0]
    assert "4 of 6 from lot 31-20A, the rest from another" in screen.buttons


def test_split_each_part_is_filled_from_its_own_lot(two_lots: Client) -> None:
    address = f"{line_address('Q-1062', 'P01')}split/"
    screen = seen(two_lots.post(address, {"first": "4"}, follow=True))
    assert "P01 is two lines now: 4 and 2, a lot for each." in screen.words
    parts = TrayLine.objects.filter(tray=number("Q-1062"), item__key="P01").order_by("part")
    assert [one.quantity for one in parts] == [4, 2]
    assert "No lot has" not in tray_of(two_lots, "Q-1062").words
    for one, code_ in zip(parts, ("31-20A", "31-21B"), strict=True):
        to = f"/trays/{code('Q-1062')}/line/{one.pk}/"
        two_lots.post(to, {"said": "taken", "item": "P01", "lot": str(lot(code_).pk)})
    assert [
        one.lot.code for one in parts.all() if one.lot
    ] == ["31-20A", "31-21B"]  # fmt: skip


@pytest.mark.parametrize("first", ["0", "6", "7", "x", ""])
def test_a_split_that_is_none_is_refused_and_the_line_stays_whole(
    two_lots: Client, first: str
) -> None:
    address = f"{line_address('Q-1062', 'P01')}split/"
    screen = seen(two_lots.post(address, {"first": first}, follow=True))
    assert "is no part of it." in screen.of_class("finding-stop")[0]
    parts = TrayLine.objects.filter(tray=number("Q-1062"), item__key="P01")
    assert [one.quantity for one in parts] == [6]


def test_where_one_lot_covers_no_split_is_offered(two_lots: Client) -> None:
    received("P01", 6, "31-22C", "Y-03")
    assert "No lot has" not in seen(two_lots.get(line_address("Q-1062", "P01"))).words
