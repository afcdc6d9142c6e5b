"""Parts that come back from an instrument or its tray, and parts drawn for its repair."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any, ClassVar

from shop.craft.finding import Finding, note, stop, warn
from shop.floor.deeds.deed import Act, Deed, Ground, held
from shop.floor.deeds.endings import ended, finished, on_record
from shop.floor.models import Entry
from shop.floor.state import State
from shop.stock import ledger, shelf


@dataclass(frozen=True, slots=True)
class PartReturned(Deed):
    """So many of one line of its closed tray come back. ``sealed``: unused, in its bag, and so
    back in its bin; otherwise opened or off the instrument, and set apart.

    The kit lacks it from now on, and the bench scans the tray anew.
    """

    kind: ClassVar[str] = "returned"
    instrument_id: int
    line_id: int
    quantity: int
    sealed: bool

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        if over := ended(now) or finished(now):
            return over
        tray = shelf.tray(now.tray_id)
        lines = {one["id"]: one for one in tray["lines"]} if tray else {}
        ground.seen = line = lines.get(self.line_id)
        if line is None:
            words = f"This line is none of the tray of {now.serial}."
            return (stop("returned", words, "Open its tray again and choose there.", call=""),)
        return tuple(self._against(now, line, act))

    def _against(self, now: State, line: dict[str, Any], act: Act) -> Iterator[Finding]:
        key = (line["put_in"] or line["article"]).key
        if now.tray_state != "closed":
            words = f"The tray of {now.serial} is open: nothing of it left its bin."
            yield stop("returned", words, "Change its line on the tray's page.", call="")
            return
        if line["state"] != "taken":
            words = f"{key} is short in the tray of {now.serial}: none can come back."
            yield stop("returned", words, "Choose another line.", call="")
            return
        inside = line["quantity"] - line["fitted"] - line["returned"]
        most = inside if self.sealed else inside + line["fitted"]
        if not 1 <= self.quantity <= most:
            there = "lie unused in the tray" if self.sealed else "are in the tray or fitted"
            words = f"{key}: {self.quantity} named, {most} {there}."
            yield stop("returned", words, "Count again.", call="")
        elif self.quantity > inside and now.rework is None:
            yield from on_record(now)
        if not act.reason:
            yield stop("returned", f"{key} comes back for a reason.", "Say why.", call="")

    def saw(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        """Where it goes now."""
        now: State = ground.facts
        line = ground.seen
        key = line["put_in"].key
        if self.sealed:
            words = f"{self.quantity} × {key}, lot {line['lot_code']}, go back to their bin today."
            return (note("returned", words, "Put them there before you go on."),)
        words = f"{self.quantity} × {key} are set apart as lot “off {now.serial}”."
        then = "Bag them, write the lot on the bag, and lay it with what is to be looked at."
        return (note("returned", words, then),)

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        if not recorded:
            return {}
        way = ledger.return_sealed if self.sealed else ledger.return_opened
        back = way(self.line_id, self.quantity, act.by_id, act.at, act.reason)
        return {"item": back.key, "lot": back.lot, "off": back.off}

    @classmethod
    def follow(cls, row: Entry) -> None:
        """The tray is the stock room's own; its version has risen, so the bench asks for it."""


@dataclass(frozen=True, slots=True)
class Drawn(Deed):
    """So many of a lot are drawn for the repair of this instrument: singles, a whole set, or
    what is ordered no more. ``lead``: a lead draws it, and may do so for one that is on no
    loop, with a reason."""

    kind: ClassVar[str] = "drawn"
    instrument_id: int
    lot_id: int
    quantity: int
    why: str
    lead: bool = False

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        ground.seen = sheet = shelf.lot(self.lot_id)
        if sheet is None:
            words = "This lot is not here any more."
            return (stop("drawn", words, "Choose one of the list.", call=""),)
        return tuple(self._against(now, sheet, act))

    def _against(self, now: State, sheet: shelf.LotSheet, act: Act) -> Iterator[Finding]:
        if over := ended(now):
            yield from over
            return
        row = sheet.row
        if now.rework is None:
            words = f"{now.serial} is on no repair loop. {row.key} is drawn for repairs alone."
            if self.lead:
                yield warn("no loop", words, "Say why it is drawn all the same.", call="")
            else:
                yield stop("no loop", words, "Report its defect first, or ask the lead.")
        if not self.why.strip():
            yield stop("drawn", f"{row.key} is drawn for a reason.", "Say why.", call="")
        if not 1 <= self.quantity <= row.free:
            free = f"{row.free} of lot {row.code} are free"
            words = f"{row.key}: {self.quantity} named, {row.held or free}."
            yield stop("drawn", words, "Take fewer, or another lot.", call="")
        yield from self._two_shades(now, sheet)

    def _two_shades(self, now: State, sheet: shelf.LotSheet) -> Iterator[Finding]:
        """A replacement out of another bath than the parts beside it, as R27 looks at it."""
        metal, bath = sheet.article.metal, sheet.row.plating or sheet.row.code
        tray = shelf.tray(now.tray_id)
        beside = [
            line["plating"] or line["lot_code"]
            for line in (tray["lines"] if tray and metal else ())
            if line["state"] == "taken"
            and line["quantity"] > line["returned"]
            and line["lot_code"]
            and line["put_in"].metal is metal
        ]
        if metal and beside and bath not in beside:
            words = (
                f"Lot {bath}, but {now.serial} has {metal.value} of {beside[0]}: two shades of it."
            )
            yield warn("R27", words, "Look at both side by side under the light, and say so.")

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        sheet = ground.seen
        if sheet is None:
            return {}
        named = {"item": sheet.row.key, "lot": sheet.row.code, "piece": sheet.row.piece}
        if recorded:
            now: State = ground.facts
            ledger.draw(self.lot_id, self.quantity, now.serial, act.by_id, act.at, self.why)
        return named

    @classmethod
    def follow(cls, row: Entry) -> None:
        """The shelf is the stock room's own: nothing of the floor follows."""
