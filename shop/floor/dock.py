"""What stands on the dock in its carton, and the lists by which carriers took others."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from uuid import UUID

from django.db.models import Count, Exists, OuterRef, QuerySet

from shop.craft import leaving
from shop.craft.finding import Finding
from shop.floor import states
from shop.floor.deeds import cartons, dock
from shop.floor.models import Carton, Manifest
from shop.floor.state import State


@dataclass(frozen=True, slots=True)
class CartonRow:
    """A carton: whose it is, the code on its label, who made it up and when; ``manifest`` is
    the number of the list it left on, "" while it is here. ``why`` says in a sentence what keeps
    it here, where something does."""

    number: int  # of the instrument
    serial: str
    spec: str
    label: str
    by: str
    at: datetime
    order: str
    destination: str
    due_on: date
    manifest: str = ""
    carrier: str = ""
    gone_at: datetime | None = None
    why: str = ""


@dataclass(frozen=True, slots=True)
class ManifestRow:
    """A list by which a carrier took cartons."""

    number: str
    carrier: str
    count: int
    at: datetime
    by: str


@dataclass(frozen=True, slots=True)
class ManifestSheet:
    """A list with its cartons, by serial."""

    number: str
    carrier: str
    counted: int
    at: datetime
    by: str
    cartons: tuple[CartonRow, ...]

    @property
    def count(self) -> int:
        return len(self.cartons)


def carton_of(now: State) -> CartonRow | None:
    """The carton an instrument lies in now, or left in."""
    one = cartons.standing(now)
    return next(iter(_rows(Carton.objects.filter(pk=one.pk))), None) if one else None


def last_carton_of(now: State) -> CartonRow | None:
    """The newest carton it ever lay in, whether or not it was worked on since."""
    newest = Carton.objects.filter(instrument_id=now.id).order_by("-id")[:1]
    return next(
        iter(_rows(Carton.objects.filter(pk__in=list(newest.values_list("pk", flat=True))))), None
    )


def at_dock() -> tuple[CartonRow, ...]:
    """All that is boxed and not handed over, soonest due first; the same few statements for
    any number. What was worked on since it was boxed is left out: it has to be boxed again."""
    later = Carton.objects.filter(instrument=OuterRef("instrument"), pk__gt=OuterRef("pk"))
    here = Carton.objects.filter(~Exists(later), manifest__isnull=True, instrument__ended="")
    newest = list(_rows(here))
    them = states.by_serials([one.serial for one in newest])
    found = []
    for one in newest:
        now = them.get(one.serial)
        if now is None or now.finished_at is not None or not _stands(now):
            continue
        found.append(_with_why(one, now))
    return tuple(sorted(found, key=lambda one: (one.due_on, one.serial)))


def _stands(now: State) -> bool:
    """Whether it is released and boxed still."""
    route = now.sheet.route
    boxed = leaving.boxing(route)
    return not cartons.unreleased(now) and (not boxed or boxed in now.done_codes)


def _with_why(one: CartonRow, now: State) -> CartonRow:
    words = ""
    if now.frozen:
        words = f"Frozen: {now.frozen.words}"
    elif now.rework:
        words = f"At rework: {now.rework.words}"
    return replace(one, why=words) if words else one


def carton_scanned(code: str) -> tuple[str, Finding | None]:
    """The serial of the carton with this code on its label, or why it is none to hand over: it
    no longer says what is so, too."""
    serial, wrong = dock.label_of(code)
    now = None if wrong else states.by_serial(serial)
    if now is not None:
        wrong = next(iter(dock.label_says(now, code)), None)
    return ("" if wrong else serial), wrong


def manifests(newest: int = 50) -> tuple[ManifestRow, ...]:
    """The newest lists first."""
    rows = Manifest.objects.annotate(count=Count("cartons")).order_by("-id")
    columns = ("number", "carrier", "count", "at", "by__code")
    return tuple(ManifestRow(*row) for row in rows.values_list(*columns)[:newest])


def manifests_by_number(numbers: Sequence[str]) -> dict[str, ManifestSheet]:
    """Those of these lists that there are, each with its cartons; two statements."""
    lists = list(Manifest.objects.filter(number__in=numbers).select_related("by"))
    rows = Carton.objects.filter(manifest__in=[one.pk for one in lists])
    by_list: dict[str, list[CartonRow]] = {}
    for row in _rows(rows):
        by_list.setdefault(row.manifest, []).append(row)
    return {
        one.number: ManifestSheet(
            one.number, one.carrier, one.counted, one.at, one.by.code,
            tuple(sorted(by_list.get(one.number, ()), key=lambda row: row.serial)),
        )
        for one in lists
    }  # fmt: skip


def manifest(number: str) -> ManifestSheet | None:
    return manifests_by_number([number]).get(number)


def _rows(rows: QuerySet[Carton]) -> Iterator[CartonRow]:
    columns = (
        "instrument_id", "instrument__body__serial", "instrument__revision__spec__key", "label",
        "by__code", "at", "instrument__order", "instrument__destination", "instrument__due_on",
        "manifest__number", "manifest__carrier", "manifest__at",
    )  # fmt: skip
    for row in rows.order_by("id").values_list(*columns):
        carton = CartonRow(*row)
        yield replace(carton, manifest=carton.manifest or "", carrier=carton.carrier or "")


def manifest_of(key: UUID) -> str:
    """The number of the list that an act made; "" where it made none."""
    found = Manifest.objects.filter(entry__key=key).values_list("number", flat=True)
    return found.first() or ""
