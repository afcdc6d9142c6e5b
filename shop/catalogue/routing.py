"""Routes as they are changed: whole, or not at all.

A route that guitars are built by stays as it is, since each keeps the one it was released
with. A change is a copy, and a draft of the spec that takes it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

from django.db import transaction

from shop.catalogue import book
from shop.catalogue.models import Operation, Precedence, Route, RouteStop, SpecRevision
from shop.craft import route as craft_route

NUMBERED: Final = re.compile(r", \d+$")
LETTERS: Final = 60  # of a name


def builders(route: Route) -> list[SpecRevision]:
    """The revisions, open or closed, that guitars are built or were built to by this route."""
    rows = SpecRevision.objects.filter(route=route, state__in=["open", "closed"])
    return list(rows.select_related("spec").order_by("spec__key", "number"))


def copy_route(route: Route) -> Route:
    """The same route under the next free name, to be changed: "Steel, bolted, 2"."""
    with transaction.atomic():
        copy = Route.objects.create(name=_next_name(route.name))
        rows: list[RouteStop | Precedence] = [*route.stops.all(), *route.precedences.all()]
        for row in rows:
            row.pk, row.route, row._state.adding = None, copy, True
            row.save()
    return copy


def _next_name(name: str) -> str:
    stem = NUMBERED.sub("", name)
    taken = set(Route.objects.values_list("name", flat=True))
    number, found = 2, ""
    while not found or found in taken:
        tail = f", {number}"
        number, found = number + 1, stem[: LETTERS - len(tail)] + tail
    return found


def route_faults(route: Route) -> list[str]:
    """What keeps this route from being walked from start to end; nothing when it is whole."""
    stops = book.stops_of(route.pk)
    return craft_route.faults(book.route_of(route.name, route.pk, stops))


def faults_drawn(
    name: str, stops: Iterable[RouteStop], precedences: Iterable[Precedence]
) -> list[str]:
    """The same of a route that is not written yet."""
    rows = Operation.objects.select_related("station").prefetch_related("gaugings")
    order = [one.operation_id for one in sorted(stops, key=lambda one: one.place)]
    facts = {row.pk: row.facts() for row in rows.filter(pk__in=order)}
    return craft_route.faults(
        craft_route.Route(
            name=name,
            operations=tuple(facts[one] for one in order),
            precedences=tuple(one.facts() for one in precedences),
        )
    )
