"""One instrument as it stands now, read in two or three statements."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime
from functools import cached_property
from typing import Any

from django.db import connection

from shop.catalogue import book
from shop.catalogue.book import KitItem, Sheet
from shop.craft.hardware import Article, Call, Wanted
from shop.craft.route import Done, next_up
from shop.database.statement import Statement
from shop.floor.models import Deviation, Instrument, Step, Tag

COLUMNS = (
    "id", "body_id", "body__serial", "neck_id", "neck__serial", "revision_id",
    "revision__version", "due_on", "release_on", "urgent", "order", "tray_id", "tray__code",
    "tray__state", "tray__version", "deviations_count", "checked_version", "checked_station",
    "checked_worst", "seq", "finished_at",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Departure:
    """One deviation from the spec."""

    words: str
    approved: str
    out_key: str | None
    into: Article | None
    into_id: int | None


@dataclass(frozen=True)
class State:
    """An instrument with its sheet, its deviations and the steps done."""

    id: int
    body_id: int
    serial: str
    neck_id: int
    neck: str
    revision_id: int
    version: int
    due_on: date
    release_on: date
    urgent: bool
    order: str
    tray_id: int
    tray_code: str
    tray_state: str
    tray_version: int
    deviations_count: int
    checked_version: int | None
    checked_station: str
    checked_worst: str
    seq: int
    finished_at: datetime | None
    done: tuple[Done, ...]

    @cached_property
    def departures(self) -> tuple[Departure, ...]:
        """Where it departs from its spec; read when first asked for, and by few."""
        return _departures(self.id) if self.deviations_count else ()

    @cached_property
    def sheet(self) -> Sheet:
        return book.sheet(self.revision_id, self.version)

    def with_step(self, operation: str, by: str, at: datetime) -> State:
        """The same instrument one step further."""
        return replace(self, done=(*self.done, Done(operation, by, at)), seq=self.seq + 1)

    def with_check(self, station: str, worst: str) -> State:
        """The same instrument after a tray check."""
        return replace(
            self,
            checked_version=self.tray_version,
            checked_station=station,
            checked_worst=worst,
            seq=self.seq + 1,
        )

    @property
    def last_four(self) -> str:
        return self.serial[-4:]

    @property
    def due_words(self) -> str:
        return f"{self.due_on:%a %Y-%m-%d}"

    @property
    def serial_head(self) -> str:
        return self.serial[:-4]

    @cached_property
    def done_codes(self) -> frozenset[str]:
        return frozenset(one.operation for one in self.done)

    @cached_property
    def next_codes(self) -> tuple[str, ...]:
        return next_up(self.sheet.route, self.done)

    @cached_property
    def kit(self) -> tuple[KitItem, ...]:
        """The spec's kit with this instrument's deviations worked in."""
        swaps = {one.out_key: one for one in self.departures if one.out_key and one.into}
        return tuple(
            replace(
                line,
                article=swap.into,
                item_id=swap.into_id,
                substitutes=frozenset(),
            )
            if (swap := swaps.get(line.article.key)) and swap.into and swap.into_id
            else line
            for line in self.sheet.kit
        )

    @cached_property
    def call(self) -> Call:
        """What this instrument calls for, as the fit rules take it. Tray lines only."""
        agreed = {one.into.key: one.into.metal for one in self.departures if one.into}
        return Call(
            serial=self.serial,
            spec=self.sheet.spec,
            kit=tuple(
                Wanted(
                    key=line.article.key,
                    name=line.article.name,
                    family=line.article.family,
                    quantity=line.quantity,
                    substitutes=line.substitutes,
                    approved_metal=agreed.get(line.article.key),
                )
                for line in self.kit
                if line.in_tray
            ),
        )


_BY_TAG = Statement(
    lambda code: Instrument.objects.filter(
        body__tags__code=code, body__tags__void_at__isnull=True
    ).values_list(*COLUMNS),
    str,
)
_BY_ID = Statement(lambda pk: Instrument.objects.filter(pk=pk).values_list(*COLUMNS), int)
_NUMBER = Statement(
    lambda code: Tag.objects.filter(code=code, void_at__isnull=True).values_list(
        "body__instrument"
    ),
    str,
)
_STEPS = Statement(
    lambda pk: Step.objects.filter(instrument_id=pk).values_list(
        "operation__code", "by__code", "at"
    ),
    int,
)


def by_id(instrument_id: int, lock: bool = False) -> State | None:
    """The instrument with this number, held until the transaction ends if ``lock``."""
    if lock and connection.features.has_select_for_update:
        # A row lock alone: what is read after it is what stands.
        held = Instrument.objects.select_for_update(of=("self",)).filter(pk=instrument_id)
        if not held.values_list("pk").first():
            return None
    return _first(_BY_ID.rows(instrument_id))


def by_tag(code: str) -> State | None:
    """The instrument this live body tag hangs on; one statement from the tag's unique code."""
    return _first(_BY_TAG.rows(code))


def number_of(code: str) -> int | None:
    """The number of the instrument this live body tag hangs on."""
    found: list[tuple[int | None]] = _NUMBER.rows(code)
    return found[0][0] if found else None


def by_serial(serial: str) -> State | None:
    rows = Instrument.objects.filter(body__serial=serial).values_list(*COLUMNS)
    return _first(list(rows))


def _first(rows: list[tuple[Any, ...]]) -> State | None:
    for row in rows:
        return _state(row, tuple(Done(*step) for step in _STEPS.rows(row[0])))
    return None


def _state(row: tuple[Any, ...], done: tuple[Done, ...]) -> State:
    """``State`` names the columns in their order, then the steps done."""
    return State(*(*row, done))


def all_open() -> list[State]:
    """Every instrument not finished, by due date; the same few statements for any number."""
    found = list(Instrument.objects.filter(finished_at__isnull=True).values_list(*COLUMNS))
    steps = _steps([row[0] for row in found])
    return [_state(row, steps[row[0]]) for row in found]


def _steps(ids: list[int]) -> dict[int, tuple[Done, ...]]:
    done: dict[int, list[Done]] = {number: [] for number in ids}
    rows = Step.objects.filter(instrument_id__in=ids).values_list(
        "instrument_id", "operation__code", "by__code", "at"
    )
    for number, operation, by, at in rows:
        done[number].append(Done(operation, by, at))
    return {number: tuple(steps) for number, steps in done.items()}


def _departures(instrument_id: int) -> tuple[Departure, ...]:
    rows = list(Deviation.objects.filter(instrument_id=instrument_id).select_related("out_item"))
    articles = book.articles([row.in_item_id for row in rows if row.in_item_id])
    return tuple(
        Departure(
            words=row.words,
            approved=row.approved,
            out_key=row.out_item.key if row.out_item else None,
            into=articles.get(row.in_item_id) if row.in_item_id else None,
            into_id=row.in_item_id,
        )
        for row in rows
    )
