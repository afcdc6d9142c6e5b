"""Lists that come in as files and go out as files, one kind a file.

A kind says which columns it has, how a cell is read, what a row would do to what is there,
and what all of it is; what it does is done by the ledger (``shop/stock/changes/intakes.py``).
"""

from __future__ import annotations

from typing import Final

from shop.stock.lists.items import ITEMS
from shop.stock.lists.kind import Kind
from shop.stock.lists.orders import ORDERS
from shop.stock.lists.receipts import RECEIPTS
from shop.stock.lists.stock import STOCK

__all__ = ["KINDS", "Kind"]

KINDS: Final[dict[str, Kind]] = {one.what: one for one in (ITEMS, STOCK, RECEIPTS, ORDERS)}
