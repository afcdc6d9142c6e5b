"""Changing what is on the shelf: every change is a movement, and the counts are its sums.

Reserved at release, out of the bin once the tray is closed, fitted when the operation is
recorded. A lot that is held is neither reserved nor promised nor picked from until it is
given free. Nobody else writes stock.
"""

from __future__ import annotations

from shop.stock.changes import keeping, lots, trays
from shop.stock.changes.balance import OutOfStep
from shop.stock.changes.lots import MOST_MM
from shop.stock.changes.trays import Ask, Fitted, PutIn

__all__ = ["MOST_MM", "Ask", "Fitted", "OutOfStep", "PutIn"]

# Lots: in, measured, held, free.
receive = lots.receive
promise = lots.promise
measure = lots.measure
quarantine = lots.quarantine
hold = lots.hold
free = lots.free
keep_until = lots.keep_until

# How items are kept, what is on order, and which orders will want kits.
keep_rule = keeping.keep_rule
expect = keeping.expect
give_up_delivery = keeping.give_up_delivery
book_order = keeping.book_order
order_released = keeping.order_released

# Trays: asked, picked, checked, closed, and what became of what lay in them.
ask_tray = trays.ask_tray
let_go = trays.let_go
put_in = trays.put_in
split_line = trays.split_line
swap_line = trays.swap_line
accept_second_lot = trays.accept_second_lot
check_line = trays.check_line
close_tray = trays.close_tray
open_tray = trays.open_tray
give_up_tray = trays.give_up_tray
rename_tray = trays.rename_tray
park_tray = trays.park_tray
consume = trays.consume
