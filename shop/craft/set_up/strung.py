"""The strings of a guitar as they cross its nut, by its spec and what its kit holds."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal

from shop.craft.hardware import Article, Nut, SpecFacts, Strings
from shop.craft.head import at_nut
from shop.craft.head.stringing import PAIRED
from shop.craft.set_up.nut import (
    MARGIN_MM,
    PAIR_GAP_MM,
    NutPlan,
    NutString,
    octave_lift,
    place,
)


def from_bass(spec: SpecFacts) -> tuple[str, ...]:
    """The names of its strings, from the bass edge on."""
    order = at_nut(spec)
    return order if order[0].startswith("6") else order[::-1]


def courses(spec: SpecFacts) -> tuple[tuple[str, ...], ...]:
    """The names of its strings by pairs, or each by itself, from the bass edge on."""
    names = from_bass(spec)
    if spec.strings != PAIRED:
        return tuple((one,) for one in names)
    return tuple(zip(names[::2], names[1::2], strict=True))


def lifts(spec: SpecFacts, diameters_mm: Mapping[str, float]) -> dict[str, tuple[str, float]]:
    """Of each string thinner than the other of its pair, that other one, and by how much its
    slot floor lies higher, in millimetres."""
    found = {}
    for course in courses(spec):
        thick = max(course, key=lambda one: diameters_mm[one])
        for one in course:
            if lift := octave_lift(diameters_mm[thick], diameters_mm[one]):
                found[one] = (thick, lift)
    return found


def set_of(articles: Iterable[Article]) -> Strings | None:
    """The string set among these articles."""
    return next((one for one in articles if isinstance(one, Strings)), None)


def pair_gap_of(articles: Iterable[Article]) -> Decimal | None:
    """The gap of a pair that the nut among these articles is slotted with, if it is."""
    found = next((one for one in articles if isinstance(one, Nut)), None)
    return found.pair_gap_mm if found else None


def place_all(
    spec: SpecFacts,
    diameters_mm: Mapping[str, float],
    nut_mm: float,
    bass_margin_mm: float = MARGIN_MM,
    treble_margin_mm: float = MARGIN_MM,
    pair_gap_mm: float = PAIR_GAP_MM,
) -> NutPlan:
    """The slots of this guitar's nut. Raises ``ValueError`` for a string without a diameter."""
    if missing := [name for name in from_bass(spec) if name not in diameters_mm]:
        raise ValueError(f"No diameter is told of strings {missing}.")
    strung = tuple(
        tuple(NutString(name, diameters_mm[name]) for name in course) for course in courses(spec)
    )
    return place(strung, nut_mm, spec.hand, bass_margin_mm, treble_margin_mm, pair_gap_mm)
