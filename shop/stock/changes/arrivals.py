"""Deliveries come in: counted, put into a bin, and held until they are measured."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Final

from django.db import transaction
from django.utils import timezone

from shop.catalogue import book
from shop.craft.fit import receiving
from shop.craft.hardware import Family
from shop.stock.answers.lots import held_words
from shop.stock.changes.balance import OutOfStep, held_lot, move
from shop.stock.changes.lots import code_of, hold_to_measure
from shop.stock.models import Bin, Delivery, Lot, Movement

PLATING = 20  # letters of a plating lot
OLDEST: Final = timedelta(days=3653)  # ten years: a day before that is a slip


class MoreThanOrdered(OutOfStep):
    """More came in than is on order. It is taken in once somebody says that it was counted."""


def arrive(
    bin_code: str,
    lot_code: str,
    quantity: int,
    received_on: date,
    by: int,
    at: datetime,
    *,
    delivery_id: int | None = None,
    item_id: int | None = None,
    plating: str = "",
    best_before: date | None = None,
    counted: bool = False,
    after: int | None = None,
) -> int:
    """So many came in, of a delivery or of an item that none was on order of. Returns the lot.

    Without ``lot_code`` the day they came in names the lot. An item that is measured at
    receiving is held until one box in ten was measured inside its size. ``counted``: that more
    came than was ordered is so. ``after``: the last movement the asker knew of; the same
    receipt by the same person since then is the same tap come twice.

    Raises ``OutOfStep``, and takes nothing in, where the bin is none, the day they came in is
    to come or more than ten years back, batteries have no date, or the delivery is given up;
    ``MoreThanOrdered`` where more came than is on order.
    """
    with transaction.atomic():
        delivery = _delivery(delivery_id) if delivery_id is not None else None
        item = delivery.item_id if delivery else item_id
        article = book.articles([item]).get(item) if item is not None else None
        if item is None or article is None:
            raise OutOfStep("Say what came in: choose a delivery or an item.")
        place = Bin.objects.select_for_update().filter(code__iexact=bin_code.strip()).first()
        if place is None:
            said = bin_code.strip() or "without a name"
            raise OutOfStep(f"There is no bin {said}. Scan the label on the shelf.")
        code = code_of(lot_code) or received_on.isoformat()
        if after is not None and (twin := _taken_in(item, code, quantity, by, after)):
            return twin
        if quantity < 1:
            raise OutOfStep(f"{quantity} came in: that is none. Count again.")
        today = timezone.localdate(at)
        if received_on > today:
            raise OutOfStep(f"{received_on.isoformat()} is to come. Say the day they came in.")
        if received_on < today - OLDEST:
            raise OutOfStep(
                f"{received_on.isoformat()} is more than ten years back. Say the day they came in."
            )
        if article.family is Family.BATTERY and best_before is None:
            raise OutOfStep("Read the best-before date off the batteries.")
        if best_before is not None and best_before < today:
            raise OutOfStep(
                f"{best_before.isoformat()} is past. Read the date again, or send them back."
            )
        if delivery is not None:
            _count_in(delivery, quantity, counted=counted)
        lot = _lot(item, place, code, received_on, _bath(plating), best_before)
        move(lot, "received", on_hand=quantity, at=at, by=by, why=_of(delivery))
        if receiving.measures(article):
            hold_to_measure(lot, quantity, by, at)
    return lot.pk


def _delivery(delivery_id: int) -> Delivery:
    found = Delivery.objects.select_for_update().filter(pk=delivery_id).first()
    if found is None:
        raise OutOfStep("This delivery is not here any more. Choose one of the list.")
    if found.ended_why:
        raise OutOfStep(
            f"This delivery was given up: {found.ended_why}. Take it in without an order."
        )
    return found


def _count_in(delivery: Delivery, quantity: int, *, counted: bool) -> None:
    left = max(delivery.quantity - delivery.came, 0)
    if quantity > left and not counted:
        raise MoreThanOrdered(
            f"{quantity} came in, {left} of {delivery.quantity} are still on order. Count again, "
            "or say that it is so."
        )
    delivery.came += quantity
    delivery.save(update_fields=["came"])


def _lot(
    item_id: int, place: Bin, code: str, received_on: date, plating: str, best_before: date | None
) -> Lot:
    """The lot they are put to: one that lies there already under this code, or a new one."""
    first = {"received_on": received_on, "plating": plating, "best_before": best_before}
    row, is_new = Lot.objects.get_or_create(
        item_id=item_id, bin=place, code=code, piece="", defaults=first
    )
    lot = held_lot(row.pk)
    if is_new:
        return lot
    if lot.held and lot.on_hand == 0:
        raise OutOfStep(f"{held_words(lot.code, lot.held)} Give these a code of their own.")
    if plating and plating != (lot.plating or lot.code):
        raise OutOfStep(
            f"Lot {lot.code} in {place.code} is of plating lot {lot.plating or lot.code}, these "
            f"are of {plating}. Give them a code of their own."
        )
    if best_before and lot.best_before and best_before != lot.best_before:
        raise OutOfStep(
            f"Lot {lot.code} is best before {lot.best_before.isoformat()}, these "
            f"{best_before.isoformat()}. Give them a code of their own."
        )
    return lot


def _bath(told: str) -> str:
    bath = " ".join(told.split()).upper()
    if len(bath) > PLATING:
        raise OutOfStep(f"{bath} has {len(bath)} letters. A plating lot has {PLATING} at most.")
    return bath


def _of(delivery: Delivery | None) -> str:
    if delivery is None:
        return "Came in, none was on order"
    return f"Came in, order {delivery.order}" if delivery.order else "Came in"


def _taken_in(item_id: int, code: str, quantity: int, by: int, after: int) -> int | None:
    """The lot of the same receipt, taken in since ``after`` by the same person."""
    rows = Movement.objects.filter(
        pk__gt=after, kind="received", by_id=by, on_hand=quantity,
        lot__item_id=item_id, lot__code=code,
    )  # fmt: skip
    return rows.values_list("lot_id", flat=True).first()
