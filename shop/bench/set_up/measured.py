"""What was measured, as a page of the set-up takes it: shown, counted on, or still to measure."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from django.http import HttpRequest
from django.utils import timezone

from shop.bench.set_up.typed import Usual
from shop.craft import gauging
from shop.craft.fit.rule import Limit
from shop.craft.gauging import QUANTITIES
from shop.craft.hardware import SpecFacts
from shop.floor import board
from shop.floor.board import State

MEASURED = "measured"
SPEC = "the spec"


@dataclass(frozen=True, slots=True)
class Fact:
    """One reading in force: of what, where, and the value with its unit."""

    words: str
    place: str
    said: str


def facts(now: State, *quantities: str) -> tuple[Fact, ...]:
    """The readings in force of these quantities, each where it was taken."""
    found = []
    for key in quantities:
        quantity = QUANTITIES[key]
        places = {one.key: one.words for one in quantity.places(now.sheet.spec)}
        found += [
            Fact(quantity.words, places.get(one.place, one.place), gauging.said(one))
            for one in now.readings.of(key)
        ]
    return tuple(found)


def usual(now: State, quantity: str, place: str, otherwise: Decimal | None = None) -> Usual:
    """What counts where nothing is typed: the reading in force, or else what the spec says."""
    value = now.readings.at(quantity, place)
    return Usual(otherwise, SPEC) if value is None else Usual(value, MEASURED)


def asked_here(request: HttpRequest, now: State, *quantities: str) -> bool:
    """Whether the operation to do at this station is one that measures any of these."""
    work = board.work(now, board.asking(request, timezone.localtime()))
    return (
        work.here and work.stop is not None and not {*quantities}.isdisjoint(work.stop.facts.gauges)
    )


def limit(spec: SpecFacts, usual: Limit) -> float:
    """A rule's limit as a lead set it for this spec revision, or as is usual."""
    changed = {name: one.value for name, one in spec.limits}
    return float(changed.get(usual.name, usual.value))
