"""The lead's list of gauges, their checks and studies. Gauges and figures are invented."""

from __future__ import annotations

import csv
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client

from shop.floor import board, door
from shop.floor.models import Entry, Gauge, GaugeCheck, GaugeStudy
from tests.bench.screens import Screen, key, said, seen, signed_in
from tests.floor.gauged import gauge as measure
from tests.floor.gauged import holes, measures
from tests.floor.morning import NOW, check_tray
from tests.people.phones import Clock

ADDRESS = "/gauges/"
OVERDUE = "G-06"


@pytest.fixture(autouse=True)
def _today(today: Clock) -> None:
    """Half past nine."""


@pytest.fixture
def desk() -> Client:
    return signed_in("P-01")


def look(desk: Client, name: str = "") -> Screen:
    return seen(desk.get(f"{ADDRESS}{name}/" if name else ADDRESS))


def new(desk: Client, **differs: str) -> Screen:
    sent = {"key": key(), "name": "G-07", "words": "depth dial", "resolution": "0,01"}
    sent |= {"interval_days": "90"} | differs
    return seen(desk.post(ADDRESS, sent, follow=True))


def check(desk: Client, name: str = "G-02", **differs: str) -> Screen:
    sent = {"key": key(), "on": "2031-03-03", "deviation": "0.01", "passed": "yes", "note": ""}
    return seen(desk.post(f"{ADDRESS}{name}/", sent | differs, follow=True))


def keep(desk: Client, name: str = "G-02", **differs: str) -> Screen:
    sent = {"key": key(), "words": "fret dial", "resolution": "0.01", "interval_days": "90"}
    return seen(desk.post(f"{ADDRESS}{name}/keep/", sent | differs, follow=True))


def study(desk: Client, values: dict[str, str], name: str = "G-02", **differs: str) -> Screen:
    sent = {"key": key(), "what": "fret height", "tolerance": "0.2"}
    sent |= {"parts": "2", "people": "2", "trials": "2"} | values | differs
    return seen(desk.post(f"{ADDRESS}{name}/study/", sent, follow=True))


def steady() -> dict[str, str]:
    """Two parts 0.1 mm apart, and nobody ever reads another value."""
    return {
        f"v-{part}-{person}-{trial}": f"1,{part}"
        for part in (1, 2)
        for person in (1, 2)
        for trial in (1, 2)
    }


def rows(screen: Screen) -> list[str]:
    return [said(one) for one in screen.root.findall(".//tbody/tr")]


# --- the list ---


def test_overdue_gauges_come_first_told_by_shape_and_words(desk: Client) -> None:
    screen = look(desk)
    assert rows(screen)[0] == "G-06 room sensor overdue since 2031-01-31 no length 90 days"
    assert rows(screen)[1].startswith("G-04 nut depth dial checked until 2031-03-13, soon")
    marks = [one.get("class") for one in screen.root.findall(".//tbody//svg")]
    assert marks == ["mark mark-warn", "mark mark-wait", *["mark mark-clear"] * 4]


def test_before_there_is_a_gauge_the_page_says_what_will_stand_there(desk: Client) -> None:
    GaugeCheck.objects.all().delete()
    Gauge.objects.all().delete()
    assert "No gauges yet." in look(desk).words


def test_a_new_gauge_is_put_on_the_list(desk: Client) -> None:
    screen = new(desk)
    assert "G-07 is on the list." in screen.of_class("finding-clear")[0]
    assert screen.heading == "G-07 depth dial"
    assert screen.of_class("big") == ["Never checked"]
    assert rows(look(desk))[0].startswith("G-07 depth dial never checked")


def test_the_next_free_name_stands_in_the_form_already(desk: Client) -> None:
    assert look(desk).one(".//input[@name='name']").get("value") == "G-07"


@pytest.mark.parametrize(
    ("differs", "fault"),
    [
        ({"name": "P-07"}, "A gauge is called G, a dash and two or three digits."),
        ({"name": "G-01"}, "A gauge is called so already. Give another name."),
        ({"resolution": "fine"}, "fine is no number. Write it as 8.73 or 8,73."),
        ({"resolution": "0"}, "above 0 and up to 10 mm can be."),
        ({"interval_days": "often"}, "Write a whole number of days."),
        ({"interval_days": "0"}, "A check holds for 1 to 3650 days."),
    ],
)
def test_what_no_gauge_can_be_is_said_and_nothing_is_lost(
    desk: Client, differs: dict[str, str], fault: str
) -> None:
    screen = new(desk, **differs)
    [told] = screen.of_class("finding-stop")
    assert fault in told.replace("\u202f", " ")
    assert screen.one(".//input[@name='words']").get("value") == "depth dial"
    assert Gauge.objects.count() == 6


def test_the_same_tap_sent_twice_is_one_gauge(desk: Client) -> None:
    by = key()
    first, again = (new(desk, key=by) for _ in range(2))
    assert first.heading == again.heading == "G-07 depth dial"
    assert Entry.objects.filter(key=by).count() == 1


def test_the_list_as_csv_says_the_same(desk: Client) -> None:
    answer = desk.get(f"{ADDRESS}list.csv")
    sheet = list(csv.DictReader(answer.content.decode().splitlines()))
    assert next(row["gauge"] for row in sheet) == OVERDUE
    assert {row["gauge"]: row["standing"] for row in sheet}["G-02"] == "checked until 2031-05-20"
    assert {row["gauge"]: row["off mm"] for row in sheet}["G-02"] == "'-0.01"


# --- one gauge ---


def test_a_check_is_noted_and_counts_from_its_day(desk: Client) -> None:
    screen = check(desk, OVERDUE, note="beside the salt box")
    assert "is noted." in screen.of_class("finding-clear")[0]
    assert screen.of_class("big") == ["Checked until 2031-06-01"]
    assert rows(screen)[0] == "2031-03-03 passed beside the salt box P-01"


@pytest.mark.parametrize(
    ("differs", "fault"),
    [
        ({"on": ""}, "Give the day it was checked."),
        ({"on": "3.3.31"}, "Write the day as 2031-03-14."),
        ({"on": "2031-03-04"}, "2031-03-04 is still to come."),
        ({"deviation": ""}, "its check shows how far it was off."),
        ({"deviation": "a hair"}, "a hair is no number."),
        ({"passed": ""}, "Say whether it passed."),
    ],
)
def test_a_check_that_cannot_be_is_said_and_nothing_is_kept(
    desk: Client, differs: dict[str, str], fault: str
) -> None:
    before = GaugeCheck.objects.count()
    [told] = check(desk, **differs).of_class("finding-stop")
    assert fault in told
    assert GaugeCheck.objects.count() == before


def test_a_gauge_that_failed_shows_what_to_take_up_again(desk: Client) -> None:
    measures("N40", "hole")
    assert check_tray("Q-1043").done
    assert measure("Q-1043", holes(), tool="G-02").done
    screen = check(desk, passed="no")
    assert screen.of_class("big") == ["Failed its check on 2031-03-03"]
    told = " ".join(screen.of_class("finding-warn"))
    assert "6 values on 1 guitar were read with it since it last passed." in told
    assert screen.links["Q-1043"] == "/record/Q-1043/?group=measures"


def test_a_gauge_is_changed_put_away_and_taken_back(desk: Client) -> None:
    assert keep(desk, interval_days="30").heading == "G-02 fret dial"
    assert "It is checked every 30 days." in look(desk, "G-02").words
    keep(desk, away="1")
    screen = look(desk, "G-02")
    assert "Put away: nobody measures with it." in screen.words
    assert "Note the check" not in screen.buttons
    keep(desk)
    assert "Note the check" in look(desk, "G-02").buttons


def test_a_change_that_cannot_be_is_said(desk: Client) -> None:
    [told] = keep(desk, interval_days="9999").of_class("finding-stop")
    assert "A check holds for 1 to 3650 days." in told


@pytest.mark.parametrize("way", ["", "keep/", "study/"])
def test_a_gauge_that_there_is_not_is_not_found(desk: Client, way: str) -> None:
    assert desk.get(f"{ADDRESS}G-99/{way}").status_code == 404


# --- studies ---


def test_the_study_has_a_field_for_every_value(desk: Client) -> None:
    screen = seen(desk.get(f"{ADDRESS}G-02/study/", {"parts": "3", "people": "2", "trials": "4"}))
    names = [one.get("name", "") for one in screen.root.iter("input")]
    assert len([one for one in names if one.startswith("v-")]) == 3 * 2 * 4
    assert len(screen.root.findall(".//fieldset")) == 3


@pytest.mark.parametrize(
    ("asked", "fields"), [({}, 90), ({"parts": "999"}, 180), ({"people": "-1"}, 90)]
)
def test_a_study_of_no_size_has_the_usual_or_the_most(
    desk: Client, asked: dict[str, str], fields: int
) -> None:
    """Ten parts, three people, three times: AIAG, Measurement Systems Analysis, 4th ed. (2010),
    from memory."""
    screen = seen(desk.get(f"{ADDRESS}G-02/study/", asked))
    names = [one.get("name", "") for one in screen.root.iter("input")]
    assert len([one for one in names if one.startswith("v-")]) == fields


def test_a_study_is_kept_and_says_what_it_takes_up_of_the_tolerance(desk: Client) -> None:
    screen = study(desk, steady())
    words = screen.words.replace("\u202f", " ")
    assert "The gauge takes up 0.0 % of the tolerance." in words
    assert "2 parts, 2 people, 2 times each" in words
    assert GaugeStudy.objects.get().what == "fret height"


def test_a_study_is_taken_from_a_pasted_list(desk: Client) -> None:
    pasted = "part;person;value\n" + "\n".join(
        f"{part};{person};1,{part}" for part in "12" for person in ("Ana", "Ben") for _ in "ab"
    )
    study(desk, {}, rows=pasted)
    [kept] = board.studies_of("G-02")
    assert (kept.found.parts, kept.found.people, kept.found.trials) == (2, 2, 2)


def test_a_study_with_gaps_is_not_kept_and_nothing_is_lost(desk: Client) -> None:
    values = steady() | {"v-1-2-1": ""}
    screen = study(desk, values)
    [told] = screen.of_class("finding-stop")
    assert "Part 1, person 2, time 1: nothing was entered." in told
    assert screen.one(".//input[@name='v-2-2-2']").get("value") == "1,2"
    assert not GaugeStudy.objects.exists()


def test_a_list_that_is_no_study_says_why(desk: Client) -> None:
    told = study(desk, {}, rows="1;Ana;1.0\n1;Ana;1.1").of_class("finding-stop")
    assert [one.split(". ")[0] for one in told] == ["Stop 1 part", "Stop 1 person"]


@pytest.mark.parametrize(
    ("differs", "fault"),
    [
        ({"what": ""}, "Say what was measured."),
        ({"tolerance": ""}, "Write its whole width."),
        ({"tolerance": "0"}, "A tolerance of 0 mm cannot be."),
    ],
)
def test_a_study_without_its_frame_says_what_is_missing(
    desk: Client, differs: dict[str, str], fault: str
) -> None:
    [told] = study(desk, steady(), **differs).of_class("finding-stop")
    assert fault in told.replace("\u202f", " ")
    assert not GaugeStudy.objects.exists()


# --- who, and how many statements ---


@pytest.mark.parametrize("badge", ["P-11", "P-25", "P-31", "P-41", "P-61"])
def test_nobody_but_the_lead_keeps_the_gauges(badge: str) -> None:
    phone = signed_in(badge)
    for way in ("", "list.csv", "G-01/", "G-01/keep/", "G-01/study/"):
        assert phone.get(f"{ADDRESS}{way}").status_code == 403
    assert "Gauges" not in seen(phone.get("/scan/")).links


def test_the_lead_finds_the_way_to_the_gauges(desk: Client) -> None:
    assert seen(desk.get("/floor/")).links["Gauges"] == ADDRESS


def test_the_pages_ask_as_much_for_many_as_for_few(
    desk: Client, django_assert_max_num_queries: Any
) -> None:
    for number in range(10, 20):
        new(desk, name=f"G-{number}")
        check(desk, f"G-{number}")
        check(desk, f"G-{number}", on=f"{NOW - timedelta(days=number):%Y-%m-%d}")
    study(desk, steady())
    with django_assert_max_num_queries(5):  # badge, rights, names, gauges, those put away
        look(desk)
    with django_assert_max_num_queries(5):  # badge, rights, gauge, checks, studies
        look(desk, "G-02")


def test_every_row_of_a_gauge_goes_through_the_one_door(desk: Client) -> None:
    new(desk)
    check(desk, "G-07")
    study(desk, steady(), "G-07")
    kinds = Entry.objects.filter(subject="G-07").order_by("id").values_list("kind", flat=True)
    assert list(kinds) == [
        door.GaugeKept.kind, door.GaugeChecked.kind, door.GaugeStudied.kind,
    ]  # fmt: skip


@pytest.mark.parametrize("path", ["%00/", "%00/keep/", "%00/study/", "G-99%00/"])
def test_an_address_with_a_zero_character_is_of_no_gauge(desk: Client, path: str) -> None:
    """PostgreSQL looks for no text with one in it."""
    assert desk.get(f"{ADDRESS}{path}").status_code == 404
