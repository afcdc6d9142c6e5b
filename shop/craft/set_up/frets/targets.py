"""Where the tops of the frets are to come to: a straight along each line, and its fall-off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import Final

from shop.craft.formula import COMMON, Symbol, formula
from shop.craft.set_up.frets.reading import MOST_FRETS, FretReadings
from shop.craft.set_up.frets.solving import Point, Straight
from shop.craft.set_up.scale import fret_place

# Least height that stays: common practice, no source.
NEW_MM: Final = Decimal("0.90")
REPAIR_MM: Final = Decimal("0.70")

_PLACE = Symbol("x", "place_mm", "from the nut to the fret", "mm")


@formula(
    "fret-fall-off",
    "Fall-off of the last frets",
    "y = F · (x − j) / (e − j), 0 up to the body joint",
    Symbol("y", "", "how far the target falls below the straight", "mm"),
    _PLACE,
    Symbol("j", "joint_mm", "from the nut to the fret at the body joint", "mm"),
    Symbol("e", "last_mm", "from the nut to the last fret", "mm"),
    Symbol("F", "fall_off_mm", "fall-off at the last fret, usually 0.10 to 0.25", "mm"),
    source=COMMON,
    given={"place_mm": 441.84, "joint_mm": 357.69, "last_mm": 441.84, "fall_off_mm": 0.15},
)
def fall_off(place_mm: float, joint_mm: float, last_mm: float, fall_off_mm: float) -> float:
    """How far the target lies below its straight at a fret, in millimetres.

    >>> fall_off(300.0, 357.69, 441.84, 0.15), fall_off(399.765, 357.69, 441.84, 0.15)
    (0.0, 0.075)
    """
    if place_mm <= joint_mm or last_mm <= joint_mm:
        return 0.0
    return round(fall_off_mm * (place_mm - joint_mm) / (last_mm - joint_mm), 12)


@formula(
    "fret-target",
    "Height a fret is levelled to",
    "t = a + b · x − y",
    Symbol("t", "", "target height of the fret on this line", "mm"),
    Symbol("a", "at_nut_mm", "height of the straight at the nut", "mm"),
    Symbol("b", "rise", "rise of the straight along the scale", ""),
    _PLACE,
    Symbol("y", "fall_mm", "fall-off at this fret", "mm"),
    source=COMMON,
    given={"at_nut_mm": 1.1, "rise": -0.0001, "place_mm": 214.51, "fall_mm": 0.0},
)
def target(at_nut_mm: float, rise: float, place_mm: float, fall_mm: float) -> float:
    """The height a fret comes to on one line, in millimetres.

    >>> round(target(1.1, 0.0, 441.84, 0.15), 2)
    0.95
    """
    return at_nut_mm + rise * place_mm - fall_mm


@formula(
    "fret-removal",
    "What comes off a fret",
    "r = h − t",
    Symbol("r", "", "removal", "mm"),
    Symbol("h", "height_mm", "height that was read", "mm"),
    Symbol("t", "target_mm", "target height there", "mm"),
    source=COMMON,
    given={"height_mm": 1.16, "target_mm": 1.1},
)
def removal(height_mm: float, target_mm: float) -> float:
    """What has to come off, in millimetres; never less than nothing.

    >>> round(removal(1.16, 1.10), 2)
    0.06
    """
    return max(height_mm - target_mm, 0.0)


@formula(
    "fret-remaining",
    "What is left of a fret",
    "H = f − r",
    Symbol("H", "", "height of the fret after levelling", "mm"),
    Symbol("f", "fret_mm", "height of the fret above the board now", "mm"),
    Symbol("r", "removal_mm", "removal", "mm"),
    source=COMMON,
    given={"fret_mm": 1.16, "removal_mm": 0.06},
)
def remaining(fret_mm: float, removal_mm: float) -> float:
    """What stays of a fret, in millimetres.

    >>> round(remaining(1.16, 0.06), 2)
    1.1
    """
    return fret_mm - removal_mm


@dataclass(frozen=True, slots=True)
class Board:
    """What is known of the fingerboard beside the heights.

    ``body_joint`` is the fret at the body. ``fall_off_mm`` is what is still to be filed at the
    last fret; 0 where the board itself falls away there, as its heights above the board do not
    show it. ``fret_mm`` is the height of the fret wire above the board where the heights were
    read from a straight reference; ``None`` where they were read from the board and say it
    themselves. ``repair`` lets frets be lower than in new work.
    """

    scale_mm: float
    body_joint: int = 14
    fall_off_mm: float = 0.0
    fret_mm: Decimal | None = None
    repair: bool = False

    def __post_init__(self) -> None:
        if self.scale_mm <= 0 or self.fall_off_mm < 0 or not 0 < self.body_joint <= MOST_FRETS:
            raise ValueError(f"{self} is no board.")

    @property
    def least_mm(self) -> Decimal:
        """The least height a fret may have when it is levelled."""
        return REPAIR_MM if self.repair else NEW_MM

    def places(self, frets: int) -> tuple[float, ...]:
        """From the nut to each fret, in millimetres."""
        return _places(self.scale_mm, frets)

    def falls(self, frets: int) -> tuple[float, ...]:
        """The fall-off at each fret, in millimetres."""
        return _falls(self.scale_mm, self.body_joint, self.fall_off_mm, frets)


@lru_cache(maxsize=256)
def _places(scale_mm: float, frets: int) -> tuple[float, ...]:
    return tuple(fret_place(scale_mm, fret) for fret in range(1, frets + 1))


@lru_cache(maxsize=256)
def _falls(scale_mm: float, body_joint: int, fall_off_mm: float, frets: int) -> tuple[float, ...]:
    places = _places(scale_mm, frets)
    joint_mm = fret_place(scale_mm, body_joint)
    return tuple(fall_off(place, joint_mm, places[-1], fall_off_mm) for place in places)


Level = tuple[tuple[float | None, ...], ...]
"""Millimetres by line and fret, ``None`` where there is nothing to say."""


def points(readings: FretReadings, board: Board) -> list[list[Point]]:
    """What the straights have to stay under: every height that was read, its fall-off given
    back, line by line."""
    places, falls = board.places(readings.frets), board.falls(readings.frets)
    return [
        [
            (place, float(height) + fall)
            for place, fall, height in zip(places, falls, line, strict=True)
            if height is not None
        ]
        for line in readings.lines
    ]


def levels(straights: Sequence[Straight | None], board: Board, frets: int) -> Level:
    """The target at every fret of every line that has a straight."""
    places, falls = board.places(frets), board.falls(frets)
    return tuple(
        tuple(
            None if one is None else target(one.at_nut_mm, one.rise, place, fall)
            for place, fall in zip(places, falls, strict=True)
        )
        for one in straights
    )
