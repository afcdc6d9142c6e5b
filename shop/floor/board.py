"""How do things stand? Every question a screen or a print asks of the floor.

What is asked is answered in the file that the name behind it tells.
"""

from __future__ import annotations

from shop.craft.start import Asking
from shop.floor import (
    areas,
    closing,
    compared,
    conditions,
    costs,
    course,
    defects,
    dock,
    exchanging,
    figures,
    fresh_eyes,
    frets,
    gauges,
    lists,
    looked_up,
    needs,
    newest,
    panels,
    particulars,
    prints,
    rack,
    rooms,
    states,
    telling,
    twice,
    used,
    verifying,
    waiting,
    working,
)
from shop.floor import as_built as as_builts
from shop.floor import claims as floor_claims
from shop.floor import history as histories
from shop.floor import measured as many
from shop.floor import sharing as shared
from shop.floor import shorts as short_rows
from shop.floor.areas import AreaLooks, AreaRow, Seen
from shop.floor.compared import LookValue
from shop.floor.deeds import cartons, endings, grading, positions, readings, trays
from shop.floor.deeds import cases as deeds_cases
from shop.floor.deeds import defects as deeds_defects
from shop.floor.deeds import dock as deeds_dock
from shop.floor.deeds import frets as deeds_frets
from shop.floor.deeds import prints as deeds_prints
from shop.floor.deeds.deed import asking_of
from shop.floor.deeds.gating import against as gates_against
from shop.floor.deeds.gating import neck_gate
from shop.floor.defects import DefectRow, RepairRow
from shop.floor.differing import Stands
from shop.floor.dock import CartonRow, ManifestRow, ManifestSheet
from shop.floor.exchanging import KitRow, Outlook
from shop.floor.figures import (
    By,
    ByWord,
    Escapes,
    OfGroup,
    OfOperation,
    OfWord,
    One,
    Ones,
    OpenRework,
    Spell,
)
from shop.floor.frets import FretsKept
from shop.floor.lists import FloorRow
from shop.floor.looked_up import Picture, Proven
from shop.floor.measured import Characteristic, Moved, Run, Value
from shop.floor.panels import CalledPanel, SetRow, Turn
from shop.floor.prints import NextPrint, OnPaper
from shop.floor.rack import Case, Place, Rack, SlotRow
from shop.floor.rooms import RoomRow
from shop.floor.sharing import Sharing
from shop.floor.shorts import Short
from shop.floor.state import State
from shop.floor.twice import FoundTwice, Twice
from shop.floor.used import Became, WhereUsed
from shop.floor.verifying import Proof
from shop.floor.waiting import NextWait, WaitRow
from shop.floor.working import Work

__all__ = [
    "AreaLooks",
    "AreaRow",
    "Asking",
    "Became",
    "By",
    "ByWord",
    "CalledPanel",
    "CartonRow",
    "Case",
    "Characteristic",
    "DefectRow",
    "Escapes",
    "FloorRow",
    "FoundTwice",
    "FretsKept",
    "KitRow",
    "LookValue",
    "ManifestRow",
    "ManifestSheet",
    "Moved",
    "NextPrint",
    "NextWait",
    "OfGroup",
    "OfOperation",
    "OfWord",
    "OnPaper",
    "One",
    "Ones",
    "OpenRework",
    "Outlook",
    "Picture",
    "Place",
    "Proof",
    "Proven",
    "Rack",
    "RepairRow",
    "RoomRow",
    "Run",
    "Seen",
    "SetRow",
    "Sharing",
    "Short",
    "SlotRow",
    "Spell",
    "Stands",
    "State",
    "Turn",
    "Twice",
    "Value",
    "WaitRow",
    "WhereUsed",
    "Work",
]

asking = asking_of
open_step_row = course.open_step_row
by_tag = states.by_tag
neck_fits = neck_gate
parts = trays.parts
reading_rule = readings.rule_of
machines = positions.machines_of
by_serial = states.by_serial
by_serials = states.by_serials
number_of = states.number_of
waiting_list = waiting.waiting_list
waiting_of = waiting.waiting
doubts = waiting.doubts
claims = floor_claims.claims
neckless = waiting.neckless
reworks_open = waiting.reworks
power_cuts = waiting.power_cuts
undone_by_parting = waiting.undone_by_parting
in_doubt_since = waiting.in_doubt_since
clocks_of = waiting.clocks_of
all_open = states.all_open
room = conditions.room
room_log = rooms.room_log
room_waits = rooms.room_waits
papers = conditions.papers
comes_off = endings.comes_off
paired = endings.paired
as_built = as_builts.kept
history = histories.history
history_asked = histories.asked
with_fresh_eyes = histories.with_fresh_eyes
values_kept = histories.values_kept
history_groups = telling.GROUPS
serials = histories.serials
serial_of = histories.serial_of

SIGNED_BESIDE = working.SIGNED_BESIDE
work = working.work
measured_wrong = working.measured_wrong
may_begin = working.may_begin
skipped = working.skipped
gap = working.gap
against_late = working.against_late
done_before = working.done_before

mark = newest.mark
floor_list = lists.floor_list
waiting_parts = lists.waiting_parts
calls = lists.calls
tags_of = lists.tags_of
open_steps = lists.open_steps
frozen_list = lists.frozen_list

measured = particulars.measured
tray_outlook = particulars.tray_outlook
journal = particulars.journal
photos = particulars.photos
marks_read = particulars.marks_read
answered = particulars.answered
loops_of = particulars.loops_of
hold = particulars.hold
to_repair = particulars.to_repair
doubtful = particulars.doubtful

# The looks of a route: how far each one's checklist is answered, and what it measures.
looks_of = areas.looks_of
against_look = areas.against_look
against_measuring = areas.against_measuring
area_looks = areas.area_looks
look_values = compared.look_values
look_moves = compared.moves
moves_of = many.moves_of

# What was found wrong, what became of it, and what waits for its repair.
defects_of = defects.defects
defects_with_fresh_eyes = fresh_eyes.with_fresh_eyes
defects_to_choose = fresh_eyes.to_choose
repair_list = defects.to_repair
sold_with = defects.sold_with
loop_is_kept = defects.loop_is_kept
loop_untold = defects.loop_untold
photos_with_fresh_eyes = defects.photos_with_fresh_eyes
settles = deeds_defects.settles
unsigned = deeds_defects.unsigned
ungraded_at_a_look = grading.ungraded_at_a_look
loop_cost = costs.cost
loop_cost_still = costs.still
hold_words = costs.days_words
again_if = deeds_cases.again_if
again_if_out = deeds_cases.again_if_out
again_if_longer = deeds_cases.again_if_longer

needed = needs.needed
closed_first_time = closing.closed_first_time

kit_rows = exchanging.kit_rows

TAG_FORMS = deeds_prints.TAGS
next_prints = prints.next_prints
stands_on = prints.stands_on
on_paper = prints.on_paper
exchange_outlook = exchanging.outlook

where_used = used.where_used

# What trays and benches lack, and how it is best shared out.
shorts = short_rows.shorts
lost_parts = short_rows.lost
sharing = shared.sharing

# The hold rack: every slot and how its case stands, and the slots by themselves.
hold_rack = rack.rack
rack_forecast = rack.forecast
case_in_rack = rack.case_of
slots = rack.places
slots_by_code = rack.places_by_code
slot_of_tag = rack.place_of_tag

# The measuring tools: how each stands, its checks and studies, what was read with it.
tools = gauges.tools
tool = gauges.tool
tool_of_code = gauges.tool_of_code
tools_by_name = gauges.by_names
tools_by_need = gauges.by_need
next_tool_name = gauges.next_name
checks_of = gauges.checks_of
studies_of = gauges.studies_of
read_with = gauges.read_with

# What was measured over many instruments, and what moved between two looks.
characteristics = many.characteristics
run = many.run
moved = many.moved

# Figures of quality, the instruments behind each, and the same as rows of a table.
yields = figures.yields
started_at = figures.started_at
defects_by_word = figures.found
found_on = figures.found_on
escapes = figures.escapes
escapes_by = figures.escapes_by
specs_built = figures.specs_built
escaped = figures.escaped
open_rework = figures.open_rework
yield_rows = figures.group_rows
defect_rows = figures.by_word_rows
escape_rows = figures.escape_rows
open_rework_rows = figures.open_rework_rows
one_rows = figures.one_rows

# Seeded panels: the sets, one as an inspector sees it, and how far two of them agree.
panel_sets = panels.sets
panel_set = panels.set_of
panel_turn = panels.turn
panels_called = panels.called
agreement_of = panels.agreement_of
panels_judged = panels.judged

# The heights of the frets, and how many there are to read.
fret_heights = frets.fret_heights
frets_newest = frets.newest
frets_of = deeds_frets.frets_of
fret_rule = deeds_frets.rule_of
inspections = deeds_frets.inspections

# Everything that stands against doing an operation here and now.
against = gates_against

# Both looks side by side, and whether whoever asks may see them.
may_compare = twice.may_compare
compare = twice.compare

# What stands on the dock in its carton, and the lists by which carriers took others.
carton_of = dock.carton_of
last_carton_of = dock.last_carton_of
at_dock = dock.at_dock
carton_scanned = dock.carton_scanned
manifests = dock.manifests
manifest = dock.manifest
manifests_by_number = dock.manifests_by_number
manifest_of = dock.manifest_of
scans_agree = deeds_dock.agree
unreleased = cartons.unreleased

# What is shown of an instrument years later: the proof in its journal, what is missing.
proof = verifying.proof
proven = looked_up.proven
pictures = looked_up.pictures
worked_on_since = looked_up.worked_on_since
never_measured = looked_up.never_measured
