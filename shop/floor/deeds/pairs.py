"""A neck and the body cut for it: seen together, parted, and a new neck named."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from typing import Any, ClassVar, Final, Literal

from django.utils.timezone import localtime

from shop.craft.code import pretty
from shop.craft.finding import Finding, note, stop
from shop.craft.fit import moment
from shop.craft.fit.moment import Necks
from shop.craft.hardware import Call
from shop.floor.deeds import freezing
from shop.floor.deeds.deed import Act, Deed, Ground, held
from shop.floor.deeds.endings import closed, ended
from shop.floor.deeds.prints import no_proof
from shop.floor.deeds.releases import part_findings
from shop.floor.deeds.tags import new_code, void, void_words
from shop.floor.deeds.trays import judged
from shop.floor.models import Entry, Instrument, Neck, Pair, Rework, Step, Tag
from shop.floor.state import State

WORDS: Final = 200  # letters of a reason that a step keeps


@dataclass(frozen=True, slots=True)
class NeckSeen(Deed):
    """A neck lay beside this body, at whatever station, and its tag was scanned.

    Its own neck is told to belong here, by a retired tag too. Another's stops both: where
    either is of a pair already, something was swapped, and both wait for the lead.
    """

    kind: ClassVar[str] = "neck seen"
    instrument_id: int
    neck_code: str

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def ground(self) -> Ground:
        return freezing.held_beside(self.instrument_id, self.neck_code)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        return ended(now) or beside(now, self.neck_code)

    def saw(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        return (note("neck", f"{now.neck} belongs here: it is the neck of {now.serial}."),)

    @classmethod
    def follow(cls, row: Entry) -> None:
        """Nothing changes by looking; what it freezes is a row of its own."""

    def then(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> tuple[Deed, ...]:
        return freezing.both(ground.facts, self.neck_code, findings)


def beside(now: State, code: str) -> tuple[Finding, ...]:
    """What stands against the neck with this tag being the neck of this body."""
    if now.neck is None:
        words = f"{now.serial} has no neck: its pair was broken and no new neck is named."
        return (stop("neck", words, "Set the neck aside. The lead names the one it gets."),)
    if sheet := no_proof(code, "the tag on the neck"):
        return sheet
    tag = Tag.objects.filter(code=code).select_related("neck").first()
    if tag is None or tag.neck is None:
        words = f"{code} is no neck's tag."
        return (stop("neck scan", words, "Scan the tag on the neck.", call="lead"),)
    if tag.neck.scrapped_at is not None:
        words = f"{tag.neck} was scrapped {localtime(tag.neck.scrapped_at):%Y-%m-%d}."
        return (stop("neck", words, "Take it off the floor. Read the mark on its heel."),)
    if tag.void_at is not None and tag.void_why != "paired":
        words = f"{pretty(code)} is void: {void_words(tag.void_why)}."
        return (stop("neck scan", words, "Read the mark on the heel, and call the lead."),)
    if tag.neck.pk == now.neck_id:
        return ()
    call = Call(serial=now.serial, spec=now.sheet.spec, kit=())
    return moment.paired(_necks(now, now.neck, tag.neck), call)


def _necks(now: State, own: str, scanned: Neck) -> Necks:
    made = Pair.objects.filter(neck_id__in=[now.neck_id, scanned.pk], ended_at__isnull=True)
    cut = set(made.values_list("neck_id", flat=True))
    whose = Instrument.objects.filter(neck=scanned).values_list("body__serial", flat=True).first()
    return Necks(
        scanned=scanned.serial,
        awaited=own,
        whose=whose or "",
        cut=now.neck_id in cut,
        cut_elsewhere=scanned.pk in cut,
    )


@dataclass(frozen=True, slots=True)
class PairBroken(Deed):
    """The neck parts from its body: as scrap, or back to the store under a tag of its own.

    What was done with that neck is void and is done again with another; what was done on
    the body alone stands. Before the pair is made the neck that waits is parted so too.
    """

    kind: ClassVar[str] = "unpaired"
    instrument_id: int
    fate: Literal["scrap", "store"]

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        if over := closed(now):
            return over
        if now.neck is None:
            words = f"{now.serial} has no neck that could part from it."
            return (stop("neck", words, "Name the neck it gets.", call=""),)
        if self.fate not in {"scrap", "store"}:
            words = f"{now.neck} goes to scrap or back to the store."
            return (stop("fate", words, "Choose one of the two.", call=""),)
        if not act.reason:
            words = f"{now.neck} parts from {now.serial} for a reason."
            return (stop("unpaired", words, "Say what happened to the neck.", call=""),)
        return _on_the_old_neck(now, now.neck)

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        if not recorded:
            return {}
        now: State = ground.facts
        assert now.neck is not None  # a stop has refused it otherwise
        again = now.sheet.route.of_the_neck
        ground.after = after = without_neck(now, again)
        tagged = Tag.objects.filter(neck__serial=now.neck, void_at__isnull=True).exists()
        return {
            "neck": now.neck,
            "void": [one.seq for one in now.done if one.operation in again],
            "tag": new_code("neck") if self.fate == "store" and not tagged else "",
            "gauged": after.gauged_kept,
            "standing": after.kept_standing,
            "placed": after.placed_version,
            "longer": after.longer_kept,
        }

    @classmethod
    def follow(cls, row: Entry) -> None:
        said, number = row.data, row.number
        neck = Neck.objects.get(serial=said["neck"])
        pair = Pair.objects.filter(instrument_id=number, neck=neck, ended_at__isnull=True)
        pair.update(ended_at=row.at, ended_why=row.reason)
        Step.objects.filter(
            instrument_id=number, seq__in=said["void"], void_at__isnull=True
        ).update(void_at=row.at, void_why=f"pair broken: {row.reason}"[:WORDS])
        Rework.objects.filter(instrument_id=number, closed_at__isnull=True).update(closed_at=row.at)
        Instrument.objects.filter(pk=number).update(
            neck=None,
            gauged=said["gauged"],
            standing=said["standing"],
            placed_version=said["placed"],
            checked_version=None,
            checked_station="",
            checked_worst="",
            open_step={},
            rework={},
            happened=[],
            longer=said["longer"],
        )
        if said["fate"] == "scrap":
            Neck.objects.filter(pk=neck.pk).update(scrapped_at=row.at)
            for tag in Tag.objects.filter(neck=neck, void_at__isnull=True):
                void(tag, row.at, "scrapped")
        elif said["tag"]:
            Tag.objects.create(code=said["tag"], neck=neck, made_at=row.at)


def _on_the_old_neck(now: State, neck: str) -> tuple[Finding, ...]:
    """What the old neck takes along."""
    pairing = now.sheet.pairing
    before = now.sheet.route.before(pairing.code) if pairing else frozenset()
    fitted = [
        one.code
        for one in now.sheet.stops
        if one.facts.needs == "tray" and one.code in now.done_codes & before
    ]
    if not fitted:
        return ()
    words = f"What {fitted[-1]} fitted sits on {neck}."
    then = f"Give the tray of {now.serial} back to kitting: the new neck needs a set of its own."
    return (note("tray back", words, then, call="clerk"),)


def without_neck(now: State, again: frozenset[str]) -> State:
    """The instrument without its neck, the operations named still to be done: what they
    measured and found is gone with it, and so are their clocks."""
    stops = now.sheet.stops
    asks = [(one.code, one.facts.gauges) for one in stops]
    stays = now.readings.standing_for([it for it in asks if it[0] not in again])
    goes = now.readings.standing_for([it for it in asks if it[0] in again])
    clocks = {one.clock for one in now.sheet.route.precedences if one.before in again}
    placed_anew = any(one.facts.positions for one in stops if one.code in again)
    after = replace(
        now,
        neck_id=None,
        neck=None,
        neck_came=None,
        done=tuple(one for one in now.done if one.operation not in again),
        past=(*now.past, *(one for one in now.done if one.operation in again)),
        gauged_kept=[one.row() for one in now.readings.values if one in stays or one not in goes],
        placed_version=None if placed_anew else now.placed_version,
        checked_version=None,
        checked_station="",
        checked_worst="",
        open_step_kept={},
        rework_kept={},
        happened_kept=[],
        longer_kept={
            clock: round(more.total_seconds() / 3600)
            for clock, more in now.longer.items()
            if clock not in clocks
        },
    )
    if placed_anew:
        after = after.with_standing("positions", ())
    return after.with_standing("readings", judged(after) if after.readings.values else ())


@dataclass(frozen=True, slots=True)
class NeckNamed(Deed):
    """The lead names the neck that this body gets in the place of the one that parted."""

    kind: ClassVar[str] = "neck named"
    instrument_id: int
    neck: str

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        if over := ended(now):
            return over
        if now.neck is not None:
            words = f"{now.serial} has a neck: {now.neck}."
            return (stop("neck", words, "Break the pair first, with a reason.", call=""),)
        part = Neck.objects.select_for_update(of=("self",)).filter(serial=self.neck).first()
        return tuple(part_findings("neck", self.neck, part, now.sheet.spec.key))

    @classmethod
    def follow(cls, row: Entry) -> None:
        neck = Neck.objects.get(serial=row.data["neck"])
        Instrument.objects.filter(pk=row.number).update(neck=neck)
