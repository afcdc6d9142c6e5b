"""When a tap that waited on a phone counts from: two estimates, and the later one.

No published source covers a phone that keeps taps; the limits are common practice, no source.
The arithmetic is checked with a phone of our own whose clock is set at will.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft.sent import AGREED, AT_ONCE, REMEMBERED, tapped

NOON = datetime(2031, 3, 3, 12, tzinfo=UTC)
HOUR = timedelta(hours=1)
spans = st.timedeltas(timedelta(minutes=1), timedelta(days=6))
skews = st.timedeltas(timedelta(days=-400), timedelta(days=400))


@given(spans, skews)
def test_a_clock_that_is_off_moves_nothing(waited: timedelta, skew: timedelta) -> None:
    found = tapped(NOON - waited + skew, NOON + skew, NOON, -skew)
    assert (found.at, found.kept, found.doubt) == (NOON - waited, True, "")


@given(spans, skews, st.timedeltas(timedelta(days=-30), timedelta(days=30)))
def test_a_clock_that_was_turned_never_makes_it_earlier(
    waited: timedelta, skew: timedelta, turned: timedelta
) -> None:
    found = tapped(NOON - waited + skew, NOON + skew + turned, NOON, -skew)
    assert NOON - waited - AGREED <= found.at <= NOON
    assert found.kept or waited <= AT_ONCE + AGREED
    if found.kept:
        assert bool(found.doubt) == (abs(turned) > AGREED or NOON - found.at > REMEMBERED)


def test_what_is_sent_at_once_counts_from_when_it_came() -> None:
    found = tapped(NOON + HOUR, NOON + HOUR + AT_ONCE, NOON, None)
    assert (found.at, found.kept, found.doubt) == (NOON, False, "")


@pytest.mark.parametrize("turned", [-3 * HOUR, 3 * HOUR])
def test_a_wait_that_a_turned_clock_hides_is_not_taken_for_none(turned: timedelta) -> None:
    """By its own clock the phone waited 10 s. What that clock was off tells of 3 hours."""
    seemed = timedelta(seconds=10)
    found = tapped(NOON + turned - seemed, NOON + turned, NOON, timedelta())
    assert found.kept
    assert found.at == (NOON - seemed if turned < timedelta() else NOON)
    assert found.doubt == "its phone's clock was changed while it waited"


@pytest.mark.parametrize(("more_s", "kept"), [(0, False), (1, True)])
def test_what_a_clock_may_drift_is_still_sent_at_once(more_s: int, kept: bool) -> None:
    drifted = -(AT_ONCE + AGREED + timedelta(seconds=more_s))
    found = tapped(NOON, NOON, NOON, drifted)
    assert (found.at, found.kept, bool(found.doubt)) == (NOON, kept, kept)


def test_a_phone_that_tells_no_time_is_taken_at_once() -> None:
    assert tapped(None, NOON, NOON, None).at == tapped(NOON, None, NOON, None).at == NOON


def test_a_phone_whose_clock_was_never_compared_is_doubted() -> None:
    found = tapped(NOON - HOUR, NOON, NOON, None)
    assert found.at == NOON - HOUR
    assert found.doubt == "its phone's clock was never compared with the shop's"


def test_what_was_sent_before_it_was_tapped_counts_from_when_it_came() -> None:
    found = tapped(NOON + HOUR, NOON, NOON, timedelta())
    assert (found.at, found.doubt) == (NOON, "its phone's clock was changed while it waited")


@pytest.mark.parametrize(("days", "doubted"), [(7, False), (8, True)])
def test_more_than_a_week_on_a_phone_is_doubted(days: int, doubted: bool) -> None:
    found = tapped(NOON - timedelta(days=days), NOON, NOON, timedelta())
    assert bool(found.doubt) == doubted
