"""The hold rack told: its slots, and which case was put where."""

from __future__ import annotations

from typing import Final

from shop.craft.words import listed, several
from shop.floor.models import Entry
from shop.floor.telling.said import Names, Said, Teller


def _slots(row: Entry, names: Names) -> Said:
    said = row.data
    details = (
        *((("Retired", listed(said["retire"])),) if said["retire"] else ()),
        *((("Back in use", listed(said["back"])),) if said["back"] else ()),
    )
    if said["up"]:
        new = [code for code, _tag in said.get("slots", ())]
        which = f", {new[0]} to {new[-1]}" if len(new) > 1 else f", {new[0]}" if new else ""
        return Said(
            did="put up",
            do="put up",
            object=f"{several(said['up'], 'slot')} of the hold rack{which}",
            where=False,
            details=details,
        )
    if said["retire"]:
        many = f"slot {listed(said['retire'])} of the hold rack"
        return Said(did="retired", do="retire", object=many, where=False, details=details[1:])
    if said["back"]:
        many = f"slot {listed(said['back'])} of the hold rack back into use"
        return Said(did="took", do="take", object=many, where=False)
    return Said(did="changed", do="change", object="the slots of the hold rack", where=False)


def _racked(row: Entry, names: Names) -> Said:
    slot, before = row.data["slot"], row.data["from"]
    if before:
        moved = f"it from slot {before} to {slot} of the hold rack"
        return Said(did="moved", do="move", object=moved, where=False)
    return Said(did="put", do="put", object=f"it into slot {slot} of the hold rack", where=False)


def _unracked(row: Entry, names: Names) -> Said:
    slot = f"slot {row.data['slot']}" if row.data["slot"] else "its slot"
    return Said(did="took", do="take", object=f"it out of {slot} of the hold rack", where=False)


RACK: Final[dict[str, Teller]] = {"slots": _slots, "racked": _racked, "unracked": _unracked}
