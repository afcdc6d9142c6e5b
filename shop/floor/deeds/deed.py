"""What every deed has: who does it, the gates it must pass, and what follows from it."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, ClassVar, Final
from uuid import UUID, uuid5

from django.core.exceptions import BadRequest
from django.utils.dateparse import parse_datetime
from django.utils.timezone import localtime

from shop.craft.finding import Finding, any_stop, any_warn
from shop.craft.start import Asking, Person
from shop.floor import states
from shop.floor.deeds.sending import Sending
from shop.floor.models import Entry
from shop.floor.state import State
from shop.people import badges

# What a phone's clock can show at all: one without a battery begins again in 1970.
PHONE_YEARS: Final = range(1970, 2200)


@dataclass(frozen=True, slots=True, kw_only=True)
class Act:
    """Who does it, where, on which phone, and when.

    ``key`` is made by the phone before it sends: sent twice, it is still one act.
    ``claimed_at`` is the phone's clock, kept beside the server's ``at``. ``person`` says
    what ``by`` is signed off for, ``beside`` the trainer or witness who signs with them.
    ``sending`` says how it came where a phone kept it until it could be sent: ``at`` is then
    the moment it was tapped.
    """

    key: UUID
    by_id: int
    by: str
    at: datetime
    station: str = ""
    device: str = ""
    claimed_at: datetime | None = None
    reason: str = ""
    person: Person | None = None
    beside: Person | None = None
    sending: Sending | None = None

    @classmethod
    def of(cls, request: Any, at: datetime) -> Act:
        """The act a form posts: its key and reason, the badge, the phone's station and clock.

        Raises ``BadRequest`` when the key is missing or is no UUID.
        """
        try:
            key = UUID(request.POST.get("key", ""))
        except ValueError as why:
            raise BadRequest("This form carries no key. Open the page again.") from why
        sending: Sending | None = getattr(request, "sending", None)
        asking = asking_of(request, at)
        return cls(
            key=key,
            by_id=request.user.pk,
            by=request.user.code,
            at=moment_of(request, at),
            station=asking.station,
            device=request.COOKIES.get("phone", "")[:40],
            claimed_at=phone_clock(request.POST.get("clock", "")),
            reason=request.POST.get("reason", "").strip()[:200],
            person=asking.who,
            beside=asking.beside,
            sending=sending,
        )

    @property
    def asking(self) -> Asking:
        return Asking(self.person or Person(self.by), self.station, localtime(self.at), self.beside)

    @property
    def doubt(self) -> str:
        """What of its badge or its moment was only claimed; "" where nothing was."""
        return self.sending.doubt if self.sending else ""

    @property
    def others(self) -> tuple[str, ...]:
        return (self.beside.code,) if self.beside else ()

    def also(self, number: int) -> Act:
        """The same act as it goes on to something else: a row of its own, a key of its own."""
        return replace(self, key=uuid5(self.key, str(number)))


def asking_of(request: Any, at: datetime) -> Asking:
    """Who asks at this phone, and who signs beside them. Whoever signs beside somebody now did
    not do so when the phone kept what it sends now, nor beside another badge than theirs."""
    sending: Sending | None = getattr(request, "sending", None)
    alone = sending and (sending.tapped.kept or sending.sent_by != sending.badge)
    beside = None if alone else badges.beside(request.session)
    return Asking(
        who=badges.person(request.user),
        station=sending.station if sending else request.session.get("station", ""),
        at=localtime(moment_of(request, at)),
        beside=badges.person(beside) if beside else None,
    )


def moment_of(request: Any, at: datetime) -> datetime:
    """The moment an act counts from: ``at``, or when it was tapped on a phone that kept it."""
    sending: Sending | None = getattr(request, "sending", None)
    return sending.tapped.at if sending else at


def phone_clock(text: str) -> datetime | None:
    """What the phone's clock showed, where the page could ask it; a bare one is no moment."""
    try:
        moment = parse_datetime(text)
    except ValueError:
        return None  # 31 February: a clock that cannot be believed is as good as none
    if moment is None or moment.utcoffset() is None or moment.year not in PHONE_YEARS:
        return None
    return moment


@dataclass(slots=True)
class Ground:
    """What a deed stands on once it is read and held: the instrument it is about, if any."""

    subject: str
    instrument_id: int | None = None
    seq: int = 0
    link: str = ""
    facts: Any = None
    seen: Any = None  # what the gates read on their way, so that it is read once
    after: State | None = None  # as the deed leaves it, where ``settle`` has that in hand


def held(instrument_id: int, *, already: bool = False) -> Ground:
    """An instrument, held until the transaction ends, as the ground of a deed. ``already``:
    the transaction holds it, and it is only read.

    Raises ``LookupError`` when there is none.
    """
    found = states.by_id(instrument_id, lock=not already)
    if found is None:
        raise LookupError(f"no instrument {instrument_id}")
    return Ground(found.serial, found.id, found.seq, found.link, found)


class Deed(ABC):
    """One kind of change.

    ``ground`` reads and locks, ``gates`` judges, ``settle`` decides all that is not said by
    the deed itself and says it as plain data: the journal row keeps both. ``follow`` brings
    the tables to what a row says, from the row alone: live, and when all is made again.
    """

    kind: ClassVar[str]
    makes_instrument: ClassVar[bool] = False
    """Whether ``follow`` makes the instrument that its journal row is to belong to."""
    follows_refused: ClassVar[bool] = False
    """Whether something follows from a refused try too."""

    @abstractmethod
    def plain(self) -> Mapping[str, Any]:
        """The deed as plain data: for the journal and for telling two deeds apart."""

    @abstractmethod
    def ground(self) -> Ground: ...

    def said_before(self, act: Act, ground: Ground) -> bool:
        """Whether all that it says was said under another key and stands: then nothing is
        written, and it is answered as done."""
        return False

    @abstractmethod
    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]: ...

    def passes(self, act: Act, findings: tuple[Finding, ...]) -> bool:
        """Whether what the gates found lets the deed be done: no stop, and a reason given
        where there is a warning."""
        return not any_stop(findings) and (bool(act.reason) or not any_warn(findings))

    def saw(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        """What a deed that passed its gates has found out. It is recorded whatever it says:
        a measured value stands even where it stops the work."""
        return ()

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> Mapping[str, Any]:
        """What is settled by doing it and ``plain`` does not say: a code minted, a tray
        asked for. Rooms below are changed here; the floor's own tables in ``follow``."""
        return {}

    @classmethod
    @abstractmethod
    def follow(cls, row: Entry) -> None:
        """Bring the floor's tables to what this row says."""

    def then(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> tuple[Deed, ...]:
        """What this deed, done or refused, brings about beside it: each a row of its own."""
        return ()

    def corrects(self) -> int | None:
        """The number of the journal row that this deed corrects."""
        return None
