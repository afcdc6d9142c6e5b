"""The one door: every change to an instrument goes through :func:`record`.

It holds the instrument, checks the gates, writes the change and its journal row in one
transaction, and answers with an outcome and findings. The same key twice is the same
act: the second time nothing is written and the first answer comes back.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from typing import Any, Final, Literal
from uuid import UUID

from django.db import DatabaseError, IntegrityError, OperationalError, transaction
from psycopg.errors import DeadlockDetected

from shop.craft.finding import Finding, stop, worst_first
from shop.database.statement import Insertion, Statement
from shop.floor import chain
from shop.floor.deeds.areas import AreaLooked
from shop.floor.deeds.begun import (
    StepHanded,
    StepJoined,
    StepLeft,
    StepStarted,
    StepTaken,
)
from shop.floor.deeds.calls import CallAnswered, CallMade
from shop.floor.deeds.cases import CaseOpened, CaseShut, Happened, WaitLengthened
from shop.floor.deeds.deed import Act, Deed, Ground, moment_of, phone_clock
from shop.floor.deeds.defects import DefectDecided, DefectNoted, DefectWithdrawn
from shop.floor.deeds.dock import Boxed, Carried, HandedOver
from shop.floor.deeds.doubts import Doubted, Remarked, StepConfirmed, StepStruck, TagsMixed
from shop.floor.deeds.endings import Return, Scrapped
from shop.floor.deeds.freezing import Freed, Frozen
from shop.floor.deeds.frets import FretsRead
from shop.floor.deeds.gauges import GaugeChecked, GaugeKept, GaugeStudied
from shop.floor.deeds.lines import LineChecked
from shop.floor.deeds.moving import RevisionMoved
from shop.floor.deeds.pairs import NeckNamed, NeckSeen, PairBroken
from shop.floor.deeds.panels import PanelCalled, PanelsKept
from shop.floor.deeds.papers import PermitNoted
from shop.floor.deeds.positions import Placed
from shop.floor.deeds.power import CutOpen, CutSeen, PowerCut
from shop.floor.deeds.prints import Printed
from shop.floor.deeds.rack import Racked, SlotsKept, Unracked
from shop.floor.deeds.readings import Gauged
from shop.floor.deeds.releases import Agreed, PartArrived, Released
from shop.floor.deeds.returns import Drawn, PartReturned
from shop.floor.deeds.reworks import DefectFound, Dropped, RepairDone
from shop.floor.deeds.room import RoomLogged, RoomRead
from shop.floor.deeds.sending import Sending
from shop.floor.deeds.shorts import KitCovered, KitShorted, PartsShared
from shop.floor.deeds.steps import StepDone
from shop.floor.deeds.substitutes import Substituted
from shop.floor.deeds.tags import TagReplaced
from shop.floor.deeds.trays import TrayChecked, TrayClosed, TrayOpened
from shop.floor.models import Entry, Instrument, Loose
from shop.floor.state import State

__all__ = [
    "Act",
    "Agreed",
    "AreaLooked",
    "Boxed",
    "CallAnswered",
    "CallMade",
    "Carried",
    "CaseOpened",
    "CaseShut",
    "CutOpen",
    "CutSeen",
    "DefectDecided",
    "DefectFound",
    "DefectNoted",
    "DefectWithdrawn",
    "Doubted",
    "Drawn",
    "Dropped",
    "Freed",
    "FretsRead",
    "Frozen",
    "GaugeChecked",
    "GaugeKept",
    "GaugeStudied",
    "Gauged",
    "HandedOver",
    "Happened",
    "KitCovered",
    "KitShorted",
    "LineChecked",
    "NeckNamed",
    "NeckSeen",
    "Outcome",
    "PairBroken",
    "PanelCalled",
    "PanelsKept",
    "PartArrived",
    "PartReturned",
    "PartsShared",
    "PermitNoted",
    "Placed",
    "PowerCut",
    "Printed",
    "Racked",
    "Released",
    "Remarked",
    "RepairDone",
    "Return",
    "RevisionMoved",
    "RoomLogged",
    "RoomRead",
    "Scrapped",
    "Sending",
    "SlotsKept",
    "StepConfirmed",
    "StepDone",
    "StepHanded",
    "StepJoined",
    "StepLeft",
    "StepStarted",
    "StepStruck",
    "StepTaken",
    "Substituted",
    "TagReplaced",
    "TagsMixed",
    "TrayChecked",
    "TrayClosed",
    "TrayOpened",
    "Unracked",
    "WaitLengthened",
    "moment_of",
    "phone_clock",
    "record",
]

# Every deed by what the journal calls it.
DEEDS: Final[dict[str, type[Deed]]] = {
    named.kind: named
    for name in __all__
    if isinstance(named := globals().get(name), type) and issubclass(named, Deed)
}

Result = Literal["recorded", "already", "refused"]

# What the journal's column holds; a longer serial was misread, and the deed keeps it whole.
SUBJECT: Final = 16
DOUBT: Final = 160  # letters of its column


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of an act. ``seq`` is its row in the instrument's journal, ``after`` the
    instrument as the act left it, where the deed had it in hand."""

    result: Result
    findings: tuple[Finding, ...]
    subject: str
    seq: int | None
    after: State | None = None

    @property
    def done(self) -> bool:
        return self.result != "refused"


def record(act: Act, deed: Deed) -> Outcome:
    """Do the deed once, or say why not.

    A stop refuses it; a warning refuses it until the act carries a reason. A refused
    attempt is written to the journal like a done one. Raises ``LookupError`` when what
    the deed is about does not exist.
    """
    try:
        with transaction.atomic():
            outcome = _decide(act, deed)
    except (IntegrityError, OperationalError) as why:
        if not _came_second(why):
            raise
        # Another was there first: sent twice at the same moment about nothing that could be
        # held, or two acts that each held what the other wanted. Now its answer can be read.
        with transaction.atomic():
            outcome = _decide(act, deed)
    if act.sending:
        act.sending.heard.append(outcome)
    return outcome


def _came_second(why: DatabaseError) -> bool:
    deadlock = isinstance(getattr(why, "__cause__", None), DeadlockDetected)
    return isinstance(why, IntegrityError) or deadlock


def _decide(act: Act, deed: Deed) -> Outcome:
    mark = _fingerprint(act, deed)
    ground = deed.ground()
    # Asked only now that the instrument is held: a twin ahead of us has written its row.
    if (answer := _answered_before(act, mark)) is not None:
        return answer
    if deed.said_before(act, ground):
        return Outcome("already", (), ground.subject, None)
    notes = act.sending.notes if act.sending else ()
    findings = worst_first((*deed.gates(act, ground), *notes))
    recorded = deed.passes(act, findings)
    if recorded:
        findings = worst_first((*findings, *deed.saw(act, ground)))
    settled = deed.settle(act, ground, findings, recorded=recorded)
    row = Entry(
        key=act.key,
        fingerprint=mark,
        subject=_storable(ground.subject)[:SUBJECT],
        instrument_id=ground.instrument_id,
        kind=deed.kind,
        outcome="recorded" if recorded else "refused",
        findings=_storable([one.row() for one in findings]),
        data=_storable({**deed.plain(), **settled}),
        reason=_storable(act.reason),
        by_id=act.by_id,
        who=act.by,
        beside=act.beside.code if act.beside else "",
        corrects_id=deed.corrects(),
        station=act.station,
        device=act.device,
        claimed_at=act.claimed_at,
        at=act.at,
        form=chain.FORM,
        **_as_sent(act.sending),
    )
    if recorded and deed.makes_instrument:
        deed.follow(row)
        _append(row, ground)
    else:
        _append(row, ground)
        if recorded or deed.follows_refused:
            deed.follow(row)
    after = ground.after.with_row(row.seq, row.link) if ground.after else None
    for number, more in enumerate(deed.then(act, ground, findings, recorded=recorded)):
        _decide(act.also(number), more)
        after = None  # it may be another by now
    result: Result = "recorded" if recorded else "refused"
    told_seq = row.seq if row.instrument_id is not None else None
    return Outcome(result, findings, ground.subject, told_seq, after)


def _as_sent(sending: Sending | None) -> dict[str, Any]:
    """The columns that say how a row came, where a phone kept it until it was sent."""
    if sending is None:
        return {}
    return {
        "source": sending.source,
        "sent_at": sending.sent_at,
        "received_at": sending.received_at,
        "sent_by": sending.sent_by if sending.sent_by != sending.badge else "",
        "unproven": sending.doubt[:DOUBT],
        "sent_mark": sending.mark,
    }


def _storable(said: Any) -> Any:
    """Plain data without the zero character, which PostgreSQL keeps in no text."""
    if isinstance(said, str):
        return said.replace("\0", "")
    if isinstance(said, dict):
        return {name: _storable(one) for name, one in said.items()}
    return [_storable(one) for one in said] if isinstance(said, list | tuple) else said


def _append(row: Entry, ground: Ground) -> None:
    """Add the row to the end of its chain: its instrument's, or that of the loose rows."""
    if row.instrument_id is None:
        last = Loose.objects.select_for_update().get_or_create(pk=1)[0]
        seq, before = last.seq, last.link
    else:
        seq, before = ground.seq, ground.link
    row.seq = seq + 1
    row.link = chain.link_of(row, before)
    _ENTRIES.add(row)
    end = {"seq": row.seq, "link": row.link}
    if row.instrument_id is None:
        Loose.objects.filter(pk=1).update(**end)
    else:
        Instrument.objects.filter(pk=row.instrument_id).update(**end)


_ENTRIES = Insertion(Entry)
_BY_KEY = Statement(
    lambda key: Entry.objects.filter(key=key).values_list(
        "fingerprint", "outcome", "findings", "subject", "seq"
    ),
    UUID,
)


def _answered_before(act: Act, mark: str) -> Outcome | None:
    rows = _BY_KEY.rows(act.key)
    if not rows:
        return None
    fingerprint, outcome, findings, subject, seq = rows[0]
    if fingerprint != mark:
        other = stop(
            "key",
            "This entry carries the key of another one.",
            "Open the instrument again and record from there.",
            call="",
        )
        return Outcome("refused", (other,), subject, None)
    told = tuple(
        Finding.of_row(one)
        for one in (json.loads(findings) if isinstance(findings, str) else findings)
    )
    return Outcome("already" if outcome == "recorded" else "refused", told, subject, seq)


def _fingerprint(act: Act, deed: Deed) -> str:
    """Tells two acts apart: who did what, where, with which reason."""
    said = {
        "kind": deed.kind,
        "deed": dict(deed.plain()),
        "by": act.by,
        "station": act.station,
        "reason": act.reason,
    }
    return hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()
