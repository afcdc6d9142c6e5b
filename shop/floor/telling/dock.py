"""What leaves, told: the carton it lies in, and who took it."""

from __future__ import annotations

from typing import Final

from shop.craft.code import pretty
from shop.craft.words import listed, several
from shop.floor.models import Entry
from shop.floor.telling.said import Names, Said, Teller


def _boxed(row: Entry, names: Names) -> Said:
    said = row.data
    scanned = (("Scanned on the case", said["case"]), ("Scanned on the carton", said["label"]))
    return Said(
        did="boxed it",
        do="box it",
        object="with its papers",
        details=tuple((what, pretty(code)) for what, code in scanned if code),
    )


def _handed_over(row: Entry, names: Names) -> Said:
    said = row.data
    number = f", list {said['number']}" if said.get("number") else ""
    to = said["carrier"] or "a carrier"
    serials = said.get("serials", [])
    return Said(
        did="handed",
        do="hand",
        object=f"{several(len(said['instruments']), 'carton')} to {to}{number}",
        where=False,
        details=(("Serials", listed(serials)),) if serials else (),
    )


def _carried(row: Entry, names: Names) -> Said:
    said = row.data
    to = f"its carton to {said['carrier']}, list {said['manifest']}"
    return Said(did="handed", do="hand", object=to, where=False)


DOCK: Final[dict[str, Teller]] = {
    "boxed": _boxed,
    "handed over": _handed_over,
    "carried": _carried,
}
