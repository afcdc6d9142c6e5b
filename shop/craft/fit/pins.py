"""Bridge pins in their holes: R18."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from shop.craft.finding import Finding
from shop.craft.fit.identity import left_to_count
from shop.craft.fit.mismatch import mismatch
from shop.craft.fit.rule import LineCase, rule
from shop.craft.hardware import Pins
from shop.craft.size import plain
from shop.craft.taper import diameter_at
from shop.craft.words import mm, several

DEEP_MM = Decimal(20)  # where a pin shows its taper best: near its tip
SHOWN_MM = Decimal("0.01")
ALIKE_MM = Decimal("0.10")  # mouths that differ no more than this look the same

# The width of a hole's mouth by its taper: that of the pin it is reamed for, under the
# collar. Common practice. Two tapers differ so little here that they look the same.
MOUTH_MM = {Decimal(3): Decimal("5.40"), Decimal(5): Decimal("5.35")}


@rule(
    "R18",
    "Pins of this bridge's taper, number and kind",
    of=Pins,
    reads=("taper_deg", "pin_taper_deg", "collar_mm", "count", "strings", "slotted"),
)
def suits(case: LineCase[Pins]) -> Iterator[Finding]:
    spec, pins = case.spec, case.article
    if spec.pin_taper_deg is None:
        yield from _tied(case)
        return
    if pins.taper_deg != spec.pin_taper_deg:
        yield _taper(case, spec.pin_taper_deg)
    if pins.count != spec.strings:
        yield mismatch(
            case,
            f"{several(pins.count, 'pin')} in the set, this bridge takes {spec.strings}.",
            several(pins.count, "pin"),
            several(spec.strings, "string"),
            reckoning=f"{pins.count} is not {spec.strings}",
            limit="one pin for each string",
        )
    if pins.slotted is not spec.pins_slotted:
        yield _kind(case)


def _tied(case: LineCase[Pins]) -> Iterator[Finding]:
    if not left_to_count(case.call, case.article):
        words = f"The strings of {case.spec.name} are tied to the bridge: it takes no pins."
        yield mismatch(
            case,
            words,
            several(case.article.count, "pin"),
            "tied",
            limit="no pins at a tied bridge",
        )


def _taper(case: LineCase[Pins], hole_deg: Decimal) -> Finding:
    """Two tapers look alike under the collar; how far they part shows only deep down."""
    pins = case.article
    mouth = MOUTH_MM.get(hole_deg, pins.collar_mm)
    pin = diameter_at(pins.collar_mm, pins.taper_deg, DEEP_MM).quantize(SHOWN_MM)
    hole = diameter_at(mouth, hole_deg, DEEP_MM).quantize(SHOWN_MM)
    has, needs = f"{plain(pins.taper_deg)}°", f"{plain(hole_deg)}°"
    alike = abs(mouth - pins.collar_mm) <= ALIKE_MM
    look = "They look the same" if alike else "They differ at the mouth already"
    return mismatch(
        case,
        f"Pins are {has}, holes are {needs}. {look} ({plain(pins.collar_mm)} and "
        f"{mm(mouth)} under the collar), {'but ' if alike else ''}{mm(DEEP_MM)} down the pin is "
        f"{mm(pin)} and the hole {mm(hole)}.",
        f"{has}, {mm(pins.collar_mm)} under the collar",
        f"{needs}, {mm(mouth)} at the mouth",
        reckoning=f"{mm(DEEP_MM)} down: {_reckoned(pins.collar_mm, pins.taper_deg, pin)}; "
        f"{_reckoned(mouth, hole_deg, hole)}; {mm(abs(hole - pin))} apart",
        limit="the same taper",
    )


def _reckoned(top_mm: Decimal, taper_deg: Decimal, result_mm: Decimal) -> str:
    half = plain(taper_deg / 2)
    return f"{plain(top_mm)} \u2212 2 × {plain(DEEP_MM)} × tan {half}° = {mm(result_mm)}"


def _kind(case: LineCase[Pins]) -> Finding:
    """A string is held by a slot in the pin or a slot in its hole: one of them, not both."""
    slotted = case.article.slotted
    has, needs = ("slotted", "plain") if slotted else ("plain", "slotted")
    does = "the string has too much room beside the pin" if slotted else "the string will pop out"
    holes = "slotted" if slotted else "plain"
    return mismatch(
        case,
        f"Pins are {has} and the holes are {holes} too: {does}.",
        f"{has} pins",
        f"{needs} pins in {holes} holes",
        limit="a slot in the pin or in the hole",
    )


RULES = (suits,)
