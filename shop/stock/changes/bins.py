"""Bins, and where they stand."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Final

from django.db import IntegrityError, transaction

from shop.craft.words import THIN
from shop.stock.changes.balance import OutOfStep
from shop.stock.models import Bin

# As painted on the shelf; it has to fit a label and an address.
CODE: Final = re.compile(r"[A-Z0-9][A-Z0-9-]{0,7}")
MOST_AISLES: Final = 99
MOST_ALONG_M: Final = Decimal("99.9")
STEP_M: Final = Decimal("0.1")  # what is kept of a place


class BinThere(OutOfStep):
    """A bin of this ``code`` is there already."""

    def __init__(self, code: str) -> None:
        super().__init__(f"{code} is there already. Choose another code.")
        self.code = code


def make_bin(code: str) -> str:
    """A new bin, without a place yet. Returns its code as it is kept.

    Raises ``OutOfStep`` where it is no code for a bin, ``BinThere`` where the bin is there.
    """
    kept = code.strip().upper()
    if not CODE.fullmatch(kept):
        raise OutOfStep(
            f"{kept or 'Nothing'} is no code for a bin: 1 to 8 letters, digits and hyphens, "
            "as A-03."
        )
    try:
        with transaction.atomic():
            Bin.objects.create(code=kept)
    except IntegrityError as why:
        raise BinThere(kept) from why
    return kept


def place_bin(code: str, aisle: int | None, along_m: Decimal | None) -> None:
    """Say where a bin stands: its aisle, 1 nearest to the kitting table, and metres along it
    from the table's end. Neither: it has no place any more.

    Raises ``OutOfStep`` for no such bin, one without the other, or a place no shelf has.
    """
    if (aisle is None) is not (along_m is None):
        raise OutOfStep(f"{code}: a place is an aisle and the metres along it. Give both.")
    if aisle is not None and not 1 <= aisle <= MOST_AISLES:
        raise OutOfStep(f"Aisle {aisle} cannot be: 1 to {MOST_AISLES}, from the kitting table.")
    if along_m is not None and not (along_m.is_finite() and 0 <= along_m <= MOST_ALONG_M):
        raise OutOfStep(
            f"{along_m}{THIN}m along cannot be: 0 to {MOST_ALONG_M}, from the table's end."
        )
    kept = None if along_m is None else along_m.quantize(STEP_M)
    if not Bin.objects.filter(code=code).update(aisle=aisle, along_m=kept):
        raise OutOfStep(f"There is no bin {code}. Choose one of the list.")
