"""What is on order: a row is an item of an order. A row of an order that is known corrects it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import F

from shop.catalogue import book
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
from shop.stock.models import Delivery


@dataclass(frozen=True, slots=True)
class There:
    items: dict[str, int]
    ordered: dict[tuple[int, str], Delivery]
    # Without the number of an order, two alike are two.
    unnumbered: Counter[tuple[int, int, date]]


def state(rows: Sequence[Row], today: date) -> There:
    items = book.item_ids(list({row["item"] for row in rows}))
    there = There(items, {}, Counter())
    for one in Delivery.objects.filter(item_id__in=items.values()):
        if one.order:
            there.ordered[one.item_id, one.order] = one
        elif not one.ended_why:
            there.unnumbered[one.item_id, one.quantity, one.due_on] += 1
    return there


def judge(row: Row, there: There) -> Told:
    item, quantity, due = item_of(row, there.items), row["quantity"], row["due"]
    order = row.get("order number") or ""
    takes = {"item_id": item, "quantity": quantity, "due_on": due, "order": order}
    comes = f"{quantity} due {due}"
    if not order and there.unnumbered[item, quantity, due]:
        there.unnumbered[item, quantity, due] -= 1
        return Told(SAME, takes)
    known = there.ordered.get((item, order)) if order else None
    if known is None:
        return Told(NEW, takes, comes)
    if known.ended_why:
        raise Bad(
            ("order number", f"{order} was given up: {known.ended_why}. Give another number.")
        )
    if quantity < known.came:
        raise Bad(("quantity", f"{known.came} of {order} came in already. Write so many or more."))
    changes = [other("quantity", quantity, known.quantity), other("due", due, known.due_on)]
    words = "; ".join(filter(None, changes))
    return Told(CHANGED if words else SAME, takes, words)


def item_of(row: Row, items: dict[str, int]) -> int:
    """The item a row names. Raises ``Bad``."""
    if (found := items.get(row["item"])) is None:
        words = f"There is no item {row['item']}. Correct the key, or bring the items in first."
        raise Bad(("item", words))
    return found


def rows() -> Iterator[Sequence[object]]:
    """All that is still to come."""
    there = Delivery.objects.filter(ended_why="", came__lt=F("quantity"))
    yield from there.values_list("item__key", "quantity", "due_on", "order", "item__name", "came")


RECEIPTS = Kind(
    what="receipts",
    columns=(
        Column("item", key_text),
        Column("quantity", cell.whole),
        Column("due", cell.day),
        Column("order number", text(24), needed=False, empty=""),
    ),
    also=("name", "came"),
    key=lambda row: (row["item"], row["order number"]) if row.get("order number") else None,
    state=state,
    judge=judge,
    rows=rows,
)
