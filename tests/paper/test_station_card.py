"""The card on the wall of a station: every caution stands there, and a scan says where one is."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from shop.catalogue import book
from shop.catalogue.models import Operation, Station
from shop.craft.cautions import is_grave
from shop.paper.forms import CHOICES, form_of
from shop.paper.placing import per_sheet
from tests.bench.screens import seen, signed_in
from tests.floor.morning import NOW, forget
from tests.paper.measured import (
    SHORT,
    drawn,
    height,
    keeps_its_border,
    looks_the_same_stamped,
    modules_mm,
    refused,
    scanned,
    too_low,
)
from tests.paper.reading import INK, darkest, pages, pictures, sizes_mm, squeezed, words

pytestmark = pytest.mark.usefixtures("morning", "db")

FOOT = (
    "Local codes and your site's safety rules come first; ask the lead before a machine you are "
    "not signed off for."
)
LARGE_MM = 3.3  # a caution set large; text stands 2.5, common practice, no source
STATIONS = "KNBJGFUEQAIHRZX"  # of the demo workshop
LONG = "Metal filings: eye protection, vacuum before anything is glued. " * 4


@pytest.fixture(autouse=True)
def _address(settings: Any) -> None:
    settings.ADDRESS = SHORT


@pytest.fixture
def phone(monkeypatch: pytest.MonkeyPatch) -> Client:
    """A phone of the neck bench, on the demo's Monday."""
    monkeypatch.setattr(timezone, "now", lambda: NOW)
    return signed_in("P-11")


def operation(code: str) -> Operation:
    return Operation.objects.get(code=code)


def test_the_card_is_an_a5() -> None:
    """ISO 216:2007: A5 is 148 x 210 mm."""
    [size] = sizes_mm(drawn("station_card", "J"))
    assert size == pytest.approx((148, 210), abs=0.1)


def test_two_cards_stand_on_an_a4_sheet() -> None:
    """ISO 216:2007: an A4 is two of A5."""
    assert per_sheet(form_of("station_card"), "a4") == 2


@pytest.mark.parametrize("code", STATIONS)
def test_every_caution_of_a_station_stands_on_its_card_beside_what_it_is_of(code: str) -> None:
    station = Station.objects.get(code=code)
    pdf = drawn("station_card", code)
    text = words(pdf)
    assert station.caution
    assert squeezed(station.caution) in text
    for one in station.operations.all():
        assert squeezed(f"{one.code} {one.name}{one.caution}") in text
    assert keeps_its_border("station_card", pdf)
    assert too_low(pdf) == []


def test_the_demos_stations_are_those_tried_here() -> None:
    assert sorted(code for code, _ in CHOICES["station"]()) == sorted(STATIONS)


@pytest.mark.parametrize("code", STATIONS)
def test_the_demos_cards_are_one_page_each(code: str) -> None:
    """A second one is easily lost from a wall."""
    assert len(sizes_mm(drawn("station_card", code))) == 1


def test_key_and_name_are_read_across_the_room() -> None:
    """Twelve and six millimetres; common practice, no source."""
    [page] = pages(drawn("station_card", "N"))
    [key] = [one for one in page.glyphs if one.char == "N" and one.height >= 12]
    assert key.top > 190, "it stands at the top"
    assert height(page, "Neck bench") >= 4.8  # its small letters
    [first, *_] = [one for one in page.heights_of("Neckbench") if min(one) > 4]
    assert first[0] >= 6


def test_machines_dust_solvents_oily_rags_and_lifting_are_set_large_with_a_triangle() -> None:
    pdf = drawn("station_card", "N")
    [page], [side] = pages(pdf), pictures(pdf, 300)
    px = 300 / 25.4
    for caution in (
        Station.objects.get(code="N").caution,
        operation("N30").caution,
        operation("N40").caution,
    ):
        word = squeezed(caution)
        place = page.glyphs[page.text.index(word)]
        assert place.height >= LARGE_MM
        left, right = int(8 * px), int((place.left - 1) * px)
        top, low = int((210 - place.top) * px), int((214 - place.bottom) * px)
        assert darkest(side.crop((left, top, right, low))) < INK, f"no triangle beside {caution}"
    mild = page.glyphs[page.text.index(squeezed(operation("N10").caution))]
    assert mild.height < LARGE_MM


def test_whatever_is_said_of_a_machine_is_set_large() -> None:
    assert operation("J10").machine
    Operation.objects.filter(code="J10").update(caution="Never alone.")
    assert not is_grave("Never alone.")
    [page] = pages(drawn("station_card", "J"))
    assert page.glyphs[page.text.index("Neveralone.")].height >= LARGE_MM


@pytest.mark.parametrize("code", STATIONS)
def test_every_page_says_that_local_rules_come_first(code: str) -> None:
    for page in pages(drawn("station_card", code)):
        assert squeezed(f"{FOOT}Printed 2031-03-03 09:30") in page.text


def fullest() -> None:
    """A station with the longest of everything."""
    Station.objects.filter(code="N").update(code="NNNN", name="W" * 40, caution=("W" * 300))
    Operation.objects.filter(station__code="NNNN").update(name="M" * 60, caution=LONG)
    forget()


def test_a_long_card_flows_on_and_loses_nothing() -> None:
    fullest()
    pdf = drawn("station_card", "NNNN")
    found = pages(pdf)
    text = words(pdf)
    assert len(found) > 1
    assert text.count(squeezed(LONG)) == 6
    assert text.count("M" * 60) == 6
    assert text.count("W") >= 340
    for number, page in enumerate(found, 1):
        assert squeezed(FOOT) in page.text
        assert f"{number}/{len(found)}" in page.text
        assert "NNNN" in page.text
    assert keeps_its_border("station_card", pdf)


def test_a_station_where_nothing_is_done_says_so_and_has_its_square() -> None:
    Station.objects.create(code="Y", name="Dock", place=99)
    pdf = drawn("station_card", "Y")
    assert "Nooperationisdonehere." in words(pdf)
    assert scanned(pdf) == ["HTTP://FLOOR.QUILLMERE/AT/Y"]


def test_scanned_it_asks_whether_this_phone_is_there_and_one_tap_says_so(phone: Client) -> None:
    [address] = scanned(drawn("station_card", "J"))
    assert address == "HTTP://FLOOR.QUILLMERE/AT/J"
    there = seen(phone.post("/scan/", {"code": address}, follow=True))
    assert there.heading == "You are at Joint?"
    button = there.one(".//main//form[@action='/station/']//button")
    sent = {button.get("name", ""): button.get("value", "")}
    assert phone.post("/station/", sent)["Location"] == "/scan/"
    assert "Joint" in seen(phone.get("/scan/")).links


def test_what_is_printed_beside_the_square_can_be_typed(phone: Client) -> None:
    text = words(drawn("station_card", "J"))
    assert "ScantosaywherethisphoneisATJ" in text
    assert phone.post("/scan/", {"code": "AT J"})["Location"] == "/AT/J"


def test_the_squares_module_is_a_millimetre() -> None:
    assert modules_mm(drawn("station_card", "J")) == pytest.approx([1.0], abs=0.01)


def test_a_stamped_card_is_the_picture_of_one_laid_out_by_itself() -> None:
    assert looks_the_same_stamped("station_card", "J", "N", "Q")


def test_a_station_that_is_not_there_is_named() -> None:
    assert refused("station_card", "99").startswith("There is no station 99 here.")


def test_cards_are_read_in_two_statements_however_many_they_are(
    django_assert_num_queries: Any,
) -> None:
    with django_assert_num_queries(2):
        assert set(book.station_sheets(list(STATIONS))) == set(STATIONS)
