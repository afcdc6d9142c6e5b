"""The floor in lists: each read in the same few statements for any number of instruments."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.utils.timezone import localtime

from shop.craft.start import Asking, Person
from shop.craft.when import in_utc
from shop.floor import course, states
from shop.floor.models import Body, HelpCall, Instrument, Neck, Tag
from shop.floor.working import work


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
    open_now = states.all_open()
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
