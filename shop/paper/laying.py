"""On what it is printed: which printer, how many to a sheet, where the first of them begins."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, cast

from django.http import QueryDict
from django.utils.translation import ngettext

from shop.craft import imposing
from shop.craft.gauging import whole
from shop.craft.imposing import Edge
from shop.paper import placing
from shop.paper.forms import Form
from shop.paper.models import Printer
from shop.paper.placing import SHEETS, Sheet, Sheeting

REMEMBERED: Final = "printer"  # in the session: the printer this phone printed on last
EDGES: Final = {
    "long": "Both sides, flipped on the long edge",
    "short": "Both sides, flipped on the short edge",
    "none": "One side only: you feed the pile again",
}
PAPERS: Final = {"a4": "A4", "letter": "Letter"}


@dataclass(frozen=True, slots=True)
class Many:
    """A way to lay a form out: how many go to a sheet of which paper."""

    key: Sheet
    count: int

    @property
    def words(self) -> str:
        if self.key == "single":
            return "One to a page, on paper of its own size"
        return f"{self.count} on a sheet of {PAPERS[self.key]}"


@dataclass(frozen=True, slots=True)
class Laying:
    """What was chosen of printer and paper, and what there is to choose from."""

    form: Form
    printers: tuple[Printer, ...]
    printer: Printer | None
    ways: tuple[Many, ...]
    sheet: Sheet
    edge: Edge
    first: int  # places used on the first sheet

    @classmethod
    def of(cls, form: Form, sent: QueryDict, session: Mapping[str, Any]) -> Laying:
        """As it was sent, else as the printer is used, else as the last print was done. What
        is not there to choose is left at its usual."""
        printers = tuple(Printer.objects.all())
        number = whole(sent.get("printer", str(session.get(REMEMBERED, ""))))
        printer = next((one for one in printers if one.pk == number), None)
        usual = {"sheet": printer.sheet, "edge": printer.edge} if printer else {}
        # Another printer brings its own paper along.
        kept: Mapping[str, Any] = usual
        if sent.get("laid_for", "") == _number(printer):
            kept = sent
        ways = tuple(_ways(form))
        sheet = next((one for one in ways if one.key == kept.get("sheet", "")), ways[0])
        edge = kept.get("edge", "")
        place = whole(sent.get("place", "")) or 1
        return cls(
            form,
            printers,
            printer,
            ways,
            sheet.key,
            cast("Edge", edge) if edge in EDGES else "long",
            place - 1 if 1 <= place <= sheet.count else 0,
        )

    @property
    def on(self) -> Sheeting:
        return Sheeting.on(self.printer, self.sheet, self.first, self.edge)

    @property
    def laid_for(self) -> str:
        """Which printer the paper was chosen for, as a form carries it."""
        return _number(self.printer)

    @property
    def edges(self) -> dict[str, str]:
        return EDGES

    @property
    def rows(self) -> list[list[int]]:
        """The places of a sheet as they lie on it, numbered from 1; none for a single page."""
        if self.sheet == "single":
            return []
        cells = imposing.grid(self.form.format, self.form.border_mm, SHEETS[self.sheet])
        if len(cells) < 2:
            return []
        lines: dict[float, list[int]] = {}
        for number, cell in enumerate(cells, 1):
            lines.setdefault(cell.top_mm, []).append(number)
        return list(lines.values())

    @property
    def place(self) -> int:
        return self.first + 1

    def words(self, count: int) -> str:
        """How much paper so many take. A form that runs on to more pages takes more."""
        sheets = placing.sheets_of(self.form, count, self.on)
        if self.sheet in PAPERS:
            words = ngettext(
                "%(count)s sheet of %(paper)s", "%(count)s sheets of %(paper)s", sheets
            )
            return words % {"count": sheets, "paper": PAPERS[self.sheet]}
        if self.form.papers > 1:
            least = sheets * self.form.papers
            return ngettext("%(count)s sheet or more", "%(count)s sheets or more", least) % {
                "count": least
            }
        return ngettext("%(count)s sheet", "%(count)s sheets", sheets) % {"count": sheets}

    @property
    def settings(self) -> str:
        """What is chosen, in one line."""
        way = next(one for one in self.ways if one.key == self.sheet)
        return f"{self.printer or 'Any printer'} · {way.words[0].lower()}{way.words[1:]}"


def _number(printer: Printer | None) -> str:
    return str(printer.pk) if printer else ""


def _ways(form: Form) -> list[Many]:
    """One to a page; on the sheets that take it, unless that is the same."""
    ways = [Many("single", 1)]
    for key, sheet in SHEETS.items():
        paper = cast("Sheet", key)
        if form.format != sheet and (count := placing.per_sheet(form, paper)):
            ways.append(Many(paper, count))
    return ways
