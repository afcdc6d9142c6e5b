"""Work told: steps begun, handed on and recorded, and what a power cut left."""

from __future__ import annotations

from typing import Any, Final

from shop.craft.words import listed
from shop.floor.models import Entry
from shop.floor.telling.said import Mark, Names, Said, Teller, clock, moment, stamp


def _step(row: Entry, names: Names) -> Said:
    said = row.data
    what, paired = names.operation(said["operation"]), said.get("pairs")
    neck = said.get("neck_code")
    of_the_neck = any(one["rule"] in {"R39", "neck scan", "neck"} for one in row.findings)
    others = said.get("others", [])
    doubt = said.get("doubt", "")
    return Said(
        did="recorded",
        do="record",
        object=what,
        because=f"it is paired with neck {paired}" if paired else "",
        tried=f"scanned neck {names.part(neck)} beside {row.subject}"
        if neck and of_the_neck
        else "",
        details=(
            *((("Had a hand in it", listed(others)),) if others else ()),
            *((("To be confirmed", doubt),) if doubt else ()),
            *((("Fitted", listed(parts)),) if (parts := _fitted(said)) else ()),
            *(
                (("No lot has it by the figures", listed(bare)),)
                if (bare := said.get("uncounted"))
                else ()
            ),
            *((("As built", "on record from here on"),) if "as_built" in said else ()),
            *((("Free again", f"slot {slot}"),) if (slot := said.get("unracked")) else ()),
        ),
        mark="warn" if doubt else "clear",
    )


def _fitted(said: dict[str, Any]) -> list[str]:
    """What the step put on, out of the tray or a batch, each with its lot."""
    parts = [*said.get("fitted", []), *said.get("batch", [])]
    return [f"{one['quantity']} × {one['key']} of lot {one['lot']}" for one in parts]


def _open(row: Entry, names: Names) -> str:
    """The step it was about; a row that was refused may not know of any."""
    return names.operation(row.data.get("operation", "")) or "a step"


def _open_step(did: str, do: str, after: str = "", mark: Mark = "clear") -> Teller:
    def said(row: Entry, names: Names) -> Said:
        return Said(did=did, do=do, object=f"{_open(row, names)}{after}", mark=mark)

    return said


def _handed(row: Entry, names: Names) -> Said:
    what = _open(row, names)
    to, note = row.data["to"], row.data.get("note", "")
    if not to:
        return Said(did="parked", do="park", object=what, because=note, mark="wait")
    return Said(did="handed", do="hand", object=f"{what} to {to}", because=note)


def _left(row: Entry, names: Names) -> Said:
    return Said(
        did="gave up",
        do="give up",
        object=f"{_open(row, names)}, begun by mistake",
        where=False,
        because=row.reason,
        says_reason=True,
    )


def _power_cut(row: Entry, names: Names) -> Said:
    began, ended = moment(row.data["began"]), moment(row.data["ended"])
    return Said(
        did="noted",
        do="note",
        object=f"a power cut from {stamp(began)} to {clock(ended, began)}",
        where=False,
        details=tuple(
            ("Open then", f"{names.operation(one['operation'])} on {one['serial']}, {one['by']}")
            for one in row.data.get("open", ())
        ),
        mark="warn",
    )


_CUT: Final = {
    "whole": "the cut is whole",
    "again": "it is to be cut again",
    "spoilt": "it is spoilt",
}


def _cut_seen(row: Entry, names: Names) -> Said:
    answer = row.data["answer"]
    return Said(
        did="looked at the cut that the power left open,",
        do="tell of the cut that the power left open,",
        object=_open(row, names),
        where=False,
        because=_CUT.get(answer, answer),
        mark="clear" if answer == "whole" else "warn",
    )


TELLERS: Final[dict[str, Teller]] = {
    "step": _step,
    "start": _open_step("began", "begin"),
    "join": _open_step("joined", "join", " as helper"),
    "handed": _handed,
    "taken": _open_step("took over", "take over"),
    "left": _left,
    "power cut": _power_cut,
    "cut open": _open_step(
        "noted that the power went during", "note the power cut in", mark="warn"
    ),
    "cut seen": _cut_seen,
}
