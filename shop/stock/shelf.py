"""What is on the shelf, and what lies in a tray?"""

from __future__ import annotations

from shop.stock.answers import lots as _lots
from shop.stock.answers import stock as _stock
from shop.stock.answers import trays as _trays
from shop.stock.answers import walk as _walk
from shop.stock.answers.lots import LotRow, LotSheet
from shop.stock.answers.stock import Coming, Stocked
from shop.stock.answers.trays import Bare, TrayRow
from shop.stock.answers.walk import BinStop, Share

__all__ = ["Bare", "BinStop", "Coming", "LotRow", "LotSheet", "Share", "Stocked", "TrayRow"]

# Items and lots.
lots = _lots.all_lots
lot = _lots.sheet
free = _stock.free
stocked = _stock.stocked
coming = _stock.coming
reserved = _stock.reserved
unbalanced = _stock.unbalanced

# Trays.
tray = _trays.tray
trays = _trays.trays
tray_facts = _trays.tray_facts
not_covered = _trays.not_covered

# The way past the bins.
walk = _walk.walk
