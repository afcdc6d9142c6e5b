"""The measuring tools of the demo workshop. All of them and their figures are invented."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from decimal import Decimal
from typing import Final

from shop.floor.door import GaugeChecked, GaugeKept

# Name, what it is, one step of it in mm, days from check to check, days since the last one,
# and how far it was off then in mm. The room sensor reads no length and is overdue.
GAUGES: Final = (
    ("G-01", "feeler set", "0.01", 180, 40, "0.00"),
    ("G-02", "fret height dial", "0.01", 90, 12, "-0.01"),
    ("G-03", "action ruler", "0.05", 180, 33, "0.00"),
    ("G-04", "nut depth dial", "0.01", 90, 80, "0.01"),
    ("G-05", "caliper", "0.01", 180, 61, "0.01"),
    ("G-06", "room sensor", None, 90, 121, None),
)


def deeds(today: date) -> Iterator[GaugeKept | GaugeChecked]:
    """Each gauge put on the list, and its last check."""
    for name, words, finest, interval, ago, off in GAUGES:
        yield GaugeKept(name, words, Decimal(finest) if finest else None, interval)
        yield GaugeChecked(
            name,
            today - timedelta(days=ago),
            passed=True,
            deviation_mm=Decimal(off) if off else None,
        )
