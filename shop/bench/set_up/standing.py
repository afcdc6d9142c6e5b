"""What is known of an instrument for its set-up: its strings, what was measured on it, and
what its spec aims at where nothing was measured yet."""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from shop.bench.set_up import measured
from shop.bench.set_up.typed import Usual
from shop.craft.hardware import Strings
from shop.craft.set_up import strung
from shop.craft.set_up.aims import aims
from shop.craft.set_up.slot_depth import START_PLAIN_MM, START_WOUND_MM
from shop.craft.set_up.strings import is_wound
from shop.floor.board import State

OF_SET: Final = "the string set"
USUAL: Final = "usual"


def strings(now: State) -> Strings | None:
    """The string set of its kit, deviations worked in."""
    return strung.set_of(one.article for one in now.kit)


def from_bass(now: State) -> tuple[str, ...]:
    """The names of its strings, from the bass edge on."""
    return strung.from_bass(now.sheet.spec)


def singles(now: State) -> tuple[str, ...]:
    """The names of its strings from the bass on, one for each pair: the thick one."""
    return tuple(one for one in from_bass(now) if one.isdigit())


def gauges(now: State) -> dict[str, Decimal]:
    """The diameters of its strings by name, those that its set tells."""
    found = strings(now)
    return dict(found.gauges) if found else {}


def wound(now: State, string: str) -> bool:
    """Whether a string of it is wound, by its name, its material and its diameter."""
    diameter = gauges(now).get(string)
    found = strings(now)
    material = found.material if found else now.sheet.spec.string_material
    return is_wound(string, material, float(diameter) if diameter else None)


def action(now: State, side: str) -> Usual:
    """The string over fret 12 on a side, "bass" or "treble"."""
    return measured.usual(now, "action", side, aims(now.sheet.spec).action_mm(side))


def relief(now: State) -> Usual:
    found = [one.value for one in now.readings.of("relief")]
    aim = Usual(aims(now.sheet.spec).relief_mm, measured.SPEC)
    return Usual(found[0], measured.MEASURED) if found else aim


def fret_height(now: State) -> Usual:
    return Usual(aims(now.sheet.spec).fret_height_mm, measured.SPEC)


def first_fret(now: State, string: str) -> Usual:
    """A string over fret 1, open: measured, or nothing."""
    return measured.usual(now, "first_fret", string)


def first_fret_wanted(now: State, string: str) -> Decimal:
    """Where to start with the clearance over fret 1."""
    start = START_WOUND_MM if wound(now, string) else START_PLAIN_MM
    return Decimal(str(start))
