"""The clerk's way past the bins."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from shop.catalogue import book
from shop.craft.hardware import Article, Family
from shop.stock.answers.lots import held_words
from shop.stock.models import Lot, TrayLine


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
    to_pick = Lot.objects.filter(item_id__in=wanted, held="", piece="").select_related("bin")
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
