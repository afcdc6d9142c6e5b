"""Calling somebody to a bench, and answering."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any, ClassVar

from shop.craft.finding import Finding, stop
from shop.floor.deeds.deed import Act, Deed, Ground, held
from shop.floor.models import Entry, HelpCall


@dataclass(frozen=True, slots=True)
class CallMade(Deed):
    """Call the clerk or the lead to this instrument, with the words of what stopped it."""

    kind: ClassVar[str] = "call"
    instrument_id: int
    whom: str
    words: str

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        if self.whom not in {"clerk", "lead"}:
            return (stop("call", f"Nobody here is called {self.whom!r}.", "Call clerk or lead."),)
        return ()

    @classmethod
    def follow(cls, row: Entry) -> None:
        HelpCall.objects.create(
            instrument_id=row.number,
            whom=row.data["whom"],
            words=row.data["words"][:300],
            station=row.station,
            by_id=row.by_id,
            at=row.at,
            entry=row,
        )


@dataclass(frozen=True, slots=True)
class CallAnswered(Deed):
    kind: ClassVar[str] = "answer"
    call_id: int

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def ground(self) -> Ground:
        call = HelpCall.objects.filter(pk=self.call_id).first()
        if call is None:
            raise LookupError(f"no call {self.call_id}")
        ground = held(call.instrument_id)
        ground.facts = HelpCall.objects.get(pk=self.call_id)
        return ground

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        call: HelpCall = ground.facts
        if call.answered_at is not None:
            return (
                stop("answered", "Somebody has answered this call.", "Nothing to do.", call=""),
            )
        return ()

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        call: HelpCall = ground.facts
        return {"row": call.entry_id}

    @classmethod
    def follow(cls, row: Entry) -> None:
        # By the row that called: the call itself has another number once all is made again.
        HelpCall.objects.filter(entry_id=row.data["row"]).update(
            answered_at=row.at, answered_by_id=row.by_id
        )
