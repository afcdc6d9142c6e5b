"""The strip that is laid on a nut to mark its slots, in its true size."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from django.utils.translation import gettext as _

from shop.craft.finding import any_stop
from shop.craft.set_up import nut, strung
from shop.craft.set_up.figures import figure, rounded
from shop.floor.board import State
from shop.paper.facts.saying import hand_and_strings
from shop.paper.refusing import NotPrinted

BAR_MM: Final = 50  # of the bar that shows whether it was printed in its true size
LINES_MM: Final = ("13.6", "17.6")  # where names stand; those of a pair in turn


class NoDiameters(NotPrinted):
    def __init__(self, serial: str) -> None:
        super().__init__(
            _(
                "The string set of %(serial)s tells no diameters, so its slots have no places. "
                "Enter them at the item in the office pages, then print."
            )
            % {"serial": serial}
        )


class NoRoom(NotPrinted):
    def __init__(self, serial: str, why: str) -> None:
        super().__init__(
            _("The strings of %(serial)s do not fit its nut: %(why)s")
            % {"serial": serial, "why": why}
        )


@dataclass(frozen=True, slots=True)
class Mark:
    """One slot on the strip. Lengths are mm from the left edge of the nut, written with a point
    in every language: a drawing knows no other."""

    string: str
    left: str
    said: str  # the same as it is read
    begins: str
    width: str
    name_y: str
    file: str


def nut_strip(one: State, now: datetime) -> dict[str, Any]:
    """The A6 sheet: the strip, a bar to measure, and every place in figures. Raises
    ``NoDiameters`` and ``NoRoom``."""
    spec = one.sheet.spec
    articles = [line.article for line in one.kit]
    found = strung.set_of(articles)
    told = {name: float(gauge) for name, gauge in found.gauges} if found else {}
    if any(name not in told for name in strung.from_bass(spec)):
        raise NoDiameters(one.serial)
    gap = strung.pair_gap_of(articles)
    plan = strung.place_all(
        spec,
        told,
        float(spec.nut_width_mm),
        pair_gap_mm=float(gap) if gap else nut.PAIR_GAP_MM,
    )
    if any_stop(plan.findings):
        raise NoRoom(one.serial, plan.findings[0].words)
    return {
        "hand": hand_and_strings(one.sheet),
        "strings": f"{found.key} {found.name}" if found else "",
        "width": figure(float(spec.nut_width_mm)),
        "marks": [_mark(at, slot, len(plan.slots) > 6) for at, slot in enumerate(plan.from_left)],
        "gap": figure(plan.gap_mm),
        "bar": BAR_MM,
        "margins": figure(nut.MARGIN_MM),
    }


def _mark(at: int, slot: nut.Slot, paired: bool) -> Mark:
    return Mark(
        slot.string,
        f"{slot.from_left_mm:.3f}",
        f"{rounded(slot.from_left_mm):.2f}",
        f"{slot.from_left_mm - slot.diameter_mm / 2:.3f}",
        f"{slot.diameter_mm:.3f}",
        LINES_MM[at % 2 if paired else 0],
        f"{rounded(slot.file_least_mm):.2f}–{rounded(slot.file_most_mm):.2f}",
    )
