"""What is kept of one instrument: its measures, its loops, its hold, its rows."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import F
from django.utils import timezone
from django.utils.timezone import localtime

from shop.craft.clocks import What
from shop.craft.finding import Finding
from shop.craft.gauging import Spot
from shop.craft.reading import Reading
from shop.craft.when import in_utc, on_the_minute, span_words, when_words
from shop.floor import photos as pictures
from shop.floor import states
from shop.floor.deeds import loops, positions, reworks
from shop.floor.deeds.trays import close_findings
from shop.floor.models import Entry, Photo, Rework, Step
from shop.floor.models import Reading as ReadingRow
from shop.floor.state import State


@dataclass(frozen=True, slots=True)
class Measured:
    """One value that was entered, in force or corrected since. ``tool`` is the gauge it was
    read with, "" where nobody said; ``overdue``: that one was not checked in time."""

    reading: Reading
    by: str
    at: datetime
    tool: str = ""
    overdue: bool = False


def measured(instrument_id: int) -> dict[Spot, tuple[Measured, ...]]:
    """Every value entered at each spot of an instrument, newest first: the first is in force."""
    rows = ReadingRow.objects.filter(instrument_id=instrument_id).order_by("-id")
    columns = ("quantity", "place", "value", "by__code", "at", "tool__name", "overdue")
    found: dict[Spot, tuple[Measured, ...]] = {}
    for quantity, place, value, by, at, tool, overdue in rows.values_list(*columns):
        one = Measured(Reading(quantity, place, value), by, at, tool or "", overdue)
        found[quantity, place] = (*found.get((quantity, place), ()), one)
    return found


def tray_outlook(serial: str) -> tuple[Finding, ...]:
    """What stands against closing this instrument's tray, before anybody tries."""
    now = states.by_serial(serial)
    return close_findings(now, timezone.now()) if now else ()


def journal(instrument_id: int, newest: int = 200) -> list[dict[str, Any]]:
    """The newest rows of an instrument's journal, newest first."""
    rows = Entry.objects.filter(instrument_id=instrument_id).order_by("-seq")
    columns = (
        "seq", "kind", "outcome", "findings", "data", "reason", "by__code", "station", "at",
    )  # fmt: skip
    return [dict(row) for row in rows.values(*columns)[:newest]]


def photos(instrument_id: int) -> list[dict[str, Any]]:
    """The pictures kept with what was done on an instrument, oldest first; ``there`` says
    whether the file of each still is."""
    rows = Photo.objects.filter(instrument_id=instrument_id).order_by("id")
    columns = ("sha256", "view", "operation", "by__code", "at", "entry__seq")
    return [dict(row) | {"there": pictures.there(row["sha256"])} for row in rows.values(*columns)]


def marks_read(instrument_id: int) -> dict[str, str]:
    """The marks read at the last look at the machines, by the key of each one's post."""
    looks = Entry.objects.filter(
        instrument_id=instrument_id, kind=positions.Placed.kind, outcome="recorded"
    )
    last = looks.order_by("-seq").values_list("data", flat=True).first()
    return dict(last["marks"]) if last else {}


def answered(key: UUID) -> dict[str, Any] | None:
    """What was answered to the act with this key: ``result`` and ``findings``; and what the
    act was, by its ``kind`` and ``data``, and by the ``sent_mark`` of what a phone sent."""
    rows = Entry.objects.filter(key=key).values(
        "findings", "kind", "data", "sent_mark", result=F("outcome")
    )
    return next((dict(row) for row in rows), None)


@dataclass(frozen=True, slots=True)
class LoopRow:
    """One loop an instrument was sent on. ``turn`` counts those of its kind, ``joined`` are the
    loops of what was found while it was on this one. ``repair_took`` is from being found to
    being repaired, ``took`` to the last check done again."""

    loop: str
    joined: tuple[str, ...]
    turn: int
    word: str
    words: str
    found_at: str
    redo: tuple[str, ...]
    opened_at: datetime
    repaired_at: datetime | None
    repaired_by: str
    dry_until: datetime | None
    closed_at: datetime | None

    @property
    def repair_took(self) -> timedelta | None:
        return self.repaired_at - self.opened_at if self.repaired_at else None

    @property
    def took(self) -> timedelta | None:
        return self.closed_at - self.opened_at if self.closed_at else None

    @property
    def took_words(self) -> str:
        return span_words(self.took) if self.took is not None else ""


def loops_of(instrument_id: int) -> tuple[LoopRow, ...]:
    """The loops of an instrument, oldest first; the last is open where it has no end."""
    counted: Counter[str] = Counter()
    joined = loops.joined(instrument_id)
    found = []
    for row in Rework.objects.filter(instrument_id=instrument_id):
        counted[row.loop] += 1
        found.append(
            LoopRow(
                loop=row.loop,
                joined=joined[row.entry_id],
                turn=counted[row.loop],
                word=row.word,
                words=row.words,
                found_at=row.found_at,
                redo=tuple(row.redo),
                opened_at=row.opened_at,
                repaired_at=row.repaired_at,
                repaired_by=row.repaired_by,
                dry_until=row.dry_until,
                closed_at=row.closed_at,
            )
        )
    return tuple(found)


@dataclass(frozen=True, slots=True)
class HoldView:
    """The days in the case as a screen tells them: when they are over, and what moved that.

    ``words`` is "Ready Fri 14:10", or what keeps them from running.
    """

    words: str
    ready: datetime | None
    passed: bool
    started_words: str
    because: tuple[str, ...]
    halted: str
    out_since: datetime | None
    out_words: str
    touch_up: bool
    crack_check: bool


def hold(now: State, at: datetime) -> HoldView | None:
    """How the days in the case of an instrument stand; none while they have not begun."""
    local = localtime(at)
    held = now.held(local)
    if held is None:
        return None
    ready = on_the_minute(held.ready) if held.ready else None
    out = reworks.out_of_case(now)
    return HoldView(
        words=f"Ready {when_words(ready, local)}" if ready else held.halted,
        ready=ready,
        passed=ready is not None and ready <= in_utc(at),
        started_words=when_words(held.started, local),
        because=held.because,
        halted=held.halted,
        out_since=out.at if out else None,
        out_words=f"Out of its case since {when_words(out.at, local)}" if out else "",
        touch_up=out is not None and out.what is What.TOUCHED_UP,
        crack_check=held.crack_check,
    )


def to_repair(instrument_id: int) -> tuple[dict[str, Any], ...]:
    """What is still to be repaired on an instrument, as it was when it was sent: ``title``,
    ``work``, ``station``, ``word``, ``words``, ``dries_h`` of each loop."""
    return loops.pending(instrument_id)


@dataclass(frozen=True, slots=True)
class DoubtRow:
    """One step that is still to be confirmed or struck, by the number of its journal row."""

    seq: int
    operation: str
    by: str
    at: datetime
    doubt: str


def doubtful(instrument_id: int) -> list[DoubtRow]:
    """The steps of an instrument that are in doubt, the oldest first."""
    rows = Step.objects.filter(instrument_id=instrument_id, void_at__isnull=True)
    columns = ("seq", "operation__code", "by__code", "at", "doubt")
    return [DoubtRow(*row) for row in rows.exclude(doubt="").values_list(*columns)]
