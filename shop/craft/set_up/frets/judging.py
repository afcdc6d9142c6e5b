"""The frets after levelling and crowning, read a second time."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from shop.craft.finding import Basis, Finding, stop, warn, worst_first
from shop.craft.formula import COMMON, Symbol, formula
from shop.craft.set_up.figures import rounded
from shop.craft.set_up.frets.reading import FretReadings, Spot, frets_words
from shop.craft.set_up.frets.targets import Board
from shop.craft.words import mm

# All common practice, no source.
FLAT_MM: Final = Decimal("0.4")  # widest flat left on a crown
RISE_MM: Final = Decimal("0.02")  # a fret over the line of its neighbours
ROCKER_MM: Final = Decimal("0.03")  # under a straightedge of three frets
BUZZES_MM: Final = Decimal("0.05")  # so much of either is heard


@formula(
    "fret-rise",
    "Rise of a fret over its neighbours",
    "s = h − [p + (q − p) · b / (b + o)]",
    Symbol("s", "", "rise over the line of the two frets beside it", "mm"),
    Symbol("p", "before_mm", "height of the fret towards the nut", "mm"),
    Symbol("h", "height_mm", "height of the fret", "mm"),
    Symbol("q", "after_mm", "height of the fret towards the bridge", "mm"),
    Symbol("b", "back_mm", "distance to the fret towards the nut", "mm"),
    Symbol("o", "on_mm", "distance to the fret towards the bridge", "mm"),
    source=COMMON,
    given={
        "before_mm": 1.0,
        "height_mm": 1.03,
        "after_mm": 1.0,
        "back_mm": 22.8,
        "on_mm": 21.5,
    },
)
def rise(
    before_mm: float, height_mm: float, after_mm: float, back_mm: float, on_mm: float
) -> float:
    """How far a fret stands above the line over the two beside it, in millimetres.

    >>> round(rise(1.0, 1.03, 1.0, 22.8, 21.5), 2)
    0.03
    """
    return height_mm - (before_mm + (after_mm - before_mm) * back_mm / (back_mm + on_mm))


@dataclass(frozen=True, slots=True)
class Crowned:
    """What is measured after crowning: heights again, the widest flat left on each fret that was
    looked at, and the most the rocker showed at each; millimetres by fret."""

    readings: FretReadings
    flat_mm: Mapping[int, Decimal]
    rocker_mm: Mapping[int, Decimal]


@dataclass(frozen=True, slots=True)
class Rise:
    """How far one fret stands over its neighbours on one line, to a hundredth."""

    spot: Spot
    rise_mm: Decimal


def rises(readings: FretReadings, board: Board) -> tuple[Rise, ...]:
    """Every rise there is to see, nut to body, where a fret and both beside it were read. The
    fall-off that was filed on purpose is given back first."""
    places, falls = board.places(readings.frets), board.falls(readings.frets)
    found = []
    for fret in range(2, readings.frets):
        for line, heights in enumerate(readings.lines, 1):
            around = heights[fret - 2 : fret + 1]
            if any(height is None for height in around):
                continue
            before, height, after = (
                float(one or 0) + fall
                for one, fall in zip(around, falls[fret - 2 : fret + 1], strict=True)
            )
            back = places[fret - 1] - places[fret - 2]
            on = places[fret] - places[fret - 1]
            found.append(Rise(Spot(fret, line), rounded(rise(before, height, after, back, on))))
    return tuple(found)


def judge(crowned: Crowned, board: Board) -> tuple[Finding, ...]:
    """What is not right yet, worst first; nothing where the frets are done."""
    return worst_first(
        [
            *_risen(rises(crowned.readings, board)),
            *_rocks(crowned.rocker_mm),
            *_flat(crowned.flat_mm),
        ]
    )


def _risen(found: tuple[Rise, ...]) -> Iterator[Finding]:
    highest: dict[int, Rise] = {}
    for one in found:
        known = highest.get(one.spot.fret)
        if known is None or one.rise_mm > known.rise_mm:
            highest[one.spot.fret] = one
    for fret, one in highest.items():
        if one.rise_mm <= RISE_MM:
            continue
        basis = Basis(
            "A fret against the line of the two beside it",
            ((f"Rise at {one.spot.words}", mm(one.rise_mm)),),
            f"{mm(one.rise_mm)} is more than {mm(RISE_MM)}",
            f"at most {mm(RISE_MM)}",
            COMMON,
        )
        words = f"Fret {fret} stands {mm(one.rise_mm)} over its neighbours on line {one.spot.line}."
        if one.rise_mm > BUZZES_MM:
            then = "Seat it or level it, crown it, and read these three frets again."
            yield stop("fret rise", words, then=then, call="", basis=basis)
        else:
            then = "Spot level it, crown it, and read these three frets again."
            yield warn("fret rise", words, then=then, basis=basis)


def _rocks(rocker_mm: Mapping[int, Decimal]) -> Iterator[Finding]:
    for fret, gap in sorted(rocker_mm.items()):
        if gap <= ROCKER_MM:
            continue
        basis = Basis(
            "Rocker over three frets",
            ((f"Gap at fret {fret}", mm(gap)),),
            f"{mm(gap)} is more than {mm(ROCKER_MM)}",
            f"at most {mm(ROCKER_MM)}",
            COMMON,
        )
        words = f"The rocker shows {mm(gap)} at fret {fret}, at most {mm(ROCKER_MM)} may be."
        then = "Spot level it, crown it, and rock it again."
        if gap > BUZZES_MM:
            yield stop("fret rocker", words, then=then, call="", basis=basis)
        else:
            yield warn("fret rocker", words, then=then, basis=basis)


def _flat(flat_mm: Mapping[int, Decimal]) -> Iterator[Finding]:
    wide = {fret: flat for fret, flat in flat_mm.items() if flat > FLAT_MM}
    if not wide:
        return
    fret = max(sorted(wide), key=wide.__getitem__)
    yield warn(
        "fret flat",
        f"The flat on fret {fret} is {mm(wide[fret])} wide, at most {mm(FLAT_MM)} may be.",
        then=f"Crown {frets_words(list(wide))} until a hair of the mark is left.",
        basis=Basis(
            "Flat left on the crown",
            tuple((f"Fret {one}", mm(wide[one])) for one in sorted(wide)),
            f"{mm(wide[fret])} is more than {mm(FLAT_MM)}",
            f"at most {mm(FLAT_MM)}",
            COMMON,
        ),
    )
