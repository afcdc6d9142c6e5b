"""Which release day the clerk picks for, and when its list closes."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from django.conf import settings
from django.utils.timezone import get_current_timezone

from shop.craft.needed import SHIFT


def day_after(day: date) -> date:
    """The next day the shop works."""
    return _works(day, timedelta(days=1))


def closes(day: date) -> datetime:
    """When the list of a release day closes: the work day before it."""
    before = _works(day, timedelta(days=-1))
    return datetime.combine(before, settings.KITTING_CLOSES, get_current_timezone())


def _works(day: date, step: timedelta) -> date:
    day += step
    while day.weekday() not in SHIFT.days:
        day += step
    return day
