"""What was recorded of which the badge or the moment was only claimed, for the lead to look at."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from shop.floor.models import Entry
from shop.floor.telling import Names, told

MOST = 50  # rows


@dataclass(frozen=True, slots=True)
class Claim:
    """One row of the journal: what was done, as the history tells it, and what of it is only
    claimed. ``since`` is the moment it counts from."""

    serial: str
    words: str
    unproven: str
    by: str
    sent_by: str
    since: datetime


def claims(since: datetime) -> list[Claim]:
    """What was recorded since then with something only claimed, the newest first; one
    statement, by the index of such rows."""
    rows = Entry.objects.filter(at__gte=since, outcome="recorded").exclude(unproven="")
    return [
        Claim(row.subject, told(row, Names()).words, row.unproven, row.who, row.sent_by, row.at)
        for row in rows.select_related("corrects").order_by("-at")[:MOST]
    ]
