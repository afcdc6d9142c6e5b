"""The hold and rework told: the case, what moves the hold, what was found and repaired."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Final

from shop.craft.words import THIN, listed, mm
from shop.floor.models import Entry
from shop.floor.telling.said import Names, Said, Teller, clock, moment, stamp

_HAPPENED: Final = {
    "glued": "that a joint was glued",
    "recut": "that it was cut or levelled again",
    "restrung": "that all its strings were off or slack",
    "string": "that one string was replaced",
    "trimmed": "that its saddle or rod was adjusted",
    "touched up": "that its finish was touched up",
    "out": "that it was out of its case",
    "dropped": "that it was dropped",
    "rack": "that it moved to another rack",
    "tag": "that its tag was replaced",
    "power": "that the power was cut",
}


def _happened(row: Entry, names: Names) -> Said:
    what, at = row.data["what"], row.data.get("at")
    when = f", {clock(moment(at), row.at)}" if at else ""
    cure = row.data.get("cure_h")
    return Said(
        did="noted",
        do="note",
        object=f"{_HAPPENED.get(what, what)}{when}",
        where=False,
        details=(
            *((("Dries first", f"{cure}{THIN}h"),) if cure else ()),
            *_again(row, names),
        ),
    )


def _again(row: Entry, names: Names) -> Iterator[tuple[str, str]]:
    """What is done again because of it, where anything is."""
    if again := row.data.get("again"):
        yield "Done again", listed([names.operation(code) for code in again])


def _case_open(row: Entry, names: Names) -> Said:
    why = " for its touch-up" if row.data["touch_up"] else ""
    again = tuple(_again(row, names))
    return Said(
        did="took", do="take", object=f"it out of its case{why}", details=again, mark="wait"
    )


def _case_shut(row: Entry, names: Names) -> Said:
    since = row.data.get("out_since")
    out = f", out since {clock(moment(since), row.at)}" if since else ""
    again = tuple(_again(row, names))
    return Said(
        did="put", do="put", object=f"it back into its case{out}", where=False, details=again
    )


def _longer(row: Entry, names: Names) -> Said:
    hours, wait = row.data["hours"], row.data["clock"]
    return Said(
        did="made",
        do="make",
        object=f"its {wait} wait {hours}{THIN}h longer",
        where=False,
        because=row.reason,
        says_reason=True,
        details=tuple(_again(row, names)),
    )


def _defect(row: Entry, names: Names) -> Said:
    said = row.data
    found = said.get("found_at", "")
    where = names.operation(found) if found in names.operations else names.station(found)
    depth = said.get("depth_mm")
    return Said(
        did="reported",
        do="report",
        object=f"“{said['word']}”{f' found at {where}' if found else ''}",
        where=not found,
        because=said["words"],
        details=(*loop_told(row, names), *((("Depth", mm(Decimal(depth))),) if depth else ())),
        mark="warn",
    )


def loop_told(row: Entry, names: Names) -> Iterator[tuple[str, str]]:
    """The loop it was sent on, what is done there and what is done again after it."""
    said = row.data
    yield "Loop", said.get("title") or said["loop"]
    if said.get("work"):
        yield f"At {said['station']}", said["work"]
    if said.get("redo"):
        yield "Done again", listed([names.operation(code) for code in said["redo"]])


def _repair(row: Entry, names: Names) -> Said:
    loops, dry = row.data.get("loops", []), row.data.get("dry_until")
    took = row.data.get("minutes", 0)
    return Said(
        did="repaired it",
        do="record its repair",
        because=f"loop {listed(loops)}" if loops else "",
        details=(
            *((("Minutes of work", str(took)),) if took else ()),
            *((("Dries until", stamp(moment(dry))),) if dry else ()),
        ),
    )


def _dropped(row: Entry, names: Names) -> Said:
    return Said(
        did="reported",
        do="report",
        object="that it was dropped",
        because=row.data["words"],
        details=tuple(loop_told(row, names) if "loop" in row.data else _again(row, names)),
        mark="warn",
    )


HOLD: Final[dict[str, Teller]] = {
    "happened": _happened,
    "case open": _case_open,
    "case shut": _case_shut,
    "longer": _longer,
}
REWORK: Final[dict[str, Teller]] = {"defect": _defect, "repair": _repair, "dropped": _dropped}
