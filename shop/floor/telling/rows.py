"""A row of the journal as a reader is told of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final, Literal

from django.utils.timezone import localtime

from shop.craft.finding import Finding, any_stop, any_warn
from shop.craft.when import in_utc
from shop.floor.models import Entry
from shop.floor.telling import (
    areas,
    course,
    defects,
    dock,
    frets,
    gauges,
    lead,
    panels,
    parts,
    rack,
    work,
)
from shop.floor.telling.said import Mark, Names, Said, Teller, clock, moment

Group = Literal["work", "hardware", "measures", "tags", "hold", "rework", "lead", "calls"]

GROUPS: Final[dict[Group, str]] = {
    "work": "Work",
    "hardware": "Hardware",
    "measures": "Measures",
    "tags": "Tags",
    "hold": "Hold",
    "rework": "Rework",
    "lead": "Lead",
    "calls": "Calls",
}
"""What a reader may narrow the journal to, and what it is called."""

OFF: Final = timedelta(minutes=2)  # a phone's clock that is further off than this is told

BY_GROUP: Final[dict[Group, Mapping[str, Teller]]] = {
    "work": {**work.TELLERS, **areas.AREAS, **dock.DOCK},
    "hardware": parts.HARDWARE,
    "measures": {**parts.MEASURES, **gauges.GAUGES, **frets.FRETS},
    "tags": parts.TAGS,
    "hold": {**course.HOLD, **rack.RACK},
    "rework": {**course.REWORK, **defects.DEFECTS},
    "lead": {**lead.LEAD, **panels.PANELS},
    "calls": lead.CALLS,
}
TELLERS: Final[dict[str, tuple[Group, Teller]]] = {
    kind: (group, teller) for group, them in BY_GROUP.items() for kind, teller in them.items()
}
"""By the kind of a row: the group it belongs to and the function that tells it."""


@dataclass(frozen=True, slots=True)
class Told:
    """One row, told. ``words`` is the sentence, ``details`` are named values, ``times`` what
    is to be said of its moment, ``place`` its station where the sentence does not name it;
    ``corrects`` is the earlier row that it corrects."""

    seq: int
    at: datetime
    words: str
    group: Group
    mark: Mark
    findings: tuple[Finding, ...] = ()
    details: tuple[tuple[str, str], ...] = ()
    reason: str = ""
    times: tuple[str, ...] = ()
    place: str = ""
    beside: str = ""
    corrects: int | None = None


def told(row: Entry, names: Names) -> Told:
    """The row as a reader is told of it."""
    group, teller = TELLERS.get(row.kind, ("work", _plainly))
    said = teller(row, names)
    findings = tuple(Finding.of_row(one) for one in row.findings)
    return Told(
        seq=row.seq,
        at=localtime(row.at),
        words=_sentence(row, said, names),
        group=group,
        mark=_mark(row, said, findings),
        findings=findings,
        details=said.details,
        reason="" if said.says_reason and row.outcome == "recorded" else row.reason,
        times=tuple(_times(row)),
        place="" if said.where or not row.station else names.station(row.station),
        beside=row.beside,
        corrects=row.corrects.seq if row.corrects else None,
    )


def kinds_of(group: str) -> tuple[str, ...]:
    """The kinds of rows of a group; none where there is no such group."""
    return tuple(kind for kind, (theirs, _) in TELLERS.items() if theirs == group)


def _sentence(row: Entry, said: Said, names: Names) -> str:
    place = f" at {names.station(row.station)}" if said.where and row.station else ""
    what = f" {said.object}" if said.object else ""
    if row.outcome == "refused":
        return f"{row.who} {said.tried or f'tried to {said.do}{what}'}{place}: refused."
    because = f": {said.because}" if said.because else ""
    return _ended(f"{row.who} {said.did}{what}{place}{because}")


def _ended(words: str) -> str:
    return words if words.endswith((".", "?", "…")) else f"{words}."


def _mark(row: Entry, said: Said, findings: tuple[Finding, ...]) -> Mark:
    if row.outcome == "refused" or any_stop(findings):
        return "stop"
    return "warn" if any_warn(findings) and said.mark == "clear" else said.mark


def _times(row: Entry) -> list[str]:
    """What is to be said of the moment: work entered late, kept on its phone, a clock that is
    off; and whose it was, where a badge was only claimed."""
    at = localtime(row.at)
    words = []
    done_at = row.data.get("done_at")
    if done_at:
        words.append(f"done {clock(moment(done_at), at)}, recorded {at:%H:%M}")
    if row.source == "kept" and row.received_at:
        words.append(f"kept on the phone, received {clock(localtime(row.received_at), at)}")
    if row.sent_by:
        words.append(f"sent under {row.sent_by}")
    if row.claimed_at and abs(in_utc(row.claimed_at) - in_utc(row.at)) > OFF:
        words.append(f"phone clock {clock(row.claimed_at, at)}")
    if row.unproven:
        words.append(f"not proven: {row.unproven}")
    return words


def _plainly(row: Entry, names: Names) -> Said:
    return Said(did="recorded", do="record", object=f"“{row.kind}”")
