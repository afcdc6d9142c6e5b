"""Changing what should be: the one way a spec revision opens, closes or is renewed.

An open revision is what releases use. It is never edited: a change is a new revision,
and instruments released before keep theirs.
"""

from __future__ import annotations

from collections.abc import Iterable

from django.db import transaction
from django.db.models import F, Q

from shop.catalogue import book
from shop.catalogue.models import HardwareKit, KitLine, Route, SpecRevision
from shop.catalogue.reading_in import read_in
from shop.craft import route as craft_route

__all__ = [
    "NotReady",
    "item_changed",
    "next_draft",
    "open_revision",
    "operation_changed",
    "read_in",
    "revision_changed",
    "route_changed",
    "route_faults",
    "station_changed",
]


class NotReady(Exception):
    """The revision cannot be opened; the message says why and what to do."""


def open_revision(revision: SpecRevision) -> None:
    """Open a draft for releases and close the revision that was open.

    Raises ``NotReady`` when it is no draft, has no kit, or its route cannot be walked.
    """
    if revision.state != "draft":
        raise NotReady(f"{revision} is {revision.state}. Only a draft can be opened.")
    if not KitLine.objects.filter(kit__revision=revision).exists():
        raise NotReady(f"{revision} has no kit. List its items first.")
    stops = book.stops_of(revision.route_id)
    if faults := route_faults(revision.route):
        raise NotReady(f"Route {revision.route}: {' '.join(faults)}")
    unused = (
        KitLine.objects.filter(kit__revision=revision)
        .exclude(used_at__code__in=[one.code for one in stops])
        .select_related("item", "used_at")
    )
    if unused:
        lines = "; ".join(f"{line.item.key} at {line.used_at.code}" for line in unused)
        raise NotReady(f"These items are used at operations the route does not have: {lines}.")
    with transaction.atomic():
        SpecRevision.objects.filter(spec=revision.spec, state="open").update(state="closed")
        revision.state = "open"
        revision.save(update_fields=["state"])


def route_faults(route: Route) -> list[str]:
    """What keeps this route from being walked from start to end; nothing when it is whole."""
    stops = book.stops_of(route.pk)
    return craft_route.faults(book.route_of(route.name, route.pk, stops))


def next_draft(revision: SpecRevision) -> SpecRevision:
    """A draft copied from this revision, kit and all, to be changed and opened.

    Raises ``NotReady`` when the spec has a draft already.
    """
    if draft := SpecRevision.objects.filter(spec=revision.spec, state="draft").first():
        raise NotReady(f"{draft} is a draft already. Change that one.")
    with transaction.atomic():
        latest = SpecRevision.objects.filter(spec=revision.spec).order_by("-number")[0]
        old_kit = HardwareKit.objects.filter(revision=revision).first()
        copy = SpecRevision.objects.get(pk=revision.pk)
        copy.pk, copy.number, copy.state, copy.version = None, latest.number + 1, "draft", 1
        copy._state.adding = True
        copy.save()
        kit = HardwareKit.objects.create(revision=copy)
        for line in old_kit.lines.prefetch_related("approved") if old_kit else ():
            new = KitLine.objects.create(
                kit=kit,
                item=line.item,
                quantity=line.quantity,
                used_at=line.used_at,
                in_tray=line.in_tray,
            )
            for one in line.approved.all():
                one.pk, one.line, one._state.adding = None, new, True
                one.save()
    return copy


def item_changed(item_id: int) -> None:
    """An item's words or measures changed: redraw every revision whose kit names it."""
    named = Q(kit__lines__item_id=item_id) | Q(kit__lines__substitutes=item_id)
    _renew(SpecRevision.objects.filter(named).values_list("pk", flat=True))


def route_changed(route_id: int) -> None:
    _renew(SpecRevision.objects.filter(route_id=route_id).values_list("pk", flat=True))


def operation_changed(operation_id: int) -> None:
    _renew(
        SpecRevision.objects.filter(route__stops__operation_id=operation_id).values_list(
            "pk", flat=True
        )
    )


def station_changed(station_id: int) -> None:
    _renew(
        SpecRevision.objects.filter(route__stops__operation__station_id=station_id).values_list(
            "pk", flat=True
        )
    )


def revision_changed(revision_id: int) -> None:
    _renew([revision_id])


def _renew(revisions: Iterable[int]) -> None:
    SpecRevision.objects.filter(pk__in=list(revisions)).update(version=F("version") + 1)
