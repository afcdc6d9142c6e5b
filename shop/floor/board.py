"""How do things stand? Every question a screen or a print asks of the floor."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import F
from django.utils.timezone import localtime

from shop.catalogue.book import StopSheet
from shop.craft import fit, start
from shop.craft.clocks import What
from shop.craft.finding import Finding, Severity, any_stop, any_warn
from shop.craft.fit.placing import on_its_post
from shop.craft.gauging import Spot
from shop.craft.reading import Reading
from shop.craft.route import topological
from shop.craft.start import Asking, Person
from shop.craft.when import in_utc, on_the_minute, span_words, when_words
from shop.floor import as_built as as_builts
from shop.floor import conditions, course, states, telling, waiting
from shop.floor import history as histories
from shop.floor.deeds import endings, positions, readings, reworks, trays
from shop.floor.deeds.begun import AT_THE_RECORD
from shop.floor.deeds.deed import asking_of
from shop.floor.deeds.gating import against, neck_gate
from shop.floor.deeds.lateness import late_gates
from shop.floor.deeds.trays import close_findings
from shop.floor.models import Body, Entry, HelpCall, Instrument, Neck, Photo, Rework, Step, Tag
from shop.floor.models import Reading as ReadingRow
from shop.floor.state import State
from shop.floor.waiting import WaitRow

__all__ = ["Asking", "State", "WaitRow"]
asking = asking_of
by_tag = states.by_tag
neck_fits = neck_gate
parts = trays.parts
reading_rule = readings.rule_of
machines = positions.machines_of
by_serial = states.by_serial
number_of = states.number_of
waiting_list = waiting.waiting_list
waiting_of = waiting.waiting
doubts = waiting.doubts
neckless = waiting.neckless
reworks_open = waiting.reworks
power_cuts = waiting.power_cuts
undone_by_parting = waiting.undone_by_parting
in_doubt_since = waiting.in_doubt_since
clocks_of = waiting.clocks_of
all_open = states.all_open
room = conditions.room
papers = conditions.papers
comes_off = endings.comes_off
as_built = as_builts.kept
history = histories.history
history_asked = histories.asked
history_groups = telling.GROUPS
serials = histories.serials
serial_of = histories.serial_of


# What the bench itself clears: by a scan, by measuring, by looking at the posts.
CLEARED_HERE = frozenset({"tray scan", "tray stop", "neck scan", "readings", "positions"})
# What a second badge beside clears.
SIGNED_BESIDE = frozenset({"training", "beside"})


@dataclass(frozen=True, slots=True)
class Work:
    """The operation to do now at this station, or what keeps it back."""

    stop: StopSheet | None
    findings: tuple[Finding, ...]
    here: bool
    ready: datetime | None
    ready_words: str = ""

    @property
    def wants_tray(self) -> bool:
        return any(one.rule in {"tray scan", "tray stop"} for one in self.findings)

    @property
    def wants_readings(self) -> bool:
        return any(one.rule == "readings" for one in self.findings)

    @property
    def wants_positions(self) -> bool:
        return any(one.rule == "positions" for one in self.findings)

    @property
    def misplaced(self) -> bool:
        """Whether a machine on another's post holds it, so that another look may free it."""
        placed_here = self.here and self.stop is not None and self.stop.facts.positions
        return placed_here and any(one.rule == on_its_post.id for one in self.held)

    @property
    def wants_neck(self) -> bool:
        return any(one.rule == "neck scan" for one in self.findings)

    @property
    def wants_beside(self) -> bool:
        """Whether what it waits for first is a second badge beside."""
        return self.here and self.blocked and self.held[0].rule in SIGNED_BESIDE

    @property
    def reasons(self) -> tuple[Finding, ...]:
        """What holds it, in the order to clear it. Elsewhere it is somebody else's work: there
        it comes last who signs for it."""
        if self.here:
            return self.held
        return tuple(sorted(self.held, key=lambda one: one.rule in SIGNED_BESIDE))

    @property
    def blocked(self) -> bool:
        return any_stop(self.held)

    @property
    def warned(self) -> bool:
        return any_warn(self.held)

    @property
    def caller(self) -> str:
        """Who can help, of those the stops name."""
        return next((one.call for one in self.held if one.call), "")

    @property
    def held(self) -> tuple[Finding, ...]:
        """What no scan, measure or look at this bench clears by itself."""
        return tuple(one for one in self.findings if one.rule not in CLEARED_HERE)


def work(now: State, asking: Asking, neck: str = "") -> Work:
    """What to do with this instrument where somebody asks: its first open operation at their
    station, else the first one anywhere, with every reason why it cannot start. What is begun
    at their station comes before all. ``neck``: the code of the neck scanned beside it, where
    the operation makes the pair."""
    sheets = [sheet for code in now.next_codes if (sheet := now.sheet.stop(code))]
    here = [sheet for sheet in sheets if sheet.station_code == asking.station]
    if not sheets:
        return Work(None, (), False, None)
    begun = [sheet for sheet in here if now.open and sheet.code == now.open.operation]
    chosen = _first_that_may_start(now, begun or here or sheets, asking)
    findings = against(now, chosen.code, asking, neck)
    ready = start.ready_at(now.stands(asking.at), chosen.code)
    if ready is None or ready <= asking.at:
        return Work(chosen, findings, bool(here), None)
    words = f"Ready {when_words(ready, asking.at)}"
    return Work(chosen, findings, bool(here), ready, words)


def _first_that_may_start(now: State, sheets: Sequence[StopSheet], asking: Asking) -> StopSheet:
    """The first operation nothing holds back, wherever it is; else the first of all."""
    stands = now.stands(asking.at)
    anywhere = replace(asking, late=True)
    free = (one for one in sheets if not any_stop(start.may_start(stands, one.code, anywhere)))
    return next(free, sheets[0])


def measured_wrong(now: State, work: Work) -> tuple[Finding, ...]:
    """The stops that readings raised and that hold this work: measuring again may clear them."""
    by_reading = fit.rules_reading({one.quantity for one in now.readings.values})
    stops = (one for one in work.held if one.severity is Severity.STOP)
    return tuple(one for one in stops if one.rule in by_reading)


@dataclass(frozen=True, slots=True)
class Measured:
    """One value that was entered, in force or corrected since."""

    reading: Reading
    by: str
    at: datetime


def measured(instrument_id: int) -> dict[Spot, tuple[Measured, ...]]:
    """Every value entered at each spot of an instrument, newest first: the first is in force."""
    rows = ReadingRow.objects.filter(instrument_id=instrument_id).order_by("-id")
    columns = ("quantity", "place", "value", "by__code", "at")
    found: dict[Spot, tuple[Measured, ...]] = {}
    for quantity, place, value, by, at in rows.values_list(*columns):
        one = Measured(Reading(quantity, place, value), by, at)
        found[quantity, place] = (*found.get((quantity, place), ()), one)
    return found


@dataclass(frozen=True, slots=True)
class FloorRow:
    """One instrument on the floor list."""

    serial: str
    tag: str
    spec: str
    station: str
    operation: str
    words: str
    ready: datetime | None
    ready_words: str
    due_on: date
    days_late: int
    urgent: bool
    order: str
    tray_state: str
    done: int
    of: int

    @property
    def short_words(self) -> str:
        """Words a filter looks in."""
        late = "late" if self.days_late > 0 else ""
        waiting = "waiting" if self.ready else ""
        known = (self.serial, self.spec, self.station, self.operation, late, waiting, self.order)
        return " ".join(known)


def floor_list(at: datetime, today: date) -> list[FloorRow]:
    """Every open instrument with its next operation; the same few statements for any number."""
    open_now = all_open()
    tags = _live_tags([one.body_id for one in open_now])
    rows = []
    for one in open_now:
        chosen = work(one, Asking(Person(""), "", localtime(at)))
        rows.append(
            FloorRow(
                serial=one.serial,
                tag=tags.get(one.body_id, ""),
                spec=one.sheet.spec.key,
                station=chosen.stop.facts.station if chosen.stop else "Done",
                operation=chosen.stop.code if chosen.stop else "",
                words=chosen.stop.facts.name if chosen.stop else "",
                ready=chosen.ready,
                ready_words=chosen.ready_words,
                due_on=one.due_on,
                days_late=(today - one.due_on).days,
                urgent=one.urgent,
                order=one.order,
                tray_state=one.tray_state,
                done=len(one.done),
                of=len(one.sheet.stops),
            )
        )
    return rows


def tray_outlook(serial: str) -> tuple[Finding, ...]:
    """What stands against closing this instrument's tray, before anybody tries."""
    now = by_serial(serial)
    return close_findings(now) if now else ()


def waiting_parts() -> dict[str, list[dict[str, Any]]]:
    """Bodies and necks in store that no instrument has, none of them scrap."""
    columns = ("serial", "spec__key", "arrived_at")
    free = {"instrument__isnull": True, "scrapped_at__isnull": True}
    return {
        "bodies": list(Body.objects.filter(**free).values(*columns)),
        "necks": list(Neck.objects.filter(**free).values(*columns)),
    }


def calls(whom: Sequence[str]) -> list[dict[str, Any]]:
    """Open calls to these roles, oldest first."""
    rows = HelpCall.objects.filter(whom__in=whom, answered_at__isnull=True)
    return [
        dict(row)
        for row in rows.values(
            "id", "whom", "words", "station", "at", "by__code", "instrument__body__serial"
        )
    ]


def journal(instrument_id: int, newest: int = 200) -> list[dict[str, Any]]:
    """The newest rows of an instrument's journal, newest first."""
    rows = Entry.objects.filter(instrument_id=instrument_id).order_by("-seq")
    columns = (
        "seq", "kind", "outcome", "findings", "data", "reason", "by__code", "station", "at",
    )  # fmt: skip
    return [dict(row) for row in rows.values(*columns)[:newest]]


def photos(instrument_id: int) -> list[dict[str, Any]]:
    """The pictures kept with what was done on an instrument, oldest first."""
    rows = Photo.objects.filter(instrument_id=instrument_id).order_by("id")
    return [dict(row) for row in rows.values("sha256", "view", "operation", "by__code", "at")]


def marks_read(instrument_id: int) -> dict[str, str]:
    """The marks read at the last look at the machines, by the key of each one's post."""
    looks = Entry.objects.filter(
        instrument_id=instrument_id, kind=positions.Placed.kind, outcome="recorded"
    )
    last = looks.order_by("-seq").values_list("data", flat=True).first()
    return dict(last["marks"]) if last else {}


def answered(key: UUID) -> dict[str, Any] | None:
    """What was answered to the act with this key: ``result`` and ``findings``; and what the
    act was, by its ``kind`` and ``data``."""
    rows = Entry.objects.filter(key=key).values("findings", "kind", "data", result=F("outcome"))
    return next((dict(row) for row in rows), None)


def tags_of(serials: Sequence[str]) -> dict[str, dict[str, str]]:
    """For each body serial the live tag codes of its body and its neck."""
    rows = Tag.objects.filter(void_at__isnull=True)
    found: dict[str, dict[str, str]] = {serial: {} for serial in serials}
    for code, serial in rows.filter(body__serial__in=serials).values_list("code", "body__serial"):
        found[serial]["body"] = code
    for code, serial in rows.filter(neck__instrument__body__serial__in=serials).values_list(
        "code", "neck__instrument__body__serial"
    ):
        found[serial]["neck"] = code
    return found


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
    joined = reworks.joined(instrument_id)
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
    return reworks.pending(instrument_id)


@dataclass(frozen=True, slots=True)
class OpenRow:
    """One step that was begun and is not recorded: on which guitar, and who has it."""

    serial: str
    tag: str
    operation: str
    by: str
    since: datetime
    helpers: tuple[str, ...]
    parked: bool
    unsure: bool
    note: str


def open_steps() -> list[OpenRow]:
    """Every step that is open, the one begun first at the head; two statements for any number."""
    begun = Instrument.objects.filter(finished_at__isnull=True).exclude(open_step={})
    rows = list(begun.values_list("body_id", "body__serial", "open_step"))
    tags = _live_tags([body_id for body_id, _, _ in rows])
    found = [
        OpenRow(
            serial=serial,
            tag=tags.get(body_id, ""),
            operation=one.operation,
            by=one.by,
            since=one.since,
            helpers=one.helpers,
            parked=one.parked,
            unsure=one.unsure,
            note=one.note,
        )
        for body_id, serial, kept in rows
        if (one := course.open_step(kept))
    ]
    return sorted(found, key=lambda one: (in_utc(one.since), one.serial))


@dataclass(frozen=True, slots=True)
class FrozenRow:
    """One guitar that waits for the lead: why, who said so, since when."""

    serial: str
    tag: str
    words: str
    by: str
    since: datetime


def frozen_list() -> list[FrozenRow]:
    """Every instrument that is frozen, the longest first; two statements for any number."""
    still = Instrument.objects.filter(ended="").exclude(frozen={})
    rows = list(still.values_list("body_id", "body__serial", "frozen"))
    tags = _live_tags([body_id for body_id, _, _ in rows])
    found = [
        FrozenRow(serial, tags.get(body_id, ""), one.words, one.by, one.since)
        for body_id, serial, kept in rows
        if (one := course.frozen(kept))
    ]
    return sorted(found, key=lambda one: (in_utc(one.since), one.serial))


def _live_tags(bodies: Sequence[int]) -> dict[int | None, str]:
    rows = Tag.objects.filter(body_id__in=bodies, void_at__isnull=True)
    return dict(rows.values_list("body_id", "code"))


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


def may_begin(now: State, work: Work) -> bool:
    """Whether the operation to do here may be begun: nothing is open, and nothing stands
    against it but what is measured and looked at in its course."""
    if work.stop is None or now.open is not None or not work.here:
        return False
    in_its_course = AT_THE_RECORD | fit.rules_reading(work.stop.facts.gauges)
    return not any_stop(one for one in work.findings if one.rule not in in_its_course)


def skipped(now: State, operation: str) -> tuple[StopSheet, ...]:
    """What comes before an operation and is not recorded, in the order to do it."""
    missing = now.sheet.route.before(operation) - now.done_codes
    if not missing:
        return ()
    found = (now.sheet.stop(code) for code in topological(now.sheet.route) if code in missing)
    return tuple(one for one in found if one)


def gap(now: State, station: str) -> tuple[StopSheet, ...]:
    """What is not recorded between where an instrument should be and this station, in its
    order: nothing where an operation of the station is next, or none is left for it."""
    left = [
        one
        for one in now.sheet.stops
        if one.station_code == station and one.code not in now.done_codes
    ]
    if any(one.code in now.next_codes for one in left):
        return ()
    return min((skipped(now, one.code) for one in left), key=len, default=())


def against_late(now: State, operation: str, asking: Asking) -> tuple[Finding, ...]:
    """The stops against recording an operation as done before, at whatever moment it was."""
    sheet = now.sheet.stop(operation)
    done = late_gates(now, sheet, "") if sheet else ()
    late = replace(asking, late=True)
    found = start.may_start(now.stands(asking.at), operation, late, done)
    return tuple(one for one in found if one.severity is Severity.STOP)


def done_before(now: State, operation: str) -> datetime | None:
    """When the last of what comes right before an operation is said to have been done."""
    befores = {step.before for step in now.sheet.route.into(operation)}
    said = (one.claimed or one.at for one in now.done if one.operation in befores)
    return max(said, default=None)
