"""Keeping the measuring tools: the list of them, their checks, and how well they repeat."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, ClassVar, Final

from shop.craft.code import Kind
from shop.craft.finding import Finding, stop, warn
from shop.craft.measuring.study import Study, lacking
from shop.craft.measuring.tool import Tool
from shop.craft.words import mm, several
from shop.floor import gauges
from shop.floor.deeds.deed import Act, Deed, Ground
from shop.floor.deeds.tags import unused
from shop.floor.models import Entry, Gauge, GaugeCheck, GaugeStudy

NAME: Final = re.compile(r"G-[0-9]{2,3}")
WORDS: Final = 40  # letters of what a gauge is
NOTE: Final = 200
WHAT: Final = 60
# Between a shift and ten years; a resolution or deviation beyond these was mistyped. Common
# practice, no source.
INTERVAL_DAYS: Final = (1, 3650)
COARSEST_MM: Final = Decimal(10)
FURTHEST_MM: Final = Decimal(100)
MOST_VALUES: Final = 600  # of one study: what one form can carry


class OfGauge(Deed):
    """A deed about one gauge. Rows of gauges are rows of no instrument."""

    name: str

    def ground(self) -> Ground:
        return Ground(self.name, facts=gauges.tool(self.name))

    def unusable(self, found: Tool | None) -> Iterator[Finding]:
        """Why nothing can be entered for this gauge."""
        if found is None:
            words = f"There is no gauge {self.name}." if self.name else "No gauge was chosen."
            yield stop("gauge", words, "Choose one of the list.", call="")
        elif found.retired:
            words = f"{found.called} is put away."
            yield stop("gauge", words, "Take it back into use first.", call="")


@dataclass(frozen=True, slots=True)
class GaugeKept(OfGauge):
    """This gauge is in use, as it is said here; new where none is called so yet.

    ``resolution_mm`` is ``None`` for one that reads no length; ``retired``: it is put away.
    """

    kind: ClassVar[str] = "gauge"
    name: str
    words: str
    resolution_mm: Decimal | None
    interval_days: int
    retired: bool = False

    def plain(self) -> dict[str, Any]:
        return {
            "name": self.name,
            "words": self.words,
            "resolution_mm": _plain(self.resolution_mm),
            "interval_days": self.interval_days,
            "retired": self.retired,
        }

    def said_before(self, act: Act, ground: Ground) -> bool:
        now: Tool | None = ground.facts
        return now is not None and self._said() == (
            now.words, now.resolution_mm, now.interval_days, now.retired,
        )  # fmt: skip

    def _said(self) -> tuple[Any, ...]:
        return self.words, self.resolution_mm, self.interval_days, self.retired

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        return tuple(self._wrong())

    def _wrong(self) -> Iterator[Finding]:
        if not NAME.fullmatch(self.name):
            yield stop(
                "gauge name",
                "A gauge is called G, a dash and two or three digits.",
                "Write it as G-07.",
                call="",
            )
        if not 0 < len(self.words.strip()) <= WORDS or not self.words.isprintable():
            words = f"What it is takes 1 to {WORDS} letters in one line."
            yield stop("gauge words", words, "Write it as feeler set.", call="")
        finest = self.resolution_mm
        if finest is not None and not 0 < finest <= COARSEST_MM:
            words = f"No gauge reads to {mm(finest)}: above 0 and up to {mm(COARSEST_MM)} can be."
            yield stop("gauge resolution", words, "Write what one step of it is.", call="")
        least, most = INTERVAL_DAYS
        if not least <= self.interval_days <= most:
            words = f"A check holds for {least} to {several(most, 'day')}."
            yield stop("gauge interval", words, "Write the days from check to check.", call="")

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        if not recorded:
            return {}
        now: Tool | None = ground.facts
        if now is not None:
            return {"code": now.code, "new": False}
        return {"code": unused(Kind.GAUGE, 1, Gauge.objects.all())[0], "new": True}

    @classmethod
    def follow(cls, row: Entry) -> None:
        said = row.data
        Gauge.objects.update_or_create(
            name=said["name"],
            defaults={
                "code": said["code"],
                "words": said["words"],
                "resolution_mm": _read(said["resolution_mm"]),
                "interval_days": said["interval_days"],
                "retired": said["retired"],
            },
        )


@dataclass(frozen=True, slots=True)
class GaugeChecked(OfGauge):
    """A gauge was held against what is known on this day, and passed or did not.

    ``deviation_mm`` is what it showed less what it should have; ``None`` for a gauge that
    reads no length.
    """

    kind: ClassVar[str] = "gauge check"
    name: str
    on: date
    passed: bool
    deviation_mm: Decimal | None = None
    note: str = ""

    def plain(self) -> dict[str, Any]:
        return {
            "name": self.name,
            "on": self.on.isoformat(),
            "passed": self.passed,
            "deviation_mm": _plain(self.deviation_mm),
            "note": self.note,
        }

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: Tool | None = ground.facts
        return (*self.unusable(now), *self._wrong(act, now))

    def _wrong(self, act: Act, now: Tool | None) -> Iterator[Finding]:
        if self.on > gauges.day_of(act.at):
            then = "Give the day it was checked."
            yield stop("gauge day", f"{self.on} is still to come.", then, call="")
        if now and now.resolution_mm is not None and self.deviation_mm is None:
            words = f"{now.called} reads lengths: its check shows how far it was off."
            yield stop("gauge deviation", words, "Write 0 where it was right.", call="")
        off = self.deviation_mm
        if off is not None and abs(off) >= FURTHEST_MM:
            words = f"{mm(off)} off cannot be: less than {mm(FURTHEST_MM)} can."
            yield stop("gauge deviation", words, "Write how far it was off.", call="")
        if len(self.note) > NOTE:
            words = f"A note has up to {NOTE} letters."
            yield stop("gauge note", words, "Write a shorter one.", call="")

    def saw(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        """What a gauge that failed was used for since it last passed."""
        if self.passed:
            return ()
        now: Tool = ground.facts
        used = gauges.read_with(self.name)
        if not used:
            then = "Have it set right or put it away."
            return (warn("gauge", f"{now.called} failed. Nothing was read with it since.", then),)
        values = several(sum(one.count for one in used), "value")
        words = f"{now.called} failed. {values} on {several(len(used), 'guitar')} were read with it"
        then = "Take those guitars up again with a gauge that passed. Put this one away."
        return (warn("gauge", f"{words} since it last passed.", then),)

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        now: Tool | None = ground.facts
        return {"words": now.words} if now else {}

    @classmethod
    def follow(cls, row: Entry) -> None:
        said = row.data
        GaugeCheck.objects.create(
            gauge=Gauge.objects.get(name=said["name"]),
            on=date.fromisoformat(said["on"]),
            passed=said["passed"],
            deviation_mm=_read(said["deviation_mm"]),
            note=said["note"],
            by_id=row.by_id,
            at=row.at,
            entry=row,
        )


@dataclass(frozen=True, slots=True)
class GaugeStudied(OfGauge):
    """Several people measured the same parts again and again with this gauge.

    ``values``: in mm, of each part, by each person, each trial. ``tolerance_mm`` is the whole
    width of what is allowed there.
    """

    kind: ClassVar[str] = "gauge study"
    name: str
    what: str
    tolerance_mm: Decimal
    values: tuple[tuple[tuple[Decimal, ...], ...], ...]

    def plain(self) -> dict[str, Any]:
        return {
            "name": self.name,
            "what": self.what,
            "tolerance_mm": str(self.tolerance_mm),
            "entered": [[[str(one) for one in cell] for cell in part] for part in self.values],
        }

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        return (*self.unusable(ground.facts), *self._wrong())

    def _wrong(self) -> Iterator[Finding]:
        if not 0 < len(self.what.strip()) <= WHAT or not self.what.isprintable():
            words = f"What was measured takes 1 to {WHAT} letters in one line."
            yield stop("study words", words, "Write it as action at fret 12.", call="")
        if not 0 < self.tolerance_mm < FURTHEST_MM:
            words = f"A tolerance of {mm(self.tolerance_mm)} cannot be."
            then = "Write its whole width, from the least that fits to the most."
            yield stop("study tolerance", words, then, call="")
        if (count := sum(len(cell) for part in self.values for cell in part)) > MOST_VALUES:
            words = f"{several(count, 'value')} are too many: up to {MOST_VALUES} make one study."
            yield stop("study values", words, "Study fewer parts.", call="")
        for words in lacking([[[float(it) for it in cell] for cell in one] for one in self.values]):
            yield stop("study values", words, "Measure and enter what is missing.", call="")

    def _found(self) -> Study:
        return gauges.found_by(self.values, self.tolerance_mm)

    def saw(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        return (self._found().finding,)

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        now: Tool | None = ground.facts
        told = {"words": now.words} if now else {}
        return told | ({"share_pct": f"{self._found().judged_pct:.1f}"} if recorded else {})

    @classmethod
    def follow(cls, row: Entry) -> None:
        said = row.data
        GaugeStudy.objects.create(
            gauge=Gauge.objects.get(name=said["name"]),
            what=said["what"],
            tolerance_mm=Decimal(said["tolerance_mm"]),
            values=said["entered"],
            by_id=row.by_id,
            at=row.at,
            entry=row,
        )


def _plain(value_mm: Decimal | None) -> str | None:
    return None if value_mm is None else str(value_mm)


def _read(kept: str | None) -> Decimal | None:
    return None if kept is None else Decimal(kept)
