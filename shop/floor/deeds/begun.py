"""A step that is begun and not recorded yet: who has it in hand, and what becomes of it."""

from __future__ import annotations

from abc import abstractmethod
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from typing import Any, ClassVar, Final

from shop.catalogue import book
from shop.craft import fit
from shop.craft.finding import Finding, any_stop, stop
from shop.craft.start import OpenStep, may_start
from shop.craft.when import in_utc, when_words
from shop.floor import course
from shop.floor.deeds.deed import Act, Deed, Ground, held
from shop.floor.deeds.freezing import Frozen
from shop.floor.deeds.gating import against
from shop.floor.models import Entry, Instrument
from shop.floor.state import State
from shop.people import badges
from shop.people.roles import holds

LONGEST: Final = 200  # characters of a note
AGAIN: Final = "To be cut again."
ANSWERS: Final = ("whole", "again", "spoilt")  # how a cut stands after the power went

# What is asked for when the step is recorded and may still be missing when it is begun.
AT_THE_RECORD: Final = frozenset({"readings", "positions", "neck scan"})
# What is looked at where somebody tells how a step stands and does no work on it.
WHERE_AND_WHO: Final = frozenset({"ended", "frozen", "station", "beside"})


@dataclass(frozen=True, slots=True)
class StepStarted(Deed):
    """``operation`` is begun on the instrument; it is the one open step until it is recorded."""

    kind: ClassVar[str] = "start"
    instrument_id: int
    operation: str

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        """All that stands against the work, but for what is measured and looked at in its
        course."""
        now: State = ground.facts
        one = now.open
        if one and one.operation == self.operation and act.by in (one.by, *one.helpers):
            words = f"You have {one.operation} open {_since(one, act)}."
            return (stop("open", words, "Go on, and record it once it is done.", call=""),)
        sheet = now.sheet.stop(self.operation)
        own = fit.rules_reading(sheet.facts.gauges) if sheet else frozenset()
        found = against(now, self.operation, act.asking, fresh=True)
        return tuple(one for one in found if one.rule not in AT_THE_RECORD | own)

    def passes(self, act: Act, findings: tuple[Finding, ...]) -> bool:
        """A warning is taken up with a reason when the step is recorded."""
        return not any_stop(findings)

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        if not recorded:
            return {}
        return _as_open(ground, OpenStep(self.operation, act.by, act.at, act.others))

    @classmethod
    def follow(cls, row: Entry) -> None:
        _follow(row)


class OnOpen(Deed):
    """What is done about the step that an instrument has open."""

    instrument_id: int

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        if now.open is None:
            words = f"{now.serial} has no step open."
            return (stop("open", words, "Open the instrument again.", call=""),)
        return self.against(act, now, now.open)

    def passes(self, act: Act, findings: tuple[Finding, ...]) -> bool:
        """A warning is taken up with a reason when the step is recorded."""
        return not any_stop(findings)

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        """Which step it was about and who had it until then, and the open step after it."""
        now: State = ground.facts
        if now.open is None:
            return {}
        told = {"operation": now.open.operation, "from": now.open.by}
        return told | (_as_open(ground, self.after(act, now.open)) if recorded else {})

    @classmethod
    def follow(cls, row: Entry) -> None:
        _follow(row)

    @abstractmethod
    def against(self, act: Act, now: State, one: OpenStep) -> tuple[Finding, ...]:
        """What stands against doing this about the open step."""

    @abstractmethod
    def after(self, act: Act, one: OpenStep) -> OpenStep | None:
        """The open step once it is done; ``None`` when nothing is open any more."""


def _as_open(ground: Ground, one: OpenStep | None) -> dict[str, Any]:
    kept = course.open_step_row(one)
    ground.after = replace(ground.facts, open_step_kept=kept)
    return {"open_step": kept}


def _follow(row: Entry) -> None:
    Instrument.objects.filter(pk=row.number).update(open_step=row.data["open_step"])


def _since(one: OpenStep, act: Act) -> str:
    return f"since {when_words(one.since, act.asking.at)}"


def _handed_on(one: OpenStep, to: str, *more: str) -> OpenStep:
    """The step in these hands: whoever had it, and those beside, have had a hand in it."""
    hands = dict.fromkeys((one.by, *one.helpers, *more))
    return replace(one, by=to, helpers=tuple(code for code in hands if code != to), parked=False)


@dataclass(frozen=True, slots=True)
class StepJoined(OnOpen):
    """A second badge helps with the open step; it has had a hand in it from then on."""

    kind: ClassVar[str] = "join"
    instrument_id: int

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def against(self, act: Act, now: State, one: OpenStep) -> tuple[Finding, ...]:
        """A helper works beside somebody who is signed off, and needs to be no more than
        fit to have a hand in it."""
        if act.by in one.helpers or (act.by == one.by and not one.parked):
            words = f"You are on {one.operation} of {now.serial} already."
            return (stop("joined", words, "Nothing to do.", call=""),)
        found = may_start(now.stands(act.asking.at), one.operation, act.asking)
        return tuple(it for it in found if it.rule not in {"open", "training"})

    def after(self, act: Act, one: OpenStep) -> OpenStep:
        return _handed_on(one, one.by, act.by, *act.others)


@dataclass(frozen=True, slots=True)
class StepHanded(OnOpen):
    """The open step is handed to the badge ``to``, or parked where that is empty."""

    kind: ClassVar[str] = "handed"
    instrument_id: int
    to: str = ""
    note: str = ""

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def against(self, act: Act, now: State, one: OpenStep) -> tuple[Finding, ...]:
        """A shift ends on a frozen instrument too: handing it on is no work on it."""
        if len(self.note) > LONGEST:
            words = f"The note has {len(self.note)} characters; {LONGEST} have room."
            return (stop("note", words, "Say it shorter.", call=""),)
        if not self.to:
            words = f"{one.operation} of {now.serial} is parked already."
            found = stop("parked", words, "Nothing to do.", call="")
            return (found,) if one.parked else ()
        if self.to == one.by and not one.parked:
            words = f"{self.to} has {one.operation} of {now.serial} already."
            return (stop("handed", words, "Choose another badge, or park it.", call=""),)
        return self._hands(act, now, one)

    def _hands(self, act: Act, now: State, one: OpenStep) -> tuple[Finding, ...]:
        """The badge it is handed to records steps, and may record this one."""
        badge = badges.active(self.to)
        if badge is None:
            words = f"No badge {self.to} works here."
            return (stop("handed", words, "Choose a badge of the list, or park it.", call=""),)
        if not (holds(badge, "step.record") or holds(badge, "step.learn")):
            words = f"{self.to} records no steps."
            return (stop("handed", words, "Choose another badge, or park it.", call=""),)
        asking = replace(act.asking, who=badges.person(badge), beside=None)
        eyes = may_start(now.stands(asking.at), one.operation, asking)
        if any(it.rule == "person" for it in eyes):
            words = f"{one.operation} of {now.serial} needs other eyes than those of {self.to}."
            return (stop("person", words, "Choose another badge, or park it.", call=""),)
        return ()

    def after(self, act: Act, one: OpenStep) -> OpenStep:
        one = replace(one, note=self.note or one.note)
        return _handed_on(one, self.to) if self.to else replace(one, parked=True)


@dataclass(frozen=True, slots=True)
class StepTaken(OnOpen):
    """A parked step is taken over."""

    kind: ClassVar[str] = "taken"
    instrument_id: int

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def against(self, act: Act, now: State, one: OpenStep) -> tuple[Finding, ...]:
        if not one.parked:
            words = f"{one.by} has {one.operation} of {now.serial} open {_since(one, act)}."
            then = "Join as helper, or have it handed to you."
            return (stop("open", words, then, call=""),)
        found = may_start(now.stands(act.asking.at), one.operation, act.asking)
        return tuple(it for it in found if it.rule != "parked")

    def after(self, act: Act, one: OpenStep) -> OpenStep:
        return _handed_on(one, act.by, *act.others)


@dataclass(frozen=True, slots=True)
class StepLeft(OnOpen):
    """The open step was begun by mistake: nothing was done, nothing is open."""

    kind: ClassVar[str] = "left"
    instrument_id: int

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def against(self, act: Act, now: State, one: OpenStep) -> tuple[Finding, ...]:
        if one.unsure:
            words = f"The power went while {one.operation} was open: how it stands is unknown."
            return (stop("power cut", words, "Look at it and say how it stands.", call=""),)
        if not act.reason:
            words = f"{one.operation} of {now.serial} is open {_since(one, act)}."
            return (stop("left", words, "Say why it was begun by mistake.", call=""),)
        return ()

    def after(self, act: Act, one: OpenStep) -> None:
        return None


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
