"""When to order again, and how much.

An item is ordered once what is free and on order falls to its reorder point: what is wanted
while an order is under way, and a safety stock for more being wanted, or the order being
late. Demand per day and lead times are normally distributed and independent of one another;
a day is a calendar day throughout, in demand, lead time and review alike.

W. J. Stevenson, Operations Management, 14th ed., ch. 12, "Determining when to reorder".
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil, sqrt
from statistics import NormalDist, fmean, stdev
from typing import Final

from shop.craft.words import THIN, several

LOOK_BACK_DAYS: Final = 60  # so far back the demand is looked at; common practice
REVIEW_DAYS: Final = 7  # the list is gone through once a week; common practice
CLOSE: Final = 1e-9  # below this, two figures differ by rounding alone


@dataclass(frozen=True, slots=True)
class Demand:
    """Pieces wanted a calendar day: mean and standard deviation."""

    mean: float
    sd: float


@dataclass(frozen=True, slots=True)
class Lead:
    """Calendar days from order to receipt, mean and deviation, and the chance in per cent
    that nothing is short meanwhile."""

    days: float
    sd_days: float
    service_pct: float


@dataclass(frozen=True, slots=True)
class Point:
    """A reorder point and what it is made of, in pieces.

    ``reckoned`` is what the formula says; ``at`` is the whole number to order at, ``least``
    where that is more.
    """

    demand: Demand
    lead: Lead
    least: int
    z: float
    safety: float
    reckoned: float
    at: int

    @property
    def workings(self) -> tuple[str, ...]:
        """The formula with its numbers put in, line by line."""
        days, sd_days = f"{self.lead.days:g}", f"{self.lead.sd_days:g}"
        mean, sd = f"{self.demand.mean:.3f}", f"{self.demand.sd:.3f}"
        spread = f"√({days} × {sd}² + {mean}² × {sd_days}²)"
        return (
            f"Wanted a day: {mean}, deviation {sd}, over {LOOK_BACK_DAYS} days",
            f"Lead time: {days} days, deviation {sd_days} days",
            f"Nothing short in {self.lead.service_pct:g}{THIN}% of orders: z = {self.z:.3f}",
            f"Safety stock: {self.z:.3f} × {spread} = {self.safety:.2f}",
            f"Reorder point: {mean} × {days} + {self.safety:.2f} = {self.reckoned:.2f}",
            f"Never ordered later than at {self.least}: order at {self.at}",
        )


def demand(by_day: Iterable[int], days: int = LOOK_BACK_DAYS) -> Demand:
    """Demand from what went out on each day that something did; the other days count as 0.

    What came back on a day is taken off it. Raises ``ValueError`` for more days than there are.
    """
    told = list(by_day)
    if len(told) > days or days < 2:
        raise ValueError(f"{several(len(told), 'day')} of {days}")
    series = [*told, *[0] * (days - len(told))]
    return Demand(max(fmean(series), 0.0), stdev(series))


def z_of(service_pct: float) -> float:
    """Standard deviations that cover so many per cent of what may happen.

    >>> round(z_of(97), 2)
    1.88
    """
    return NormalDist().inv_cdf(service_pct / 100)


def safety_stock(z: float, wanted: Demand, lead: Lead) -> float:
    """z standard deviations of what is wanted over a lead time, in pieces."""
    return z * sqrt(lead.days * wanted.sd**2 + wanted.mean**2 * lead.sd_days**2)


def point(wanted: Demand, lead: Lead, least: int = 0) -> Point:
    """The reorder point: what is wanted over the lead time, and the safety stock."""
    z = z_of(lead.service_pct)
    safety = safety_stock(z, wanted, lead)
    reckoned = wanted.mean * lead.days + safety
    return Point(wanted, lead, least, z, safety, reckoned, max(_whole(reckoned), least))


def propose(order_at: Point, position: int, pack: int = 1, review_days: int = REVIEW_DAYS) -> int:
    """How many to order: nothing above the point, otherwise up to the point and what is wanted
    until the next review, in whole packs. ``position``: free on hand and on order.

    >>> propose(point(Demand(0, 0), Lead(14, 0, 95), least=10), position=8, pack=6)
    6
    """
    if position > order_at.at or order_at.at == 0:
        return 0
    up_to = _whole(order_at.at + order_at.demand.mean * review_days)
    # At the point itself, with nothing wanted for a while, it is one pack all the same.
    return ceil(max(up_to - position, 1) / pack) * pack


def lasts_until(free: int, wanted: Demand, today: date) -> date | None:
    """The last day that what is free covers at the mean demand; ``None`` where none is seen."""
    if not wanted.mean:
        return None
    days = min(int(free / wanted.mean + CLOSE), (date.max - today).days)
    return today + timedelta(days=days)


def _whole(pieces: float) -> int:
    return ceil(pieces - CLOSE)
