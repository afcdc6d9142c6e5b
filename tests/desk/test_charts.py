"""The lead's charts of what is measured, and what moved between two looks. Figures invented."""

from __future__ import annotations

import csv
import io

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop.catalogue.models import SpecRevision
from shop.floor.models import Reading
from shop.people.models import Badge
from tests.bench.crowd import add_instruments
from tests.bench.screens import Screen, said, seen, signed_in
from tests.floor.many_readings import looked_at_twice, measured, serial_of

pytestmark = pytest.mark.usefixtures("today")

THIN = "\u202f"
STEADY = ["2.41", "2.38", "2.40", "2.43", "2.39", "2.40", "2.42", "2.37", "2.41", "2.39"]
CHART = "/charts/TARN/U30/action/"


@pytest.fixture(autouse=True)
def _crowd(today: None) -> None:
    add_instruments(24, like="Q-1043")
    Reading.objects.all().delete()
    SpecRevision.objects.filter(spec__key="TARN").update(
        action_bass_mm="2.40", action_treble_mm="1.60"
    )


@pytest.fixture
def phone() -> Client:
    return signed_in("P-01")


def look(phone: Client, path: str = CHART) -> Screen:
    return seen(phone.get(path))


def plain(screen: Screen) -> str:
    return screen.words.replace(THIN, " ")


def table(phone: Client, path: str) -> list[dict[str, str]]:
    answer = phone.get(path)
    assert answer["Content-Type"].startswith("text/csv")
    return list(csv.DictReader(io.StringIO(answer.content.decode())))


def summary(screen: Screen) -> dict[str, str]:
    rows = [row for row in screen.root.iter("tr") if row.find("th[@scope='row']") is not None]
    return {said(row[0]): said(row[1]).replace(THIN, " ") for row in rows}


# --- the list ---


def test_before_anything_is_measured_the_page_says_what_will_stand_there(phone: Client) -> None:
    assert "Nothing measured yet." in look(phone, "/charts/").words


def test_each_characteristic_stands_under_its_station_and_leads_to_its_chart(
    phone: Client,
) -> None:
    measured(STEADY, operation="U30")
    measured(["0.18"], operation="I10", quantity="relief", place="7")
    screen = look(phone, "/charts/")
    assert screen.links["String height over fret 12, TARN, U30"] == CHART
    assert screen.links["Relief, TARN, I10"] == "/charts/TARN/I10/relief/"
    assert len(list(screen.root.iter("h2"))) == 2


def test_only_who_may_see_charts_sees_them() -> None:
    measured(STEADY, operation="U30")
    for badge in ("P-11", "P-31", "P-16"):
        phone = signed_in(badge)
        for path in ("/charts/", CHART, f"{CHART}list.csv", "/charts/moved/"):
            assert phone.get(path).status_code == 403


# --- one chart ---


def test_a_chart_tells_mean_and_limits_worked_out_by_hand(phone: Client) -> None:
    """Ten readings: mean 2.400; moving ranges .03 .02 .03 .04 .01 .02 .05 .04 .02, mean
    0.0289; 3 · 0.0289 / 1.128 = 0.077 to both sides."""
    measured(STEADY, operation="U30")
    found = summary(look(phone))
    assert found["Mean"] == "2.4 mm"
    assert found["Limits of the work"] == "2.323 mm to 2.477 mm"
    assert found["Mean moving range"] == "0.029 mm"
    assert found["Wanted"] == "2.25 mm to 2.55 mm"


def test_a_chart_tells_what_the_work_is_good_for_with_its_interval(phone: Client) -> None:
    """s = 0.018257; 0.15 / (3 · 0.018257) = 2.739; by Bissell's formula the interval reaches
    1.96 · √(1 / 90 + 2.739² / 18) = 1.282 to both sides."""
    measured(STEADY, operation="U30")
    screen = look(phone)
    found = summary(screen)
    assert found["Cp"].startswith("2.74, between ")
    assert found["Cpk"] == "2.74, between 1.46 and 4.02 with 95 % confidence"
    assert "The work keeps its limits with room to spare." in screen.words


def test_a_steady_chart_says_so(phone: Client) -> None:
    measured(STEADY, operation="U30")
    assert "Steady: nothing that chance alone would not do." in look(phone).words


def test_a_reading_beyond_its_limit_is_named_with_its_rule(phone: Client) -> None:
    measured([*STEADY, *STEADY, "2.60"], operation="U30")
    screen = look(phone)
    items = [said(one) for one in screen.root.iter("li")]
    assert "Reading 21: Beyond the limit" in items
    assert "Reading 21: Too far from the one before" in items
    assert "Not steady." in screen.words


def test_a_chart_of_few_readings_calls_its_limits_a_first_guess(phone: Client) -> None:
    measured(STEADY, operation="U30")
    assert "10 readings: the limits are a first guess." in look(phone).words
    measured([*STEADY, *STEADY], operation="U30")
    assert "first guess" not in look(phone).words


def test_one_reading_is_shown_without_a_chart(phone: Client) -> None:
    measured(["2.41"], operation="U30")
    screen = look(phone)
    assert "Too few readings for a chart" in screen.words
    assert "2.41 mm" in plain(screen)
    assert screen.root.find(".//svg[@class='plot']") is None


def test_readings_that_are_all_the_same_are_steady_and_tell_no_capability(phone: Client) -> None:
    measured(["2.40"] * 5, operation="U30")
    screen = look(phone)
    assert "Cpk" not in summary(screen)
    assert "Steady" in screen.words


def test_the_drawing_has_its_title_and_no_style(phone: Client) -> None:
    measured(STEADY, operation="U30")
    answer = phone.get(CHART).content.decode()
    assert '<title id="chart-title">String height over fret 12, bass side: TARN, U30' in answer
    assert "<style" not in answer
    assert " style=" not in answer


def test_another_place_is_a_tap_away(phone: Client) -> None:
    measured(STEADY, operation="U30")
    measured(["1.61", "1.58"], operation="U30", place="treble")
    assert look(phone).links["treble side"] == "?place=treble"
    screen = look(phone, f"{CHART}?place=treble")
    assert screen.heading == "String height over fret 12, treble side"
    assert summary(screen)["Wanted"] == "1.45 mm to 1.75 mm"


def test_limits_without_room_between_them_are_told_and_nothing_is_judged_by_them(
    phone: Client,
) -> None:
    """A revision that was opened before it was asked for: least and most relief are one."""
    SpecRevision.objects.filter(spec__key="TARN").update(
        relief_mm="0.20", relief_least_mm="0.20", relief_most_mm="0.20", version=90_001
    )
    measured(["0.18", "0.20", "0.23"], quantity="relief", place="7", operation="U30")
    screen = look(phone, "/charts/TARN/U30/relief/")
    assert "0.2 mm to 0.2 mm is wanted: there is no room between these limits." in plain(screen)
    assert "Cpk" not in summary(screen)


def test_what_has_no_readings_is_not_there(phone: Client) -> None:
    measured(STEADY, operation="U30")
    assert phone.get(f"{CHART}?place=middle").status_code == 404
    assert phone.get("/charts/TARN/I30/action/").status_code == 404


def test_serials_of_a_first_look_are_kept_back_until_the_second(phone: Client) -> None:
    measured(STEADY, operation="I10")
    looked_at_twice(1)
    screen = look(phone, "/charts/TARN/I10/action/")
    assert serial_of(0) in screen.words
    assert serial_of(1) not in screen.words
    assert "A serial is kept back until the second look" in screen.words
    rows = table(phone, "/charts/TARN/I10/action/list.csv")
    assert [row["serial"] for row in rows] == [serial_of(0), *[""] * 9]


def test_a_reading_with_an_overdue_gauge_is_marked(phone: Client) -> None:
    measured(STEADY, operation="U30")
    assert "overdue gauge" not in look(phone).words
    Reading.objects.filter(value="2.43").update(overdue=True)
    assert look(phone).words.count("Read with an overdue gauge.") == 1


def test_a_reader_with_inches_has_them(phone: Client) -> None:
    measured(STEADY, operation="U30")
    Badge.objects.filter(code="P-01").update(units="inch")
    assert summary(look(signed_in("P-01")))["Mean"] == "0.0945 in"


def test_the_readings_behind_a_chart_come_as_csv(phone: Client) -> None:
    measured([*STEADY, *STEADY, "2.60"], operation="U30")
    rows = table(phone, f"{CHART}list.csv?place=bass")
    assert len(rows) == 21
    assert rows[0]["serial"] == serial_of(0)
    assert rows[0]["value"] == "2.41"
    assert rows[0]["moving range"] == ""
    assert rows[1]["moving range"] == "0.03"
    assert "Beyond the limit" in rows[20]["broke"]


# --- what moved ---


def test_before_two_looks_the_page_of_moves_says_what_will_stand_there(phone: Client) -> None:
    measured(STEADY, operation="I10")
    assert "Nothing yet." in look(phone, "/charts/moved/").words


def test_an_action_that_rose_a_quarter_is_marked_as_too_far(phone: Client) -> None:
    measured(["2.40", "2.40"], operation="I10")
    measured(["2.65", "2.48"], operation="I30", hours=96)
    screen = look(phone, "/charts/moved/")
    rows = [said(row).replace(THIN, " ") for row in screen.root.iter("tr")]
    assert "Q-20000 TARN 2.4 mm 2.65 mm +0.250 mm" in rows
    assert "Q-20001 TARN 2.4 mm 2.48 mm +0.080 mm" in rows
    assert summary(screen)["Further than 0.15 mm"] == "1 of 2"
    assert len([one for one in screen.root.iter("svg") if "mark-warn" in str(one.attrib)]) == 1


def test_a_common_move_is_told_with_what_to_do(phone: Client) -> None:
    measured(STEADY, operation="I10")
    measured([f"{float(one) + 0.09:.2f}" for one in STEADY], operation="I30", hours=96)
    screen = look(phone, "/charts/moved/")
    assert "They rise together: set up that much lower." in screen.words
    assert summary(screen)["Median"] == "+0.09 mm"


def test_moves_of_one_spec_are_a_tap_away(phone: Client) -> None:
    measured(["2.40"], operation="I10")
    measured(["2.65"], operation="I30", hours=96)
    assert "String height" in look(phone, "/charts/moved/?spec=TARN").words
    assert "Nothing yet." in look(phone, "/charts/moved/?spec=WOLD").words


def test_moves_come_as_csv(phone: Client) -> None:
    measured(["2.40"], operation="I10")
    measured(["2.65"], operation="I30", hours=96)
    (row,) = table(phone, "/charts/moved/list.csv")
    assert (row["serial"], row["moved mm"]) == (serial_of(0), "0.250")
    assert table(phone, "/charts/moved/list.csv?spec=WOLD") == []


# --- statements ---


@pytest.mark.parametrize("path", ["/charts/", "/charts/TARN/I10/action/", "/charts/moved/"])
def test_more_readings_take_no_more_statements(phone: Client, path: str) -> None:
    def statements() -> int:
        with CaptureQueriesContext(connection) as asked:
            assert phone.get(path).status_code == 200
        return len(asked)

    measured(["2.40", "2.41"], operation="I10")
    measured(["2.60", "2.61"], operation="I30", hours=96)
    statements()  # what is kept in memory is read once
    few = statements()
    measured(STEADY * 2, operation="I10")
    measured(STEADY * 2, operation="I30", hours=96)
    assert statements() == few <= 7


@pytest.mark.parametrize(
    "path", ["/charts/TA%00RN/U30/action/", "/charts/TARN/U%0030/action/", f"{CHART}list%00.csv"]
)
def test_an_address_with_a_zero_character_is_of_no_chart(phone: Client, path: str) -> None:
    """PostgreSQL looks for no text with one in it."""
    assert phone.get(path).status_code == 404
