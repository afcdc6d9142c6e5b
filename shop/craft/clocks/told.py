"""What happens to an instrument in the days of its hold, how the room was, how the hold stands."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from enum import StrEnum


class What(StrEnum):
    """What can happen to an instrument in the days of its hold."""

    GLUED = "glued"  # a joint made or remade: neck, bridge, brace, fret
    RECUT = "recut"  # frets levelled, neck reset, bridge slot routed again, nut replaced
    RESTRUNG = "restrung"  # all strings replaced, or slack for more than 30 min
    STRING = "string"  # one string replaced
    TRIMMED = "trimmed"  # saddle lowered, or the rod turned by a quarter at most
    TOUCHED_UP = "touched up"  # out of the case for the finish, rework open, strings at pitch
    OUT = "out"  # out of the case for anything else
    DROPPED = "dropped"
    RACK = "rack"  # moved between racks in its case
    TAG = "tag"  # tag replaced
    POWER = "power"  # power cut


@dataclass(frozen=True, slots=True)
class Happening:
    """Something that happened ``at`` a moment; ``until`` when, where it lasts: ``None``
    there means it is still going on. ``cure``: how long a joint has to dry first."""

    what: What
    at: datetime
    until: datetime | None = None
    cure: timedelta = timedelta()


@dataclass(frozen=True, slots=True)
class Air:
    """The room as it was read: °C and %RH, good until the next reading."""

    at: datetime
    temp_c: Decimal
    rh_pct: Decimal


@dataclass(frozen=True, slots=True)
class Held:
    """How the hold stands.

    ``ready`` is when it has passed, in UTC; ``None`` while something still keeps it from
    running (``halted`` says what). ``started`` is the start in force, ``paused`` what it
    stood still since. ``because`` tells what moved it, one sentence each, oldest first.
    ``crack_check``: the air was dry or damp enough to look for cracks.
    """

    ready: datetime | None
    started: datetime
    paused: timedelta = timedelta()
    because: tuple[str, ...] = ()
    halted: str = ""
    crack_check: bool = False
