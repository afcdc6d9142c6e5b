"""Changing what should be: the one way a spec revision opens, closes or is renewed.

An open revision is what releases use. It is never edited: a change is a new revision,
and instruments released before keep theirs. What a lead decides on a revision beside that
stands in ``deciding``.
"""

from __future__ import annotations

from collections.abc import Sequence

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Q

from shop.catalogue import book
from shop.catalogue.book import StopSheet
from shop.catalogue.deciding import (
    NotReady,
    approve,
    kit_findings,
    renew,
    set_limit,
    stand_in,
    stops,
    told,
)
from shop.catalogue.listing import (
    ITEM_COLUMNS,
    NoItem,
    item_cells,
    item_said,
    items_as_they_are,
    spec_ids,
    used_in,
)
from shop.catalogue.models import HardwareKit, Item, KitLine, LimitChange, SpecRevision
from shop.catalogue.reading_in import kept, read_in
from shop.catalogue.routing import builders, copy_route, faults_drawn, route_faults
from shop.craft.gauging import QUANTITIES
from shop.craft.hardware import TunerSet
from shop.craft.route import HOLD, HOLD_H

__all__ = [
    "ITEM_COLUMNS",
    "NoItem",
    "NotReady",
    "approve",
    "builders",
    "copy_route",
    "faults_drawn",
    "item_cells",
    "item_changed",
    "item_said",
    "items_as_they_are",
    "keep_item",
    "kit_findings",
    "kits_against",
    "next_draft",
    "open_revision",
    "operation_changed",
    "read_in",
    "revision_changed",
    "route_changed",
    "route_faults",
    "set_limit",
    "spec_ids",
    "stand_in",
    "station_changed",
    "wood_changed",
]


def open_revision(revision: SpecRevision) -> None:
    """Open a draft for releases and close the revision that was open.

    Raises ``NotReady`` when it is no draft, has no kit, its route cannot be walked, lets a
    guitar out without its days in the case or asks for what cannot be measured or looked at,
    or the kit or an approved substitute cannot go on this guitar. A warning does not keep it
    back.
    """
    if revision.state != "draft":
        raise NotReady(f"{revision} is {revision.state}. Only a draft can be opened.")
    if not KitLine.objects.filter(kit__revision=revision).exists():
        raise NotReady(f"{revision} has no kit. List its items first.")
    route = book.stops_of(revision.route_id)
    if faults := route_faults(revision.route):
        raise NotReady(f"Route {revision.route}: {' '.join(faults)}")
    if _unheld(revision, route):
        raise NotReady(
            f"Route {revision.route} has no hold of at least {HOLD_H} h. "
            f"Name the wait in the case {HOLD}."
        )
    unused = (
        KitLine.objects.filter(kit__revision=revision)
        .exclude(used_at__code__in=[one.code for one in route])
        .select_related("item", "used_at")
    )
    if unused:
        lines = "; ".join(f"{line.item.key} at {line.used_at.code}" for line in unused)
        raise NotReady(f"These items are used at operations the route does not have: {lines}.")
    if faults := _unmeasurable(route) + _unplaced(revision, route):
        raise NotReady(f"{revision}: {' '.join(faults)}")
    if against := stops(kit_findings(revision)):
        raise NotReady(f"{revision} cannot be built: {told(against)}")
    with transaction.atomic():
        SpecRevision.objects.filter(spec=revision.spec, state="open").update(state="closed")
        revision.state = "open"
        revision.save(update_fields=["state"])


def _unheld(revision: SpecRevision, route: Sequence[StopSheet]) -> bool:
    """Whether a guitar is released on this route without its days in the case."""
    releases = any(stop.facts.freezes for stop in route)
    return releases and not revision.route.precedences.filter(clock=HOLD).exists()


def _unmeasurable(route: Sequence[StopSheet]) -> list[str]:
    return [
        f"{stop.code} measures {quantity}, which is not known. Choose what it measures anew."
        for stop in route
        for quantity in stop.facts.gauges
        if quantity not in QUANTITIES
    ]


def _unplaced(revision: SpecRevision, route: Sequence[StopSheet]) -> list[str]:
    """Machines that each belong on one post, where nobody would see them on another."""
    looked_at = {stop.code for stop in route if stop.facts.positions}
    return [
        f"{line.article.key} {line.article.name}: each machine has its own post, and "
        f"{line.used_at} does not look at the posts. Tick positions on {line.used_at}."
        for line in book.kit_lines(revision.pk)
        if isinstance(line.article, TunerSet)
        and line.article.marked
        and line.used_at not in looked_at
    ]


def next_draft(revision: SpecRevision, own_route: bool = False) -> SpecRevision:
    """A draft copied from this revision, to be changed and opened: its kit with the approved
    substitutes, its woods, and the limits in force; with ``own_route``, a copy of its route
    that may be changed too.

    Raises ``NotReady`` when the spec has a draft already.
    """
    if draft := SpecRevision.objects.filter(spec=revision.spec, state="draft").first():
        raise NotReady(f"{draft} is a draft already. Change that one.")
    with transaction.atomic():
        latest = SpecRevision.objects.filter(spec=revision.spec).order_by("-number")[0]
        copy = SpecRevision.objects.get(pk=revision.pk)
        copy.pk, copy.number, copy.state, copy.version = None, latest.number + 1, "draft", 1
        copy._state.adding = True
        if own_route:
            copy.route = copy_route(copy.route)
        copy.save()
        copy.woods.set(revision.woods.all())
        _copy_limits(revision, copy)
        _copy_kit(revision, copy)
    return copy


def _copy_limits(old: SpecRevision, new: SpecRevision) -> None:
    """The limits in force, each with who set it, when and why."""
    LimitChange.objects.bulk_create(
        LimitChange(
            revision=new, name=one.name, value=set_.value, by=set_.by, on=set_.on, why=set_.why
        )
        for one in book.limits_of(old.pk)
        if (set_ := one.changed)
    )


def _copy_kit(old: SpecRevision, new: SpecRevision) -> None:
    """The kit's lines, each with its approved substitutes as they were approved."""
    kit = HardwareKit.objects.create(revision=new)
    for line in KitLine.objects.filter(kit__revision=old).prefetch_related("approved"):
        approved = list(line.approved.all())
        line.pk, line.kit, line._state.adding = None, kit, True
        line.save()
        for one in approved:
            one.pk, one.line, one._state.adding = None, line, True
            one.save()


def keep_item(item: Item) -> int:
    """Keep a new item, or a known one with what became other of it. Returns its id.

    Raises ``NotReady`` where it cannot be kept as it is.
    """
    try:
        kept(item)
    except ValidationError as why:
        raise NotReady(f"{item}: {' '.join(why.messages)}") from why
    item_changed(item.pk)
    return item.pk


def kits_against(item_ids: Sequence[int]) -> list[str]:
    """What keeps the kits of drafts and open revisions that name these items from being built."""
    return [
        f"{revision}, {one.rule}: {one.words} {one.then}"
        for revision in used_in(item_ids)
        if KitLine.objects.filter(kit__revision=revision).exists()
        for one in stops(kit_findings(revision))
    ]


def item_changed(item_id: int) -> None:
    """An item's words or measures changed: redraw every revision whose kit names it."""
    named = Q(kit__lines__item_id=item_id) | Q(kit__lines__substitutes=item_id)
    renew(SpecRevision.objects.filter(named).values_list("pk", flat=True))


def route_changed(route_id: int) -> None:
    renew(SpecRevision.objects.filter(route_id=route_id).values_list("pk", flat=True))


def operation_changed(operation_id: int) -> None:
    renew(
        SpecRevision.objects.filter(route__stops__operation_id=operation_id).values_list(
            "pk", flat=True
        )
    )


def station_changed(station_id: int) -> None:
    renew(
        SpecRevision.objects.filter(route__stops__operation__station_id=station_id).values_list(
            "pk", flat=True
        )
    )


def wood_changed(wood_id: int) -> None:
    renew(SpecRevision.objects.filter(woods=wood_id).values_list("pk", flat=True))


def revision_changed(revision_id: int) -> None:
    renew([revision_id])
