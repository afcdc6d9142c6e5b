"""What keeps an item of a tray from being exchanged for another."""

from __future__ import annotations

from collections.abc import Sequence

from django.db.models import F

from shop.stock.models import Order, TrayLine


def lying(tray_ids: Sequence[int]) -> set[tuple[int, int]]:
    """Tray and item of every line that lies in one of these trays, or is fitted out of it."""
    rows = TrayLine.objects.filter(tray_id__in=tray_ids, state="taken", quantity__gt=F("returned"))
    return set(rows.values_list("tray_id", "item_id"))


def as_agreed(refs: Sequence[str]) -> set[tuple[str, str]]:
    """Of the orders with these numbers, those of samples and custom builds: each with the key
    of the spec it is for."""
    rows = Order.objects.filter(ref__in=refs, as_agreed=True)
    return set(rows.values_list("ref", "spec__key"))
