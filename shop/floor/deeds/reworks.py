"""What was found wrong, its repair, and what is done again after it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any, ClassVar, Final

from shop.catalogue import book
from shop.craft import rework
from shop.craft.clocks import Happening, What
from shop.craft.finding import Finding, note, stop, warn
from shop.craft.inspecting.disposing import Disposition
from shop.craft.rework import LoopFacts
from shop.craft.start import Asking, may_start
from shop.craft.start import Rework as Facts
from shop.craft.when import in_utc, when_words
from shop.craft.words import THIN, listed
from shop.floor import course
from shop.floor.deeds import freezing
from shop.floor.deeds.deed import Act, Deed, Ground, held
from shop.floor.deeds.grading import ungraded_at_a_look
from shop.floor.deeds.loops import (
    DEFECT,
    FALL,
    LONGEST,
    REPAIR,
    again_of,
    pending,
    puts_down,
    send,
    sent,
)
from shop.floor.deeds.reopening import reopen, reopened, taken_again, told_again
from shop.floor.models import Defect, Entry, Instrument, Rework
from shop.floor.state import State

DEEPEST_MM: Final = Decimal(10)  # a fill deeper than this was mistyped
LONGEST_MIN: Final = 960  # of work on one repair: two shifts; common practice, no source
DROPPED: Final = "dropped"  # the loop after a fall, and its word


@dataclass(frozen=True, slots=True)
class DefectFound(Deed):
    """This is wrong with it, and this loop makes it good.

    ``word`` is the defect's one word, ``words`` where it is and how it looks; ``found_at``
    the operation or station it was found at, the phone's where nothing is said. ``depth_mm``
    counts where the repair dries by its depth.
    """

    kind: ClassVar[str] = DEFECT
    instrument_id: int
    word: str
    loop: str
    found_at: str = ""
    words: str = ""
    depth_mm: Decimal | None = None

    def plain(self) -> dict[str, Any]:
        depth = None if self.depth_mm is None else str(self.depth_mm)
        return asdict(self) | {"depth_mm": depth}

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        ground.seen = next((one for one in book.loops() if one.key == self.loop), None)
        stops = (
            *barred(now, act.asking, "ended"),
            *ungraded_at_a_look(now, act.asking),
            *self._said(now, known=ground.seen is not None),
            *wordy(self.words),
            *deep(self.depth_mm),
        )
        return stops or told(now, ground.seen, act.asking.at)

    def _said(self, now: State, *, known: bool) -> Iterator[Finding]:
        if not any(self.word in words for words in rework.WORDS.values()):
            words = f"{self.word or 'Nothing'} is no word for a defect."
            yield stop("defect", words, "Choose a word of the list.", call="")
        if not known:
            usual = rework.suggested(self.word)
            then = f"{self.word} usually leads to {usual[0]}." if usual else "Choose a loop."
            yield stop("loop", f"{self.loop or 'Nothing'} is no rework loop here.", then)
        yield from unknown_place(now, self.found_at)

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        if not recorded:
            return {}
        now: State = ground.facts
        loop: LoopFacts = ground.seen
        at = self.found_at or act.station
        by = ((at, act.by),)
        ground.after, settled = sent(now, act, loop, self.word, self.words, self.depth_mm, by)
        return settled | {"found_at": at} | {"family": _family(self.word, self.loop)}

    @classmethod
    def follow(cls, row: Entry) -> None:
        """It is decided as it is noted, and nobody grades it."""
        said = row.data
        Defect.objects.create(
            instrument_id=row.number,
            number=row.seq,
            family=said.get("family", ""),  # rows of old do not say
            word=said["word"],
            words=said["words"],
            found_at=said["found_at"],
            found_by_id=row.by_id,
            at=row.at,
            disposition=Disposition.REWORK.value,
            decided_at=row.at,
            decided_by_id=row.by_id,
            rework_id=send(row),
            entry=row,
        )


@dataclass(frozen=True, slots=True)
class Dropped(Deed):
    """It fell, or something fell on it. Anybody says so, and work on it stops."""

    kind: ClassVar[str] = FALL
    instrument_id: int
    words: str = ""

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        ground.seen = book.loop(DROPPED)
        stops = (*barred(now, act.asking, "ended"), *wordy(self.words))
        if stops or ground.seen:
            return stops or told(now, ground.seen, act.asking.at)
        return told_again(self._again(act, now))

    def _again(self, act: Act, now: State) -> tuple[str, ...]:
        """What is done again after it where no loop says so: the look at the end of its days."""
        if now.cased_at is None:
            return ()
        one = Happening(What.DROPPED, act.at)
        return taken_again(now, one, with_happening(now, one))

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        if not recorded:
            return {}
        now: State = ground.facts
        happened: dict[str, Any] = {}
        if now.cased_at is not None:
            now = with_happening(now, Happening(What.DROPPED, act.at))
            happened = {"happened": now.happened_kept}
        ground.after = now
        if ground.seen is None:
            if again := self._again(act, ground.facts):
                ground.after, opened = reopened(now, again, What.DROPPED)
                happened |= opened
            return happened
        ground.after, settled = sent(now, act, ground.seen, DROPPED, self.words)
        return settled | happened | {"found_at": act.station}

    @classmethod
    def follow(cls, row: Entry) -> None:
        if "happened" in row.data:
            happened = row.data["happened"]
            Instrument.objects.filter(pk=row.number).update(happened=happened)
        if "loop" in row.data:
            send(row)
        else:
            reopen(row)

    def then(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> tuple[Deed, ...]:
        """A workshop that has no loop for it still stops work on it at once."""
        if not recorded or ground.seen is not None:
            return ()
        said = f": {self.words}" if self.words else ""
        return (freezing.Frozen(self.instrument_id, f"Dropped{said}"),)


@dataclass(frozen=True, slots=True)
class RepairDone(Deed):
    """What the loop has to repair is repaired: from now on it dries, then goes on again.
    ``minutes`` of work it took, 0 where that is not told."""

    kind: ClassVar[str] = REPAIR
    instrument_id: int
    minutes: int = 0

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        if over := barred(now, act.asking, "ended"):
            return over
        if now.rework is None or now.rework.stage != "repair":
            words = f"{now.serial} waits for no repair."
            return (
                *barred(now, act.asking, "frozen"),
                stop("repair", words, "Report the defect first.", call=""),
            )
        ground.seen = pending(now.id)
        return (
            *barred(now, act.asking, "frozen"),
            *_long(self.minutes),
            *_at_its_station(now, ground.seen, act.station),
            *_learning(act.asking),
            *_in_its_case(now, act.asking.at),
        )

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        if not recorded:
            return {}
        now: State = ground.facts
        assert now.rework is not None  # refused otherwise
        dry_until = _dry_until(now.rework, ground.seen, act.at)
        facts = replace(now.rework, stage="redo", dry_until=dry_until)
        back = _nothing_left(now, facts, act.at)
        repairs = [
            *([one.operation, one.by, one.at.isoformat(), list(one.others)] for one in now.repairs),
            *([one["loop"], act.by, act.at.isoformat(), list(act.others)] for one in ground.seen),
        ]
        kept = {} if back else course.rework_row(facts)
        ground.after = replace(now, rework_kept=kept, repairs_kept=repairs)
        return {
            "loops": [one["loop"] for one in ground.seen],
            "rework": kept,
            "repairs": repairs,
            "dry_until": dry_until.isoformat() if dry_until else None,
            "back": back,
            "finished": back and _all_done(now),
        }

    @classmethod
    def follow(cls, row: Entry) -> None:
        said = row.data
        loops = Rework.objects.filter(instrument_id=row.number, closed_at__isnull=True)
        loops.update(
            repaired_at=row.at,
            repaired_by=row.who,
            dry_until=course.moment(said["dry_until"]) if said["dry_until"] else None,
            closed_at=row.at if said["back"] else None,
        )
        more = {"finished_at": row.at} if said["finished"] else {}
        Instrument.objects.filter(pk=row.number).update(
            rework=said["rework"], repairs=said["repairs"], **more
        )


# --- what stands against it ---


def barred(now: State, asking: Asking, *rules: str) -> tuple[Finding, ...]:
    """That it is ended or frozen, where these rules are asked for, in the words of any step."""
    found = may_start(now.stands(asking.at), "", asking)
    return tuple(one for one in found if one.rule in rules)


def wordy(words: str) -> Iterator[Finding]:
    if len(words) > LONGEST or not words.replace("\n", "").replace("\r", "").isprintable():
        said = f"What you saw has up to {LONGEST} letters and signs."
        yield stop("words", said, "Say it shorter.", call="")


def told(now: State, loop: LoopFacts, at: datetime) -> tuple[Finding, ...]:
    """What the loop brings with it, for whoever reported."""
    again = again_of(now, loop)
    where = f"{now.serial} goes to {loop.station}: {loop.work}" if loop.work else loop.title
    then = f"After that again: {listed(again)}." if again else ""
    found = [note("loop", where, then)]
    if (before := now.rework) is not None:
        since = when_words(before.since, at)
        words = f"{now.serial} is on a loop already since {since}: {before.words}."
        found.append(note("joined", words, "Both are repaired and checked as one."))
    if loop.unpairs:
        words = "Neck and body may come apart for good."
        found.append(note("unpairs", words, "The lead breaks the pair, nobody else.", call="lead"))
    if loop.keeps_hold and in_the_hold(now, at) and out_of_case(now) is None:
        words = "The days in the case stand still while it is out."
        found.append(note("case", words, "Open the case and note it."))
    if code := puts_down(now):
        assert now.open is not None
        found.append(note("put down", f"{code}, begun by {now.open.by}, is put down."))
    return tuple(found)


def _family(word: str, loop: str) -> str:
    """The family of a word by itself, or by the loop where several have it; "" where that does
    not tell either."""
    having = [family for family, words in rework.WORDS.items() if word in words]
    fits = [family for family in having if loop in rework.suggested(word, family)]
    return having[0] if len(having) == 1 else fits[0] if len(fits) == 1 else ""


def unknown_place(now: State, where: str) -> Iterator[Finding]:
    if where and now.sheet.stop(where) is None and where not in dict(book.stations()):
        words = f"{where} is neither a station nor an operation of {now.serial}."
        yield stop("found at", words, "Choose where it was found.", call="")


def deep(depth_mm: Decimal | None) -> Iterator[Finding]:
    if depth_mm is not None and not (depth_mm.is_finite() and 0 < depth_mm <= DEEPEST_MM):
        words = f"{depth_mm:.6g}{THIN}mm is no depth of a fill."
        then = f"Give more than 0 and at most {DEEPEST_MM}{THIN}mm."
        yield stop("depth", words, then, call="")


def _at_its_station(
    now: State, loops: tuple[dict[str, Any], ...], station: str
) -> Iterator[Finding]:
    places = {one["station_code"]: one["station"] for one in loops}
    if station not in places:
        named = listed(list(places.values()))
        yield stop(
            "station",
            f"The repair belongs to {named}; this phone is at {station or 'no station'}.",
            f"Take {now.serial} to {named}, or set your station.",
            call="",
        )


def _long(minutes: int) -> Iterator[Finding]:
    if not 0 <= minutes <= LONGEST_MIN:
        words = f"A repair takes 1 to {LONGEST_MIN} minutes of work, not {minutes}."
        yield stop("minutes", words, "Enter the minutes again, or leave them out.", call="")


def _learning(asking: Asking) -> Iterator[Finding]:
    if asking.who.learns and asking.signer is None:
        words = f"{asking.who.code} is learning: a trainer signs beside you."
        yield stop("beside", words, "Ask a trainer to sign beside you.")


def _in_its_case(now: State, at: datetime) -> Iterator[Finding]:
    """What is repaired is out of its case, and the days in it must not run on."""
    if in_the_hold(now, at) and out_of_case(now) is None:
        words = f"By the record {now.serial} is in its case."
        yield warn("case", words, "Open the case and note it, or say why it stayed shut.")


# --- the days in the case ---


def in_the_hold(now: State, at: datetime) -> bool:
    """Whether the days in its case still run, or would if it were in it."""
    held = now.held(at)
    return held is not None and (held.ready is None or held.ready > in_utc(at))


def out_of_case(now: State) -> Happening | None:
    """Its being out of the case, if it is out now and that was noted."""
    if now.cased_at is None:
        return None
    cased = in_utc(now.cased_at)
    kinds = (What.OUT, What.TOUCHED_UP)
    found = (one for one in now.happened if one.what in kinds and one.until is None)
    return next((one for one in found if in_utc(one.at) >= cased), None)


def with_happening(now: State, one: Happening) -> State:
    """The same instrument with one more that may move its hold."""
    happened = (*now.happened, one)
    return replace(now, happened_kept=[course.happening_row(it) for it in happened])


def _dry_until(before: Facts, loops: tuple[dict[str, Any], ...], at: datetime) -> datetime | None:
    """When the last of it is dry: what was repaired earlier may dry longer."""
    longest = max((one["dries_h"] for one in loops), default=0)
    ends = [
        *([in_utc(at) + timedelta(hours=longest)] if longest else []),
        *([in_utc(before.dry_until)] if before.dry_until else []),
    ]
    return max(ends, default=None)


def _nothing_left(now: State, loop: Facts, at: datetime) -> bool:
    """Whether a loop is behind it with its repair: nothing is done again, and it is dry. While
    it dries it stays on the loop, which keeps every step back; the next one closes it. Where no
    step is left, nothing waits for it to dry."""
    dry = loop.dry_until is None or in_utc(loop.dry_until) <= in_utc(at)
    return all(code in now.done_codes for code in loop.redo) and (dry or _all_done(now))


def _all_done(now: State) -> bool:
    return all(one.code in now.done_codes for one in now.sheet.stops)
