"""The clerk's way past the bins."""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass, field
from datetime import date

from django.db.models import QuerySet

from shop.catalogue import book
from shop.craft.hardware import Article, Family
from shop.stock.answers.bins import walking_order
from shop.stock.answers.counts import in_open_trays
from shop.stock.answers.lots import held_words
from shop.stock.models import Lot, TrayLine

NOWHERE = "no bin"  # where an item lies that no bin holds by the figures


@dataclass(frozen=True, slots=True)
class Share:
    """What one tray gets from a bin."""

    line_id: int
    tray_id: int
    tray_code: str
    serial: str
    quantity: int
    covered: bool  # by what is kept for it, or is free; otherwise the bin is short by the figures
    held: str  # that what was reserved for it is held, and why
    used_at: str  # the operation that fits it
    wanted_on: date
    urgent: bool
    revision: tuple[int, int]  # of its instrument's spec, and that one's version


@dataclass(slots=True)
class BinStop:
    """One bin on the clerk's walk, and the lot to take there."""

    bin: str
    item_id: int
    article: Article
    on_hand: int = 0
    reserved: int = 0
    lot: str = ""
    lot_id: int | None = None
    in_trays: int = 0  # of those on hand: in trays that are not closed yet
    shares: list[Share] = field(default_factory=list)

    @property
    def key(self) -> str:
        """What names this stop in an address."""
        return f"{self.item_id}-{self.lot_id or 0}"

    @property
    def free(self) -> int:
        return self.on_hand - self.reserved

    @property
    def take(self) -> int:
        return sum(share.quantity for share in self.shares)

    @property
    def left_after(self) -> int:
        """What should lie in the bin once this stop is done."""
        return self.on_hand - self.in_trays - self.take

    @property
    def short(self) -> int:
        """How many the figures say this bin lacks for these trays."""
        return sum(share.quantity for share in self.shares if not share.covered)

    def gets(self, found: int, first: Sequence[int]) -> set[int]:
        """The lines that are filled out of so many, by their ids; ``first`` is every
        line of this stop in the order in which they are needed."""
        quantities = {share.line_id: share.quantity for share in self.shares}
        return filled({line_id: quantities[line_id] for line_id in first}, found)

    @property
    def held(self) -> tuple[str, ...]:
        """Why what was reserved for these trays is not to be taken; each reason once."""
        return tuple(dict.fromkeys(share.held for share in self.shares if share.held))

    @property
    def by_wells(self) -> bool:
        return self.article.family is Family.TUNERS


def filled(wanted: Mapping[int, int], found: int) -> set[int]:
    """Which lines so many pieces fill, each whole or not at all, in the order given.

    >>> sorted(filled({7: 1, 8: 2, 9: 1}, 2))
    [7, 9]
    """
    full = set()
    for line_id, quantity in wanted.items():
        if quantity <= found:
            full.add(line_id)
            found -= quantity
    return full


def walk(tray_ids: Sequence[int]) -> list[BinStop]:
    """The way past the bins for these trays: bin by bin, each with its shares."""
    return _stops(TrayLine.objects.filter(tray_id__in=tray_ids))


def stops_of(walk_id: int) -> list[BinStop]:
    """What is left of one walk of a wave. All that its wave comes by decides the order, done or
    not, so that the way does not turn round under a clerk. Six statements for any number."""
    of_wave = TrayLine.objects.filter(walk__wave__walks=walk_id).order_by().distinct()
    bins = of_wave.values_list("lot__bin__code", "reserved_lot__bin__code")
    passed = {lot or reserved for lot, reserved in bins if lot or reserved}
    return _stops(TrayLine.objects.filter(walk_id=walk_id), passed)


def _stops(of: QuerySet[TrayLine], passed: Set[str] = frozenset()) -> list[BinStop]:
    """A line without a reserved lot, or with one that is held, is led to the oldest lot that
    covers it, or else to the fullest: the clerk may find what the figures do not know of.
    Nobody is led to a held lot. ``passed``: bins that are on the way beside those of these
    lines. Five statements for any number of lines.
    """
    lines = list(
        of.filter(state="open")
        .exclude(tray__state="closed")
        .select_related("tray__revision", "reserved_lot__bin")
        .order_by("-tray__urgent", "tray__wanted_on", "tray__serial", "part")
    )
    articles = book.articles(sorted({line.item_id for line in lines}))
    shelves = _Shelves(sorted(articles))
    stops: dict[str, BinStop] = {}
    for line in lines:
        own = line.reserved_lot if line.reserved else None
        held = held_words(own.code, own.held) if own and own.held else ""
        kept = own if own and not own.held else None
        lot, covered = (kept, True) if kept else shelves.lot_for(line)
        stop = _stop(line, lot, articles[line.item_id])
        tray = line.tray
        stops.setdefault(stop.key, stop).shares.append(
            Share(
                line_id=line.pk,
                tray_id=tray.pk,
                tray_code=tray.code,
                serial=tray.serial,
                quantity=line.quantity,
                covered=covered,
                held=held,
                used_at=line.used_at,
                wanted_on=tray.wanted_on,
                urgent=tray.urgent,
                revision=(tray.revision_id, tray.revision.version),
            )
        )
    in_trays = in_open_trays([one.lot_id for one in stops.values() if one.lot_id])
    for stop in stops.values():
        stop.in_trays = sum(one.quantity for one in in_trays.get(stop.lot_id or 0, ()))
    return _in_order(list(stops.values()), passed)


def _stop(line: TrayLine, lot: Lot | None, article: Article) -> BinStop:
    if lot is None:
        return BinStop(NOWHERE, line.item_id, article)
    return BinStop(
        lot.bin.code, line.item_id, article, lot.on_hand, lot.reserved, lot.code, lot.pk
    )  # fmt: skip


class _Shelves:
    """What can be picked from of some items, and how much of it is free still."""

    def __init__(self, item_ids: Sequence[int]) -> None:
        rows = Lot.objects.filter(item_id__in=item_ids, held="", piece="").select_related("bin")
        self.oldest: dict[int, list[Lot]] = {}
        for lot in rows.order_by("received_on", "id"):
            self.oldest.setdefault(lot.item_id, []).append(lot)
        self.free = {
            lot.pk: lot.on_hand - lot.reserved for lots in self.oldest.values() for lot in lots
        }

    def lot_for(self, line: TrayLine) -> tuple[Lot | None, bool]:
        """The lot for a line that has none kept, and whether it covers the line."""
        lots = self.oldest.get(line.item_id, [])
        for lot in lots:
            if self.free[lot.pk] >= line.quantity:
                self.free[lot.pk] -= line.quantity
                return lot, True
        return max(lots, key=lambda one: one.on_hand, default=None), False


def _in_order(stops: list[BinStop], passed: Set[str]) -> list[BinStop]:
    """By the shortest way past the bins; what no bin holds comes last."""
    codes = sorted({one.bin for one in stops if one.lot_id} | passed)
    place = {code: turn for turn, code in enumerate(walking_order(codes))}
    return sorted(
        stops, key=lambda one: (place.get(one.bin, len(place)), one.article.key, one.lot_id or 0)
    )  # fmt: skip
