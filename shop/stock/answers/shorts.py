"""Lines of trays that nothing is kept for, and the pieces they could be covered with."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import F

from shop.stock.answers.lots import held_words
from shop.stock.models import Lot, TrayLine


@dataclass(frozen=True, slots=True)
class Awaited:
    """A line that does not lie in its tray yet. ``lot_id``: the lot that is kept for it,
    ``None`` where nothing is that it could be picked from; ``held`` says why, where that is
    because its lot is held."""

    line_id: int
    tray_id: int
    tray_code: str
    tray_open: bool
    item_id: int
    quantity: int
    used_at: str
    lot_id: int | None
    held: str = ""


def awaited(tray_ids: Sequence[int]) -> tuple[Awaited, ...]:
    """Every line of these trays that is still to come, in one statement.

    A line marked short at its bin is not covered, whatever the figures keep for it there. In
    a tray that was closed without it, what is kept for it now is kept on purpose.
    """
    rows = TrayLine.objects.filter(tray_id__in=tray_ids).exclude(state="taken").order_by("id")
    columns = (
        "id", "tray_id", "tray__code", "tray__state", "item_id", "quantity", "used_at",
        "state", "reserved", "reserved_lot_id", "reserved_lot__code", "reserved_lot__held",
    )  # fmt: skip
    found = []
    for *line, state, reserved, lot_id, lot_code, held in rows.values_list(*columns):
        line_id, tray_id, code, tray_state, item_id, quantity, used_at = line
        tray_open = tray_state != "closed"
        kept = reserved and not held and not (tray_open and state == "short")
        about = held_words(lot_code, held) if reserved and held else ""
        one = Awaited(
            line_id, tray_id, code, tray_open, item_id, quantity, used_at,
            lot_id if kept else None, about,
        )  # fmt: skip
        found.append(one)
    return tuple(found)


@dataclass(frozen=True, slots=True)
class FreeLot:
    """A whole lot that is not held, and how many pieces of it are free."""

    id: int
    free: int


def free_lots(item_ids: Sequence[int]) -> dict[int, tuple[FreeLot, ...]]:
    """The lots of each item that may be picked from, the oldest first, in one statement."""
    found: dict[int, list[FreeLot]] = defaultdict(list)
    rows = Lot.objects.filter(item_id__in=item_ids, held="", piece="", on_hand__gt=0)
    columns = ("item_id", "id", F("on_hand") - F("reserved"))
    for item_id, lot_id, free in rows.order_by("received_on", "id").values_list(*columns):
        found[item_id].append(FreeLot(lot_id, free))
    return {item_id: tuple(found[item_id]) for item_id in item_ids}
