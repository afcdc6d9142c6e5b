"""One movement of the ledger: nothing changes a lot's counts but :func:`move`."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Final

from shop.craft.lots import LotFacts
from shop.stock.models import Lot, Movement, Tray, TrayLine

WORDS: Final = 200  # what a reason may be long
MOVED: Final = 120  # and that of one movement


class OutOfStep(Exception):
    """The stock is not in a state for this; the message says what is so and what to do."""


def move(
    lot: Lot,
    kind: str,
    *,
    at: datetime,
    on_hand: int = 0,
    reserved: int = 0,
    out: int = 0,
    tray: Tray | None = None,
    line: TrayLine | None = None,
    serial: str = "",
    by: int | None = None,
    why: str = "",
) -> None:
    """Write the movement. The database moves the lot's counts with it; ``lot`` has them after.

    ``lot`` must have been read by :func:`held_lot` or :func:`held_lots` in this transaction:
    its counts are what the movement follows from.
    """
    lot.on_hand += on_hand
    lot.reserved += reserved
    lot.out += out
    Movement.objects.create(
        lot=lot, kind=kind, on_hand=on_hand, reserved=reserved, out=out,
        on_hand_after=lot.on_hand, reserved_after=lot.reserved, out_after=lot.out,
        tray=tray, line=line, serial=serial, by_id=by, at=at, why=why[:MOVED],
    )  # fmt: skip


# Writers hold trays first and lots after them, both in the order of their ids, and with a lot
# every lot of its item: whoever goes on to another of them has it already, and nobody waits
# in a circle. No key changes, so movements that name a tray or a lot are not kept waiting.


def held_lot(lot_id: int) -> Lot:
    """The lot, kept from other writers until this one is done. Raises ``OutOfStep``."""
    lot = held_lots([lot_id]).get(lot_id)
    if lot is None:
        raise OutOfStep("This lot is not here. Choose one of the list.")
    return lot


def held_lots(lot_ids: Sequence[int]) -> dict[int, Lot]:
    """These lots, kept from other writers, always locked in the same order."""
    wanted = set(lot_ids)
    items = Lot.objects.filter(pk__in=wanted).values("item_id")
    rows = Lot.objects.select_for_update(no_key=True).filter(item_id__in=items)
    return {one.pk: one for one in rows.order_by("pk") if one.pk in wanted}


def held_items(item_ids: Sequence[int]) -> dict[int, Lot]:
    """Every lot of these items, kept from other writers, by id: what is to be locked at once
    where a deed goes from one item to another."""
    rows = Lot.objects.select_for_update(no_key=True).filter(item_id__in=item_ids)
    return {one.pk: one for one in rows.order_by("pk")}


def to_pick_from(item_ids: Sequence[int]) -> dict[int, Lot]:
    """Every whole lot of these items that is not held, kept from other writers, by id."""
    lots = held_items(item_ids)
    return {pk: one for pk, one in lots.items() if not one.held and not one.piece}


def held_trays(tray_ids: Sequence[int]) -> dict[int, Tray]:
    """These trays, kept from other writers, always locked in the same order."""
    rows = Tray.objects.select_for_update(no_key=True).filter(pk__in=tray_ids)
    return {one.pk: one for one in rows.order_by("pk")}


def held_tray(tray_id: int) -> Tray:
    """The tray, kept from other writers until this one is done. Raises ``OutOfStep``."""
    tray = held_trays([tray_id]).get(tray_id)
    if tray is None:
        raise OutOfStep("This tray is not here. Look in the list of trays.")
    return tray


def facts(lot: Lot) -> LotFacts:
    return LotFacts(
        id=lot.pk,
        item_id=lot.item_id,
        code=lot.code,
        plating=lot.plating or lot.code,
        received_on=lot.received_on,
        free=lot.on_hand - lot.reserved,
    )


def reason(why: str, what: str) -> str:
    """The reason as it is kept. Raises ``OutOfStep`` where there is none, or it is too long."""
    told = " ".join(why.split())
    if not told:
        raise OutOfStep(f"Say why {what}.")
    if len(told) > WORDS:
        raise OutOfStep(f"{len(told)} characters. Say it in {WORDS}.")
    return told
