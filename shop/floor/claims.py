"""What was recorded of which the badge or the moment was only claimed, for the lead to look at."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from shop.floor.models import Entry
from shop.floor.telling import Names, told

MOST = 50  # rows told; of the others how many


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


def claims(since: datetime) -> tuple[list[Claim], int]:
    """What came since then, whenever it was tapped, and was recorded with something only
    claimed: the last to come first, and how many more there are. One statement by the index
    of such rows, and another where there are more."""
    rows = Entry.objects.filter(received_at__gte=since, outcome="recorded").exclude(unproven="")
    found = list(rows.select_related("corrects").order_by("-received_at", "-pk")[: MOST + 1])
    more = rows.count() - MOST if len(found) > MOST else 0
    shown = [
        Claim(row.subject, told(row, Names()).words, row.unproven, row.who, row.sent_by, row.at)
        for row in found[:MOST]
    ]
    return shown, more
