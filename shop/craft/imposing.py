"""Pages onto sheets: formats of paper, and where on a sheet each page goes.

Lengths are mm from the upper left of the side that is looked at, to the right and down.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

Edge = Literal["long", "short", "none"]
"""What a sheet is flipped on for its back. "none": the printer prints one side, and a person
turns the pile over like a page of a book and feeds it again."""

UNPRINTED_MM: Final = 4.0  # a printer leaves this much of a sheet's edge white; common practice
MARK_MM: Final = 5.0  # a cut mark beside the cells, where there is room
TICK_MM: Final = 2.0  # a cut mark between them, where there is none
_NOTHING_MM: Final = 1e-6  # what sums of lengths may be out by


@dataclass(frozen=True, slots=True)
class Format:
    """A page as it is trimmed, in mm."""

    width_mm: float
    height_mm: float

    @property
    def turned(self) -> Format:
        """The same page lying on its side."""
        return Format(self.height_mm, self.width_mm)


# ISO 216:2007, A series, portrait.
A4: Final = Format(210, 297)
A5: Final = Format(148, 210)
A6: Final = Format(105, 148)
A7: Final = Format(74, 105)
A8: Final = Format(52, 74)
LETTER: Final = Format(215.9, 279.4)  # ANSI/ASME Y14.1, size A
CARD: Final = Format(85.6, 53.98)  # ISO/IEC 7810, ID-1


@dataclass(frozen=True, slots=True)
class Cell:
    """Room for one page on a sheet. ``turn``: by how many quarters, clockwise, the page is
    turned in it."""

    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float
    turn: int = 0

    @property
    def right_mm(self) -> float:
        return self.left_mm + self.width_mm

    @property
    def bottom_mm(self) -> float:
        return self.top_mm + self.height_mm


@dataclass(frozen=True, slots=True)
class Place:
    """Where one of many goes: on which sheet, in which of its cells, both counted from 0."""

    sheet: int
    cell: int


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line from one point to another."""

    x1_mm: float
    y1_mm: float
    x2_mm: float
    y2_mm: float


def grid(form: Format, border_mm: float, sheet: Format) -> tuple[Cell, ...]:
    """The most cells for a form that a sheet takes, row by row; none where it takes none.

    Cells touch, so that one cut parts two of them, and stand in the middle of the sheet.
    They may lie where no printer prints, as far as ``border_mm`` of the form is white there.

    >>> [len(grid(form, 4, A4)) for form in (A4, A5, A6, A7, A8)]
    [1, 2, 4, 8, 16]
    """
    upright, turned = _counts(form, border_mm, sheet), _counts(form.turned, border_mm, sheet)
    turn = int(turned[0] * turned[1] > upright[0] * upright[1])
    cell = form.turned if turn else form
    columns, rows = turned if turn else upright
    left = (sheet.width_mm - columns * cell.width_mm) / 2
    top = (sheet.height_mm - rows * cell.height_mm) / 2
    return tuple(
        Cell(
            left + column * cell.width_mm,
            top + row * cell.height_mm,
            cell.width_mm,
            cell.height_mm,
            turn,
        )
        for row in range(rows)
        for column in range(columns)
    )


def _counts(cell: Format, border_mm: float, sheet: Format) -> tuple[int, int]:
    """How many of these stand side by side on a sheet, and how many below each other."""
    kept_mm = 2 * max(0.0, UNPRINTED_MM - border_mm) - _NOTHING_MM
    return (
        max(0, int((sheet.width_mm - kept_mm) // cell.width_mm)),
        max(0, int((sheet.height_mm - kept_mm) // cell.height_mm)),
    )


def sheets_for(count: int, cells: int, first: int = 0) -> int:
    """How many sheets so many take, of so many cells each, ``first`` of sheet 0 used already."""
    return -(-(first + count) // cells) if count else 0


def cut_stack(count: int, cells: int, first: int = 0) -> tuple[Place, ...]:
    """Where each of so many goes, so that no one has to sort them after the cut.

    Once the pile is cut, first sheet on top, the stacks laid one below the other in the
    order of the cells hold all in order. The first ``first`` cells of sheet 0 are used
    already; what stays free is at the end of the last sheet.

    >>> cut_stack(3, 2)
    (Place(sheet=0, cell=0), Place(sheet=1, cell=0), Place(sheet=0, cell=1))

    Raises ``ValueError`` where no cell of sheet 0 is free.
    """
    if not 0 <= first < cells:
        raise ValueError(f"{first} of {cells} cells cannot be used already.")
    last = sheets_for(count, cells, first) - 1
    end = first + count - last * cells  # of the last sheet: its first cell that stays free
    return tuple(
        Place(sheet, cell)
        for cell in range(cells)
        for sheet in range(int(cell < first), last + int(cell < end))
    )


def flips_upright(sheet: Format, edge: Edge) -> bool:
    """Whether a sheet is flipped about its upright middle, as a page of a book is turned."""
    return (edge == "short") == (sheet.width_mm > sheet.height_mm)


def behind(cell: Cell, sheet: Format, edge: Edge) -> Cell:
    """Where the back of a cell is printed, on the back as that side is looked at.

    A card that is cut out and turned about its own upright middle shows its back upright.
    """
    if flips_upright(sheet, edge):
        left_mm, top_mm, turn = sheet.width_mm - cell.right_mm, cell.top_mm, -cell.turn % 4
    else:
        left_mm, top_mm = cell.left_mm, sheet.height_mm - cell.bottom_mm
        turn = (2 - cell.turn) % 4
    return Cell(left_mm, top_mm, cell.width_mm, cell.height_mm, turn)


def marks(cells: Sequence[Cell], sheet: Format) -> tuple[Line, ...]:
    """Where to cut: marks beside the cells of a grid where a printer reaches, else ticks on
    the cut itself where it crosses another, which touch nothing but the white of a form."""
    xs = _cuts(edge for one in cells for edge in (one.left_mm, one.right_mm))
    ys = _cuts(edge for one in cells for edge in (one.top_mm, one.bottom_mm))
    upright = (
        Line(x, start, x, end)
        for x in _reached(xs, sheet.width_mm)
        for start, end in _spans(ys, sheet.height_mm)
    )
    level = (
        Line(start, y, end, y)
        for y in _reached(ys, sheet.height_mm)
        for start, end in _spans(xs, sheet.width_mm)
    )
    return (*upright, *level)


def _cuts(edges: Iterable[float]) -> list[float]:
    """Where to cut along these edges of cells: once where two cells touch."""
    return sorted({round(edge, 6) for edge in edges})


def _reached(cuts: Sequence[float], breadth_mm: float) -> list[float]:
    """Those of the cuts that lie where a printer prints."""
    return [cut for cut in cuts if UNPRINTED_MM <= cut <= breadth_mm - UNPRINTED_MM]


def _spans(crossed: Sequence[float], length_mm: float) -> Iterator[tuple[float, float]]:
    """The marks of one cut, from where to where along it; ``crossed``: by which others."""
    start, end = crossed[0], crossed[-1]
    room = start - UNPRINTED_MM
    if room >= TICK_MM:
        yield start - min(MARK_MM, room), start
        yield end, end + min(MARK_MM, room)
        return
    least = max(start, UNPRINTED_MM)
    most = min(end, length_mm - UNPRINTED_MM)
    for at in crossed:
        tick = min(max(at - TICK_MM / 2, least), most - TICK_MM)
        yield tick, tick + TICK_MM
