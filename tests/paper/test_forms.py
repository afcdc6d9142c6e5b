"""Every printed form of every spec: paper, squares, sizes of type. Read back from the PDF."""

from __future__ import annotations

import io

import pypdf
import pytest

from shop.paper.forms import FORMS as FORM
from tests.paper.printing import FORMS, ONE_OF_EACH, SERIALS, Printed
from tests.paper.reading import INK, darkest, ink, pages, pictures, side_px, sizes_mm, squares

pytestmark = pytest.mark.django_db

# ISO 216:2007, as several public tables give it.
ISO_216_MM = {"A5": (148, 210), "A7": (74, 105), "A8": (52, 74)}
PAPER = {"traveller": "A5", "body_tag": "A7", "neck_tag": "A8", "tray_label": "A7"}
SIDES = {"traveller": 2, "body_tag": 2, "neck_tag": 2, "tray_label": 1}
# The least, 0.75 mm, comes from a measured reader on synthetic pictures; each is as large as
# its form allows, in steps of a 203 dpi label printer's dot of 1/8 mm.
LEAST_MODULE_MM = 0.75
MODULE_MM = {"traveller": 0.75, "body_tag": 0.875, "neck_tag": 0.75, "tray_label": 0.75}
# Heights of capitals and figures in mm; common practice, no source.
LAST_FOUR_MM, MODEL_MM, TEXT_MM = 12, 6, 2.5

every_form = pytest.mark.parametrize("form", FORMS)
every_spec = pytest.mark.parametrize("spec", ONE_OF_EACH)


def test_the_eight_instruments_are_of_eight_specs(printed: Printed) -> None:
    found = {printed.states[serial].sheet.spec.key for serial in ONE_OF_EACH.values()}
    assert found == set(ONE_OF_EACH)
    assert len(found) == 8


@every_spec
@every_form
@pytest.mark.parametrize("dpi", [150, 300])
def test_each_side_carries_its_own_address_for_an_independent_reader(
    printed: Printed, form: str, spec: str, dpi: int
) -> None:
    """zxing-cpp reads ISO/IEC 18004 without any code of the library that wrote the symbol."""
    key = form, ONE_OF_EACH[spec]
    for side in pictures(printed.pdfs[key], dpi):
        (square,) = squares(side)
        assert square.text == printed.addresses[key]
        assert (square.extra["Version"], square.extra["ECLevel"]) == ("3", "H")


@every_form
def test_the_addresses_read_are_the_longest_a_tag_can_hold(printed: Printed, form: str) -> None:
    assert {len(printed.addresses[form, serial]) for serial in SERIALS} == {35}


@every_form
def test_the_printed_module_is_as_wide_as_the_form_promises(printed: Printed, form: str) -> None:
    """29 modules a side at version 3 (ISO/IEC 18004); measured at 600 dpi, a pixel is 0.04 mm."""
    for side in pictures(printed.pdfs[form, "Q-1043"], 600):
        (square,) = squares(side)
        module_mm = side_px(square) / 600 * 25.4 / 29
        assert module_mm == pytest.approx(MODULE_MM[form], abs=0.01)
        assert module_mm >= LEAST_MODULE_MM - 0.01


@every_spec
@every_form
def test_nothing_is_printed_within_four_modules_of_the_square(
    printed: Printed, form: str, spec: str
) -> None:
    """The quiet zone of ISO/IEC 18004, and the square lies wholly on the paper with it."""
    for side in pictures(printed.pdfs[form, ONE_OF_EACH[spec]], 300):
        (square,) = squares(side)
        at, quiet = square.position.top_left, 4 * MODULE_MM[form] / 25.4 * 300
        size = side_px(square)
        left, top = at.x - quiet + 2, at.y - quiet + 2  # two pixels for the reader's rounding
        right, low = at.x + size + quiet - 2, at.y + size + quiet - 2
        assert min(left, top) >= 0
        assert right <= side.width
        assert low <= side.height
        ring = side.crop((int(left), int(top), int(right), int(low)))
        inside = (int(quiet) - 4, int(quiet) - 4, int(quiet + size) + 2, int(quiet + size) + 2)
        ring.paste(255, inside)
        assert darkest(ring) > INK


@every_spec
@every_form
def test_each_form_has_its_iso_216_size_and_its_sides(
    printed: Printed, form: str, spec: str
) -> None:
    sizes = sizes_mm(printed.pdfs[form, ONE_OF_EACH[spec]])
    assert len(sizes) == SIDES[form]
    for size in sizes:
        assert size == pytest.approx(ISO_216_MM[PAPER[form]], abs=0.1)


@pytest.mark.parametrize("letter", ["1", "T", "H", "B", "D"])
def test_heights_are_those_of_the_ink(printed: Printed, letter: str) -> None:
    """Holds the measure of the next tests against a picture at 1200 dpi, 0.02 mm a pixel."""
    pdf, px = printed.pdfs["body_tag", "Q-1043"], 1200 / 25.4
    glyph = next(one for one in pages(pdf)[0].glyphs if one.char == letter)
    left, right = (int(edge * px) for edge in (glyph.left, glyph.right))
    top, low = (int((105 - edge) * px) for edge in (glyph.top + 0.15, glyph.bottom - 0.15))
    crop = pictures(pdf, 1200)[0].crop((left, top, right, low))
    box = crop.point([255] * INK + [0] * (256 - INK)).getbbox()
    assert box
    assert (box[3] - box[1]) / px == pytest.approx(glyph.height, abs=0.025)


@every_spec
@every_form
def test_the_last_four_stand_twelve_millimetres_high_on_each_side(
    printed: Printed, form: str, spec: str
) -> None:
    one = printed.states[ONE_OF_EACH[spec]]
    four = (one.neck or "")[-4:] if form == "neck_tag" else one.last_four
    for page in pages(printed.pdfs[form, one.serial]):
        assert max(min(heights) for heights in page.heights_of(four)) >= LAST_FOUR_MM


@every_spec
@every_form
def test_the_model_stands_six_millimetres_high_on_each_side(
    printed: Printed, form: str, spec: str
) -> None:
    for page in pages(printed.pdfs[form, ONE_OF_EACH[spec]]):
        assert max(min(heights) for heights in page.heights_of(spec)) >= MODEL_MM


@pytest.mark.parametrize("serial", SERIALS)
@every_form
def test_no_capital_or_figure_is_lower_than_two_and_a_half_millimetres(
    printed: Printed, form: str, serial: str
) -> None:
    for page in pages(printed.pdfs[form, serial]):
        told = [one for one in page.glyphs if one.char.isdigit() or one.char.isupper()]
        assert told
        low = [(one.char, round(one.height, 2)) for one in told if one.height < TEXT_MM]
        assert low == []


@pytest.mark.parametrize("serial", SERIALS)
@every_form
def test_every_letter_lies_on_the_paper(printed: Printed, form: str, serial: str) -> None:
    pdf = printed.pdfs[form, serial]
    for page, (width, height) in zip(pages(pdf), sizes_mm(pdf), strict=True):
        edges = [
            (one.char, one.left, one.bottom)
            for one in page.glyphs
            if not (one.left >= 1 and one.right <= width - 1)
            or not (one.bottom >= 1 and one.top <= height - 1)
        ]
        assert edges == []


@every_form
def test_only_black_and_white_are_printed(printed: Printed, form: str) -> None:
    """Greys are the edges of letters, in between ink and paper."""
    for side in pictures(printed.pdfs[form, "Q-1044"], 300):
        shades = side.histogram()
        assert sum(shades[:8]) + sum(shades[-8:]) > 0.93 * sum(shades)


@every_form
def test_the_code_is_printed_beside_the_square_for_typing(printed: Printed, form: str) -> None:
    for serial in SERIALS:
        code = printed.addresses[form, serial].rsplit("/", 1)[1]
        assert len(code) == 7
        for page in pages(printed.pdfs[form, serial]):
            assert f"{code[:4]}-{code[4:]}" in page.text


@every_form
def test_a_print_names_itself_and_its_language(printed: Printed, form: str) -> None:
    read = pypdf.PdfReader(io.BytesIO(printed.pdfs[form, "Q-1043"]))
    assert read.metadata is not None
    assert read.metadata.title == f"{form.replace('_', ' ').capitalize()} Q-1043"
    assert str(read.root_object["/Lang"]) == "en"


@pytest.mark.parametrize("serial", SERIALS)
@every_form
def test_each_side_says_what_it_was_drawn_from_and_when_it_was_printed(
    printed: Printed, form: str, serial: str
) -> None:
    """Revision, row of the journal, copy and moment, in one phrase or a line each."""
    one = printed.states[serial]
    drawn = (f"rev.{one.sheet.spec.revision}", f"entry{one.seq}", "copy1")
    for page in pages(printed.pdfs[form, serial]):
        for told in (*drawn, "printed2031-03-0309:30"):
            assert told in page.text


@pytest.mark.parametrize("serial", SERIALS)
@every_form
def test_the_white_border_is_as_wide_as_the_form_promises(
    printed: Printed, form: str, serial: str
) -> None:
    """By it many are put on one sheet: what a printer leaves white falls into it."""
    dpi = 300
    for side in pictures(printed.pdfs[form, serial], dpi):
        box = ink(side)
        edges = (box[0], box[1], side.width - box[2], side.height - box[3])
        # Half a pixel on either side is the edge of a letter.
        assert (min(edges) + 1) / dpi * 25.4 >= FORM[form].border_mm


def test_printing_them_all_loaded_nothing(printed: Printed) -> None:
    assert len(printed.pdfs) == len(FORMS) * len(SERIALS)
    assert printed.loaded == []


@pytest.mark.parametrize("form", ["body_tag", "neck_tag"])
def test_the_square_hangs_at_the_end_away_from_the_hole(printed: Printed, form: str) -> None:
    """The cord runs to the top of the tag; common practice, no source."""
    for side in pictures(printed.pdfs[form, "Q-1043"], 150):
        (square,) = squares(side)
        assert square.position.top_left.y > side.height / 2
        dots = side.crop((side.width * 2 // 5, 0, side.width * 3 // 5, side.height // 8))
        assert darkest(dots) < INK, "the hole is marked at the top"
