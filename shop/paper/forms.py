"""Every kind of paper the shop prints: on what, of what, and who says what stands on it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final, Literal

from shop.craft.imposing import A4, A5, A7, A8, Format
from shop.floor import board
from shop.paper.facts.as_built import as_built
from shop.paper.facts.tags import body_tag, neck_tag
from shop.paper.facts.traveller import traveller
from shop.paper.facts.tray_label import tray_label
from shop.paper.refusing import UnknownForm

Subject = Literal["instrument"]
"""What a form can be of."""

FIND: Final[dict[Subject, Callable[[Sequence[str]], Mapping[str, Any]]]] = {
    "instrument": board.by_serials,
}
"""By what a form is of: the things that these names stand for, those that there are."""


@dataclass(frozen=True, slots=True)
class Form:
    """A kind of paper: its template and style sheet share its key.

    ``format`` is its trimmed size, ``border_mm`` how much of that is white on every side.
    ``carries``: whose code its square holds: "body", "neck" or "tray"; "own" where each copy
    has its own; "" where ``facts`` brings the square itself, or there is none.
    ``facts`` says what stands on it, of the thing and the moment; it raises ``NotPrinted``.
    """

    key: str
    words: str
    paper: str  # how it is used, for the person at the printer
    format: Format
    facts: Callable[[Any, datetime], Mapping[str, Any]]
    carries: Literal["body", "neck", "tray", "own", ""] = ""
    two_sided: bool = False
    border_mm: float = 4
    subject: Subject = "instrument"


FORMS: Final[dict[str, Form]] = {
    form.key: form
    for form in (
        Form("traveller", "Traveller", "A5, both sides", A5, traveller, "own", True, 5.5),
        Form("body_tag", "Body tag", "A7, both sides", A7, body_tag, "body", True),
        Form("neck_tag", "Neck tag", "A8, both sides", A8, neck_tag, "neck", True),
        Form("tray_label", "Tray label", "A7", A7, tray_label, "tray"),
        Form("as_built", "As-built record", "A4, once it is released", A4, as_built, "", True, 8),
    )
}


def form_of(key: str) -> Form:
    """Raises ``UnknownForm`` for a key that no form has."""
    if key not in FORMS:
        raise UnknownForm(key, list(FORMS))
    return FORMS[key]
