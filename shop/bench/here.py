"""What is at the station of this phone, what can be done next at the head."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from typing import Final, Literal

from django.core.cache import cache
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from shop.catalogue import book
from shop.craft.rework import REPAIR, LoopFacts
from shop.craft.spreadsheet import cells
from shop.craft.when import on_the_minute, when_words
from shop.floor import board
from shop.floor.board import NextWait, WaitRow
from shop.people.gate import BadgeRequest, fresh, may, needs

State = Literal["begun", "free", "clock", "held"]
"""How an instrument stands at a station: its work there is in hand, can start now, waits for a
clock, or for something else."""
STATES: Final[tuple[State, ...]] = ("begun", "free", "clock", "held")

IN_HAND: Final = frozenset({"open", "parked"})
CLOCKS: Final = frozenset({"wait", "rest"})
LONG_AGO: Final = datetime.min.replace(tzinfo=UTC)

OTHER_EYES: Final = "You worked on this one or looked at it: it needs other eyes."

# What was asked last is kept for every phone, under its mark. A scan screen tells of it without
# asking anew how many there are: its number may be so old.
KEPT: Final = "here"
KEPT_S: Final = 60


@dataclass(frozen=True, slots=True)
class Row:
    """One instrument at a station. ``operation`` is what comes next on it there, empty where
    that is a repair; ``why`` says in a sentence what keeps it back or who has it, if anything
    does; ``ready`` (in UTC) is the end of the clock that it waits for. ``apart`` are the badges
    that may not do it: it needs other eyes."""

    serial: str
    tag: str
    spec: str
    operation: str
    words: str
    due_on: date
    days_late: int
    urgent: bool
    state: State
    why: str
    ready: datetime | None
    apart: frozenset[str] = frozenset()

    @property
    def serial_head(self) -> str:
        return self.serial[:-4]

    @property
    def last_four(self) -> str:
        return self.serial[-4:]

    @property
    def place(self) -> tuple[int, datetime, bool, date, str]:
        """Where it comes in the list of its station: what is in hand, what can start, what a
        clock frees soonest; then the urgent, and what is due soonest."""
        state = STATES.index(self.state)
        ready = self.ready if self.ready and self.state == "clock" else LONG_AGO
        return state, ready, not self.urgent, self.due_on, self.serial


@never_cache
@require_safe
@needs("tag.scan")
def here(request: BadgeRequest) -> HttpResponse:
    """The instruments at the station of this phone: the same list for everybody there, but
    that nobody is offered a look at their own work."""
    station: str = request.session.get("station", "")
    if station not in dict(book.stations()):
        return redirect("bench:station")
    at = timezone.localtime()
    mark = board.mark(at)

    def draw(tag: str) -> HttpResponse:
        rows = [_for(request.user.code, one) for one in at_stations(at, mark).get(station, [])]
        rows.sort(key=lambda row: row.place)
        repairs = station == REPAIR and may(request.user, "floor.see")
        shown = {"rows": rows, "at": at, "fresh": tag, "repairs": repairs}
        return render(request, "bench/here.html", shown)

    return fresh(request, f"{mark} {station}", draw)


@never_cache
@require_safe
@needs("tag.scan")
def here_csv(request: BadgeRequest) -> HttpResponse:
    station: str = request.session.get("station", "")
    at = timezone.localtime()
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="here.csv"'
    sheet = csv.writer(response)
    sheet.writerow(
        [
            "serial", "spec", "operation", "words", "due", "days late", "urgent", "state", "ready",
            "why",
        ]
    )  # fmt: skip
    for one in at_stations(at, board.mark(at)).get(station, []):
        ready = timezone.localtime(one.ready).isoformat(timespec="minutes") if one.ready else ""
        sheet.writerow(
            cells(
                one.serial, one.spec, one.operation, one.words, one.due_on, max(0, one.days_late),
                "urgent" if one.urgent else "", one.state, ready, one.why,
            )
        )  # fmt: skip
    return response


def _for(badge: str, row: Row) -> Row:
    """The row as this badge sees it: what it may not do for having done what is judged there
    is not offered, and says why."""
    if badge not in row.apart or row.state == "held":
        return row
    return replace(row, state="held", why=OTHER_EYES)


def counted(station: str) -> int | None:
    """How many are at a station, where that was asked a short while ago; no statement."""
    kept = cache.get(KEPT)
    return len(kept[1].get(station, ())) if kept else None


def at_stations(at: datetime, mark: str) -> dict[str, list[Row]]:
    """What is at each station, by its code: in the same few statements for any number of
    instruments, and in none where it was asked already since the floor had this mark."""
    kept = cache.get(KEPT)
    if kept and kept[0] == mark:
        known: dict[str, list[Row]] = kept[1]
        return known
    waits = board.waiting_list(at)
    tags = board.tags_of([one.serial for one in waits])
    repairs = _repairs()
    rows: dict[str, list[Row]] = {}
    for one in waits:
        tag = tags[one.serial].get("body", "")
        for station, row in _of(one, tag, repairs.get(one.serial), at):
            rows.setdefault(station, []).append(row)
    for found in rows.values():
        found.sort(key=lambda row: row.place)
    cache.set(KEPT, (mark, rows), KEPT_S)
    return rows


def _of(one: WaitRow, tag: str, loop: LoopFacts | None, at: datetime) -> Iterator[tuple[str, Row]]:
    """The row of one instrument at each station where something comes next on it, or where it
    is repaired. Of several operations at a station it is the first that nothing keeps back."""

    def row(
        operation: str,
        words: str,
        state: State,
        why: str,
        ready: datetime | None = None,
        apart: frozenset[str] = frozenset(),
    ) -> Row:
        return Row(
            serial=one.serial,
            tag=tag,
            spec=one.spec,
            operation=operation,
            words=words,
            due_on=one.due_on,
            days_late=(at.date() - one.due_on).days,
            urgent=one.urgent,
            state=state,
            why=why,
            ready=ready,
            apart=apart,
        )

    at_each: dict[str, list[NextWait]] = {}
    for each in one.nexts:
        at_each.setdefault(each.station_code, []).append(each)
    for station, nexts in at_each.items():
        each = min(nexts, key=lambda it: (it.code != one.begun, bool(it.reasons)))
        yield station, row(each.code, each.name, *_state(one, each, at), each.ready, each.apart)
    if loop is not None and (repair := _at_repair(one)):
        yield loop.station_code, row("", loop.title, *repair)


def _at_repair(one: WaitRow) -> tuple[State, str] | None:
    """How its repair stands, in a sentence; nothing where it goes on at its stations already."""
    whole = one.whole
    if one.nexts and not any(it.rule == "rework" for it in whole):
        return None
    if whole and whole[0].rule != "rework":  # frozen, say: that is for Repair too
        return "held", whole[0].words
    return "free", whole[0].words if whole else ""


def _state(one: WaitRow, each: NextWait, at: datetime) -> tuple[State, str]:
    """How an operation stands, and in one sentence why it does not start now."""
    if not each.reasons:
        return "free", ""
    first = each.reasons[0]
    if each.code == one.begun and first.rule in IN_HAND:
        return "begun", first.words
    if first.rule in CLOCKS and each.ready:
        return "clock", f"Ready {when_words(on_the_minute(each.ready), at)}"
    return "held", first.words


def _repairs() -> dict[str, LoopFacts]:
    """The loop of each instrument whose repair is not recorded yet, by serial."""
    open_now = [one for one in board.reworks_open() if one.repaired_at is None]
    known = {one.key: one for one in book.loops()} if open_now else {}
    found = ((one.serial, known.get(one.loop) or book.loop(one.loop)) for one in open_now)
    return {serial: loop for serial, loop in found if loop}
