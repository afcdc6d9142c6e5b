"""The hold rack: its slots, and which case lies in which.

Where a case lies moves nothing in its days: they run on while it goes from slot to slot, in
its case (common practice, no source). A slot is free again once the instrument in it is
released or ended, or its case taken out.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from typing import Any, ClassVar, Final

from django.db.models import OuterRef, Subquery
from django.utils.timezone import localtime

from shop.craft.code import Kind
from shop.craft.finding import Finding, stop
from shop.craft.when import when_words
from shop.craft.words import listed, several
from shop.floor.deeds.deed import Act, Deed, Ground, held
from shop.floor.deeds.endings import ended, finished
from shop.floor.deeds.tags import unused
from shop.floor.models import Entry, Instrument, Slot
from shop.floor.state import State

RACK: Final = "hold rack"  # what rows of its slots speak of
MOST_SLOTS: Final = 999  # three figures stand on a label


@dataclass(frozen=True, slots=True)
class SlotsKept(Deed):
    """So many slots are put up after the last one; these are retired, those taken back into
    use."""

    kind: ClassVar[str] = "slots"
    up: int = 0
    retire: tuple[str, ...] = ()
    back: tuple[str, ...] = ()

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def ground(self) -> Ground:
        if self.retire:  # held, so that no case is put into one meanwhile
            list(Slot.objects.select_for_update().filter(code__in=self.retire))
        return Ground(RACK, facts=dict(Slot.objects.values_list("code", "retired")))

    def said_before(self, act: Act, ground: Ground) -> bool:
        retired: dict[str, bool] = ground.facts
        if self.up or not (self.retire or self.back):
            return False
        stands = [retired.get(code) is True for code in self.retire]
        return all((*stands, *(retired.get(code) is False for code in self.back)))

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        return tuple(self._wrong(ground.facts))

    def _wrong(self, retired: dict[str, bool]) -> Iterator[Finding]:
        named = (*self.retire, *self.back)
        if not self.up and not named:
            words = "No slot is put up, retired or taken back into use."
            yield stop("slots", words, "Say how many to put up, or choose slots.", call="")
        if self.up < 0 or len(retired) + self.up > MOST_SLOTS:
            words = f"{several(self.up, 'slot')} more cannot be: there are {len(retired)}."
            then = f"The rack takes up to {MOST_SLOTS}. Put up fewer."
            yield stop("slots", words, then, call="")
        for code in dict.fromkeys(named):
            if code not in retired:
                yield unknown(code)
        if both := [code for code in self.retire if code in self.back]:
            words = f"{listed(both)}: retired and taken back into use at once."
            yield stop("slots", words, "Choose one of the two.", call="")
        lie = Instrument.objects.filter(slot__in=self.retire).order_by("slot")
        for code, serial in lie.values_list("slot", "body__serial") if self.retire else ():
            words = f"The case of {serial} lies in slot {code}."
            yield stop("slot taken", words, "Move it to another slot first.", call="")

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        if not recorded or not self.up:
            return {}
        last = max((int(code.partition("-")[2]) for code in ground.facts), default=0)
        codes = (f"H-{number:03}" for number in range(last + 1, last + 1 + self.up))
        tags = unused(Kind.SLOT, self.up, Slot.objects.all(), "tag")
        return {"slots": [[code, tag] for code, tag in zip(codes, tags, strict=True)]}

    @classmethod
    def follow(cls, row: Entry) -> None:
        said = row.data
        Slot.objects.bulk_create(Slot(code=code, tag=tag) for code, tag in said.get("slots", ()))
        for codes, retired in ((said["retire"], True), (said["back"], False)):
            if codes:
                Slot.objects.filter(code__in=codes).update(retired=retired)


@dataclass(frozen=True, slots=True)
class Racked(Deed):
    """Its case lies in this slot of the hold rack from now on, put there or moved there from
    another. Its days run on."""

    kind: ClassVar[str] = "racked"
    instrument_id: int
    slot: str

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def ground(self) -> Ground:
        ground = held(self.instrument_id)
        # Held, so that nobody puts another case into it at the same moment, or retires it.
        ground.seen = Slot.objects.select_for_update().filter(code=self.slot).first()
        return ground

    def said_before(self, act: Act, ground: Ground) -> bool:
        now: State = ground.facts
        return bool(self.slot) and now.slot == self.slot

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        if against := ended(now) or finished(now) or _elsewhere(now) or _overtaken(now, act):
            return against
        return tuple(self._unfit(ground.seen, act))

    def _unfit(self, slot: Slot | None, act: Act) -> Iterator[Finding]:
        if slot is None:
            yield unknown(self.slot)
        elif slot.retired:
            words = f"Slot {slot.code} is retired: no case is put there."
            yield stop("slot", words, "Choose another slot.", call="")
        elif lies := _lies_in(slot.code):
            serial, since = lies
            when = when_words(since, localtime(act.at))
            words = f"The case of {serial} lies in slot {slot.code} since {when}."
            yield stop("slot taken", words, "Choose a free slot, or move that case first.", call="")

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        now: State = ground.facts
        if recorded:
            ground.after = replace(now, slot=self.slot)
        return {"from": now.slot}

    @classmethod
    def follow(cls, row: Entry) -> None:
        Instrument.objects.filter(pk=row.number).update(slot=row.data["slot"])


@dataclass(frozen=True, slots=True)
class Unracked(Deed):
    """Its case was taken out of its slot, which is free again."""

    kind: ClassVar[str] = "unracked"
    instrument_id: int

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        if now.slot:
            return _overtaken(now, act)
        words = f"{now.serial} lies in no slot of the hold rack."
        return (stop("slot", words, "Nothing to do.", call=""),)

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        now: State = ground.facts
        if recorded:
            ground.after = replace(now, slot="")
        return {"slot": now.slot}

    @classmethod
    def follow(cls, row: Entry) -> None:
        Instrument.objects.filter(pk=row.number).update(slot="")


def unknown(code: str) -> Finding:
    """That there is no such slot."""
    words = f"There is no slot {code} in the hold rack." if code else "No slot was chosen."
    return stop("slot", words, "Scan the label of the slot, or choose one of the list.", call="")


def _elsewhere(now: State) -> tuple[Finding, ...]:
    """Why it does not belong in the rack: its days in the case did not begin, or are behind
    it."""
    if now.cased_at is None:
        words = f"{now.serial} is not cased yet: what lies in the hold rack is."
        return (stop("uncased", words, "Record that it is cased first.", call=""),)
    if now.sheet.route.leaves_rack in now.done_codes:
        words = f"{now.serial} has left the hold rack: its days in the case are behind it."
        return (stop("released", words, "Take it on to what comes next.", call=""),)
    return ()


def _overtaken(now: State, act: Act) -> tuple[Finding, ...]:
    """What a phone kept, and another overtook: the case was moved since the tap, and lies where
    that one said."""
    if act.sending is None or not act.sending.tapped.kept:
        return ()
    rows = Entry.objects.filter(instrument_id=now.id, outcome="recorded", at__gt=act.at)
    moved = rows.filter(kind__in=(Racked.kind, Unracked.kind)).order_by("-seq")
    if (since := moved.values_list("at", flat=True).first()) is None:
        return ()
    local = localtime(act.sending.received_at)
    tapped, later = when_words(act.at, local), when_words(since, local)
    words = f"Tapped {tapped}, but the case of {now.serial} was taken out of its slot {later}."
    if now.slot:
        words = (
            f"Tapped {tapped}, but the case of {now.serial} lies in slot {now.slot} since {later}."
        )
    return (stop("slot", words, "Look where it lies, and scan that slot.", call=""),)


def _lies_in(code: str) -> tuple[str, datetime] | None:
    """The serial of the instrument whose case lies in a slot, and since when it does."""
    put = Entry.objects.filter(instrument=OuterRef("pk"), kind=Racked.kind, outcome="recorded")
    since = Subquery(put.order_by("-seq").values("at")[:1])
    its = Instrument.objects.filter(slot=code).annotate(since=since)
    return its.values_list("body__serial", "since").first()
