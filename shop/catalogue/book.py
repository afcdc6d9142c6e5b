"""What should this guitar be? Specs, kits and routes as facts, kept in memory.

An open revision never changes; what may change around it (an item's measures, the words
of an operation) raises the revision's ``version``, so a fact is looked up by revision
and version and a stale one is never found again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from decimal import Decimal
from functools import cached_property, lru_cache
from typing import Any, Final

from django.core.cache import cache
from django.db.models import Exists, OuterRef, Prefetch

from shop.catalogue.models import (
    CHILD_OF,
    Item,
    KitLine,
    LimitChange,
    Loop,
    Operation,
    Precedence,
    RouteStop,
    Spec,
    SpecRevision,
    Station,
    Substitute,
    TunerSet,
)
from shop.craft import fit, hardware
from shop.craft.fit import moment
from shop.craft.fit.rule import Limit, Rule
from shop.craft.hardware import Article, Family, SpecFacts, Wanted
from shop.craft.rework import LoopFacts
from shop.craft.route import HOLD, OperationFacts, Route

RULES: Final[dict[str, Rule[Any]]] = {
    one.id: one for one in (*fit.RULES.values(), *moment.RULES) if one.limits
}
"""The rules with limits that a lead may set: about hardware, then about the moment."""

LIMITS: Final[dict[str, Limit]] = {
    limit.name: limit for one in RULES.values() for limit in one.limits
}


@dataclass(frozen=True, slots=True)
class KitItem:
    """One line of a kit: the article, how many, where it is used."""

    item_id: int
    article: Article
    quantity: int
    used_at: str
    in_tray: bool
    # Who approved each substitute, when and why, by the substitute's key.
    approvals: tuple[tuple[str, str], ...] = ()
    # Which row of the kit it is; two kits that ask for the same are the same.
    line_id: int = field(default=0, compare=False)

    @property
    def wanted(self) -> Wanted:
        return Wanted(
            key=self.article.key,
            name=self.article.name,
            family=self.article.family,
            quantity=self.quantity,
            substitutes=frozenset(key for key, _ in self.approvals),
            approvals=self.approvals,
        )


@dataclass(frozen=True, slots=True)
class StopSheet:
    """One operation on the route, with what the bench shows of it."""

    facts: OperationFacts
    operation_id: int
    station_code: str
    limits: str
    caution: str

    @property
    def code(self) -> str:
        return self.facts.code


@dataclass(frozen=True)
class Sheet:
    """Everything one spec revision says, drawn once and kept."""

    revision_id: int
    version: int
    spec: SpecFacts
    joint: str
    finish: str
    targets: tuple[tuple[str, str], ...]
    kit: tuple[KitItem, ...]
    route: Route
    stops: tuple[StopSheet, ...]
    hold: timedelta  # in the case: the longer one of what the spec and its route ask for

    def stop(self, code: str) -> StopSheet | None:
        return self._by_code.get(code)

    @cached_property
    def pairing(self) -> StopSheet | None:
        """The operation that makes a neck and a body a pair: the one the neck is scanned for."""
        return next((one for one in self.stops if one.facts.needs == "neck"), None)

    @cached_property
    def _by_code(self) -> dict[str, StopSheet]:
        return {one.code: one for one in self.stops}


@lru_cache(maxsize=512)
def sheet(revision_id: int, version: int) -> Sheet:
    """The sheet of a revision at a version. Raises ``SpecRevision.DoesNotExist``."""
    revision = SpecRevision.objects.select_related("spec", "route").get(pk=revision_id)
    stops, kit = stops_of(revision.route_id), kit_lines(revision_id)
    route = route_of(revision.route.name, revision.route_id, stops)
    hold = _longest_hold(route, timedelta(hours=revision.hold_h))
    buttons = any(one.article.family is Family.STRAP for one in kit)
    return Sheet(
        revision_id=revision_id,
        version=version,
        spec=replace(revision.facts(), strap_button=buttons),
        joint=revision.joint,
        finish=revision.finish,
        targets=(
            ("relief", f"{revision.relief_mm:.2f} mm"),
            ("action bass, fret 12", f"{revision.action_bass_mm:.2f} mm"),
            ("action treble, fret 12", f"{revision.action_treble_mm:.2f} mm"),
        ),
        kit=kit,
        route=_held(route, hold),
        stops=stops,
        hold=hold,
    )


def _longest_hold(route: Route, least: timedelta) -> timedelta:
    return max([least, *(one.wait for one in route.precedences if one.clock == HOLD)])


def _held(route: Route, hold: timedelta) -> Route:
    """The route with this hold in the place of its own."""
    return replace(
        route,
        precedences=tuple(
            replace(one, wait=hold) if one.clock == HOLD else one for one in route.precedences
        ),
    )


def stops_of(route_id: int) -> tuple[StopSheet, ...]:
    rows = (
        RouteStop.objects.filter(route_id=route_id)
        .select_related("operation__station")
        .prefetch_related("operation__gaugings")
    )
    return tuple(
        StopSheet(
            facts=row.operation.facts(),
            operation_id=row.operation_id,
            station_code=row.operation.station.code,
            limits=row.operation.limits,
            caution=row.operation.caution or row.operation.station.caution,
        )
        for row in rows
    )


def route_of(name: str, route_id: int, stops: Sequence[StopSheet]) -> Route:
    rows = Precedence.objects.filter(route_id=route_id).select_related("before", "after")
    return Route(
        name=name,
        operations=tuple(one.facts for one in stops),
        precedences=tuple(row.facts() for row in rows),
    )


def kit_lines(revision_id: int) -> tuple[KitItem, ...]:
    """The kit of a revision in the order it is fitted, with its approved substitutes."""
    approved = Prefetch("approved", Substitute.objects.select_related("item"))
    lines = (
        KitLine.objects.filter(kit__revision_id=revision_id)
        .select_related("used_at", *whole("item"))
        .prefetch_related(approved)
    )
    order = list(Family)
    kit = [
        KitItem(
            item_id=line.item_id,
            article=line.item.facts(),
            quantity=line.quantity,
            used_at=line.used_at.code,
            in_tray=line.in_tray,
            approvals=tuple((one.item.key, one.words) for one in line.approved.all()),
            line_id=line.pk,
        )
        for line in lines
    ]
    return tuple(sorted(kit, key=lambda one: (order.index(one.article.family), one.article.key)))


def whole(item: str) -> tuple[str, ...]:
    """What to select with this relation to an item, so that its ``facts`` ask for no more."""
    return (item, *(f"{item}__{part}" for part in CHILD_OF.values()))


def articles(item_ids: Sequence[int]) -> dict[int, Article]:
    """The articles with these ids, in one statement."""
    rows = Item.objects.filter(pk__in=item_ids).select_related(*CHILD_OF.values())
    return {row.pk: row.facts() for row in rows}


def open_revisions() -> list[dict[str, Any]]:
    """Each spec's open revision: id, key, number, version."""
    rows = SpecRevision.objects.filter(state="open").order_by("spec__key")
    return [
        dict(row) for row in rows.values("id", "spec__key", "number", "version", "hand", "strings")
    ]


@dataclass(frozen=True, slots=True)
class OpenSpec:
    """A spec's open revision, and what it says of the guitar."""

    revision_id: int
    version: int
    facts: SpecFacts


# The lines of a revision's kit that are strap buttons.
BUTTONS = KitLine.objects.filter(kit__revision=OuterRef("pk"), item__family=Family.STRAP.value)


def specs() -> tuple[OpenSpec, ...]:
    """Each spec's open revision by key, in three statements for any number of them."""
    rows = (
        SpecRevision.objects.filter(state="open")
        .order_by("spec__key")
        .select_related("spec")
        .prefetch_related("woods", "limit_changes")
        .annotate(buttons=Exists(BUTTONS))
    )
    return tuple(
        OpenSpec(row.pk, row.version, replace(row.facts(), strap_button=row.buttons))
        for row in rows
    )


def sets() -> tuple[tuple[int, hardware.TunerSet], ...]:
    """Every set of tuning machines that is not obsolete, by key: its item's id and facts."""
    return tuple((row.pk, row.facts()) for row in TunerSet.objects.filter(obsolete=False))


@dataclass(frozen=True, slots=True)
class Change:
    """A limit set by a lead, or given back its default (no value): who, when and why."""

    value: Decimal | None
    by: str
    on: date
    why: str


@dataclass(frozen=True, slots=True)
class LimitFacts:
    """One limit of a rule as it stands for one revision, with every change, newest first."""

    rule: str  # its id: "R06"
    title: str  # what the rule looks at
    limit: Limit
    changes: tuple[Change, ...]

    @property
    def name(self) -> str:
        return self.limit.name

    @property
    def default(self) -> Decimal:
        return self.limit.value

    @property
    def changed(self) -> Change | None:
        """The change in force; nothing where the default is."""
        newest = next(iter(self.changes), None)
        return newest if newest and newest.value is not None else None

    @property
    def value(self) -> Decimal:
        """The limit in force."""
        changed = self.changed
        return self.default if changed is None or changed.value is None else changed.value

    @property
    def words(self) -> str:
        """The limit in force in words: "least press 0.02 mm"."""
        return self.limit.said(self.value)


def limits_of(revision_id: int) -> tuple[LimitFacts, ...]:
    """Every limit there is, in the order of the rules, as it stands for a revision."""
    changes: dict[str, list[Change]] = {}
    for row in LimitChange.objects.filter(revision_id=revision_id).order_by("-id"):
        changes.setdefault(row.name, []).append(Change(row.value, row.by, row.on, row.why))
    return tuple(
        LimitFacts(one.id, one.title, limit, tuple(changes.get(limit.name, ())))
        for one in RULES.values()
        for limit in one.limits
    )


def loops() -> tuple[LoopFacts, ...]:
    """The rework loops to choose from, by key."""
    return tuple(row.facts() for row in Loop.objects.filter(active=True).select_related("station"))


def every_loop() -> dict[str, LoopFacts]:
    """All rework loops by their keys, those too that are not to be chosen any more."""
    return {row.key: row.facts() for row in Loop.objects.select_related("station")}


def loop(key: str) -> LoopFacts | None:
    """The loop with this key, to be chosen any more or not."""
    row = Loop.objects.filter(key=key).select_related("station").first()
    return row.facts() if row else None


def stations() -> tuple[tuple[str, str], ...]:
    """Code and name of each station, along the floor; a new one shows within a minute."""
    known = cache.get_or_set(
        "stations", lambda: tuple(Station.objects.values_list("code", "name")), 60
    )
    return known or ()


def stations_of_operations() -> dict[str, str]:
    """The station of each operation, both by their codes."""
    return dict(Operation.objects.values_list("code", "station__code"))


def operations() -> tuple[tuple[int, str, str], ...]:
    """Number, code and station of each operation, along the floor."""
    rows = Operation.objects.order_by("station__place", "code")
    return tuple(rows.values_list("pk", "code", "station__code"))


def specs_of_revisions() -> dict[int, str]:
    """The key of the spec that each revision is of."""
    return dict(SpecRevision.objects.order_by().values_list("pk", "spec__key"))


def caution(station: str) -> str:
    """What can hurt at a station, by its code, and the usual protection."""
    return Station.objects.filter(code=station).values_list("caution", flat=True).first() or ""


@dataclass(frozen=True, slots=True)
class Work:
    """An operation as its station's card has it. ``machine``: it is done at one."""

    code: str
    name: str
    caution: str
    machine: bool


@dataclass(frozen=True, slots=True)
class StationSheet:
    """A station: what can hurt there, and what is done there, by code."""

    code: str
    name: str
    caution: str
    operations: tuple[Work, ...]


def station_sheets(codes: Sequence[str]) -> dict[str, StationSheet]:
    """The stations with these codes, in two statements for any number of them."""
    rows = Station.objects.filter(code__in=codes).prefetch_related("operations")
    return {
        row.code: StationSheet(
            row.code,
            row.name,
            row.caution,
            tuple(
                Work(one.code, one.name, one.caution, one.machine) for one in row.operations.all()
            ),
        )
        for row in rows
    }


def station_id(code: str) -> int | None:
    return Station.objects.filter(code=code).values_list("pk", flat=True).first()


def item_ids(keys: Sequence[str]) -> dict[str, int]:
    return dict(Item.objects.filter(key__in=keys).values_list("key", "pk"))


def obsolete(keys: Sequence[str]) -> frozenset[str]:
    """Those of these items that were superseded, by key."""
    found = Item.objects.filter(key__in=keys, obsolete=True)
    return frozenset(found.values_list("key", flat=True))


def items() -> list[tuple[str, str]]:
    """Key and name of every item that is not obsolete."""
    return list(Item.objects.filter(obsolete=False).values_list("key", "name"))


def spec_id(key: str) -> int | None:
    return Spec.objects.filter(key=key).values_list("pk", flat=True).first()


def empty() -> bool:
    """Whether the catalogue holds nothing at all."""
    return not (Spec.objects.exists() or Item.objects.exists() or Operation.objects.exists())
