"""One instrument as it stands now."""

from __future__ import annotations

import json
from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import cached_property
from typing import Any, Literal, get_args

from django.db.models import DateTimeField, Subquery, Value
from django.db.models.functions import Coalesce

from shop.catalogue import book
from shop.catalogue.book import KitItem, Sheet
from shop.craft.clocks import Air, Happening, Held, hold
from shop.craft.finding import Finding, FindingRow
from shop.craft.hardware import Article, Call
from shop.craft.reading import Reading, Readings
from shop.craft.route import HOLD, Done, Part, hold_of, next_up
from shop.craft.start import Decided, Frozen, OpenStep, Rework, Standing, Undecided
from shop.floor import course
from shop.floor.models import Deviation, RoomReading

COLUMNS = (
    "id", "body_id", "body__serial", "neck_id", "neck__serial", "revision_id",
    "revision__version", "due_on", "release_on", "urgent", "order", "tray_id", "tray__code",
    "tray__state", "tray__version", "deviations_count", "checked_version", "checked_station",
    "checked_worst", "seq", "link", "finished_at", "gauged", "standing", "placed_version",
    "destination", "body__coated_on", "body__arrived_at", "neck__arrived_at", "ended",
    "open_step", "frozen", "rework", "repairs", "happened", "longer", "slot",
    "defects", "decided",
)  # fmt: skip

STEP = ("operation__code", "by__code", "at", "others", "doubt", "seq", "claimed_at", "void_at")

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
    neck_id: int | None
    neck: str | None
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
    link: str
    finished_at: datetime | None
    gauged_kept: Any  # as the database gives it: see ``readings``
    standing_kept: Any  # see ``standing``
    placed_version: int | None
    destination: str
    coated_on: date | None
    body_came: datetime
    neck_came: datetime | None
    ended: str
    open_step_kept: Any  # these seven: see ``stands``
    frozen_kept: Any
    rework_kept: Any
    repairs_kept: Any
    happened_kept: Any
    longer_kept: Any
    slot: str  # of the hold rack; "" where its case lies in none
    defects_kept: Any
    decided_kept: Any
    done: tuple[Done, ...]
    past: tuple[Done, ...]  # done once, and to be done again
    # The room since its hold began, where it was read together with others'.
    air: tuple[Air, ...] | None = None
    departed: tuple[Departure, ...] | None = None  # where it departs, read likewise

    @cached_property
    def readings(self) -> Readings:
        """The readings in force."""
        kept: list[list[str]] = _plain(self.gauged_kept)
        return Readings(tuple(Reading.of_row(one) for one in kept))

    def without_readings_at(self, spots: Collection[tuple[str, str]]) -> State:
        """The same, as if nothing had been measured there: each a quantity and a place."""
        kept: list[list[str]] = _plain(self.gauged_kept)
        there = [row for row in kept if (row[0], row[1]) not in spots]
        return replace(self, gauged_kept=there)

    @cached_property
    def standing(self) -> dict[str, tuple[Finding, ...]]:
        """The findings that stand against it now, by what raised them."""
        kept: dict[str, list[FindingRow]] = _plain(self.standing_kept)
        return {
            raised: tuple(Finding.of_row(row) for row in kept[raised])
            for raised in RAISED
            if raised in kept
        }

    @cached_property
    def open(self) -> OpenStep | None:
        """The step that was begun and is not recorded yet."""
        return course.open_step(_plain(self.open_step_kept))

    @cached_property
    def frozen(self) -> Frozen | None:
        return course.frozen(_plain(self.frozen_kept))

    @cached_property
    def rework(self) -> Rework | None:
        """The loop it is on."""
        return course.rework(_plain(self.rework_kept))

    @cached_property
    def repairs(self) -> tuple[Done, ...]:
        return course.repairs(_plain(self.repairs_kept))

    @cached_property
    def happened(self) -> tuple[Happening, ...]:
        """What happened to it that may move its hold."""
        return course.happenings(_plain(self.happened_kept))

    @cached_property
    def longer(self) -> dict[str, timedelta]:
        return course.longer(_plain(self.longer_kept))

    @cached_property
    def undecided(self) -> tuple[Undecided, ...]:
        """The defects of which nobody has decided what becomes of them."""
        return course.undecided(_plain(self.defects_kept))

    @cached_property
    def decided(self) -> tuple[Decided, ...]:
        """Who signed what became of its defects."""
        return course.decided(_plain(self.decided_kept))

    @cached_property
    def cased_at(self) -> datetime | None:
        """When its hold began, if it has."""
        return _cased_at(self.sheet, self.done)

    def held(self, at: datetime, tell: Callable[[datetime], str] | None = None) -> Held | None:
        """How its days in the case stand; none while they have not begun. ``at`` is on the
        shop's wall clock; ``tell`` says a moment where that is to be read at another time."""
        before = hold_of(self.sheet.route)
        if before is None or self.cased_at is None:
            return None
        length = before.wait + self.longer.get(HOLD, timedelta())
        return hold(self.cased_at, length, self.happened, self._air, at, tell)

    @cached_property
    def _air(self) -> tuple[Air, ...]:
        if self.air is not None or self.cased_at is None:
            return self.air or ()
        return air_since(self.cased_at)

    def stands(self, at: datetime) -> Standing:
        """All that decides what may be done on it ``at`` this moment."""
        if at not in self._stood:
            self._stood[at] = self._standing_at(at)
        return self._stood[at]

    @cached_property
    def _stood(self) -> dict[datetime, Standing]:
        """A page asks about one moment several times over."""
        return {}

    def _standing_at(self, at: datetime) -> Standing:
        arrived: dict[Part, datetime] = {"body": self.body_came}
        if self.neck_came is not None:
            arrived["neck"] = self.neck_came
        return Standing(
            serial=self.serial,
            route=self.sheet.route,
            done=self.done,
            past=self.past,
            open=self.open,
            frozen=self.frozen,
            rework=self.rework,
            repairs=self.repairs,
            held=self.held(at),
            arrived=arrived,
            longer=self.longer,
            ended=self.ended,
            undecided=self.undecided,
            decided=self.decided,
        )

    @property
    def kept_standing(self) -> Any:
        """What stands against it, as plain data."""
        return _plain(self.standing_kept)

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
        if self.departed is not None or not self.deviations_count:
            return self.departed or ()
        return departures_of([self.id])[self.id]

    @cached_property
    def sheet(self) -> Sheet:
        return book.sheet(self.revision_id, self.version)

    def with_step(self, one: Done) -> State:
        """The same instrument one step further."""
        return replace(self, done=(*self.done, one), open_step_kept={})

    def with_check(self, station: str, worst: str) -> State:
        """The same instrument after a tray check."""
        return replace(
            self,
            checked_version=self.tray_version,
            checked_station=station,
            checked_worst=worst,
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
        return replace(self, gauged_kept=[one.row() for one in after])

    def with_row(self, seq: int, link: str) -> State:
        """The same instrument with one more row in its journal."""
        return replace(self, seq=seq, link=link)

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


def of_row(row: tuple[Any, ...], steps: Iterable[tuple[Any, ...]]) -> State:
    """``State`` names the columns in their order, then the steps done and those done again."""
    done: list[Done] = []
    past: list[Done] = []
    for operation, by, at, others, doubt, seq, claimed, void_at in steps:
        one = Done(operation, by, at, tuple(_plain(others)), doubt, seq, claimed)
        (done if void_at is None else past).append(one)
    return State(*(*row, tuple(done), tuple(past)))


def _cased_at(sheet: Sheet, done: tuple[Done, ...]) -> datetime | None:
    before = hold_of(sheet.route)
    starts = [one.at for one in done if before is not None and one.operation == before.before]
    return max(starts) if starts else None


def air_since(moment: datetime) -> tuple[Air, ...]:
    """The room from what was read last before this moment on, oldest first."""
    before = RoomReading.objects.filter(at__lte=moment).values("at")[:1]
    since = Coalesce(Subquery(before), Value(moment, DateTimeField()))
    log = RoomReading.objects.filter(at__gte=since)
    rows = log.order_by("at", "id").values_list("at", "temp_c", "rh_pct")
    return tuple(Air(*row) for row in rows)


def departures_of(ids: Sequence[int]) -> dict[int, tuple[Departure, ...]]:
    """Where instruments depart from their specs, by their numbers; in one statement."""
    found: dict[int, list[Departure]] = {number: [] for number in ids}
    rows = Deviation.objects.filter(instrument_id__in=ids)
    for row in rows.select_related("out_item", *book.whole("in_item")):
        found[row.instrument_id].append(
            Departure(
                words=row.words,
                approved=row.approved,
                out_key=row.out_item.key if row.out_item else None,
                into=row.in_item.facts() if row.in_item else None,
                into_id=row.in_item_id,
            )
        )
    return {number: tuple(ones) for number, ones in found.items()}
