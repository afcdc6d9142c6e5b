"""The kinds of hardware, and an article of each family with its dimensions.

Lengths are decimal millimetres (``_mm``), forces newtons (``_n``), tapers the included
angle in degrees (``_deg``). ``None`` means the dimension does not exist on this article.
Dimensions are nominal; what they may depart from it stands in ``tolerances``, and
``size`` gives both limits.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

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
