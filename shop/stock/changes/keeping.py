"""How an item is kept, what is on order of it, and which orders will want kits."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.db import transaction

from shop.stock.changes.balance import OutOfStep, reason
from shop.stock.models import Delivery, Order, StockRule


def keep_rule(item_id: int, **said: Any) -> None:
    """Set how an item is counted, ordered and weighed: fields of ``StockRule`` by name."""
    StockRule.objects.update_or_create(item_id=item_id, defaults=said)


def expect(item_id: int, quantity: int, due_on: date, order: str = "") -> int:
    """So many of an item are on order and due then. Returns the delivery's id.

    The same order for the same item again is that order, corrected; given up, it is on again.
    Raises ``OutOfStep`` where fewer are said than came in already.
    """
    with transaction.atomic():
        found = (
            Delivery.objects.select_for_update().filter(item_id=item_id, order=order).first()
            if order
            else None
        )
        if found is None:
            found = Delivery(item_id=item_id, order=order, quantity=quantity, due_on=due_on)
        elif quantity < found.came:
            raise OutOfStep(f"{found.came} of {order} came in already, more than {quantity}.")
        found.quantity, found.due_on, found.ended_why = quantity, due_on, ""
        found.save()
    return found.pk


def give_up_delivery(delivery_id: int, why: str) -> None:
    """Nothing more comes of this delivery. Raises ``OutOfStep`` without a reason."""
    told = reason(why, "nothing more of it comes")[:120]
    Delivery.objects.filter(pk=delivery_id).update(ended_why=told)


def book_order(ref: str, spec_id: int, quantity: int, due_on: date, as_agreed: bool = False) -> int:
    """So many instruments of a spec are ordered and due then; booked again it is corrected.

    Raises ``OutOfStep`` where fewer are said than are released already.
    """
    with transaction.atomic():
        found = Order.objects.select_for_update().filter(ref=ref, spec_id=spec_id).first()
        if found is None:
            found = Order(ref=ref, spec_id=spec_id)
        elif quantity < found.released:
            raise OutOfStep(f"{found.released} of {ref} are released already, not {quantity}.")
        found.quantity, found.due_on, found.as_agreed = quantity, due_on, as_agreed
        found.save()
    return found.pk


def order_released(ref: str, spec_id: int) -> None:
    """One more instrument of the order is released, where the order is known."""
    with transaction.atomic():
        row = Order.objects.select_for_update().filter(ref=ref, spec_id=spec_id).first()
        if row is not None and row.released < row.quantity:
            row.released += 1
            row.save(update_fields=["released"])
