"""What is set apart, which singles there are, which spares are due, and what is to come in."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import F, Max, Q, Sum

from shop.craft.apart import FOUND, OFF
from shop.craft.hardware import Family
from shop.craft.singles import spares_wanted
from shop.stock.answers.lots import PIECES
from shop.stock.models import Delivery, Lot, Movement, TrayLine

APART = ~Q(held="") & (Q(code__startswith=OFF) | Q(code__startswith=FOUND))


@dataclass(frozen=True, slots=True)
class Apart:
    """What is set apart until somebody has looked at it, and for how many days."""

    lot_id: int
    key: str
    name: str
    code: str
    piece: str
    bin: str
    quantity: int
    since: date
    why: str
    today: date

    @property
    def days(self) -> int:
        return (self.today - self.since).days

    @property
    def piece_words(self) -> str:
        return PIECES[self.piece]


def set_apart(today: date) -> list[Apart]:
    """All that is set apart, the oldest first, in one statement."""
    rows = Lot.objects.filter(APART, on_hand__gt=0).order_by("received_on", "id")
    told = rows.values_list(
        "id", "item__key", "item__name", "code", "piece", "bin__code", "on_hand", "received_on",
        "held",
    )  # fmt: skip
    return [Apart(*row, today) for row in told]


@dataclass(frozen=True, slots=True)
class Loose:
    """The single machines of one item and lot, by hand. ``lot_id`` is one of its lots."""

    lot_id: int
    item_id: int
    key: str
    name: str
    code: str
    bins: tuple[str, ...]
    left: int
    right: int
    obsolete: bool
    held: str

    @property
    def together(self) -> int:
        return self.left + self.right


def singles(item_id: int | None = None) -> list[Loose]:
    """The singles that are not set apart, by item and lot, in one statement; ``item_id``: of
    this item alone."""
    rows = Lot.objects.filter(on_hand__gt=0).exclude(piece="").exclude(APART)
    if item_id is not None:
        rows = rows.filter(item_id=item_id)
    found: dict[tuple[int, str], list[Lot]] = defaultdict(list)
    for lot in rows.select_related("item", "bin").order_by("item__key", "code", "id"):
        found[lot.item_id, lot.code].append(lot)
    return [
        Loose(
            lot_id=lots[0].pk,
            item_id=lots[0].item_id,
            key=lots[0].item.key,
            name=lots[0].item.name,
            code=lots[0].code,
            bins=tuple(dict.fromkeys(one.bin.code for one in lots)),
            left=sum(one.on_hand for one in lots if one.piece == "L"),
            right=sum(one.on_hand for one in lots if one.piece == "R"),
            obsolete=lots[0].item.obsolete,
            held=next((one.held for one in lots if one.held), ""),
        )
        for lots in found.values()
    ]


@dataclass(frozen=True, slots=True)
class SpareDue:
    """A plated lot that keeps fewer singles for repair than it should. ``lot_id`` is the lot a
    set of it can be broken out of."""

    lot_id: int
    key: str
    name: str
    code: str
    bin: str
    sets: int  # that came in
    wanted: int
    there: int


def spares_due() -> list[SpareDue]:
    """The plated lots with a free set left that lack singles for repair, in three statements.

    So many sets as came in decide, not so many as are left: their guitars are out there.
    """
    plated = Q(item__family=Family.TUNERS.value) & ~Q(item__metal="")
    lots = list(
        Lot.objects.filter(plated, piece="", held="", on_hand__gt=F("reserved"))
        .exclude(Q(code__startswith=OFF) | Q(code__startswith=FOUND))
        .select_related("item", "bin")
        .order_by("item__key", "received_on", "id")
    )
    ids = [one.item_id for one in lots]
    came: dict[tuple[int, str], int] = {
        (item, code): count
        for item, code, count in Movement.objects.filter(
            kind="received", lot__item_id__in=ids, lot__piece=""
        ).values_list("lot__item_id", "lot__code").annotate(Sum("on_hand"))
    }  # fmt: skip
    there: dict[tuple[int, str], int] = {
        (item, code): count
        for item, code, count in Lot.objects.filter(item_id__in=ids, held="").exclude(piece="")
        .values_list("item_id", "code").annotate(Sum("on_hand"))
    }  # fmt: skip
    found: dict[tuple[int, str], SpareDue] = {}
    for lot in lots:
        sort = (lot.item_id, lot.code)
        sets, kept = came.get(sort, 0), there.get(sort, 0)
        wanted = spares_wanted(sets)
        if kept < wanted and sort not in found:
            key, name = lot.item.key, lot.item.name
            found[sort] = SpareDue(lot.pk, key, name, lot.code, lot.bin.code, sets, wanted, kept)
    return list(found.values())


def lots_of(item_id: int, serial: str = "") -> list[str]:
    """The lots an item may be of, as codes: those the trays of this instrument had first, then
    those on the shelf, the newest first."""
    had = TrayLine.objects.filter(tray__serial=serial, put_in_id=item_id, lot__isnull=False)
    on_shelf = Lot.objects.filter(item_id=item_id).exclude(
        Q(code__startswith=OFF) | Q(code__startswith=FOUND)
    )
    known = [
        *(had.order_by("id").values_list("lot__code", flat=True) if serial else ()),
        *on_shelf.order_by("-received_on", "-id").values_list("code", flat=True),
    ]
    return list(dict.fromkeys(known))


@dataclass(frozen=True, slots=True)
class Due:
    """A delivery that is still to come in, whole or in part. ``bins``: where the item lies."""

    id: int
    item_id: int
    key: str
    name: str
    order: str
    due_on: date
    quantity: int
    came: int

    @property
    def left(self) -> int:
        return self.quantity - self.came


def arriving() -> list[Due]:
    """Every delivery that is still to come in, the earliest first, in one statement."""
    rows = Delivery.objects.filter(ended_why="", quantity__gt=F("came")).order_by("due_on", "id")
    return [
        Due(*row)
        for row in rows.values_list(
            "id", "item_id", "item__key", "item__name", "order", "due_on", "quantity", "came"
        )
    ]


def bins_of(item_ids: Sequence[int]) -> dict[int, tuple[str, ...]]:
    """Where each of these items lies, or lay last, the newest lot's bin first."""
    found: dict[int, list[str]] = {one: [] for one in item_ids}
    rows = Lot.objects.filter(item_id__in=item_ids).order_by("-received_on", "-id")
    for item_id, code in rows.values_list("item_id", "bin__code"):
        found[item_id].append(code)
    return {item_id: tuple(dict.fromkeys(codes)) for item_id, codes in found.items()}


def last_movement() -> int:
    """The number of the newest movement; 0 before there is one."""
    return Movement.objects.aggregate(last=Max("pk"))["last"] or 0
