"""How do things stand? Every question a screen or a print asks of the floor."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.db.models import F
from django.utils.timezone import localtime

from shop.catalogue.book import StopSheet
from shop.craft import fit
from shop.craft.finding import Finding, Severity, any_stop, any_warn, worst_first
from shop.craft.fit.placing import on_its_post
from shop.craft.gauging import Spot
from shop.craft.reading import Reading
from shop.craft.route import may_start, ready_at
from shop.craft.when import when_words
from shop.floor import conditions
from shop.floor import state as states
from shop.floor.deeds import positions, readings, trays
from shop.floor.deeds.steps import gates_of, neck_gate
from shop.floor.deeds.trays import close_findings
from shop.floor.models import Body, Entry, HelpCall, Neck, Photo, Tag
from shop.floor.models import Reading as ReadingRow
from shop.floor.state import State

__all__ = ["State"]
by_tag = states.by_tag
neck_fits = neck_gate
parts = trays.parts
reading_rule = readings.rule_of
machines = positions.machines_of
by_serial = states.by_serial
number_of = states.number_of
all_open = states.all_open
room = conditions.room
papers = conditions.papers


# What the bench itself clears: by a scan, by measuring, by looking at the posts.
CLEARED_HERE = frozenset({"tray scan", "tray stop", "neck scan", "readings", "positions"})


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


def work(now: State, station: str, badge: str, at: datetime, neck: str = "") -> Work:
    """What to do with this instrument at this station: its first open operation here,
    else the first one anywhere, with every reason why it cannot start. ``neck``: the code
    of the neck scanned beside it, where the operation makes the pair."""
    at = localtime(at)  # times are said on the shop's wall clock
    sheets = [sheet for code in now.next_codes if (sheet := now.sheet.stop(code))]
    here = [sheet for sheet in sheets if sheet.station_code == station]
    if not sheets:
        return Work(None, (), False, None)
    chosen, held_back = _first_that_may_start(now, here or sheets, badge, at)
    findings = (*held_back, *gates_of(now, chosen.code, station, at, neck))
    ready = ready_at(now.sheet.route, chosen.code, now.done)
    if ready is None or ready <= at:
        return Work(chosen, worst_first(findings), bool(here), None)
    words = f"Ready {when_words(ready, at)}"
    return Work(chosen, worst_first(findings), bool(here), ready, words)


def _first_that_may_start(
    now: State, sheets: Sequence[StopSheet], badge: str, at: datetime
) -> tuple[StopSheet, tuple[Finding, ...]]:
    """The first operation nothing holds back, else the first with what holds it back."""
    first: tuple[Finding, ...] = ()
    for sheet in sheets:
        findings = may_start(now.sheet.route, sheet.code, now.done, badge, at)
        if not findings:
            return sheet, ()
        first = first or findings
    return sheets[0], first


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
    tags = dict(
        Tag.objects.filter(
            body_id__in=[one.body_id for one in open_now], void_at__isnull=True
        ).values_list("body_id", "code")
    )
    rows = []
    for one in open_now:
        chosen = work(one, "", "", at)
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
    """Bodies and necks in store that no instrument has yet."""
    columns = ("serial", "spec__key", "arrived_at")
    return {
        "bodies": list(Body.objects.filter(instrument__isnull=True).values(*columns)),
        "necks": list(Neck.objects.filter(instrument__isnull=True).values(*columns)),
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
    """What was answered to the act with this key: ``result`` and ``findings``."""
    rows = Entry.objects.filter(key=key).values("findings", result=F("outcome"))
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
