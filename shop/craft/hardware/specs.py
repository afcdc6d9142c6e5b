"""The build facts of a spec revision, in the units of the articles they meet."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from shop.craft.hardware.articles import Bushing, Coat, Hand, Head, Metal, TunerFamily
from shop.craft.size import Size, Tolerance, sized


@dataclass(frozen=True, slots=True)
class Wood:
    """A wood a spec is built of, and whether its trade needs a permit."""

    name: str
    botanical: str
    permit: bool = False


@dataclass(frozen=True, slots=True)
class SetLimit:
    """A limit that a lead changed for one spec revision: to what, who, when and why."""

    value: Decimal
    by: str
    on: date
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SpecFacts:
    """The build facts of one spec revision."""

    key: str
    revision: int
    hand: Hand
    strings: int
    head: Head
    tuner_family: TunerFamily
    reversed_line: bool  # six in line with the posts on the other edge
    octave_on_bass_side: bool  # 12-string: which of a pair is the octave string
    bushing: Bushing
    bushing_hole_mm: Decimal | None
    post_hole_mm: Decimal  # through hole, or side hole of a slotted head
    peghead_mm: Decimal
    wall_mm: Decimal | None  # slotted head: wood beside the slot
    pitch_mm: Decimal
    spacing_mm: Decimal | None
    metal: Metal
    nut_width_mm: Decimal
    nut_spread_mm: Decimal | None
    saddle_slot_width_mm: Decimal
    saddle_slot_length_mm: Decimal
    pin_taper_deg: Decimal | None  # None: tie bridge, no pins
    pins_slotted: bool | None
    tail: str  # "pin", "jack" or "none"
    tail_hole_mm: Decimal | None
    tail_block_mm: Decimal
    guard: Hand | None
    electronics: str  # battery kind, or "" for none
    string_material: str
    tension_limit_n: int
    overall_mm: Decimal
    body_length_mm: Decimal
    body_width_mm: Decimal
    body_depth_mm: Decimal
    scale_mm: Decimal
    body_joint_fret: int
    # What its set-up aims at, where the spec names it: see ``craft.set_up.aims``.
    relief_mm: Decimal | None = None
    relief_least_mm: Decimal | None = None
    relief_most_mm: Decimal | None = None
    action_bass_mm: Decimal | None = None
    action_treble_mm: Decimal | None = None
    frets: int | None = None
    fret_height_mm: Decimal | None = None
    fall_off_mm: Decimal | None = None
    compensation_mm: Decimal | None = None
    slant_mm: Decimal | None = None
    bridge_height_mm: Decimal | None = None
    board_mm: Decimal | None = None
    top_wood: str = ""  # botanical names
    back_wood: str = ""
    board_wood: str = ""
    strap_button: bool = True  # its kit has one
    coat: Coat = Coat.OTHER
    woods: tuple[Wood, ...] = ()
    tolerances: tuple[tuple[str, Tolerance], ...] = ()  # by the name of the dimension
    limits: tuple[tuple[str, SetLimit], ...] = ()  # by the name of the limit: "R06.least"

    def size(self, dimension: str) -> Size:
        """A dimension of this spec between its limits, as ``size("post_hole_mm")``.

        Raises ``ValueError`` where this spec has no such dimension.
        """
        return sized(self, dimension, self.tolerances)

    @property
    def left_posts(self) -> int:
        """Posts on the left of the head seen from the front."""
        if self.tuner_family is not TunerFamily.LINE:
            return self.strings // 2
        on_left = (self.hand is not Hand.LEFT) != self.reversed_line
        return self.strings if on_left else 0

    @property
    def right_posts(self) -> int:
        return self.strings - self.left_posts

    @property
    def name(self) -> str:
        return f"{self.key} revision {self.revision}"
