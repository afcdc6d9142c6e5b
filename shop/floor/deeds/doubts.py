"""What was recorded and may not be so: doubted, then confirmed or struck, never taken away."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Collection
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from typing import Any, ClassVar, Final

from shop.craft.finding import Finding, stop
from shop.craft.gauging import Spot
from shop.craft.reading import Reading
from shop.craft.route import Done
from shop.craft.when import in_utc, when_words
from shop.floor.deeds.deed import Act, Deed, Ground, held
from shop.floor.deeds.endings import ended
from shop.floor.deeds.freezing import Frozen
from shop.floor.deeds.trays import judged
from shop.floor.models import AsBuilt, Entry, Instrument, Step
from shop.floor.models import Reading as ReadingRow
from shop.floor.state import State
from shop.people import badges
from shop.people.roles import holds

LONGEST: Final = 200  # characters of a remark, as of a reason
DOUBT: Final = 120  # characters of a doubt
OTHER_GUITAR: Final = "the tag hung on another guitar"


class OfStep(Deed):
    """What is said of a step that was recorded, by the number of its journal row."""

    instrument_id: int
    seq: int

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def corrects(self) -> int | None:
        return _row_of(self.instrument_id, self.seq)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        one = _done(now, self.seq)
        if one is None:
            words = f"Row {self.seq} of {now.serial} is no step that counts."
            return (stop(self.kind, words, "Choose a step of the list.", call=""),)
        if over := ended(now):
            return over
        if not act.reason:
            words = f"{one.operation} of {now.serial} waits for a reason."
            return (stop(self.kind, words, "Say what you looked at and what you saw.", call=""),)
        return self.against(act, now, one)

    @abstractmethod
    def against(self, act: Act, now: State, one: Done) -> tuple[Finding, ...]:
        """What stands against saying this of the step."""


@dataclass(frozen=True, slots=True)
class StepConfirmed(OfStep):
    """The step was done as recorded: a lead has made sure, or a witness signs beside."""

    kind: ClassVar[str] = "confirm"
    instrument_id: int
    seq: int

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def against(self, act: Act, now: State, one: Done) -> tuple[Finding, ...]:
        if not one.doubt:
            words = f"{one.operation} of {now.serial} is not in doubt."
            return (stop("confirm", words, "Nothing to confirm.", call=""),)
        badge = badges.active(act.by)
        lead = badge is not None and holds(badge, "instrument.settle")
        if not lead and act.asking.signer is None:
            words = f"{one.operation} of {now.serial} is confirmed by two, or by the lead."
            return (stop("confirm", words, "Have a witness sign beside you, or ask the lead."),)
        return ()

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        one = _done(ground.facts, self.seq)
        return {"operation": one.operation, "doubt": one.doubt} if one else {}

    @classmethod
    def follow(cls, row: Entry) -> None:
        _live(row, row.data["seq"]).update(doubt="")


@dataclass(frozen=True, slots=True)
class StepStruck(OfStep):
    """The step counts no more: it was not done, or not on this guitar. It stays in the
    history as struck; its operation is open again, and what it measured is measured again."""

    kind: ClassVar[str] = "strike"
    instrument_id: int
    seq: int

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def against(self, act: Act, now: State, one: Done) -> tuple[Finding, ...]:
        if _made_the_pair(self.instrument_id, self.seq):
            words = f"{one.operation} made the pair of {now.serial} and {now.neck}."
            return (stop("strike", words, "Break the pair instead."),)
        if AsBuilt.objects.filter(instrument_id=now.id, entry__seq__gte=self.seq).exists():
            words = f"{now.serial} is released, and {one.operation} stands in its record for good."
            return (stop("strike", words, "Add a remark to its row.", call=""),)
        return ()

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        now: State = ground.facts
        one = _done(now, self.seq)
        if one is None:
            return {}
        told = {"operation": one.operation, "by_then": one.by, "doubt": one.doubt}
        if not recorded:
            return told
        sheet = now.sheet.stop(one.operation)
        gone = now.readings.standing_for([(sheet.code, sheet.facts.gauges)] if sheet else [])
        values = [it for it in now.readings.values if it not in gone]
        after = _with_values(now, values)
        if sheet and sheet.facts.positions:
            after = replace(after.with_standing("positions", ()), placed_version=None)
        return told | _measures(after)

    @classmethod
    def follow(cls, row: Entry) -> None:
        why = f"struck: {row.reason}"[:LONGEST]
        _live(row, row.data["seq"]).update(void_at=row.at, void_why=why, struck=True)
        Instrument.objects.filter(pk=row.number).update(finished_at=None, **_kept_measures(row))


@dataclass(frozen=True, slots=True)
class TagsMixed(Deed):
    """The tags of two guitars hung on each other's, or may have, since some moment after
    ``since``, when they surely hung right: both wait for the lead, all recorded from then on
    is in doubt."""

    kind: ClassVar[str] = "mixed"
    instrument_id: int
    other_id: int
    since: datetime

    def plain(self) -> dict[str, Any]:
        return asdict(self) | {"since": self.since.isoformat()}

    def ground(self) -> Ground:
        """Both are held, the lower number first, whoever of the two is named first."""
        for number in sorted((self.instrument_id, self.other_id)):
            held(number)
        ground = held(self.instrument_id)
        ground.seen = held(self.other_id).facts
        return ground

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        both: tuple[State, State] = (ground.facts, ground.seen)
        now, other = both
        if now.id == other.id:
            words = f"{now.serial} is one guitar: its tag hung on another."
            return (stop("mixed", words, "Say which other guitar it was.", call=""),)
        if in_utc(self.since) > in_utc(act.at):
            words = f"Sure until {when_words(self.since, act.asking.at)}: that is still to come."
            return (stop("mixed", words, "Say when both tags hung right last.", call=""),)
        return tuple(it for one in both for it in ended(one))

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        other: State = ground.seen
        return {"other": other.serial}

    @classmethod
    def follow(cls, row: Entry) -> None:
        """What follows for each of the two has a row of its own in its journal."""

    def then(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> tuple[Deed, ...]:
        if not recorded:
            return ()
        now, other = ground.facts, ground.seen
        words = f"The tags of {now.serial} and {other.serial} were mixed up. Read both block marks."
        return (
            Doubted(now.id, self.since, OTHER_GUITAR),
            Doubted(other.id, self.since, OTHER_GUITAR),
            Frozen(now.id, words),
            Frozen(other.id, words),
        )


@dataclass(frozen=True, slots=True)
class Doubted(Deed):
    """Every step recorded from ``since`` on is to be confirmed, for what ``words`` say.

    What was measured since and belongs to no step yet is measured again; the tray is
    scanned and the posts are looked at again.
    """

    kind: ClassVar[str] = "doubted"
    instrument_id: int
    since: datetime
    words: str

    def plain(self) -> dict[str, Any]:
        return asdict(self) | {"since": self.since.isoformat()}

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        return ()

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        now: State = ground.facts
        rows = Step.objects.filter(instrument_id=now.id, entry__at__gte=self.since)
        since = set(rows.values_list("seq", flat=True))
        steps = [one for one in now.done if one.seq in since]
        after = replace(_measured_before(now, self.since, steps), placed_version=None)
        return {
            "doubts": [[one.seq, one.operation, _joined(one.doubt, self.words)] for one in steps],
            **_measures(after),
        }

    @classmethod
    def follow(cls, row: Entry) -> None:
        for seq, _, doubt in row.data["doubts"]:
            _live(row, seq).update(doubt=doubt)
        Instrument.objects.filter(pk=row.number).update(
            checked_version=None, checked_station="", checked_worst="", **_kept_measures(row)
        )


@dataclass(frozen=True, slots=True)
class Remarked(Deed):
    """A correction in words to an earlier row of the journal, which stays as it is."""

    kind: ClassVar[str] = "remark"
    instrument_id: int
    seq: int
    words: str

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def corrects(self) -> int | None:
        return _row_of(self.instrument_id, self.seq)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        if not 0 < self.seq <= now.seq:
            words = f"The journal of {now.serial} has no row {self.seq}."
            return (stop("remark", words, "Choose a row of its journal.", call=""),)
        if not (self.words.strip() or act.reason):
            words = f"Nothing is said about row {self.seq} of {now.serial} yet."
            return (stop("remark", words, "Say what it should tell.", call=""),)
        if len(self.words) > LONGEST:
            words = f"The remark has {len(self.words)} characters; {LONGEST} have room."
            return (stop("remark", words, "Say it shorter, or in two remarks.", call=""),)
        return ()

    @classmethod
    def follow(cls, row: Entry) -> None:
        """Words beside a row change nothing but what is read there."""


def _done(now: State, seq: int) -> Done | None:
    return next((one for one in now.done if one.seq == seq), None)


def _live(row: Entry, seq: int) -> Any:
    """The step that counts with this number on the instrument a row speaks of."""
    return Step.objects.filter(instrument_id=row.number, seq=seq, void_at__isnull=True)


def _row_of(instrument_id: int, seq: int) -> int | None:
    rows = Entry.objects.filter(instrument_id=instrument_id, seq=seq)
    return rows.values_list("pk", flat=True).first()


def _made_the_pair(instrument_id: int, seq: int) -> bool:
    rows = Entry.objects.filter(instrument_id=instrument_id, seq=seq)
    return any(said.get("pairs") for said in rows.values_list("data", flat=True))


def _joined(doubt: str, more: str) -> str:
    """Both doubts as one; the older alone where both have no room."""
    both = f"{doubt}; {more}" if doubt else more[:DOUBT]
    return both if len(both) <= DOUBT else doubt


def _measured_before(now: State, since: datetime, steps: Collection[Done]) -> State:
    """The instrument with what was in force before a moment in the place of what was measured
    since, but for what these steps stand for: that goes or stays with them."""
    rows = ReadingRow.objects.filter(instrument_id=now.id, at__gte=since)
    anew = set(rows.values_list("quantity", "place"))
    old = _in_force_before(now, since)
    sheets = [now.sheet.stop(one.operation) for one in steps]
    vouched = now.readings.standing_for([(one.code, one.facts.gauges) for one in sheets if one])
    values = []
    for one in now.readings.values:
        spot = (one.quantity, one.place)
        stays = spot not in anew or one in vouched
        values.append(one if stays else old.get(spot))
    return _with_values(now, [one for one in values if one])


def _in_force_before(now: State, since: datetime) -> dict[Spot, Reading]:
    """The readings that were in force before a moment, as the last row says that set them."""
    rows = Entry.objects.filter(
        instrument_id=now.id, outcome="recorded", at__lt=since, data__has_key="gauged"
    )
    said = rows.order_by("-seq").values_list("data", flat=True).first()
    kept = [Reading.of_row(one) for one in said["gauged"]] if said else []
    return {(one.quantity, one.place): one for one in kept}


def _with_values(now: State, values: Collection[Reading]) -> State:
    """The instrument with these readings in force and no others, and what they say of it."""
    if tuple(values) == now.readings.values:
        return now
    after = replace(now, gauged_kept=[one.row() for one in values])
    return after.with_standing("readings", judged(after))


def _measures(after: State) -> dict[str, Any]:
    gauged = [one.row() for one in after.readings.values]
    return {"gauged": gauged, "standing": after.kept_standing, "placed": after.placed_version}


def _kept_measures(row: Entry) -> dict[str, Any]:
    said = row.data
    return {
        "gauged": said["gauged"],
        "standing": said["standing"],
        "placed_version": said["placed"],
    }
