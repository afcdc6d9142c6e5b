"""Choosing what to print, as a browser asks for it."""

from __future__ import annotations

import re
import sys
from datetime import UTC, date, datetime, timedelta
from http import HTTPStatus
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop.floor import board, door
from shop.floor.models import Instrument
from shop.paper import choices, choosing
from shop.paper.forms import FORMS
from tests.floor.morning import NOW, act, now
from tests.paper.phones import signed_in
from tests.paper.printing import release_more

pytestmark = pytest.mark.usefixtures("morning", "db", "clock")


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> None:
    """It is the Monday morning of the demo."""
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOW)


@pytest.fixture
def clerk() -> Client:
    return signed_in("P-41")


def page_of(answer: Any) -> str:
    """The page without the breaks between its words."""
    return " ".join(answer.content.decode().split())


def listed(page: str) -> list[str]:
    """The names that can be ticked, in their order."""
    return re.findall(r'name="serial" value="([^"]+)"', page)


def ticked(page: str) -> list[str]:
    return re.findall(r'name="serial" value="([^"]+)" checked', page)


def test_the_front_page_offers_every_form_under_one_of_its_headings(clerk: Client) -> None:
    page = page_of(clerk.get("/paper/"))
    for key in FORMS:
        assert page.count(f'href="/paper/?form={key}"') == 1
    assert 'href="/paper/jobs/"' in page
    assert 'href="/paper/printers/"' in page
    assert "resin ribbon" in page  # how the paper is handled


def test_every_form_of_the_shop_has_its_place_on_the_front_page() -> None:
    placed = [key for keys in choosing.GROUPS.values() for key in keys]
    assert sorted(placed) == sorted(FORMS)


def test_what_another_page_chose_goes_along_to_the_form(clerk: Client) -> None:
    page = page_of(clerk.get("/paper/?serial=Q-1043&serial=Q-1058"))
    assert "For Q-1043, Q-1058." in page
    assert 'href="/paper/?form=body_tag&amp;serial=Q-1043&amp;serial=Q-1058"' in page


def test_a_form_that_is_not_there_is_told_and_the_choice_is_kept(clerk: Client) -> None:
    answer = clerk.get("/paper/?form=%3Cb%3E&serial=Q-1043")
    assert answer.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
    page = page_of(answer)
    assert "There is no form “&lt;b&gt;” here. Choose one of these." in page
    assert 'href="/paper/?form=traveller&amp;serial=Q-1043"' in page


def test_every_open_instrument_is_listed_the_first_due_at_the_head(clerk: Client) -> None:
    page = page_of(clerk.get("/paper/?form=traveller"))
    due = {one.serial: one.due_on for one in board.all_open()}
    assert set(listed(page)) == set(due)
    assert [due[name] for name in listed(page)] == sorted(due.values())
    assert ticked(page) == []


def test_what_another_page_chose_is_ticked(clerk: Client) -> None:
    page = page_of(clerk.get("/paper/?form=neck_tag&serial=q-1043&serial=Q-1058"))
    assert sorted(ticked(page)) == ["Q-1043", "Q-1058"]


def test_what_is_chosen_and_not_on_the_list_stands_before_it_still_ticked(clerk: Client) -> None:
    page = page_of(clerk.get("/paper/?form=neck_tag&serial=Q-1043&words=1058"))
    assert listed(page) == ["Q-1043", "Q-1058"]
    assert ticked(page) == ["Q-1043"]
    assert "Chosen already" in page


def test_a_chosen_serial_that_is_not_there_is_told(clerk: Client) -> None:
    page = page_of(clerk.get("/paper/?form=neck_tag&serial=Q-1043&serial=Q-9999"))
    assert "there is no instrument Q-9999 here" in page
    assert ticked(page) == ["Q-1043"]


def test_those_released_on_the_next_working_day_are_listed_under_its_date(clerk: Client) -> None:
    tomorrow = date(2031, 3, 4)
    wanted = {one.serial for one in board.all_open() if one.release_on == tomorrow}
    page = page_of(clerk.get("/paper/?form=traveller&which=tomorrow"))
    assert wanted
    assert set(listed(page)) == wanted
    assert f"Release of Tue 2031-03-04: {len(wanted)}" in page
    assert f"{len(wanted)} instruments of the release of Tue 2031-03-04" in page


def test_on_a_friday_the_next_working_day_is_the_monday_after() -> None:
    """Monday to Friday: common practice, no source."""
    assert choices.next_work_day(datetime(2031, 3, 7, 16, tzinfo=UTC)) == date(2031, 3, 10)
    assert choices.next_work_day(datetime(2031, 3, 6, 16, tzinfo=UTC)) == date(2031, 3, 7)


def test_those_released_today_are_listed(clerk: Client) -> None:
    wanted = {one.serial for one in board.all_open() if one.release_on == NOW.date()}
    page = page_of(clerk.get("/paper/?form=traveller&which=today"))
    assert wanted
    assert set(listed(page)) == wanted


def test_those_whose_next_operation_is_at_a_station_are_listed(clerk: Client) -> None:
    rows = board.floor_list(NOW, NOW.date())
    wanted = {one.serial for one in rows if one.station == "Neck bench"}
    page = page_of(clerk.get("/paper/?form=traveller&station=N"))
    assert wanted
    assert set(listed(page)) == wanted
    assert "next at Neck bench" in page


def test_those_due_by_a_day_are_listed_that_day_among_them(clerk: Client) -> None:
    day = now("Q-1043").due_on
    wanted = {one.serial for one in board.all_open() if one.due_on <= day}
    page = page_of(clerk.get(f"/paper/?form=traveller&which=due&by={day}"))
    assert "Q-1043" in wanted
    assert set(listed(page)) == wanted != {one.serial for one in board.all_open()}


def test_enter_in_the_day_is_enough(clerk: Client) -> None:
    """A browser sends the first key of a form with it, which is that of the serial."""
    day = now("Q-1043").due_on
    by_enter = page_of(clerk.get(f"/paper/?form=traveller&words=&which=words&by={day}"))
    by_key = page_of(clerk.get(f"/paper/?form=traveller&words=&by={day}&which=due"))
    assert listed(by_enter) == listed(by_key)


def test_a_day_that_is_none_narrows_nothing(clerk: Client) -> None:
    page = page_of(clerk.get("/paper/?form=traveller&which=due&by=2031-02-31"))
    assert set(listed(page)) == {one.serial for one in board.all_open()}


def test_a_guitar_whose_days_in_the_case_are_over_can_come_out(
    clerk: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    cased = now("Q-1038")
    held = cased.held(NOW)
    assert held is not None
    assert held.ready is not None
    for at, there in ((held.ready - timedelta(minutes=1), False), (held.ready, True)):
        monkeypatch.setattr("django.utils.timezone.now", lambda at=at: at)
        page = page_of(signed_in("P-41").get("/paper/?form=traveller&which=case"))
        assert ("Q-1038" in listed(page)) == there


def test_one_that_is_finished_is_found_by_its_last_digits(clerk: Client) -> None:
    Instrument.objects.filter(body__serial="Q-1041").update(finished_at=NOW)
    assert "Q-1041" not in listed(page_of(clerk.get("/paper/?form=as_built")))
    assert listed(page_of(clerk.get("/paper/?form=as_built&words=1041"))) == ["Q-1041"]


def test_nothing_found_says_so(clerk: Client) -> None:
    page = page_of(clerk.get("/paper/?form=traveller&which=words&words=glock"))
    assert listed(page) == []
    assert "No instrument ending in GLOCK." in page


def test_a_long_list_is_cut_and_all_of_it_is_printed_by_one_tap(
    clerk: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(choosing, "LISTED", 2)
    page = page_of(clerk.get("/paper/?form=traveller&which=today"))
    assert len(listed(page)) == 2
    assert "Or tick some of the first 2" in page
    (all_of_them,) = re.findall(r'href="(/paper/look/[^"]+)"', page)
    asked = parse_qs(urlsplit(all_of_them.replace("&amp;", "&")).query)
    assert asked == {"form": ["traveller"], "which": ["today"], "all": ["1"]}
    look = page_of(clerk.get(all_of_them.replace("&amp;", "&")))
    for one in board.all_open():
        assert (one.serial in look) == (one.release_on == NOW.date())


@pytest.mark.parametrize(
    ("form", "name"),
    [
        ("badge_card", "P-11"),
        ("bin_label", "A-03"),
        ("lot_label", "1"),
        ("station_card", "J"),
        ("slot_label", "H-001"),
        ("gauge_label", "G-01"),
    ],
)
def test_badges_bins_lots_and_stations_are_chosen_from_their_own_list(
    clerk: Client, form: str, name: str
) -> None:
    page = page_of(clerk.get(f"/paper/?form={form}&serial={name}"))
    assert name in ticked(page)
    assert "Released" not in page
    subject = FORMS[form].subject
    assert f"of which {subject}s?" in page
    assert re.search(rf"<h2>\d+ {subject}s?</h2>", page)


def test_a_list_of_bins_is_narrowed_by_words(clerk: Client) -> None:
    page = page_of(clerk.get("/paper/?form=bin_label&words=a-0%20T03"))
    assert listed(page) == ["A-03"]


def test_two_more_instruments_take_no_more_statements(clerk: Client) -> None:
    addresses = [
        "/paper/?form=traveller",
        "/paper/?form=traveller&which=tomorrow",
        "/paper/?form=traveller&station=N",
        "/paper/look/?form=traveller&which=all&all=1",
        "/paper/look/?form=body_tag&which=all&all=1",
    ]

    def statements(address: str) -> int:
        clerk.get(address)  # sheets and badges are kept from now on
        with CaptureQueriesContext(connection) as asked:
            assert clerk.get(address).status_code == HTTPStatus.OK
        return len(asked)

    before = {address: statements(address) for address in addresses}
    release_more()
    assert {address: statements(address) for address in addresses} == before


def code_of(serial: str, part: str = "body") -> str:
    return board.tags_of([serial])[serial][part]


def test_scanned_tags_join_the_list_the_newest_first(clerk: Client) -> None:
    first = clerk.post("/paper/scanned/", {"code": code_of("Q-1043")})
    assert first["Location"] == "/paper/scanned/?serial=Q-1043"
    second = clerk.post(first["Location"], {"code": code_of("Q-1055", "neck").lower()})
    assert second["Location"] == "/paper/scanned/?serial=Q-1055&serial=Q-1043"
    page = page_of(clerk.get(second["Location"]))
    assert "Q-1055 is on the list, 2 in all." in page
    assert page.index("<b>Q-1055</b>") < page.index("<b>Q-1043</b>")
    assert 'href="/paper/?serial=Q-1055&amp;serial=Q-1043"' in page


def test_a_tag_scanned_twice_is_on_the_list_once(clerk: Client) -> None:
    answer = clerk.post("/paper/scanned/?serial=Q-1055&serial=Q-1043", {"code": code_of("Q-1043")})
    assert answer["Location"] == "/paper/scanned/?serial=Q-1043&serial=Q-1055"


def test_the_label_of_a_tray_stands_for_its_instrument(clerk: Client) -> None:
    answer = clerk.post("/paper/scanned/", {"code": now("Q-1043").tray_code})
    assert answer["Location"] == "/paper/scanned/?serial=Q-1043"


@pytest.mark.parametrize("serial", ["Q-1043", " q-1043 ", "K-2081"])
def test_a_serial_can_be_typed_in_either_field(clerk: Client, serial: str) -> None:
    by_code = clerk.post("/paper/scanned/?form=body_tag", {"code": serial})
    by_serial = clerk.get("/paper/scanned/", {"form": "body_tag", "add": serial})
    for answer in (by_code, by_serial):
        assert answer["Location"] == "/paper/scanned/?form=body_tag&serial=Q-1043"


def test_a_zero_character_that_a_reader_sends_is_passed_over(clerk: Client) -> None:
    """PostgreSQL takes none, not even in a question."""
    answer = clerk.post("/paper/scanned/", {"code": "Q-10\x0043\0"})
    assert answer["Location"] == "/paper/scanned/?serial=Q-1043"
    assert "Q-1043" in page_of(clerk.get("/paper/?form=traveller&words=10%0043"))


def test_with_a_form_chosen_the_list_goes_straight_to_the_last_look(clerk: Client) -> None:
    page = page_of(clerk.get("/paper/scanned/?form=body_tag&serial=Q-1043"))
    assert 'href="/paper/look/?form=body_tag&amp;serial=Q-1043"' in page


def test_one_can_be_taken_off_the_list_again(clerk: Client) -> None:
    page = page_of(clerk.get("/paper/scanned/?form=body_tag&serial=Q-1055&serial=Q-1043"))
    assert 'href="/paper/scanned/?form=body_tag&amp;serial=Q-1043"' in page


@pytest.mark.parametrize(
    ("code", "told"),
    [
        ("B7M49SX", "no tag here carries it"),
        ("https://192.0.2.7/menu", "is an address outside this workshop"),
        ("", "Nothing was read."),
    ],
)
def test_a_code_that_is_none_of_ours_is_told_and_the_list_kept(
    clerk: Client, code: str, told: str
) -> None:
    page = page_of(clerk.post("/paper/scanned/?serial=Q-1043", {"code": code}))
    assert told in page
    assert "1 on the list" in page
    assert "<b>Q-1043</b>" in page


def test_a_void_tag_is_told_and_the_list_kept(clerk: Client) -> None:
    code = code_of("Q-1055")
    replaced = door.TagReplaced(code, "lost", "Q-1055")
    assert door.record(act("P-01", "", reason="lost"), replaced).done
    page = page_of(clerk.post("/paper/scanned/?serial=Q-1043", {"code": code}))
    assert "is void since 2031-03-03" in page
    assert "<b>Q-1043</b>" in page


def test_a_list_that_is_full_says_so_and_loses_nothing(
    clerk: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(choosing, "MOST_SCANNED", 1)
    page = page_of(clerk.post("/paper/scanned/?serial=Q-1043", {"code": code_of("Q-1055")}))
    assert "1 are on the list, which is all it takes." in page
    assert "<b>Q-1043</b>" in page
    assert "<b>Q-1055</b>" not in page


@pytest.mark.parametrize("address", ["/paper/", "/paper/?form=traveller", "/paper/scanned/"])
def test_an_operator_may_not_print(address: str) -> None:
    assert signed_in("P-11").get(address).status_code == HTTPStatus.FORBIDDEN


def test_a_shop_that_cannot_print_can_still_be_asked_what_for(
    clerk: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delitem(sys.modules, "shop.paper.typesetting", raising=False)
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    assert clerk.get("/paper/?form=traveller").status_code == HTTPStatus.OK
