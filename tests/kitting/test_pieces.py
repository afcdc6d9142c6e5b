"""Parts apart at the clerk's desk: looked at, broken, made, drawn, found, given back."""

from __future__ import annotations

import csv
import io
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop.catalogue import book
from shop.floor import door
from shop.people.models import Badge
from shop.stock import ledger, shelf
from shop.stock.models import Lot, Movement, TrayLine
from tests.bench.screens import Screen, key, seen, signed_in
from tests.floor.morning import NOW, act, now

pytestmark = pytest.mark.usefixtures("today")

OWN = "Q-1043"
WHOLE = {"machines": "1", "screws": "1", "bushings": "1", "one_lot": "1", "strings": "1"}
WHY = "A machine for a repair"


@pytest.fixture
def phone() -> Client:
    return signed_in("P-41")


def clerk() -> int:
    return Badge.objects.get(code="P-41").pk


def item(name: str = "T03") -> int:
    return book.item_ids([name])[name]


def lot(name: str = "T03", piece: str = "") -> Lot:
    return Lot.objects.filter(item__key=name, piece=piece, held="").order_by("id")[0]


def apart(quantity: int = 1) -> Lot:
    """A set T03 that was found and set apart."""
    return Lot.objects.get(pk=ledger.found(item(), quantity, "On the floor", clerk(), NOW))


def post(phone: Client, path: str, **sent: Any) -> Screen:
    return seen(phone.post(path, sent, follow=True))


def stops(screen: Screen) -> str:
    return " ".join(screen.of_class("finding-stop"))


# --- the page ---


def test_what_is_set_apart_stands_there_with_its_age_and_reason(phone: Client) -> None:
    one = apart()
    Lot.objects.filter(pk=one.pk).update(received_on=date(2031, 2, 28))
    screen = seen(phone.get("/pieces/"))
    assert screen.heading == "1 to look at"
    assert "found 2031-03-03 · bin A-03 · 3 days Found: On the floor" in screen.words
    assert screen.links["Look at it: T03 found 2031-03-03"] == f"/lots/{one.pk}/look/"


def test_an_empty_page_says_what_would_be_there(phone: Client) -> None:
    screen = seen(phone.get("/pieces/"))
    assert screen.heading == "Nothing to look at"
    assert "No singles." in screen.words


def test_singles_and_spares_stand_there_by_lot(phone: Client) -> None:
    before = seen(phone.get("/pieces/"))
    assert f"T03 lot {lot().code}: 0 of 1 for 6 sets, bin A-03" in before.words
    ledger.break_set(lot().pk, clerk(), NOW, WHY)
    after = seen(phone.get("/pieces/"))
    assert f"T03 lot {lot().code}: 0 of 1" not in after.words
    assert f"T03 lot {lot().code}" in after.words.split("Singles")[1].split("Spares")[0]


def test_all_of_it_comes_as_csv(phone: Client) -> None:
    apart()
    ledger.break_set(lot().pk, clerk(), NOW, WHY)
    told = phone.get("/pieces/list.csv").content.decode()
    rows = [one for one in csv.DictReader(io.StringIO(told)) if one["item"] == "T03"]
    assert [(one["what"], one["whole"], one["left"], one["right"]) for one in rows] == [
        ("set apart", "1", "", ""),
        ("singles", "", "3", "3"),
    ]


@pytest.mark.parametrize("more", [5, 40])
def test_the_page_takes_as_many_statements_for_any_number_of_parts(
    phone: Client, more: int
) -> None:
    """Badge and rights, what is apart, singles, three for the spares, items, last movement."""
    for number in range(more):
        made = ledger.receive(item(), "Y-01", f"M{number}", 2, date(2031, 1, 1), NOW)
        ledger.break_set(made, clerk(), NOW, WHY)
        ledger.found(item(), 1, "A drawer", clerk(), NOW + timedelta(days=number))
    phone.get("/pieces/")
    with CaptureQueriesContext(connection) as asked:
        phone.get("/pieces/")
    assert len(asked) == 9


def test_an_operator_has_no_business_there() -> None:
    assert signed_in("P-11").get("/pieces/").status_code == 403


# --- found ---


def find(phone: Client, **sent: Any) -> Screen:
    usual = {"item": "T03", "quantity": "1", "where": "In a sweeping", "piece": "", "known": "0"}
    return post(phone, "/pieces/found/", **(usual | sent))


def test_a_part_found_is_set_apart(phone: Client) -> None:
    screen = find(phone, piece="L")
    assert "T03 is set apart." in screen.words
    assert "left singles" in screen.words
    assert lot().on_hand == 6


def test_the_same_find_sent_twice_is_kept_once(phone: Client) -> None:
    known = str(shelf.last_movement())
    for _ in range(2):
        find(phone, known=known)
    assert Lot.objects.get(code="found 2031-03-03").on_hand == 1


@pytest.mark.parametrize(
    ("sent", "told"),
    [
        ({"item": "?"}, "Nobody knows this part yet. Bag it with the place and the day"),
        ({"item": ""}, "Say what you found."),
        ({"quantity": "x"}, "0 found: that is none."),
        ({"where": ""}, "Say where it lay."),
    ],
)
def test_a_find_that_is_not_told_whole_says_what_lacks(
    phone: Client, sent: dict[str, str], told: str
) -> None:
    assert told in stops(find(phone, **sent))
    assert shelf.set_apart(NOW.date()) == []


def test_a_find_that_is_refused_keeps_what_was_typed(phone: Client) -> None:
    screen = find(phone, item="P04", quantity="0", words="Under the bench", piece="R")
    assert "0 found: that is none." in stops(screen)
    chosen = [one.get("value") for one in screen.root.iter("option") if "selected" in one.attrib]
    assert chosen == ["P04"]
    assert screen.one(".//input[@id='quantity']").get("value") == "0"
    assert screen.one(".//input[@id='where-words']").get("value") == "Under the bench"
    taps = [one.get("value") for one in screen.root.iter("input") if "checked" in one.attrib]
    assert taps == ["R", "In a sweeping"]
    assert [one for one in screen.root.iter("details") if "open" in one.attrib] != []


def test_a_find_that_nobody_chose_from_the_list_keeps_its_words(phone: Client) -> None:
    screen = find(phone, item="", quantity="3", words="Under the bench")
    assert screen.one(".//input[@id='quantity']").get("value") == "3"
    assert screen.one(".//input[@id='where-words']").get("value") == "Under the bench"


def test_a_form_nothing_was_typed_in_starts_afresh(phone: Client) -> None:
    screen = seen(phone.get("/pieces/"))
    assert screen.one(".//input[@id='quantity']").get("value") == "1"
    taps = [one.get("value") for one in screen.root.iter("input") if "checked" in one.attrib]
    assert taps == [""]
    assert [one for one in screen.root.iter("details") if "open" in one.attrib] == []


# --- looked at ---


def test_the_page_asks_how_it_is_found_with_three_taps(phone: Client) -> None:
    screen = seen(phone.get(f"/lots/{apart().pk}/look/"))
    ways = ["As good as new", "No set, but good machines", "Good for nothing"]
    assert [one for one in screen.buttons if one in ways] == ways


def test_pins_are_not_asked_for_singles(phone: Client) -> None:
    found = ledger.found(item("P04"), 2, "On the floor", clerk(), NOW)
    screen = seen(phone.get(f"/lots/{found}/look/?as=singles"))
    assert "No set, but good machines" not in screen.buttons
    assert "Good left" not in screen.words


def test_a_whole_set_goes_back_on_the_shelf(phone: Client) -> None:
    one = apart()
    page = seen(phone.get(f"/lots/{one.pk}/look/?as=whole"))
    assert "All 3 left and 3 right machines are there" in page.words
    assert "Each string" not in page.words
    sent = {"as": "whole", "quantity": "1", "lot": lot().code, "known": "1"} | WHOLE
    screen = post(phone, f"/lots/{one.pk}/look/", **sent)
    assert screen.heading == "Nothing to look at"
    assert "back on the shelf" in screen.words
    assert lot().on_hand == 7


def test_a_set_that_lacks_its_screws_says_so_and_keeps_what_was_tapped(phone: Client) -> None:
    one = apart()
    sent = {"as": "whole", "quantity": "1", "lot": lot().code, "known": "1", "machines": "1"}
    screen = post(phone, f"/lots/{one.pk}/look/", **sent)
    assert "T03 is no set without screws and 1 spare" in stops(screen)
    chosen = [box.get("name") for box in screen.root.iter("input") if "checked" in box.attrib]
    assert chosen == ["machines", "lot"]


def test_good_machines_of_it_are_kept_as_singles(phone: Client) -> None:
    one = apart()
    sent = {"as": "singles", "quantity": "1", "left": "3", "right": "2", "known": "1"}
    screen = post(phone, f"/lots/{one.pk}/look/", **(sent | {"other_lot": lot().code}))
    assert "kept as singles" in screen.words
    [loose] = shelf.singles()
    assert (loose.left, loose.right) == (3, 2)


def test_what_is_good_for_nothing_is_thrown_away_with_a_reason(phone: Client) -> None:
    one = apart()
    sent = {"as": "thrown", "quantity": "1", "known": "1"}
    assert "Say why it is thrown away." in stops(post(phone, f"/lots/{one.pk}/look/", **sent))
    post(phone, f"/lots/{one.pk}/look/", **(sent | {"why": "Worn or bent"}))
    assert shelf.set_apart(NOW.date()) == []


def test_a_look_sent_twice_counts_once(phone: Client) -> None:
    one = apart(2)
    sent = {"as": "thrown", "quantity": "1", "known": "2", "why": "Worn or bent"}
    post(phone, f"/lots/{one.pk}/look/", **sent)
    again = post(phone, f"/lots/{one.pk}/look/", **sent)
    assert "holds 1 now, no longer 2" in stops(again)
    one.refresh_from_db()
    assert one.on_hand == 1


@pytest.mark.parametrize(
    ("sent", "told"),
    [
        ({"as": "?"}, "Say how you found it"),
        ({"as": "singles", "left": "", "right": "3"}, "Count the good machines"),
        ({"as": "whole", "quantity": "x"} | WHOLE, "0 named, 1 of T03 are set apart"),
        ({"as": "whole", "quantity": "1"} | WHOLE, "Say which lot it is of"),
    ],
)
def test_a_look_that_is_not_told_whole_says_what_lacks(
    phone: Client, sent: dict[str, str], told: str
) -> None:
    one = apart()
    assert told in stops(post(phone, f"/lots/{one.pk}/look/", **sent))
    one.refresh_from_db()
    assert one.on_hand == 1


def test_the_lots_page_leads_to_the_look(phone: Client) -> None:
    screen = seen(phone.get(f"/lots/{apart().pk}/"))
    assert "Look at it" in screen.buttons
    assert "Draw of it for a guitar at Repair" not in screen.buttons


# --- broken and made ---


def broken(phone: Client) -> Screen:
    page = seen(phone.get(f"/lots/{lot().pk}/"))
    fields = page.form(f"/lots/{lot().pk}/break/")
    return post(phone, f"/lots/{lot().pk}/break/", **fields, why=WHY)


def test_a_set_is_broken_on_its_lots_page(phone: Client) -> None:
    screen = broken(phone)
    assert "1 set of T03 broken. Bag left and right apart" in screen.words
    assert lot().on_hand == 5


def test_a_break_sent_twice_breaks_one_set(phone: Client) -> None:
    sent = {"known": "6", "why": WHY}
    post(phone, f"/lots/{lot().pk}/break/", **sent)
    again = post(phone, f"/lots/{lot().pk}/break/", **sent)
    assert "holds 5 now, no longer 6" in stops(again)
    assert lot().on_hand == 5


def test_a_set_is_broken_for_a_reason(phone: Client) -> None:
    screen = post(phone, f"/lots/{lot().pk}/break/", known="6")
    assert "Say why a set is broken." in stops(screen)


def test_singles_are_called_so_wherever_lots_are_listed(phone: Client) -> None:
    broken(phone)
    assert "left singles" in seen(phone.get("/lots/")).words
    assert "left singles" in seen(phone.get(f"/lots/{lot('T03', 'L').pk}/")).words


def test_a_set_is_made_of_singles_once_they_are_laid_out(phone: Client) -> None:
    broken(phone)
    path = f"/lots/{lot('T03', 'L').pk}/make/"
    page = seen(phone.get(path))
    assert "3 left, 3 right" in page.words
    fields = page.form(path)
    lacking = post(phone, path, **fields, bushings="1")
    assert "Lacks screws and 1 spare." in stops(lacking)
    made = post(phone, path, **fields, bushings="1", screws="1")
    assert f"1 set of T03 more in lot {lot().code}." in made.words
    assert (lot().on_hand, shelf.singles()) == (6, [])


def test_no_set_is_made_of_what_is_no_single(phone: Client) -> None:
    assert phone.get(f"/lots/{lot().pk}/make/").status_code == 404


# --- drawn ---


def draw(phone: Client, **sent: Any) -> Screen:
    usual = {"key": key(), "quantity": "1", "serial": OWN, "why": "Button cracked"}
    return post(phone, f"/lots/{lot('T03', 'L').pk}/draw/", **(usual | sent))


def test_a_single_is_drawn_for_a_guitar_at_repair(phone: Client) -> None:
    broken(phone)
    assert door.record(act("P-11", "N"), door.Dropped(now(OWN).id)).done
    page = seen(phone.get(f"/lots/{lot('T03', 'L').pk}/draw/"))
    assert OWN in page.words
    screen = draw(phone)
    assert f"1 × T03 drawn for {OWN}. Take it there." in screen.words
    assert Movement.objects.get(kind="drawn").serial == OWN


def test_the_clerk_is_told_why_nothing_is_drawn_for_one_that_is_not_at_repair(
    phone: Client,
) -> None:
    broken(phone)
    screen = draw(phone)
    assert "is on no repair loop" in stops(screen)
    assert not Movement.objects.filter(kind="drawn").exists()


def test_a_lead_is_asked_for_a_reason_and_draws_all_the_same() -> None:
    lead = signed_in("P-01")
    broken(lead)
    screen = draw(lead)
    assert "Why it is done all the same" in screen.words
    done = draw(lead, reason="Cracked while it was fitted")
    assert "drawn for" in done.words


def test_a_number_nobody_has_is_told(phone: Client) -> None:
    broken(phone)
    assert "There is no instrument Q-0. Read it again." in stops(draw(phone, other_serial="q-0"))


# --- back from a tray ---


def line(serial: str = OWN) -> TrayLine:
    rows = TrayLine.objects.filter(tray_id=now(serial).tray_id, state="taken", fitted=0)
    return rows.order_by("id")[0]


def give_back(phone: Client, **sent: Any) -> Screen:
    usual = {
        "key": key(), "line": str(line().pk), "quantity": "1", "how": "sealed",
        "reason": "It was not needed",
    }  # fmt: skip
    return post(phone, f"/trays/{now(OWN).tray_code}/return/", **(usual | sent))


def test_a_sealed_part_comes_back_and_the_page_says_where_it_goes(phone: Client) -> None:
    one = line()
    screen = give_back(phone)
    assert "go back to their bin today" in screen.of_class("finding-clear")[0]
    one.refresh_from_db()
    assert one.returned == 1


def test_the_page_lists_what_can_come_back(phone: Client) -> None:
    page = seen(phone.get(f"/trays/{now(OWN).tray_code}/return/"))
    assert page.heading == f"A part of {OWN} comes back"
    assert "1 in the tray" in page.words


def test_what_does_not_come_back_says_why_and_keeps_what_was_tapped(phone: Client) -> None:
    screen = give_back(phone, quantity="99", how="opened")
    assert "99 named" in stops(screen)
    chosen = [box.get("value") for box in screen.root.iter("input") if "checked" in box.attrib]
    assert chosen == [str(line().pk), "opened", "It was not needed"]


def test_words_of_ones_own_are_the_reason(phone: Client) -> None:
    give_back(phone, words="The bag was empty", how="opened")
    assert Lot.objects.get(code=f"off {OWN}").held == f"Off {OWN}: The bag was empty"


def test_the_same_return_sent_twice_is_one(phone: Client) -> None:
    sent = {"key": key(), "line": str(line().pk)}
    before = Movement.objects.count()
    for _ in range(2):
        give_back(phone, **sent)
    assert Movement.objects.count() == before + 1


def test_an_open_tray_says_that_nothing_left_its_bin(phone: Client) -> None:
    page = seen(phone.get(f"/trays/{now('Q-1062').tray_code}/return/"))
    assert "This tray is open: nothing of it left its bin." in page.words
    assert phone.get("/trays/T000000/return/").status_code == 404
