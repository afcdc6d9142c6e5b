"""Finished pages on the sheets of a printer: held against the light, cut and scanned.

Pages are drawn by pypdfium2 and squares read by zxing-cpp, which have no part in placing.
"""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from functools import cache
from typing import Any

import pypdf
import pytest
from django.conf import settings
from pikepdf import Dictionary, Pdf
from PIL import Image, ImageChops

from shop.craft.imposing import A4, A7, Cell, Edge, behind, grid
from shop.paper import press
from shop.paper.forms import FORMS
from shop.paper.models import Printer
from shop.paper.placing import (
    NoSuchPlace,
    Sheet,
    Sheeting,
    TooLarge,
    per_sheet,
    placed,
    sheets_of,
)
from shop.paper.press import Drawn, Sheaf
from tests.bench.screens import tag
from tests.floor.morning import NOW
from tests.paper.reading import INK, pages, pictures, sizes_mm, squares, squeezed

pytestmark = pytest.mark.usefixtures("morning", "db")

DPI = 300
PX = DPI / 25.4
REGISTERS_MM = 0.5  # front to back; a hand sees no less. Common practice, no source
SERIALS = ("Q-1043", "Q-1044", "Q-1064", "Q-1058", "Q-1055", "Q-1061")
SAME = 4  # of 255: what pdfium's own rounding makes of the same drawing in another frame
HOLE_MM = 6.0  # across, as the body tag's dashed circle is drawn


@cache
def drawn(form: str = "body_tag", serials: tuple[str, ...] = SERIALS) -> Sheaf:
    """Drawn once for all tests: placing takes pages and changes none."""
    sheaf = press.draw(form, serials, NOW)
    assert sheaf.refused == []
    return sheaf


def pdf_of(document: Pdf) -> bytes:
    return press.bound(document, "placed for a test")


def on_sheets(on: Sheeting, form: str = "body_tag", serials: tuple[str, ...] = SERIALS) -> bytes:
    return pdf_of(placed(drawn(form, serials), on))


def pictured(pdf: bytes) -> list[Image.Image]:
    return pictures(pdf, DPI)


def cards(picture: Image.Image, cells: Sequence[Cell]) -> list[Image.Image]:
    """What is in each cell of a side, cut out and held so that it can be read."""
    cut = []
    for cell in cells:
        box = (cell.left_mm, cell.top_mm, cell.right_mm, cell.bottom_mm)
        left, top, right, bottom = (round(edge * PX) for edge in box)
        card = picture.crop((left, top, right, bottom))
        cut.append(card.rotate(90 * cell.turn, expand=True))
    return cut


def ink(picture: Image.Image) -> tuple[int, int, int, int]:
    """Left, top, right and bottom of what is printed, in pixels."""
    bounds = picture.point(lambda grey: 255 * (grey < INK)).getbbox()
    assert bounds is not None, "nothing is printed"
    left, top, right, bottom = bounds
    return left, top, right, bottom


def blank(picture: Image.Image) -> bool:
    """Whether nothing is printed but for what lies on the very edge, as the mark of a cut."""
    edge = round(1.0 * PX)
    inside = picture.crop((edge, edge, picture.width - edge, picture.height - edge))
    return inside.point(lambda grey: 255 * (grey < INK)).getbbox() is None


def hole(card: Image.Image) -> tuple[float, float]:
    """The middle of the cord hole on a tag, in mm from the upper left: the topmost ink in the
    middle of its width."""
    half = round((HOLE_MM / 2 + 0.6) * PX)
    middle = card.width // 2
    strip = card.crop((middle - half, round(1.0 * PX), middle + half, card.height // 3))
    _, top, _, _ = ink(strip)
    left, _, right, bottom = ink(strip.crop((0, 0, strip.width, top + round(HOLE_MM * PX))))
    assert (right - left) / PX == pytest.approx(HOLE_MM, abs=0.4), "this is no hole"
    assert (bottom - top) / PX == pytest.approx(HOLE_MM, abs=0.4), "this is no hole"
    return (middle - half + (left + right) / 2) / PX, 1.0 + (top + bottom) / 2 / PX


def through_the_paper(back: Image.Image, edge: Edge) -> Image.Image:
    """The back of an upright sheet as it shows from the front, held against the light."""
    ways = Image.Transpose
    return back.transpose(ways.FLIP_TOP_BOTTOM if edge == "short" else ways.FLIP_LEFT_RIGHT)


def codes(serials: Sequence[str] = SERIALS) -> list[str]:
    """What the square of each body tag is to hold, in the order of the serials."""
    return [f"{settings.ADDRESS}/{tag(serial)}".upper() for serial in serials]


def codes_on(card: Image.Image) -> list[str]:
    return [square.text for square in squares(card)]


EDGES: tuple[Edge, ...] = ("long", "short", "none")


@pytest.mark.parametrize("edge", EDGES)
def test_held_against_the_light_the_holes_of_front_and_back_lie_on_each_other(edge: Edge) -> None:
    front, back = pictured(on_sheets(Sheeting("a4", edge=edge)))
    cells = grid(A7, 4, A4)[: len(SERIALS)]
    fronts = cards(front, cells)
    backs = cards(through_the_paper(back, edge), cells)
    for one, other in zip(fronts, backs, strict=True):
        assert math.dist(hole(one), hole(other)) < REGISTERS_MM


@pytest.mark.parametrize("edge", EDGES)
def test_a_tag_cut_out_has_one_code_on_both_sides_and_both_are_upright(edge: Edge) -> None:
    front, back = pictured(on_sheets(Sheeting("a4", edge=edge)))
    cells = grid(A7, 4, A4)[: len(SERIALS)]
    fronts = cards(front, cells)
    backs = cards(back, [behind(cell, A4, edge) for cell in cells])
    for expected, one, other in zip(codes(), fronts, backs, strict=True):
        assert codes_on(one) == codes_on(other) == [expected]
        assert hole(one) == pytest.approx(hole(other), abs=0.1)


@pytest.mark.parametrize("sheet", ["a4", "letter"])
def test_the_square_of_every_tag_on_a_sheet_is_read(sheet: Sheet) -> None:
    sides = pictured(on_sheets(Sheeting(sheet)))
    for side in sides:
        assert sorted(square.text for square in squares(side)) == sorted(codes())


def test_text_on_a_sheet_can_still_be_selected() -> None:
    front, _back = pages(on_sheets(Sheeting("a4")))
    for serial in SERIALS:
        assert serial in front.text
    assert squeezed("cotton cord") in front.text


def test_a_part_used_sheet_is_begun_where_told_and_the_rest_of_the_last_stays_free() -> None:
    sides = pictured(on_sheets(Sheeting("a4", first=3)))
    cells = grid(A7, 4, A4)
    assert len(sides) == 4
    used = [
        (sheet, number)
        for sheet in (0, 1)
        for number, card in enumerate(cards(sides[2 * sheet], cells))
        if not blank(card)
    ]
    assert used == [(0, 3), (0, 4), (0, 5), (0, 6), (0, 7), (1, 0)]
    backs = [behind(cell, A4, "long") for cell in cells]
    assert [not blank(card) for card in cards(sides[1], backs)] == [False] * 3 + [True] * 5


def test_the_cut_stacks_laid_on_each_other_are_in_the_order_asked() -> None:
    sides = pictured(on_sheets(Sheeting("a4", first=3)))
    piles = zip(*(cards(side, grid(A7, 4, A4)) for side in sides[::2]), strict=True)
    in_order = [text for pile in piles for card in pile for text in codes_on(card)]
    assert in_order == codes()


@pytest.mark.parametrize("sheet", ["single", "a4"])
@pytest.mark.parametrize("edge", ["long", "short"])
def test_front_and_back_are_moved_by_what_is_kept_of_the_printer(sheet: Sheet, edge: Edge) -> None:
    still = Sheeting(sheet, edge=edge)
    moved = replace(still, right_mm=1.3, down_mm=-0.7, back_right_mm=-0.4, back_down_mm=0.9)
    sheaf = drawn()
    before, after = (pictured(pdf_of(placed(sheaf, on)))[:2] for on in (still, moved))
    for one, other, by in zip(before, after, [(1.3, -0.7), (-0.4, 0.9)], strict=True):
        way = [(to - at) / PX for at, to in zip(ink(one), ink(other), strict=True)]
        assert way == pytest.approx([*by, *by], abs=0.1)


def test_a_printer_moves_what_was_measured_on_it() -> None:
    kept: dict[str, Any] = {"right_mm": Decimal("0.4"), "back_down_mm": Decimal("-1.2")}
    on = Sheeting.on(Printer(name="Office", **kept), "a4", 2, "short")
    assert on == Sheeting("a4", 2, "short", 0.4, 0.0, 0.0, -1.2)
    assert Sheeting.on(None, "letter", 0, "none") == Sheeting("letter", 0, "none")


@pytest.mark.parametrize(
    ("form", "size"), [("traveller", (148, 210)), ("body_tag", (74, 105)), ("neck_tag", (52, 74))]
)
def test_one_to_a_page_the_paper_is_as_large_as_the_form(
    form: str, size: tuple[float, float]
) -> None:
    """ISO 216:2007, which allows 1.5 mm up to 150 mm and 2 mm above; here it is exact to 0.1."""
    pdf = on_sheets(Sheeting(), form, SERIALS[:1])
    assert len(sizes_mm(pdf)) == 2
    for width, height in sizes_mm(pdf):
        assert (width, height) == pytest.approx(size, abs=0.1)
    for page in pypdf.PdfReader(io.BytesIO(pdf)).pages:
        assert page.trimbox == page.mediabox


@pytest.mark.parametrize(("sheet", "size"), [("a4", (210, 297)), ("letter", (215.9, 279.4))])
def test_many_to_a_page_the_paper_is_the_sheet(sheet: Sheet, size: tuple[float, float]) -> None:
    """ISO 216:2007; Letter is 8.5 × 11 inches, ANSI/ASME Y14.1."""
    for width, height in sizes_mm(on_sheets(Sheeting(sheet))):
        assert (width, height) == pytest.approx(size, abs=0.1)


def test_one_to_a_page_a_page_is_the_picture_that_was_drawn() -> None:
    sheaf = drawn(serials=SERIALS[:2])
    before = pictures(pdf_of(sheaf.pdf), 144)
    after = pictures(pdf_of(placed(sheaf, Sheeting())), 144)
    assert len(before) == len(after) == 4
    for one, other in zip(before, after, strict=True):
        differ = ImageChops.difference(one, other).point(lambda grey: 255 * (grey > SAME))
        assert differ.getbbox() is None


def test_one_to_a_page_flipped_on_the_short_edge_the_back_is_turned_to_its_front() -> None:
    sheaf = drawn(serials=SERIALS[:1])
    (front, back), (same, turned) = (
        pictured(pdf_of(placed(sheaf, Sheeting(edge=edge)))) for edge in ("long", "short")
    )
    assert hole(same) == pytest.approx(hole(front), abs=0.1)
    assert hole(turned.rotate(180)) == pytest.approx(hole(back), abs=0.1)


def pages_each(sheaf: Sheaf, *counts: int) -> Sheaf:
    """The same pages as if things had so many of them each."""
    first, told = 0, []
    for number, count in enumerate(counts):
        page = replace(sheaf.drawn[0].page, name=f"X-{number}")
        told.append(Drawn(page, first, count))
        first += count
    assert first <= len(sheaf.pdf.pages)
    return Sheaf(sheaf.form, sheaf.pdf, told)


def serials_on(pdf: bytes) -> list[list[str]]:
    """The serials that can be read on each side, in the order of SERIALS."""
    return [[one for one in SERIALS if one in page.text] for page in pages(pdf)]


def test_the_next_begins_on_a_front_where_one_has_an_odd_number_of_pages() -> None:
    sheaf = pages_each(drawn(), 1, 3, 2)
    a, b, c = SERIALS[:3]
    assert serials_on(pdf_of(placed(sheaf, Sheeting()))) == [[a], [], [a], [b], [b], [], [c], [c]]


def test_no_blank_back_is_printed_where_a_printer_prints_one_side() -> None:
    sheaf = pages_each(drawn(), 1, 3, 2)
    a, b, c = SERIALS[:3]
    sides = serials_on(pdf_of(placed(sheaf, Sheeting(edge="none"))))
    assert sides == [[a], [a], [b], [b], [c], [c]]


def test_of_four_sides_the_first_two_share_a_cell_and_the_last_two_the_next() -> None:
    sheaf = pages_each(drawn(), 4)
    front, back = pictured(pdf_of(placed(sheaf, Sheeting("a4"))))
    cells = grid(A7, 4, A4)[:2]
    assert [codes_on(card) for card in cards(front, cells)] == [[one] for one in codes()[:2]]
    behinds = [behind(cell, A4, "long") for cell in cells]
    assert [codes_on(card) for card in cards(back, behinds)] == [[one] for one in codes()[:2]]


def test_every_page_of_a_form_with_one_side_has_a_cell_of_its_own() -> None:
    sheaf = drawn("tray_label", SERIALS[:3])
    count = len(sheaf.pdf.pages)
    (side,) = pictured(pdf_of(placed(sheaf, Sheeting("a4"))))
    full = [not blank(card) for card in cards(side, grid(A7, 4, A4))]
    assert full == [True] * count + [False] * (8 - count)


def test_only_what_is_kept_is_placed_and_the_rest_moves_up() -> None:
    pdf = pdf_of(placed(drawn(), Sheeting(), keep=SERIALS[2:4]))
    assert serials_on(pdf) == [[SERIALS[2]], [SERIALS[2]], [SERIALS[3]], [SERIALS[3]]]


def test_a_document_of_nothing_has_no_page() -> None:
    assert len(placed(drawn(serials=SERIALS[:1]), Sheeting("a4"), keep=()).pages) == 0


def fonts(pdf: bytes) -> int:
    """How many fonts are embedded in a file."""
    with Pdf.open(io.BytesIO(pdf)) as read:
        return sum(isinstance(one, Dictionary) and "/FontFile2" in one for one in read.objects)


@pytest.mark.parametrize("sheet", ["single", "a4"])
def test_what_pages_share_is_kept_once(sheet: Sheet) -> None:
    sheaf = drawn()
    before = pdf_of(sheaf.pdf)
    after = pdf_of(placed(sheaf, Sheeting(sheet)))
    assert fonts(after) == fonts(before) > 0
    assert len(after) < 1.25 * len(before)


@pytest.mark.parametrize(
    ("form", "edge", "duplex"),
    [
        ("body_tag", "long", "/DuplexFlipLongEdge"),
        ("body_tag", "short", "/DuplexFlipShortEdge"),
        ("body_tag", "none", "/Simplex"),
        ("tray_label", "long", "/Simplex"),
    ],
)
def test_the_printer_is_asked_for_100_percent_and_the_edge_to_flip_on(
    form: str, edge: Edge, duplex: str
) -> None:
    document = placed(drawn(form, SERIALS[:1]), Sheeting("a4", edge=edge))
    wishes = document.Root.ViewerPreferences
    assert wishes.Duplex == duplex
    assert wishes.PrintScaling == "/None"


def test_so_many_go_on_a_sheet_and_so_many_sheets_it_takes() -> None:
    label, sheet = FORMS["body_tag"], FORMS["traveller"]
    assert [per_sheet(label, one) for one in ("single", "a4", "letter")] == [1, 8, 6]
    assert [per_sheet(sheet, one) for one in ("single", "a4", "letter")] == [1, 2, 1]
    assert sheets_of(label, 16, Sheeting("a4")) == 2
    assert sheets_of(label, 16, Sheeting("a4", first=1)) == 3
    assert sheets_of(label, 16, Sheeting()) == 16


def test_a_form_larger_than_the_sheet_is_refused_with_both_sizes() -> None:
    with pytest.raises(TooLarge) as why:
        sheets_of(FORMS["as_built"], 1, Sheeting("letter"))
    assert str(why.value) == (
        "The as-built record is 210 × 297 mm and does not go on a sheet of 215.9 × 279.4 mm. "
        "Print it one to a page."
    )


@pytest.mark.parametrize("first", [8, -1])
def test_a_first_place_that_is_not_on_the_sheet_is_refused(first: int) -> None:
    with pytest.raises(NoSuchPlace) as why:
        placed(drawn(serials=SERIALS[:1]), Sheeting("a4", first=first))
    assert "Start at 1 to 8." in str(why.value)
