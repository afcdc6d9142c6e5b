"""A tray on its own page: filled line by line, closed once, labelled, parked, opened again."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client

from shop.catalogue import book
from shop.floor.models import Entry
from shop.people.models import Badge
from shop.stock import ledger, shelf
from shop.stock.models import Movement
from tests.bench.screens import Screen, key, said, seen, signed_in
from tests.floor.morning import NOW, now, pick
from tests.kitting.checker import check, close, has_no_screws, line_address, put_in, tray_of
from tests.kitting.clerk import code, counts, line, number
from tests.paper.phones import printed_from
from tests.paper.reading import words

pytestmark = pytest.mark.usefixtures("today")

FOLLOWS = "The missing part follows before it is needed"


@pytest.fixture
def phone() -> Client:
    return signed_in("P-41")


@pytest.fixture
def partial(db: None) -> int:
    """Q-1062 picked without its pins, which are promised for tomorrow."""
    ledger.expect(book.item_ids(["P01"])["P01"], 5, NOW.date() + timedelta(days=1))
    return pick("Q-1062", short=("P01",))


def wells(serial: str, left: int, right: int) -> None:
    """The machines as they were counted at their bin."""
    row = line(serial, "T01")
    put = ledger.PutIn(row["id"], row["item_id"], left, right, lot_id=row["lot_id"])
    ledger.put_in(number(serial), [put])


def first_of(screen: Screen) -> str:
    """The first thing to tap on the page itself."""
    return next(one for one in screen.buttons if one != "Sign out")


def post(phone: Client, serial: str, what: str, **sent: str) -> Screen:
    address = f"/trays/{code(serial)}/{what}/"
    return seen(phone.post(address, {"key": key()} | sent, follow=True))


def test_the_tray_page_lists_what_is_wanted_and_what_lies_in_it(phone: Client) -> None:
    has_no_screws("T01")
    put_in(phone, "Q-1062", "T01")
    check(phone, "Q-1062", "T01", left="3", right="3")
    rows = [said(row) for row in tray_of(phone, "Q-1062").one(".//tbody")]
    assert rows[0].startswith("1 × T01 open-gear individual set, nickel T01 · 3 L 3 R lot")
    assert rows[1].startswith("1 × N01 bone nut, slotted, 44.5 to pick")


def test_a_tray_with_lines_to_pick_says_which_and_cannot_be_closed(phone: Client) -> None:
    screen = tray_of(phone, "Q-1062")
    assert "6 still to pick: T01, N01, S01, P01, E01, E04." in screen.of_class("finding-stop")[0]
    assert "Close the tray" not in screen.buttons


def test_a_line_to_check_stands_as_such_and_keeps_the_tray_open(phone: Client) -> None:
    pick("Q-1062")
    put_in(phone, "Q-1062", "N01")
    screen = tray_of(phone, "Q-1062")
    assert "1 still to check: N01." in screen.of_class("finding-stop")[0]
    assert first_of(screen) == "Check 1 line"
    assert "Close the tray" not in screen.buttons


def test_machines_counted_two_and_four_stop_the_tray_before_it_leaves_the_clerk(
    phone: Client,
) -> None:
    pick("Q-1062")
    wells("Q-1062", 2, 4)
    told = tray_of(phone, "Q-1062").of_class("finding-stop")
    assert "2 left and 4 right in the tray. This head needs 3 left and 3 right" in told[0]
    assert "Close the tray" not in tray_of(phone, "Q-1062").buttons


def test_a_tray_stopped_by_its_wells_stays_open_when_closing_is_forced(phone: Client) -> None:
    pick("Q-1062")
    wells("Q-1062", 2, 4)
    screen = close(phone, "Q-1062")
    assert "2 left and 4 right" in screen.of_class("finding-stop")[0]
    assert now("Q-1062").tray_state == "picked"
    assert Entry.objects.filter(subject="Q-1062").latest("id").outcome == "refused"


def test_why_a_tray_is_stopped_is_told_with_the_numbers_compared(phone: Client) -> None:
    pick("Q-1062")
    wells("Q-1062", 2, 4)
    assert "Why" in tray_of(phone, "Q-1062").of_class("why")[0]


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


# --- with something missing ---


def test_a_tray_with_a_line_short_says_partial_in_capitals(phone: Client) -> None:
    assert tray_of(phone, "Q-1044").of_class("partial") == ["PARTIAL: T02 missing"]


def test_a_part_nobody_promised_keeps_the_tray_with_the_clerk(phone: Client) -> None:
    pick("Q-1062", short=("P01",))
    screen = close(phone, "Q-1062", reason=FOLLOWS)
    assert "and no date is promised." in screen.of_class("finding-stop")[0]
    assert now("Q-1062").tray_state == "picked"


@pytest.mark.usefixtures("partial")
def test_a_partial_tray_is_not_closed_without_a_reason(phone: Client) -> None:
    assert "Why is it closed so?" in tray_of(phone, "Q-1062").words
    screen = close(phone, "Q-1062")
    assert "PARTIAL tray" in screen.of_class("finding-stop")[0]
    assert now("Q-1062").tray_state == "picked"


@pytest.mark.usefixtures("partial")
def test_a_partial_tray_is_closed_with_a_reason_and_keeps_its_word(phone: Client) -> None:
    screen = close(phone, "Q-1062", reason=FOLLOWS)
    assert screen.of_class("partial") == ["PARTIAL: P01 missing"]
    assert now("Q-1062").tray_state == "closed"


@pytest.mark.usefixtures("partial")
def test_the_label_of_a_partial_tray_says_what_is_missing_and_when_it_comes(
    phone: Client,
) -> None:
    screen = close(phone, "Q-1062", reason=FOLLOWS)
    label = words(printed_from(phone, screen.links["Print the label"]))
    assert "PARTIAL·missingP01by2031-03-04" in label


def test_a_bin_emptied_by_another_tray_meanwhile_is_told_in_words(
    phone: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two trays closed at one moment: the ledger refuses what the gates could not see yet."""

    def emptied(*_: object) -> None:
        raise ledger.OutOfStep("A-01: 0 on hand, 1 wanted. Count the bin.")

    pick("Q-1062")
    monkeypatch.setattr(ledger, "close_tray", emptied)
    assert "Count the bin." in close(phone, "Q-1062").of_class("finding-stop")[0]


# --- closed: label, band, slot ---


def test_a_closed_tray_offers_its_label_first_and_no_change(phone: Client) -> None:
    pick("Q-1062")
    screen = close(phone, "Q-1062")
    assert first_of(screen) == "Print the label"
    assert printed_from(phone, screen.links["Print the label"]).startswith(b"%PDF")
    assert [one for one in screen.links if one.startswith("Change")] == []
    assert "a lid band of cotton or paper" in screen.words


def test_a_closed_tray_is_parked_in_its_slot(phone: Client) -> None:
    pick("Q-1062")
    close(phone, "Q-1062")
    screen = post(phone, "Q-1062", "park", slot=" 7 ")
    assert "The tray of Q-1062 stands in slot 7." in screen.words
    row = shelf.tray(number("Q-1062"))
    assert row is not None
    assert row["slot"] == "7"


@pytest.mark.parametrize(
    ("slot", "told"),
    [
        ("", "Give the number on the slot"),
        ("7/8", "Give the number"),
        ("\N{ARABIC-INDIC DIGIT SEVEN}", "Give the number"),
        ("\N{LATIN SMALL LETTER SHARP S}", "Give the number"),  # SS in capitals
        ("\N{LATIN SMALL LETTER E WITH ACUTE}7", "Give the number"),
        ("1234567", "is no slot"),
    ],
)
def test_what_is_no_slot_is_told_and_nothing_noted(phone: Client, slot: str, told: str) -> None:
    pick("Q-1062")
    close(phone, "Q-1062")
    screen = post(phone, "Q-1062", "park", slot=slot)
    assert told in screen.of_class("finding-stop")[0]
    row = shelf.tray(number("Q-1062"))
    assert row is not None
    assert row["slot"] == ""


def test_an_open_tray_is_not_parked_and_says_so(phone: Client) -> None:
    pick("Q-1062")
    screen = post(phone, "Q-1062", "park", slot="7")
    assert (
        "The tray of Q-1062 is open. Close it, then park it in slot 7."
        in (screen.of_class("finding-stop")[0])
    )
    row = shelf.tray(number("Q-1062"))
    assert row is not None
    assert row["slot"] == ""


def parked(phone: Client, serial: str, slot: str) -> Screen:
    """The tray picked, closed and parked."""
    pick(serial)
    close(phone, serial)
    return post(phone, serial, "park", slot=slot)


def test_a_slot_that_has_another_tray_is_told_and_kept(phone: Client) -> None:
    assert parked(phone, "Q-1062", "a7").of_class("finding-warn") == []
    assert shelf.in_slot("A7") == ("Q-1062",)
    [told] = parked(phone, "Q-1063", "A7").of_class("finding-warn")
    assert told == "Check Slot A7 has the tray of Q-1062 too. Look which one stands there."
    assert shelf.in_slot("A7") == ("Q-1062", "Q-1063")
    assert post(phone, "Q-1063", "park", slot="8").of_class("finding-warn") == []


def test_every_other_tray_of_a_slot_is_named(phone: Client) -> None:
    for serial in ("Q-1062", "Q-1063"):
        parked(phone, serial, "7")
    [told] = parked(phone, "Q-1064", "7").of_class("finding-warn")
    assert "Slot 7 has the trays of Q-1062 and Q-1063 too." in told


def test_the_same_slot_said_twice_is_no_other_tray(phone: Client) -> None:
    parked(phone, "Q-1062", "7")
    assert post(phone, "Q-1062", "park", slot="7").of_class("finding-warn") == []


def test_a_tray_that_is_empty_or_open_again_has_left_its_slot(phone: Client) -> None:
    for serial in ("Q-1062", "Q-1063"):
        parked(phone, serial, "7")
    ledger.consume(number("Q-1062"), None, Badge.objects.get(code="P-41").pk, NOW)
    assert shelf.in_slot("7") == ("Q-1063",)
    post(phone, "Q-1063", "open", reason="A part is exchanged")
    assert shelf.in_slot("7") == ()


def test_a_line_of_a_closed_tray_cannot_be_changed(phone: Client) -> None:
    pick("Q-1062")
    close(phone, "Q-1062")
    screen = put_in(phone, "Q-1062", "T01", item="T03")
    assert "is closed. Open it again first." in screen.of_class("finding-stop")[0]
    assert line("Q-1062", "T01")["put_in"].key == "T01"


def test_the_page_of_a_line_of_a_closed_tray_is_gone(phone: Client) -> None:
    pick("Q-1062")
    close(phone, "Q-1062")
    assert phone.get(line_address("Q-1062", "T01")).status_code == 404


# --- opened again ---


def test_a_closed_tray_is_opened_again_with_a_reason(phone: Client) -> None:
    pick("Q-1062")
    close(phone, "Q-1062")
    screen = post(phone, "Q-1062", "open", reason="A part is exchanged")
    assert "Close the tray" in screen.buttons
    assert now("Q-1062").tray_state == "picked"
    assert Entry.objects.get(subject="Q-1062", kind="tray open").reason == "A part is exchanged"


def test_words_stand_in_the_place_of_a_reason(phone: Client) -> None:
    pick("Q-1062")
    close(phone, "Q-1062")
    post(phone, "Q-1062", "open", words="The nut is chipped")
    assert Entry.objects.get(subject="Q-1062", kind="tray open").reason == "The nut is chipped"


def test_without_a_reason_it_stays_closed_and_says_what_to_do(phone: Client) -> None:
    pick("Q-1062")
    close(phone, "Q-1062")
    screen = post(phone, "Q-1062", "open")
    assert "Say why you open it." in screen.of_class("finding-stop")[0]
    assert now("Q-1062").tray_state == "closed"


@pytest.mark.usefixtures("partial")
def test_what_was_missing_follows_and_the_tray_goes_whole(phone: Client) -> None:
    close(phone, "Q-1062", reason=FOLLOWS)
    post(phone, "Q-1062", "open", reason="What was missing has come")
    put_in(phone, "Q-1062", "P01")
    assert tray_of(phone, "Q-1062").of_class("partial") == []
    check(phone, "Q-1062", "P01", count="1")
    assert close(phone, "Q-1062").of_class("finding-clear")[0].startswith("Closed By P-41")
    assert shelf.unbalanced() == []


# --- one line ---


def test_an_item_that_is_not_on_the_list_is_told_and_nothing_goes_in(phone: Client) -> None:
    screen = put_in(phone, "Q-1062", "T01", item="T99")
    assert "There is no item T99." in screen.of_class("finding-stop")[0]
    assert line("Q-1062", "T01")["state"] == "open"


def test_a_bin_that_is_short_is_noted_on_the_line(phone: Client) -> None:
    put_in(phone, "Q-1062", "T01", said="short")
    assert line("Q-1062", "T01")["state"] == "short"
    assert "Short used at N60" in tray_of(phone, "Q-1062").words


def test_another_item_of_the_list_goes_in_and_is_told_at_the_tray(phone: Client) -> None:
    put_in(phone, "Q-1062", "T01", item="T03")
    assert line("Q-1062", "T01")["put_in"].key == "T03"


def test_a_label_of_no_tray_is_not_found(phone: Client) -> None:
    assert phone.get("/trays/T000000/").status_code == 404
