"""The calibration page of a printer, drawn as everything else that goes through it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from typing import Final, Literal

from django.template.loader import render_to_string

from shop.craft.imposing import A4, LETTER, Format
from shop.paper import press
from shop.paper.facts.calibration import calibration, moved
from shop.paper.facts.saying import moment
from shop.paper.forms import Form
from shop.paper.models import Printer
from shop.paper.placing import Sheeting, placed
from shop.paper.plates import Plate
from shop.paper.press import Drawn, Page, Sheaf
from shop.paper.stamps import Stamps

Paper = Literal["a4", "letter"]
PAPERS: Final[dict[Paper, Format]] = {"a4": A4, "letter": LETTER}
KEY: Final = "calibration"
OFFSETS: Final = ("right_mm", "down_mm", "back_right_mm", "back_down_mm")
Offsets = Sequence[Decimal]  # in this order


def offsets_of(printer: Printer) -> Offsets:
    """By how much what is printed on both sides is moved in this printer."""
    return [Decimal(getattr(printer, name)) for name in OFFSETS]


def calibration_page(printer: Printer, paper: Paper, now: datetime) -> bytes:
    """Front and back as a PDF, moved by what is kept of this printer, so that a second print
    proves it. Raises ``PressMissing``.

    The back is not turned to fit its front: which way up it comes out tells on which edge
    the printer flips.
    """
    setter = press.typesetter()
    sheet = PAPERS[paper]
    right, down, back_right, back_down = offsets_of(printer)
    sides = (
        {"back": False, "moved": moved(right, down)},
        {"back": True, "moved": moved(back_right, back_down)},
    )
    form = Form(KEY, "Calibration page", "", sheet, lambda one, now: {}, two_sided=True)
    said = {
        "form": form,
        "one": printer,
        "paper": paper,
        "sides": sides,
        "printed_at": moment(now),
        "language": press.language(),
    }
    html = render_to_string(f"paper/{KEY}.html", said | calibration(sheet))
    sheaf = Sheaf(form)
    count = Plate(sheaf.pdf, setter.lay_out(html, (press.PLAIN, KEY)), []).pull([])
    sheaf.drawn.append(Drawn(Page(printer.name, printer, b"", Stamps(), None, ()), 0, count))
    pdf = placed(sheaf, Sheeting.on(printer, "single", 0, "long"))
    # Both sides, and on the edge that the printer itself has chosen.
    del pdf.Root.ViewerPreferences.Duplex
    return press.bound(pdf, sheaf.title)
