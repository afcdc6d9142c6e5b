"""The frets drawn along the board: what was read, what it is levelled to, what came of it.

One strip a line from the bass edge down, the nut to the left. Heights are drawn much taller
than they are: all strips share one scale, so that a hundredth of a millimetre can be seen.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from shop.craft.set_up.frets.planning import Plan
from shop.craft.set_up.frets.reading import FretReadings, Spot

WIDTH: Final = 358
STRIP: Final = 64  # of one line, its name left of it
LEFT: Final = 28
EDGE: Final = 10  # kept free above, below and to the right of what is drawn
NUMBERED: Final = frozenset({1, 3, 5, 7, 9, 12, 15, 19, 24})
LEAST_RANGE_MM: Final = 0.1  # a level board is not blown up to its last hundredth


@dataclass(frozen=True, slots=True)
class Dot:
    """One height on its strip; ``wrong`` where a fret is to be seated or too much comes off."""

    fret: int
    x: float
    y: float
    wrong: bool = False

    @property
    def box(self) -> tuple[float, float]:
        """The upper left corner of a square around it, 6 wide."""
        return round(self.x - 3, 1), round(self.y - 3, 1)


@dataclass(frozen=True, slots=True)
class Strip:
    """One line: its heights before, its target as the points of a path, its heights after."""

    line: int
    middle: float
    bottom: float
    before: tuple[Dot, ...]
    target: str
    after: tuple[Dot, ...]


@dataclass(frozen=True, slots=True)
class Drawn:
    """The whole drawing, in units of a phone's pixels."""

    width: int
    height: int
    left: int
    strips: tuple[Strip, ...]
    numbers: tuple[Dot, ...]


def draw(plan: Plan, after: FretReadings | None, wrong: frozenset[int]) -> Drawn:
    """The drawing of a plan, and of the heights that were read after it. ``wrong`` names the
    frets to be marked."""
    frets = plan.readings.frets
    places = plan.board.places(frets)
    low, high = _range(plan, after)

    def x(fret: int) -> float:
        first, last = places[0], places[-1]
        share = (places[fret - 1] - first) / (last - first) if last > first else 0.5
        return round(LEFT + EDGE + share * (WIDTH - LEFT - 2 * EDGE), 1)

    def y(line: int, height_mm: float) -> float:
        share = (high - height_mm) / (high - low)
        return round((line - 1) * STRIP + EDGE + share * (STRIP - 2 * EDGE), 1)

    def dots(readings: FretReadings, line: int) -> tuple[Dot, ...]:
        found = ((fret, readings.at(Spot(fret, line))) for fret in range(1, frets + 1))
        return tuple(
            Dot(fret, x(fret), y(line, float(height)), fret in wrong)
            for fret, height in found
            if height is not None
        )

    strips = tuple(
        Strip(
            line=line,
            middle=(line - 0.5) * STRIP,
            bottom=line * STRIP,
            before=dots(plan.readings, line),
            target=" ".join(
                f"{x(fret)},{y(line, to)}" for fret, to in enumerate(row, 1) if to is not None
            ),
            after=dots(after, line) if after and line <= len(after.lines) else (),
        )
        for line, row in enumerate(plan.targets_mm, 1)
    )
    below = len(strips) * STRIP
    numbers = tuple(
        Dot(fret, x(fret), below + 14) for fret in range(1, frets + 1) if fret in NUMBERED
    )
    return Drawn(WIDTH, below + 20, LEFT, strips, numbers)


def _range(plan: Plan, after: FretReadings | None) -> tuple[float, float]:
    """The least and the most height there is to draw, in millimetres."""
    rows = [*plan.readings.lines, *plan.targets_mm, *(after.lines if after else ())]
    every = [float(one) for row in rows for one in row if one is not None]
    low, high = min(every, default=0.0), max(every, default=0.0)
    spare = max(LEAST_RANGE_MM - (high - low), 0.0) / 2
    return low - spare, high + spare
