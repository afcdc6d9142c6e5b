"""What every deed has: who does it, the gates it must pass, and what it writes."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, ClassVar
from uuid import UUID

from django.core.exceptions import BadRequest

from shop.craft.finding import Finding, any_stop, any_warn
from shop.floor import state as states
from shop.floor.models import Entry


@dataclass(frozen=True, slots=True, kw_only=True)
class Act:
    """Who does it, where, on which phone, and when.

    ``key`` is made by the phone before it sends: sent twice, it is still one act.
    ``claimed_at`` is the phone's clock, kept beside the server's ``at``.
    """

    key: UUID
    by_id: int
    by: str
    at: datetime
    station: str = ""
    device: str = ""
    claimed_at: datetime | None = None
    reason: str = ""

    @classmethod
    def of(cls, request: Any, at: datetime) -> Act:
        """The act a form posts: its key and reason, the badge, the phone's station.

        Raises ``BadRequest`` when the key is missing or is no UUID.
        """
        try:
            key = UUID(request.POST.get("key", ""))
        except ValueError as why:
            raise BadRequest("This form carries no key. Open the page again.") from why
        return cls(
            key=key,
            by_id=request.user.pk,
            by=request.user.code,
            at=at,
            station=request.session.get("station", ""),
            device=request.COOKIES.get("phone", "")[:40],
            reason=request.POST.get("reason", "").strip()[:200],
        )


@dataclass(slots=True)
class Ground:
    """What a deed stands on once it is read and held: the instrument it is about, if any."""

    subject: str
    instrument_id: int | None = None
    seq: int = 0
    facts: Any = None
    seen: Any = None  # what the gates read on their way, so that it is read once


def held(instrument_id: int) -> Ground:
    """An instrument, held until the transaction ends, as the ground of a deed.

    Raises ``LookupError`` when there is none.
    """
    found = states.by_id(instrument_id, lock=True)
    if found is None:
        raise LookupError(f"no instrument {instrument_id}")
    return Ground(found.serial, found.id, found.seq, found)


class Deed(ABC):
    """One kind of change. ``ground`` reads and locks, ``gates`` judges, ``write`` writes."""

    kind: ClassVar[str]
    makes_instrument: ClassVar[bool] = False
    """Whether ``write`` makes the instrument that its journal row is to belong to."""

    @abstractmethod
    def plain(self) -> Mapping[str, Any]:
        """The deed as plain data: for the journal and for telling two deeds apart."""

    @abstractmethod
    def ground(self) -> Ground: ...

    @abstractmethod
    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]: ...

    @abstractmethod
    def write(self, act: Act, ground: Ground, entry: Entry) -> None: ...

    def passes(self, act: Act, findings: tuple[Finding, ...]) -> bool:
        """Whether what the gates found lets the deed be done: no stop, and a reason given
        where there is a warning."""
        return not any_stop(findings) and (bool(act.reason) or not any_warn(findings))

    def saw(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        """What a deed that passed its gates has found out. It is recorded whatever it says:
        a measured value stands even where it stops the work."""
        return ()

    def refused(self, act: Act, ground: Ground, findings: tuple[Finding, ...]) -> None:
        """What changes although the deed is refused; mostly nothing."""
        return
