"""The clerk's front page: the day's figures, what comes next, the trays by wave, the list."""

from __future__ import annotations

import csv
import io
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop.catalogue.models import Item
from shop.floor import board, door
from shop.kitting.days import closes, day_after
from shop.people.models import Badge
from shop.stock import ledger
from shop.stock.models import Lot, Tray, TrayLine
from tests.bench.crowd import add_instruments
from tests.bench.screens import Screen, seen, signed_in
from tests.floor.morning import NOW, act, pick
from tests.kitting.clerk import TOMORROW, close, code, counts, number, take_up
from tests.people.phones import Clock

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def phone() -> Client:
    return signed_in("P-41")


def front(phone: Client) -> Screen:
    return seen(phone.get("/trays/"))


def listed(phone: Client) -> list[str]:
    """The serials on the front page."""
    return front(phone).of_class("tray-serial")


def figure(phone: Client, name: str) -> str:
    """One of the day's figures by its words."""
    rows = front(phone).one(".//dl").iter("div")
    found = {
        "".join(row[0].itertext()): " ".join("".join(row[1].itertext()).split()) for row in rows
    }
    return found[name]


# --- the trays ---


def test_the_list_holds_every_tray_wanted_up_to_tomorrow(phone: Client) -> None:
    assert front(phone).heading == "Trays wanted up to Tue 2031-03-04"
    assert sorted(listed(phone)) == ["Q-1044", *TOMORROW]


def test_a_tray_wanted_later_waits_for_its_day(phone: Client) -> None:
    Tray.objects.filter(pk=number("Q-1065")).update(wanted_on=date(2031, 3, 5))
    assert sorted(listed(phone)) == ["Q-1044", "Q-1062", "Q-1063", "Q-1064"]


def test_on_a_friday_the_trays_of_monday_are_picked(today: Clock) -> None:
    today.now = NOW + timedelta(days=4)
    assert front(signed_in("P-41")).heading == "Trays wanted up to Mon 2031-03-10"


def test_a_tray_tells_how_many_of_its_lines_are_to_pick(phone: Client) -> None:
    rows = {one.split()[0]: one for one in front(phone).of_class("tray-row")}
    assert "release Mon 2031-03-03 · picked, 5 to check" in rows["Q-1044"]
    assert "release Tue 2031-03-04 · 6 of 6 to pick" in rows["Q-1062"]


def test_a_line_marked_short_stands_on_the_list_by_name(phone: Client) -> None:
    assert front(phone).of_class("short") == ["Short: T02 open-gear individual set, gold"]


def test_a_line_the_shelf_cannot_cover_stands_on_the_list_before_anybody_walks(
    phone: Client,
) -> None:
    """All of T09 is promised away here, so a new tray gets none."""
    on_hand, reserved = counts("T09")
    lot = Lot.objects.get(item__key="T09")
    ledger.promise(lot.pk, on_hand - reserved, NOW, "invented for this test")
    deed = door.Released("Q-1067", "K-2103", "FELL", due_on=NOW.date(), release_on=NOW.date())
    assert door.record(act("P-01", reason="it follows"), deed).done
    row = next(one for one in front(phone).of_class("tray-row") if "Q-1067" in one)
    assert "Short: T09 three-on-a-plate set" in row


def test_when_every_tray_is_closed_the_page_says_how_trays_come_to_it(phone: Client) -> None:
    Tray.objects.exclude(state="closed").update(wanted_on=date(2031, 3, 20))
    words = front(phone).words
    assert "Every tray up to Tuesday is closed." in words
    assert "A tray is asked for here when the lead releases an instrument." in words


def test_trays_stand_under_their_wave(phone: Client) -> None:
    take_up(phone, "Q-1063", "Q-1064")
    assert listed(phone) == ["Q-1065", "Q-1044", "Q-1062", "Q-1063", "Q-1064"]
    words = front(phone).words
    assert "Wave 1 for Tue 2 trays · " in words


def test_an_operator_has_no_trays_to_pick() -> None:
    answer = signed_in("P-11").get("/trays/")
    assert answer.status_code == 403
    assert seen(answer).links["Scan"] == "/scan/"


# --- what comes next ---


def step(screen: Screen) -> str:
    """The one thing to do next."""
    (section,) = screen.of_class("next")
    return section


def test_with_trays_in_no_wave_the_wave_is_built(phone: Client) -> None:
    assert step(front(phone)) == "4 trays to pick. Build the wave"


def test_with_a_wave_that_nobody_walks_its_bins_are_walked(phone: Client) -> None:
    phone.post("/waves/", {"tray": [str(number("Q-1062"))], "waves": "1"})
    assert step(front(phone)) == "Wave 1, walk 1: 6 lines to pick. Walk the bins"


def test_the_tap_on_what_comes_next_takes_the_walk_up_at_its_first_bin(phone: Client) -> None:
    phone.post("/waves/", {"tray": [str(number("Q-1062"))], "waves": "1"})
    address = front(phone).one(".//section[@class='next']/form").get("action", "")
    assert seen(phone.post(address, follow=True)).heading == "A-01"


def test_whoever_walks_goes_on_and_another_has_the_rest_to_do(phone: Client) -> None:
    take_up(phone, "Q-1062")
    assert step(front(phone)).endswith("Go on with the walk")
    assert step(front(signed_in("P-01"))) == "3 trays to pick. Build the wave"


def test_when_all_is_picked_the_trays_are_checked(phone: Client) -> None:
    for serial in TOMORROW:
        Tray.objects.filter(pk=number(serial)).update(wanted_on=date(2031, 3, 20))
    screen = front(phone)
    assert step(screen) == "1 tray picked and not checked. Check the trays"
    assert screen.links["Check the trays"] == f"/trays/{code('Q-1044')}/"


def test_with_nothing_to_do_nothing_is_offered(phone: Client) -> None:
    Tray.objects.exclude(state="closed").update(wanted_on=date(2031, 3, 20))
    assert front(phone).of_class("next") == []


def test_an_urgent_tray_is_marked_and_comes_first(phone: Client) -> None:
    assert front(phone).of_class("tray-row")[0].startswith("Q-1065 FELL Urgent")
    Tray.objects.filter(pk=number("Q-1065")).update(urgent=False)
    assert listed(phone) == ["Q-1044", *TOMORROW]


# --- the list closes ---


def test_the_list_of_a_day_closes_at_two_the_work_day_before() -> None:
    """14:00 on the day before, over a weekend on the Friday: common practice, no source."""
    friday = date(2031, 3, 7)
    assert day_after(friday) == date(2031, 3, 10)
    assert closes(date(2031, 3, 10)).isoformat()[:16] == "2031-03-07T14:00"
    assert closes(date(2031, 3, 4)).isoformat()[:16] == "2031-03-03T14:00"


def test_the_page_tells_how_long_the_list_stays_open_and_when_it_closed(
    phone: Client, today: Clock
) -> None:
    assert "The list for Tue closes in 4 h 30 min." in front(phone).words
    today.now = NOW + timedelta(hours=5)
    assert "The list for Tue closed at 14:00." in front(signed_in("P-41")).words


def test_a_tray_asked_for_after_its_list_closed_says_so(phone: Client) -> None:
    late = closes(date(2031, 3, 4)) + timedelta(minutes=1)
    Tray.objects.filter(pk=number("Q-1062")).update(asked_at=late)
    Tray.objects.filter(pk=number("Q-1063")).update(asked_at=late - timedelta(minutes=1))
    rows = {one.split()[0]: one for one in front(phone).of_class("tray-row")}
    assert "after the list closed" in rows["Q-1062"]
    assert "after the list closed" not in rows["Q-1063"]


# --- the figures ---


def test_a_tray_closed_at_once_is_right_at_first_check(phone: Client) -> None:
    pick("Q-1062")
    close(phone, "Q-1062")
    assert figure(phone, "Checked today") == "1"
    assert figure(phone, "Right at first check") == "100 % 1 of 1"


def test_a_tray_refused_once_is_never_right_at_first_check_again(phone: Client) -> None:
    close(phone, "Q-1062")  # nothing is picked yet
    assert figure(phone, "Right at first check") == "0 % 0 of 1"
    pick("Q-1062")
    close(phone, "Q-1062")
    pick("Q-1063")
    close(phone, "Q-1063")
    assert figure(phone, "Checked today") == "2"
    assert figure(phone, "Right at first check") == "50 % 1 of 2"


def test_a_first_try_of_another_day_is_not_told_of_today(phone: Client, today: Clock) -> None:
    close(phone, "Q-1062")
    today.now = NOW + timedelta(days=1)
    pick("Q-1062")
    close(signed_in("P-41"), "Q-1062")
    tries = board.closed_first_time(date(2031, 3, 4))
    assert (tries.closed, tries.tried, tries.right, tries.percent) == (1, 0, 0, None)


def test_before_any_try_there_is_no_figure_to_tell(phone: Client) -> None:
    assert figure(phone, "Right at first check") == "none yet"


def test_the_oldest_partial_tray_is_named_with_its_day(phone: Client) -> None:
    assert figure(phone, "Oldest partial") == "Q-1044 Mon 2031-03-03"


def test_the_figures_of_shorts_and_counts_are_those_of_their_pages(phone: Client) -> None:
    short = [one for one in board.shorts(NOW) if not one.here]
    assert figure(phone, "Shorts") == str(len(short))
    assert int(figure(phone, "Counts due")) > 0


def figure_links(phone: Client) -> dict[str, str]:
    """Where a tap on the day's figures leads."""
    found = front(phone).one(".//dl").iter("a")
    return {"".join(one.itertext()): one.get("href", "") for one in found}


def test_a_tap_on_a_figure_leads_to_what_it_counts(phone: Client) -> None:
    links = figure_links(phone)
    assert links == {
        "Shorts": "/shorts/",
        "Q-1044": f"/trays/{code('Q-1044')}/",
        "Counts due": "/counts/",
    }
    for address in links.values():
        assert phone.get(address).status_code == 200, address


@pytest.mark.parametrize(
    ("right", "words"), [("stock_see", "Shorts"), ("stock_count", "Counts due")]
)
def test_a_figure_leads_nowhere_for_who_may_not_go_there(
    phone: Client, right: str, words: str
) -> None:
    group = Badge.objects.get(code="P-41").groups.get()
    group.permissions.remove(group.permissions.get(codename=right))
    allowed = signed_in("P-41")
    assert words not in figure_links(allowed)
    assert figure(allowed, words).isdecimal()


def test_without_a_partial_tray_there_is_none_to_open(phone: Client) -> None:
    TrayLine.objects.filter(state="short").update(state="open")
    assert figure(phone, "Oldest partial") == "none"
    assert set(figure_links(phone)) == {"Shorts", "Counts due"}


def test_the_other_pages_of_the_clerk_are_a_tap_away_and_open(phone: Client) -> None:
    links = front(phone).links
    for words in (
        "Waves", "Shorts", "Deliveries in", "Parts back", "Counts", "To order", "Bins",
        "Where a lot went", "Lists in and out",
    ):  # fmt: skip
        assert phone.get(links[words]).status_code == 200, words


def test_a_page_that_is_not_the_badges_is_not_offered(phone: Client) -> None:
    group = Badge.objects.get(code="P-41").groups.get()
    group.permissions.remove(group.permissions.get(codename="stock_receive"))
    links = front(signed_in("P-41")).links
    assert "Deliveries in" not in links
    assert "Parts back" not in links
    assert "Waves" in links


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


@pytest.mark.parametrize("address", ["/trays/", "/trays/list.csv", "/waves/"])
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
