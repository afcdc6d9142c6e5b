"""Yields by week, by station and by spec: plain sums of what was counted.

Weeks are those of ISO 8601: from Monday, the first is the one with the year's first Thursday.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date

from shop.craft.quality.yields import ENOUGH, Yield


@dataclass(frozen=True, slots=True)
class Tally:
    """How many of those started on a day passed at once, at a station, of a spec."""

    day: date
    station: str
    spec: str
    passed: int
    started: int


def week(day: date) -> str:
    """The week of a day as ISO 8601 writes it.

    >>> week(date(2031, 3, 3)), week(date(2027, 1, 1))
    ('2031-W10', '2026-W53')
    """
    year, number, _ = day.isocalendar()
    return f"{year}-W{number:02}"


def by_week(tallies: Iterable[Tally]) -> dict[str, Yield]:
    """The yield of each week, the oldest first."""
    return _by(tallies, lambda one: week(one.day))


def by_station(tallies: Iterable[Tally]) -> dict[str, Yield]:
    """The yield of each station, in the order of their codes."""
    return _by(tallies, lambda one: one.station)


def by_spec(tallies: Iterable[Tally]) -> dict[str, Yield]:
    """The yield of each spec, in the order of their keys."""
    return _by(tallies, lambda one: one.spec)


def too_few(units: int) -> bool:
    """Whether a figure of so many units is only a first guess.

    >>> too_few(19), too_few(20)
    (True, False)
    """
    return units < ENOUGH


def _by(tallies: Iterable[Tally], what: Callable[[Tally], str]) -> dict[str, Yield]:
    passed: dict[str, int] = {}
    started: dict[str, int] = {}
    for one in tallies:
        key = what(one)
        passed[key] = passed.get(key, 0) + one.passed
        started[key] = started.get(key, 0) + one.started
    return {key: Yield(passed[key], started[key]) for key in sorted(started)}
