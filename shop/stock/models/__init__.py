"""What is on the shelf: bins, lots, every movement, the trays picked from them."""

from __future__ import annotations

from shop.stock.models.keeping import Delivery, Intake, Order, StockRule
from shop.stock.models.moves import Movement
from shop.stock.models.places import Bin, Lot, LotCheck, LotCount, LotHold
from shop.stock.models.trays import Tray, TrayLine, Walk, Wave

__all__ = [
    "Bin",
    "Delivery",
    "Intake",
    "Lot",
    "LotCheck",
    "LotCount",
    "LotHold",
    "Movement",
    "Order",
    "StockRule",
    "Tray",
    "TrayLine",
    "Walk",
    "Wave",
]
