"""The heights of the frets as they were measured, what of them is missing, what is doubtful.

They are read along 3 to 6 lines that run with the strings. Lines are counted from the bass
edge, frets from the nut, whichever hand the instrument is for.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import chain
from statistics import median
from typing import Final

from shop.craft.words import listed, mm

RESOLUTION_MM: Final = Decimal("0.01")
LEAST_LINES: Final = 3
MOST_LINES: Final = 6
MOST_FRETS: Final = 30

# What a fret on a board can be, and how far one height may lie from the middle of those beside
# it before it is read again: common practice, no source.
LOW_MM: Final = Decimal("0.3")
HIGH_MM: Final = Decimal("1.8")
DOUBT_MM: Final = Decimal("0.25")
ALONG: Final = 2  # frets to either side
NEIGHBOURS: Final = 3  # from so many on, their middle stands though one of them is wrong

Heights = tuple[tuple[Decimal | None, ...], ...]


@dataclass(frozen=True, slots=True, order=True)
class Spot:
    """Where one height is read."""

    fret: int
    line: int

    @property
    def words(self) -> str:
        """
        >>> Spot(9, 3).words
        'fret 9 on line 3'
        """
        return f"fret {self.fret} on line {self.line}"


@dataclass(frozen=True, slots=True)
class Doubt:
    """A height that is to be read again, and why."""

    spot: Spot
    words: str


@dataclass(frozen=True, slots=True)
class FretReadings:
    """Heights in millimetres: one tuple a line, in it one value a fret, ``None`` where not read.

    Raises ``ValueError`` for what is no table of 3 to 6 lines of as many frets each.
    """

    lines: Heights

    def __post_init__(self) -> None:
        if not LEAST_LINES <= len(self.lines) <= MOST_LINES:
            raise ValueError(f"{len(self.lines)} lines: there are {LEAST_LINES} to {MOST_LINES}.")
        counts = {len(line) for line in self.lines}
        if len(counts) > 1 or not 1 <= min(counts) <= MOST_FRETS:
            raise ValueError(f"{sorted(counts)} frets on the lines of one board.")
        for height in chain(*self.lines):
            if height is not None and not height.is_finite():
                raise ValueError(f"{height} is no height.")

    @property
    def frets(self) -> int:
        return len(self.lines[0])

    def at(self, spot: Spot) -> Decimal | None:
        return self.lines[spot.line - 1][spot.fret - 1]

    def spots(self) -> Iterator[Spot]:
        """Every spot, fret by fret from the nut."""
        for fret in range(1, self.frets + 1):
            for line in range(1, len(self.lines) + 1):
                yield Spot(fret, line)

    @property
    def missing(self) -> tuple[Spot, ...]:
        return tuple(spot for spot in self.spots() if self.at(spot) is None)

    def doubtful(self, *, from_board: bool = True) -> tuple[Doubt, ...]:
        """The heights that are hard to believe, each named with why.

        ``from_board``: they say how high the frets stand on the board. Read from a straight
        reference they lie about whatever was called nothing there, and may be below it.
        """
        return tuple(
            chain.from_iterable(self._doubts(spot, from_board=from_board) for spot in self.spots())
        )

    def without(self, frets: Iterable[int]) -> FretReadings:
        """The same as if these frets had not been read."""
        gone = set(frets)
        return FretReadings(
            tuple(
                tuple(None if fret in gone else height for fret, height in enumerate(line, 1))
                for line in self.lines
            )
        )

    def mirrored(self) -> FretReadings:
        """The same read from the other edge of the board."""
        return FretReadings(self.lines[::-1])

    def _doubts(self, spot: Spot, *, from_board: bool) -> Iterator[Doubt]:
        height = self.at(spot)
        if height is None:
            return
        if from_board and not LOW_MM <= height <= HIGH_MM:
            yield Doubt(
                spot,
                f"Fret {spot.fret} on line {spot.line} is {mm(height)}; a fret stands "
                f"{mm(LOW_MM)} to {mm(HIGH_MM)} high. Read it again.",
            )
            return
        beside = tuple(self._beside(spot))
        if len(beside) < NEIGHBOURS:
            return
        middle = median(beside)
        if abs(height - middle) > DOUBT_MM:
            yield Doubt(
                spot,
                f"Fret {spot.fret} on line {spot.line} is {mm(height)}, those around it about "
                f"{mm(middle.quantize(RESOLUTION_MM))}. Read it again.",
            )

    def _beside(self, spot: Spot) -> Iterator[Decimal]:
        """The heights around a spot: along its line, and of the same fret on the next lines."""
        along = (Spot(fret, spot.line) for fret in range(spot.fret - ALONG, spot.fret + ALONG + 1))
        across = (Spot(spot.fret, spot.line - 1), Spot(spot.fret, spot.line + 1))
        for one in (*along, *across):
            on_board = 1 <= one.fret <= self.frets and 1 <= one.line <= len(self.lines)
            if on_board and one != spot and (height := self.at(one)) is not None:
                yield height


def frets_words(frets: Sequence[int]) -> str:
    """Frets by their numbers; three and more in a row as the first and the last of them.

    >>> frets_words([9]), frets_words([3, 4, 5, 9])
    ('fret 9', 'frets 3–5 and 9')
    """
    runs: list[list[int]] = []
    for fret in sorted(frets):
        if runs and fret == runs[-1][-1] + 1:
            runs[-1].append(fret)
        else:
            runs.append([fret])
    said: list[str] = []
    for run in runs:
        said += [f"{run[0]}\u2013{run[-1]}"] if len(run) > 2 else [str(one) for one in run]
    return f"{'frets' if len(frets) > 1 else 'fret'} {listed(said)}"
