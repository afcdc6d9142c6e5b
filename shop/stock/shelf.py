"""What is on the shelf, and what lies in a tray?"""

from __future__ import annotations

from shop.stock.answers import bins as _bins
from shop.stock.answers import counts as _counts
from shop.stock.answers import filling as _filling
from shop.stock.answers import intakes as _intakes
from shop.stock.answers import keeping as _keeping
from shop.stock.answers import labels as _labels
from shop.stock.answers import lots as _lots
from shop.stock.answers import pieces as _pieces
from shop.stock.answers import proving as _proving
from shop.stock.answers import shorts as _shorts
from shop.stock.answers import stock as _stock
from shop.stock.answers import swaps as _swaps
from shop.stock.answers import trays as _trays
from shop.stock.answers import used as _used
from shop.stock.answers import walk as _walk
from shop.stock.answers import waves as _waves
from shop.stock.answers.bins import BinRow, Lies
from shop.stock.answers.counts import BinToCount, CountDone, ToCount
from shop.stock.answers.filling import LotChoice, SmallParts
from shop.stock.answers.intakes import IntakeLine, IntakeRow, IntakeSheet
from shop.stock.answers.keeping import DeliveryRow, Kept, Reorder
from shop.stock.answers.labels import BinLabel, BinSays, LotLabel, LotSays
from shop.stock.answers.lots import LotRow, LotSheet
from shop.stock.answers.pieces import Apart, Due, Loose, SpareDue
from shop.stock.answers.shorts import Awaited, FreeLot
from shop.stock.answers.stock import Coming, Stocked
from shop.stock.answers.trays import Bare, TrayRow
from shop.stock.answers.used import Kin, Named, Use, Used
from shop.stock.answers.walk import BinStop, Share
from shop.stock.answers.waves import WalkRow, WaveRow, WaveTray

__all__ = [
    "Apart",
    "Awaited",
    "Bare",
    "BinLabel",
    "BinRow",
    "BinSays",
    "BinStop",
    "BinToCount",
    "Coming",
    "CountDone",
    "DeliveryRow",
    "Due",
    "FreeLot",
    "IntakeLine",
    "IntakeRow",
    "IntakeSheet",
    "Kept",
    "Kin",
    "Lies",
    "Loose",
    "LotChoice",
    "LotLabel",
    "LotRow",
    "LotSays",
    "LotSheet",
    "Named",
    "Reorder",
    "Share",
    "SmallParts",
    "SpareDue",
    "Stocked",
    "ToCount",
    "TrayRow",
    "Use",
    "Used",
    "WalkRow",
    "WaveRow",
    "WaveTray",
]

# Items and lots.
lots = _lots.all_lots
lot = _lots.sheet
free = _stock.free
stocked = _stock.stocked
coming = _stock.coming
batch_lots = _stock.batch_lots
reserved = _stock.reserved
unbalanced = _stock.unbalanced
prove = _proving.prove

# What is set apart, singles and spares, and what is to come in.
set_apart = _pieces.set_apart
singles = _pieces.singles
spares_due = _pieces.spares_due
lots_of = _pieces.lots_of
arriving = _pieces.arriving
bins_of = _pieces.bins_of
last_movement = _pieces.last_movement

# Trays.
tray = _trays.tray
trays = _trays.trays
tray_facts = _trays.tray_facts
lots_for = _filling.lots_for
small_parts = _filling.small_parts
in_slot = _filling.in_slot
missing_at = _trays.missing_at
kept_for = _trays.kept_for
drawn = _trays.drawn
not_covered = _trays.not_covered
lying = _swaps.lying
as_agreed = _swaps.as_agreed

# The way past the bins.
bins = _bins.bins
walking_order = _bins.walking_order
walk = _walk.walk
stops_of = _walk.stops_of
read_label = _labels.read_label
bin_labels = _labels.bin_labels
lot_labels = _labels.lot_labels

# Waves and their walks.
waves = _waves.waves
wave = _waves.wave
walk_row = _waves.walk_row
oldest_partial = _waves.oldest_partial

# Counting bins.
to_count = _counts.to_count
counts_due = _counts.due
bin_to_count = _counts.bin_to_count
in_open_trays = _counts.in_open_trays
counts_done = _counts.counts_done
count_accuracy = _counts.accuracy

# How items are kept, when to order them again, what is on order.
kept = _keeping.kept
reordering = _keeping.reordering
deliveries = _keeping.deliveries

# What is kept for nobody yet, and what it could be.
awaited = _shorts.awaited
free_lots = _shorts.free_lots

# Lists that came in as files, and lists as files.
intakes = _intakes.intakes
intake = _intakes.intake
list_kinds = _intakes.list_kinds
list_head = _intakes.list_head
list_file = _intakes.list_file
LIST_BYTES = _intakes.MOST_BYTES

# Where a lot went.
used = _used.used
lots_named = _used.lots_named
