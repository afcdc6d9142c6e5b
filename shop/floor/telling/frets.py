"""Fret heights told: how many were read, when, and with what."""

from __future__ import annotations

from typing import Final

from shop.craft.words import several
from shop.floor.models import Entry
from shop.floor.telling.said import Names, Said, Teller

STAGES: Final = {"before": "before levelling", "after": "after crowning"}


def _frets(row: Entry, names: Names) -> Said:
    said = row.data
    count = len(said["entered"])
    read_with = said.get("read_with") or said.get("tool")
    return Said(
        did="read",
        do="read",
        object=f"{several(count, 'fret height')} for {names.operation(said['operation'])}",
        because=STAGES.get(said["stage"], ""),
        details=(("Read with", read_with),) if read_with else (),
        mark="warn" if said.get("overdue") else "clear",
    )


FRETS: Final[dict[str, Teller]] = {"frets": _frets}
