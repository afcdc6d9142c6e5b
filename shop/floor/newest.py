"""Has anything changed that a list of the floor shows? In one statement: it is asked often."""

from __future__ import annotations

from datetime import datetime

from django.db.models import Count, Max, Subquery, Sum

from shop.floor.models import Entry, Instrument


def mark(at: datetime) -> str:
    """A mark that is another one as soon as the lists of open instruments may say something else.

    It goes by the journal's newest row, by what lies in their trays and by their sheets. What
    it does not look at (deliveries, the name of a station, a row that was written by a slower
    transaction) shows with the next minute: clocks say something else then, so the minute of
    ``at`` is in it.
    """
    newest = Entry.objects.order_by("-pk").values("pk")[:1]
    found = Instrument.objects.filter(finished_at__isnull=True).aggregate(
        row=Max(Subquery(newest)),
        many=Count("pk"),
        trays=Sum("tray__version"),
        sheets=Sum("revision__version"),
    )
    return "-".join([*(str(one) for one in found.values()), f"{at:%Y%m%d%H%M}"])
