"""What a spec asks for and what a hardware article is, as frozen facts.

Lengths are decimal millimetres (``_mm``), forces newtons (``_n``), tapers the included
angle in degrees (``_deg``). ``None`` means the dimension does not exist on this article.
Dimensions are nominal; what they may depart from it stands in ``tolerances``, and
``size`` gives both limits.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum
from typing import Final

from shop.craft.reading import Readings
from shop.craft.size import Size, Tolerance, sized


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


class Worm(StrEnum):
    """The end of the gear the worm lies on, with the machine on its own side of the head."""

    NUT = "nut"
    TIP = "tip"


class Coat(StrEnum):
    """The finish, as far as its age matters."""

    LACQUER = "lacquer"
    POLYESTER = "polyester"
    OTHER = "other"


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
    tolerances: tuple[tuple[str, Tolerance], ...] = ()  # by the name of the dimension

    @property
    def family(self) -> Family:
        return FAMILY_OF[type(self)]

    def size(self, dimension: str) -> Size:
        """A dimension of this article between its limits, as ``size("post_mm")``.

        Raises ``ValueError`` where this article has no such dimension.
        """
        return sized(self, dimension, self.tolerances)


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
    screw_mm: Decimal = Decimal("2.2")  # diameter of the wood screws; common practice
    staggered: bool = False  # post heights fall toward the tip: each machine has its string
    worm: Worm = Worm.NUT
    worm_right_hand: bool = True

    @property
    def posts(self) -> int:
        return self.left + self.right

    @property
    def graduated(self) -> bool:
        """Whether each machine has its own ratio, and so its own string."""
        return len(self.ratios) > 1

    @property
    def marked(self) -> bool:
        """Whether each machine carries the mark of its string and belongs on one post only."""
        return self.graduated or self.staggered


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
    at_scale_mm: Decimal | None = None  # the scale that tension was computed for
    gauges: tuple[tuple[str, Decimal], ...] = ()  # diameter in mm by string: ("6", 1.35)


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """One line of the kit this instrument is to get."""

    key: str
    name: str
    family: Family
    quantity: int = 1
    substitutes: frozenset[str] = frozenset()  # approved for this line
    approvals: tuple[tuple[str, str], ...] = ()  # who approved each substitute, when and why
    approved_metal: Metal | None = None  # a deviation the buyer agreed to
    agreed: str = ""  # by whom, where the line itself is a deviation

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
    best_before: date | None = None  # of the lot


@dataclass(frozen=True, slots=True, kw_only=True)
class TrayFacts:
    """A kit tray: whose it is, which spec revision it was built to, what lies in it."""

    code: str
    serial: str
    spec: str
    revision: int
    lines: tuple[Picked, ...]
    missing: tuple[Wanted, ...] = ()  # lines picked short


UNMEASURED: Final = Readings()


@dataclass(frozen=True, slots=True, kw_only=True)
class Call:
    """What one instrument calls for: its serial, its spec, its own kit with deviations,
    and what has been measured on it so far."""

    serial: str
    spec: SpecFacts
    kit: tuple[Wanted, ...]
    readings: Readings = UNMEASURED
    whole: bool = True  # the kit is all of it, and not only what lies in a tray
    ship_on: date | None = None

    def line_for(self, article: Article) -> Wanted | None:
        """The kit line an article was picked for: the one that allows it, else its family's.

        ``None`` when this guitar takes nothing of that family.
        """
        of_family = [line for line in self.kit if line.family is article.family]
        allowing = [line for line in of_family if line.allows(article.key)]
        return next(iter(allowing + of_family), None)
