"""What should be: stations, operations, routes, specs in revisions, hardware and kits.

Models hold fields, constraints and ``facts()``; rules live in ``shop.craft``.
Lengths are decimal millimetres, forces newtons, tapers included degrees.
"""

from shop.catalogue.models.items import (
    CHILD_OF,
    PARTS,
    Battery,
    Case,
    Electronics,
    Guard,
    Item,
    Nut,
    Pins,
    Saddle,
    StrapButton,
    Strings,
    Tail,
    TunerSet,
)
from shop.catalogue.models.loops import Loop
from shop.catalogue.models.specs import (
    HardwareKit,
    KitLine,
    LimitChange,
    Spec,
    SpecRevision,
    Substitute,
    Wood,
)
from shop.catalogue.models.work import Gauging, Operation, Precedence, Route, RouteStop, Station

__all__ = [
    "CHILD_OF", "PARTS", "Battery", "Case", "Electronics", "Gauging", "Guard", "HardwareKit",
    "Item", "KitLine", "LimitChange", "Loop", "Nut", "Operation", "Pins", "Precedence",
    "Route", "RouteStop", "Saddle", "Spec", "SpecRevision", "Station",
    "StrapButton", "Strings", "Substitute", "Tail", "TunerSet", "Wood",
]  # fmt: skip
