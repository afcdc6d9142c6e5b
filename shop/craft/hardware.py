"""What a spec asks for and what a hardware article is, as frozen facts.

Lengths are decimal millimetres (``_mm``), forces newtons (``_n``), tapers the included
angle in degrees (``_deg``). ``None`` means the dimension does not exist on this article.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum


class Hand(StrEnum):
    RIGHT = "RH"
    LEFT = "LH"
    ANY = "any"

    @property
    def words(self) -> str:
        return {"RH": "right-handed", "LH": "left-handed", "any": "either hand"}[self.value]


class Head(StrEnum):
    SOLID = "solid"
    SLOTTED = "slotted"


class TunerFamily(StrEnum):
    """How the machines are carried."""

    SOLO = "solo"  # each machine on its own
    PLATE = "plate"  # three on a plate, solid head
    SLOT = "slot"  # plates with rollers, slotted head
    LINE = "line"  # six in line, all of one hand

    @property
    def words(self) -> str:
        return {
            "solo": "individual machines",
            "plate": "three-on-a-plate machines",
            "slot": "slotted-head plates",
            "line": "six-in-line machines",
        }[self.value]


class Bushing(StrEnum):
    PRESS = "press"
    THREAD = "thread"
    NONE = "none"

    @property
    def words(self) -> str:
        return {"press": "press-in", "thread": "threaded", "none": "no"}[self.value]


class Metal(StrEnum):
    NICKEL = "nickel"
    CHROME = "chrome"
    GOLD = "gold"
    BLACK = "black"


class Family(StrEnum):
    """The families of hardware, in the order a kit is fitted."""

    TUNERS = "tuners"
    NUT = "nut"
    SADDLE = "saddle"
    PINS = "pins"
    TAIL = "tail"
    STRAP = "strap"
    GUARD = "guard"
    ELECTRONICS = "electronics"
    BATTERY = "battery"
    STRINGS = "strings"
    CASE = "case"

    @property
    def rank(self) -> int:
        """The family's place in the order of fitting, from 0."""
        return list(Family).index(self)

    @property
    def words(self) -> str:
        return {
            "tuners": "tuning machines",
            "nut": "nut",
            "saddle": "saddle",
            "pins": "bridge pins",
            "tail": "end pin or jack",
            "strap": "strap button",
            "guard": "pickguard",
            "electronics": "electronics",
            "battery": "battery",
            "strings": "strings",
            "case": "case",
        }[self.value]


@dataclass(frozen=True, slots=True, kw_only=True)
class Article:
    """Any hardware article: ``key`` is its short name on bin and label ("T01")."""

    key: str
    name: str
    metal: Metal | None = None  # of what shows on the finished instrument

    @property
    def family(self) -> Family:
        return FAMILY_OF[type(self)]


@dataclass(frozen=True, slots=True, kw_only=True)
class TunerSet(Article):
    carried: TunerFamily
    left: int  # machines that belong on the left of the head seen from the front
    right: int
    hand: Hand
    bushing: Bushing
    bushing_od_mm: Decimal | None
    post_mm: Decimal  # post, or roller on a slotted head
    reach_mm: Decimal | None  # seat to string hole
    peghead_min_mm: Decimal | None
    peghead_max_mm: Decimal | None
    spacing_mm: Decimal | None  # between posts on one plate
    plate_width_mm: Decimal
    button_width_mm: Decimal
    screw_length_mm: Decimal
    ratios: tuple[str, ...]  # one for all, or one for each string 6 to 1

    @property
    def posts(self) -> int:
        return self.left + self.right


@dataclass(frozen=True, slots=True, kw_only=True)
class Nut(Article):
    width_mm: Decimal
    spread_mm: Decimal | None  # outer string to outer string; None: flat or in pairs
    strings: int
    slotted: bool
    hand: Hand  # ANY for a blank without slots
    pair_gap_mm: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Saddle(Article):
    thickness_mm: Decimal
    length_mm: Decimal
    height_mm: Decimal
    strings: int
    hand: Hand


@dataclass(frozen=True, slots=True, kw_only=True)
class Pins(Article):
    count: int
    taper_deg: Decimal
    collar_mm: Decimal  # diameter just under the collar
    slotted: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Tail(Article):
    kind: str  # "pin" or "jack"
    hole_mm: Decimal
    grip_min_mm: Decimal | None = None
    grip_max_mm: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class StrapButton(Article):
    screw_mm: Decimal
    screw_length_mm: Decimal
    pilot_mm: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Guard(Article):
    hand: Hand


@dataclass(frozen=True, slots=True, kw_only=True)
class Electronics(Article):
    element_mm: Decimal
    battery: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Battery(Article):
    kind: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Strings(Article):
    count: int
    material: str  # "steel" or "nylon"
    tension_n: int  # whole set at its usual scale


@dataclass(frozen=True, slots=True, kw_only=True)
class Case(Article):
    inside_overall_mm: Decimal
    inside_body_mm: Decimal
    inside_width_mm: Decimal
    inside_depth_mm: Decimal


FAMILY_OF: dict[type[Article], Family] = {
    TunerSet: Family.TUNERS,
    Nut: Family.NUT,
    Saddle: Family.SADDLE,
    Pins: Family.PINS,
    Tail: Family.TAIL,
    StrapButton: Family.STRAP,
    Guard: Family.GUARD,
    Electronics: Family.ELECTRONICS,
    Battery: Family.BATTERY,
    Strings: Family.STRINGS,
    Case: Family.CASE,
}


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """One line of the kit this instrument is to get."""

    key: str
    name: str
    family: Family
    quantity: int = 1
    substitutes: frozenset[str] = frozenset()  # approved for this line
    approved_metal: Metal | None = None  # a deviation the buyer agreed to

    def allows(self, key: str) -> bool:
        """Whether an article of this key is the one ordered or an approved substitute."""
        return key == self.key or key in self.substitutes


@dataclass(frozen=True, slots=True, kw_only=True)
class Picked:
    """One line of what lies in the tray."""

    article: Article
    quantity: int = 1
    left_counted: int | None = None  # machines counted into the left well
    right_counted: int | None = None
    lot: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TrayFacts:
    """A kit tray: whose it is, which spec revision it was built to, what lies in it."""

    code: str
    serial: str
    spec: str
    revision: int
    lines: tuple[Picked, ...]
    missing: tuple[Wanted, ...] = ()  # lines picked short


@dataclass(frozen=True, slots=True, kw_only=True)
class Call:
    """What one instrument calls for: its serial, its spec, its own kit with deviations."""

    serial: str
    spec: SpecFacts
    kit: tuple[Wanted, ...]

    def line_for(self, article: Article) -> Wanted | None:
        """The kit line an article was picked for: the one that allows it, else its family's.

        ``None`` when this guitar takes nothing of that family.
        """
        of_family = [line for line in self.kit if line.family is article.family]
        allowing = [line for line in of_family if line.allows(article.key)]
        return next(iter(allowing + of_family), None)
