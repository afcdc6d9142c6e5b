"""The pages of the carton and of the dock: scans, papers, cautions, and what a carrier takes.

Badges, serials, codes and the carrier are invented; what is asked here is common practice, no
source, unless a test names one.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from datetime import datetime
from typing import Any

import pytest
from django.test import Client

from shop.floor import board
from tests.bench.screens import Screen, key, seen, signed_in, tag
from tests.floor.around import goes_to
from tests.floor.morning import now
from tests.floor.shipping import CARRIER, MINUTE, boxed, hand_over, measured, paper, released
from tests.people.phones import Clock

pytestmark = pytest.mark.usefixtures("today")

SERIAL, OTHER = "Q-1038", "Q-1040"


@pytest.fixture(scope="module")
def shipping(morning: None, django_db_blocker: Any) -> Iterator[datetime]:
    """A moment at which two are released, and their values noted."""
    with django_db_blocker.unblock():
        moment = max(released(SERIAL), released(OTHER))
        for serial in (SERIAL, OTHER):
            measured(serial, moment)
        yield moment + MINUTE


@pytest.fixture
def at(shipping: datetime, today: Clock) -> datetime:
    today.now = shipping
    return shipping


@pytest.fixture
def phone(at: datetime) -> Client:
    return signed_in("P-51", "Z")


def box(phone: Client, serial: str = SERIAL, **asked: str) -> Screen:
    return seen(phone.get(f"/{tag(serial)}/box/", asked))


def scan(phone: Client, code: str, case: str = "", serial: str = SERIAL) -> Any:
    here = f"/{tag(serial)}/box/"
    more = f"?case={case}" if case else ""
    return phone.post(f"{here}{more}", {"key": key(), "code": code})


# --- the carton ---


def test_the_case_is_asked_for_first_then_the_carton(phone: Client, at: datetime) -> None:
    card, label = paper(SERIAL, "hold_card", at), paper(SERIAL, "box_label", at)
    assert "Scan the card on the case" in box(phone).words
    answer = scan(phone, card)
    assert answer["Location"] == f"/{tag(SERIAL)}/box/?case={card}"
    screen = seen(phone.get(answer["Location"]))
    assert f"Case: {SERIAL}" in screen.words
    assert "Scan the label on the carton" in screen.words
    answer = scan(phone, label, card)
    assert answer["Location"] == f"/{tag(SERIAL)}/box/"
    screen = seen(phone.get(answer["Location"]))
    assert screen.heading == "Boxed"
    assert f"Case, carton and record are {SERIAL}." in screen.words
    assert screen.links["To the dock"] == "/dock/"
    assert "Z10" in now(SERIAL).done_codes


def test_no_tap_alone_boxes_it_or_hands_it_over(phone: Client, label: str) -> None:
    """On its page at the packing station the way leads to the scans and to the list."""
    dock = seen(phone.get(f"/{tag(SERIAL)}"))
    assert dock.links["Hand it over on the dock"] == "/dock/"
    unboxed = seen(phone.get(f"/{tag(OTHER)}"))
    assert unboxed.links["Scan case and carton"] == f"/{tag(OTHER)}/box/"
    for screen in (dock, unboxed):
        assert not [one for one in screen.root.iter("form") if one.get("id") == "record"]
        assert "Done earlier" not in screen.links


def test_a_scanned_address_is_read_as_its_code(phone: Client, at: datetime) -> None:
    card = paper(SERIAL, "hold_card", at)
    answer = scan(phone, f"HTTP://LOCALHOST:8000/{card}")
    assert answer["Location"].endswith(f"?case={card}")


def test_a_case_of_another_guitar_stops_at_once(phone: Client, at: datetime) -> None:
    answer = scan(phone, paper(OTHER, "hold_card", at))
    assert answer.status_code == 422
    assert f"The card on this case is of {OTHER}. The record is of {SERIAL}." in seen(answer).words


def test_a_label_of_another_guitar_stops_and_boxes_nothing(phone: Client, at: datetime) -> None:
    card, label = paper(SERIAL, "hold_card", at), paper(OTHER, "box_label", at)
    answer = scan(phone, label, card)
    assert answer.status_code == 422
    assert f"The label on this carton is of {OTHER}." in seen(answer).words
    assert board.carton_of(now(SERIAL)) is None


def test_a_case_in_the_address_is_looked_at_again(phone: Client, at: datetime) -> None:
    answer = phone.get(f"/{tag(SERIAL)}/box/?case={paper(OTHER, 'hold_card', at)}")
    assert answer.status_code == 422
    assert "Scan the card on the case" in seen(answer).words


@pytest.mark.parametrize("text", ["B7M49QZ", "https://192.0.2.7/menu", ""])
def test_what_is_no_code_is_told_as_on_the_scan_page(phone: Client, text: str) -> None:
    assert scan(phone, text).status_code == (422 if text else 200)


def test_one_that_is_not_released_leads_to_its_release(phone: Client) -> None:
    screen = box(phone, "Q-1043")
    assert screen.heading == "Not released yet"
    assert "Q-1043 is not released yet: I50 comes first." in screen.words
    assert screen.links["What stands against release"] == f"/{tag('Q-1043')}/release/"


def test_cautions_for_cold_for_borders_and_for_lifting_stand_there(phone: Client) -> None:
    words = box(phone).words
    assert "colder than 10 °C stays shut for 24 h" in words
    assert "check the lists now in force" in words
    assert "Two people or a trolley if it is heavy" in words


def test_whoever_prints_is_led_to_each_paper(at: datetime) -> None:
    links = box(signed_in("P-01", "Z")).links
    for words, form in (
        ("Label for the carton", "box_label"),
        ("Packing list, woods, care and battery", "packing"),
        ("As-built record", "as_built"),
    ):
        assert links[words] == f"/paper/look/?form={form}&serial={SERIAL}"


def test_whoever_does_not_print_is_told_who_does(phone: Client) -> None:
    screen = box(phone)
    assert "Label for the carton" not in screen.links
    assert "The clerk or the lead prints" in screen.words


def test_a_wood_whose_paper_is_not_noted_holds_the_carton(phone: Client) -> None:
    """Q-1055 goes to Norway with a wood that needs one."""
    words = box(phone, "Q-1055").words
    assert "Hold the carton The paper for Brazilian rosewood is not noted." in words


def test_a_listed_wood_that_stays_here_is_named_all_the_same(phone: Client) -> None:
    goes_to("", "Q-1055")
    assert "On this shop’s list of woods that need a paper" in box(phone, "Q-1055").words


def test_a_battery_has_its_statement(phone: Client) -> None:
    assert "insulate its contacts and note it" in box(phone, "Q-1055").words
    assert "Battery" not in box(phone, SERIAL).words.replace("care and battery", "").replace(
        "battery note", ""
    )


# --- the dock ---


@pytest.fixture
def label(at: datetime) -> str:
    """One stands on the dock; the code on its label."""
    return boxed(SERIAL, at)


def on_dock(phone: Client, *serials: str) -> Screen:
    return seen(phone.get("/dock/", {"serial": list(serials)}))


def test_an_empty_dock_says_what_would_stand_there(phone: Client) -> None:
    assert "Nothing stands here. A guitar stands here once it is boxed" in on_dock(phone).words


def test_what_is_boxed_and_not_handed_over_stands_there(phone: Client, label: str) -> None:
    screen = on_dock(phone)
    assert "1 boxed, not handed over" in screen.words
    assert SERIAL in screen.words
    assert OTHER not in screen.words


def test_each_carton_scanned_joins_the_list_of_the_address(
    phone: Client, label: str, at: datetime
) -> None:
    other = boxed(OTHER, at)
    answer = phone.post("/dock/", {"code": label})
    assert answer["Location"] == f"/dock/?serial={SERIAL}"
    answer = phone.post(answer["Location"], {"code": other})
    assert answer["Location"] == f"/dock/?serial={OTHER}&serial={SERIAL}"
    screen = seen(phone.get(answer["Location"]))
    assert "2 cartons scanned" in screen.words
    again = phone.post(answer["Location"], {"code": other})
    assert again["Location"] == answer["Location"]


def test_one_taken_off_the_list_is_left_here(phone: Client, label: str) -> None:
    screen = on_dock(phone, SERIAL)
    assert screen.links[f"Remove {SERIAL}"] == "/dock/"


@pytest.mark.parametrize("which", ["tag", "not boxed", "foreign"])
def test_what_is_no_carton_of_this_dock_is_told(
    phone: Client, label: str, at: datetime, which: str
) -> None:
    code, told = {
        "tag": (tag(SERIAL), "This is the tag on the body, not the label on the carton."),
        "not boxed": (paper(OTHER, "box_label", at), f"{OTHER} is not on this dock"),
        "foreign": ("https://192.0.2.7/menu", "is an address outside this workshop"),
    }[which]
    answer = phone.post("/dock/", {"code": code})
    assert answer.status_code == 422
    assert told in seen(answer).words


def hand(phone: Client, *serials: str, counted: str = "1", carrier: str = CARRIER) -> Any:
    sent = {"key": key(), "serial": list(serials), "counted": counted, "carrier": carrier}
    return phone.post("/dock/hand/", sent)


def test_handed_over_they_are_on_a_list_and_gone_from_the_dock(phone: Client, label: str) -> None:
    answer = hand(phone, SERIAL)
    assert answer["Location"] == "/dock/M-0001/"
    screen = seen(phone.get(answer["Location"]))
    assert screen.heading == f"M-0001 · {CARRIER}"
    assert "1 carton, 1 counted by hand." in screen.words
    assert f"{label[:4]}-{label[4:]}" in screen.words
    dock = on_dock(phone)
    assert "Nothing stands here." in dock.words
    assert any(words.startswith("M-0001") for words in dock.links)
    assert seen(phone.get(f"/{tag(SERIAL)}/box/")).heading == "Handed over"


def test_a_wrong_count_keeps_the_list_and_says_both_numbers(phone: Client, label: str) -> None:
    answer = hand(phone, SERIAL, counted="2")
    assert answer.status_code == 422
    screen = seen(answer)
    assert "Counted 2, scanned 1." in screen.words
    assert "1 carton scanned" in screen.words
    assert f'value="{CARRIER}"' in answer.content.decode()


@pytest.mark.parametrize("counted", ["", "one", "-1", "99999", "\u0661"])
def test_what_is_no_count_hands_over_nothing(phone: Client, label: str, counted: str) -> None:
    assert hand(phone, SERIAL, counted=counted).status_code == 422
    assert board.manifests() == ()


def test_the_same_form_sent_twice_is_one_list(phone: Client, label: str) -> None:
    sent = {"key": key(), "serial": [SERIAL], "counted": "1", "carrier": CARRIER}
    assert phone.post("/dock/hand/", sent)["Location"] == "/dock/M-0001/"
    assert phone.post("/dock/hand/", sent)["Location"] == "/dock/M-0001/"
    assert len(board.manifests()) == 1


def rows(answer: Any) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(answer.content.decode())))


def test_dock_and_list_can_be_had_as_csv(phone: Client, label: str, at: datetime) -> None:
    [row] = rows(phone.get("/dock/list.csv"))
    assert (row["serial"], row["label"], row["list"]) == (SERIAL, label, "")
    assert hand_over(SERIAL, at=at + MINUTE).done
    [row] = rows(phone.get("/dock/M-0001/list.csv"))
    assert (row["serial"], row["list"], row["carrier"]) == (SERIAL, "M-0001", CARRIER)
    assert rows(phone.get("/dock/list.csv")) == []


def test_a_list_that_there_is_not_is_no_page(phone: Client) -> None:
    assert phone.get("/dock/M-0009/").status_code == 404
    assert phone.get("/dock/M-0009/list.csv").status_code == 404


def test_whoever_prints_is_led_to_the_list_on_paper(at: datetime, label: str) -> None:
    assert hand_over(SERIAL, at=at + MINUTE).done
    links = seen(signed_in("P-01", "Z").get("/dock/M-0001/")).links
    assert links["Print it"] == "/paper/look/?form=manifest&serial=M-0001"
