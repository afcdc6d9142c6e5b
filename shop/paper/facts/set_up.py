"""What the set-up sheet says: what was asked, what was measured, and by whose eyes."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

from django.utils.translation import gettext as _

from shop.craft import gauging, looks
from shop.craft.gauging import QUANTITIES, Spot
from shop.craft.gauging.quantity import every_string
from shop.craft.hardware import Family, Strings
from shop.craft.lengths import length
from shop.craft.reading import Reading, Readings
from shop.craft.route import last_of
from shop.craft.words import THIN
from shop.floor import board
from shop.floor.board import State
from shop.paper.facts.saying import moment, named

# Where these are fitted the values of a set-up are made.
SET_UP: Final = frozenset({Family.NUT, Family.SADDLE, Family.STRINGS})
MOST_ROWS: Final = 10_000  # of a journal: more than an instrument has


@dataclass(frozen=True, slots=True)
class LookTaken:
    """A look: its operation and, once it was taken, by which badges and when."""

    words: str
    operation: str
    by: str
    at: str


@dataclass(frozen=True, slots=True)
class Measured:
    """What was measured at one spot: at the bench, at the first look and at the second. Empty
    where nothing was, or where it is kept back."""

    quantity: str
    place: str
    bench: str
    first: str
    second: str
    key: str  # of the quantity
    value: str  # at the bench, without its unit


@dataclass(frozen=True, slots=True)
class ByString:
    """What was measured at every string, one beside the other; its unit is in its words."""

    words: str
    values: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Strung:
    """The strings that are on it: ``tuned`` is what their operation asks for, ``gauges`` the
    diameter of each string by its number."""

    words: str
    tuned: str
    gauges: tuple[tuple[str, str], ...]


def set_up(one: State) -> dict[str, Any]:
    """One statement."""
    measured = list(_measured(one))
    by_string = _by_string(one, measured)
    return {
        "looks": list(_looks(one)),
        "targets": [(_(what), value) for what, value in one.sheet.targets],
        "measured": measured,
        "at_places": [row for row in measured if row.key not in by_string],
        "by_string": list(by_string.values()),
        "strings": [place.key for place in every_string(one.sheet.spec)],
        "by_looks": any(row.first or row.second for row in measured),
        "kept_back": not _untold(one).isdisjoint(one.done_codes),
        "strung": list(_strung(one)),
    }


def _looks(one: State) -> Iterator[LookTaken]:
    for pair in looks.pairs(one.sheet.route):
        for words, facts in zip((_("First look"), _("Second look")), pair, strict=True):
            taken = last_of(facts.code, one.done)
            by, at = (", ".join(taken.hands), moment(taken.at)) if taken else ("", "")
            yield LookTaken(words, f"{facts.code} {facts.name}", by, at)


def _untold(one: State) -> frozenset[str]:
    """The first looks, by their operations, whose second is still to be taken: with fresh
    eyes, so that until then no paper says what the first one found."""
    return frozenset(
        first.code
        for first, second in looks.pairs(one.sheet.route)
        if last_of(second.code, one.done) is None
    )


def _measured(one: State) -> Iterator[Measured]:
    """The newest value at each spot, in the order of the craft."""
    pairs = looks.pairs(one.sheet.route)
    firsts = {first.code for first, second in pairs}
    seconds = {second.code for first, second in pairs}
    benches = {line.used_at for line in one.kit if line.article.family in SET_UP}
    rows = board.journal(one.id, MOST_ROWS)
    bench = _newest(rows, benches - firsts - seconds)
    first = _newest(rows, firsts - _untold(one))
    second = _newest(rows, seconds)
    for quantity in QUANTITIES.values():
        for place in quantity.places(one.sheet.spec):
            spot = quantity.key, place.key
            at_bench, at_first, at_second = (
                _said(values[spot]) if spot in values else "" for values in (bench, first, second)
            )
            if at_bench or at_first or at_second:
                yield Measured(
                    quantity=_(quantity.words),
                    place=_(place.words),
                    bench=at_bench,
                    first=at_first,
                    second=at_second,
                    key=quantity.key,
                    value=at_bench.removesuffix(f"{THIN}{quantity.unit}"),
                )


def _by_string(one: State, measured: Sequence[Measured]) -> dict[str, ByString]:
    """By their quantity, what was measured at each string and by neither look."""
    found = {}
    for key, quantity in QUANTITIES.items():
        rows = [row for row in measured if row.key == key]
        looked = any(row.first or row.second for row in rows)
        if quantity.places is every_string and len(rows) == one.sheet.spec.strings and not looked:
            words = f"{_(quantity.words)}, {quantity.unit}"
            found[key] = ByString(words, tuple(row.value for row in rows))
    return found


def up_to_first_look(one: State) -> Readings:
    """The readings in force, but for those of a second look: in their place what the first
    look had measured there. One statement, and that only after a second look."""
    pairs = looks.pairs(one.sheet.route)
    seconds = {second.code for _first, second in pairs}
    if not any(it.operation in seconds for it in one.readings.values):
        return one.readings
    rows = board.journal(one.id, MOST_ROWS)
    first = _newest(rows, {first.code for first, _second in pairs})
    them = (
        first.get((it.quantity, it.place)) if it.operation in seconds else it
        for it in one.readings.values
    )
    return Readings(tuple(it for it in them if it is not None))


def _newest(rows: Sequence[dict[str, Any]], operations: Collection[str]) -> dict[Spot, Reading]:
    """What was measured last at these operations, by rows of the journal that begin with the
    newest."""
    found: dict[Spot, Reading] = {}
    for row in rows:
        if row["kind"] != "readings" or row["data"]["operation"] not in operations:
            continue
        for quantity, place, value in row["data"].get("values", ()):
            found.setdefault((quantity, place), Reading(quantity, place, Decimal(value)))
    return found


def _said(reading: Reading) -> str:
    words = gauging.said(reading)
    return _(words) if QUANTITIES[reading.quantity].answers else words


def _strung(one: State) -> Iterator[Strung]:
    for line in one.kit:
        article = line.article
        if isinstance(article, Strings):
            fits = one.sheet.stop(line.used_at)
            yield Strung(
                words=f"{article.key} {named(article, line.quantity)}",
                tuned=f"{fits.code} {fits.facts.name}: {fits.limits}"
                if fits and fits.limits
                else "",
                gauges=tuple((string, length(mm, "both", 3)) for string, mm in article.gauges),
            )
