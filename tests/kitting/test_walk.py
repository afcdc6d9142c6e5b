"""The clerk's list of trays, and the walk past the bins that fills them."""

from __future__ import annotations

import csv
import io
from datetime import date
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop.catalogue.models import Item
from shop.floor import door
from shop.stock import ledger
from shop.stock.models import Lot, Tray
from tests.bench.crowd import add_instruments
from tests.bench.screens import Screen, seen, signed_in
from tests.floor.morning import NOW, act, pick
from tests.kitting.clerk import TOMORROW, code, counts, line, number, tap, walk

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def phone() -> Client:
    return signed_in("P-41")


def listed(phone: Client) -> list[str]:
    """The serials on the list."""
    return seen(phone.get("/trays/")).of_class("tray-serial")


# --- the list ---


def test_the_list_holds_every_tray_wanted_up_to_tomorrow(phone: Client) -> None:
    assert seen(phone.get("/trays/")).heading == "Trays wanted up to Tue 2031-03-04"
    assert listed(phone) == ["Q-1044", *TOMORROW]


def test_a_tray_wanted_later_waits_for_its_day(phone: Client) -> None:
    Tray.objects.filter(pk=number("Q-1065")).update(wanted_on=date(2031, 3, 5))
    assert listed(phone) == ["Q-1044", "Q-1062", "Q-1063", "Q-1064"]


def test_a_tray_tells_how_many_of_its_lines_are_to_pick(phone: Client) -> None:
    rows = seen(phone.get("/trays/")).of_class("tray-row")
    assert "release Mon 2031-03-03 · picked, not closed" in rows[0]
    assert "release Tue 2031-03-04 · 6 of 6 to pick" in rows[1]


def test_a_line_marked_short_stands_on_the_list_by_name(phone: Client) -> None:
    assert seen(phone.get("/trays/")).of_class("short") == [
        "Short: T02 open-gear individual set, gold"
    ]


def test_a_line_the_shelf_cannot_cover_stands_on_the_list_before_anybody_walks(
    phone: Client,
) -> None:
    """All of T09 is promised away here, so a new tray gets none."""
    on_hand, reserved = counts("T09")
    lot = Lot.objects.get(item__key="T09")
    ledger.promise(lot.pk, on_hand - reserved, NOW, "invented for this test")
    deed = door.Released("Q-1067", "K-2103", "FELL", due_on=NOW.date(), release_on=NOW.date())
    assert door.record(act("P-01", reason="it follows"), deed).done
    row = next(one for one in seen(phone.get("/trays/")).of_class("tray-row") if "Q-1067" in one)
    assert "Short: T09 three-on-a-plate set" in row


def test_when_every_tray_is_closed_the_list_says_how_trays_come_to_it(phone: Client) -> None:
    for serial in ("Q-1044", *TOMORROW):
        tray_id = pick(serial, short=("T02",))
        assert door.record(act("P-41", "K", reason="so"), door.TrayClosed(tray_id)).done
    words = seen(phone.get("/trays/")).words
    assert "Every tray up to tomorrow is closed." in words
    assert "A tray is asked for here when the lead releases an instrument." in words


def test_an_operator_has_no_trays_to_pick() -> None:
    answer = signed_in("P-11").get("/trays/")
    assert answer.status_code == 403
    assert seen(answer).links["Scan"] == "/scan/"


# --- the walk ---


def bins(phone: Client, *serials: str) -> list[str]:
    """The bins in the order in which Later leads past them."""
    to_go = to_go_of(walk(phone, *serials))
    return [walk(phone, *serials, passed=passed).heading for passed in range(to_go)]


def to_go_of(screen: Screen) -> int:
    told = next(one for one in screen.of_class("faint") if "bins to go" in one)
    return int(told.split()[0])


def test_the_walk_goes_from_bin_to_bin_in_their_order(phone: Client) -> None:
    assert bins(phone, "Q-1062", "Q-1063") == ["A-01", "C-01", "C-06", "C-11", "D-01", "D-04"]


def test_a_bin_shows_how_many_to_take_for_which_tray_and_what_is_left(phone: Client) -> None:
    screen = walk(phone, "Q-1062", "Q-1063")
    assert screen.heading == "A-01"
    assert screen.of_class("big") == ["Take 2"]
    assert screen.of_class("share") == ["1 for Q-1062", "1 for Q-1063"]
    assert "14 on hand, 12 left after" in screen.words
    assert "6 bins to go for 2 trays" in screen.words


def test_without_a_choice_the_walk_is_for_every_tray(phone: Client) -> None:
    assert "for 5 trays" in walk(phone).words


def test_later_leads_to_the_next_bin_of_the_same_trays(phone: Client) -> None:
    later = walk(phone, "Q-1062").links["Later"]
    assert seen(phone.get(later)).heading == "C-01"


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


def test_short_marks_the_line_and_the_walk_goes_on(phone: Client) -> None:
    after = tap(phone, walk(phone, "Q-1062"), said="short")
    assert after.heading == "C-01"
    assert (line("Q-1062", "T01")["state"], line("Q-1062", "T01")["put_in"]) == ("short", None)


def test_after_the_last_bin_the_walk_says_what_comes_next(phone: Client) -> None:
    screen = walk(phone, "Q-1062")
    while screen.heading != "No bin left":
        screen = tap(phone, screen)
    assert "Close the trays and print their labels." in screen.words


def test_another_item_that_went_in_is_what_lies_in_the_tray(phone: Client) -> None:
    tap(phone, walk(phone, "Q-1062"), item="T03")
    assert line("Q-1062", "T01")["put_in"].key == "T03"


def test_an_item_that_does_not_exist_is_told_and_nothing_is_noted(phone: Client) -> None:
    screen = tap(phone, walk(phone, "Q-1062"), item="T99")
    assert "There is no item T99." in screen.of_class("finding-stop")[0]
    assert line("Q-1062", "T01")["state"] == "open"


def test_an_item_out_of_use_stays_chosen_where_a_kit_still_calls_for_it(phone: Client) -> None:
    Item.objects.filter(key="T01").update(obsolete=True)
    tap(phone, walk(phone, "Q-1062"))
    assert line("Q-1062", "T01")["put_in"].key == "T01"


@pytest.mark.parametrize("left", ["", "15", "-1", "three"])
def test_a_well_that_was_not_counted_is_asked_for_again(phone: Client, left: str) -> None:
    screen = tap(phone, walk(phone, "Q-1062"), left=left)
    assert "Count left and right, seen from the front." in screen.of_class("finding-stop")[0]
    assert line("Q-1062", "T01")["state"] == "open"


def test_a_bin_of_other_things_asks_for_no_wells(phone: Client) -> None:
    screen = walk(phone, "Q-1062", passed=1)
    assert "wells" not in screen.words
    tap(phone, screen)
    assert line("Q-1062", "N01")["state"] == "taken"


@pytest.mark.parametrize("share", ["", "a:b", "²:1"])
def test_a_page_that_names_no_line_is_sent_back_in_words(phone: Client, share: str) -> None:
    answer = phone.post(
        "/trays/pick/", {"said": "taken", "item": "T01", "share": share}, follow=True
    )
    assert "Open the bin again." in seen(answer).of_class("finding-stop")[0]


# --- as CSV ---


def table(answer: Any) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(answer.content.decode())))


def test_the_list_can_be_had_as_csv_line_by_line(phone: Client) -> None:
    answer = phone.get("/trays/list.csv")
    assert answer["Content-Type"].startswith("text/csv")
    rows = [row for row in table(answer) if row["serial"] == "Q-1062"]
    assert rows[0] == {
        "release": "2031-03-04",
        "serial": "Q-1062",
        "spec": "TARN",
        "tray": code("Q-1062"),
        "item": "T01",
        "name": "open-gear individual set",
        "quantity": "1",
        "state": "open",
        "bin": "A-01",
    }
    assert len(rows) == 6


def test_a_short_line_is_short_in_the_csv_too(phone: Client) -> None:
    rows = {row["item"]: row["state"] for row in table(phone.get("/trays/list.csv"))}
    assert rows["T02"] == "short"


@pytest.mark.parametrize("name", ["=2+5", "+1", "-1", "@A1"])
def test_no_cell_of_the_csv_is_a_formula(phone: Client, name: str) -> None:
    """OWASP ASVS 5.0, requirement 1.2.10: a cell that begins so gets a single quote."""
    Item.objects.filter(key="N01").update(name=name)
    rows = [row for row in table(phone.get("/trays/list.csv")) if row["item"] == "N01"]
    assert {row["name"] for row in rows} == {f"'{name}"}


# --- as many statements for forty trays as for five ---


@pytest.mark.parametrize("address", ["/trays/", "/trays/list.csv", "/trays/walk/"])
def test_a_list_of_forty_trays_takes_no_more_statements_than_one_of_five(
    phone: Client, address: str
) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as captured:
            assert phone.get(address).status_code == 200
        return len(captured)

    asked()
    five = asked()
    add_instruments(35)
    assert len(listed(phone)) == 40
    assert asked() == five
