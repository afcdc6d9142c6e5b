"""Measuring tools told: which are in use, their checks, and how well they repeat."""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from shop.craft.words import THIN, mm, several
from shop.floor.models import Entry
from shop.floor.telling.said import Names, Said, Teller


def _called(row: Entry) -> str:
    """The gauge as it was called then; a row that was refused may not know what it is."""
    return f"{row.data['name']} {row.data.get('words', '')}".strip() or "a gauge"


def _kept(row: Entry, names: Names) -> Said:
    what, every = _called(row), f"to be checked every {several(row.data['interval_days'], 'day')}"
    finest = row.data["resolution_mm"]
    details = (("Reads to", mm(Decimal(finest))),) if finest is not None else ()
    if row.data["retired"]:
        return Said(did="put away", do="put away", object=f"gauge {what}", where=False)
    if row.data.get("new"):
        return Said(
            did="took in", do="take in", object=f"gauge {what}, {every}", where=False,
            details=details,
        )  # fmt: skip
    return Said(
        did="keeps", do="keep", object=f"gauge {what} on its list, {every}", where=False,
        details=details,
    )  # fmt: skip


def _check(row: Entry, names: Names) -> Said:
    said = row.data
    off = said["deviation_mm"]
    how = "it passed" if said["passed"] else "it failed"
    return Said(
        did="checked",
        do="check",
        object=f"gauge {_called(row)} on {said['on']}",
        where=False,
        because=how if off is None else f"{mm(Decimal(off))} off, {how}",
        details=(("Note", said["note"]),) if said["note"] else (),
        mark="clear" if said["passed"] else "warn",
    )


def _study(row: Entry, names: Names) -> Said:
    said = row.data
    width = mm(Decimal(said["tolerance_mm"]))
    return Said(
        did="studied",
        do="study",
        object=f"gauge {_called(row)} on {said['what']}",
        where=False,
        because=f"it takes up {said['share_pct']}{THIN}% of a tolerance of {width}"
        if "share_pct" in said
        else "",
    )


GAUGES: Final[dict[str, Teller]] = {
    "gauge": _kept,
    "gauge check": _check,
    "gauge study": _study,
}
