"""One instrument as it stands now, read in two or three statements."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal
from functools import cached_property
from typing import Any, Literal, get_args

from django.db import connection

from shop.catalogue import book
from shop.catalogue.book import KitItem, Sheet
from shop.craft.finding import Finding, FindingRow
from shop.craft.hardware import Article, Call
from shop.craft.reading import Reading, Readings
from shop.craft.route import Done, next_up
from shop.database.statement import Statement
from shop.floor.models import Deviation, Instrument, Step, Tag

COLUMNS = (
    "id", "body_id", "body__serial", "neck_id", "neck__serial", "revision_id",
    "revision__version", "due_on", "release_on", "urgent", "order", "tray_id", "tray__code",
    "tray__state", "tray__version", "deviations_count", "checked_version", "checked_station",
    "checked_worst", "seq", "finished_at", "gauged", "standing", "placed_version",
    "destination", "body__coated_on",
)  # fmt: skip

Raised = Literal["tray", "readings", "positions"]
"""What raised a finding that stands against an instrument: the last look at its tray, the
readings in force, or where its machines sit."""
RAISED: tuple[Raised, ...] = get_args(Raised)
JUDGED = "judged"  # kept beside them: the version of the sheet they were judged by


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
    gauged_kept: Any  # as the database gives it: see ``readings``
    standing_kept: Any  # see ``standing``
    placed_version: int | None
    destination: str
    coated_on: date | None
    done: tuple[Done, ...]

    @cached_property
    def readings(self) -> Readings:
        """The readings in force."""
        kept: list[tuple[str, str, str]] = _plain(self.gauged_kept)
        return Readings(
            tuple(Reading(quantity, place, Decimal(value)) for quantity, place, value in kept)
        )

    @cached_property
    def standing(self) -> dict[str, tuple[Finding, ...]]:
        """The findings that stand against it now, by what raised them."""
        kept: dict[str, list[FindingRow]] = _plain(self.standing_kept)
        return {
            raised: tuple(Finding.of_row(row) for row in kept[raised])
            for raised in RAISED
            if raised in kept
        }

    @property
    def judged_before(self) -> bool:
        """Whether what stands was judged before its spec's limits or measures last changed."""
        judged: int = _plain(self.standing_kept).get(JUDGED, self.version)
        return judged != self.version

    @property
    def placed(self) -> bool:
        """Whether the machines in its tray as it is now were found on their posts."""
        return self.placed_version == self.tray_version

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

    def with_standing(self, raised: Raised, findings: tuple[Finding, ...]) -> State:
        """The same instrument with these findings standing in the place of earlier ones."""
        kept = {name: [one.row() for one in said] for name, said in self.standing.items()}
        rows = {raised: [one.row() for one in findings]}
        stands: dict[str, Any] = {name: said for name, said in (kept | rows).items() if said}
        return replace(self, standing_kept=stands | {JUDGED: self.version} if stands else {})

    def with_readings(self, more: tuple[Reading, ...]) -> State:
        """The same instrument with these readings in force."""
        after = self.readings.with_more(more).values
        kept = [[one.quantity, one.place, str(one.value)] for one in after]
        return replace(self, gauged_kept=kept)

    def counted(self) -> State:
        """The same instrument with one more row in its journal."""
        return replace(self, seq=self.seq + 1)

    def with_placed(self) -> State:
        """The same instrument with its machines found on their posts."""
        return replace(self, placed_version=self.tray_version)

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
                approvals=(),
            )
            if (swap := swaps.get(line.article.key)) and swap.into and swap.into_id
            else line
            for line in self.sheet.kit
        )

    @cached_property
    def call(self) -> Call:
        """What this instrument calls for, as the fit rules take it. Tray lines only."""
        return self._call([line for line in self.kit if line.in_tray], whole=False)

    @cached_property
    def whole_call(self) -> Call:
        """The same with the lines that go to the bench by batch: strings, guard, case."""
        return self._call(self.kit, whole=True)

    def _call(self, lines: Iterable[KitItem], *, whole: bool) -> Call:
        agreed = {one.into.key: one for one in self.departures if one.into}
        wanted = []
        for line in lines:
            one = line.wanted
            if (into := agreed.get(one.key)) and into.into:
                one = replace(one, approved_metal=into.into.metal, agreed=into.approved)
            wanted.append(one)
        return Call(
            serial=self.serial,
            spec=self.sheet.spec,
            kit=tuple(wanted),
            readings=self.readings,
            whole=whole,
            ship_on=self.due_on,
        )


def _plain(kept: Any) -> Any:
    """JSON out of a composed statement comes as the database keeps it: as text."""
    return json.loads(kept) if isinstance(kept, str) else kept


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
    found = Deviation.objects.filter(instrument_id=instrument_id)
    rows = found.select_related("out_item", *book.whole("in_item"))
    return tuple(
        Departure(
            words=row.words,
            approved=row.approved,
            out_key=row.out_item.key if row.out_item else None,
            into=row.in_item.facts() if row.in_item else None,
            into_id=row.in_item_id,
        )
        for row in rows
    )
