"""The checklist told: which area somebody looked at, and how many of its items are wrong."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from shop.craft import zones
from shop.floor.models import Entry
from shop.floor.telling.said import Names, Said, Teller


def _looked(row: Entry, names: Names) -> Said:
    said = row.data
    where = names.operation(said["operation"])
    title = said.get("title")
    wrong = said.get("wrong", ())
    count, asked = len(wrong), said.get("asked", len(said["answers"]))
    told = f"{count} of {asked} not as it should be" if wrong else "all as it should be"
    return Said(
        did="looked at",
        do="look at",
        object=(
            f"area {said['area']} {title} for {where}"
            if title
            else f"area {said['area']} for {where}"
        ),
        because=told,
        details=(
            *(("Not as it should be", words) for words in wrong),
            *((("Told by", _defect(said["defect"])),) if "defect" in said else ()),
        ),
        mark="warn" if wrong else "clear",
    )


def _defect(said: Mapping[str, Any]) -> str:
    """The defect that was chosen for the area, by its word and its place."""
    place = zones.PLACES.get(said["zone"], "")
    return f"{said['word']}, {place}" if place else str(said["word"])


AREAS: Final[dict[str, Teller]] = {"area": _looked}
