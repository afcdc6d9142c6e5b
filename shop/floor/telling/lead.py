"""The lead's deeds told, corrections of earlier rows among them, and calls."""

from __future__ import annotations

from typing import Any, Final

from shop.craft.words import several
from shop.floor.models import Entry
from shop.floor.telling.said import Names, Said, Teller, moment, stamp


def _about(row: Entry, names: Names) -> str:
    """The earlier row that this one is about, by its number and the operation it recorded."""
    seq = row.data.get("seq") or (row.corrects.seq if row.corrects else "")
    operation = row.data.get("operation") or (
        row.corrects.data.get("operation") if row.corrects else ""
    )
    return f"{names.operation(operation)}, row {seq}" if operation else f"row {seq}"


def _confirmed(row: Entry, names: Names) -> Said:
    return Said(
        did="confirmed", do="confirm", object=_about(row, names), because=row.reason,
        says_reason=True, where=False,
    )  # fmt: skip


def _struck(row: Entry, names: Names) -> Said:
    return Said(
        did="struck", do="strike", object=_about(row, names), because=row.reason,
        says_reason=True, where=False, mark="warn",
    )  # fmt: skip


def _remarked(row: Entry, names: Names) -> Said:
    return Said(
        did="remarked on", do="remark on", object=_about(row, names),
        because=row.data["words"] or row.reason, says_reason=not row.data["words"],
    )  # fmt: skip


def _arrival(row: Entry, names: Names) -> Said:
    part, serial, spec = (row.data[name] for name in ("part", "serial", "spec"))
    return Said(
        did="booked in", do="book in", object=f"{part} {serial}, made as {spec}", where=False
    )


def _release(row: Entry, names: Names) -> Said:
    said = row.data
    return Said(
        did="released",
        do="release",
        object=f"{row.subject} with neck {said['neck']} as {said['spec']}, due {said['due_on']}",
        where=False,
        details=(
            *((("Order", said["order"]),) if said["order"] else ()),
            *((("Goes to", said["destination"]),) if said.get("destination") else ()),
            *(("Agreed", f"{one['words']} ({one['approved']})") for one in said["agreed"]),
        ),
    )


def _permit(row: Entry, names: Names) -> Said:
    paper = f"paper {row.data['number']} for {row.data['wood']}"
    return Said(did="noted", do="note", object=paper, where=False)


def _frozen(row: Entry, names: Names) -> Said:
    return Said(did="froze it for the lead", do="freeze it", because=row.data["words"], mark="wait")


def _freed(row: Entry, names: Names) -> Said:
    return Said(did="freed it", do="free it", where=False, because=row.reason, says_reason=True)


_FATE: Final = {"scrap": "its neck is scrap", "store": "its neck goes back to store"}


def _unpaired(row: Entry, names: Names) -> Said:
    fate = row.data["fate"]
    neck = row.data.get("neck")
    return Said(
        did="broke",
        do="break",
        object=f"the pair{f' with neck {neck}' if neck else ''}, {_FATE.get(fate, fate)}",
        where=False,
        because=row.reason,
        says_reason=True,
        mark="warn",
    )


def _neck_named(row: Entry, names: Names) -> Said:
    return Said(did="named", do="name", object=f"neck {row.data['neck']} for it", where=False)


def _scrap(row: Entry, names: Names) -> Said:
    return Said(
        did="scrapped it",
        do="scrap it",
        where=False,
        because=row.reason,
        says_reason=True,
        details=(
            *(
                ("Came off", f"{one['quantity']} × {one['item']}, {_kept_as(one['lot'])}")
                for one in row.data.get("parts", ())
            ),
            *((("Back to the store", f"neck {neck}"),) if (neck := row.data.get("stored")) else ()),
        ),
        mark="warn",
    )


def _kept_as(lot: str) -> str:
    return f"held as lot “{lot}”" if lot else "not whole: not put back"


def _moved(row: Entry, names: Names) -> Said:
    revision = row.data.get("name") or "another revision of its spec"
    return Said(
        did="moved",
        do="move",
        object=f"it to {revision}",
        where=False,
        because=row.reason,
        says_reason=True,
    )


def _substituted(row: Entry, names: Names) -> Said:
    approved = row.data.get("approved")
    return Said(
        did="put",
        do="put",
        object=f"{row.data['in_key']} in the place of {row.data['out_key']}",
        where=False,
        because=row.reason,
        says_reason=True,
        details=(("Approved", approved),) if approved else (),
        mark="warn",
    )


def _call(row: Entry, names: Names) -> Said:
    return Said(
        did="called",
        do="call",
        object=f"the {row.data['whom']}",
        because=row.data["words"],
        mark="wait",
    )


def _answer(row: Entry, names: Names) -> Said:
    return Said(did="answered", do="answer", object="the call", where=False)


def _kit_short(row: Entry, names: Names) -> Said:
    said = row.data
    at = f" at {names.operation(said['operation'])}" if said["operation"] else ""
    more = f"next receipt {said['receipt']}" if said["receipt"] else "nothing more on order"
    slips = f", slips {several(said['days'], 'day')}" if said["days"] else ""
    return Said(
        did="gave", do="give", object=f"{_so_many(said)} kept for it to {said['got_by']}",
        where=False, because=f"needed {stamp(moment(said['needed_at']))}{at}, {more}{slips}",
        mark="warn",
    )  # fmt: skip


def _kit_covered(row: Entry, names: Names) -> Said:
    return Said(did="had", do="have", object=f"{_so_many(row.data)} kept for it", where=False)


def _so_many(said: dict[str, Any]) -> str:
    return f"{said['quantity']} × {said['item']}"


def _shared_out(row: Entry, names: Names) -> Said:
    rows = [("Gains", *one) for one in row.data.get("gain", ())]
    rows += [("Loses", *one) for one in row.data.get("lose", ())]
    return Said(
        did="shared out",
        do="share out",
        object="the scarce parts",
        where=False,
        details=tuple((word, f"{serial}: {item}") for word, item, serial in rows),
    )


LEAD: Final[dict[str, Teller]] = {
    "arrival": _arrival,
    "release": _release,
    "permit": _permit,
    "frozen": _frozen,
    "freed": _freed,
    "confirm": _confirmed,
    "strike": _struck,
    "remark": _remarked,
    "unpaired": _unpaired,
    "neck named": _neck_named,
    "scrap": _scrap,
    "moved": _moved,
    "kit short": _kit_short,
    "kit covered": _kit_covered,
    "shared out": _shared_out,
    "substitute": _substituted,
}
CALLS: Final[dict[str, Teller]] = {"call": _call, "answer": _answer}
