"""Finished pages onto the sheets of a printer: one to a page, or many to be cut.

Nothing is laid out again. A page is drawn as it is where the sheet has room for it, and what
its pages share, they share on the sheets as well.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import Final, Literal, Self

import pikepdf
from django.utils.translation import gettext as _
from pikepdf import Array, Dictionary, Name, Pdf

from shop.craft import imposing
from shop.craft.imposing import A4, LETTER, Cell, Edge, Format
from shop.paper.forms import Form
from shop.paper.models import Printer
from shop.paper.press import Drawn, Sheaf
from shop.paper.refusing import NotPrinted

Sheet = Literal["single", "a4", "letter"]
SHEETS: Final[dict[str, Format]] = {"a4": A4, "letter": LETTER}
POINT_MM: Final = 25.4 / 72
HAIRLINE_MM: Final = 0.25

Point = tuple[float, float]  # mm, to the right and down


class TooLarge(NotPrinted):
    def __init__(self, form: Form, sheet: Format) -> None:
        super().__init__(
            _(
                "The %(form)s is %(form_width).4g × %(form_height).4g mm and does not go on a "
                "sheet of %(width).4g × %(height).4g mm. Print it one to a page."
            )
            % {
                "form": form.words.lower(),
                "form_width": form.format.width_mm,
                "form_height": form.format.height_mm,
                "width": sheet.width_mm,
                "height": sheet.height_mm,
            }
        )


class NoSuchPlace(NotPrinted):
    def __init__(self, form: Form, place: int, places: int) -> None:
        super().__init__(
            _(
                "A sheet takes %(places)d of the %(form)s: there is no place %(place)d to start "
                "at. Start at 1 to %(places)d."
            )
            % {"form": form.words.lower(), "place": place, "places": places}
        )


@dataclass(frozen=True, slots=True)
class Sheeting:
    """What is printed on, and by how much this printer prints beside its mark.

    ``first``: how many places of the first sheet are used already, where many go on one.
    All four distances move what is printed to the right and down, as each side is read.
    """

    sheet: Sheet = "single"
    first: int = 0
    edge: Edge = "long"
    right_mm: float = 0.0
    down_mm: float = 0.0
    back_right_mm: float = 0.0
    back_down_mm: float = 0.0

    @classmethod
    def on(cls, printer: Printer | None, sheet: Sheet, first: int, edge: Edge) -> Self:
        """These sheets in a printer; in one nobody has measured, nothing is moved."""
        if printer is None:
            return cls(sheet, first, edge)
        moved = (printer.right_mm, printer.down_mm, printer.back_right_mm, printer.back_down_mm)
        return cls(sheet, first, edge, *map(float, moved))

    @property
    def front(self) -> Point:
        return self.right_mm, self.down_mm

    @property
    def back(self) -> Point:
        return self.back_right_mm, self.back_down_mm


@dataclass(frozen=True, slots=True)
class Card:
    """What is one piece of paper when it is cut: its front, and what is on its back."""

    front: pikepdf.Page
    back: pikepdf.Page | None = None


def per_sheet(form: Form, sheet: Sheet) -> int:
    """How many of a form go on one sheet; 0 where it is larger than the sheet."""
    return len(_cells(form, sheet))


def sheets_of(form: Form, count: int, on: Sheeting) -> int:
    """How many sheets so many take, each with what it has on its back.

    Raises ``NotPrinted`` as ``placed``.
    """
    return imposing.sheets_for(count, len(_fitting(form, on)), on.first)


def placed(sheaf: Sheaf, on: Sheeting, keep: Collection[str] | None = None) -> Pdf:
    """A new document of the sheets that go through the printer, fronts and backs in turn, with
    what was drawn for these names; of all, where none are told.

    One to a page, every sheet is as large as the form. Raises ``NotPrinted`` where the form
    does not go on the sheet, or the first place to be used is not on it.
    """
    cells = _fitting(sheaf.form, on)
    kept = [one for one in sheaf.drawn if keep is None or one.page.name in keep]
    return _Sheets(sheaf.form, on, cells).filled(_cards(sheaf, kept))


def _cells(form: Form, sheet: Sheet) -> tuple[Cell, ...]:
    if sheet == "single":
        return (Cell(0, 0, form.format.width_mm, form.format.height_mm),)
    return imposing.grid(form.format, form.border_mm, SHEETS[sheet])


def _fitting(form: Form, on: Sheeting) -> tuple[Cell, ...]:
    """The places of a sheet. Raises ``TooLarge`` and ``NoSuchPlace``."""
    cells = _cells(form, on.sheet)
    if not cells:
        raise TooLarge(form, SHEETS[on.sheet])
    if not 0 <= on.first < len(cells):
        raise NoSuchPlace(form, on.first + 1, len(cells))
    return cells


def _cards(sheaf: Sheaf, drawn: Iterable[Drawn]) -> list[Card]:
    """The pages as what they are on paper: each thing begins on a front."""
    pages = list(sheaf.pdf.pages)
    cards = []
    for one in drawn:
        own = pages[one.first : one.first + one.count]
        if sheaf.form.two_sided:
            cards += [Card(*own[at : at + 2]) for at in range(0, len(own), 2)]
        else:
            cards += [Card(page) for page in own]
    return cards


class _Sheets:
    """A document that cards are put on, as many to a sheet as there are cells."""

    def __init__(self, form: Form, on: Sheeting, cells: Sequence[Cell]) -> None:
        self.pdf = Pdf.new()
        self.form, self.on = form, on
        self.single = on.sheet == "single"
        self.sheet = form.format if self.single else SHEETS[on.sheet]
        self.fronts = cells
        self.backs = [imposing.behind(cell, self.sheet, on.edge) for cell in cells]
        cuts = () if self.single else imposing.marks(cells, self.sheet)
        self.marks = _drawn_lines(cuts, self.sheet) if cuts else b""

    def filled(self, cards: Sequence[Card]) -> Pdf:
        places = imposing.cut_stack(len(cards), len(self.fronts), self.on.first)
        sheets: dict[int, dict[int, Card]] = {}
        for card, place in zip(cards, places, strict=True):
            sheets.setdefault(place.sheet, {})[place.cell] = card
        for _number, cards_on in sorted(sheets.items()):
            fronts = {cell: card.front for cell, card in cards_on.items()}
            backs = {cell: card.back for cell, card in cards_on.items() if card.back is not None}
            self._add(fronts, self.fronts, self.on.front, self.marks)
            # A printer that prints both sides takes every second page for a back.
            if backs or (self.form.two_sided and self.on.edge != "none"):
                self._add(backs, self.backs, self.on.back)
        self.pdf.Root.ViewerPreferences = self._wishes()
        return self.pdf

    def _add(
        self,
        pages: dict[int, pikepdf.Page],
        cells: Sequence[Cell],
        moved: Point,
        content: bytes = b"",
    ) -> None:
        """One side of a sheet with these pages in its cells, all moved by so much."""
        box = Array([0, 0, _points(self.sheet.width_mm), _points(self.sheet.height_mm)])
        drawings = Dictionary()
        parts = [_move(moved), content] if content else [_move(moved)]
        for number, page in sorted(pages.items()):
            drawing = self._drawing(page)
            drawings[f"/P{number}"] = drawing
            placing = _matrix(cells[number], self.sheet, page)
            parts.append(b"q %s cm /P%d Do Q" % (placing, number))
        side = Dictionary(
            Type=Name.Page,
            MediaBox=box,
            Resources=Dictionary(XObject=drawings),
            Contents=self.pdf.make_stream(b"\n".join(parts) if pages or content else b""),
        )
        if self.single:
            side.TrimBox = box
        self.pdf.pages.append(pikepdf.Page(self.pdf.make_indirect(side)))

    def _drawing(self, page: pikepdf.Page) -> pikepdf.Object:
        """A page as something to be drawn on another; fonts and the like are not copied twice."""
        drawing = self.pdf.copy_foreign(page.obj.Contents)
        drawing.Type, drawing.Subtype = Name.XObject, Name.Form
        drawing.BBox = Array([float(edge) for edge in page.mediabox.as_list()])
        drawing.Resources = self.pdf.copy_foreign(page.obj.Resources)
        return drawing

    def _wishes(self) -> Dictionary:
        """What the window that asks for the printer is to have chosen already."""
        turned = imposing.flips_upright(A4, self.on.edge)
        duplex = Name.DuplexFlipLongEdge if turned else Name.DuplexFlipShortEdge
        both = self.form.two_sided and self.on.edge != "none"
        return Dictionary(
            DisplayDocTitle=True,
            PrintScaling=Name("/None"),
            Duplex=duplex if both else Name.Simplex,
        )


def _points(mm: float) -> float:
    return round(mm / POINT_MM, 4)


def _numbers(*mm: float) -> bytes:
    return " ".join(f"{_points(one):.4f}".rstrip("0").rstrip(".") for one in mm).encode()


def _move(by: Point) -> bytes:
    right_mm, down_mm = by
    return b"1 0 0 1 %s cm" % _numbers(right_mm, -down_mm)


def _matrix(cell: Cell, sheet: Format, page: pikepdf.Page) -> bytes:
    """How a page gets into its cell: its turn, and where its lower left corner comes to lie.

    A PDF counts from the lower left of a sheet and upwards.
    """
    low = sheet.height_mm - cell.bottom_mm
    wide, high = cell.width_mm, cell.height_mm
    turn, right, up = [
        (b"1 0 0 1", 0.0, 0.0),
        (b"0 -1 1 0", 0.0, high),
        (b"-1 0 0 -1", wide, high),
        (b"0 1 -1 0", wide, 0.0),
    ][cell.turn]
    return b"%s %s" % (turn, _numbers(cell.left_mm + right, low + up))


def _drawn_lines(lines: Sequence[imposing.Line], sheet: Format) -> bytes:
    drawn = [b"q %s w" % _numbers(HAIRLINE_MM)]
    for line in lines:
        start = _numbers(line.x1_mm, sheet.height_mm - line.y1_mm)
        end = _numbers(line.x2_mm, sheet.height_mm - line.y2_mm)
        drawn.append(b"%s m %s l S" % (start, end))
    return b"\n".join([*drawn, b"Q"])
