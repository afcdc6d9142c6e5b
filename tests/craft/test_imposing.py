"""Where pages go on sheets, cut by hand and turned over by hand."""

from __future__ import annotations

import csv
import doctest
import io
import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft import imposing
from shop.craft.imposing import (
    A4,
    A5,
    A6,
    A7,
    A8,
    CARD,
    LETTER,
    TICK_MM,
    UNPRINTED_MM,
    Cell,
    Edge,
    Format,
    behind,
    cut_stack,
    grid,
    marks,
    sheets_for,
)

NEAR = 1e-6  # mm, what sums of lengths may be out by

# ISO 216:2007, A series: each is half of the one above, rounded down.
ISO_216 = """\
size,width_mm,height_mm
A4,210,297
A5,148,210
A6,105,148
A7,74,105
A8,52,74
"""

lengths = st.integers(300, 4200).map(lambda tenths: tenths / 10)
forms = st.builds(Format, lengths, lengths)
sheets = st.sampled_from([A4, LETTER, A4.turned, LETTER.turned]) | forms
borders = st.sampled_from([0.0, 2.0, 4.0, 5.5, 8.0])
edges: st.SearchStrategy[Edge] = st.sampled_from(["long", "short", "none"])


def test_the_examples_hold() -> None:
    result = doctest.testmod(imposing)
    assert result.attempted > 0
    assert result.failed == 0


def test_formats_are_those_of_iso_216() -> None:
    """ISO 216:2007."""
    for row in csv.DictReader(io.StringIO(ISO_216)):
        form: Format = getattr(imposing, row["size"])
        assert (form.width_mm, form.height_mm) == (int(row["width_mm"]), int(row["height_mm"]))


def test_each_format_is_half_of_the_one_above_it() -> None:
    """ISO 216:2007: halved across its longer side, and rounded down to whole millimetres."""
    for one, half in pairwise([A4, A5, A6, A7, A8]):
        assert half == Format(one.height_mm // 2, one.width_mm)


@pytest.mark.parametrize(
    ("form", "sheet", "columns", "rows", "turned"),
    [
        (A4, A4, 1, 1, False),
        (A5, A4, 1, 2, True),
        (A6, A4, 2, 2, False),
        (A7, A4, 2, 4, True),
        (A8, A4, 4, 4, False),
        (CARD, A4, 2, 5, False),
        (A5, LETTER, 1, 1, False),
        (A6, LETTER, 2, 1, False),
        (A7, LETTER, 2, 3, True),
        (A8, LETTER, 4, 3, False),
        (CARD, LETTER, 2, 5, False),
    ],
)
def test_a_sheet_takes_as_many_as_go_on_it(
    form: Format, sheet: Format, columns: int, rows: int, turned: bool
) -> None:
    """Reckoned by hand from the formats, each with a white border of 4 mm."""
    cells = grid(form, 4, sheet)
    assert len(cells) == columns * rows
    assert len({cell.left_mm for cell in cells}) == columns
    assert len({cell.top_mm for cell in cells}) == rows
    assert {cell.turn for cell in cells} == {int(turned)}


def test_a_form_larger_than_the_sheet_does_not_go_on_it() -> None:
    assert grid(A4, 8, LETTER) == ()


def test_a_form_without_a_white_border_stays_where_a_printer_prints() -> None:
    """4 mm stay white on every side of the sheet: common practice, no source."""
    assert len(grid(A7, 0, A4)) == 4
    assert len(grid(A7, 3.9, A4)) == 4
    assert grid(A4, 0, A4) == ()


@given(forms, borders, sheets)
def test_cells_touch_but_do_not_overlap_and_nothing_is_printed_where_no_printer_prints(
    form: Format, border: float, sheet: Format
) -> None:
    cells = grid(form, border, sheet)
    for cell in cells:
        drawn = (cell.left_mm, cell.top_mm)
        assert min(drawn) >= -NEAR
        assert min(drawn) + border >= UNPRINTED_MM - NEAR
        assert cell.right_mm <= sheet.width_mm + NEAR
        assert cell.bottom_mm <= sheet.height_mm + NEAR
        assert cell.right_mm - border <= sheet.width_mm - UNPRINTED_MM + NEAR
        assert cell.bottom_mm - border <= sheet.height_mm - UNPRINTED_MM + NEAR
        lying = form.turned if cell.turn else form
        assert (cell.width_mm, cell.height_mm) == (lying.width_mm, lying.height_mm)
    for one, other in pairwise(cells):
        beside = math.isclose(one.right_mm, other.left_mm, abs_tol=NEAR)
        below = math.isclose(one.bottom_mm, other.top_mm, abs_tol=NEAR)
        assert (beside and one.top_mm == other.top_mm) or (below and other.left_mm <= one.left_mm)


@given(forms, borders, sheets)
def test_no_more_cells_would_go_on_the_sheet(form: Format, border: float, sheet: Format) -> None:
    free = 2 * max(0.0, UNPRINTED_MM - border)
    most = 0
    for cell in (form, form.turned):
        columns = rows = 0
        while (columns + 1) * cell.width_mm <= sheet.width_mm - free + NEAR:
            columns += 1
        while (rows + 1) * cell.height_mm <= sheet.height_mm - free + NEAR:
            rows += 1
        most = max(most, columns * rows)
    assert len(grid(form, border, sheet)) == most


@given(forms, borders, sheets)
def test_the_cells_stand_in_the_middle_of_the_sheet(
    form: Format, border: float, sheet: Format
) -> None:
    if cells := grid(form, border, sheet):
        assert math.isclose(cells[0].left_mm, sheet.width_mm - cells[-1].right_mm, abs_tol=NEAR)
        assert math.isclose(cells[0].top_mm, sheet.height_mm - cells[-1].bottom_mm, abs_tol=NEAR)


def printed(count: int, cells: int, first: int) -> list[list[int | None]]:
    """The pile as it comes from the printer, first sheet on top: what is in each cell."""
    places = cut_stack(count, cells, first)
    pile: list[list[int | None]] = [
        [None] * cells for _ in range(1 + max((one.sheet for one in places), default=-1))
    ]
    for item, place in enumerate(places):
        assert pile[place.sheet][place.cell] is None, "two in one cell"
        pile[place.sheet][place.cell] = item
    return pile


def cut_and_stacked(pile: list[list[int | None]]) -> list[int]:
    """Cut the whole pile at once, lay the stacks below each other, take the empty out."""
    stacks = list(zip(*pile, strict=True))
    return [item for stack in stacks for item in stack if item is not None]


@given(st.integers(0, 300), st.integers(1, 16), st.data())
def test_the_stacks_of_a_cut_pile_give_everything_in_order(
    count: int, cells: int, data: st.DataObject
) -> None:
    first = data.draw(st.integers(0, cells - 1))
    pile = printed(count, cells, first)
    assert cut_and_stacked(pile) == list(range(count))
    assert len(pile) == sheets_for(count, cells, first)


@given(st.integers(1, 300), st.integers(1, 16), st.data())
def test_what_stays_free_is_at_the_end_of_the_last_sheet_so_that_it_can_be_used_on(
    count: int, cells: int, data: st.DataObject
) -> None:
    first = data.draw(st.integers(0, cells - 1))
    flat = [item for sheet in printed(count, cells, first) for item in sheet]
    used = [place for place, item in enumerate(flat) if item is not None]
    assert used == list(range(first, first + count))


def test_twelve_on_three_sheets_of_four_are_laid_out_as_a_hand_would() -> None:
    assert printed(12, 4, 0) == [[0, 3, 6, 9], [1, 4, 7, 10], [2, 5, 8, 11]]


def test_a_part_used_sheet_is_used_on_from_where_told() -> None:
    assert printed(7, 4, 2) == [[None, None, 3, 5], [0, 2, 4, 6], [1, None, None, None]]


@pytest.mark.parametrize("first", [-1, 4])
def test_a_place_that_is_not_on_the_sheet_is_refused(first: int) -> None:
    with pytest.raises(ValueError, match="cannot be used already"):
        cut_stack(3, 4, first)


def test_nothing_takes_no_sheet() -> None:
    assert cut_stack(0, 4) == ()
    assert sheets_for(0, 4, 3) == 0


Spot = tuple[float, float]


def on_paper(cell: Cell, spot: Spot) -> Spot:
    """Where a spot of a page lies on the side it is printed on.

    A spot is told from the middle of the page, to the right and down as the page is read.
    """
    x, y = spot
    for _ in range(cell.turn):
        x, y = -y, x
    return (cell.left_mm + cell.right_mm) / 2 + x, (cell.top_mm + cell.bottom_mm) / 2 + y


def through_the_paper(spot: Spot, sheet: Format, edge: Edge) -> Spot:
    """Where a spot of the back lies, looked at from the front through the paper.

    A sheet that is flipped about its upright middle is mirrored from left to right.
    """
    x, y = spot
    longer_upright = sheet.height_mm >= sheet.width_mm
    if longer_upright == (edge != "short"):
        return sheet.width_mm - x, y
    return x, sheet.height_mm - y


@given(forms, borders, sheets, edges, st.tuples(lengths, lengths))
def test_a_card_turned_about_its_own_upright_middle_shows_its_back_upright(
    form: Format, border: float, sheet: Format, edge: Edge, spot: Spot
) -> None:
    """Whatever spot of the back one takes, it lies behind its mirror image on the front."""
    for cell in grid(form, border, sheet):
        x, y = spot
        back = through_the_paper(on_paper(behind(cell, sheet, edge), (x, y)), sheet, edge)
        assert back == pytest.approx(on_paper(cell, (-x, y)), abs=NEAR)


@given(forms, borders, sheets, edges)
def test_behind_the_back_of_a_cell_is_the_cell(
    form: Format, border: float, sheet: Format, edge: Edge
) -> None:
    for cell in grid(form, border, sheet):
        again = behind(behind(cell, sheet, edge), sheet, edge)
        assert again.turn == cell.turn
        assert (again.left_mm, again.top_mm) == pytest.approx((cell.left_mm, cell.top_mm))


def test_a_sheet_fed_again_by_hand_is_turned_like_a_page_of_a_book() -> None:
    for cell in grid(A7, 4, A4):
        assert behind(cell, A4, "none") == behind(cell, A4, "long")


@given(forms, borders, sheets)
def test_a_cut_mark_lies_beside_the_cells_or_is_a_tick_on_the_cut_itself(
    form: Format, border: float, sheet: Format
) -> None:
    cells = grid(form, border, sheet)
    for line in marks(cells, sheet):
        assert line.x1_mm == line.x2_mm or line.y1_mm == line.y2_mm
        low = (min(line.x1_mm, line.x2_mm), min(line.y1_mm, line.y2_mm))
        high = (max(line.x1_mm, line.x2_mm), max(line.y1_mm, line.y2_mm))
        assert min(low) >= UNPRINTED_MM - NEAR
        assert high[0] <= sheet.width_mm - UNPRINTED_MM + NEAR
        assert high[1] <= sheet.height_mm - UNPRINTED_MM + NEAR
        for cell in cells:
            inside = (
                low[0] < cell.right_mm - NEAR
                and high[0] > cell.left_mm + NEAR
                and low[1] < cell.bottom_mm - NEAR
                and high[1] > cell.top_mm + NEAR
            )
            assert not inside, f"{line} crosses {cell}"
        if any(touches(cell, low, high) for cell in cells):
            assert math.dist(low, high) <= TICK_MM + NEAR


def touches(cell: Cell, low: Spot, high: Spot) -> bool:
    """Whether a line runs along a side of a cell, not only up to its corner."""
    across = min(high[0], cell.right_mm) - max(low[0], cell.left_mm)
    along = min(high[1], cell.bottom_mm) - max(low[1], cell.top_mm)
    return min(across, along) >= -NEAR and max(across, along) > NEAR


@pytest.mark.parametrize("sheet", [A4, LETTER])
@pytest.mark.parametrize("form", [A5, A6, A7, A8, CARD])
def test_every_cut_between_two_cells_is_marked(form: Format, sheet: Format) -> None:
    cells = grid(form, 4, sheet)
    lines = marks(cells, sheet)
    upright = {round(line.x1_mm, 3) for line in lines if line.x1_mm == line.x2_mm}
    level = {round(line.y1_mm, 3) for line in lines if line.y1_mm == line.y2_mm}
    rights = {round(cell.right_mm, 3) for cell in cells}
    bottoms = {round(cell.bottom_mm, 3) for cell in cells}
    assert rights - {max(rights)} <= upright
    assert bottoms - {max(bottoms)} <= level
    assert len(set(lines)) == len(lines)


def test_cards_with_room_around_them_have_their_marks_outside() -> None:
    cells = grid(CARD, 4, A4)
    assert all(
        line.x2_mm <= cells[0].left_mm + NEAR
        or line.x1_mm >= cells[-1].right_mm - NEAR
        or line.y2_mm <= cells[0].top_mm + NEAR
        or line.y1_mm >= cells[-1].bottom_mm - NEAR
        for line in marks(cells, A4)
    )
