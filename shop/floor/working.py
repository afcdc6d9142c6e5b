"""What is there to do on an instrument here and now, and what was left out on its way here?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from shop.catalogue.book import StopSheet
from shop.craft import fit, start
from shop.craft.finding import Finding, Severity, any_stop, any_warn
from shop.craft.fit.placing import on_its_post
from shop.craft.inspecting import moving
from shop.craft.route import topological
from shop.craft.start import Asking
from shop.craft.when import when_words
from shop.floor.areas import UNDECIDED, looks_of
from shop.floor.deeds.begun import AT_THE_RECORD
from shop.floor.deeds.gating import against
from shop.floor.deeds.lateness import late_gates
from shop.floor.state import State

# What the bench itself clears: by a scan, by measuring, by looking at the posts or the areas.
CLEARED_HERE = frozenset(
    {"tray scan", "tray stop", "neck scan", "readings", "positions", "checklist"}
)
# What a second badge beside clears.
SIGNED_BESIDE = frozenset({"training", "beside"})


@dataclass(frozen=True, slots=True)
class Work:
    """The operation to do now at this station, or what keeps it back."""

    stop: StopSheet | None
    findings: tuple[Finding, ...]
    here: bool
    ready: datetime | None
    ready_words: str = ""

    @property
    def wants_tray(self) -> bool:
        return any(one.rule in {"tray scan", "tray stop"} for one in self.findings)

    @property
    def wants_readings(self) -> bool:
        return any(one.rule == "readings" for one in self.findings)

    @property
    def wants_positions(self) -> bool:
        return any(one.rule == "positions" for one in self.findings)

    @property
    def wants_areas(self) -> bool:
        """Whether areas of the checklist are still to be looked at."""
        stops = (one for one in self.findings if one.severity is Severity.STOP)
        return any(one.rule == "checklist" for one in stops)

    @property
    def misplaced(self) -> bool:
        """Whether a machine on another's post holds it, so that another look may free it."""
        placed_here = self.here and self.stop is not None and self.stop.facts.positions
        return placed_here and any(one.rule == on_its_post.id for one in self.held)

    @property
    def wants_neck(self) -> bool:
        return any(one.rule == "neck scan" for one in self.findings)

    @property
    def wants_beside(self) -> bool:
        """Whether what it waits for first is a second badge beside."""
        return self.here and self.blocked and self.held[0].rule in SIGNED_BESIDE

    @property
    def reasons(self) -> tuple[Finding, ...]:
        """What holds it, in the order to clear it. Elsewhere it is somebody else's work: there
        it comes last who signs for it."""
        if self.here:
            return self.held
        return tuple(sorted(self.held, key=lambda one: one.rule in SIGNED_BESIDE))

    @property
    def blocked(self) -> bool:
        return any_stop(self.held)

    @property
    def warned(self) -> bool:
        return any_warn(self.held)

    @property
    def caller(self) -> str:
        """Who can help, of those the stops name."""
        return next((one.call for one in self.held if one.call), "")

    @property
    def held(self) -> tuple[Finding, ...]:
        """What no scan, measure or look at this bench clears by itself."""
        return tuple(one for one in self.findings if one.rule not in CLEARED_HERE)


def work(now: State, asking: Asking, neck: str = "") -> Work:
    """What to do with this instrument where somebody asks: its first open operation at their
    station, else the first one anywhere, with every reason why it cannot start. What is begun
    at their station comes before all. ``neck``: the code of the neck scanned beside it, where
    the operation makes the pair."""
    sheets = [sheet for code in now.next_codes if (sheet := now.sheet.stop(code))]
    here = [sheet for sheet in sheets if sheet.station_code == asking.station]
    if not sheets:
        return Work(None, (), False, None)
    begun = [sheet for sheet in here if now.open and sheet.code == now.open.operation]
    chosen = _first_that_may_start(now, begun or here or sheets, asking)
    findings = against(now, chosen.code, asking, neck)
    ready = start.ready_at(now.stands(asking.at), chosen.code)
    if ready is None or ready <= asking.at:
        return Work(chosen, findings, bool(here), None)
    words = f"Ready {when_words(ready, asking.at)}"
    return Work(chosen, findings, bool(here), ready, words)


def _first_that_may_start(now: State, sheets: Sequence[StopSheet], asking: Asking) -> StopSheet:
    """The first operation nothing holds back, wherever it is; else the first of all."""
    stands = now.stands(asking.at)
    anywhere = replace(asking, late=True)
    free = (one for one in sheets if not any_stop(start.may_start(stands, one.code, anywhere)))
    return next(free, sheets[0])


def measured_wrong(now: State, work: Work) -> tuple[Finding, ...]:
    """The stops that readings, or their moves between the looks, raised and that hold this work:
    measuring again may clear them. None at a look that somebody else takes, or later: its values
    are theirs to read."""
    by_reading = fit.rules_reading({one.quantity for one in now.readings.values})
    stops = [one for one in work.held if one.severity is Severity.STOP]
    found = tuple(one for one in stops if one.rule in by_reading or one.rule == moving.RULE)
    look = work.stop is not None and work.stop.code in looks_of(now)
    if look and any(one not in found and one.rule != UNDECIDED for one in stops):
        return ()
    return found


def may_begin(now: State, work: Work) -> bool:
    """Whether the operation to do here may be begun: nothing is open, and nothing stands
    against it but what is measured and looked at in its course."""
    if work.stop is None or now.open is not None or not work.here:
        return False
    in_its_course = AT_THE_RECORD | fit.rules_reading(work.stop.facts.gauges)
    return not any_stop(one for one in work.findings if one.rule not in in_its_course)


def skipped(now: State, operation: str) -> tuple[StopSheet, ...]:
    """What comes before an operation and is not recorded, in the order to do it."""
    missing = now.sheet.route.before(operation) - now.done_codes
    if not missing:
        return ()
    found = (now.sheet.stop(code) for code in topological(now.sheet.route) if code in missing)
    return tuple(one for one in found if one)


def gap(now: State, station: str) -> tuple[StopSheet, ...]:
    """What is not recorded between where an instrument should be and this station, in its
    order: nothing where an operation of the station is next, or none is left for it."""
    left = [
        one
        for one in now.sheet.stops
        if one.station_code == station and one.code not in now.done_codes
    ]
    if any(one.code in now.next_codes for one in left):
        return ()
    return min((skipped(now, one.code) for one in left), key=len, default=())


def against_late(now: State, operation: str, asking: Asking) -> tuple[Finding, ...]:
    """The stops against recording an operation as done before, at whatever moment it was."""
    sheet = now.sheet.stop(operation)
    late = replace(asking, late=True)
    done = late_gates(now, sheet, "", late) if sheet else ()
    found = start.may_start(now.stands(asking.at), operation, late, done)
    return tuple(one for one in found if one.severity is Severity.STOP)


def done_before(now: State, operation: str) -> datetime | None:
    """When the last of what comes right before an operation is said to have been done."""
    befores = {step.before for step in now.sheet.route.into(operation)}
    said = (one.claimed or one.at for one in now.done if one.operation in befores)
    return max(said, default=None)
