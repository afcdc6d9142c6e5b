"""A power cut: what was open, and what somebody saw of each cut."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from datetime import datetime
from typing import Any, ClassVar, Final

from shop.catalogue import book
from shop.craft.finding import Finding, stop
from shop.craft.start import OpenStep, may_start
from shop.craft.when import in_utc, when_words
from shop.floor import course
from shop.floor.deeds.begun import WHERE_AND_WHO, OnOpen
from shop.floor.deeds.deed import Act, Deed, Ground
from shop.floor.deeds.freezing import Frozen
from shop.floor.models import Entry, Instrument
from shop.floor.state import State

AGAIN: Final = "To be cut again."
ANSWERS: Final = ("whole", "again", "spoilt")  # how a cut stands after the power went


@dataclass(frozen=True, slots=True)
class PowerCut(Deed):
    """The power was away from ``began`` to ``ended``. Every step that was open is listed; a
    machine's cut is unknown until somebody looks. No clock changes: each runs from the
    moment that was kept."""

    kind: ClassVar[str] = "power cut"
    began: datetime
    ended: datetime

    def plain(self) -> dict[str, Any]:
        return {"began": self.began.isoformat(), "ended": self.ended.isoformat()}

    def ground(self) -> Ground:
        return Ground("power", facts=_open_before(self.ended))

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        began, ended = (when_words(one, act.asking.at) for one in (self.began, self.ended))
        if in_utc(self.ended) < in_utc(self.began):
            words = f"The power came back {ended}, before it went {began}."
            return (stop("power cut", words, "Say when it went and when it came.", call=""),)
        if in_utc(self.ended) > in_utc(act.at):
            words = f"The power came back {ended}: that moment is still to come."
            return (stop("power cut", words, "Say when it came back.", call=""),)
        return ()

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        return {"open": ground.facts}

    @classmethod
    def follow(cls, row: Entry) -> None:
        """What a cut leaves unknown, each open step tells in a row of its own."""

    def then(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> tuple[Deed, ...]:
        cut = [one for one in ground.facts if recorded and one["machine"]]
        return tuple(CutOpen(one["instrument_id"]) for one in cut)


def _open_before(moment: datetime) -> list[dict[str, Any]]:
    """Every step begun before a moment and still open, as plain data."""
    rows = Instrument.objects.filter(finished_at__isnull=True).exclude(open_step={})
    columns = ("pk", "body__serial", "open_step", "revision_id", "revision__version")
    found = []
    for number, serial, kept, revision_id, version in rows.order_by("pk").values_list(*columns):
        one = course.open_step(kept)
        if one is None or in_utc(one.since) >= in_utc(moment):
            continue
        sheet = book.sheet(revision_id, version).stop(one.operation)
        found.append(
            {
                "instrument_id": number,
                "serial": serial,
                "operation": one.operation,
                "by": one.by,
                "machine": sheet is not None and sheet.facts.machine,
            }
        )
    return found


@dataclass(frozen=True, slots=True)
class CutOpen(OnOpen):
    """The power went while the open step's machine was cutting: nobody knows how it stands."""

    kind: ClassVar[str] = "cut open"
    instrument_id: int

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def against(self, act: Act, now: State, one: OpenStep) -> tuple[Finding, ...]:
        return ()

    def after(self, act: Act, one: OpenStep) -> OpenStep:
        return replace(one, unsure=True)


@dataclass(frozen=True, slots=True)
class CutSeen(OnOpen):
    """Somebody looked at the cut that the power left: ``whole``, to be cut ``again``, or
    ``spoilt``. A spoilt one is open no more, and its instrument waits for the lead."""

    kind: ClassVar[str] = "cut seen"
    instrument_id: int
    answer: str

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def against(self, act: Act, now: State, one: OpenStep) -> tuple[Finding, ...]:
        if not one.unsure:
            words = f"{one.operation} of {now.serial} was not open in a power cut."
            return (stop("cut seen", words, "Nothing to look at.", call=""),)
        if self.answer not in ANSWERS:
            words = f"Nobody has said yet how the cut at {one.operation} stands."
            return (stop("cut seen", words, "Say whole, to be cut again or spoilt.", call=""),)
        found = may_start(now.stands(act.asking.at), one.operation, act.asking)
        return tuple(it for it in found if it.rule in WHERE_AND_WHO)

    def after(self, act: Act, one: OpenStep) -> OpenStep | None:
        if self.answer == "spoilt":
            return None
        return replace(one, unsure=False, note=AGAIN if self.answer == "again" else one.note)

    def then(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> tuple[Deed, ...]:
        now: State = ground.facts
        if not (recorded and now.open and self.answer == "spoilt"):
            return ()
        words = f"The power went while {now.open.operation} was cut, and the cut is spoilt."
        return (Frozen(self.instrument_id, words),)
