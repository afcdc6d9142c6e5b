"""A whole catalogue from plain data: stations, operations, routes, rework loops, items and
specs with kits.

The form is the one of ``floor/demo/workshop.json``. Everything is read in or nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from decimal import Decimal
from typing import Any, TypeVar

from django.db import IntegrityError, transaction
from django.db import models as fields

from shop.catalogue.deciding import approve, set_limit
from shop.catalogue.models import (
    PARTS,
    Gauging,
    HardwareKit,
    Item,
    KitLine,
    Loop,
    Operation,
    Precedence,
    Route,
    RouteStop,
    Spec,
    SpecRevision,
    Station,
    Wood,
)
from shop.craft.rework import REPAIR

M = TypeVar("M", bound=fields.Model)
Row = Mapping[str, Any]
PART_OF = {part.family_is.value: part for part in PARTS}


def read_in(data: Row) -> list[SpecRevision]:
    """Write the catalogue; returns the first revision of each spec, as a draft.

    Raises ``KeyError`` for a name that is used but not given, ``ValidationError`` for a
    value its field does not allow, ``NotReady`` for a limit or a substitute that cannot be.
    """
    with transaction.atomic():
        stations = {
            row["code"]: kept(Station(place=place, **row))
            for place, row in enumerate(data["stations"], start=1)
        }
        operations = {row["code"]: _operation(row, stations) for row in data["operations"]}
        routes = {name: _route(name, row, operations) for name, row in data["routes"].items()}
        for row in data.get("loops", ()):
            _loop(row, stations)
        items = {row["key"]: _item(row) for row in data["items"]}
        woods = {row["botanical"]: kept(Wood(**row)) for row in data.get("woods", ())}
        return [_spec(row, routes, items, operations, woods) for row in data["specs"]]


def kept(row: M) -> M:
    """The row, written. What it points to was written just before; the constraints are the
    database's to hold, and are only gone through here to say in words which one it was."""
    pointers = {one.name for one in row._meta.fields if one.is_relation}
    row.full_clean(exclude=pointers, validate_constraints=False)
    try:
        with transaction.atomic():
            row.save()
    except IntegrityError:
        row.full_clean()
        raise
    return row


def _typed(model: type[fields.Model], row: Row, **given: Any) -> dict[str, Any]:
    """The row's values as the model's fields take them: numbers as exact decimals."""
    typed = dict(row) | given
    for field in model._meta.get_fields():
        if isinstance(field, fields.DecimalField) and typed.get(field.name) is not None:
            typed[field.name] = Decimal(typed[field.name])
    return typed


def _operation(row: Row, stations: Mapping[str, Station]) -> Operation:
    facts = {name: value for name, value in row.items() if name != "gauges"}
    operation = kept(Operation(**_typed(Operation, facts, station=stations[row["station"]])))
    for place, quantity in enumerate(row.get("gauges", ()), start=1):
        kept(Gauging(operation=operation, quantity=quantity, place=place))
    return operation


def _item(row: Row) -> Item:
    part = PART_OF[row["family"]]
    return kept(part(**_typed(part, {k: v for k, v in row.items() if k != "family"})))


def _route(name: str, row: Row, operations: Mapping[str, Operation]) -> Route:
    route = kept(Route(name=name))
    for place, code in enumerate(row["stops"], start=1):
        kept(RouteStop(route=route, operation=operations[code], place=place))
    for one in row["precedences"]:
        kept(
            Precedence(
                route=route,
                before=operations[one["before"]],
                after=operations[one["after"]],
                wait=timedelta(hours=one.get("wait_h", 0)),
                clock=one.get("clock", ""),
                noted=one.get("noted", False),
                other_person=one.get("other_person", False),
                apart_days=one.get("apart_days"),
            )
        )
    return route


def _loop(row: Row, stations: Mapping[str, Station]) -> Loop:
    where = stations[row.get("station", REPAIR)]
    facts = dict(row) | {"redo": " ".join(row.get("redo", ()))}
    return kept(Loop(**_typed(Loop, facts, station=where)))


def _spec(
    row: Row,
    routes: Mapping[str, Route],
    items: Mapping[str, Item],
    operations: Mapping[str, Operation],
    woods: Mapping[str, Wood],
) -> SpecRevision:
    spec = kept(Spec(key=row["key"]))
    facts = _typed(SpecRevision, row["facts"], spec=spec, route=routes[row["route"]])
    revision = kept(SpecRevision(number=1, **facts))
    revision.woods.set([woods[botanical] for botanical in row.get("woods", ())])
    for one in row.get("limits", ()):
        set_limit(
            revision.pk,
            one["name"],
            Decimal(one["value"]),
            one["by"],
            one["why"],
            date.fromisoformat(one["on"]),
        )
    _kit(HardwareKit.objects.create(revision=revision), row["kit"], items, operations)
    return revision


def _kit(
    kit: HardwareKit,
    rows: Sequence[Row],
    items: Mapping[str, Item],
    operations: Mapping[str, Operation],
) -> None:
    """The kit's lines; then the substitutes, which are tried on the whole of it."""
    lines = [
        kept(
            KitLine(
                kit=kit,
                item_id=items[row["item"]].pk,
                quantity=row.get("quantity", 1),
                used_at=operations[row["used_at"]],
                in_tray=row.get("in_tray", True),
            )
        )
        for row in rows
    ]
    for line, row in zip(lines, rows, strict=True):
        for one in row.get("substitutes", ()):
            key = items[one["item"]].key
            approve(line.pk, key, one["approved_by"], one["why"], date.fromisoformat(one["on"]))
