"""The strip for the slots of a nut, printed and measured on paper."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from shop.catalogue import models
from shop.craft.hardware import Hand, Strings
from shop.craft.set_up.nut import NutString, place
from shop.floor import board
from shop.paper.forms import form_of
from tests.floor.morning import forget
from tests.paper.measured import drawn, keeps_its_border, looks_the_same_stamped, refused, too_low
from tests.paper.reading import INK, pages, pictures, sizes_mm, squeezed, words

pytestmark = pytest.mark.usefixtures("morning", "db")

DPI = 1200  # a pixel is 0.021 mm
PX_MM = 25.4 / DPI
ONE_OF_EACH = ("Q-1043", "Q-1055", "Q-1058", "Q-1061")  # right, left, twelve, a narrow nut
BORDER_MM = 5.0


def line_places(pdf: bytes, width_mm: float) -> list[float]:
    """Middles of the upright lines across the strip, mm from its left edge, as they are on
    paper: the dark runs of the row of pixels 7 mm below its top, under the broad slots."""
    (side,) = pictures(pdf, DPI)
    dark = np.asarray(side.convert("L")) < INK
    edge = round(BORDER_MM / PX_MM)
    (top,) = (
        begin
        for begin, end in runs(dark[:, edge - 3 : edge + 4].any(axis=1))
        if 9.5 < (end - begin) * PX_MM < 10.5  # the strip's left edge is 10 mm high
    )
    row = dark[top + round(7 / PX_MM), : edge + round((width_mm + 1) / PX_MM)]
    middles = [(begin + end) / 2 * PX_MM for begin, end in runs(row)]
    return [one - middles[0] for one in middles]


def runs(dark: Any) -> list[tuple[int, int]]:
    """Where a row of pixels is dark, from and to."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], dark.astype(int), [0]))))
    return [(int(one), int(other)) for one, other in zip(edges[::2], edges[1::2], strict=True)]


def spec_of(serial: str) -> Any:
    return board.by_serials([serial])[serial].sheet.spec


@pytest.mark.parametrize("serial", ONE_OF_EACH)
def test_each_line_stands_on_paper_where_the_slot_is_to_be(serial: str) -> None:
    """Measured in the printed page at 1200 dpi against the places reckoned anew here."""
    one = board.by_serials([serial])[serial]
    spec = one.sheet.spec
    set_ = next(line.article for line in one.kit if isinstance(line.article, Strings))
    gauges = dict(set_.gauges)
    found = line_places(drawn("nut_strip", serial), float(spec.nut_width_mm))
    by_order = {6: "654321"}.get(spec.strings)
    if by_order is None:
        pairs = (("6o", "6"), ("5o", "5"), ("4o", "4"), ("3o", "3"), ("2", "2'"), ("1", "1'"))
        strung = tuple(tuple(NutString(name, float(gauges[name])) for name in two) for two in pairs)
    else:
        strung = tuple((NutString(name, float(gauges[name])),) for name in by_order)
    plan = place(strung, float(spec.nut_width_mm), spec.hand)
    wanted = [0.0, *(slot.from_left_mm for slot in plan.from_left), float(spec.nut_width_mm)]
    assert found == pytest.approx(wanted, abs=0.05)


def test_a_left_handed_strip_is_the_mirror_of_a_right_handed_one() -> None:
    """Q-1043 and Q-1055 have the same nut and the same strings, each its hand."""
    right, left = (line_places(drawn("nut_strip", one), 44.5) for one in ("Q-1043", "Q-1055"))
    assert spec_of("Q-1055").hand is Hand.LEFT
    assert left == pytest.approx([right[-1] - one for one in right[::-1]], abs=0.05)
    assert right != pytest.approx(left, abs=0.5)


def test_the_six_places_stand_in_figures() -> None:
    """Own computation, worked by hand in tests/craft/test_nut.py."""
    text = words(drawn("nut_strip", "Q-1043"))
    for said in ("3.87", "11.79", "19.44", "26.86", "34.08", "41.15", "1.40–1.50"):
        assert said in text


def test_the_bar_is_50_mm_on_paper() -> None:
    (side,) = pictures(drawn("nut_strip", "Q-1043"), DPI)
    dark = np.asarray(side.convert("L")) < INK
    left = dark[round(30 / PX_MM) :, : round(80 / PX_MM)]
    longest = max(end - begin for row in left for begin, end in runs(row))
    assert longest * PX_MM == pytest.approx(50, abs=0.1)


def test_the_strip_is_an_a6_lying() -> None:
    """ISO 216:2007: A6 is 105 x 148 mm."""
    [size] = sizes_mm(drawn("nut_strip", "Q-1043"))
    assert size == pytest.approx((148, 105), abs=0.1)


def test_it_says_whose_it_is_and_how_to_lay_it() -> None:
    text = words(drawn("nut_strip", "Q-1043"))
    for said in ("Q-1043", "TARN", "R01 light six", "front toward you", "Measure it"):
        assert squeezed(said) in text


@pytest.mark.parametrize("serial", ONE_OF_EACH)
def test_the_border_is_white_one_page_is_enough_and_no_letter_is_too_low(serial: str) -> None:
    pdf = drawn("nut_strip", serial)
    assert len(pages(pdf)) == 1
    assert keeps_its_border("nut_strip", pdf)
    assert too_low(pdf) == []


def test_a_stamped_strip_is_the_picture_of_one_laid_out_by_itself() -> None:
    assert looks_the_same_stamped("nut_strip", "Q-1043", "Q-1044")


def test_a_set_without_diameters_has_no_strip_and_says_what_to_do() -> None:
    models.Strings.objects.update(gauges="")
    forget()
    assert "tells no diameters" in refused("nut_strip", "Q-1043")


def test_its_form_is_of_an_instrument() -> None:
    assert form_of("nut_strip").subject == "instrument"
