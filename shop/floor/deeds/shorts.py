"""Scarce pieces shared out: what the trays of some lose, others get."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any, ClassVar

from shop.craft.finding import Finding, stop
from shop.craft.words import listed
from shop.floor.deeds.deed import Act, Deed, Ground, held
from shop.floor.models import Entry
from shop.floor.sharing import Given, ItemShare, Sharing, sharing
from shop.floor.shorts import COVERED, LOST, Short
from shop.stock import ledger


@dataclass(frozen=True, slots=True)
class KitShorted(Deed):
    """What was kept for an instrument's tray went to another. Both dates are kept as they
    were then: by when it is needed here, and when more of it comes (empty: not on order)."""

    kind: ClassVar[str] = LOST
    instrument_id: int
    line_id: int
    item: str
    quantity: int
    got_by: str
    operation: str
    needed_at: str
    receipt: str
    days: int

    @classmethod
    def of(cls, instrument_id: int, short: Short, got_by: str) -> KitShorted:
        return cls(
            instrument_id=instrument_id,
            line_id=short.line_id,
            item=short.item.key,
            quantity=short.quantity,
            got_by=got_by,
            operation=short.operation,
            needed_at=short.needed_at.isoformat(timespec="minutes"),
            receipt=short.receipt.due_on.isoformat() if short.receipt else "",
            days=short.days,
        )

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        return ()

    @classmethod
    def follow(cls, row: Entry) -> None:
        """The tray is the stock room's own: nothing of the floor follows."""


@dataclass(frozen=True, slots=True)
class KitCovered(Deed):
    """What an instrument's tray was short of is kept for it now."""

    kind: ClassVar[str] = COVERED
    instrument_id: int
    line_id: int
    item: str
    quantity: int

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        return ()

    @classmethod
    def follow(cls, row: Entry) -> None:
        """The tray is the stock room's own: nothing of the floor follows."""


@dataclass(frozen=True, slots=True)
class PartsShared(Deed):
    """The lead shares the scarce items out as proposed. ``mark`` is of the proposal that was
    seen: where another one stands by now, it is to be looked at first."""

    kind: ClassVar[str] = "shared out"
    mark: str

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def ground(self) -> Ground:
        return Ground("parts")

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        ledger.hold_trays()
        found: Sharing = sharing(act.at)
        ground.seen = found
        if found.mark != self.mark:
            words = "Stock, trays or dates changed since you looked."
            return (stop("shared out", words, "Look at the new proposal.", call=""),)
        if not found.moves:
            return (stop("shared out", "Nothing is to be moved.", "Nothing to do.", call=""),)
        return ()

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        if not recorded:
            return {}
        found: Sharing = ground.seen
        ledger.share(found.moves, act.by_id, act.at, "shared out")
        return {
            "gain": [[item.article.key, one.serial] for item, one in _changed(found, "gains")],
            "lose": [[item.article.key, one.serial] for item, one in _changed(found, "loses")],
        }

    @classmethod
    def follow(cls, row: Entry) -> None:
        """What is kept for whom is the stock room's own: nothing of the floor follows."""

    def then(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> tuple[Deed, ...]:
        if not recorded:
            return ()
        found: Sharing = ground.seen
        lost = [
            KitShorted.of(one.need.one.id, one.short, listed(_gaining(item)))
            for item, one in _changed(found, "loses")
        ]
        got = [
            KitCovered(one.need.one.id, one.short.line_id, item.article.key, one.need.quantity)
            for item, one in _changed(found, "gains")
        ]
        return (*lost, *got)


def _changed(found: Sharing, change: Any) -> list[tuple[ItemShare, Given]]:
    return [(item, one) for item in found.items for one in item.of(change)]


def _gaining(item: ItemShare) -> list[str]:
    """Who gets it: where nobody of this item gains, those that keep it."""
    some = item.of("gains") or item.of("keeps")
    return list(dict.fromkeys(one.serial for one in some)) or ["nobody"]
