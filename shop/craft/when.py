"""Moments and spans in words: weekday and clock within a week, the ISO date beyond.

Moments are aware. They are moved to UTC before any arithmetic, because Python subtracts
and compares two moments of one zone by their wall clocks, which lie when the clocks change.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from shop.craft.words import THIN

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
WEEK_DAYS = 7


def in_utc(moment: datetime) -> datetime:
    """The moment in UTC, where differences are elapsed time.

    Raises ``ValueError`` for a moment without a time zone.
    """
    if moment.utcoffset() is None:
        raise ValueError(
            f"The moment {moment.isoformat()} has no time zone: give one, such as UTC."
        )
    return moment.astimezone(UTC)


def when_words(moment: datetime, now: datetime) -> str:
    """The moment on the clock of ``now``: "Tue 14:10", or "2031-03-14" a week or more away.

    A day exactly a week off bears the same name as today, so it is told by its date.
    Raises ``ValueError`` for a moment without a time zone.
    """
    in_utc(now)
    local = in_utc(moment).astimezone(now.tzinfo)
    if abs((local.date() - now.date()).days) < WEEK_DAYS:
        return f"{WEEKDAYS[local.weekday()]} {local:%H:%M}"
    return local.date().isoformat()


def on_the_minute(moment: datetime) -> datetime:
    """The moment, or the next full minute: what is told as ready at 14:10 is ready then."""
    whole = moment.replace(second=0, microsecond=0)
    return whole if whole == moment else whole + timedelta(minutes=1)


def span_words(span: timedelta) -> str:
    """How long in hours and minutes, rounded up to the minute.

    >>> span_words(timedelta(hours=3, minutes=9, seconds=1)).replace(THIN, " ")
    '3 h 10 min'
    """
    hours, rest = divmod(-(-span // timedelta(minutes=1)), 60)
    parts = [f"{hours}{THIN}h"] if hours else []
    if rest or not hours:
        parts.append(f"{rest}{THIN}min")
    return " ".join(parts)
