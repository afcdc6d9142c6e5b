"""What everything on the floor waits for, and what waits for the lead."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from typing import Any, Final

from django.db.models import OuterRef, Subquery
from django.utils.timezone import localtime

from shop.catalogue.book import StopSheet
from shop.craft.clocks import Held
from shop.craft.finding import Finding, Severity, stop
from shop.craft.fit import moment
from shop.craft.fit.moment import Moment
from shop.craft.hardware import Call
from shop.craft.route import hold_of
from shop.craft.start import Asking, Person, kept_apart, may_start, ready_at
from shop.craft.when import in_utc
from shop.craft.words import listed
from shop.floor import conditions, course, states
from shop.floor.deeds.gating import neck_gate, position_gate, reading_gate, tray_gate
from shop.floor.models import Entry, Instrument, Permit, Rework, Step
from shop.floor.state import State, departures_of
from shop.stock import shelf

# What a person brings along, or what is scanned and measured once the work is in hand: an
# instrument does not wait for these.
NO_WAIT: Final = frozenset(
    {"person", "training", "beside", "tray scan", "neck scan", "readings", "positions"}
)
# What keeps a whole instrument back, whatever comes next on it.
WHOLE: Final = frozenset({"frozen", "power cut", "parked", "open", "rework"})

# --- why everything waits ---


@dataclass(frozen=True, slots=True)
class NextWait:
    """One operation that comes next: every reason why nobody can start it now, and from when
    (in UTC) no clock keeps it back, where that is still to come and known. ``apart`` are the
    badges that may not do it, because it needs other eyes."""

    code: str
    name: str
    station: str
    station_code: str
    reasons: tuple[Finding, ...]
    ready: datetime | None
    apart: frozenset[str] = frozenset()

    @property
    def own(self) -> tuple[Finding, ...]:
        """The reasons that hold this operation alone."""
        return tuple(one for one in self.reasons if one.rule not in WHOLE)


@dataclass(frozen=True, slots=True)
class WaitRow:
    """One instrument with all that comes next on it. ``marks`` are the words it is found by:
    "frozen", "rework", "hold", "open" and the like; ``begun`` the operation that is open."""

    serial: str
    spec: str
    due_on: date
    urgent: bool
    begun: str
    marks: tuple[str, ...]
    nexts: tuple[NextWait, ...]

    @property
    def whole(self) -> tuple[Finding, ...]:
        """The reasons that hold all of it, each once."""
        reasons = (one for each in self.nexts for one in each.reasons if one.rule in WHOLE)
        return tuple(dict.fromkeys(reasons))

    @property
    def words(self) -> str:
        """Every reason in one line, those of one operation behind its code."""
        own = (f"{each.code}: {one.words}" for each in self.nexts for one in each.own)
        return " ".join([*(one.words for one in self.whole), *own])

    def first(self, code: str) -> Finding | None:
        """The first reason why the operation with this code cannot start now."""
        found = (one for each in self.nexts if each.code == code for one in each.reasons)
        return next(found, None)


def waiting(now: State, at: datetime) -> WaitRow:
    """What one instrument waits for."""
    return _row(now, _around([now]), localtime(at))


def waiting_list(at: datetime) -> list[WaitRow]:
    """Every open instrument, soonest due first, with each operation that comes next and every
    reason why it cannot start now, whoever would do it. The same few statements for any
    number of them."""
    them = _departed(states.all_open())
    around = _around(them)
    return [_row(one, around, localtime(at)) for one in them]


@dataclass(frozen=True, slots=True)
class _Around:
    """What stands round all the instruments, read together."""

    short: Mapping[int, tuple[str, ...]] = field(default_factory=dict)  # by tray: items missing
    permits: Mapping[int, frozenset[str]] = field(default_factory=dict)  # by instrument: woods


def _around(them: list[State]) -> _Around:
    permits: dict[int, set[str]] = {}
    if abroad := [one.id for one in them if one.destination]:
        rows = Permit.objects.filter(instrument_id__in=abroad).order_by()
        for number, wood in rows.values_list("instrument_id", "wood"):
            permits.setdefault(number, set()).add(wood)
    unclosed = any(one.tray_state != "closed" for one in them)
    trays = shelf.trays(date.max) if unclosed else []
    return _Around(
        short={
            tray["id"]: tuple(
                line["article"].key for line in tray["lines"] if line["state"] == "short"
            )
            for tray in trays
        },
        permits={number: frozenset(woods) for number, woods in permits.items()},
    )


def _departed(them: list[State]) -> list[State]:
    """The same instruments, with where they depart from their specs read at once for all."""
    found = departures_of([one.id for one in them if one.deviations_count])
    return [replace(one, departed=found.get(one.id, ())) for one in them] if found else them


def _row(now: State, around: _Around, at: datetime) -> WaitRow:
    stands = now.stands(at)
    nexts = []
    for code in now.next_codes:
        sheet = now.sheet.stop(code)
        assert sheet is not None  # what comes next is on the sheet's own route
        asking = Asking(Person(""), sheet.station_code, at)
        found = may_start(stands, code, asking, tuple(_work(now, sheet, around, at)))
        reasons = tuple(
            one for one in found if one.severity is Severity.STOP and one.rule not in NO_WAIT
        )
        ready = ready_at(stands, code)
        later = ready if ready is not None and ready > in_utc(at) else None
        nexts.append(
            NextWait(
                code,
                sheet.facts.name,
                sheet.facts.station,
                sheet.station_code,
                reasons,
                later,
                kept_apart(stands, sheet.facts, at),
            )
        )
    return WaitRow(
        serial=now.serial,
        spec=now.sheet.spec.key,
        due_on=now.due_on,
        urgent=now.urgent,
        begun=now.open.operation if now.open else "",
        marks=tuple(_marks(now, stands.held, around, at)),
        nexts=tuple(nexts),
    )


def _work(now: State, sheet: StopSheet, around: _Around, at: datetime) -> Iterator[Finding]:
    """What tray, readings, posts, neck and room say against an operation at its station."""
    yield from _tray(now, sheet, around)
    yield from _readings(now, sheet)
    yield from position_gate(now, sheet)
    if now.neck is None and sheet.code in now.sheet.route.of_the_neck:
        yield from neck_gate(now, "")
    yield from _conditions(now, sheet, around, at)


def _tray(now: State, sheet: StopSheet, around: _Around) -> Iterator[Finding]:
    if sheet.facts.needs != "tray" or now.tray_state == "closed":
        yield from tray_gate(now, sheet.code, sheet.station_code)
    elif missing := around.short.get(now.tray_id):
        yield stop(
            "tray short",
            f"The tray of {now.serial} is short of {listed(missing)}.",
            "Kitting fills it once the parts are there.",
            call="clerk",
        )
    else:
        yield stop(
            "tray not closed",
            f"The tray of {now.serial} is {_TRAY[now.tray_state]}.",
            "Kitting picks and closes it.",
            call="clerk",
        )


_TRAY: Final = {"asked": "not picked yet", "picked": "picked and not closed yet"}


def _readings(now: State, sheet: StopSheet) -> tuple[Finding, ...]:
    """What was measured, as it was judged last. To judge it by a limit set since, the parts of
    each tray would have to be read: the next scan does that."""
    stood = now.standing.get("readings", ())
    if not (stood and now.judged_before):
        return reading_gate(now, sheet)
    facts = sheet.facts
    if not (facts.irreversible or facts.freezes or facts.gauges or facts.positions):
        return ()
    words = f"What was measured on {now.serial} stood against it, and a limit was set since."
    stops = any(one.severity is Severity.STOP for one in stood)
    found = stop("judged before", words, "Scan it at its bench: it is judged anew.", call="")
    return (found,) if stops else ()


def _conditions(now: State, sheet: StopSheet, around: _Around, at: datetime) -> Iterator[Finding]:
    """The room, the finish and the element by themselves, and the papers by what was read for
    all instruments together."""
    facts = sheet.facts
    unpapered = replace(sheet, facts=replace(facts, papers=False))
    yield from conditions.gate(now, unpapered, at)
    if facts.papers and now.destination:
        seen = Moment(
            operation=replace(facts, glue="", finish_age=""),
            at=at,
            destination=now.destination,
            permits=around.permits.get(now.id, frozenset()),
        )
        yield from moment.judge(seen, Call(serial=now.serial, spec=now.sheet.spec, kit=()))


def _marks(now: State, held: Held | None, around: _Around, at: datetime) -> Iterator[str]:
    if now.frozen:
        yield "frozen"
    if now.rework:
        yield "rework"
    if held and not _passed(now, held, at):
        yield "hold"
    if now.open:
        yield "open"
        if now.open.parked:
            yield "parked"
        if now.open.unsure:
            yield "power cut"
    if now.neck is None:
        yield "no neck"
    if any(one.doubt for one in now.done):
        yield "doubt"
    if around.short.get(now.tray_id):
        yield "short"


def _passed(now: State, held: Held, at: datetime) -> bool:
    """Whether the days in the case are over, or what they are for is done already."""
    hold = hold_of(now.sheet.route)
    if hold is not None and hold.after in now.done_codes:
        return True
    return held.ready is not None and held.ready <= in_utc(at)


# --- what waits for the lead ---


@dataclass(frozen=True, slots=True)
class DoubtsRow:
    """An instrument with steps that are still to be confirmed or struck."""

    serial: str
    operations: tuple[str, ...]
    words: tuple[str, ...]  # why, each once
    since: datetime  # when the first of them was done


def doubts() -> list[DoubtsRow]:
    """Every instrument with steps in doubt, the oldest doubt first; one statement."""
    rows = Step.objects.filter(void_at__isnull=True, instrument__ended="").exclude(doubt="")
    columns = ("instrument__body__serial", "operation__code", "doubt", "at")
    found: dict[str, list[tuple[str, str, datetime]]] = {}
    for serial, *step in rows.order_by("at", "id").values_list(*columns):
        found.setdefault(serial, []).append((step[0], step[1], step[2]))
    return [
        DoubtsRow(
            serial=serial,
            operations=tuple(code for code, _, _ in steps),
            words=tuple(dict.fromkeys(doubt for _, doubt, _ in steps)),
            since=steps[0][2],
        )
        for serial, steps in found.items()
    ]


@dataclass(frozen=True, slots=True)
class NecklessRow:
    """An instrument whose neck parted from it, and that has no other yet."""

    serial: str
    since: datetime | None
    why: str


def neckless() -> list[NecklessRow]:
    """Every open instrument without a neck, the longest first; one statement."""
    parted = Entry.objects.filter(
        instrument=OuterRef("pk"), kind="unpaired", outcome="recorded"
    ).order_by("-seq")
    rows = Instrument.objects.filter(neck__isnull=True, finished_at__isnull=True).annotate(
        parted_at=Subquery(parted.values("at")[:1]), why=Subquery(parted.values("reason")[:1])
    )
    found = rows.order_by("parted_at", "id").values_list("body__serial", "parted_at", "why")
    return [NecklessRow(serial, at, why or "") for serial, at, why in found]


@dataclass(frozen=True, slots=True)
class ReworkRow:
    """An instrument on a loop, since when, and whether the repair itself is done."""

    serial: str
    loop: str
    word: str
    words: str
    since: datetime
    repaired_at: datetime | None


def reworks() -> list[ReworkRow]:
    """Every open loop, the longest first; one statement."""
    rows = Rework.objects.filter(closed_at__isnull=True).order_by("opened_at", "id")
    columns = ("instrument__body__serial", "loop", "word", "words", "opened_at", "repaired_at")
    return [ReworkRow(*row) for row in rows.values_list(*columns)]


@dataclass(frozen=True, slots=True)
class CutLine:
    """One step that was open in a power cut. ``answer``: how its cut was found afterwards,
    empty while nobody has looked; ``unknown`` as long as it still has to be looked at."""

    serial: str
    operation: str
    by: str
    machine: bool
    answer: str = ""
    seen_by: str = ""
    unknown: bool = False


@dataclass(frozen=True, slots=True)
class CutRow:
    """One power cut, as it was noted, with every step that was open in it."""

    began: datetime
    ended: datetime
    by: str
    lines: tuple[CutLine, ...]

    @property
    def unknown(self) -> int:
        return sum(one.unknown for one in self.lines)


def power_cuts(newest: int = 5) -> list[CutRow]:
    """The last power cuts, newest first, each with how its cuts were found; three statements."""
    cuts = Entry.objects.filter(kind="power cut", outcome="recorded").order_by("-pk")
    rows = list(cuts.values_list("pk", "data", "who")[:newest])
    numbers = {one["instrument_id"] for _, said, _ in rows for one in said["open"]}
    seen = Entry.objects.filter(instrument_id__in=numbers, kind="cut seen", outcome="recorded")
    answers = list(seen.order_by("pk").values_list("pk", "instrument_id", "data", "who"))
    begun = Instrument.objects.filter(pk__in=numbers, finished_at__isnull=True)
    open_now = dict(begun.exclude(open_step={}).values_list("pk", "open_step"))
    return [
        CutRow(
            began=course.moment(said["began"]),
            ended=course.moment(said["ended"]),
            by=who,
            lines=tuple(_cut_line(one, pk, answers, open_now) for one in said["open"]),
        )
        for pk, said, who in rows
    ]


def _cut_line(
    one: Mapping[str, Any],
    cut: int,
    answers: Iterable[tuple[int, int | None, dict[str, Any], str]],
    open_now: Mapping[int, Any],
) -> CutLine:
    number = one["instrument_id"]
    said = next((it for it in answers if it[1] == number and it[0] > cut), None)
    still = course.open_step(open_now.get(number, {}))
    return CutLine(
        serial=one["serial"],
        operation=one["operation"],
        by=one["by"],
        machine=one["machine"],
        answer=said[2]["answer"] if said else "",
        seen_by=said[3] if said else "",
        unknown=said is None
        and still is not None
        and still.unsure
        and still.operation == one["operation"],
    )


# --- what would follow ---


def undone_by_parting(now: State) -> tuple[str, ...]:
    """The operations that count now and would be done again with another neck."""
    again = now.sheet.route.of_the_neck
    return tuple(one.code for one in now.sheet.stops if one.code in now.done_codes & again)


def in_doubt_since(now: State, since: datetime) -> tuple[str, ...]:
    """The operations recorded from a moment on."""
    rows = Step.objects.filter(instrument_id=now.id, void_at__isnull=True, entry__at__gte=since)
    return tuple(rows.order_by("seq").values_list("operation__code", flat=True))


@dataclass(frozen=True, slots=True)
class Clock:
    """A wait on the route of an instrument that a lead may lengthen, as it stands: its hours
    of old, and those added."""

    name: str
    wait: timedelta
    added: timedelta


def clocks_of(now: State) -> tuple[Clock, ...]:
    """The waits of an instrument by name, in the order of its route."""
    waits: dict[str, timedelta] = {}
    place = {one.code: number for number, one in enumerate(now.sheet.stops)}
    for one in sorted(
        now.sheet.route.precedences, key=lambda it: (place[it.before], place[it.after])
    ):
        if one.clock:
            waits[one.clock] = max(one.wait, waits.get(one.clock, timedelta()))
    return tuple(
        Clock(name, wait, now.longer.get(name, timedelta())) for name, wait in waits.items()
    )
