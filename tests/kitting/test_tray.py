"""A tray on its own page: filled line by line, and closed once."""

from __future__ import annotations

import pytest
from django.test import Client

from shop.floor.models import Entry
from shop.stock import ledger
from shop.stock.models import Movement
from tests.bench.screens import key, said, signed_in
from tests.floor.morning import now, pick
from tests.kitting.clerk import close, code, counts, line, number, say, tray_page

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def phone() -> Client:
    return signed_in("P-41")


def test_the_tray_page_lists_what_is_wanted_and_what_lies_in_it(phone: Client) -> None:
    say(phone, "Q-1062", "T01", left="3", right="3")
    rows = [said(row) for row in tray_page(phone, "Q-1062").one(".//tbody")]
    assert rows[0].startswith("1 × T01 open-gear individual set, nickel T01 · 3 L 3 R lot")
    assert rows[1].startswith("1 × N01 bone nut, slotted, 44.5 to pick")


def test_a_tray_with_lines_to_pick_says_which_and_cannot_be_closed(phone: Client) -> None:
    screen = tray_page(phone, "Q-1062")
    assert "6 still to pick: T01, N01, S01, P01, E01, E04." in screen.of_class("finding-stop")[0]
    assert "Close the tray" not in screen.buttons


def test_machines_counted_two_and_four_stop_the_tray_before_it_leaves_the_clerk(
    phone: Client,
) -> None:
    pick("Q-1062")
    screen = say(phone, "Q-1062", "T01", left="2", right="4")
    [told] = screen.of_class("finding-stop")
    assert "2 left and 4 right in the tray. This head needs 3 left and 3 right" in told
    assert "Close the tray" not in screen.buttons


def test_a_tray_stopped_by_its_wells_stays_open_when_closing_is_forced(phone: Client) -> None:
    pick("Q-1062")
    say(phone, "Q-1062", "T01", left="2", right="4")
    screen = close(phone, "Q-1062")
    assert "2 left and 4 right" in screen.of_class("finding-stop")[0]
    assert now("Q-1062").tray_state == "picked"
    assert Entry.objects.filter(subject="Q-1062").latest("id").outcome == "refused"


def test_closing_takes_what_lies_in_the_tray_off_the_shelf(phone: Client) -> None:
    on_hand, reserved = counts("T01")
    pick("Q-1062")
    screen = close(phone, "Q-1062")
    assert screen.of_class("finding-clear")[0].startswith("Closed By P-41, Mon 2031-03-03 09:30.")
    assert counts("T01") == (on_hand - 1, reserved - 1)


def test_closing_twice_takes_stock_down_once_and_says_so(phone: Client) -> None:
    pick("Q-1062")
    close(phone, "Q-1062")
    after = counts("T01")
    screen = close(phone, "Q-1062")
    assert "is closed already; stock went down then." in screen.of_class("finding-stop")[0]
    assert counts("T01") == after
    assert Movement.objects.filter(tray_id=number("Q-1062"), kind="deducted").count() == 6


def test_the_same_tap_on_close_sent_twice_is_answered_alike(phone: Client) -> None:
    pick("Q-1062")
    by = key()
    first, again = (close(phone, "Q-1062", key=by) for _ in range(2))
    assert first.words == again.words


def test_a_tray_with_a_line_short_says_partial_in_capitals(phone: Client) -> None:
    assert tray_page(phone, "Q-1044").of_class("partial") == ["PARTIAL: T02 missing"]


def test_a_partial_tray_is_not_closed_without_a_reason(phone: Client) -> None:
    assert "Why is it closed so?" in tray_page(phone, "Q-1044").words
    screen = close(phone, "Q-1044")
    assert "PARTIAL tray" in screen.of_class("finding-stop")[0]
    assert now("Q-1044").tray_state == "picked"


def test_a_partial_tray_is_closed_with_a_reason_and_keeps_its_word(phone: Client) -> None:
    screen = close(phone, "Q-1044", reason="The missing part follows before it is needed")
    assert screen.of_class("partial") == ["PARTIAL: T02 missing"]
    assert now("Q-1044").tray_state == "closed"


def test_a_bin_emptied_by_another_tray_meanwhile_is_told_in_words(
    phone: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two trays closed at one moment: the ledger refuses what the gates could not see yet."""

    def emptied(*_: object) -> None:
        raise ledger.OutOfStep("A-01: 0 on hand, 1 wanted. Count the bin.")

    pick("Q-1062")
    monkeypatch.setattr(ledger, "close_tray", emptied)
    assert "Count the bin." in close(phone, "Q-1062").of_class("finding-stop")[0]


def test_a_closed_tray_offers_its_label_and_no_change(phone: Client) -> None:
    pick("Q-1062")
    screen = close(phone, "Q-1062")
    assert phone.get(screen.links["Print the label"])["Content-Type"] == "application/pdf"
    assert [one for one in screen.links if one.startswith("Change")] == []


def test_a_line_of_a_closed_tray_cannot_be_changed(phone: Client) -> None:
    pick("Q-1062")
    close(phone, "Q-1062")
    screen = say(phone, "Q-1062", "T01", left="3", right="3", item="T03")
    assert "is closed. Nothing goes in or out any more." in screen.of_class("finding-stop")[0]
    assert line("Q-1062", "T01")["put_in"].key == "T01"


def test_the_page_of_a_line_of_a_closed_tray_is_gone(phone: Client) -> None:
    pick("Q-1062")
    close(phone, "Q-1062")
    address = f"/trays/{code('Q-1062')}/line/{line('Q-1062', 'T01')['id']}/"
    assert phone.get(address).status_code == 404


def test_a_label_of_no_tray_is_not_found(phone: Client) -> None:
    assert phone.get("/trays/T000000/").status_code == 404
