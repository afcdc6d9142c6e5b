"""Every kind of paper the shop prints: on what, of what, and who says what stands on it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final, Literal

from shop.craft.imposing import A4, A5, A6, A7, A8, CARD, Format
from shop.paper.facts.as_built import as_built
from shop.paper.facts.badge_card import badge_card
from shop.paper.facts.box_label import box_label
from shop.paper.facts.case_cards import hold_card, rework_card
from shop.paper.facts.gauge_label import gauge_label
from shop.paper.facts.manifest import manifest
from shop.paper.facts.nut_strip import nut_strip
from shop.paper.facts.packing import packing
from shop.paper.facts.shelf_labels import bin_label, lot_label
from shop.paper.facts.slot_label import slot_label
from shop.paper.facts.station_card import station_card
from shop.paper.facts.tags import body_tag, neck_tag
from shop.paper.facts.traveller import traveller
from shop.paper.facts.tray_label import tray_label
from shop.paper.refusing import UnknownForm
from shop.paper.subjects import CHOICES as CHOICES
from shop.paper.subjects import FIND as FIND
from shop.paper.subjects import Subject as Subject

TAG: Final = (
    "Matt synthetic, resin ribbon. Round the corners by 3 mm or more. No metal eyelet: soft cotton "
    "cord, 200 mm or longer. Of each new ribbon or stock wipe one ten times with polish and ten "
    "times with naphtha: it must still scan."
)
POCKET: Final = (
    "It goes in a polypropylene pocket on the cart or tray, never in soft vinyl and never into the "
    "case."
)
HANDLE: Final = "Bright stock. No metal eyelet: soft cotton cord round the handle of the case."
CARTON: Final = "It sticks on the carton alone, never on the case."


@dataclass(frozen=True, slots=True)
class Form:
    """A kind of paper: its template and style sheet share its key.

    ``format`` is its trimmed size, ``border_mm`` how much of that is white on every side.
    ``carries``: whose code its square holds: "body", "neck" or "tray"; "own" where each copy
    has its own; "" where ``facts`` brings the square itself, or there is none.
    ``papers`` is how many pages one of it has at least: it may run on to more.
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
    papers: int = 1
    care: str = ""  # what it is printed on and hangs by, in sentences


FORMS: Final[dict[str, Form]] = {
    form.key: form
    for form in (
        Form("traveller", "Traveller", "A5, both sides", A5, traveller, "own", True, care=POCKET),
        Form("body_tag", "Body tag", "A7, both sides", A7, body_tag, "body", True, care=TAG),
        Form("neck_tag", "Neck tag", "A8, both sides", A8, neck_tag, "neck", True, 3.5, care=TAG),
        Form("tray_label", "Tray label", "A7", A7, tray_label, "tray"),
        Form(
            "hold_card",
            "Case hold card",
            "A6, bright, on the case handle",
            A6,
            hold_card,
            "own",
            care=HANDLE,
        ),
        Form("rework_card", "Rework card", "A6, on the case or cart", A6, rework_card, "own"),
        Form("box_label", "Box label", "A6, outside the carton", A6, box_label, "own", care=CARTON),
        Form("packing", "Packing papers", "A4, folded to A5, in the case", A4, packing, papers=5),
        Form(
            "manifest",
            "Carrier list",
            "A4, for the carrier and the shop",
            A4,
            manifest,
            border_mm=8,
            subject="manifest",
        ),
        Form("nut_strip", "Nut strip", "A6, true size", A6.turned, nut_strip),
        Form("as_built", "As-built record", "A4, once it is released", A4, as_built, "", True),
        Form("badge_card", "Badge card", "bank card", CARD, badge_card, subject="badge"),
        Form("bin_label", "Bin label", "A7", A7.turned, bin_label, subject="bin"),
        Form("lot_label", "Lot label", "A8", A8.turned, lot_label, border_mm=3.5, subject="lot"),
        Form(
            "gauge_label",
            "Gauge label",
            "A8",
            A8.turned,
            gauge_label,
            border_mm=3.5,
            subject="gauge",
        ),
        Form(
            "slot_label", "Slot label", "A8", A8.turned, slot_label, border_mm=3.5, subject="slot"
        ),
        Form(
            "station_card", "Station card", "A5", A5, station_card, border_mm=7, subject="station"
        ),
    )
}


def form_of(key: str) -> Form:
    """Raises ``UnknownForm`` for a key that no form has."""
    if key not in FORMS:
        raise UnknownForm(key, list(FORMS))
    return FORMS[key]
