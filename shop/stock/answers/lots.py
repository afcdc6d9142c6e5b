"""One lot: what it is, whether it is held, how it was measured, which trays have of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Final

from django.db.models import Count, Q, Sum

from shop.catalogue import book
from shop.craft.apart import is_apart
from shop.craft.boxes import left_to_measure, open_words
from shop.craft.hardware import Article
from shop.stock.models import Lot, TrayLine


def held_words(code: str, why: str) -> str:
    """That a lot is held and why, as the clerk and the lead read it.

    >>> held_words("31-02A", "Plating spotted")
    'Lot 31-02A is held: Plating spotted.'
    """
    return f"Lot {code} is held: {why.rstrip('.')}."


PIECES: Final = {"": "", "L": "left singles", "R": "right singles"}
# Why a lot is held that came in and was not measured yet.
TO_MEASURE: Final = "to be measured"


@dataclass(frozen=True, slots=True)
class LotRow:
    """One lot on the list of lots."""

    id: int
    code: str
    key: str
    name: str
    bin: str
    received_on: date
    on_hand: int
    reserved: int
    held: str
    best_before: date | None
    measured: int  # how many values were taken of it
    piece: str = ""  # "L" or "R": single machines of that hand
    plating: str = ""

    @property
    def apart(self) -> bool:
        """Whether it is set apart until somebody has looked at it."""
        return bool(self.held) and is_apart(self.code)

    @property
    def piece_words(self) -> str:
        return PIECES[self.piece]

    @property
    def free(self) -> int:
        return 0 if self.held else self.on_hand - self.reserved

    @property
    def short_words(self) -> str:
        """Words a filter looks in."""
        states = "held" if self.held else "free"
        taken = "measured" if self.measured else "unmeasured"
        said = f"{self.key} {self.name} {self.code} {self.bin} {states} {taken} {self.held}"
        return f"{said} {self.piece_words}"


def all_lots() -> list[LotRow]:
    """Every lot with something on hand or a hold on it: held ones first, then the newest."""
    rows = (
        Lot.objects.exclude(on_hand=0, held="")
        .annotate(measured=Count("checks"))
        .order_by("-received_on", "item__key", "id")
        .values_list(
            "id", "code", "item__key", "item__name", "bin__code", "received_on", "on_hand",
            "reserved", "held", "best_before", "measured", "piece", "plating",
        )
    )  # fmt: skip
    return sorted((LotRow(*row) for row in rows), key=lambda one: not one.held)


@dataclass(frozen=True, slots=True)
class Check:
    """One value measured on a piece of a lot, in millimetres."""

    id: int
    dimension: str
    value: Decimal
    inside: bool
    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Hold:
    """A lot was held, or given free again."""

    held: bool
    why: str
    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class LotTray:
    """A tray that has of a lot, or is to get it."""

    serial: str
    code: str
    quantity: int
    state: str  # "reserved", "picked" or "closed"


@dataclass(frozen=True, slots=True)
class ToMeasure:
    """So many came in and are held to be measured; what of it is inside its size already, as
    pieces by dimension."""

    came: int
    inside: dict[str, int]

    @property
    def words(self) -> str:
        return open_words(self.came)

    def left(self, dimensions: Sequence[str]) -> dict[str, int]:
        """How many pieces are still to be measured of each dimension that is not done."""
        return left_to_measure(dimensions, self.came, self.inside)


def to_measure(lot: Lot) -> ToMeasure | None:
    """What a lot held to be measured is held for; nothing of a lot held for something else,
    or in somebody's own words."""
    if not lot.held.startswith(TO_MEASURE):
        return None
    since = lot.holds.filter(held=True).order_by("-id").values_list("at", flat=True).first()
    if since is None:
        return None
    came = lot.movements.filter(kind="received", at__gte=since).aggregate(n=Sum("on_hand"))["n"]
    checks = lot.checks.filter(inside=True, at__gte=since).values_list("dimension", flat=True)
    return ToMeasure(came, dict(Counter(checks))) if came else None


@dataclass(frozen=True, slots=True)
class LotSheet:
    """All there is to say of one lot: what it is, how it was measured, who has of it."""

    row: LotRow
    article: Article
    checks: tuple[Check, ...]  # newest first
    holds: tuple[Hold, ...]  # newest first
    trays: tuple[LotTray, ...]
    item_id: int
    to_measure: ToMeasure | None = None  # before it is free, where it came in and is held for that

    @property
    def last_check(self) -> int:
        """The number of the newest check; 0 before there is one."""
        return self.checks[0].id if self.checks else 0


def sheet(lot_id: int) -> LotSheet | None:
    """The lot with this id, in five statements however much was measured."""
    found = Lot.objects.select_related("item", "bin").filter(pk=lot_id).first()
    if found is None:
        return None
    checks = found.checks.order_by("-id")
    taken = tuple(
        Check(*row)
        for row in checks.values_list("id", "dimension", "value_mm", "inside", "by__code", "at")
    )
    holds = found.holds.order_by("-id").values_list("held", "why", "by__code", "at")
    return LotSheet(
        row=LotRow(
            id=found.pk,
            code=found.code,
            key=found.item.key,
            name=found.item.name,
            bin=found.bin.code,
            received_on=found.received_on,
            on_hand=found.on_hand,
            reserved=found.reserved,
            held=found.held,
            best_before=found.best_before,
            measured=len(taken),
            piece=found.piece,
            plating=found.plating,
        ),
        article=book.articles([found.item_id])[found.item_id],
        checks=taken,
        holds=tuple(Hold(*row) for row in holds),
        trays=_trays_of(lot_id),
        item_id=found.item_id,
        to_measure=to_measure(found),
    )


def _trays_of(lot_id: int) -> tuple[LotTray, ...]:
    """The trays that have of this lot, or are to get it: closed ones last."""
    has = Q(state="taken", lot_id=lot_id) | Q(state="open", reserved_lot_id=lot_id)
    rows = TrayLine.objects.filter(has).order_by("tray__wanted_on", "tray__serial")
    found = [
        LotTray(serial, code, quantity, _stage(line_state, tray_state))
        for serial, code, quantity, line_state, tray_state in rows.values_list(
            "tray__serial", "tray__code", "quantity", "state", "tray__state"
        )
    ]
    return tuple(sorted(found, key=lambda one: one.state == "closed"))


def _stage(line: str, tray: str) -> str:
    if line == "open":
        return "reserved"
    return "closed" if tray == "closed" else "picked"
