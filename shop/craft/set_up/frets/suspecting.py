"""The frets that are to be seated anew before anything is levelled.

One low fret pulls the whole surface down: all the others would be filed to it. One high fret
is often only sprung. Each is known by the plan made without it. To solve a board again takes
longer than all the rest, so only those frets are tried that the surface rests on and that can
lie low enough to matter, all of them in one call.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import combinations, groupby
from statistics import median
from typing import Final

from shop.craft.finding import Finding, stop, warn
from shop.craft.set_up.figures import rounded
from shop.craft.set_up.frets.planning import EASY_MM, MOST_MM, NOTHING, Plan, plan, planned
from shop.craft.set_up.frets.reading import FretReadings, frets_words
from shop.craft.set_up.frets.solving import Point, Surface, clean, highest_each
from shop.craft.set_up.frets.targets import Board, points
from shop.craft.words import mm

# A fret that lies or stands so far off by itself is seated anew, not levelled; and no more of
# them than so many are looked for, beyond which the board is the matter. Common practice.
ALONE_MM: Final = EASY_MM
MOST_SUSPECTS: Final = 4
RUN: Final = 2  # low frets side by side; of more the board is the matter
SEAT: Final = "fret seat"
_RUNS_FROM: Final = 5  # heights on a line, for a run to be seen
_TOUCHES_MM: Final = 1e-6  # nearer than any gauge reads: there the surface rests on a fret


@dataclass(frozen=True, slots=True)
class Suspect:
    """A fret that is off by itself: how far it lies below, or stands above, what the others
    come to without it."""

    fret: int
    off_mm: Decimal


@dataclass(frozen=True, slots=True)
class Advice:
    """What to do with these heights: the plan as they are, and the plan without the frets that
    are to be seated anew (the same where there are none).

    ``findings`` say it worst first, ``told`` is what to do now: seat frets, or file.
    """

    plan: Plan
    low: tuple[Suspect, ...]
    high: tuple[Suspect, ...]
    without: Plan
    findings: tuple[Finding, ...]

    @property
    def suspects(self) -> tuple[Suspect, ...]:
        return (*self.low, *self.high)

    @property
    def told(self) -> tuple[str, ...]:
        if self.suspects:
            return tuple(one.words for one in self.findings if one.rule == SEAT)
        return self.plan.told


def advise(readings: FretReadings, board: Board) -> Advice:
    """The plan for these heights, with and without each fret that spoils it."""
    made = plan(readings, board)
    if not made.told:
        return Advice(made, (), (), made, made.findings)
    asked = _Asked(made)
    low = _low(asked)
    without = asked.plan(one.fret for one in low) if low else made
    high = tuple(_high(without))
    said = [*_said_low(made, without, low, high), *map(_said_high, high)]
    return Advice(made, low, high, without, (*said, *made.findings))


@dataclass(frozen=True, slots=True)
class _Answer:
    """What a board comes to without some of its frets: those the surface rests on, how far each
    that was left out lies below it, and the most that comes off."""

    rests: tuple[int, ...]
    below: Mapping[int, Decimal]
    most: Decimal


class _Asked:
    """A board that is asked about again and again without some of its frets."""

    def __init__(self, made: Plan) -> None:
        self._made = made
        self._places = made.board.places(made.readings.frets)
        self._lines = points(made.readings, made.board)
        self._surfaces: dict[frozenset[int], Surface] = {frozenset(): made.straights}

    def outlying(self) -> tuple[int, ...]:
        """The frets that lie far under the run of all on some line, the lowest first and no more
        than are looked for. The run is the straight of the median slope between any two frets
        and the median height above it (Theil 1950, Sen 1968): so long as not 29 in 100 of the
        frets are off, they do not move it far."""
        below: dict[int, float] = {}
        for line in self._lines:
            if len(line) < _RUNS_FROM:
                continue
            slope = median((g1 - g0) / (x1 - x0) for (x0, g0), (x1, g1) in combinations(line, 2))
            level = median(height - slope * place for place, height in line)
            for place, height in line:
                fret = self._places.index(place) + 1
                below[fret] = max(below.get(fret, 0.0), level + slope * place - height)
        low = sorted(fret for fret, off in below.items() if rounded(off) > ALONE_MM)
        runs = groupby(enumerate(low), key=lambda one: one[1] - one[0])
        alone = [
            fret
            for _, run in runs
            if len(frets := [two for _, two in run]) <= RUN
            for fret in frets
        ]
        return tuple(sorted(alone, key=lambda fret: -below[fret])[:MOST_SUSPECTS])

    def may_lie(self, fret: int, off_mm: Decimal, before: Iterable[int]) -> bool:
        """Whether this fret can lie more than so much below a surface made without it and those
        ``before``: a straight under the frets on either side is under the chord from one to
        the other. Above the first and the last is no chord, and they may lie anyhow low."""
        place, gone = self._places[fret - 1], self._gone(before)
        for line in self._lines:
            height = dict(line).get(place)
            if height is None:
                continue
            left = [one for one in line if one[0] < place and one[0] not in gone]
            right = [one for one in line if one[0] > place and one[0] not in gone]
            if not left or not right:
                return True
            (x0, g0), (x1, g1) = left[-1], right[0]
            chord = g0 + (g1 - g0) * (place - x0) / (x1 - x0)
            if rounded(clean(chord - height)) > off_mm:
                return True
        return False

    def without(self, *several: Iterable[int]) -> list[_Answer]:
        """What is so without the frets of each, solved together what was not solved before."""
        keys = [frozenset(frets) for frets in several]
        new = [key for key in dict.fromkeys(keys) if key not in self._surfaces]
        if new:
            boards = [self._kept(key) for key in new]
            self._surfaces.update(zip(new, highest_each(boards), strict=True))
        return [self._answer(key) for key in keys]

    def plan(self, without: Iterable[int]) -> Plan:
        """The plan without these frets, for which the board was solved before."""
        frets = frozenset(without)
        return planned(self._made.readings.without(frets), self._made.board, self._surfaces[frets])

    def _gone(self, frets: Iterable[int]) -> set[float]:
        return {self._places[fret - 1] for fret in frets}

    def _kept(self, frets: Iterable[int]) -> list[list[Point]]:
        gone = self._gone(frets)
        return [[one for one in line if one[0] not in gone] for line in self._lines]

    def _answer(self, frets: frozenset[int]) -> _Answer:
        gone = self._gone(frets)
        touched: set[float] = set()
        below: dict[float, float] = dict.fromkeys(gone, 0.0)
        most = 0.0
        for line, one in zip(self._lines, self._surfaces[frets], strict=True):
            if one is None:
                continue
            for place, height in line:
                over = height - one.height_mm(place)
                if place in gone:
                    below[place] = max(below[place], -over)
                    continue
                most = max(most, over)
                if over < _TOUCHES_MM:
                    touched.add(place)
        numbered = tuple(enumerate(self._places, 1))
        return _Answer(
            tuple(fret for fret, place in numbered if place in touched),
            {fret: rounded(clean(below[place])) for fret, place in numbered if place in gone},
            rounded(clean(most)),
        )


def _low(asked: _Asked) -> tuple[Suspect, ...]:
    """The low frets: those that lie far under the run of the others, if the plan is better
    without them; then one after another whatever is low by the plan itself."""
    found: dict[int, Decimal] = {}
    if outlying := asked.outlying():
        all_others, others = asked.without((), outlying)
        lowest = [fret for fret in outlying if others.below[fret] > ALONE_MM]
        (others,) = asked.without(lowest)
        if others.most < all_others.most:
            found = {fret: others.below[fret] for fret in lowest}
    while len(found) < MOST_SUSPECTS:
        more = _lowest(asked, tuple(found))
        if not more:
            break
        found |= more
    return tuple(Suspect(fret, off) for fret, off in sorted(found.items()))


def _lowest(asked: _Asked, before: Sequence[int]) -> dict[int, Decimal]:
    """Of the frets the surface rests on without those ``before``, the one that lies lowest once
    it is left out too, if it is low enough or is what forces too much off the others."""
    (now,) = asked.without(before)
    if not now.most:
        return {}
    least = NOTHING if now.most > MOST_MM else ALONE_MM
    tried = [fret for fret in now.rests if asked.may_lie(fret, least, before)]
    answers = asked.without(*((*before, fret) for fret in tried))
    best: dict[int, Decimal] = {}
    for fret, then in zip(tried, answers, strict=True):
        off = then.below[fret]
        forces = now.most > MOST_MM >= then.most
        if (
            then.most < now.most
            and (off > ALONE_MM or forces)
            and off > max(best.values(), default=NOTHING)
        ):
            best = {fret: off}
    return best


def _high(made: Plan) -> Iterator[Suspect]:
    """The frets that stand high by themselves: what comes off them, and off none beside them."""
    taken = made.by_fret
    for fret, off in taken.items():
        beside = max(taken.get(fret - 1, NOTHING), taken.get(fret + 1, NOTHING))
        if off - beside > ALONE_MM:
            yield Suspect(fret, off)


def _said_low(
    made: Plan, without: Plan, low: Sequence[Suspect], high: Sequence[Suspect]
) -> Iterator[Finding]:
    if not low:
        return
    others = {one.fret for one in high}
    before, after = (_most(one, others) for one in (made, without))
    frets = frets_words([one.fret for one in low])
    if len(low) == 1:
        words = (
            f"Reseat {frets}, do not level: without it {mm(after)} comes off at most, "
            f"with it {mm(before)}."
        )
        then = f"It lies {mm(low[0].off_mm)} low. Lift it, clean the slot, seat it, read it again."
    else:
        words = (
            f"Reseat {frets}, do not level: without them {mm(after)} comes off at most, "
            f"with them {mm(before)}."
        )
        then = "Lift each, clean the slot, seat it, read it again."
    yield stop(SEAT, words, then=then, call="")


def _most(made: Plan, but: set[int]) -> Decimal:
    return max((taken for fret, taken in made.by_fret.items() if fret not in but), default=NOTHING)


def _said_high(one: Suspect) -> Finding:
    return warn(
        SEAT,
        f"Fret {one.fret} alone stands {mm(one.off_mm)} high: press it down before you file it.",
        then="If it is sprung, seat it and read it again. If it is seated, file it first.",
    )
