"""Items with the measures of their families: catalogue facts, kept by the catalogue."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from typing import Any

from shop.catalogue import revising
from shop.stock.lists.kind import CHANGED, NEW, SAME, Bad, Column, Kind, Row, Told, key_text

NEEDED = frozenset({"family", "key", "name"})


def state(rows: Sequence[Row], today: date) -> dict[str, Any]:
    return revising.items_as_they_are()


def judge(row: Row, there: dict[str, Any]) -> Told:
    known = there.get(row["key"])
    try:
        item, changes = revising.item_said(row, known)
    except revising.NoItem as why:
        raise Bad(*why.faults) from why
    if known is None:
        return Told(NEW, {"item": item}, str(row["name"]))
    return Told(CHANGED if changes else SAME, {"item": item}, "; ".join(changes))


def rows() -> Iterator[Sequence[object]]:
    """Every item, those out of use too."""
    for item in revising.items_as_they_are().values():
        yield revising.item_cells(item)


ITEMS = Kind(
    what="items",
    columns=tuple(
        Column(name, key_text if name == "key" else str, needed=name in NEEDED, empty="")
        for name in revising.ITEM_COLUMNS
    ),
    key=lambda row: (row["key"],),
    state=state,
    judge=judge,
    rows=rows,
)
