"""A measuring tool as it stands: what it is, when it was checked last, and until when that holds.

A tool that was not checked in time, or failed, still reads: its values are taken and say so.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Final

from shop.craft.finding import Finding, warn
from shop.craft.measuring.checks import Due, Standing, due
from shop.craft.words import several

RULE: Final = "gauge"  # of what is found about the tool itself, and of nothing that it measured


@dataclass(frozen=True, slots=True)
class Tool:
    """A gauge, ``name`` as it is called ("G-03"), ``words`` what it is ("action ruler").

    ``resolution_mm`` is ``None`` where it reads no length. ``checked_on``, ``passed`` and
    ``deviation_mm`` are of its last check; ``checked_on`` is ``None`` before the first one.
    """

    name: str
    words: str
    code: str
    interval_days: int
    resolution_mm: Decimal | None = None
    checked_on: date | None = None
    passed: bool = False
    deviation_mm: Decimal | None = None
    retired: bool = False

    @property
    def called(self) -> str:
        return f"{self.name} {self.words}"

    def due(self, on: date) -> Due:
        """How its check stands on that day."""
        return due(self.checked_on, self.interval_days, on, passed=self.passed)

    def overdue(self, on: date) -> bool:
        """Whether no check of it holds on that day.

        >>> feeler = Tool("G-01", "feeler set", "", 90, checked_on=date(2031, 1, 1), passed=True)
        >>> feeler.overdue(date(2031, 4, 1)), feeler.overdue(date(2031, 4, 2))
        (False, True)
        """
        return not self.due(on).believed

    def standing(self, on: date) -> str:
        """How it stands on that day, as it follows its name.

        >>> Tool("G-01", "feeler set", "", 90).standing(date(2031, 1, 1))
        'never checked'
        """
        found = self.due(on)
        if found.standing is Standing.NEVER:
            return "never checked"
        if found.standing is Standing.FAILED:
            return f"failed its check on {self.checked_on}"
        if found.standing is Standing.OVERDUE:
            return f"overdue since {found.until}"
        return f"checked until {found.until}"

    def findings(self, on: date) -> tuple[Finding, ...]:
        """What is to be said of values that it read on that day; nothing where all is well."""
        words = self._against(on)
        if not words:
            return ()
        then = "The values stand and say so. Have it checked at the desk, or take another one."
        return (warn(RULE, words, then, call="lead"),)

    def _against(self, on: date) -> str:
        if self.retired:
            return f"{self.called} was put away: nobody checks it any more."
        found = self.due(on)
        if found.standing is Standing.NEVER:
            return f"{self.called} was never checked."
        if found.standing is Standing.FAILED:
            return f"{self.called} failed its check on {self.checked_on}."
        if found.standing is Standing.OVERDUE and found.days is not None:
            days = several(-found.days, "day")
            return f"{self.called} was to be checked by {found.until}: {days} overdue."
        return ""
