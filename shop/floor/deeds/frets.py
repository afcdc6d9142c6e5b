"""The heights of the frets, read along several lines: before levelling, and after crowning."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Decimal
from typing import Any, ClassVar, Final

from shop.craft import looks
from shop.craft.finding import Finding, Severity, stop, warn
from shop.craft.gauging import NotANumber, number
from shop.craft.measuring.tool import RULE, Tool
from shop.craft.set_up.aims import aims
from shop.craft.set_up.frets import FretReadings, Spot
from shop.craft.set_up.frets.reading import LEAST_LINES, MOST_FRETS, MOST_LINES, RESOLUTION_MM
from shop.craft.words import mm
from shop.floor import frets, gauges
from shop.floor.deeds.deed import Act, Deed, Ground, held
from shop.floor.deeds.gating import place_gate
from shop.floor.deeds.readings import MOST_TOLD
from shop.floor.frets import FretsKept
from shop.floor.models import Entry, FretHeights, Gauge
from shop.floor.state import State

STAGES: Final = ("before", "after")
DATA: Final = ("board", "straight")
# What a height, a flat or a gap can be at all, in millimetres, and how far a fret can lie below
# a straight reference: common practice, no source.
MOST_MM: Final = Decimal(5)

ANEW: Final = "Read as before; or tick a new reading of all, which leaves those out."

Heights = Mapping[Spot, str]


@dataclass(frozen=True, slots=True)
class _Known:
    """The heights read last, what of them stays, and the tool in hand."""

    last: FretsKept | None
    kept: FretsKept | None
    tool: Tool | None


@dataclass(frozen=True, slots=True, kw_only=True)
class FretsRead(Deed):
    """These heights were read: each as typed, by fret and line.

    ``stage`` is "before" levelling or "after" crowning, ``datum`` what they were read from, the
    "board" or a "straight" reference, ``lines`` how many of them are read. Heights that were
    read last at this stage and not again stay, unless ``anew``: without it these have to be of
    the same datum and as many lines. ``flats`` and ``rockers`` are typed by fret, after
    crowning. ``sure`` names the doubtful heights that were read again; ``inch``: bare figures
    are inches; ``tool`` is the gauge in hand by its name.
    """

    kind: ClassVar[str] = "frets"
    instrument_id: int
    operation: str
    stage: str
    datum: str
    lines: int
    heights: Heights = field(default_factory=dict)
    flats: Mapping[int, str] = field(default_factory=dict)
    rockers: Mapping[int, str] = field(default_factory=dict)
    sure: frozenset[Spot] = frozenset()
    anew: bool = False
    inch: bool = False
    tool: str = ""

    def plain(self) -> dict[str, Any]:
        said: dict[str, Any] = {
            "instrument_id": self.instrument_id,
            "operation": self.operation,
            "stage": self.stage,
            "datum": self.datum,
            "lines": self.lines,
            "entered": [[one.fret, one.line, text] for one, text in self.heights.items()],
            "flat": [[fret, text] for fret, text in self.flats.items()],
            "rocker": [[fret, text] for fret, text in self.rockers.items()],
            "sure": sorted([one.fret, one.line] for one in self.sure),
            "anew": self.anew,
            "inch": self.inch,
        }
        return said | ({"tool": self.tool} if self.tool else {})

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        """They are read at an operation's own station that is no inspection, on a board that
        has so many frets, and what cannot be believed is not taken."""
        now: State = ground.facts
        last = frets.newest(now.id)
        tool = gauges.tool(self.tool) if self.tool else None
        ground.seen = _Known(last, self._stays(now, last), tool)
        if unfit := self._unfit(now):
            return (unfit,)
        return (
            *place_gate(now, self.operation, act.asking),
            *self._no_tool(ground.seen),
            *self._otherwise(ground.seen),
            *self._unread(now),
            *self._doubtful(now, ground.seen),
        )

    def _stays(self, now: State, last: FretsKept | None) -> FretsKept | None:
        """The heights read last, where these are more of the same: of the same stage, from the
        same datum, along as many lines. After any other reading a board begins anew: once it
        was read after crowning, nothing from before that still stands as it was read."""
        same = last and (last.stage, last.datum, len(last.readings.lines)) == (
            self.stage,
            self.datum,
            self.lines,
        )
        fits = last and same and last.readings.frets == frets_of(now)
        return last if fits and not self.anew else None

    def _unfit(self, now: State) -> Finding | None:
        """Why there is nothing here to be read at all."""
        if now.sheet.stop(self.operation) is None:
            words = f"{self.operation or 'No operation'} is not on the route of {now.serial}."
            return stop("frets", words, "Open the instrument again.", call="")
        if self.operation in inspections(now):
            words = f"{self.operation} is an inspection: frets are not read there."
            return stop("frets", words, "Read them where frets are worked on.", call="")
        possible = self.stage in STAGES and self.datum in DATA
        if not possible or not LEAST_LINES <= self.lines <= MOST_LINES:
            return stop("frets", "This is no form of fret heights.", "Open it again.", call="")
        if not (self.heights or self.flats or self.rockers):
            return stop("frets", "Nothing was entered.", "Measure and enter.", call="")
        return None

    def _no_tool(self, known: _Known) -> Iterator[Finding]:
        """A gauge that nobody knows stops; one that is overdue does not."""
        if self.tool and known.tool is None:
            words = f"There is no gauge {self.tool[:MOST_TOLD]} here."
            yield stop(RULE, words, "Choose the one in hand, or none.", call="")

    def _otherwise(self, known: _Known) -> Iterator[Finding]:
        """Heights read otherwise than those that stand go beside none of them: they are a new
        reading of all, which somebody has to say, or what was read would be lost unseen."""
        last = known.last
        if last is None or self.anew or last.stage != self.stage:
            return
        if last.datum != self.datum:
            words = (
                "The heights that stand were read from the board, these from a straight reference."
                if last.datum == "board"
                else "The heights that stand were read from a straight reference, these from the "
                "board."
            )
            yield stop("frets", words, ANEW, call="")
        if (lines := len(last.readings.lines)) != self.lines:
            words = (
                f"The heights that stand were read along {lines} lines, these along {self.lines}."
            )
            yield stop("frets", words, ANEW, call="")

    def _unread(self, now: State) -> Iterator[Finding]:
        """What is no height, or of a fret or line that is not there."""
        count = frets_of(now)
        for spot, text in self.heights.items():
            if not (1 <= spot.fret <= count and 1 <= spot.line <= self.lines):
                words = (
                    f"There is no fret {spot.fret} on line {spot.line}: "
                    f"this board has {count} frets."
                )
                yield stop(rule_of(spot), words, "Leave it out.", call="")
            else:
                below = MOST_MM if self.datum == "straight" else Decimal(0)
                yield from self._no_figure(rule_of(spot), text, -below)
        for name, figures in (("flat", self.flats), ("rocker", self.rockers)):
            for fret, text in figures.items():
                if not 1 <= fret <= count:
                    words = f"There is no fret {fret}: this board has {count} frets."
                    yield stop(f"{name} {fret}", words, "Leave it out.", call="")
                else:
                    yield from self._no_figure(f"{name} {fret}", text)

    def _no_figure(self, rule: str, text: str, least_mm: Decimal = Decimal(0)) -> Iterator[Finding]:
        try:
            value = self._mm(text)
        except NotANumber as why:
            yield stop(rule, str(why), "Measure it and enter it again.", call="")
            return
        if not least_mm <= value <= MOST_MM:
            words = f"It cannot be: {mm(least_mm)} to {mm(MOST_MM)} can."
            yield stop(rule, words, "Measure it and enter it again.", call="")

    def _doubtful(self, now: State, known: _Known) -> Iterator[Finding]:
        """Of the heights entered, those that are hard to believe beside the others."""
        if any(True for _ in self._unread(now)):
            return
        heights = self.merged(now, known.kept)
        for doubt in heights.doubtful(from_board=self.datum == "board"):
            if doubt.spot in self.heights and doubt.spot not in self.sure:
                then = "Measure it again, or say that it is so."
                yield warn(rule_of(doubt.spot), doubt.words, then)

    def passes(self, act: Act, findings: tuple[Finding, ...]) -> bool:
        """A doubtful height is to be looked at again: no reason stands for that. That a phone
        kept the heights for a while is only noted."""
        return all(one.severity is Severity.NOTE for one in findings)

    def saw(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        tool: Tool | None = ground.seen.tool
        return tool.findings(gauges.day_of(act.at)) if tool else ()

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        if not recorded:
            return {}
        now: State = ground.facts
        known: _Known = ground.seen
        kept, tool = known.kept, known.tool
        on = gauges.day_of(act.at)
        said: dict[str, Any] = {
            "heights": frets.as_kept(self.merged(now, kept)),
            "flats": self._with(kept.flats_mm if kept else {}, self.flats),
            "rockers": self._with(kept.rockers_mm if kept else {}, self.rockers),
        }
        if tool:
            said |= {
                "read_with": f"{tool.called}, {tool.standing(on)}",
                "overdue": tool.overdue(on),
            }
        return said

    @classmethod
    def follow(cls, row: Entry) -> None:
        name = row.data.get("tool")
        FretHeights.objects.create(
            instrument_id=row.number,
            stage=row.data["stage"],
            datum=row.data["datum"],
            heights=row.data["heights"],
            flats=row.data["flats"],
            rockers=row.data["rockers"],
            operation=row.data["operation"],
            by_id=row.by_id,
            at=row.at,
            tool=Gauge.objects.only("pk").get(name=name) if name else None,
            overdue=row.data.get("overdue", False),
            entry=row,
        )

    def merged(self, now: State, kept: FretsKept | None) -> FretReadings:
        """The whole board with these heights in it."""
        table: list[list[Decimal | None]] = (
            [list(line) for line in kept.readings.lines]
            if kept
            else [[None] * frets_of(now) for _ in range(self.lines)]
        )
        for spot, text in self.heights.items():
            table[spot.line - 1][spot.fret - 1] = self._mm(text)
        return FretReadings(tuple(map(tuple, table)))

    def _with(self, kept: Mapping[int, Decimal], typed: Mapping[int, str]) -> dict[str, str]:
        """What was measured of each fret, by its number, these in the place of earlier ones."""
        found = dict(kept) | {fret: self._mm(text) for fret, text in typed.items()}
        return {str(fret): str(value) for fret, value in sorted(found.items())}

    def _mm(self, text: str) -> Decimal:
        return number(text, inch=self.inch).quantize(RESOLUTION_MM, ROUND_HALF_UP)


def frets_of(now: State) -> int:
    """How many frets the board of an instrument has."""
    return min(aims(now.sheet.spec).frets, MOST_FRETS)


def inspections(now: State) -> frozenset[str]:
    """The operations at which somebody looks with fresh eyes: no heights are read there, so that
    none of a first look have to be kept from a second."""
    return frozenset(one.code for pair in looks.pairs(now.sheet.route) for one in pair)


def rule_of(spot: Spot) -> str:
    """What a finding about the height at one spot is called."""
    return f"height {spot.fret} {spot.line}"
