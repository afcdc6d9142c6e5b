"""Defects told: what was noted, what was decided about it, and what was noted by mistake."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any, Final

from shop.craft import zones
from shop.craft.inspecting import body_map
from shop.craft.inspecting.disposing import Disposition
from shop.craft.words import mm
from shop.floor.models import Entry
from shop.floor.telling.course import loop_told
from shop.floor.telling.said import Names, Said, Teller

_BECOMES: Final[dict[str, str]] = {
    Disposition.REWORK: "it is sent to rework",
    Disposition.TOUCH_UP: "it is touched up",
    Disposition.ACCEPT: "it is accepted as it is",
    Disposition.SECONDS: "it is sold as seconds",
    Disposition.HOLD: "it is held for decision",
    Disposition.SCRAP: "it is to be scrapped",
    Disposition.CANNIBALISE: "it is to be scrapped, its good parts kept",
}


def _noted(row: Entry, names: Names) -> Said:
    said = row.data
    found = said["found_at"]
    where = names.operation(found) if found in names.operations else names.station(found)
    return Said(
        did="noted",
        do="note",
        object=f"{_called(said)}{f', found at {where}' if found else ''}",
        where=not found,
        because=said["words"],
        details=tuple(_place(said)),
        mark="warn",
    )


def _decided(row: Entry, names: Names) -> Said:
    said = row.data
    becomes = _BECOMES.get(said["disposition"], said["disposition"])
    if said["disposition"] == Disposition.RETURN:
        becomes = f"its {said['department']} goes back to its makers"
    depth = said.get("depth_mm")
    return Said(
        did="decided",
        do="decide",
        object=f"about {_called(said)}",
        where=False,
        because=f"{becomes}, {row.reason}" if row.reason else becomes,
        says_reason=True,
        details=(
            *((("Decided with", said["second"]),) if said.get("second") else ()),
            *(loop_told(row, names) if "loop" in said else ()),
            *((("Depth", mm(Decimal(depth))),) if depth else ()),
        ),
    )


def _withdrawn(row: Entry, names: Names) -> Said:
    return Said(
        did="withdrew",
        do="withdraw",
        object=_called(row.data),
        where=False,
        because=row.reason,
        says_reason=True,
    )


def _called(said: Mapping[str, Any]) -> str:
    """The defect by its word, class and place; by its row where it was not found."""
    if "word" not in said:
        return f"the defect of row {said['number']}"
    place = f", {zones.PLACES[said['zone']]}" if said["zone"] in zones.PLACES else ""
    return f"“{said['word']}”, class {said['grade']}{place}"


def _place(said: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """As it was tapped, where it was taken."""
    if said["x_mm"] is None or said["zone"] not in body_map.SHOWN.get(said["view"], ()):
        return
    x_mm, y_mm = (round(Decimal(said[name])) for name in ("x_mm", "y_mm"))
    yield "Place", body_map.Place(said["view"], said["zone"], x_mm, y_mm).words


DEFECTS: Final[dict[str, Teller]] = {
    "noted": _noted,
    "decided": _decided,
    "withdrawn": _withdrawn,
}
