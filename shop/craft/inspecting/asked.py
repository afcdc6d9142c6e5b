"""What an item of the checklist is made of: its light, what it is found with, whose it is.

What its words say differently on each spec (how many, on which side) is worked out here; the
items themselves stand in ``checklist``. All common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from enum import Enum, StrEnum
from typing import Final

from shop.craft.hardware import Bushing, Hand, Head, SpecFacts, TunerFamily
from shop.craft.head.stringing import PAIRED, posts
from shop.craft.words import THIN, mm

NORMAL_LX: Final = 500
RAKING_LX: Final = 1000
LOOK_FROM_MM: Final = Decimal(600)
LEAST_ANGLE_DEG: Final = 30  # between the line of sight and the surface
FEELER_MM: Final = Decimal("0.05")


class Light(Enum):
    """The light an area is looked at in, with the words that ask for it."""

    NORMAL = (
        f"Normal light: {NORMAL_LX}{THIN}lx, from {mm(LOOK_FROM_MM)}, "
        f"at {LEAST_ANGLE_DEG}° or more to the surface."
    )
    RAKING = (
        f"Raking line light: {RAKING_LX}{THIN}lx or more, flat along the surface, "
        "with the dark wall to reflect."
    )
    LAMP = "Inside lamp and mirror."
    NONE = "No light of its own."

    @property
    def words(self) -> str:
        return self.value


class SeenBy(StrEnum):
    """What an item is found with."""

    EYE = "by eye"
    FINGER = "by finger"
    EAR = "by ear"
    TAPPING = "by tapping"
    FEELER = f"with a feeler of {mm(FEELER_MM)}"
    RULE = "with the straightedge"
    MIRROR = "with lamp and mirror"
    GAUGE = "with its gauge"


When = Callable[[SpecFacts], bool]
Words = Callable[[SpecFacts], str]


def always(_spec: SpecFacts) -> bool:
    return True


def never(_spec: SpecFacts) -> bool:
    return False


def electric(spec: SpecFacts) -> bool:
    return bool(spec.electronics)


def slotted(spec: SpecFacts) -> bool:
    return spec.head is Head.SLOTTED


def bushed(spec: SpecFacts) -> bool:
    return spec.bushing is not Bushing.NONE


def pinned(spec: SpecFacts) -> bool:
    return spec.pin_taper_deg is not None


def tied(spec: SpecFacts) -> bool:
    return spec.pin_taper_deg is None


def nylon(spec: SpecFacts) -> bool:
    """Such a neck may be without a rod."""
    return spec.string_material == "nylon"


def bass_side(spec: SpecFacts) -> str:
    """Where the bass strings are, seen from the front."""
    return "right side" if spec.hand is Hand.LEFT else "left side"


def in_line(spec: SpecFacts) -> str:
    if spec.tuner_family is TunerFamily.LINE:
        side = "left side" if spec.left_posts else "right side"
        return f"{spec.strings} machines in one straight line, on the {side}, seen from the front"
    return f"{spec.strings} machines in line, {spec.left_posts} a side"


def on_head(spec: SpecFacts) -> str:
    if spec.head is Head.SLOTTED:
        return "Plates flat and square on the sides of the head"
    if spec.tuner_family is TunerFamily.PLATE:
        return "Plates flat and square on the wood"
    return "Machines flat on the wood and square to the edge"


def on_posts(spec: SpecFacts) -> str:
    side = next(
        "left side" if one.side == "left" else "right side"
        for one in posts(spec)
        if one.string == "6"
    )
    if spec.tuner_family is TunerFamily.LINE:
        first = next(one.string for one in posts(spec) if one.order == 1)
        return f"Each string on its own post, string {first} nearest the nut"
    if spec.strings == PAIRED:
        return f"Each string of 6 pairs on its own post, pair 6 on the {side}, seen from the front"
    return f"Each string on its own post, string 6 on the {side}, seen from the front"


def in_slots(spec: SpecFacts) -> str:
    hand = bass_side(spec)
    if spec.strings != PAIRED:
        return (
            f"Each of {spec.strings} slots at its height, bass on the {hand}, seen from the front"
        )
    side = "bass" if spec.octave_on_bass_side else "treble"
    return (
        f"Each of {spec.strings} slots at its height, bass on the {hand}, seen from the front, "
        f"octave string of pairs 6 to 3 on the {side} side"
    )


def on_saddle(spec: SpecFacts) -> str:
    hand = bass_side(spec)
    return f"Saddle seated all along, bass end on the {hand}, seen from the front"


def heard(spec: SpecFacts) -> str:
    if spec.strings == PAIRED:
        return "Each of 6 pairs at every fret: both strings sound, no buzz, no dead note"
    return "Each string at every fret: no buzz, no dead note"


@dataclass(frozen=True, slots=True)
class Row:
    """An item and the specs that have it."""

    key: str
    words: str | Words
    seen_by: SeenBy = SeenBy.EYE
    only: When = always
    may_not_apply: When = never


@dataclass(frozen=True, slots=True)
class Kind:
    """An area before it is known whose."""

    key: str
    title: str
    light: Light
    how: str
    rows: tuple[Row, ...]
