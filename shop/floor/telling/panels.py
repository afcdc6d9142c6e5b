"""Seeded panels told: which were put up, and that somebody looked at one. What they called is
told nowhere: it counts between two, and never of one."""

from __future__ import annotations

from typing import Final

from shop.craft.words import several
from shop.floor.models import Entry
from shop.floor.telling.said import Names, Said, Teller


def _kept(row: Entry, names: Names) -> Said:
    said = row.data
    if said["away"]:
        its = f"the panels of set {said['away']}"
        return Said(did="put away", do="put away", object=its, where=False)
    many = several(len(said["panels"]), "panel")
    which = f" as set {said['number']}" if "number" in said else ""
    return Said(
        did="seeded", do="seed", object=f"{many}{which}", where=False, because=said["words"]
    )


def _call(row: Entry, names: Names) -> Said:
    its = f"panel {row.data['panel']} of set {row.data['of']}"
    return Said(did="looked at", do="look at", object=its, where=False)


PANELS: Final[dict[str, Teller]] = {"panels": _kept, "panel call": _call}
