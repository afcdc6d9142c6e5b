"""How items are kept, when to order them again, and what is on order."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Final

from django.db.models import F, Sum
from django.db.models.functions import TruncDate
from django.utils import timezone

from shop.catalogue import book
from shop.craft import reorder
from shop.craft.reorder import Lead, Point
from shop.stock.answers.stock import coming, stocked
from shop.stock.models import Delivery, Lot, Movement, Order, StockRule

WENT_OUT: Final = ("deducted", "drawn", "consumed", "returned")  # what returned comes off it


@dataclass(frozen=True, slots=True)
class Kept:
    """How an item is counted, ordered and weighed. Nothing: it goes by its class."""

    item_id: int
    key: str
    name: str
    cls: str
    tolerance_pct: Decimal | None
    count_every_days: int | None
    least: int
    pack: int
    lead_days: int
    lead_sd_days: Decimal
    service_pct: Decimal
    unit_g: Decimal | None
    unit_sd_g: Decimal | None
    bag_g: Decimal | None
    small_parts: int


RULED: Final = tuple(
    one for one in Kept.__dataclass_fields__ if one not in ("item_id", "key", "name")
)


def kept(key: str) -> Kept | None:
    """How the item with this key is kept: as it was told, or as an item is of which nothing is."""
    item_id = book.item_ids([key]).get(key)
    if item_id is None:
        return None
    row = StockRule.objects.filter(item_id=item_id).first() or StockRule(item_id=item_id)
    name = book.articles([item_id])[item_id].name
    return Kept(item_id, key, name, **{one: getattr(row, one) for one in RULED})


@dataclass(frozen=True, slots=True)
class Reorder:
    """One item as the shopping list sees it, in pieces.

    ``wanted``: what orders not released yet will want of it, the first of which is not covered
    by what is free on ``wanted_on``. It stands beside the proposal and is no part of it.
    """

    item_id: int
    key: str
    name: str
    cls: str
    pack: int
    on_hand: int
    free: int
    on_order: int
    next_on: date | None  # when the next of it is due
    wanted: int
    wanted_on: date | None
    point: Point
    quantity: int  # to order now, in whole packs
    needed_on: date | None  # the last day that what is free covers

    @property
    def position(self) -> int:
        """What the point is held against: free and on order."""
        return self.free + self.on_order

    @property
    def packs(self) -> int:
        return self.quantity // self.pack

    @property
    def below(self) -> bool:
        return self.quantity > 0

    @property
    def short_words(self) -> str:
        """Words a filter looks in."""
        return f"{self.key} {self.name} class {self.cls} {'below' if self.below else 'enough'}"


def reordering(at: datetime) -> list[Reorder]:
    """Every item on the shelf or with a rule, those to be ordered first.

    Eight statements for any number of items, once the sheets of the specs ordered are in memory.
    """
    today = timezone.localtime(at).date()
    rules = {one.item_id: one for one in StockRule.objects.filter(item__obsolete=False)}
    lying = Lot.objects.filter(item__obsolete=False, piece="").values_list("item_id", flat=True)
    ids = sorted({*rules, *lying.order_by().distinct()})
    shelf, ordered, out = stocked(ids), coming(ids), _went_out(today)
    wanted = _wanted()
    found = []
    for item_id in ids:
        rule = rules.get(item_id) or StockRule(item_id=item_id)
        there, more = shelf[item_id], ordered[item_id]
        lead = Lead(rule.lead_days, float(rule.lead_sd_days), float(rule.service_pct))
        needs = reorder.demand(out[item_id])
        point = reorder.point(needs, lead, rule.least)
        on_order = sum(one.quantity for one in more)
        bare = _first_bare(there.free, wanted[item_id])
        found.append(
            Reorder(
                item_id=item_id,
                key=there.article.key,
                name=there.article.name,
                cls=rule.cls,
                pack=rule.pack,
                on_hand=there.on_hand,
                free=there.free,
                on_order=on_order,
                next_on=more[0].due_on if more else None,
                wanted=sum(quantity for _, quantity in wanted[item_id]),
                wanted_on=bare,
                point=point,
                quantity=reorder.propose(point, there.free + on_order, rule.pack),
                needed_on=_earlier(bare, reorder.lasts_until(there.free, needs, today)),
            )
        )
    return sorted(found, key=lambda one: (not one.below, one.key))


def _went_out(today: date) -> defaultdict[int, list[int]]:
    """What left the shelf of each item on each day that something did, today the last."""
    first = today - timedelta(days=reorder.LOOK_BACK_DAYS - 1)
    since = timezone.make_aware(datetime.combine(first, time()))
    rows = (
        Movement.objects.filter(kind__in=WENT_OUT, at__gte=since, lot__piece="")
        .exclude(on_hand=0)
        .annotate(day=TruncDate("at"))
        .filter(day__lte=today)
        .values_list("lot__item_id", "day")
        .order_by()
        .annotate(moved=Sum("on_hand"))
    )
    found: defaultdict[int, list[int]] = defaultdict(list)
    for item_id, _, moved in rows:
        found[item_id].append(-moved)
    return found


def _wanted() -> defaultdict[int, list[tuple[date, int]]]:
    """What the kits of orders not released yet will want of each item, the earliest first. A
    spec without an open revision has no kit to tell."""
    orders = Order.objects.filter(quantity__gt=F("released")).order_by("due_on", "id")
    rows = list(orders.values_list("spec__key", "due_on", F("quantity") - F("released")))
    found: defaultdict[int, list[tuple[date, int]]] = defaultdict(list)
    if not rows:
        return found
    sheets = {one["spec__key"]: (one["id"], one["version"]) for one in book.open_revisions()}
    for spec, due_on, instruments in rows:
        if spec in sheets:
            for one in book.sheet(*sheets[spec]).kit:
                found[one.item_id].append((due_on, one.quantity * instruments))
    return found


def _first_bare(free: int, wanted: Sequence[tuple[date, int]]) -> date | None:
    """When the first order is due that what is free does not cover."""
    for due_on, quantity in wanted:
        free -= quantity
        if free < 0:
            return due_on
    return None


def _earlier(*days: date | None) -> date | None:
    return min((one for one in days if one is not None), default=None)


@dataclass(frozen=True, slots=True)
class DeliveryRow:
    """Pieces of an item that are on order, or were."""

    id: int
    key: str
    name: str
    order: str
    quantity: int
    came: int
    due_on: date
    ended_why: str

    @property
    def left(self) -> int:
        """What is still to come of it."""
        return 0 if self.ended_why else max(self.quantity - self.came, 0)

    def late(self, today: date) -> bool:
        return self.left > 0 and self.due_on < today

    @property
    def short_words(self) -> str:
        """Words a filter looks in."""
        state = "given up" if self.ended_why else "coming" if self.left else "came"
        return f"{self.key} {self.name} {self.order} {state}"


def deliveries() -> list[DeliveryRow]:
    """Every delivery, those still to come first, the earliest first, in one statement."""
    rows = Delivery.objects.order_by("due_on", "id").values_list(
        "id", "item__key", "item__name", "order", "quantity", "came", "due_on", "ended_why"
    )
    return sorted((DeliveryRow(*row) for row in rows), key=lambda one: not one.left)
