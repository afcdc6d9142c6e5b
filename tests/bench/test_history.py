"""The history of an instrument on a phone: read, narrowed by a tap, turned back page by page."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop.floor import door
from tests.bench.crowd import add_instruments
from tests.bench.screens import Screen, seen, signed_in, tag
from tests.floor.casing import did
from tests.floor.morning import NOW, act, check_tray, measured, now, step

pytestmark = pytest.mark.usefixtures("today")

SERIAL = "Q-1043"
GROUPS = [
    "All", "Work", "Hardware", "Measures", "Tags", "Hold", "Rework", "Lead", "Calls",
]  # fmt: skip
HISTORY = 6  # statements: who asks, what they may, tag, steps, and the journal; necks scanned
LONG = 120


@pytest.fixture
def phone() -> Client:
    return signed_in("P-11")


def page(phone: Client, serial: str = SERIAL, **asked: str) -> Screen:
    return seen(phone.get(f"/{tag(serial)}/history/", asked))


def rows(screen: Screen) -> list[str]:
    return screen.of_class("told-words")


def call(count: int, serial: str = SERIAL) -> None:
    for number in range(count):
        made = door.CallMade(now(serial).id, "lead", f"Call {number}")
        door.record(act("P-11", "N", NOW + timedelta(seconds=number)), made)


def test_each_row_is_a_sentence_newest_first(phone: Client) -> None:
    step(SERIAL, "N40")
    told = rows(page(phone))
    assert told[0] == (
        "P-11 tried to record N40 Gauge the post holes and clear the lacquer at Neck bench: "
        "refused."
    )
    assert told[1].startswith("P-14 recorded B20")
    assert told[-1] == "P-01 released Q-1043 with neck K-2081 as TARN, due 2031-03-14."


def test_a_refused_row_shows_what_stood_against_it(phone: Client) -> None:
    step(SERIAL, "N40")
    screen = page(phone)
    assert "N40 fits hardware: the tray of Q-1043 is not scanned here yet." in screen.words


def test_values_stand_with_their_names_and_units(phone: Client) -> None:
    check_tray(SERIAL)
    measured(SERIAL, "N40")
    assert "Post hole, string 6 8.73 mm" in page(phone).words.replace("\u202f", " ")


def test_values_stand_in_the_units_of_whoever_looks(phone: Client) -> None:
    check_tray(SERIAL)
    measured(SERIAL, "N40")
    phone.post("/screens/", {"units": "inch"})
    assert "0.3437" in page(phone).words


def test_only_a_row_of_readings_tells_values() -> None:
    """Q-1062 was released and nothing was measured on it."""
    screen = page(signed_in("P-11"), "Q-1062")
    assert [one.split(" as ")[0] for one in rows(screen)] == [
        "P-01 released Q-1062 with neck K-2096"
    ]
    assert "Post hole" not in screen.words


def test_words_that_were_typed_are_shown_as_words(phone: Client) -> None:
    made = door.CallMade(now(SERIAL).id, "lead", "<b>look</b>")
    door.record(act(), made)
    assert "<b>look" not in phone.get(f"/{tag(SERIAL)}/history/").content.decode()


# --- narrowed and turned back, by links alone ---


def test_every_group_is_one_tap(phone: Client) -> None:
    links = page(phone).links
    assert [one for one in links if one in GROUPS] == GROUPS


def test_a_tap_narrows_it_to_its_group(phone: Client) -> None:
    told = rows(seen(phone.get(page(phone).links["Work"])))
    assert told
    assert all(" recorded " in one for one in told)


def test_the_group_that_is_shown_is_marked(phone: Client) -> None:
    screen = page(phone, group="work")
    assert screen.one(".//a[@aria-current='true']").text == "Work"
    assert page(phone).one(".//a[@aria-current='true']").text == "All"


def test_a_group_without_rows_says_so(phone: Client) -> None:
    assert "Nothing of this kind so far." in page(phone, group="calls").words


def test_a_long_history_is_turned_back_page_by_page(phone: Client) -> None:
    call(LONG)
    screen = page(phone, group="calls")
    read = rows(screen)
    assert len(read) == 50
    while earlier := screen.links.get("Earlier"):
        screen = seen(phone.get(earlier))
        read += rows(screen)
    calls = [one for one in read if "Call " in one]
    assert [one.rsplit("Call ", 1)[1] for one in calls] == [
        f"{number}." for number in range(LONG)[::-1]
    ]


def test_a_tap_answered_in_part_is_the_list_alone(phone: Client) -> None:
    answer = phone.get(f"/{tag(SERIAL)}/history/?group=work", headers={"HX-Request": "true"})
    part = seen(answer)
    assert part.root.find("section") is not None
    assert part.root.find(".//h1") is None
    assert rows(part) == rows(page(phone, group="work"))


def test_the_list_of_what_is_done_leads_to_it(phone: Client) -> None:
    route = seen(phone.get(f"/{tag(SERIAL)}/route/"))
    assert route.links["What happened to it"] == f"/{tag(SERIAL)}/history/"
    assert page(phone).links["What is done"] == f"/{tag(SERIAL)}/route/"


def test_the_history_of_no_tag_is_no_page(phone: Client) -> None:
    assert phone.get("/B000000/history/").status_code == 404


# --- two looks ---


def test_the_second_inspector_is_told_how_much_is_kept_back() -> None:
    """Two independent looks: common practice, no source."""
    did("Q-1037", "I10", "P-31", "I", NOW)
    said = (now("Q-1037").id, "paper", "wrong label", 4, 16)
    found = door.DefectNoted(*said, words="names Q-1038")
    assert door.record(act("P-31", "I"), found).done
    screen = page(signed_in("P-32", "R"), "Q-1037")
    kept = "2 rows of the first inspection are kept back until you have entered your own."
    assert kept in screen.words
    assert "names Q-1038" not in screen.words
    first = page(signed_in("P-31", "I"), "Q-1037")
    assert "names Q-1038" in first.words
    assert "kept back" not in first.words


# --- statements ---


def statements(phone: Client, serial: str = SERIAL) -> list[str]:
    code = tag(serial)
    with CaptureQueriesContext(connection) as captured:
        assert phone.get(f"/{code}/history/").status_code == 200
    return [one["sql"] for one in captured]


def test_a_history_takes_six_statements_at_most(phone: Client) -> None:
    statements(phone)
    found = statements(phone)
    assert len(found) <= HISTORY, "\n".join(found)


def test_a_long_history_among_many_instruments_takes_no_more(phone: Client) -> None:
    statements(phone)
    alone = len(statements(phone))
    call(LONG)
    add_instruments(100)
    assert len(statements(phone)) == alone
