"""How an instrument stands, and who asks what may be done on it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Literal

from shop.craft.clocks import Held
from shop.craft.inspecting.classes import DefectClass
from shop.craft.route import Done, Part, Route
from shop.craft.when import in_utc


@dataclass(frozen=True, slots=True)
class Person:
    """A badge, the stations it is signed off for (code: last day it counts), whether it still
    learns, so that it records only with a trainer beside it, and whether it ``leads``: settles
    what waits for the lead."""

    code: str
    trained: Mapping[str, date] = field(default_factory=dict)
    learns: bool = False
    leads: bool = False


@dataclass(frozen=True, slots=True)
class Asking:
    """Who asks, who stands beside them (trainer or witness), at which station, when.

    ``at`` is aware, on the shop's wall clock. ``late``: the work was done before and is
    recorded after, so that the phone need not stand where it was done.
    """

    who: Person
    station: str
    at: datetime
    beside: Person | None = None
    late: bool = False

    @property
    def signer(self) -> Person | None:
        """The person beside whose badge counts: another one, who is not learning."""
        one = self.beside
        return None if one is None or one.learns or one.code == self.who.code else one


@dataclass(frozen=True, slots=True)
class OpenStep:
    """An operation begun and not recorded. ``unsure``: a power cut came while it was open.
    ``parked``: nobody has it in hand."""

    operation: str
    by: str
    since: datetime
    helpers: tuple[str, ...] = ()
    parked: bool = False
    unsure: bool = False
    note: str = ""


@dataclass(frozen=True, slots=True)
class Rework:
    """The loop an instrument is on. ``stage``: the repair itself, then what is done again.
    ``found``: of each defect that it is for, as far as it was kept, the operation or station
    and the badge that found it."""

    loop: str
    words: str
    since: datetime
    stage: Literal["repair", "redo"]
    redo: tuple[str, ...] = ()
    dry_until: datetime | None = None  # the repair itself has to dry
    found: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Frozen:
    """Nothing is done on it until the lead has looked.

    ``found_at`` and ``found_by``: the operation or station, and the badge, that found the
    defect it is frozen for; "" where it is for none.
    """

    words: str
    by: str
    since: datetime
    found_at: str = ""
    found_by: str = ""


@dataclass(frozen=True, slots=True)
class Undecided:
    """A defect that was noted, and what becomes of it is not decided yet.

    ``number`` is its row in the journal, ``grade`` its class from 1 (critical) to 4 (a note),
    ``zone`` 1 to 16, 0 where nobody said. ``disposition`` is "hold for decision" where the
    decision is the lead's, else "". ``found_at`` is the operation or station that found it,
    ``found_by`` the badge; both "" where they were not kept yet.
    """

    number: int
    family: str
    word: str
    grade: int
    zone: int
    disposition: str
    at: datetime
    found_at: str = ""
    found_by: str = ""

    @property
    def words(self) -> str:
        """The defect by its word, class and place."""
        place = f", zone {self.zone}" if self.zone else ""
        return f"{self.word}, class {self.grade}{place}"

    @property
    def weighs(self) -> bool:
        """Whether it keeps an inspection and all after it back; a mere note does not."""
        return self.grade < DefectClass.NOTE


@dataclass(frozen=True, slots=True)
class Decided:
    """What became of a defect was signed. ``number`` is its row in the journal, ``found_at`` the
    operation or station that found it, ``hands`` the badges that signed: they know of it."""

    number: int
    found_at: str
    hands: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Standing:
    """How an instrument stands: all that decides what may be done on it."""

    serial: str
    route: Route
    done: tuple[Done, ...]
    open: OpenStep | None = None
    frozen: Frozen | None = None
    rework: Rework | None = None
    repairs: tuple[Done, ...] = ()  # who repaired it, and when
    held: Held | None = None  # once the hold has begun
    arrived: Mapping[Part, datetime] = field(default_factory=dict)
    longer: Mapping[str, timedelta] = field(default_factory=dict)  # by clock, what a lead added
    ended: str = ""  # why nothing more is done on it
    past: tuple[Done, ...] = ()  # done once and to be done again: the hands still count
    undecided: tuple[Undecided, ...] = ()
    decided: tuple[Decided, ...] = ()

    @property
    def counted(self) -> tuple[Done, ...]:
        """What counts as done: not what the loop it is on does again, until that is done."""
        if self.rework is None:
            return self.done
        again, since = self.rework.redo, in_utc(self.rework.since)
        return tuple(
            one for one in self.done if one.operation not in again or in_utc(one.at) > since
        )
