"""What the set-up of a guitar is measured by: where its bridge stands, how its strings lie.

Plausible ranges and doubts are common practice, no source.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from shop.craft.gauging.quantity import Quantity, every_string, only
from shop.craft.hardware import SpecFacts
from shop.craft.set_up.aims import aims

BRIDGE_PLACE: Final = "bridge_place"
RELIEF: Final = "relief"
ACTION: Final = "action"
FIRST_FRET: Final = "first_fret"
OCTAVE_OFF: Final = "octave_off"

SIDES: Final = only(("bass", "bass side"), ("treble", "treble side"))


def _between(spec: SpecFacts) -> Decimal:
    """The action in the middle of the neck: either side lies near it."""
    aimed = aims(spec)
    return (aimed.action_bass_mm + aimed.action_treble_mm) / 2


SETTING: Final = (
    Quantity(
        key=BRIDGE_PLACE,
        words="Nut to the middle of the saddle",
        unit="mm",
        low=Decimal(450),
        high=Decimal(750),
        doubt=Decimal(5),
        expected=lambda spec: aims(spec).bridge_place_mm,
        places=SIDES,
        how="From the nut end of this neck, along both edges, to the middle of the saddle.",
    ),
    Quantity(
        key=RELIEF,
        words="Relief",
        unit="mm",
        low=Decimal(-1),
        high=Decimal(2),
        doubt=Decimal("0.3"),
        expected=lambda spec: aims(spec).relief_mm,
        places=only(("7", "at fret 7")),
        how="At pitch. Straightedge on frets 1 and 14, feeler over fret 7; minus for a back-bow.",
    ),
    Quantity(
        key=ACTION,
        words="String height over fret 12",
        unit="mm",
        low=Decimal("0.3"),
        high=Decimal(8),
        doubt=Decimal("1.5"),
        expected=_between,
        places=SIDES,
        how="At pitch. From the top of fret 12 to the underside of the outer string.",
    ),
    Quantity(
        key=FIRST_FRET,
        words="String height over fret 1",
        unit="mm",
        low=Decimal(0),
        high=Decimal(3),
        doubt=Decimal("0.4"),
        places=every_string,
        how="Open string, feeler over fret 1. Enter 0 where it touches.",
    ),
    Quantity(
        key=OCTAVE_OFF,
        words="Octave at fret 12 off the open string",
        unit="cents",
        low=Decimal(-60),
        high=Decimal(60),
        doubt=Decimal(20),
        expected=lambda _: Decimal(0),
        places=every_string,
        how="Fretted at 12 against twice the open string; minus where it is flat.",
    ),
)
