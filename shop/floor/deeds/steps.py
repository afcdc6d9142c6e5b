"""Recording an operation done on an instrument."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from datetime import datetime
from typing import Any, ClassVar, Final

from django.db.models import Subquery
from django.utils.timezone import localtime

from shop.craft.finding import Finding, any_stop
from shop.craft.route import Done
from shop.craft.start import may_start
from shop.database.statement import Insertion
from shop.floor import as_built
from shop.floor.areas import hands_in
from shop.floor.deeds import freezing
from shop.floor.deeds.cartons import unscanned
from shop.floor.deeds.deed import Act, Deed, Ground
from shop.floor.deeds.gating import against
from shop.floor.deeds.lateness import late_gates, lateness, unproven
from shop.floor.models import AsBuilt, Entry, Instrument, Neck, Pair, Rework, Step, Tag
from shop.floor.state import State
from shop.stock import ledger, shelf

_STEPS = Insertion(Step)
DOUBT: Final = 120  # letters of its column


@dataclass(frozen=True, slots=True)
class StepDone(Deed):
    """``operation`` was done on the instrument. ``neck_code``: the neck's tag, where scanned.

    ``done_at``: it was done then and is recorded late. Clocks run from the later moment,
    unless a witness signs beside that it was so.
    """

    kind: ClassVar[str] = "step"
    instrument_id: int
    operation: str
    neck_code: str = ""
    done_at: datetime | None = None

    def plain(self) -> dict[str, Any]:
        return asdict(self) | {"done_at": self.done_at.isoformat() if self.done_at else None}

    def ground(self) -> Ground:
        return freezing.held_beside(self.instrument_id, self.neck_code)

    def counts(self, act: Act) -> datetime:
        """The moment it counts as done."""
        return self.done_at if self.done_at and act.asking.signer else act.at

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        found = self._work(act, ground.facts)
        return found if any_stop(found) else (*found, *unscanned(ground.facts, self.operation))

    def _work(self, act: Act, now: State) -> tuple[Finding, ...]:
        if self.done_at is None:
            return against(now, self.operation, act.asking, self.neck_code, fresh=True)
        asking = replace(act.asking, late=True, at=localtime(self.counts(act)))
        sheet = now.sheet.stop(self.operation)
        work = late_gates(now, sheet, self.neck_code, asking) if sheet else ()
        return (
            *lateness(now, self.operation, self.done_at, self.counts(act), act.at),
            *may_start(now.stands(asking.at), self.operation, asking, work),
        )

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        if not recorded:
            return {}
        now: State = ground.facts
        sheet = now.sheet.stop(self.operation)
        assert sheet is not None  # the route gate has refused it otherwise
        helpers = now.open.helpers if now.open and now.open.operation == self.operation else ()
        begun_by = [now.open.by] if helpers and now.open else []
        # Whoever measured at a look, answered an area of it or noted a defect has had a part in
        # it: the next one takes other eyes.
        hands = (*begun_by, *helpers, *hands_in(now, self.operation), *act.others)
        others = tuple(dict.fromkeys(one for one in hands if one != act.by))
        late = self.done_at is not None and not act.asking.signer
        lacks = unproven(now, sheet) if late else ""
        doubt = "; ".join(one for one in (lacks, act.doubt) if one)[:DOUBT]
        counts = self.counts(act)
        one = Done(self.operation, act.by, counts, others, doubt, now.seq + 1, self.done_at)
        ground.after = after = now.with_step(one)
        settled: dict[str, Any] = {
            "operation_id": sheet.operation_id,
            "counts": counts.isoformat(),
            "others": list(others),
            "doubt": doubt,
            "pairs": now.neck if sheet.facts.needs == "neck" else "",
            "closes": now.open is not None,
            "back": _is_back(after),
            "finished": all(one.code in after.done_codes for one in now.sheet.stops),
        }
        if sheet.facts.freezes:
            settled["as_built"] = as_built.record_of(after, act.at)
        if now.slot and self.operation == now.sheet.route.leaves_rack:
            settled["unracked"] = now.slot
            ground.after = replace(after, slot="")
        settled |= self._fit(now, act)
        if settled["finished"]:
            kept = shelf.kept_for(now.tray_id)
            ledger.let_go(kept, act.by_id, act.at, f"{now.serial} is finished")
        return settled

    def _fit(self, now: State, act: Act) -> dict[str, Any]:
        """What this operation puts on, out of its tray or out of the batch at the bench, is
        fitted by the figures too; done again, it is there already."""
        parts = [one for one in now.kit if one.used_at == self.operation]
        said: dict[str, Any] = {}
        if any(one.in_tray for one in parts):
            fitted = ledger.consume(now.tray_id, self.operation, act.by_id, act.at)
            said["fitted"] = [asdict(one) for one in fitted]
        batch = [ledger.Ask(one.item_id, one.quantity) for one in parts if not one.in_tray]
        if batch:
            fitted, uncounted = ledger.use_batch(batch, now.serial, act.by_id, act.at)
            said["batch"] = [asdict(one) for one in fitted]
            said["uncounted"] = list(uncounted)
        return said

    @classmethod
    def follow(cls, row: Entry) -> None:
        said = row.data
        claimed = said["done_at"]
        _STEPS.add(
            Step(
                instrument_id=row.number,
                operation_id=said["operation_id"],
                by_id=row.by_id,
                others=said["others"],
                at=datetime.fromisoformat(said["counts"]),
                claimed_at=datetime.fromisoformat(claimed) if claimed else None,
                doubt=said["doubt"],
                seq=row.seq,
                entry=row,
            )
        )
        if said["pairs"]:
            _pair(row, said["pairs"])
        if "as_built" in said:
            AsBuilt.objects.create(
                instrument_id=row.number, record=said["as_built"], at=row.at, entry=row
            )
        more: dict[str, Any] = {}
        if said["closes"]:
            more["open_step"] = {}
        if said["back"]:
            more["rework"] = {}
            loops = Rework.objects.filter(instrument_id=row.number, closed_at__isnull=True)
            loops.update(closed_at=row.at)
        if said.get("unracked"):
            more["slot"] = ""
        if said["finished"]:
            more["finished_at"] = row.at
        if more:
            Instrument.objects.filter(pk=row.number).update(**more)

    def then(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> tuple[Deed, ...]:
        """A neck scanned with a body it is not paired with: both wait for the lead."""
        return freezing.both(ground.facts, self.neck_code, findings)


def _is_back(after: State) -> bool:
    """Whether the loop it is on is behind it: all that had to be done again is."""
    loop = after.rework
    return (
        loop is not None
        and loop.stage == "redo"
        and all(code in after.done_codes for code in loop.redo)
    )


def _pair(row: Entry, neck: str) -> None:
    """The pair is made, and the neck's tag retires: from now on the body's speaks for both."""
    part = Neck.objects.filter(serial=neck)
    made = Pair(instrument_id=row.number, made_at=row.at)
    made.neck_id = Subquery(part.values("pk")[:1])
    made.save()
    live = Tag.objects.filter(neck__in=part, void_at__isnull=True)
    live.update(void_at=row.at, void_why="paired")
