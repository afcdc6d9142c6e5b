"""Which fretted note buzzes on which fret, and what it would be with a thing changed.

Heights are millimetres above the fret plane, the plane through the tops of the frets of a
straight neck; places are millimetres from the nut. A string pressed at fret n is a straight
line from the top of that fret to the saddle. Plucked, its edge swings in a parabola with the
amplitude in the middle; it buzzes where that reaches the top of a higher fret.

The formulas are stated in ``heights``, each for one note; the map does the same for the whole
board at once, and the tests hold it to them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

import numpy as np
from numpy.typing import NDArray

from shop.craft.finding import Finding, stop, warn
from shop.craft.set_up.figures import figure, length

Grid = NDArray[np.float64]

# Common practice, no source.
PASS_MM: Final = 0.05  # over the next fret
STOP_MM: Final = 0.02
NORMAL_MM: Final = (0.8, 0.5)  # amplitude in the middle of a string: bass, treble
HARD_MM: Final = (1.2, 0.8)
NECK_FROM: Final = 1  # relief is read under a line from this fret to the body joint
OCTAVE: Final = 12


class Playing(StrEnum):
    """How hard the strings are plucked."""

    NORMAL = "normal"
    HARD = "hard"

    def amplitudes(self, strings: int) -> tuple[float, ...]:
        """The swing in the middle of each string, from the bass on, in mm."""
        bass, treble = NORMAL_MM if self is Playing.NORMAL else HARD_MM
        steps = max(1, strings - 1)
        return tuple(bass + (treble - bass) * one / steps for one in range(strings))


@dataclass(frozen=True, slots=True)
class Board:
    """A fingerboard with its strings, from the bass string on.

    ``action_mm`` is each string over fret 12 as the frets are planned, ``floor_mm`` its slot
    floor over the fret plane, ``amplitude_mm`` its swing in the middle. ``fret_off_mm`` is
    how much each fret, from fret 1 on, stands above (or, negative, below) the others.
    """

    scale_mm: float
    action_mm: tuple[float, ...]
    floor_mm: tuple[float, ...]
    amplitude_mm: tuple[float, ...]
    relief_mm: float
    fret_off_mm: tuple[float, ...]
    joint_fret: int = 14

    def __post_init__(self) -> None:
        strings = len(self.action_mm)
        if not strings or len(self.floor_mm) != strings or len(self.amplitude_mm) != strings:
            raise ValueError(
                f"Each string has an action, a slot floor and an amplitude, not {strings}, "
                f"{len(self.floor_mm)} and {len(self.amplitude_mm)} of them."
            )
        if self.scale_mm <= 0 or not OCTAVE <= len(self.fret_off_mm) <= 36:
            raise ValueError(f"No board has {len(self.fret_off_mm)} frets on {self.scale_mm} mm.")
        if not NECK_FROM < self.joint_fret <= len(self.fret_off_mm):
            raise ValueError(f"The body joint is at no fret of this board: {self.joint_fret}.")

    @property
    def frets(self) -> int:
        return len(self.fret_off_mm)

    @property
    def strings(self) -> tuple[str, ...]:
        """The names of the strings, from the bass on."""
        return tuple(str(one) for one in range(len(self.action_mm), 0, -1))

    def changed(
        self,
        *,
        action_by_mm: float = 0.0,
        relief_mm: float | None = None,
        fret: int | None = None,
        fret_by_mm: float = 0.0,
    ) -> Board:
        """This board with every action changed by so much, another relief, one fret moved.

        Raises ``ValueError`` for a fret that is not on it.
        """
        off = list(self.fret_off_mm)
        if fret is not None:
            if not 1 <= fret <= self.frets:
                raise ValueError(f"Fret {fret} is not on a board of {self.frets}.")
            off[fret - 1] += fret_by_mm
        return replace(
            self,
            action_mm=tuple(one + action_by_mm for one in self.action_mm),
            relief_mm=self.relief_mm if relief_mm is None else relief_mm,
            fret_off_mm=tuple(off),
        )


class Verdict(StrEnum):
    """How a note sounds, best first."""

    CLEAR = "clear"
    CLOSE = "close"  # it does not reach, but passes the next fret by little
    BUZZ = "buzz"  # it reaches a fret when plucked so hard
    STOP = "stop"  # it lies on the next fret, or all but


@dataclass(frozen=True, slots=True)
class Note:
    """One string at one fret (0 is open), and the higher fret that it comes closest to.

    ``clearance_mm`` is over that fret at rest, ``margin_mm`` what is left when plucked,
    ``next_mm`` the clearance over the very next fret at rest.
    """

    string: str
    fret: int
    over: int
    clearance_mm: float
    margin_mm: float
    next_mm: float
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class BuzzMap:
    """Every note of a board: ``notes[string][fret]``, strings from the bass on."""

    board: Board
    notes: tuple[tuple[Note, ...], ...]

    @property
    def offenders(self) -> tuple[Note, ...]:
        """The first note that buzzes on each string that has one, from the bass on."""
        found = (next(filter(_offends, row), None) for row in self.notes)
        return tuple(one for one in found if one is not None)

    @property
    def closest(self) -> Note:
        """The note with the least left when plucked."""
        return min((one for row in self.notes for one in row), key=lambda one: one.margin_mm)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """A sentence for each offender."""
        return tuple(map(_told, self.offenders))

    @property
    def words(self) -> str:
        """How the board stands, in a sentence."""
        if not self.offenders:
            one = self.closest
            return (
                f"Every note is clear; the closest is string {one.string} at fret {one.fret} "
                f"with {length(one.margin_mm)} left over fret {one.over}."
            )
        count = sum(_offends(one) for row in self.notes for one in row)
        all_of = sum(len(row) for row in self.notes)
        return f"{count} of {all_of} notes buzz."

    def arithmetic(self, one: Note) -> tuple[str, ...]:
        """How one note's clearance and what is left of it were worked out."""
        row = self.board.strings.index(one.string)
        places, tops = _places(self.board), _tops(self.board)
        saddle = float(_saddles(self.board, places)[row])
        start = self.board.floor_mm[row] if one.fret == 0 else float(tops[one.fret])
        at, over = float(places[one.fret]), float(places[one.over])
        scale = self.board.scale_mm
        reach = one.clearance_mm - one.margin_mm
        amplitude = self.board.amplitude_mm[row]
        share = f"({figure(over)} \u2212 {figure(at)})"
        whole = f"({figure(scale)} \u2212 {figure(at)})"
        rest = f"{figure(start)} + ({figure(saddle)}{_less(start)}) × {share}/{whole}"
        bow = (
            f"4 × {figure(amplitude)} × {share} × ({figure(scale)} \u2212 {figure(over)})/{whole}²"
        )
        return (
            f"{rest}{_less(float(tops[one.over]))} = {length(one.clearance_mm)}",
            f"{bow} = {length(reach)}",
            f"{figure(one.clearance_mm)}{_less(reach)} = {length(one.margin_mm)}",
        )


def _less(value: float) -> str:
    """A figure taken away: one below zero is added."""
    return f" + {figure(-value)}" if value < 0 else f" \u2212 {figure(value)}"


def buzz(board: Board) -> BuzzMap:
    """The whole map of a board: each string, open and at every fret but the last."""
    places, tops = _places(board), _tops(board)
    saddles = _saddles(board, places)
    # start: by string and fret pressed; along: by fret pressed and fret passed over
    start = np.broadcast_to(tops, (len(saddles), board.frets + 1)).copy()
    start[:, 0] = board.floor_mm
    run = board.scale_mm - places
    along = (places[None, :] - places[:, None]) / run[:, None]
    bow = 4 * along * (run[None, :] / run[:, None])
    line = start[:, :, None] + (saddles[:, None] - start)[:, :, None] * along
    rest = line - tops
    left = rest - np.asarray(board.amplitude_mm)[:, None, None] * bow
    lower = np.tril(np.ones((board.frets + 1, board.frets + 1), dtype=bool))
    left[:, lower] = np.inf
    over = left[:, :-1].argmin(axis=2)
    return BuzzMap(board, _notes(board, rest, left, over))


def _notes(
    board: Board, rest: Grid, left: Grid, over: NDArray[np.intp]
) -> tuple[tuple[Note, ...], ...]:
    fret = np.arange(board.frets)
    # As plain lists: one look into an array for every note would take longer than the rest.
    nearest = over.tolist()
    passes = np.take_along_axis(rest[:, :-1], over[:, :, None], 2)[:, :, 0].tolist()
    margins = np.take_along_axis(left[:, :-1], over[:, :, None], 2)[:, :, 0].tolist()
    nexts = rest[:, fret, fret + 1].tolist()
    return tuple(
        tuple(
            Note(string, at, *told, _verdict(*told[1:]))
            for at, told in enumerate(
                zip(nearest[row], passes[row], margins[row], nexts[row], strict=True)
            )
        )
        for row, string in enumerate(board.strings)
    )


def _verdict(clearance_mm: float, margin_mm: float, next_mm: float) -> Verdict:
    if min(clearance_mm, next_mm) <= STOP_MM:
        return Verdict.STOP
    if round(margin_mm, 2) < 0:  # a hundredth is the least that anything here is read to
        return Verdict.BUZZ
    return Verdict.CLOSE if next_mm < PASS_MM else Verdict.CLEAR


def _offends(one: Note) -> bool:
    return one.verdict in (Verdict.BUZZ, Verdict.STOP)


def _told(one: Note) -> Finding:
    where = (
        f"String {one.string} open" if one.fret == 0 else f"String {one.string} at fret {one.fret}"
    )
    if one.verdict is Verdict.STOP:
        by_next = one.next_mm <= STOP_MM
        over = one.fret + 1 if by_next else one.over
        least = one.next_mm if by_next else one.clearance_mm
        return stop(
            "buzz",
            f"{where}: {length(least)} over fret {over} at rest, no more than {length(STOP_MM)}.",
            f"Look at fret {over}, and at the slot of the nut, before anything is lowered."
            if one.fret == 0
            else f"Look at frets {one.fret} and {over} before anything is lowered.",
        )
    return warn(
        "buzz",
        f"{where}: plucked, it reaches {length(-one.margin_mm)} into fret {one.over}.",
        f"Look at fret {one.over}; then try more action or more relief.",
    )


def _places(board: Board) -> Grid:
    """The nut and every fret, from the nut."""
    steps = np.arange(board.frets + 1)
    return np.asarray(board.scale_mm * (1 - 2 ** (-steps / 12)))


def _sags(board: Board, places: Grid) -> Grid:
    first, last = places[NECK_FROM], places[board.joint_fret]
    inside = np.maximum(0.0, (places - first) * (last - places))
    return np.asarray(4 * board.relief_mm * inside / (last - first) ** 2)


def _tops(board: Board) -> Grid:
    """The top of every fret over the plane; the nut's own place is filled by each string."""
    tops = -_sags(board, _places(board))
    tops[1:] += board.fret_off_mm
    return tops


def _saddles(board: Board, places: Grid) -> Grid:
    sag_12 = _sags(board, places)[OCTAVE]
    return np.asarray(2 * (np.asarray(board.action_mm) - sag_12) - np.asarray(board.floor_mm))
