"""The labels of the shelf: on a bin, and on a lot in it."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from shop.catalogue.models import Item
from shop.paper.forms import CHOICES, form_of
from shop.paper.placing import per_sheet
from shop.stock import shelf
from shop.stock.models import Bin, Lot
from tests.bench.screens import Screen, signed_in
from tests.floor.morning import NOW
from tests.kitting.clerk import scan, walk
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

WIDEST = "WW-12345"  # eight symbols are the most a bin has
LONG_NAME = "open-gear individual set of the long bushing, for necks that came in thin"


@pytest.fixture(autouse=True)
def _address(settings: Any) -> None:
    settings.ADDRESS = SHORT


@pytest.fixture
def clerk(monkeypatch: pytest.MonkeyPatch) -> Client:
    """A phone of the clerk, on the demo's Monday."""
    monkeypatch.setattr(timezone, "now", lambda: NOW)
    return signed_in("P-41")


def lot(key: str) -> Lot:
    return Lot.objects.get(item__key=key)


def lay(key: str, place: str, on: date, code: str = "was here", **more: Any) -> Lot:
    """A lot of which nothing is left, in a bin."""
    of, _ = Bin.objects.get_or_create(code=place)
    item = Item.objects.get(key=key)
    return Lot.objects.create(item=item, bin=of, code=code, received_on=on, **more)


def belongs(place: str) -> list[tuple[str, str]]:
    return [(one.article.key, one.piece) for one in shelf.bin_labels([place])[place].belongs]


# --- bins ---


def test_a_bins_label_is_an_a7_lying() -> None:
    """ISO 216:2007: A7 is 74 x 105 mm."""
    [size] = sizes_mm(drawn("bin_label", "A-03"))
    assert size == pytest.approx((105, 74), abs=0.1)


def test_a_bins_label_says_what_belongs_in_it_where_it_is_and_what_to_type() -> None:
    [page] = pages(drawn("bin_label", "A-03"))
    place = shelf.bin_labels(["A-03"])["A-03"].place
    assert place is not None
    for said in (
        "T03 open-gear individual set, small bushing, nickel",
        "BIN A-03",
        f"Aisle {place.aisle} · {place.along_m.normalize():f} m along it",
        "Printed 2031-03-03 09:30",
    ):
        assert squeezed(said) in page.text


def test_what_belongs_in_a_bin_is_drawn_beside_its_name() -> None:
    pdf = drawn("bin_label", "A-03")
    [page], [side] = pages(pdf), pictures(pdf, 300)
    key = page.glyphs[page.text.index("T03")]
    px = 300 / 25.4
    beside = (int(3 * px), int((74 - key.top - 1) * px), int((key.left - 1) * px))
    picture = side.crop((*beside, int((74 - key.bottom + 1) * px)))
    assert darkest(picture) < INK


@pytest.mark.parametrize("code", ["A-03", WIDEST])
def test_a_bins_code_stands_twelve_millimetres_high_however_long_it_is(code: str) -> None:
    """Read from 2 m off; common practice, no source."""
    Bin.objects.get_or_create(code=code)
    [page] = pages(drawn("bin_label", code))
    assert height(page, code) >= 12


def test_a_bin_without_a_place_and_with_nothing_in_it_has_lines_to_write_on() -> None:
    Bin.objects.create(code="E-99")
    text = words(drawn("bin_label", "E-99"))
    assert "Writewhatbelongsinit." in text
    assert "Aisle" in text
    assert "malongit" not in text


def test_what_lay_in_a_bin_last_belongs_there_while_there_is_none_of_it() -> None:
    lay("P04", "Y-01", date(2031, 4, 1))
    assert belongs("Y-01") == [("P04", "")]
    assert belongs(lot_in("P04")) == [("P04", "")], "it lies there still"


def lot_in(key: str) -> str:
    return Lot.objects.filter(item__key=key, on_hand__gt=0).get().bin.code


def test_what_lay_in_a_bin_once_and_came_into_another_since_does_not_belong_there() -> None:
    lay("T03", "Y-01", date(2030, 4, 1))
    assert belongs("Y-01") == []


def test_what_is_set_apart_in_a_bin_belongs_there_no_more_than_it_moves_the_rest() -> None:
    lay("P04", "Y-01", date(2031, 4, 1))
    lay("P04", "Y-02", date(2031, 4, 2), code="off Q-1043", held="to be looked at")
    assert belongs("Y-02") == []
    assert belongs("Y-01") == [("P04", "")]


def test_an_obsolete_item_belongs_nowhere_once_it_is_used_up() -> None:
    lay("P04", "Y-01", date(2031, 4, 1))
    Item.objects.filter(key="P04").update(obsolete=True)
    assert belongs("Y-01") == []
    assert belongs(lot_in("P04")) == [("P04", "")]


def test_single_machines_are_told_from_whole_sets() -> None:
    lay("T02", "Y-01", date(2031, 4, 1), piece="L")
    lay("T02", "Y-01", date(2031, 4, 2))
    assert belongs("Y-01") == [("T02", ""), ("T02", "left singles")]
    text = words(drawn("bin_label", "Y-01"))
    assert "gold:leftsingles" in text


def test_a_bin_of_many_items_has_as_many_labels_as_they_take_and_loses_none() -> None:
    Item.objects.filter(key="T02").update(name=LONG_NAME)
    full = Bin.objects.create(code=WIDEST)
    Lot.objects.update(bin=full)
    items = Item.objects.filter(lots__isnull=False).distinct()
    pdf = drawn("bin_label", WIDEST)
    text = words(pdf)
    assert items.count() > 20
    for item in items:
        assert squeezed(f"{item.key} {item.name}") in text
    assert set(scanned(pdf)) == {f"{SHORT}/B/{WIDEST}".upper()}
    assert all(height(page, WIDEST) >= 12 for page in pages(pdf))


def test_the_walk_takes_the_label_of_its_bin_scanned_and_typed(clerk: Client) -> None:
    pdf = drawn("bin_label", "A-01")
    [address] = scanned(pdf)
    assert address == "HTTP://FLOOR.QUILLMERE/B/A-01"
    assert "BINA-01" in words(pdf)
    for read in (address, "BIN A-01", "bin a-01"):
        screen = walk(clerk, "Q-1062")
        assert screen.heading == "A-01"
        assert f"Scan lot {lot('T01').code}" in scan(clerk, screen, read).words


def test_the_walk_says_whose_label_a_neighbours_is(clerk: Client) -> None:
    [address] = scanned(drawn("bin_label", "A-03"))
    told = scan(clerk, walk(clerk, "Q-1062"), address)
    assert "This is A-03. Go to A-01." in stopped(told)


def stopped(screen: Screen) -> str:
    (told,) = screen.of_class("finding-stop")
    return told


def test_an_address_too_long_for_the_square_is_refused_with_what_to_do(settings: Any) -> None:
    settings.ADDRESS = "http://floor.quillmere:8000"
    Bin.objects.create(code=WIDEST)
    told = refused("bin_label", WIDEST)
    assert "HTTP://FLOOR.QUILLMERE:8000/B/WW-12345 has 38 characters, 35 is the most" in told
    assert "set HEELCAP_ADDRESS to it" in told


def test_a_bin_that_is_not_on_the_shelf_is_named() -> None:
    assert refused("bin_label", "Z-99").startswith("There is no bin Z-99 here.")


def test_labels_of_bins_are_read_in_four_statements_however_many_they_are(
    django_assert_num_queries: Any,
) -> None:
    lay("P04", "Y-01", date(2031, 4, 1))
    with django_assert_num_queries(4):
        assert len(shelf.bin_labels()) > 20
    with django_assert_num_queries(4):
        assert list(shelf.bin_labels(["Y-01"])) == ["Y-01"]


# --- lots ---


def test_a_lots_label_is_an_a8_lying() -> None:
    """ISO 216:2007: A8 is 52 x 74 mm."""
    [size] = sizes_mm(drawn("lot_label", str(lot("T02").pk)))
    assert size == pytest.approx((74, 52), abs=0.1)


def test_a_lots_label_says_what_it_is_whence_and_where_it_lies() -> None:
    one = lot("T02")
    text = words(drawn("lot_label", str(one.pk)))
    for said in (
        f"T02 {one.code}",
        f"{one.item.name}, gold",
        f"LOT {one.pk}",
        f"Came in {one.received_on}",
        f"Bin {one.bin.code}",
        "Printed 2031-03-03",
        f"Plating {one.plating}",
    ):
        assert squeezed(said) in text
    assert "Bestbefore" not in text


def test_what_is_not_known_of_a_lot_is_left_out() -> None:
    text = words(drawn("lot_label", str(lot("P04").pk)))
    assert "Plating" not in text
    assert "Bestbefore" not in text


def test_a_battery_has_its_best_day_on_the_label() -> None:
    Lot.objects.filter(item__key="T02").update(best_before=date(2032, 9, 30))
    assert "Bestbefore2032-09-30" in words(drawn("lot_label", str(lot("T02").pk)))


def test_a_lots_code_stands_seven_millimetres_high_and_its_number_five() -> None:
    """Read at arm's length; common practice, no source."""
    one = lot("T02")
    [page] = pages(drawn("lot_label", str(one.pk)))
    assert height(page, f"T02 {one.code}") >= 7
    assert height(page, f"LOT {one.pk}") >= 5


def fullest() -> Lot:
    """A lot of which everything is said, each as long as it may be but for its name."""
    Item.objects.filter(key="T02").update(name=LONG_NAME)
    bath = {"plating": "A of the second bath", "best_before": date(2032, 3, 3)}
    Lot.objects.filter(item__key="T02").update(code="31-02A of bath 00003", piece="R", **bath)
    return lot("T02")


def test_long_names_codes_and_baths_lose_nothing_on_a_lots_label() -> None:
    text = words(drawn("lot_label", str(fullest().pk)))
    for said in (
        "T02 31-02A of bath 00003", f"{LONG_NAME}, gold: right singles", "A of the second bath",
        "2032-03-03",
    ):  # fmt: skip
        assert squeezed(said) in text


def test_the_longest_name_there_can_be_flows_to_a_second_label() -> None:
    number = fullest().pk
    Item.objects.filter(key="T02").update(name="W" * 80)
    pdf = drawn("lot_label", str(number))
    assert words(pdf).count("W") == 80
    assert scanned(pdf) == [f"{SHORT}/L/{number}".upper()] * 2


def test_the_walk_takes_the_label_of_its_lot_scanned_and_typed(clerk: Client) -> None:
    number = lot("T01").pk
    pdf = drawn("lot_label", str(number))
    [address] = scanned(pdf)
    assert address == f"HTTP://FLOOR.QUILLMERE/L/{number}"
    assert f"LOT{number}" in words(pdf)
    for read in (address, f"LOT {number}"):
        screen = scan(clerk, walk(clerk, "Q-1062"), read)
        assert "Taken" in screen.buttons


def test_a_lot_is_asked_for_by_its_number_bare_or_as_printed() -> None:
    number = lot("T01").pk
    for name in (f" {number} ", f"LOT {number}", f"lot  {number}"):
        assert f"LOT{number}" in words(drawn("lot_label", name))


@pytest.mark.parametrize("name", ["0", "999999999", "9" * 40, "T01", "²"])
def test_a_lot_that_is_not_here_is_named(name: str) -> None:
    assert refused("lot_label", name).startswith(f"There is no lot {name} here.")


def test_labels_of_lots_are_read_in_two_statements_however_many_they_are(
    django_assert_num_queries: Any,
) -> None:
    number = lot("T01").pk
    with django_assert_num_queries(2):
        assert len(shelf.lot_labels()) > 20
    with django_assert_num_queries(2):
        assert list(shelf.lot_labels([number])) == [number]


# --- both ---


def test_the_labels_fill_an_a4_sheet() -> None:
    """ISO 216:2007: an A4 is eight of A7 and sixteen of A8."""
    assert per_sheet(form_of("bin_label"), "a4") == 8
    assert per_sheet(form_of("lot_label"), "a4") == 16


def test_the_squares_module_is_three_quarters_of_a_millimetre() -> None:
    for pdf in (drawn("bin_label", "A-03"), drawn("lot_label", str(lot("T02").pk))):
        assert modules_mm(pdf) == pytest.approx([0.75], abs=0.01)


@pytest.mark.parametrize("full", [False, True])
def test_the_border_is_white_and_no_letter_is_too_low(full: bool) -> None:
    if full:
        fullest()
        Bin.objects.filter(code="A-02").update(code=WIDEST, aisle=32_000, along_m="9999.9")
    for form, name in (
        ("bin_label", WIDEST if full else "A-02"), ("lot_label", str(lot("T02").pk)),
    ):  # fmt: skip
        pdf = drawn(form, name)
        assert keeps_its_border(form, pdf)
        assert too_low(pdf) == []


def test_a_stamped_label_is_the_picture_of_one_laid_out_by_itself() -> None:
    assert looks_the_same_stamped("bin_label", "A-01", "A-02", "A-03", "C-11", "D-01")
    numbers = [str(lot(key).pk) for key in ("T01", "T02", "T03", "P04")]
    assert looks_the_same_stamped("lot_label", *numbers)


def test_bins_are_chosen_in_walking_order_by_what_belongs_in_them() -> None:
    found = CHOICES["bin"]()
    assert [name for name, _ in found] == shelf.walking_order([name for name, _ in found])
    assert dict(found)["A-03"].startswith("T03 open-gear individual set")


def test_lots_are_chosen_newest_first_by_what_they_are_and_where() -> None:
    found = CHOICES["lot"]()
    days = [Lot.objects.get(pk=int(name)).received_on for name, _ in found]
    assert days == sorted(days, reverse=True)
    one = lot("T02")
    assert dict(found)[str(one.pk)] == f"T02 {one.code} · A-02 · {one.item.name}"
