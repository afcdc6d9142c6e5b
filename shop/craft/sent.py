"""When was it done, if a phone kept it for a while before it could be sent?

A phone tells when it was tapped and when it was sent, both by its own clock, and how far that
clock was off when the shop was last reached before the tap. So there are two estimates: how
long it waited, back from now; and the tap, put right by what the clock was off. Where they
agree the clock was left alone in between, and the moment can be believed. Where they do not,
the later one counts, so that nothing dries on paper before it dries on the bench.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from shop.craft.when import in_utc

# Common practice, no source: the time a tap takes on a slow network, what a phone's clock may
# drift within a shift, and how long anybody remembers when they did something.
AT_ONCE: Final = timedelta(seconds=30)
AGREED: Final = timedelta(minutes=2)
REMEMBERED: Final = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class Tapped:
    """The moment of a tap by the server's clock, whether the phone ``kept`` it for a while,
    and what makes the moment doubtful; "" where nothing does."""

    at: datetime
    kept: bool
    doubt: str = ""


def tapped(
    captured: datetime | None,
    sent: datetime | None,
    received: datetime,
    offset: timedelta | None,
) -> Tapped:
    """When it was tapped. ``captured`` and ``sent`` by the phone's clock, ``received`` by the
    server's, ``offset`` what was to be added to the phone's to have the server's.

    >>> from datetime import UTC
    >>> noon = datetime(2031, 5, 1, 12, tzinfo=UTC)
    >>> hour = timedelta(hours=1)
    >>> tapped(noon + hour, noon + 2 * hour, noon, -2 * hour).at.isoformat()
    '2031-05-01T11:00:00+00:00'
    """
    if captured is None or sent is None:
        return Tapped(received, kept=False)
    waited = in_utc(sent) - in_utc(captured)
    by_wait = in_utc(received) - waited
    by_clock = by_wait if offset is None else in_utc(captured) + offset
    # A clock that was put back while it waited makes a long wait look like none.
    agreed = abs(in_utc(received) - by_clock) <= AT_ONCE + AGREED
    if timedelta() <= waited <= AT_ONCE and agreed:
        return Tapped(received, kept=False)
    at = min(max(by_wait, by_clock), in_utc(received))
    return Tapped(at, kept=True, doubt=_doubt(by_wait, by_clock, offset, at, received))


def _doubt(
    by_wait: datetime,
    by_clock: datetime,
    offset: timedelta | None,
    at: datetime,
    received: datetime,
) -> str:
    if offset is None:
        return "its phone's clock was never compared with the shop's"
    if abs(by_wait - by_clock) > AGREED or by_wait - in_utc(received) > AGREED:
        return "its phone's clock was changed while it waited"
    if in_utc(received) - at > REMEMBERED:
        return "it waited on its phone for more than a week"
    return ""
