"""What stands on the label of a bin or a lot, and what a scan of one says."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from django.db.models import F

from shop.catalogue import book
from shop.craft.aisles import Place
from shop.craft.hardware import Article
from shop.stock.answers.lots import PIECES
from shop.stock.answers.pieces import APART
from shop.stock.models import Bin, Lot

# A label says where it stands as an address to scan, and as words to type.
_BIN: Final = re.compile(
    r"(?:HTTPS?://[^/?#]+/B(?:IN)?/|BIN\s+)(?P<code>[^/?#\s]+)/?", re.IGNORECASE
)
_LOT: Final = re.compile(
    r"(?:HTTPS?://[^/?#]+/L(?:OT)?/|LOT\s+)(?P<number>[0-9]{1,9})/?", re.IGNORECASE
)


@dataclass(frozen=True, slots=True)
class BinLabel:
    """The label of a bin that stands on this shelf, by its code."""

    code: str


@dataclass(frozen=True, slots=True)
class LotLabel:
    """The label of a lot that was received here."""

    lot_id: int


def read_label(text: str, bin_code: str = "") -> BinLabel | LotLabel | None:
    """The bin or lot that a scanned or typed text names; ``None`` where it names neither.

    ``bin_code``: where the scanner is held, for a lot that lies in several bins and is named by
    its item and code alone.
    """
    said = " ".join(text.split())
    if lot := _LOT.fullmatch(said):
        number = int(lot["number"])
        return LotLabel(number) if Lot.objects.filter(pk=number).exists() else None
    label = _BIN.fullmatch(said)
    code = label["code"] if label else said
    if found := Bin.objects.filter(code__iexact=code).values_list("code", flat=True).first():
        return BinLabel(found)
    return None if label and "/" in said else _by_item(said, bin_code)


def _by_item(said: str, bin_code: str) -> LotLabel | None:
    """The lot printed as item and code, "T01 31-02A": the one in this bin, else the fullest."""
    key, _, code = said.partition(" ")
    rows = Lot.objects.filter(item__key__iexact=key, code__iexact=code, piece="")
    lots = list(rows.order_by("-on_hand", "id").values_list("pk", F("bin__code")))
    here = [pk for pk, place in lots if place == bin_code]
    return LotLabel((here or [pk for pk, _ in lots])[0]) if lots else None


@dataclass(frozen=True, slots=True)
class Belongs:
    """An item that belongs in a bin. ``piece``: in words, where it is single machines."""

    article: Article
    piece: str


@dataclass(frozen=True, slots=True)
class BinSays:
    """What stands on the label of a bin: where it is, what belongs in it, by key."""

    code: str
    place: Place | None
    belongs: tuple[Belongs, ...]


def bin_labels(codes: Sequence[str] | None = None) -> dict[str, BinSays]:
    """What stands on the labels of these bins, or of all of them; by code, in four statements
    for any number of them.

    An item belongs where it lies, unless it is set apart there; and where it lay last, so that
    an empty bin keeps its label, until the item is obsolete.
    """
    bins = Bin.objects.all() if codes is None else Bin.objects.filter(code__in=codes)
    lots = Lot.objects.exclude(APART)
    here: dict[str, set[tuple[int, str]]] = defaultdict(set)
    gone: dict[str, set[tuple[int, str]]] = defaultdict(set)
    for code, item_id, piece, on_hand, obsolete in lots.filter(bin__in=bins).values_list(
        "bin__code", "item_id", "piece", "on_hand", "item__obsolete"
    ):
        if on_hand:
            here[code].add((item_id, piece))
        elif not obsolete:
            gone[code].add((item_id, piece))
    left = lots.filter(item_id__in={item_id for them in gone.values() for item_id, _ in them})
    last = dict(left.order_by("received_on", "id").values_list("item_id", "bin__code"))
    for code, them in gone.items():
        here[code] |= {one for one in them if last[one[0]] == code}
    articles = book.articles(sorted({item_id for lie in here.values() for item_id, _ in lie}))
    return {
        code: BinSays(
            code,
            None if aisle is None or along_m is None else Place(aisle, along_m),
            tuple(
                sorted(
                    (Belongs(articles[item_id], PIECES[piece]) for item_id, piece in here[code]),
                    key=lambda one: (one.article.key, one.piece),
                )
            ),
        )
        for code, aisle, along_m in bins.values_list("code", "aisle", "along_m")
    }


@dataclass(frozen=True, slots=True)
class LotSays:
    """What stands on the label of a lot. ``code`` is the maker's or the day's, ``number`` ours;
    ``piece``: in words, where it is single machines."""

    number: int
    code: str
    article: Article
    piece: str
    plating: str
    received_on: date
    bin: str
    best_before: date | None


def lot_labels(numbers: Sequence[int] | None = None) -> dict[int, LotSays]:
    """What stands on the labels of these lots, or of all that lie in a bin, the newest first;
    by number, in two statements for any number of them."""
    asked = {"on_hand__gt": 0} if numbers is None else {"pk__in": numbers}
    lots = list(Lot.objects.filter(**asked).select_related("bin").order_by("-received_on", "-id"))
    articles = book.articles(list({lot.item_id for lot in lots}))
    return {
        lot.pk: LotSays(
            number=lot.pk,
            code=lot.code,
            article=articles[lot.item_id],
            piece=PIECES[lot.piece],
            plating=lot.plating,
            received_on=lot.received_on,
            bin=lot.bin.code,
            best_before=lot.best_before,
        )
        for lot in lots
    }
