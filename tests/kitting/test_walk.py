"""One bin a screen: scan the bin, scan the lot, count. What is wanting goes short."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop.catalogue import book
from shop.catalogue.models import Item, KitLine, Substitute
from shop.craft.hardware import Metal
from shop.floor import board
from shop.people.models import Badge
from shop.stock import ledger, shelf
from shop.stock.models import Lot, LotCount, Movement, Tray, TrayLine
from tests.bench.crowd import add_instruments
from tests.bench.screens import Screen, key, seen, signed_in
from tests.floor.morning import NOW
from tests.kitting.clerk import (
    bin_page,
    code,
    counted,
    counts,
    go_short,
    line,
    number,
    scan,
    take_up,
    tap,
    unscanned,
    walk,
)

pytestmark = pytest.mark.usefixtures("today")


# Too great for any key, too long to be read at all, and figures of no decimal keypad.
NO_NUMBERS = [str(2**63), "9" * 4_400, "²", "٣"]


@pytest.fixture
def phone() -> Client:
    return signed_in("P-41")


def lot(key: str) -> Lot:
    return Lot.objects.get(item__key=key)


def stopped(screen: Screen) -> str:
    (told,) = screen.of_class("finding-stop")
    return told


def shares(screen: Screen) -> list[str]:
    return screen.of_class("share")


# --- the way ---


def test_the_walk_goes_past_the_bins_of_its_trays_in_walking_order(phone: Client) -> None:
    screen = walk(phone, "Q-1062", "Q-1063")
    came = [screen.heading]
    while (screen := seen(phone.get(screen.links["Later"]))).heading != came[0]:
        came.append(screen.heading)
    assert sorted(came) == ["A-01", "C-01", "C-06", "C-11", "D-01", "D-04"]
    assert came == shelf.walking_order(came)


def test_a_bin_shows_what_to_take_for_which_tray_when_it_is_needed_and_what_is_left(
    phone: Client,
) -> None:
    screen = walk(phone, "Q-1062", "Q-1063")
    assert screen.heading == "A-01"
    assert screen.of_class("big")[0] == "Take 2"
    on_hand, reserved = counts("T01")
    figures = f"{on_hand} on hand, {reserved} reserved, {on_hand - reserved} free · 12 left after"
    assert figures in screen.words
    assert f"Lot to take: {lot('T01').code}" in screen.words
    starts = board.needed(["Q-1062"], NOW)["Q-1062"]["N60"]
    assert shares(screen)[0] == f"1 for Q-1062 needed N60 {starts:%a %H:%M} 3 L 3 R"
    assert "6 bins to go" in screen.words


def test_the_next_receipt_is_told_with_its_quantity(phone: Client) -> None:
    for one in shelf.coming([lot("P01").item_id])[lot("P01").item_id]:
        ledger.give_up_delivery(one.id, "cleared for this test")
    screen = walk(phone, "Q-1062", passed=3)
    assert "No receipt is booked." in screen.words
    key = screen.of_class("bin-item")[0].split()[0]
    ledger.expect(lot(key).item_id, 12, NOW.date() + timedelta(days=1), "PO-1")
    again = seen(phone.get(screen.answer.request["PATH_INFO"], {"at": at_of(screen)}))
    assert "Next receipt Tue 2031-03-04: 12." in again.words


def at_of(screen: Screen) -> str:
    """The stop a bin's page is of."""
    found: str = counted(screen)["at"][0]
    return found


def test_an_urgent_tray_has_its_share_first(phone: Client) -> None:
    Tray.objects.filter(pk=number("Q-1063")).update(urgent=True)
    assert shares(walk(phone, "Q-1062", "Q-1063"))[0].startswith("1 for Q-1063 Urgent")


def test_after_the_last_bin_the_walk_says_what_comes_next(phone: Client) -> None:
    screen = walk(phone, "Q-1062")
    for _ in range(6):
        screen = tap(phone, screen)
    assert screen.heading == "No bin left"
    assert "Check each tray, close it and print its label." in screen.words


# --- the scans ---


def test_a_neighbour_bin_is_a_stop_in_words_and_the_right_one_leads_on(phone: Client) -> None:
    screen = walk(phone, "Q-1062")
    wrong = scan(phone, screen, "A-03")
    assert "This is A-03. Go to A-01." in stopped(wrong)
    assert "Scan bin A-01" in wrong.words
    right = scan(phone, wrong, "https://shop.example/BIN/A-01")
    assert f"Scan lot {lot('T01').code}" in right.words


def test_the_lot_to_take_leads_on_to_the_count_and_is_kept_as_scanned(phone: Client) -> None:
    screen = scan(phone, walk(phone, "Q-1062"), "A-01")
    screen = scan(phone, screen, f"LOT {lot('T01').pk}")
    assert "Taken" in screen.buttons
    tap(phone, screen)
    assert line("Q-1062", "T01")["lot_id"] == lot("T01").pk


def test_the_lots_own_label_stands_for_its_bin_too(phone: Client) -> None:
    screen = scan(phone, walk(phone, "Q-1062"), f"T01 {lot('T01').code}")
    assert "Taken" in screen.buttons


def test_a_lot_of_another_item_is_a_stop_in_words(phone: Client) -> None:
    screen = scan(phone, walk(phone, "Q-1062"), f"LOT {lot('T03').pk}")
    assert f"This is T03, lot {lot('T03').code}. Take T01 from A-01." in stopped(screen)


def test_a_held_lot_is_not_taken(phone: Client) -> None:
    """A second, held lot beside the one to take."""
    more = ledger.receive(lot("T01").item_id, "A-01", "31-09B", 5, NOW.date(), NOW)
    clerk = Badge.objects.get(code="P-41").pk
    ledger.hold(more, "Plating is spotted", clerk, NOW)
    screen = scan(phone, walk(phone, "Q-1062"), f"LOT {more}")
    assert "Lot 31-09B is held: Plating is spotted. Take lot" in stopped(screen)


def test_another_lot_with_enough_is_told_and_may_be_taken_all_the_same(phone: Client) -> None:
    first = lot("T01").code
    more = ledger.receive(lot("T01").item_id, "A-01", "31-09B", 5, NOW.date(), NOW)
    screen = scan(phone, walk(phone, "Q-1062"), f"LOT {more}")
    words = f"you scanned lot 31-09B in A-01. Go on with it only when lot {first} is not there."
    assert words in screen.words
    tap(phone, screen)
    assert line("Q-1062", "T01")["lot_id"] == more


def test_what_is_left_is_counted_of_the_lot_that_was_scanned_in_its_own_bin(phone: Client) -> None:
    more = ledger.receive(lot("T01").item_id, "A-09", "31-09B", 5, NOW.date(), NOW)
    screen = scan(phone, walk(phone, "Q-1062", "Q-1063"), f"LOT {more}")
    assert "Taken out of A-09" in screen.words
    asked = tap(phone, screen, found="1")
    assert "How many are left in A-09?" in asked.words
    tap(phone, asked, left="4")
    last = LotCount.objects.latest("id")
    assert (last.lot_id, last.expected, last.counted, last.ended) == (more, 5, 5, "agreed")


def test_where_the_lot_that_was_scanned_differs_its_own_bin_is_named(phone: Client) -> None:
    more = ledger.receive(lot("T01").item_id, "A-09", "31-09B", 5, NOW.date(), NOW)
    screen = scan(phone, walk(phone, "Q-1062", "Q-1063"), f"LOT {more}")
    after = go_short(phone, screen, found=1, left=1)
    assert "A-09 differs from its figures. Another person counts it once more." in after.words
    assert LotCount.objects.latest("id").lot_id == more


def test_a_lot_of_another_item_said_by_hand_is_not_counted(phone: Client) -> None:
    """Its label is refused when it is scanned; only a page made by hand can name it."""
    before = LotCount.objects.count()
    asked = tap(phone, walk(phone, "Q-1062", "Q-1063"), found="0")
    tap(phone, asked, left="0", lot=str(lot("T03").pk))
    assert LotCount.objects.count() == before


def test_another_lot_with_too_few_is_a_stop_with_both_numbers(phone: Client) -> None:
    more = ledger.receive(lot("T01").item_id, "A-01", "31-09B", 1, NOW.date(), NOW)
    screen = scan(phone, walk(phone, "Q-1062", "Q-1063"), f"LOT {more}")
    assert "This is lot 31-09B: 1 free, 2 wanted." in stopped(screen)


@pytest.mark.parametrize("text", ["Z-99", "B7M4-9SX", "LOT 0", "x" * 400])
def test_a_label_of_nothing_here_is_told_and_may_be_scanned_again(phone: Client, text: str) -> None:
    screen = scan(phone, walk(phone, "Q-1062"), text)
    assert "is on no bin and no lot here. Scan again, or tap No label." in stopped(screen)
    assert screen.heading == "A-01"


def test_without_a_label_a_tap_leads_on_and_no_lot_is_kept_as_scanned(phone: Client) -> None:
    screen = walk(phone, "Q-1062")
    assert "Taken" not in seen(phone.get(screen.links["No label"])).buttons
    tap(phone, unscanned(phone, screen))
    found = line("Q-1062", "T01")
    assert (found["state"], found["lot_id"]) == ("taken", lot("T01").pk)  # the one kept for it


def test_a_second_plating_lot_is_refused_in_the_ledgers_words_and_nothing_goes_in(
    phone: Client,
) -> None:
    """Gold of 31-07A lies in the tray; 31-09B would be a second shade. Common practice, no
    source."""
    Item.objects.filter(key__in=["T01", "E01"]).update(metal=Metal.GOLD.value)
    Lot.objects.filter(item__key="T01").update(plating="31-07A")
    Lot.objects.filter(item__key="E01").update(plating="31-09B")
    screen = tap(phone, walk(phone, "Q-1062"))
    while "E01" not in screen.of_class("bin-item")[0]:
        screen = seen(phone.get(screen.links["Later"]))
    screen = tap(phone, scan(phone, screen, f"LOT {lot('E01').pk}"))
    told = stopped(screen)
    assert "Q-1062: Plating lot 31-09B, but T01 in this tray is of 31-07A" in told
    assert line("Q-1062", "E01")["state"] == "open"


# --- the count ---


def test_taken_fills_the_line_of_every_tray_that_shares_the_bin(phone: Client) -> None:
    after = tap(phone, walk(phone, "Q-1062", "Q-1063"))
    assert after.heading == "C-01"
    for serial in ("Q-1062", "Q-1063"):
        found = line(serial, "T01")
        assert (found["state"], found["put_in"].key) == ("taken", "T01")
        assert (found["left_counted"], found["right_counted"]) == (3, 3)


def test_taken_takes_nothing_off_the_shelf_yet(phone: Client) -> None:
    before = counts("T01")
    tap(phone, walk(phone, "Q-1062", "Q-1063"))
    assert counts("T01") == before


def test_machines_are_counted_into_the_wells_of_each_tray(phone: Client) -> None:
    left = f"left-{line('Q-1063', 'T01')['id']}"
    tap(phone, walk(phone, "Q-1062", "Q-1063"), **{left: "2"})
    found = line("Q-1062", "T01"), line("Q-1063", "T01")
    assert [(one["left_counted"], one["right_counted"]) for one in found] == [(3, 3), (2, 3)]


@pytest.mark.parametrize("left", ["", "15", "-1", "three", "²"])
def test_a_well_that_was_not_counted_is_asked_for_again(phone: Client, left: str) -> None:
    name = f"left-{line('Q-1062', 'T01')['id']}"
    screen = tap(phone, walk(phone, "Q-1062"), **{name: left})
    assert "Count left and right, seen from the front." in stopped(screen)
    assert line("Q-1062", "T01")["state"] == "open"


def test_a_bin_of_other_things_asks_for_no_wells(phone: Client) -> None:
    screen = unscanned(phone, walk(phone, "Q-1062", passed=1))
    assert not [name for name in counted(screen) if name.startswith(("left-", "right-"))]
    tap(phone, screen)
    assert line("Q-1062", "N01")["state"] == "taken"


@pytest.mark.parametrize("found", ["", "3", "-1", "two"])
def test_a_number_that_cannot_be_is_told_and_nothing_goes_in(phone: Client, found: str) -> None:
    screen = tap(phone, walk(phone, "Q-1062", "Q-1063"), found=found)
    assert "Take 0 to 2 here, and say how many you took." in stopped(screen)
    assert line("Q-1062", "T01")["state"] == "open"


def test_the_keys_count_without_script_as_well(phone: Client) -> None:
    screen = unscanned(phone, walk(phone, "Q-1062", "Q-1063"))
    assert counted(screen)["found"] == ["2"]
    fewer = tap(phone, screen, step="found:-1")
    assert counted(fewer)["found"] == ["1"]
    assert counted(tap(phone, fewer, step="found:1"))["found"] == ["2"]
    name = f"right-{line('Q-1062', 'T01')['id']}"
    assert counted(tap(phone, fewer, step=f"{name}:-1"))[name] == ["2"]
    assert line("Q-1062", "T01")["state"] == "open"


# --- short ---


def test_fewer_than_wanted_asks_what_is_left_and_says_who_goes_without(phone: Client) -> None:
    screen = tap(phone, walk(phone, "Q-1062", "Q-1063"), found="1")
    assert "How many are left in A-01?" in screen.words
    assert [one.split(" needed")[0] for one in shares(screen)] == [
        "1 for Q-1062",
        "Short: 1 for Q-1063",
    ]
    assert line("Q-1062", "T01")["state"] == "open"


def test_what_exists_goes_where_it_is_needed_first_and_the_other_is_short_with_its_date(
    phone: Client,
) -> None:
    on_hand, _ = counts("T01")
    screen = go_short(phone, walk(phone, "Q-1062", "Q-1063"), found=1, left=on_hand - 1)
    states = [line(serial, "T01")["state"] for serial in ("Q-1062", "Q-1063")]
    assert states == ["taken", "short"]
    needed = board.needed(["Q-1063"], NOW)["Q-1063"]["N60"]
    told = screen.of_class("finding-clear")[0]
    assert f"T01 is short for Q-1063 (N60 {needed:%a %H:%M})." in told
    assert "eceipt" in told
    last = LotCount.objects.latest("id")
    assert (last.expected, last.counted, last.ended) == (on_hand, on_hand, "agreed")


def test_an_urgent_tray_gets_the_one_that_is_there(phone: Client) -> None:
    Tray.objects.filter(pk=number("Q-1063")).update(urgent=True)
    go_short(phone, walk(phone, "Q-1062", "Q-1063"), found=1, left=13)
    states = [line(serial, "T01")["state"] for serial in ("Q-1062", "Q-1063")]
    assert states == ["short", "taken"]


def test_nothing_found_and_nothing_left_opens_a_second_count_of_the_bin(phone: Client) -> None:
    """Far from the figures one count moves nothing. Common practice, no source."""
    before = counts("T01")
    screen = go_short(phone, walk(phone, "Q-1062"), found=0, left=0)
    assert "A-01 differs from its figures. Another person counts it once more." in screen.words
    assert LotCount.objects.latest("id").ended == ""
    assert counts("T01") == before
    assert line("Q-1062", "T01")["state"] == "short"


def test_what_lies_in_the_trays_is_counted_with_what_is_left(phone: Client) -> None:
    """Two trays took theirs before, one takes its own now: 14 by the figures, 11 left."""
    tap(phone, walk(phone, "Q-1062"))
    on_hand, _ = counts("T01")
    add_instruments(2)
    walk_id = take_up(phone, "Q-20000", "Q-20001")
    go_short(phone, bin_page(phone, walk_id), found=1, left=on_hand - 2)
    last = LotCount.objects.latest("id")
    assert (last.counted, last.ended) == (on_hand, "agreed")


@pytest.mark.parametrize("left", ["", "-1", "some"])
def test_a_count_of_what_is_left_that_cannot_be_is_asked_again(phone: Client, left: str) -> None:
    screen = tap(phone, tap(phone, walk(phone, "Q-1062"), found="0"), left=left)
    assert "Count what is left in the bin." in stopped(screen)
    assert line("Q-1062", "T01")["state"] == "open"


def test_of_nine_sets_wanted_eight_are_there_and_one_tray_is_short_with_date_and_receipt(
    phone: Client,
) -> None:
    """14 on hand, 6 reserved for others: 8 free, 9 wanted. 12 come on 2031-03-04. Common
    practice, no source."""
    item = lot("T01").item_id
    for one in shelf.coming([item])[item]:
        ledger.give_up_delivery(one.id, "told anew by this test")
    ledger.expect(item, 12, NOW.date() + timedelta(days=1), "PO-22")
    on_hand, reserved = counts("T01")
    own = sum(one["reserved"] for one in (line("Q-1062", "T01"), line("Q-1063", "T01")))
    if (others := 6 - (reserved - own)) > 0:
        ledger.promise(lot("T01").pk, others, NOW, "reserved for others")
    add_instruments(7)
    TrayLine.objects.filter(item=item).update(used_at="N60")
    free = on_hand - max(6, reserved - own)
    serials = ["Q-1062", "Q-1063", *(f"Q-{20000 + turn}" for turn in range(7))]
    screen = walk(phone, *serials)
    assert screen.of_class("big")[0] == "Take 9"
    assert (on_hand, free) == (14, 8)
    assert "Check: by the figures 1 short here." in screen.of_class("short")
    after = go_short(phone, screen, found=8, left=6)
    assert (
        TrayLine.objects.filter(item__key="T01", tray__serial__in=serials, state="taken").count()
        == 8
    )
    told = after.of_class("finding-clear")[0]
    assert "T01 is short for Q-" in told
    assert "(N60 " in told
    assert "Next receipt Tue 2031-03-04: 12." in told


# --- twice, and by two ---


def test_a_double_tap_puts_in_once_and_goes_on_without_a_word(phone: Client) -> None:
    there = unscanned(phone, walk(phone, "Q-1062"))
    first = tap(phone, there)
    version = Tray.objects.get(pk=number("Q-1062")).version
    again = tap(phone, there)
    assert again.of_class("finding-stop") == []
    assert again.heading == first.heading
    assert Tray.objects.get(pk=number("Q-1062")).version == version


def test_a_second_clerk_at_the_same_bin_is_told_who_took_it(phone: Client) -> None:
    other = signed_in("P-01")
    walk_id = take_up(phone, "Q-1062")
    there = unscanned(phone, bin_page(phone, walk_id))
    other.post(f"/walks/{walk_id}/take/")
    tap(other, bin_page(other, walk_id))
    moved = Movement.objects.count()
    told = stopped(tap(phone, there))
    assert "1 × T01 for Q-1062: taken already, by P-01." in told
    assert Movement.objects.count() == moved


def test_a_page_that_names_no_line_leads_back_to_the_walk(phone: Client) -> None:
    walk_id = take_up(phone, "Q-1062")
    sent = {"at": "1-1", "found": "1", "line": ["", "²", "0"]}
    assert seen(phone.post(f"/walks/{walk_id}/pick/", sent, follow=True)).heading == "A-01"


def test_an_approved_substitute_is_a_tap_away_for_its_tray(phone: Client) -> None:
    now = board.by_serial("Q-1062")
    assert now is not None
    row = KitLine.objects.get(kit__revision=now.revision_id, item__key="T01")
    other = Item.objects.get(key="T03")
    Substitute.objects.create(
        line=row, item=other, approved_by="P-01", on=NOW.date(), why="Same button"
    )
    book.sheet.cache_clear()
    links = walk(phone, "Q-1062").links
    assert f"/line/{line('Q-1062', 'T01')['id']}/" in links["T03 for Q-1062"]


def test_a_line_that_no_bin_holds_is_marked_short_with_one_tap(phone: Client) -> None:
    clerk = Badge.objects.get(code="P-41").pk
    ledger.hold(lot("T01").pk, "Plating is spotted", clerk, NOW)
    screen = walk(phone, "Q-1062")
    while screen.heading != "no bin":
        screen = seen(phone.get(screen.links["Later"]))
    assert "Mark it short" in screen.buttons
    tap(phone, screen, left="0")
    assert line("Q-1062", "T01")["state"] == "short"


# --- as many statements for forty trays as for five ---


def test_a_bin_of_forty_trays_takes_no_more_statements_than_one_of_five(phone: Client) -> None:
    def asked(address: str) -> int:
        with CaptureQueriesContext(connection) as captured:
            assert phone.get(address).status_code == 200
        return len(captured)

    add_instruments(44)
    five = take_up(phone, *(f"Q-{20000 + turn}" for turn in range(4)), "Q-1062")
    forty = take_up(phone, *(f"Q-{20004 + turn}" for turn in range(39)), "Q-1063")
    asked(f"/walks/{five}/")
    assert asked(f"/walks/{forty}/") == asked(f"/walks/{five}/")


# --- numbers that are none ---


@pytest.mark.parametrize("text", NO_NUMBERS)
def test_a_bins_address_with_a_number_that_is_none_shows_the_bin(phone: Client, text: str) -> None:
    walk_id = take_up(phone, "Q-1062")
    at = at_of(bin_page(phone, walk_id))
    said = {"at": at, "bin": "A-01", "lot": text, "found": text, "left": text}
    assert seen(phone.get(f"/walks/{walk_id}/", said)).heading == "A-01"
    sent = said | {"step": "found:1"}
    assert seen(phone.post(f"/walks/{walk_id}/pick/", sent, follow=True)).heading == "A-01"


@pytest.mark.parametrize("text", NO_NUMBERS)
def test_a_count_at_a_bin_that_is_none_is_told_and_nothing_goes_in(
    phone: Client, text: str
) -> None:
    screen = tap(phone, walk(phone, "Q-1062"), found=text)
    assert "Take 0 to 1 here, and say how many you took." in stopped(screen)
    assert line("Q-1062", "T01")["state"] == "open"


@pytest.mark.parametrize("text", NO_NUMBERS)
def test_a_line_or_lot_that_is_no_number_is_none_of_this_bin(phone: Client, text: str) -> None:
    screen = unscanned(phone, walk(phone, "Q-1062"))
    assert tap(phone, screen, line=text).heading == "A-01"
    assert line("Q-1062", "T01")["state"] == "open"
    tap(phone, screen, lot=text)
    assert line("Q-1062", "T01")["lot_id"] == lot("T01").pk  # the one kept for it


@pytest.mark.parametrize("text", NO_NUMBERS)
def test_a_lines_own_page_takes_no_number_that_is_none(phone: Client, text: str) -> None:
    address = f"/trays/{code('Q-1062')}/line/{line('Q-1062', 'T01')['id']}/"
    assert phone.get(address, {"lot": text}).status_code == 200
    seen(phone.post(f"{address}split/", {"first": text}, follow=True))
    assert line("Q-1062", "T01")["state"] == "open"
    seen(phone.post(address, {"item": "T01", "lot": text}, follow=True))
    assert line("Q-1062", "T01")["lot_id"] == lot("T01").pk


@pytest.mark.parametrize("text", NO_NUMBERS)
def test_no_part_is_found_looked_at_or_given_back_in_a_number_that_is_none(
    phone: Client, text: str
) -> None:
    moved = Movement.objects.count()
    found = {"item": "T01", "where": "On the floor", "quantity": text, "known": text}
    assert "0 found: that is none." in stopped(
        seen(phone.post("/pieces/found/", found, follow=True))
    )
    apart = {"as": "thrown", "quantity": text, "why": "Worn or bent", "known": text}
    assert phone.post(f"/lots/{lot('T01').pk}/look/", apart, follow=True).status_code == 200
    singles = {"as": "singles", "quantity": "1", "left": text, "right": text}
    assert phone.post(f"/lots/{lot('T01').pk}/look/", singles, follow=True).status_code == 200
    back = {"line": text, "quantity": text, "how": "sealed", "key": key(), "why": "It does not fit"}
    assert phone.post(f"/trays/{code('Q-1062')}/return/", back, follow=True).status_code == 200
    assert Movement.objects.count() == moved


@pytest.mark.parametrize("text", NO_NUMBERS)
def test_a_lot_is_measured_where_the_last_check_is_no_number(phone: Client, text: str) -> None:
    sent = {"dimension": "post_mm", "value": "6.00", "after": text}
    screen = seen(phone.post(f"/lots/{lot('T03').pk}/", sent, follow=True))
    assert "1 piece measured" in screen.words
