"""Values measured on an instrument. What is corrected stays; the latest counts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, ClassVar, Final

from shop.craft import gauging
from shop.craft.finding import Finding, stop, warn
from shop.craft.gauging import Spot, Taken
from shop.floor.deeds.deed import Act, Deed, Ground, held
from shop.floor.deeds.gating import place_gate, tray_gate
from shop.floor.deeds.trays import judged
from shop.floor.models import Entry, Instrument
from shop.floor.models import Reading as Row
from shop.floor.state import State

TRAY_WARNING: Final = "tray warning"  # the gate's finding that is taken up at the step


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
            # In the order they were entered, which an object might not keep.
            "entered": [[key, place, text] for (key, place), text in self.values.items()],
            "sure": sorted(f"{key} {place}" for key, place in self.sure),
            "inch": self.inch,
        }

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        """It is measured at the operation's own station; the tray comes before the gauge;
        and what cannot be believed is not taken."""
        now: State = ground.facts
        if now.sheet.stop(self.operation) is None:
            words = f"{self.operation or 'No operation'} is not on the route of {now.serial}."
            return (stop("readings", words, "Open the instrument again.", call=""),)
        if not self.values:
            return (stop("readings", "Nothing was entered.", "Measure and enter.", call=""),)
        return (
            *place_gate(now, self.operation, act.asking),
            *tray_gate(now, self.operation, act.station),
            *(_unread(one) for one in self.taken(now).problems),
        )

    def passes(self, act: Act, findings: tuple[Finding, ...]) -> bool:
        """A tray passed with a warning asks for its reason at the step, not here."""
        return all(one.rule == TRAY_WARNING for one in findings)

    def saw(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        after = now.with_readings(self.taken(now).readings)
        return judged(after)

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        if not recorded:
            return {}
        now: State = ground.facts
        readings = self.taken(now).readings
        seen = tuple(one for one in findings if one.rule != TRAY_WARNING)
        ground.after = after = now.with_readings(readings).with_standing("readings", seen)
        return {
            "values": [[one.quantity, one.place, str(one.value)] for one in readings],
            "gauged": after.gauged_kept,
            "standing": after.kept_standing,
        }

    @classmethod
    def follow(cls, row: Entry) -> None:
        Row.objects.bulk_create(
            Row(
                instrument_id=row.number,
                quantity=quantity,
                place=place,
                value=Decimal(value),
                by_id=row.by_id,
                at=row.at,
                entry=row,
            )
            for quantity, place, value in row.data["values"]
        )
        Instrument.objects.filter(pk=row.number).update(
            gauged=row.data["gauged"], standing=row.data["standing"]
        )

    def taken(self, now: State) -> Taken:
        return gauging.take(
            now.sheet.spec,
            self.values,
            sure=self.sure,
            inch=self.inch,
            before=now.readings,
        )


def rule_of(spot: Spot) -> str:
    """What a finding about the value at one spot is called."""
    return f"reading {spot[0]} {spot[1]}"


def _unread(one: gauging.Problem) -> Finding:
    rule = rule_of((one.quantity, one.place))
    if one.doubtful:
        return warn(rule, one.words, "Measure it again, or say that it is so.")
    return stop(rule, one.words, "Measure it and enter it again.", call="")
