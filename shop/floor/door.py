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

from django.db import IntegrityError, transaction

from shop.craft.finding import Finding, stop, worst_first
from shop.database.statement import Insertion, Statement
from shop.floor.deeds.calls import CallAnswered, CallMade
from shop.floor.deeds.deed import Act, Deed, Ground
from shop.floor.deeds.papers import PermitNoted
from shop.floor.deeds.positions import Placed
from shop.floor.deeds.readings import Gauged
from shop.floor.deeds.releases import Agreed, PartArrived, Released
from shop.floor.deeds.room import RoomRead
from shop.floor.deeds.steps import StepDone
from shop.floor.deeds.tags import TagReplaced
from shop.floor.deeds.trays import TrayChecked, TrayClosed
from shop.floor.models import Entry, Instrument
from shop.floor.state import State

__all__ = [
    "Act",
    "Agreed",
    "CallAnswered",
    "CallMade",
    "Gauged",
    "Outcome",
    "PartArrived",
    "PermitNoted",
    "Placed",
    "Released",
    "RoomRead",
    "StepDone",
    "TagReplaced",
    "TrayChecked",
    "TrayClosed",
    "record",
]

Result = Literal["recorded", "already", "refused"]

# What the journal's column holds; a longer serial was misread, and the deed keeps it whole.
SUBJECT: Final = 16


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
    mark = _fingerprint(act, deed)
    try:
        with transaction.atomic():
            return _decide(act, deed, mark)
    except IntegrityError:
        # Sent twice at the same moment, about nothing that could be held, and the other
        # one won the unique row: now its answer can be read.
        with transaction.atomic():
            return _decide(act, deed, mark)


def _decide(act: Act, deed: Deed, mark: str) -> Outcome:
    ground = deed.ground()
    # Asked only now that the instrument is held: a twin ahead of us has written its row.
    if (answer := _answered_before(act, mark)) is not None:
        return answer
    findings = worst_first(deed.gates(act, ground))
    recorded = deed.passes(act, findings)
    if recorded:
        findings = worst_first((*findings, *deed.saw(act, ground)))
    entry = Entry(
        key=act.key,
        fingerprint=mark,
        subject=_storable(ground.subject)[:SUBJECT],
        kind=deed.kind,
        outcome="recorded" if recorded else "refused",
        findings=_storable([one.row() for one in findings]),
        data=_storable(dict(deed.plain())),
        reason=_storable(act.reason),
        by_id=act.by_id,
        station=act.station,
        device=act.device,
        claimed_at=act.claimed_at,
        at=act.at,
    )
    if recorded and deed.makes_instrument:
        deed.write(act, ground, entry)
        _append(entry, ground)
    else:
        _append(entry, ground)
        if recorded:
            deed.write(act, ground, entry)
        else:
            deed.refused(act, ground, findings)
    after = ground.facts if isinstance(ground.facts, State) else None
    result: Result = "recorded" if recorded else "refused"
    return Outcome(result, findings, ground.subject, entry.seq, after)


def _storable(said: Any) -> Any:
    """Plain data without the zero character, which PostgreSQL keeps in no text."""
    if isinstance(said, str):
        return said.replace("\0", "")
    if isinstance(said, dict):
        return {name: _storable(one) for name, one in said.items()}
    return [_storable(one) for one in said] if isinstance(said, list | tuple) else said


def _append(entry: Entry, ground: Ground) -> None:
    if ground.instrument_id is not None:
        entry.instrument_id = ground.instrument_id
        entry.seq = ground.seq + 1
        Instrument.objects.filter(pk=ground.instrument_id).update(seq=entry.seq)
    _ENTRIES.add(entry)


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
