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

    def write(self, act: Act, ground: Ground, entry: Entry) -> None:
        HelpCall.objects.create(
            instrument_id=self.instrument_id,
            whom=self.whom,
            words=self.words[:300],
            station=act.station,
            by_id=act.by_id,
            at=act.at,
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

    def write(self, act: Act, ground: Ground, entry: Entry) -> None:
        HelpCall.objects.filter(pk=self.call_id).update(
            answered_at=act.at, answered_by_id=act.by_id
        )
