"""Parts told: what was scanned and looked at, what was measured, which tag hung where."""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from shop.craft import gauging
from shop.craft.code import pretty
from shop.craft.gauging import QUANTITIES
from shop.craft.reading import Reading
from shop.craft.size import plain
from shop.craft.words import THIN, several
from shop.floor.models import Entry
from shop.floor.telling.said import Names, Said, Teller, moment, stamp

HANDS: Final = {"L": ", left machine", "R": ", right machine"}
LOOKED: Final = {"scan": "scanned", "count": "counted", "weigh": "counted and weighed"}


def _tray(row: Entry, names: Names) -> Said:
    code = row.data["tray_code"]
    whose = "its tray" if code == names.tray else f"tray {pretty(code)}"
    return Said(
        did=f"scanned {whose} beside it", do="", tried=f"scanned {whose} beside {row.subject}"
    )


def _line_check(row: Entry, names: Names) -> Said:
    said = row.data
    part = f"{said['count']} × {said['item']}" if "item" in said else "a line"
    return Said(
        did="checked",
        do="check",
        object=f"{part} in its tray",
        because=LOOKED.get(said["how"], said["how"]),
        details=(("Lot", said["lot"]),) if said.get("lot") else (),
    )


def _tray_close(row: Entry, names: Names) -> Said:
    return Said(did="closed", do="close", object="its tray")


def _tray_open(row: Entry, names: Names) -> Said:
    return Said(
        did="opened",
        do="open",
        object="its tray again",
        where=False,
        because=row.reason,
        says_reason=True,
        mark="warn",
    )


def _returned(row: Entry, names: Names) -> Said:
    said = row.data
    part = f"{said['quantity']} × {said['item']}" if "item" in said else "a part"
    place = "into its bin" if said["sealed"] else "to be looked at"
    off = said.get("off", 0)
    return Said(
        did="gave back",
        do="give back",
        object=f"{part}, {'sealed' if said['sealed'] else 'opened'}, {place}",
        where=False,
        because=row.reason,
        says_reason=True,
        details=(
            *((("Lot", said["lot"]),) if "lot" in said else ()),
            *((("Was fitted", str(off)),) if off else ()),
        ),
        mark="warn",
    )


def _drawn(row: Entry, names: Names) -> Said:
    said = row.data
    hand = HANDS.get(said.get("piece", ""), "")
    what = f"{said['quantity']} × {said['item']}{hand}" if "item" in said else "a part"
    return Said(
        did="drew",
        do="draw",
        object=f"{what} for its repair",
        where=False,
        because=said["why"],
        details=(("Lot", said["lot"]),) if "lot" in said else (),
    )


def _positions(row: Entry, names: Names) -> Said:
    marks = row.data["marks"]
    details = [("Marks read", ", ".join(f"{post}: {mark}" for post, mark in sorted(marks.items())))]
    return Said(
        did="checked",
        do="check",
        object=f"the machines on their posts for {names.operation(row.data['operation'])}",
        details=(
            *(details if marks else ()),
            *((("Photo", "from the BACK"),) if row.data["photo"] else ()),
        ),
    )


def _readings(row: Entry, names: Names) -> Said:
    """What was recorded is told with its unit; what was refused, as it was typed."""
    values = row.data.get("values")
    if values is None:
        entered = row.data["entered"]
        details = [
            (_spot(key, place, names), _typed(key, text, inch=row.data["inch"]))
            for key, place, text in entered
        ]
    else:
        details = [
            (_spot(key, place, names), _value(key, place, value)) for key, place, value in values
        ]
    return Said(
        did="entered",
        do="enter",
        object=f"{several(len(details), 'value')} for {names.operation(row.data['operation'])}",
        details=(*details, *_read_with(row)),
    )


def _read_with(row: Entry) -> tuple[tuple[str, str], ...]:
    """The gauge it was read with, as it stood then; its name alone where it was refused."""
    tool = row.data.get("read_with") or row.data.get("tool")
    return (("Read with", tool),) if tool else ()


def _spot(key: str, place: str, names: Names) -> str:
    """The quantity and the place of a value in words; as they were kept, if nobody knows them
    any more."""
    quantity = QUANTITIES.get(key)
    if quantity is None:
        return f"{key} {place}"
    places = quantity.places(names.spec) if names.spec else ()
    where = next((one.words for one in places if one.key == place), place)
    return f"{quantity.words}, {where}"


def _value(key: str, place: str, value: str) -> str:
    if key not in QUANTITIES:
        return value
    return gauging.said(Reading(key, place, Decimal(value)))


def _typed(key: str, text: str, *, inch: bool) -> str:
    quantity = QUANTITIES.get(key)
    if quantity is None or quantity.answers:
        return text
    unit = "inches" if inch and quantity.is_length else quantity.unit
    return f"“{text}” ({unit})" if unit else f"“{text}”"


def _room(row: Entry, names: Names) -> Said:
    temp, rh = row.data["temp_c"], row.data["rh_pct"]
    return Said(
        did="read", do="note", object=f"the room: {temp}{THIN}°C, {rh}{THIN}%RH", where=False
    )


def _room_log(row: Entry, names: Names) -> Said:
    said = row.data
    moments = [moment(at) for at, _, _ in said["readings"]]
    humids = [Decimal(rh) for _, _, rh in said["readings"]]
    count = several(len(moments) - len(said.get("known", ())), "reading")
    because = count
    if moments:
        begin, end = stamp(min(moments)), stamp(max(moments))
        least, most = plain(min(humids)), plain(max(humids))
        because = f"{count} of the room from {begin} to {end}, {least} to {most}{THIN}%RH"
    return Said(
        did="brought in",
        do="bring in",
        object=f"the log of sensor {said['sensor']}",
        where=False,
        because=because,
    )


def _tag(row: Entry, names: Names) -> Said:
    said = row.data
    new = f" with {pretty(said['new'])}" if said.get("new") else ""
    mark = said.get("mark")
    return Said(
        did="replaced",
        do="replace",
        object=f"the {said.get('why', 'spoilt')} tag {pretty(said['code'])}{new}",
        where=False,
        details=(("Mark read", mark),) if mark else (),
    )


def _print(row: Entry, names: Names) -> Said:
    said = row.data
    copy = f", copy {said['copy']}" if said["copy"] > 1 else ""
    return Said(
        did="printed",
        do="print",
        object=f"the {said['words'].lower()} of {said['of']}{copy}",
        where=False,
        because=row.reason,
        says_reason=True,
        details=(("Code", pretty(said["code"])),) if said["code"] else (),
    )


def _neck_seen(row: Entry, names: Names) -> Said:
    neck = names.part(row.data["neck_code"])
    return Said(
        did="scanned",
        do="scan",
        object=f"neck {neck} beside it",
        because="they belong together",
        tried=f"scanned neck {neck} beside {row.subject}",
    )


def _mixed(row: Entry, names: Names) -> Said:
    other = row.data.get("other") or "another guitar"
    since = stamp(moment(row.data["since"]))
    return Said(
        did="found",
        do="note",
        object=f"that its tag and that of {other} were mixed up, right for the last time {since}",
        where=False,
        mark="warn",
    )


def _doubted(row: Entry, names: Names) -> Said:
    return Said(
        did="put in doubt",
        do="put in doubt",
        object=f"what was recorded since {stamp(moment(row.data['since']))}",
        where=False,
        because=row.data["words"],
        details=tuple(
            ("To be confirmed", f"{names.operation(operation)}, row {seq}")
            for seq, operation, _ in row.data.get("doubts", ())
        ),
        mark="warn",
    )


HARDWARE: Final[dict[str, Teller]] = {
    "tray": _tray,
    "line check": _line_check,
    "tray close": _tray_close,
    "tray open": _tray_open,
    "returned": _returned,
    "drawn": _drawn,
    "positions": _positions,
}
MEASURES: Final[dict[str, Teller]] = {"readings": _readings, "room": _room, "room log": _room_log}
TAGS: Final[dict[str, Teller]] = {
    "print": _print,
    "tag": _tag,
    "neck seen": _neck_seen,
    "mixed": _mixed,
    "doubted": _doubted,
}
