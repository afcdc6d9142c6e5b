"""The papers in the case: one after another, each with its own heading."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any, Final, Literal

from django.utils.translation import gettext as _

from shop.catalogue.book import KitItem
from shop.craft.hardware import Family, Wood
from shop.craft.route import hold_of
from shop.craft.size import Size
from shop.floor import board
from shop.floor.board import State
from shop.paper.facts.going_out import (
    cell_of,
    holds,
    looks_open,
    permits_of,
    sold_with,
    still_open,
)
from shop.paper.facts.saying import named, strings
from shop.paper.facts.set_up import set_up
from shop.stock import shelf

# How the owner keeps it; common practice, no source.
HUMIDITY_PCT: Final = Size(Decimal(45), Decimal(55))
WARMTH_C: Final = Size(Decimal(18), Decimal(25))
COLD_C: Final = 10  # one that came in colder rests so long before its case is opened
REST_H: Final = 24

WARRANTY_YEARS: Final = 2
TO_WRITE: Final = 3  # lines for what no list here knows: keys, tools, spare strings

Place = Literal["fitted", "loose", "case"]


def packing(one: State, now: datetime) -> dict[str, Any]:
    """Packing list, woods, set-up, care, battery where there is one, and warranty."""
    cell, permits = cell_of(one), permits_of(one)
    parts = _contents(one)
    return {
        "hand": f"{_(one.sheet.spec.hand.words)} · {strings(one.sheet)}",
        "fitted": [part for part in parts if part.place == "fitted"],
        "in_case": [part for part in parts if part.place == "loose"],
        "cases": [part for part in parts if part.place == "case"],
        "sold_with": sold_with(one),
        "to_write": range(TO_WRITE),
        "holds": list(holds(permits, cell)),
        "open": [*looks_open(one), *still_open(one)],
        "woods": list(_woods(one, permits)),
        "cell": cell,
        "humidity": str(HUMIDITY_PCT),
        "warmth": str(WARMTH_C),
        "cold": COLD_C,
        "rest": REST_H,
        "years": WARRANTY_YEARS,
        **set_up(one),
    }


@dataclass(frozen=True, slots=True)
class Part:
    """A line of the packing list: fitted to the instrument, its case, or loose in that."""

    key: str
    words: str
    place: Place


def _contents(one: State) -> list[Part]:
    """The hardware that goes out with it: as it was frozen with its release, until then as
    its tray and its kit have it."""
    kept = board.as_built(one.id)
    them = _frozen(kept) if kept is not None else _to_come(one)
    wanted = {line.article.key: line for line in one.kit}
    return [Part(key, words, _place(one, wanted.get(asked))) for key, words, asked in them]


def _frozen(kept: dict[str, Any]) -> Iterator[tuple[str, str, str]]:
    """Key and words of each article, and the key of what the kit asks for in its place."""
    for row in kept["kit"]:
        count = f"{row['quantity']} × " if row["quantity"] > 1 else ""
        yield row["key"], f"{count}{row['name']}", row["instead_of"] or row["key"]


def _to_come(one: State) -> Iterator[tuple[str, str, str]]:
    tray = shelf.tray(one.tray_id)
    for row in tray["lines"] if tray else ():
        article, quantity = row["put_in"] or row["article"], row["quantity"] - row["returned"]
        if quantity:
            yield article.key, named(article, quantity), row["article"].key
    for line in one.kit:
        if not line.in_tray:
            yield line.article.key, named(line.article, line.quantity), line.article.key


def _place(one: State, line: KitItem | None) -> Place:
    if line is None:
        return "fitted"
    if line.article.family is Family.CASE:
        return "case"
    order = [stop.code for stop in one.sheet.stops]
    cased = hold_of(one.sheet.route)
    if cased is None or not {cased.before, line.used_at} <= set(order):
        return "fitted"
    # What is asked for once it lies in its case is not fitted to it any more.
    return "loose" if order.index(line.used_at) >= order.index(cased.before) else "fitted"


@dataclass(frozen=True, slots=True)
class Declared:
    """A wood with the numbers noted for its papers, or in words what is so without one."""

    wood: Wood
    numbers: tuple[str, ...]
    words: str


def _woods(one: State, permits: Mapping[Wood, tuple[str, ...]]) -> Iterator[Declared]:
    """Every wood of the spec. Whether a permit is asked for is as the catalogue says now, and
    not as it was at release: the law changes while an instrument waits."""
    for wood in one.sheet.spec.woods:
        numbers = permits.get(wood, ())
        yield Declared(wood, numbers, "" if numbers else _without_number(one, wood))


def _without_number(one: State, wood: Wood) -> str:
    if not wood.permit:
        return _("no permit needed: this shop’s list asks none for it in a finished guitar")
    if one.destination:
        return _("permit needed, no number noted: hold the carton")
    return _("permit needed before it crosses a border")
