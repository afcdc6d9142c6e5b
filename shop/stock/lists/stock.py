"""What lies on the shelf: a row is a new lot. One that is here is counted, never written over."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from shop.catalogue import book
from shop.craft import cell
from shop.craft.apart import is_apart
from shop.craft.hardware import Article, Family
from shop.stock.lists.kind import NEW, Bad, Column, Kind, Row, Told, key_text, text
from shop.stock.lists.receipts import item_of
from shop.stock.models import Bin, Lot

BIN: Final = re.compile(r"[A-Z0-9][A-Z0-9-]{0,7}")  # what a new bin may be called


def bin_code(text: str) -> str:
    """The code of a bin. Raises ``NotSo``."""
    if not BIN.fullmatch(code := key_text(text)):
        said = cell.quoted(code)
        raise cell.NotSo(f"{said} is no code for a bin: 1 to 8 letters, digits and hyphens: A-03.")
    return code


@dataclass(frozen=True, slots=True)
class There:
    items: dict[str, int]
    articles: dict[int, Article]
    lots: set[tuple[int, str]]
    bins: set[str]
    today: date


def state(rows: Sequence[Row], today: date) -> There:
    items = book.item_ids(list({row["item"] for row in rows}))
    ids = list(items.values())
    lots = Lot.objects.filter(item_id__in=ids, piece="").values_list("item_id", "code")
    return There(
        items=items,
        articles=book.articles(ids),
        lots={(item, code.casefold()) for item, code in lots},
        bins=set(Bin.objects.values_list("code", flat=True)),
        today=today,
    )


def judge(row: Row, there: There) -> Told:
    item, key, lot = item_of(row, there.items), row["item"], row["lot"]
    until: date | None = row.get("best before")
    faults = []
    if (item, lot.casefold()) in there.lots:
        faults.append(("lot", f"{key} lot {lot} is here already: count it instead."))
    if is_apart(lot):
        faults.append(("lot", f"{lot} is a name of what is set apart. Give the maker's lot."))
    if row["received"] > there.today:
        faults.append(("received", f"{row['received']} is still to come. Correct the date."))
    if until and there.articles[item].family is not Family.BATTERY:
        faults.append(("best before", f"{key} is no battery. Leave the cell empty."))
    elif until and until < there.today:
        faults.append(("best before", f"{until} is past. Read the date again, or leave it out."))
    if faults:
        raise Bad(*faults)
    takes = {
        "item_id": item,
        "bin_code": row["bin"],
        "lot": lot,
        "quantity": row["quantity"],
        "on": row["received"],
        "best_before": until,
        "plating": row.get("plating") or "",
    }
    place = row["bin"] if row["bin"] in there.bins else f"{row['bin']}, a new bin"
    return Told(NEW, takes, f"{row['quantity']} into {place}")


def rows() -> Iterator[Sequence[object]]:
    """Every whole lot of which something is on hand."""
    there = Lot.objects.filter(on_hand__gt=0, piece="").order_by("item__key", "received_on", "id")
    yield from there.values_list(
        "item__key", "bin__code", "code", "plating", "received_on", "on_hand", "best_before",
        "item__name", "reserved", "out", "held",
    )  # fmt: skip


STOCK = Kind(
    what="stock",
    columns=(
        Column("item", key_text),
        Column("bin", bin_code),
        Column("lot", text(20)),
        Column("plating", text(20), needed=False, empty=""),
        Column("received", cell.day),
        Column("quantity", cell.whole),
        Column("best before", cell.day, needed=False),
    ),
    also=("name", "reserved", "out", "held"),
    key=lambda row: (row["item"], row["lot"], row["bin"]),
    state=state,
    judge=judge,
    rows=rows,
)
