"""The lead's look along the floor: by station, by words, as CSV."""

from __future__ import annotations

import csv
import io
from datetime import date, timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop.catalogue import book
from shop.floor.models import Instrument
from tests.bench.crowd import add_instruments
from tests.bench.screens import Screen, said, seen, signed_in, tag
from tests.people.phones import Clock

pytestmark = pytest.mark.usefixtures("today")

ON_THE_FLOOR = 15


@pytest.fixture
def phone() -> Client:
    return signed_in("P-01")


def floor(phone: Client, words: str = "") -> Screen:
    return seen(phone.get("/floor/", {"words": words} if words else {}))


def serials(screen: Screen) -> set[str]:
    return {one for one in screen.links if one.startswith("Q-")}


def row_of(screen: Screen, serial: str) -> str:
    return next(said(row) for row in screen.root.iter("tr") if serial in said(row))


def headings(screen: Screen) -> list[str]:
    return [said(one) for one in screen.root.iter("h2")]


def table(phone: Client, words: str = "") -> list[dict[str, str]]:
    answer = phone.get("/floor/list.csv", {"words": words})
    assert answer["Content-Type"].startswith("text/csv")
    return list(csv.DictReader(io.StringIO(answer.content.decode())))


# --- by station ---


def test_every_open_instrument_stands_on_the_list(phone: Client) -> None:
    screen = floor(phone)
    assert len(serials(screen)) == ON_THE_FLOOR
    assert "15 instruments" in screen.words


def test_stations_come_as_they_stand_along_the_floor(phone: Client) -> None:
    along = [name for _, name in book.stations()]
    names = [one.split(":")[0] for one in headings(floor(phone))]
    assert names == sorted(names, key=along.index)
    assert names[0] == "Neck bench"
    assert len(names) == len(set(names)) > 4


def test_a_station_counts_its_instruments(phone: Client) -> None:
    """By their first open operation: three at re-inspection wait out their hold or are done."""
    screen = floor(phone)
    counted = sum(int(one.split(": ")[1]) for one in headings(screen))
    assert counted == ON_THE_FLOOR


def test_a_row_tells_the_next_operation_and_how_far_it_is(phone: Client) -> None:
    row = row_of(floor(phone), "Q-1043")
    assert "TARN" in row
    assert "N40 Gauge the post holes and clear the lacquer 5 of 32 done" in row
    assert row.endswith("2031-03-14 closed")


def test_a_row_leads_to_the_instrument(phone: Client) -> None:
    assert floor(phone).links["Q-1043"] == f"/{tag('Q-1043')}"


def test_a_row_in_its_hold_tells_when_it_is_ready(phone: Client) -> None:
    assert "Ready Mon 10:30" in row_of(floor(phone), "Q-1040")


def test_a_late_row_says_by_how_many_days(phone: Client, today: Clock) -> None:
    today.now += timedelta(days=4)
    signed = signed_in("P-01")
    assert "2 d late" in row_of(floor(signed), "Q-1040")
    assert "late" not in row_of(floor(signed), "Q-1043")


def test_an_empty_floor_says_how_instruments_come_to_it(phone: Client) -> None:
    Instrument.objects.update(finished_at=date(2031, 3, 2).isoformat() + "T12:00Z")
    assert "Instruments come here when the lead releases them." in floor(phone).words


def test_an_operator_may_look_along_the_floor() -> None:
    assert len(serials(floor(signed_in("P-11")))) == ON_THE_FLOOR


# --- by words ---


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("1043", {"Q-1043"}),
        ("tarn neck", {"Q-1043", "Q-1044", "Q-1062", "Q-1063"}),
        ("FELL joint", {"Q-1061"}),
        ("waiting ness", {"Q-1040"}),
        ("c-0417", {"Q-1044"}),
        ("TARN late", set()),
    ],
)
def test_the_list_is_narrowed_to_rows_that_have_every_word(
    phone: Client, words: str, found: set[str]
) -> None:
    assert serials(floor(phone, words)) == found


def test_late_is_a_word_of_the_list(today: Clock) -> None:
    today.now += timedelta(days=4)
    assert serials(floor(signed_in("P-01"), "late")) == {"Q-1038", "Q-1040"}


def test_the_words_stay_in_the_field_and_in_the_way_to_the_csv(phone: Client) -> None:
    screen = floor(phone, "tarn neck")
    assert screen.one(".//input[@id='words']").get("value") == "tarn neck"
    assert screen.links["as CSV"] == "/floor/list.csv?words=tarn%20neck"


def test_words_that_no_row_has_say_so(phone: Client) -> None:
    assert "No row has all of these words." in floor(phone, "nowhere").words


def test_words_that_look_like_markup_are_words(phone: Client) -> None:
    answer = phone.get("/floor/", {"words": "<b>x</b>"})
    assert "<b>x</b>" not in answer.content.decode()


# --- as CSV ---


def test_the_csv_has_a_line_for_each_row_of_the_list(phone: Client) -> None:
    lines = {line["serial"]: line for line in table(phone)}
    assert len(lines) == ON_THE_FLOOR
    assert lines["Q-1044"] == {
        "serial": "Q-1044",
        "spec": "TARN",
        "station": "Neck bench",
        "operation": "N10",
        "ready": "",
        "due": "2031-03-13",
        "days late": "0",
        "tray": "picked",
        "order": "C-0417",
        "waits for": "",
    }


def test_moments_in_the_csv_are_iso_8601(phone: Client) -> None:
    [line] = table(phone, "1040")
    assert line["ready"].startswith("2031-03-03T10:30")


def test_the_csv_keeps_to_the_words_asked_for(phone: Client) -> None:
    assert {line["serial"] for line in table(phone, "FELL joint")} == {"Q-1061"}


@pytest.mark.parametrize("order", ['=HYPERLINK("http://x")', "+1", "-1", "@A1"])
def test_no_cell_of_the_csv_is_a_formula(phone: Client, order: str) -> None:
    """OWASP ASVS 5.0, requirement 1.2.10: a cell that begins so gets a single quote."""
    Instrument.objects.filter(body__serial="Q-1043").update(order=order)
    [line] = table(phone, "1043")
    assert line["order"] == f"'{order}"


# --- as many statements for a full floor as for this one ---


@pytest.mark.parametrize("address", ["/floor/", "/floor/list.csv"])
def test_two_hundred_more_instruments_take_no_more_statements(phone: Client, address: str) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as captured:
            assert phone.get(address).status_code == 200
        return len(captured)

    asked()
    few = asked()
    add_instruments(200)
    assert len(table(phone)) == ON_THE_FLOOR + 200
    assert asked() == few
