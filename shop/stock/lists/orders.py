"""Instruments ordered: a row is a spec of an order. A row of an order that is known corrects it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from django.db.models import F

from shop.catalogue import revising
from shop.craft import cell
from shop.stock.lists.kind import (
    CHANGED,
    NEW,
    SAME,
    Bad,
    Column,
    Kind,
    Row,
    Told,
    key_text,
    other,
    text,
)
from shop.stock.models import Order

MOST: Final = 10_000  # instruments of one order; more is a slip


@dataclass(frozen=True, slots=True)
class There:
    specs: dict[str, int]
    booked: dict[tuple[str, int], Order]


def state(rows: Sequence[Row], today: date) -> There:
    specs = revising.spec_ids(list({row["spec"] for row in rows}))
    booked = Order.objects.filter(spec_id__in=specs.values())
    return There(specs, {(one.ref, one.spec_id): one for one in booked})


def judge(row: Row, there: There) -> Told:
    ref, quantity, due = row["number"], row["quantity"], row["due"]
    agreed = bool(row.get("as agreed"))
    if (spec := there.specs.get(row["spec"])) is None:
        words = f"There is no spec {row['spec']}. Correct the key, or add the spec first."
        raise Bad(("spec", words))
    takes = {
        "ref": ref, "spec_id": spec, "quantity": quantity, "due_on": due, "as_agreed": agreed,
    }  # fmt: skip
    known = there.booked.get((ref, spec))
    if known is None:
        comes = f"{quantity} due {due}" + (", as agreed" if agreed else "")
        return Told(NEW, takes, comes)
    if quantity < known.released:
        words = f"{known.released} of {ref} are released already. Write so many or more."
        raise Bad(("quantity", words))
    if "as agreed" not in row:
        agreed = takes["as_agreed"] = known.as_agreed
    changes = [
        other("quantity", quantity, known.quantity),
        other("due", due, known.due_on),
        other("as agreed", said(agreed), said(known.as_agreed)),
    ]
    words = "; ".join(filter(None, changes))
    return Told(CHANGED if words else SAME, takes, words)


def said(yes: bool) -> str:
    return "yes" if yes else "no"


def rows() -> Iterator[Sequence[object]]:
    """All that is not released yet."""
    there = Order.objects.filter(released__lt=F("quantity"))
    yield from there.values_list("ref", "spec__key", "quantity", "due_on", "as_agreed", "released")


ORDERS = Kind(
    what="orders",
    columns=(
        Column("number", text(24)),
        Column("spec", key_text),
        Column("quantity", lambda said: cell.whole(said, most=MOST)),
        Column("due", cell.day),
        Column("as agreed", cell.yes, needed=False, empty=False),
    ),
    also=("released",),
    key=lambda row: (row["number"], row["spec"]),
    state=state,
    judge=judge,
    rows=rows,
)
