"""Values measured on an instrument. What is corrected stays; the latest counts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, ClassVar

from shop.craft import fit, gauging
from shop.craft.finding import Finding, stop, warn
from shop.craft.gauging import Spot, Taken
from shop.floor.deeds.deed import Act, Deed, Ground, held
from shop.floor.deeds.steps import tray_gate
from shop.floor.deeds.trays import parts
from shop.floor.models import Entry, Instrument
from shop.floor.models import Reading as Row
from shop.floor.state import State


@dataclass(frozen=True, slots=True)
class Gauged(Deed):
    """These values were measured: each as typed, by quantity and place.

    ``operation`` is where it was measured; ``sure`` names the doubtful spots that were
    looked at again; ``inch``: bare figures are inches.
    """

    kind: ClassVar[str] = "readings"
    instrument_id: int
    operation: str
    values: Mapping[Spot, str] = field(default_factory=dict)
    sure: frozenset[Spot] = frozenset()
    inch: bool = False

    def plain(self) -> dict[str, Any]:
        return {
            "instrument_id": self.instrument_id,
            "operation": self.operation,
            "values": {f"{key} {place}": text for (key, place), text in self.values.items()},
            "sure": sorted(f"{key} {place}" for key, place in self.sure),
            "inch": self.inch,
        }

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        """The tray comes before the gauge, and what cannot be believed is not taken."""
        now: State = ground.facts
        problems = self.taken(now).problems
        return (
            *tray_gate(now, self.operation, act.station),
            *(_unread(one) for one in problems),
            *(() if self.values else (stop("reading", "Nothing was entered.", "Measure.", ""),)),
        )

    def passes(self, act: Act, findings: tuple[Finding, ...]) -> bool:
        """A tray passed with a warning asks for its reason at the step, not here."""
        return all(one.rule == "tray warning" for one in findings)

    def saw(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        after = now.with_readings(self.taken(now).readings)
        return judged(after)

    def write(self, act: Act, ground: Ground, entry: Entry) -> None:
        now: State = ground.facts
        readings = self.taken(now).readings
        Row.objects.bulk_create(
            Row(
                instrument_id=now.id,
                quantity=one.quantity,
                place=one.place,
                value=one.value,
                by_id=act.by_id,
                at=act.at,
                entry=entry,
            )
            for one in readings
        )
        after = now.with_readings(readings)
        ground.facts = after = after.with_standing("readings", judged(after)).counted()
        Instrument.objects.filter(pk=now.id).update(
            gauged=after.gauged_kept, standing=after.standing_kept
        )

    def taken(self, now: State) -> Taken:
        return gauging.take(
            now.sheet.spec,
            self.values,
            sure=self.sure,
            inch=self.inch,
            before=now.readings,
        )


def judged(now: State) -> tuple[Finding, ...]:
    """What the readings in force say about the parts this instrument is fitted with."""
    quantities = {one.quantity for one in now.readings.values}
    return fit.measured(now.whole_call, parts(now), quantities)


def _unread(one: gauging.Problem) -> Finding:
    spot = f"reading {one.quantity} {one.place}"
    if one.doubtful:
        return warn(spot, one.words, "Measure it again, or say that it is so.")
    return stop(spot, one.words, "Measure and enter it again.", call="")
