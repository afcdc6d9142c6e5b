"""What a scan of a bin's or a lot's label says."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from django.db.models import F

from shop.stock.models import Bin, Lot

# Printed as an address a label ends so; typed, a lot is its number.
_BIN: Final = re.compile(r"HTTPS?://[^/?#]+/BIN/(?P<code>[^/?#]+)/?", re.IGNORECASE)
_LOT: Final = re.compile(r"(?:HTTPS?://[^/?#]+/LOT/|LOT\s+)(?P<number>[0-9]{1,9})/?", re.IGNORECASE)


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
    address = _BIN.fullmatch(said)
    code = address["code"] if address else said
    if found := Bin.objects.filter(code__iexact=code).values_list("code", flat=True).first():
        return BinLabel(found)
    return None if address else _by_item(said, bin_code)


def _by_item(said: str, bin_code: str) -> LotLabel | None:
    """The lot printed as item and code, "T01 31-02A": the one in this bin, else the fullest."""
    key, _, code = said.partition(" ")
    rows = Lot.objects.filter(item__key__iexact=key, code__iexact=code, piece="")
    lots = list(rows.order_by("-on_hand", "id").values_list("pk", F("bin__code")))
    here = [pk for pk, place in lots if place == bin_code]
    return LotLabel((here or [pk for pk, _ in lots])[0]) if lots else None
