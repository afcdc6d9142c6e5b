"""What is to be known of an instrument that leaves the shop: its battery, what is still open."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from django.utils.translation import gettext as _

from shop.craft import looks
from shop.craft.hardware import Battery, Electronics, Wood
from shop.craft.route import last_of
from shop.floor import board
from shop.floor.board import State

ALKALINE: Final = "alkaline"


@dataclass(frozen=True, slots=True)
class Cell:
    """The battery in the instrument. ``alkaline``: its article says so by its name.
    ``insulated``: what was noted of its contacts when it was boxed, ``None`` before that."""

    name: str
    alkaline: bool
    insulated: bool | None


def cell_of(one: State) -> Cell | None:
    """The battery of this instrument's own kit; ``None`` for one that needs none."""
    articles = [line.article for line in one.kit]
    names = [
        *(part.name for part in articles if isinstance(part, Battery)),
        *(part.battery for part in articles if isinstance(part, Electronics)),
        one.sheet.spec.electronics,
    ]
    name = next((name for name in names if name), "")
    if not name:
        return None
    noted = [reading.value for reading in one.readings.of("insulated")]
    return Cell(name, ALKALINE in name.lower(), all(noted) if noted else None)


def permits_of(one: State) -> dict[Wood, tuple[str, ...]]:
    """The numbers noted so far for each wood that needs a paper where it is going."""
    return {paper.wood: paper.numbers for paper in board.papers(one)}


def holds(permits: Mapping[Wood, tuple[str, ...]], cell: Cell | None) -> Iterator[str]:
    """Why a carton must not leave, a sentence each."""
    for wood, numbers in permits.items():
        if not numbers:
            yield _("Hold the carton: paper for %(wood)s is not noted.") % {"wood": wood.name}
    if cell and cell.insulated is False:
        yield _("Hold the carton: the battery’s contacts are not insulated.")


def sold_with(one: State) -> tuple[str, ...]:
    """The defects it is sold with as seconds, each in a line; none for one of first quality."""
    return tuple(
        f"{_(word)}, {_(place)}" if place else _(word) for word, place in board.sold_with(one.id)
    )


def still_open(one: State) -> Iterator[str]:
    """What keeps it from leaving, but for papers and battery: a sentence each."""
    if one.ended:
        yield _("It is scrap: %(why)s.") % {"why": one.ended.rstrip(".")}
    if one.frozen:
        yield _("It is frozen: %(why)s.") % {"why": one.frozen.words.rstrip(".")}
    if one.rework:
        yield _("It is being reworked: %(why)s.") % {"why": one.rework.words.rstrip(".")}
    frozen_by = [stop.code for stop in one.sheet.stops if stop.facts.freezes]
    if not one.done_codes.issuperset(frozen_by):
        yield _("Not released yet.")


def looks_open(one: State) -> Iterator[str]:
    """The looks that are still to be taken, a sentence each."""
    for first, second in looks.pairs(one.sheet.route):
        if last_of(first.code, one.done) is None:
            yield _("First look (%(operation)s) not done yet.") % {"operation": first.code}
        if last_of(second.code, one.done) is None:
            yield _("Second look (%(operation)s) not done yet.") % {"operation": second.code}
