"""What the set-up sheet says: what was asked, what was measured, and by whose eyes."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

from django.utils.translation import gettext as _

from shop.craft import gauging, looks
from shop.craft.gauging import QUANTITIES, Spot
from shop.craft.hardware import Family, Strings
from shop.craft.lengths import length
from shop.craft.reading import Reading
from shop.craft.route import last_of
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
    return {
        "looks": list(_looks(one)),
        "targets": [(_(what), value) for what, value in one.sheet.targets],
        "measured": measured,
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
            said = [values.get(spot, "") for values in (bench, first, second)]
            if any(said):
                yield Measured(_(quantity.words), _(place.words), *said)


def _newest(rows: Sequence[dict[str, Any]], operations: Collection[str]) -> dict[Spot, str]:
    """In words, what was measured last at these operations, by rows of the journal that
    begin with the newest."""
    found: dict[Spot, str] = {}
    for row in rows:
        if row["kind"] != "readings" or row["data"]["operation"] not in operations:
            continue
        for quantity, place, value in row["data"].get("values", ()):
            found.setdefault((quantity, place), _said(Reading(quantity, place, Decimal(value))))
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
