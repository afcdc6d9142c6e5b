"""What is on the shelf, and what lies in a tray?"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django.db.models import F, Sum

from shop.catalogue import book
from shop.craft.hardware import Article, Family, Picked, TrayFacts, Wanted
from shop.stock.models import Lot, Tray, TrayLine

TrayRow = dict[str, Any]
"""One tray with its ``lines``, as plain values: what :func:`tray` answers with."""


@dataclass(frozen=True, slots=True)
class Share:
    """What one tray gets from a bin."""

    line_id: int
    tray_id: int
    serial: str
    quantity: int
    covered: bool  # reserved for it; otherwise the figures say the bin is short


@dataclass(slots=True)
class BinStop:
    """One bin on the clerk's walk."""

    bin: str
    item_id: int
    article: Article
    on_hand: int
    reserved: int
    lot: str
    shares: list[Share] = field(default_factory=list)

    @property
    def take(self) -> int:
        return sum(share.quantity for share in self.shares)

    @property
    def left_after(self) -> int:
        return self.on_hand - self.take

    @property
    def short(self) -> int:
        """How many the figures say this bin lacks for these trays."""
        return sum(share.quantity for share in self.shares if not share.covered)

    @property
    def by_wells(self) -> bool:
        return self.article.family is Family.TUNERS


def free(item_ids: Sequence[int]) -> dict[int, int]:
    """Free pieces (on hand less reserved) of each item, in its fullest single lot."""
    best: dict[int, int] = dict.fromkeys(item_ids, 0)
    rows = Lot.objects.filter(item_id__in=item_ids).values_list("item_id", "on_hand", "reserved")
    for item_id, on_hand, reserved in rows:
        best[item_id] = max(best[item_id], on_hand - reserved)
    return best


def walk(tray_ids: Sequence[int]) -> list[BinStop]:
    """The clerk's way past the bins for these trays: bin by bin, each with its shares.

    A line without a reserved lot is led to the item's fullest bin: the clerk may find
    what the figures do not know of.
    """
    lines = list(
        TrayLine.objects.filter(tray_id__in=tray_ids, state="open")
        .exclude(tray__state="closed")
        .select_related("tray", "reserved_lot__bin")
        .order_by("tray__wanted_on", "tray__serial")
    )
    wanted = {line.item_id for line in lines}
    articles = book.articles(list(wanted))
    fullest: dict[int, Lot] = {}
    for lot in Lot.objects.filter(item_id__in=wanted).select_related("bin").order_by("on_hand"):
        fullest[lot.item_id] = lot
    stops: dict[tuple[int, int], BinStop] = {}
    for line in lines:
        lot_or_none = line.reserved_lot or fullest.get(line.item_id)
        key = (line.item_id, lot_or_none.pk if lot_or_none else 0)
        if key not in stops:
            stops[key] = BinStop(
                bin=lot_or_none.bin.code if lot_or_none else "no bin",
                item_id=line.item_id,
                article=articles[line.item_id],
                on_hand=lot_or_none.on_hand if lot_or_none else 0,
                reserved=lot_or_none.reserved if lot_or_none else 0,
                lot=lot_or_none.code if lot_or_none else "",
            )
        stops[key].shares.append(
            Share(line.pk, line.tray_id, line.tray.serial, line.quantity, line.reserved > 0)
        )
    return sorted(stops.values(), key=lambda stop: (stop.bin, stop.article.key))


def tray(code_or_id: str | int) -> TrayRow | None:
    """The tray with this code or id: its own fields and ``lines`` with what lies in it."""
    which = {"pk": code_or_id} if isinstance(code_or_id, int) else {"code": code_or_id}
    found = (
        Tray.objects.filter(**which)
        .values(
            "id", "code", "serial", "state", "version", "wanted_on", "closed_at", "revision_id",
            revision_number=F("revision__number"),
            spec=F("revision__spec__key"),
            closer=F("closed_by__code"),
        )
        .first()
    )  # fmt: skip
    if found is None:
        return None
    row: TrayRow = dict(found)
    row["lines"] = _lines([found["id"]])[found["id"]]
    return row


def _lines(tray_ids: Sequence[int]) -> dict[int, list[dict[str, Any]]]:
    rows: list[dict[str, Any]] = [
        dict(row)
        for row in TrayLine.objects.filter(tray_id__in=tray_ids).values(
            "id", "tray_id", "item_id", "quantity", "reserved", "state", "put_in_id",
            "left_counted", "right_counted",
            lot_code=F("lot__code"), bin=F("reserved_lot__bin__code"),
        )
    ]  # fmt: skip
    ids = {row["item_id"] for row in rows} | {row["put_in_id"] for row in rows if row["put_in_id"]}
    articles = book.articles(sorted(ids))
    order = list(Family)
    by_tray: dict[int, list[dict[str, Any]]] = defaultdict(list)
    for row in rows:
        row["article"] = articles[row["item_id"]]
        row["put_in"] = articles.get(row["put_in_id"])
        by_tray[row["tray_id"]].append(row)
    for lines in by_tray.values():
        lines.sort(key=lambda line: (order.index(line["article"].family), line["article"].key))
    return by_tray


@dataclass(frozen=True, slots=True)
class Bare:
    """An item that was put in although its lot cannot give that many."""

    key: str
    quantity: int
    on_hand: int
    reserved: int


def not_covered(tray_id: int) -> list[Bare]:
    """What was put in from a lot that holds too few, reservations of others kept.

    Lines filled from one lot are counted together, and so is all the tray keeps there.
    """
    own: Counter[int] = Counter()
    taken: Counter[tuple[str, int | None]] = Counter()
    lots: dict[int, tuple[int, int]] = {}
    rows = TrayLine.objects.filter(tray_id=tray_id).values_list(
        "state", "put_in__key", "quantity", "lot_id", "lot__on_hand", "lot__reserved",
        "reserved_lot_id", "reserved",
    )  # fmt: skip
    for state, key, quantity, lot_id, on_hand, reserved, own_lot_id, kept in rows:
        if own_lot_id is not None:
            own[own_lot_id] += kept
        if state == "taken":
            taken[key, lot_id] += quantity
            if lot_id is not None:
                lots[lot_id] = (on_hand, reserved)
    bare = []
    for (item, lot), quantity in taken.items():
        there, kept_there = lots[lot] if lot is not None else _fullest(item)
        others = kept_there - own[lot] if lot is not None else kept_there
        if lot is None or there - others < quantity:
            bare.append(Bare(item, quantity, there, others))
    return bare


def _fullest(key: str) -> tuple[int, int]:
    """On hand and reserved in the item's fullest lot; nothing where there is none."""
    lots = Lot.objects.filter(item__key=key).order_by("-on_hand")
    return lots.values_list("on_hand", "reserved").first() or (0, 0)


def tray_facts(row: TrayRow) -> TrayFacts:
    """A tray of :func:`tray` as the fit rules take it."""
    return TrayFacts(
        code=row["code"],
        serial=row["serial"],
        spec=row["spec"],
        revision=row["revision_number"],
        lines=tuple(
            Picked(
                article=line["put_in"],
                quantity=line["quantity"],
                left_counted=line["left_counted"],
                right_counted=line["right_counted"],
                lot=line["lot_code"] or "",
            )
            for line in row["lines"]
            if line["put_in"]
        ),
        missing=tuple(
            Wanted(
                key=line["article"].key,
                name=line["article"].name,
                family=line["article"].family,
                quantity=line["quantity"],
            )
            for line in row["lines"]
            if line["state"] == "short"
        ),
    )


def trays(wanted_by: date) -> list[TrayRow]:
    """Trays not closed yet and wanted by that day, with their lines."""
    wanted = Tray.objects.exclude(state="closed").filter(wanted_on__lte=wanted_by)
    rows: list[TrayRow] = [
        dict(row)
        for row in wanted.order_by("wanted_on", "serial").values(
            "id", "code", "serial", "state", "wanted_on", spec=F("revision__spec__key")
        )
    ]
    lines = _lines([row["id"] for row in rows])
    for row in rows:
        row["lines"] = lines[row["id"]]
    return rows


def unbalanced() -> list[str]:
    """Lots whose counts are not the sums of their movements; empty when all is well."""
    rows = Lot.objects.select_related("item", "bin").annotate(
        sum_on_hand=Sum("movements__on_hand"), sum_reserved=Sum("movements__reserved")
    )
    return [
        f"{lot}: counts {lot.on_hand}/{lot.reserved}, "
        f"movements {lot.sum_on_hand or 0}/{lot.sum_reserved or 0}"
        for lot in rows
        if (lot.on_hand, lot.reserved) != (lot.sum_on_hand or 0, lot.sum_reserved or 0)
    ]


def reserved(lot_id: int) -> int:
    return Lot.objects.values_list("reserved", flat=True).get(pk=lot_id)
