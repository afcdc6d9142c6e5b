"""Counting bins: how often, and how far off the figures a count may be.

Dear or scarce items are counted often and held close, cheap ones seldom and loosely; a dear
set of machines is right or wrong. Days, tolerances and the goal: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from shop.craft.size import plain
from shop.craft.words import THIN

EVERY_DAYS: Final = {"A": 14, "B": 60, "C": 180}
TOLERANCE_PCT: Final = {"A": Decimal(2), "B": Decimal(3), "C": Decimal(5)}
DEAR_SETS_PCT: Final = Decimal(0)  # sets of machines of class A
GOAL_PCT: Final = Decimal(97)  # of the lines counted are within their tolerance
TENTH: Final = Decimal("0.1")


@dataclass(frozen=True, slots=True)
class CountRule:
    """How one item is counted: days from one count to the next, tolerance in per cent."""

    every_days: int
    tolerance_pct: Decimal

    def due_on(self, last: date | None) -> date | None:
        """The day its next count is due; ``None`` where it was never counted: at once."""
        return None if last is None else last + timedelta(days=self.every_days)

    def is_due(self, last: date | None, today: date) -> bool:
        due_on = self.due_on(last)
        return due_on is None or due_on <= today


def rule(
    cls: str, tuners: bool, every_days: int | None = None, tolerance_pct: Decimal | None = None
) -> CountRule:
    """How an item of class A, B or C is counted; what is told of the item itself goes first.

    >>> rule("A", tuners=True).tolerance_pct, rule("A", tuners=False).tolerance_pct
    (Decimal('0'), Decimal('2'))
    """
    usual = DEAR_SETS_PCT if cls == "A" and tuners else TOLERANCE_PCT[cls]
    return CountRule(
        EVERY_DAYS[cls] if every_days is None else every_days,
        usual if tolerance_pct is None else tolerance_pct,
    )


@dataclass(frozen=True, slots=True)
class CountJudged:
    """A count against the figures.

    ``pct``: the difference in per cent of the figures, to one decimal; ``None`` where the
    figures are 0 and something lies there. ``within`` is judged before it is rounded.
    """

    expected: int
    counted: int
    tolerance_pct: Decimal
    difference: int
    pct: Decimal | None
    within: bool

    @property
    def words(self) -> str:
        """How far off, and what is allowed: "-7.5 %, beyond 2 %"."""
        allowed = f"{plain(self.tolerance_pct)}{THIN}%"
        if self.pct is None:
            return f"{self.difference} more than none, beyond {allowed}"
        sign = "+" if self.difference > 0 else "\u2212" if self.difference < 0 else ""
        off = f"{sign}{abs(self.pct)}{THIN}%"
        return f"{off}, {'within' if self.within else 'beyond'} {allowed}"


def judge(expected: int, counted: int, tolerance_pct: Decimal) -> CountJudged:
    """Judge a count. Raises ``ValueError`` where fewer than none are expected or counted.

    >>> one = judge(40, 37, Decimal(2))
    >>> one.difference, one.pct, one.within
    (-3, Decimal('-7.5'), False)
    """
    if expected < 0 or counted < 0:
        raise ValueError(f"{min(expected, counted)} pieces cannot lie in a bin.")
    off = counted - expected
    share = Decimal(100 * off) / expected if expected else None
    return CountJudged(
        expected=expected,
        counted=counted,
        tolerance_pct=tolerance_pct,
        difference=off,
        pct=Decimal("0.0") if not off else _to_a_tenth(share),
        within=100 * abs(off) <= tolerance_pct * expected,
    )


def _to_a_tenth(share: Decimal | None) -> Decimal | None:
    return None if share is None else share.quantize(TENTH, ROUND_HALF_UP)


@dataclass(frozen=True, slots=True)
class Accuracy:
    """How many of the lines counted were within their tolerance."""

    within: int
    lines: int

    @property
    def pct(self) -> Decimal | None:
        """In per cent, to one decimal; nothing before a line is counted."""
        return _to_a_tenth(Decimal(100 * self.within) / self.lines) if self.lines else None

    @property
    def reached(self) -> bool:
        """Whether the goal is reached, judged before it is rounded."""
        return 100 * self.within >= GOAL_PCT * self.lines
