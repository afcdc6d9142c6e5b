"""What comes off each fret so that all of them lie in the target surface, least in sum.

Removal is judged to the hundredth the heights are read to, so that what is told and what is
judged are the same figure.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from shop.craft.finding import Basis, Finding, Severity, stop, warn, worst_first
from shop.craft.formula import COMMON
from shop.craft.set_up.figures import length, rounded
from shop.craft.set_up.frets.reading import FretReadings, Spot, frets_words
from shop.craft.set_up.frets.solving import Surface, clean, highest
from shop.craft.set_up.frets.targets import Board, Level, levels, points, remaining, removal
from shop.craft.words import mm

# All common practice, no source.
EASY_MM: Final = Decimal("0.10")  # that much comes off without a thought
MOST_MM: Final = Decimal("0.15")  # beyond it a fret is reseated or changed instead
CAUTION: Final = (
    "Tape the board and cover the top. Filings are metal: brush or vacuum them off, do not blow; "
    "wear eye protection."
)
_LEAST_LINES: Final = 2  # of which each a straight can lie in
SAID: Final = 5  # sentences of what comes off; the table says the rest
NOTHING: Final = Decimal("0.00")


@dataclass(frozen=True, slots=True)
class Plan:
    """What is to be done to the frets that were read.

    ``targets_mm`` stand wherever a line has a straight, read there or not; ``removals_mm`` where
    a height was read, rounded to a hundredth. ``findings`` judge it, worst first; ``told`` says
    what comes off, the most first, and what stays.
    """

    readings: FretReadings
    board: Board
    straights: Surface
    targets_mm: Level
    removals_mm: tuple[tuple[Decimal | None, ...], ...]
    findings: tuple[Finding, ...]
    told: tuple[str, ...]

    @property
    def most_mm(self) -> Decimal:
        """The most that comes off anywhere."""
        return max(self.by_fret.values(), default=NOTHING)

    @property
    def sum_mm(self) -> float:
        """All targets where a height was read, added up: what the plan makes greatest."""
        return sum(
            target_mm
            for targets, heights in zip(self.targets_mm, self.readings.lines, strict=True)
            for target_mm, height in zip(targets, heights, strict=True)
            if target_mm is not None and height is not None
        )

    @property
    def by_fret(self) -> dict[int, Decimal]:
        """The most that comes off each fret that was read."""
        found: dict[int, Decimal] = {}
        for line in self.removals_mm:
            for fret, taken in enumerate(line, 1):
                if taken is not None:
                    found[fret] = max(taken, found.get(fret, taken))
        return dict(sorted(found.items()))

    @property
    def left_by_fret(self) -> dict[int, Decimal]:
        """The least that is left of each fret that was read, above the board."""
        found: dict[int, Decimal] = {}
        for spot, taken in _spots(self):
            left = _left(self, spot, taken)
            found[spot.fret] = min(left, found.get(spot.fret, left))
        return dict(sorted(found.items()))

    @property
    def severity(self) -> Severity | None:
        """The worst there is to say of it; nothing where it is easily done."""
        return self.findings[0].severity if self.findings else None


def plan(readings: FretReadings, board: Board) -> Plan:
    """The plan for these heights, every one of them believed."""
    return planned(readings, board, highest(points(readings, board)))


def planned(readings: FretReadings, board: Board, straights: Surface) -> Plan:
    """The plan for these heights, whose surface is solved already."""
    targets = levels(straights, board, readings.frets)
    removals = tuple(
        tuple(
            None if height is None or to is None else rounded(clean(removal(float(height), to)))
            for height, to in zip(heights, line, strict=True)
        )
        for heights, line in zip(readings.lines, targets, strict=True)
    )
    made = Plan(readings, board, straights, targets, removals, (), ())
    if len([one for one in straights if one is not None]) < _LEAST_LINES:
        return Plan(readings, board, straights, targets, removals, (_too_few(readings),), ())
    findings = worst_first([*_too_much(made), *_too_low(made)])
    return Plan(readings, board, straights, targets, removals, findings, _told(made))


def _told(made: Plan) -> tuple[str, ...]:
    groups = defaultdict(list)
    for fret, taken in made.by_fret.items():
        groups[taken].append(fret)
    stays = groups.pop(NOTHING, [])
    most_first = sorted(groups, reverse=True)
    said = [f"Take {mm(taken)} off {frets_words(groups[taken])}." for taken in most_first[:SAID]]
    if len(most_first) > SAID:
        rest = [fret for taken in most_first[SAID:] for fret in groups[taken]]
        said.append(f"Take less off {frets_words(rest)}: the table says how much.")
    if not said:
        return ("Nothing comes off: every fret that was read lies in the plane.",)
    if stays:
        said.append(
            f"Leave {frets_words(stays)} as they are."
            if len(stays) > 1
            else f"Leave fret {stays[0]} as it is."
        )
    return tuple(said)


def _too_few(readings: FretReadings) -> Finding:
    count = len(tuple(readings.spots())) - len(readings.missing)
    if count == 0:
        words = "No heights are read: too few for a plan."
    elif count == 1:
        words = "1 height is read: too few for a plan."
    else:
        words = f"{count} heights are read: too few for a plan."
    then = "Read at least two frets on each of two lines; better every fret on every line."
    return stop("fret heights", words, then, call="")


def _too_much(made: Plan) -> tuple[Finding, ...]:
    over = {fret: taken for fret, taken in made.by_fret.items() if taken > EASY_MM}
    if not over:
        return ()
    most = made.most_mm
    spot = max(_spots(made), key=lambda one: one[1])[0]
    height, to = made.readings.at(spot), made.targets_mm[spot.line - 1][spot.fret - 1]
    basis = Basis(
        "What comes off each fret",
        ((f"Height read at {spot.words}", mm(height or NOTHING)), ("Target", length(to or 0.0))),
        f"{length(float(height or 0))} \u2212 {length(to or 0.0)} = {mm(most)}",
        f"easily {mm(EASY_MM)}, at most {mm(MOST_MM)}",
        COMMON,
    )
    if most > MOST_MM:
        return (
            stop(
                "fret removal",
                f"{mm(most)} would come off fret {spot.fret}, at most {mm(MOST_MM)} may.",
                then="Reseat or change the frets that force it before you level.",
                basis=basis,
            ),
        )
    return (
        warn(
            "fret removal",
            f"{mm(most)} would come off fret {spot.fret}, up to {mm(EASY_MM)} is usual.",
            then="Look for a fret to reseat first; else level slowly and read again.",
            basis=basis,
        ),
    )


def _too_low(made: Plan) -> tuple[Finding, ...]:
    left = {spot: _left(made, spot, taken) for spot, taken in _spots(made)}
    spot = min(left, key=lambda one: left[one])
    least = made.board.least_mm
    if left[spot] >= least:
        return ()
    basis = Basis(
        "What is left of the frets",
        ((f"Left at {spot.words}", mm(left[spot])),),
        f"{mm(left[spot])} is less than {mm(least)}",
        f"at least {mm(least)} in repair"
        if made.board.repair
        else f"at least {mm(least)} in new work",
        COMMON,
    )
    low = sorted({one.fret for one, height in left.items() if height < least})
    return (
        stop(
            "fret height",
            f"{mm(left[spot])} would be left of fret {spot.fret}, "
            f"at least {mm(least)} has to stay.",
            then=f"Change {frets_words(low)} before you level.",
            basis=basis,
        ),
    )


def _left(made: Plan, spot: Spot, taken: Decimal) -> Decimal:
    fret_mm = made.board.fret_mm
    height = fret_mm if fret_mm is not None else made.readings.at(spot) or NOTHING
    return rounded(remaining(float(height), float(taken)))


def _spots(made: Plan) -> list[tuple[Spot, Decimal]]:
    """Every spot that was read, with what comes off there."""
    return [
        (Spot(fret, line), taken)
        for line, row in enumerate(made.removals_mm, 1)
        for fret, taken in enumerate(row, 1)
        if taken is not None
    ]
