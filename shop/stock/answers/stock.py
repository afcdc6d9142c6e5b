"""What is on the shelf, item by item, and whether the ledger balances."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from django.db.models import F, Sum
from django.db.models.functions import Coalesce

from shop.catalogue import book
from shop.craft.hardware import Article
from shop.stock.answers.lots import held_words
from shop.stock.models import Delivery, Lot, Movement


def free(item_ids: Sequence[int]) -> dict[int, int]:
    """Free pieces (on hand less reserved) of each item, in its fullest single lot not held."""
    best: dict[int, int] = dict.fromkeys(item_ids, 0)
    rows = Lot.objects.filter(item_id__in=item_ids, held="", piece="")
    for item_id, on_hand, reserved in rows.values_list("item_id", "on_hand", "reserved"):
        best[item_id] = max(best[item_id], on_hand - reserved)
    return best


@dataclass(frozen=True, slots=True)
class Coming:
    """What is still to come of one delivery."""

    id: int
    due_on: date
    quantity: int
    order: str


def coming(item_ids: Sequence[int]) -> dict[int, tuple[Coming, ...]]:
    """What is on order of each item, the earliest first, in one statement."""
    found: dict[int, list[Coming]] = {one: [] for one in item_ids}
    rows = Delivery.objects.filter(
        item_id__in=item_ids, ended_why="", quantity__gt=F("came")
    ).order_by("due_on", "id")
    for one in rows:
        more = Coming(one.pk, one.due_on, one.quantity - one.came, one.order)
        found[one.item_id].append(more)
    return {item_id: tuple(rows) for item_id, rows in found.items()}


@dataclass(frozen=True, slots=True)
class Stocked:
    """An article on the shelf, all of its lots together. What is held counts as not there."""

    article: Article
    on_hand: int = 0
    free: int = 0
    bins: tuple[str, ...] = ()
    held: tuple[str, ...] = ()  # each lot that is held, in words


def stocked(item_ids: Sequence[int]) -> dict[int, Stocked]:
    """These items as they stand on the shelf, in two statements for any number of them."""
    found = {key: Stocked(article) for key, article in book.articles(item_ids).items()}
    rows = Lot.objects.filter(item_id__in=item_ids, piece="").order_by("bin__code", "id")
    for item_id, bin_code, code, on_hand, reserved, held in rows.values_list(
        "item_id", "bin__code", "code", "on_hand", "reserved", "held"
    ):
        so_far = found[item_id]
        if held:
            more = replace(so_far, held=(*so_far.held, held_words(code, held)))
        elif on_hand:
            more = replace(
                so_far,
                on_hand=so_far.on_hand + on_hand,
                free=so_far.free + on_hand - reserved,
                bins=tuple(dict.fromkeys((*so_far.bins, bin_code))),
            )
        else:
            continue
        found[item_id] = more
    return found


def unbalanced() -> list[str]:
    """Lots whose counts are not the sums of their movements; empty when all is well."""
    rows = Lot.objects.select_related("item", "bin").annotate(
        sum_on_hand=Coalesce(Sum("movements__on_hand"), 0),
        sum_reserved=Coalesce(Sum("movements__reserved"), 0),
        sum_out=Coalesce(Sum("movements__out"), 0),
    )
    return [
        f"{lot}: counts {lot.on_hand}/{lot.reserved}/{lot.out}, "
        f"movements {lot.sum_on_hand}/{lot.sum_reserved}/{lot.sum_out}"
        for lot in rows
        if (lot.on_hand, lot.reserved, lot.out) != (lot.sum_on_hand, lot.sum_reserved, lot.sum_out)
    ]


def batch_lots(serial: str) -> dict[int, str]:
    """The lot of each item that was fitted to an instrument out of a batch, by item."""
    rows = Movement.objects.filter(serial=serial, kind="consumed", tray__isnull=True)
    found: dict[int, list[str]] = {}
    for item_id, code in rows.order_by("id").values_list("lot__item_id", "lot__code"):
        found.setdefault(item_id, []).append(code)
    return {item_id: ", ".join(dict.fromkeys(codes)) for item_id, codes in found.items()}


def reserved(lot_id: int) -> int:
    return Lot.objects.values_list("reserved", flat=True).get(pk=lot_id)
