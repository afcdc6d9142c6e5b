"""Changing what is on the shelf: every change is a movement, and the counts are its sums.

Reserved at release, out of the bin once the tray is closed, fitted when the operation is
recorded. A lot that is held is neither reserved nor promised nor picked from until it is
given free. Nobody else writes stock.
"""

from __future__ import annotations

from shop.stock.changes import (
    arrivals,
    bins,
    closing,
    counts,
    fitting,
    intakes,
    keeping,
    lots,
    pieces,
    sharing,
    trays,
    waves,
)
from shop.stock.changes.arrivals import MoreThanOrdered
from shop.stock.changes.balance import OutOfStep
from shop.stock.changes.bins import BinThere
from shop.stock.changes.counts import Counted
from shop.stock.changes.fitting import Fitted
from shop.stock.changes.intakes import Outcome
from shop.stock.changes.lots import MOST_MM
from shop.stock.changes.pieces import Back, Singles, Thrown, Whole
from shop.stock.changes.trays import Ask, PutIn
from shop.stock.changes.waves import Picked

__all__ = [
    "MOST_MM",
    "Ask",
    "Back",
    "BinThere",
    "Counted",
    "Fitted",
    "MoreThanOrdered",
    "OutOfStep",
    "Outcome",
    "Picked",
    "PutIn",
    "Singles",
    "Thrown",
    "Whole",
]

# Lots: in, measured, held, free.
receive = lots.receive
promise = lots.promise
measure = lots.measure
quarantine = lots.quarantine
hold = lots.hold
free = lots.free
keep_until = lots.keep_until

# Deliveries taken in; parts back, looked at, broken into singles, drawn for a repair.
arrive = arrivals.arrive
return_sealed = pieces.return_sealed
return_opened = pieces.return_opened
look = pieces.look
break_set = pieces.break_set
make_set = pieces.make_set
draw = pieces.draw
found = pieces.found

# Counting bins.
count = counts.count
second_count = counts.second_count

# Bins, and where they stand.
make_bin = bins.make_bin
place_bin = bins.place_bin

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
close_tray = closing.close_tray
open_tray = closing.open_tray
give_up_tray = closing.give_up_tray
rename_tray = trays.rename_tray
park_tray = closing.park_tray
consume = fitting.consume
use_batch = fitting.use_batch

# Waves: trays picked in one go past the bins, by one clerk or several.
make_wave = waves.make_wave
make_waves = waves.make_waves
add_to_wave = waves.add_to_wave
split_walk = waves.split_walk
take_walk = waves.take_walk
pause_walk = waves.pause_walk
pick_stop = waves.pick_stop
why_not_here = waves.why_not_here

# What is kept for one tray goes to another.
KeptFor = sharing.Kept
hold_trays = sharing.hold_trays
reserve_lines = sharing.reserve_lines
share = sharing.share

# Lists that come in as files: read and judged first, then taken over whole.
bring_in = intakes.bring_in
accept = intakes.accept
