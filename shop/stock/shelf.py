"""What is on the shelf, and what lies in a tray?"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from django.db.models import F, Sum

from shop.catalogue import book
from shop.craft.hardware import Article, Family, Picked, TrayFacts, Wanted
from shop.stock import lots as lot_sheets
from shop.stock.lots import LotRow, LotSheet, held_words
from shop.stock.models import Lot, Tray, TrayLine

__all__ = ["LotRow", "LotSheet"]
lots = lot_sheets.all_lots
lot = lot_sheets.sheet

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
    held: str = ""  # that what was reserved for it is held, and why


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
    def held(self) -> tuple[str, ...]:
        """Why what was reserved for these trays is not to be taken; each reason once."""
        return tuple(dict.fromkeys(share.held for share in self.shares if share.held))

    @property
    def by_wells(self) -> bool:
        return self.article.family is Family.TUNERS


def free(item_ids: Sequence[int]) -> dict[int, int]:
    """Free pieces (on hand less reserved) of each item, in its fullest single lot not held."""
    best: dict[int, int] = dict.fromkeys(item_ids, 0)
    rows = Lot.objects.filter(item_id__in=item_ids, held="")
    for item_id, on_hand, reserved in rows.values_list("item_id", "on_hand", "reserved"):
        best[item_id] = max(best[item_id], on_hand - reserved)
    return best


def walk(tray_ids: Sequence[int]) -> list[BinStop]:
    """The clerk's way past the bins for these trays: bin by bin, each with its shares.

    A line without a reserved lot, or with one that is held, is led to the item's fullest
    bin: the clerk may find what the figures do not know of. Nobody is led to a held lot.
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
    to_pick = Lot.objects.filter(item_id__in=wanted, held="").select_related("bin")
    for lot in to_pick.order_by("on_hand"):
        fullest[lot.item_id] = lot
    stops: dict[tuple[int, int], BinStop] = {}
    for line in lines:
        own = line.reserved_lot
        held = held_words(own.code, own.held) if own and own.held else ""
        lot_or_none = fullest.get(line.item_id) if held else own or fullest.get(line.item_id)
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
            Share(
                line_id=line.pk,
                tray_id=line.tray_id,
                serial=line.tray.serial,
                quantity=line.quantity,
                covered=line.reserved > 0 and not held,
                held=held,
            )
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
            lot_code=F("lot__code"), lot_held=F("lot__held"), best_before=F("lot__best_before"),
            bin=F("reserved_lot__bin__code"),
            kept_code=F("reserved_lot__code"), kept_held=F("reserved_lot__held"),
        )
    ]  # fmt: skip
    ids = {row["item_id"] for row in rows} | {row["put_in_id"] for row in rows if row["put_in_id"]}
    articles = book.articles(sorted(ids))
    order = list(Family)
    by_tray: dict[int, list[dict[str, Any]]] = defaultdict(list)
    for row in rows:
        row["article"] = articles[row["item_id"]]
        row["put_in"] = articles.get(row["put_in_id"])
        row["held"] = _held_of(row)
        by_tray[row["tray_id"]].append(row)
    for lines in by_tray.values():
        lines.sort(key=lambda line: (order.index(line["article"].family), line["article"].key))
    return by_tray


def _held_of(row: dict[str, Any]) -> str:
    """Why a tray's line cannot stay as it is: the lot it comes from is held.

    What was reserved on a held lot is reserved no more, as far as anybody sees.
    """
    code, why = row.pop("kept_code"), row.pop("kept_held")
    lot_held = row.pop("lot_held")
    if row["state"] == "taken":
        return held_words(row["lot_code"], lot_held) if lot_held else ""
    if row["state"] == "short" or not why:
        return ""
    row["reserved"] = 0
    return held_words(code, why)


@dataclass(frozen=True, slots=True)
class Bare:
    """An item that was put in although its lot cannot give that many.

    ``held`` says so where the lot is held; nothing of it is on hand to pick then.
    """

    key: str
    quantity: int
    on_hand: int
    reserved: int
    held: str = ""


def not_covered(tray_id: int) -> list[Bare]:
    """What was put in from a lot that is held or has too few, reservations of others kept.

    Lines filled from one lot are counted together, and so is all the tray keeps there.
    """
    own: Counter[int] = Counter()
    taken: Counter[tuple[str, int | None]] = Counter()
    lots: dict[int, tuple[int, int, str]] = {}
    rows = TrayLine.objects.filter(tray_id=tray_id).values_list(
        "state", "put_in__key", "quantity", "lot_id", "lot__on_hand", "lot__reserved",
        "lot__code", "lot__held", "reserved_lot_id", "reserved",
    )  # fmt: skip
    for state, key, quantity, lot_id, on_hand, reserved, code, why, own_lot_id, kept in rows:
        if own_lot_id is not None:
            own[own_lot_id] += kept
        if state == "taken":
            taken[key, lot_id] += quantity
            if lot_id is not None:
                held = held_words(code, why) if why else ""
                lots[lot_id] = (0, 0, held) if held else (on_hand, reserved, "")
    bare = []
    for (item, lot), quantity in taken.items():
        there, kept_there, held = lots[lot] if lot is not None else (*_fullest(item), "")
        others = kept_there - own[lot] if lot is not None and not held else kept_there
        if lot is None or there - others < quantity:
            bare.append(Bare(item, quantity, there, others, held))
    return bare


def _fullest(key: str) -> tuple[int, int]:
    """On hand and reserved in the item's fullest lot not held; nothing where there is none."""
    lots = Lot.objects.filter(item__key=key, held="").order_by("-on_hand")
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
                best_before=line["best_before"],
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
    rows = Lot.objects.filter(item_id__in=item_ids).order_by("bin__code", "id")
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
