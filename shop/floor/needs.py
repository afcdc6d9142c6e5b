"""By when each operation's parts have to be there, instrument by instrument."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta

from django.utils.timezone import localtime

from shop.craft import needed as craft
from shop.craft.route import last_of
from shop.craft.start import Standing, ready_at
from shop.craft.when import in_utc
from shop.floor import states
from shop.floor.state import State


def needed(serials: Sequence[str], at: datetime) -> dict[str, dict[str, datetime]]:
    """For each of these open instruments the earliest start of every operation not done yet,
    on the shop's clock: now, or from the start of its release day on.

    What a clock keeps back (a clamp, the days in the case) starts once it has run down. A
    serial that is not open is left out. The same few statements for any number.
    """
    wanted = set(serials)
    return earliest((one for one in states.all_open() if one.serial in wanted), at)


def earliest(them: Iterable[State], at: datetime) -> dict[str, dict[str, datetime]]:
    """The same of instruments that were read already."""
    now = localtime(at)
    return {one.serial: of(one, now) for one in them}


def of(one: State, now: datetime) -> dict[str, datetime]:
    """The earliest starts on one instrument; ``now`` is on the shop's clock."""
    release = datetime.combine(one.release_on, craft.SHIFT.starts, now.tzinfo)
    stands = one.stands(now)
    done = {it.operation for it in stands.counted}
    return craft.starts(
        stands.route,
        done,
        max(now, release, key=in_utc),
        not_before={
            facts.code: until
            for facts in stands.route.operations
            if facts.code not in done and (until := _kept_back(stands, facts.code)) is not None
        },
    )


def _kept_back(stands: Standing, code: str) -> datetime | None:
    """Until when the clocks that run already keep an operation back."""
    if (ready := ready_at(stands, code)) is not None:
        return ready
    ends = [
        in_utc(last.at) + step.binding + stands.longer.get(step.clock, timedelta())
        for step in stands.route.into(code)
        if step.binding and (last := last_of(step.before, stands.counted)) is not None
    ]
    return max(ends, default=None)
