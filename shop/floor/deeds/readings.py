"""Values measured on an instrument. What is corrected stays; the latest counts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any, ClassVar, Final

from shop.craft import gauging
from shop.craft.finding import Finding, Severity, stop, warn
from shop.craft.gauging import Spot, Taken
from shop.craft.measuring.tool import RULE, Tool
from shop.craft.reading import Reading
from shop.floor import areas, gauges
from shop.floor.deeds.deed import Act, Deed, Ground, held
from shop.floor.deeds.gating import place_gate, tray_gate
from shop.floor.deeds.sending import KEPT
from shop.floor.deeds.trays import judged
from shop.floor.models import Entry, Gauge, Instrument
from shop.floor.models import Reading as Row
from shop.floor.state import State

TRAY_WARNING: Final = "tray warning"  # the gate's finding that is taken up at the step
# What is found of the tray, the gauge and the way it came stands against no instrument.
SAID_ELSEWHERE: Final = frozenset({TRAY_WARNING, RULE, KEPT})
MOST_TOLD: Final = 20  # letters of a gauge nobody knows, as it is told again


@dataclass(frozen=True, slots=True)
class Gauged(Deed):
    """These values were measured: each as typed, by quantity and place.

    ``operation`` is where it was measured; ``sure`` names the doubtful spots that were
    looked at again; ``inch``: bare figures are inches. ``tool`` is the gauge in hand by its
    name, "" where nobody said which.
    """

    kind: ClassVar[str] = "readings"
    instrument_id: int
    operation: str
    values: Mapping[Spot, str] = field(default_factory=dict)
    sure: frozenset[Spot] = frozenset()
    inch: bool = False
    tool: str = ""

    def plain(self) -> dict[str, Any]:
        said = {
            "instrument_id": self.instrument_id,
            "operation": self.operation,
            # In the order they were entered, which an object might not keep.
            "entered": [[key, place, text] for (key, place), text in self.values.items()],
            "sure": sorted(f"{key} {place}" for key, place in self.sure),
            "inch": self.inch,
        }
        return said | ({"tool": self.tool} if self.tool else {})

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        """It is measured at the operation's own station, at a look by whoever may take it and
        when it may be taken; the tray comes before the gauge; and what cannot be believed is
        not taken."""
        now: State = ground.facts
        if now.sheet.stop(self.operation) is None:
            words = f"{self.operation or 'No operation'} is not on the route of {now.serial}."
            return (stop("readings", words, "Open the instrument again.", call=""),)
        if not self.values:
            return (stop("readings", "Nothing was entered.", "Measure and enter.", call=""),)
        return (
            *self._place(act, now),
            *tray_gate(now, self.operation, act.station),
            *(_unread(one) for one in self.taken(now).problems),
            *self._no_tool(ground),
        )

    def _place(self, act: Act, now: State) -> tuple[Finding, ...]:
        if self.operation in areas.looks_of(now):
            return areas.against_measuring(now, self.operation, act.asking)
        return place_gate(now, self.operation, act.asking)

    def _no_tool(self, ground: Ground) -> tuple[Finding, ...]:
        """A gauge that nobody knows stops; one that is overdue does not."""
        if not self.tool:
            return ()
        ground.seen = gauges.tool(self.tool)
        if ground.seen is not None:
            return ()
        words = f"There is no gauge {self.tool[:MOST_TOLD]} here."
        return (stop(RULE, words, "Choose the one in hand, or none.", call=""),)

    def passes(self, act: Act, findings: tuple[Finding, ...]) -> bool:
        """A tray passed with a warning asks for its reason at the step, not here; that a phone
        kept the values for a while is only noted."""
        return all(one.rule == TRAY_WARNING or one.severity is Severity.NOTE for one in findings)

    def saw(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        tool: Tool | None = ground.seen
        of_tool = tool.findings(gauges.day_of(act.at)) if tool else ()
        return (*judged(now.with_readings(self.read(now))), *of_tool)

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        if not recorded:
            return {}
        now: State = ground.facts
        readings = self.read(now)
        seen = tuple(one for one in findings if one.rule not in SAID_ELSEWHERE)
        ground.after = after = now.with_readings(readings).with_standing("readings", seen)
        return {
            "values": [[one.quantity, one.place, str(one.value)] for one in readings],
            "gauged": after.gauged_kept,
            "standing": after.kept_standing,
            **_read_with(ground.seen, gauges.day_of(act.at)),
        }

    @classmethod
    def follow(cls, row: Entry) -> None:
        name = row.data.get("tool")
        tool = Gauge.objects.only("pk").get(name=name) if name else None
        Row.objects.bulk_create(
            Row(
                instrument_id=row.number,
                quantity=quantity,
                place=place,
                value=Decimal(value),
                by_id=row.by_id,
                at=row.at,
                operation=row.data["operation"],
                tool=tool,
                overdue=row.data.get("overdue", False),
                entry=row,
            )
            for quantity, place, value in row.data["values"]
        )
        Instrument.objects.filter(pk=row.number).update(
            gauged=row.data["gauged"], standing=row.data["standing"]
        )

    def read(self, now: State) -> tuple[Reading, ...]:
        """The values that are taken, each with the operation it answers."""
        taken = self.taken(now).readings
        return gauging.answering(taken, self.operation, self._asks(now), now.readings)

    def taken(self, now: State) -> Taken:
        return gauging.take(
            now.sheet.spec,
            self.values,
            sure=self.sure,
            inch=self.inch,
            before=gauging.beside(now.readings, self.operation, self._asks(now)),
        )

    def _asks(self, now: State) -> tuple[str, ...]:
        """The quantities that its operation asks for."""
        sheet = now.sheet.stop(self.operation)
        return sheet.facts.gauges if sheet else ()


def rule_of(spot: Spot) -> str:
    """What a finding about the value at one spot is called."""
    return f"reading {spot[0]} {spot[1]}"


def _read_with(tool: Tool | None, on: date) -> dict[str, Any]:
    """The gauge as it stood when it was used: what a later check changes is not this row."""
    if tool is None:
        return {}
    return {"read_with": f"{tool.called}, {tool.standing(on)}", "overdue": tool.overdue(on)}


def _unread(one: gauging.Problem) -> Finding:
    rule = rule_of((one.quantity, one.place))
    if one.doubtful:
        return warn(rule, one.words, "Measure it again, or say that it is so.")
    return stop(rule, one.words, "Measure it and enter it again.", call="")
