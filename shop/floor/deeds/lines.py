"""One line of a tray at the kitting desk: looked at as it lies there, before the tray is closed."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any, ClassVar, Final

from shop.craft.finding import Finding, stop
from shop.floor.deeds.deed import Act, Deed, Ground, held
from shop.floor.models import Entry, Instrument
from shop.stock import ledger, shelf

LINE_GONE: Final = stop(
    "line gone",
    "This line is checked, or not in the tray any more.",
    "Look what lies in the tray.",
    call="",
)


@dataclass(frozen=True, slots=True)
class LineChecked(Deed):
    """The clerk checks one line as it lies in a tray: ``how`` is scan, count or weigh.

    ``item_id`` and ``lot_id`` are what lay there when it was looked at, ``left`` and ``right``
    the machines counted in the wells. What the ledger does not take is raised as ``OutOfStep``.
    """

    kind: ClassVar[str] = "line check"
    tray_id: int
    line_id: int
    item_id: int
    lot_id: int | None
    how: str
    count: int
    left: int | None = None
    right: int | None = None

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def ground(self) -> Ground:
        rows = Instrument.objects.filter(tray_id=self.tray_id).values_list("pk", flat=True)
        ground = held(rows.first() or 0)
        row = shelf.tray(self.tray_id)
        lines = row["lines"] if row else ()
        ground.seen = next((one for one in lines if one["id"] == self.line_id), {})
        return ground

    def said_before(self, act: Act, ground: Ground) -> bool:
        """The same badge checked it with the same answer: its tap come twice, from two pages."""
        line = ground.seen
        told = line.get("checker"), line.get("checked_how"), line.get("checked_count")
        return told == (act.by, self.how, self.count)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        line = ground.seen
        if not line or not line["to_check"]:
            return (LINE_GONE,)
        if (line["put_in_id"], line["lot_id"]) != (self.item_id, self.lot_id):
            words = f"{line['put_in'].key} went in after this line was looked at."
            then = "Check what lies there now."
            return (stop("line changed", words, then, call=""),)
        return ()

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        line = ground.seen
        if recorded:
            wells = (self.left, self.right)
            if self.left is not None and wells != (line["left_counted"], line["right_counted"]):
                put = ledger.PutIn(self.line_id, self.item_id, *wells, lot_id=self.lot_id)
                ledger.put_in(self.tray_id, [put])
            ledger.check_line(self.line_id, self.how, self.count, act.by_id, act.at)
        lies = line.get("put_in")
        return {"item": lies.key, "lot": line["lot_code"] or ""} if lies else {}

    @classmethod
    def follow(cls, row: Entry) -> None:
        """The tray is the stock room's own: nothing of the floor follows."""
