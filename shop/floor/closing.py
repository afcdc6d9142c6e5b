"""How the clerk's trays were closed on a day: how many, and how many at the first try."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from django.db.models import Q
from django.utils.timezone import get_current_timezone

from shop.floor.deeds.trays import TrayClosed
from shop.floor.models import Entry


@dataclass(frozen=True, slots=True)
class FirstTries:
    """The trays of a day: ``right`` of those ``tried`` for the first time closed at once."""

    closed: int
    tried: int
    right: int

    @property
    def percent(self) -> int | None:
        """Right at the first try, in per cent; nothing while none was tried."""
        return round(100 * self.right / self.tried) if self.tried else None


def closed_first_time(day: date) -> FirstTries:
    """What became of the tries to close a tray on this day of the shop's calendar, in one
    statement. A tray tried before that day had its first try then."""
    begins = datetime.combine(day, time(), get_current_timezone())
    ends = datetime.combine(day + timedelta(days=1), time(), get_current_timezone())
    of_today = Q(instrument__tray__closed_at__gte=begins, instrument__tray__closed_at__lt=ends)
    rows = Entry.objects.filter(
        of_today | ~Q(instrument__tray__state="closed"), kind=TrayClosed.kind, at__lt=ends
    ).order_by("id")
    closed: set[int | None] = set()
    first: dict[int | None, bool | None] = {}
    for tray, outcome, at in rows.values_list("instrument__tray_id", "outcome", "at"):
        today, done = at >= begins, outcome == "recorded"
        first.setdefault(tray, done if today else None)
        if today and done:
            closed.add(tray)
    tried = [done for done in first.values() if done is not None]
    return FirstTries(len(closed), len(tried), sum(tried))
