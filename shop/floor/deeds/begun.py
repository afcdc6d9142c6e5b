"""A step that is begun and not recorded yet: who has it in hand, and what becomes of it."""

from __future__ import annotations

from abc import abstractmethod
from dataclasses import asdict, dataclass, replace
from typing import Any, ClassVar, Final

from shop.craft import fit
from shop.craft.finding import Finding, any_stop, stop
from shop.craft.inspecting import moving
from shop.craft.start import OpenStep, may_start
from shop.craft.when import when_words
from shop.floor import course
from shop.floor.deeds.deed import Act, Deed, Ground, held
from shop.floor.deeds.gating import against
from shop.floor.models import Entry, Instrument
from shop.floor.state import State
from shop.people import badges
from shop.people.roles import holds

LONGEST: Final = 200  # characters of a note

# What is asked for when the step is recorded and may still be missing when it is begun.
AT_THE_RECORD: Final = frozenset({"readings", "positions", "neck scan", "checklist", moving.RULE})
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
