"""What is: bodies, necks, tags, instruments, pairs, steps and the journal.

Only the deeds behind ``floor/door.py`` write these tables. The journal (:class:`Entry`) is
what was said and done; every other table here follows from it and can be made again
(``floor/following.py``).
"""

from shop.floor.models.defects import Defect
from shop.floor.models.dock import Carton, Manifest
from shop.floor.models.frets import FretHeights
from shop.floor.models.gauges import Gauge, GaugeCheck, GaugeStudy
from shop.floor.models.instruments import Deviation, Instrument, Pair
from shop.floor.models.journal import Entry, Loose, Written
from shop.floor.models.looks import AreaLook
from shop.floor.models.panels import Panel, PanelCall, PanelSet
from shop.floor.models.parts import Body, Neck, Tag
from shop.floor.models.prints import Print
from shop.floor.models.rack import Slot
from shop.floor.models.work import (
    AsBuilt,
    HelpCall,
    Permit,
    Photo,
    Reading,
    Rework,
    RoomReading,
    Step,
)

__all__ = [
    "AreaLook",
    "AsBuilt",
    "Body",
    "Carton",
    "Defect",
    "Deviation",
    "Entry",
    "FretHeights",
    "Gauge",
    "GaugeCheck",
    "GaugeStudy",
    "HelpCall",
    "Instrument",
    "Loose",
    "Manifest",
    "Neck",
    "Pair",
    "Panel",
    "PanelCall",
    "PanelSet",
    "Permit",
    "Photo",
    "Print",
    "Reading",
    "Rework",
    "RoomReading",
    "Slot",
    "Step",
    "Tag",
    "Written",
]
