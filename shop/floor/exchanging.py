"""What of the open instruments' kits can be exchanged, and what would fit in its place."""

from __future__ import annotations

from dataclasses import dataclass, replace

from shop.catalogue.book import KitItem
from shop.craft import visible
from shop.craft.finding import Finding
from shop.craft.hardware import Article
from shop.floor import states
from shop.floor.deeds.substitutes import Exchange, against, stays
from shop.floor.state import State, departures_of
from shop.stock import shelf


@dataclass(frozen=True, slots=True)
class KitRow:
    """One line of an open instrument's kit that is not fitted yet; ``kept`` is why it is not
    exchanged, if so."""

    now: State
    line: KitItem
    kept: Finding | None

    @property
    def serial(self) -> str:
        return self.now.serial


def kit_rows() -> tuple[KitRow, ...]:
    """Every line of every open instrument that is still to be fitted, soonest due first; the
    same few statements for any number of them."""
    them = [one for one in states.all_open() if not one.ended]
    departed = departures_of([one.id for one in them if one.deviations_count])
    them = [replace(one, departed=departed.get(one.id, ())) for one in them]
    lying = shelf.lying([one.tray_id for one in them])
    custom = shelf.as_agreed(sorted({one.order for one in them if one.order}))
    return tuple(
        KitRow(one, line, stays(one, line, lying, custom))
        for one in them
        for line in one.kit
        if line.used_at not in one.done_codes
    )


@dataclass(frozen=True, slots=True)
class Outlook:
    """What an article would be in the place of a line: what stands against it, and what of it
    the buyer would see."""

    findings: tuple[Finding, ...]
    shows: tuple[str, ...]


def outlook(row: KitRow, into: Article, into_id: int) -> Outlook:
    """How an article of the same family would do in the place of this line."""
    seen = Exchange.tried(row.now, row.line, into, into_id)
    return Outlook(against(row.now, seen), visible.changes(row.line.article, into))
