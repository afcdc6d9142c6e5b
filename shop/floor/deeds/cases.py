"""The case and what happens in the days of the hold."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from datetime import datetime, timedelta
from typing import Any, ClassVar, Final

from django.utils.timezone import localtime

from shop.craft.clocks import Happening, What
from shop.craft.clocks.spans import GLANCE
from shop.craft.finding import Finding, stop, warn
from shop.craft.when import in_utc, span_words, when_words
from shop.craft.words import listed, several
from shop.floor import course
from shop.floor.deeds.deed import Act, Deed, Ground, held
from shop.floor.deeds.loops import sent_on
from shop.floor.deeds.reopening import (
    ANEW,
    looked_too_soon,
    reopen,
    reopened,
    taken_again,
    told_again,
)
from shop.floor.deeds.reworks import barred, out_of_case, with_happening
from shop.floor.models import Entry, Instrument
from shop.floor.state import State, air_since

REPORTED: Final = (
    What.RESTRUNG, What.STRING, What.TRIMMED, What.RACK, What.GLUED, What.RECUT,
)  # fmt: skip
"""What somebody may say has happened; the rest is told by deeds of its own."""

MOST_CURE_H: Final = 24 * 14  # a joint is dry after two weeks whatever it was glued with
MOST_LONGER_H: Final = 24 * 30  # more was mistyped


@dataclass(frozen=True, slots=True)
class CaseOpened(Deed):
    """It is out of its case; with ``touch_up`` for its finish, the strings left at pitch. Told
    by a phone that had no network, it may have been so before its look."""

    kind: ClassVar[str] = "case open"
    instrument_id: int
    touch_up: bool = False

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        if against := (*barred(now, act.asking, "ended"), *_uncased(now)):
            return against
        if (out := out_of_case(now)) is not None:
            words = f"{now.serial} is out of its case since {_when(out.at, act)}."
            return (stop("case", words, "Nothing to do.", call=""),)
        if self.touch_up and not _keeps_hold(now):
            words = f"{now.serial} has no rework open that leaves its strings at pitch."
            then = "Report the defect first, or say that it is out for something else."
            return (stop("touch-up", words, then, call=""),)
        return told_again(looked_too_soon(now, self._after(act, now)))

    def _after(self, act: Act, now: State) -> State:
        what = What.TOUCHED_UP if self.touch_up else What.OUT
        return with_happening(now, Happening(what, act.at))

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        if not recorded:
            return {}
        return _settled_too_soon(ground, self._after(act, ground.facts))

    @classmethod
    def follow(cls, row: Entry) -> None:
        _follow(row)
        reopen(row)


@dataclass(frozen=True, slots=True)
class CaseShut(Deed):
    """It is back in its case. ``out_since``: since when it was out, where nobody noted that. The
    look is taken again where its days were not over at it, as is known only now."""

    kind: ClassVar[str] = "case shut"
    instrument_id: int
    out_since: datetime | None = None

    def plain(self) -> dict[str, Any]:
        since = self.out_since.isoformat() if self.out_since else None
        return asdict(self) | {"out_since": since}

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        if against := (*barred(now, act.asking, "ended"), *_uncased(now)):
            return against
        out = out_of_case(now)
        if self.out_since is None and out is None:
            words = f"Nobody noted that {now.serial} was out of its case."
            return (stop("case", words, "Say since when it was out.", call=""),)
        if self.out_since is not None and out is not None:
            words = f"{now.serial} is out of its case since {_when(out.at, act)}: that is noted."
            return (stop("case", words, "Shut it without saying since when.", call=""),)
        if self.out_since is not None and (
            wrong := tuple(_impossible(now, "Out of its case since", self.out_since, act))
        ):
            return wrong
        again = looked_too_soon(now, self._after(act, now))
        return (*self._unexplained(out, act), *told_again(again))

    def _after(self, act: Act, now: State) -> State:
        out = out_of_case(now)
        if out is None:
            assert self.out_since is not None  # refused otherwise
            return with_happening(now, Happening(What.OUT, self.out_since, act.at))
        happened = [replace(one, until=act.at) if one is out else one for one in now.happened]
        rows = [course.happening_row(one) for one in happened]
        return replace(now, happened_kept=rows)

    def _unexplained(self, out: Happening | None, act: Act) -> Iterator[Finding]:
        """A touch-up has its card to say why; for the rest somebody has to."""
        since = self.out_since or (out.at if out else act.at)
        long = in_utc(act.at) - in_utc(since)
        card = out is not None and out.what is What.TOUCHED_UP
        if self.out_since is not None or (long >= GLANCE and not card):
            words = f"It was out of its case for {span_words(long)}."
            yield warn("case", words, "Say why it was out.")

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        if not recorded:
            return {}
        return _settled_too_soon(ground, self._after(act, ground.facts))

    @classmethod
    def follow(cls, row: Entry) -> None:
        _follow(row)
        reopen(row)


@dataclass(frozen=True, slots=True)
class Happened(Deed):
    """Something happened to it in the days of its hold, now or ``at`` an earlier moment. The
    look that ended them is taken again where it moves their clock.

    ``what`` is a value of ``What``; ``cure_h``: so many hours a new joint dries first.
    """

    kind: ClassVar[str] = "happened"
    instrument_id: int
    what: str
    at: datetime | None = None
    cure_h: int = 0

    def plain(self) -> dict[str, Any]:
        return asdict(self) | {"at": self.at.isoformat() if self.at else None}

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        if against := (*barred(now, act.asking, "ended"), *_uncased(now)):
            return against
        if self.what not in REPORTED:
            words = f"{self.what or 'Nothing'} is nothing that is noted for the hold."
            return (stop("happened", words, f"It can be: {listed(REPORTED)}.", call=""),)
        stops = (
            *(_impossible(now, f"{self.what} at", self.at, act) if self.at else ()),
            *self._dries(),
        )
        return stops or told_again(self._again(act, now))

    def _one(self, act: Act) -> Happening:
        return Happening(What(self.what), self.at or act.at, cure=timedelta(hours=self.cure_h))

    def _again(self, act: Act, now: State) -> tuple[str, ...]:
        one = self._one(act)
        return taken_again(now, one, with_happening(now, one))

    def _dries(self) -> Iterator[Finding]:
        if self.cure_h and self.what != What.GLUED:
            yield stop("cure", f"{self.what}: nothing has to dry.", "Give 0 hours.", call="")
        elif not 0 <= self.cure_h <= MOST_CURE_H:
            words = f"{several(self.cure_h, 'hour')} is no time for a joint to dry."
            yield stop("cure", words, f"Give 0 to {MOST_CURE_H} hours.", call="")

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        if not recorded:
            return {}
        now: State = ground.facts
        again = self._again(act, now)
        after = with_happening(now, self._one(act))
        if not again:
            return _settled(ground, after)
        after, opened = reopened(after, again, self.what)
        return _settled(ground, after) | opened

    @classmethod
    def follow(cls, row: Entry) -> None:
        _follow(row)
        reopen(row)


@dataclass(frozen=True, slots=True)
class WaitLengthened(Deed):
    """The lead lets a wait of this instrument take so many hours more. It is never shortened. A
    look that was taken before its longer days in the case were over is taken again."""

    kind: ClassVar[str] = "longer"
    instrument_id: int
    clock: str
    hours: int

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def ground(self) -> Ground:
        return held(self.instrument_id)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        if against := barred(now, act.asking, "ended"):
            return against
        stops = (*self._known(now), *self._fair(now), *self._reason(act))
        return stops or told_again(self._again(now))

    def lengthened(self, now: State) -> State:
        """The instrument with the longer wait."""
        hours = {clock: int(one / timedelta(hours=1)) for clock, one in now.longer.items()}
        longer = hours | {self.clock: hours.get(self.clock, 0) + self.hours}
        return replace(now, longer_kept=longer)

    def _again(self, now: State) -> tuple[str, ...]:
        return looked_too_soon(now, self.lengthened(now))

    def _known(self, now: State) -> Iterator[Finding]:
        clocks = list(dict.fromkeys(one.clock for one in now.sheet.route.precedences if one.clock))
        if self.clock not in clocks:
            words = f"{self.clock or 'Nothing'} is no wait of {now.serial}."
            then = f"Choose one: {listed(clocks)}." if clocks else "Its route has none."
            yield stop("clock", words, then, call="")

    def _fair(self, now: State) -> Iterator[Finding]:
        before = int(now.longer.get(self.clock, timedelta()) / timedelta(hours=1))
        if self.hours < 1:
            words = f"{self.hours} h more: a wait is made longer, never shorter."
            yield stop("hours", words, "Give 1 whole hour or more.", call="")
        elif before + self.hours > MOST_LONGER_H:
            words = (
                f"That makes it {before + self.hours} h longer in all: {MOST_LONGER_H} h is most."
            )
            yield stop("hours", words, f"It is {before} h longer by now. Give less.", call="")

    def _reason(self, act: Act) -> Iterator[Finding]:
        if not act.reason:
            yield stop("reason", "A wait is made longer for a reason.", "Say why.", call="")

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        if not recorded:
            return {}
        now: State = ground.facts
        again, after = self._again(now), self.lengthened(now)
        opened: dict[str, Any] = {}
        if again:
            after, opened = reopened(after, again, "longer")
        ground.after = after
        return {"longer": after.longer_kept} | opened

    @classmethod
    def follow(cls, row: Entry) -> None:
        longer = row.data["longer"]
        Instrument.objects.filter(pk=row.number).update(longer=longer)
        reopen(row)


def again_if(now: State, what: What, at: datetime) -> tuple[str, ...]:
    """What would be done again if this happened now, told before it is confirmed; a sentence
    each. ``at`` is on the shop's wall clock."""
    one = Happening(what, at)
    again = taken_again(now, one, with_happening(now, one)) if now.cased_at else ()
    return _said_again(again)


def again_if_out(now: State, since: datetime, at: datetime) -> tuple[str, ...]:
    """The same if it was out of its case ``since`` then, and nobody noted it."""
    if now.cased_at is None:
        return ()
    after = with_happening(now, Happening(What.OUT, since, at))
    return _said_again(looked_too_soon(now, after))


def again_if_longer(now: State, clock: str) -> tuple[int, tuple[str, ...]]:
    """The same if the lead let this wait take more hours, and from how many hours on. 0 where
    no more of them have it done again."""
    if now.cased_at is None:
        return 0, ()
    known = replace(now, air=air_since(now.cased_at))  # asked of the room once, not each time

    def again(hours: int) -> tuple[str, ...]:
        after = WaitLengthened(now.id, clock, hours).lengthened(known)
        return looked_too_soon(known, after)

    hours = bisect_left(range(MOST_LONGER_H), True, key=lambda more: bool(again(more + 1))) + 1
    return (hours, _said_again(again(hours))) if hours <= MOST_LONGER_H else (0, ())


def _said_again(again: tuple[str, ...]) -> tuple[str, ...]:
    return (f"After that again: {listed(again)}.", ANEW) if again else ()


def _settled_too_soon(ground: Ground, after: State) -> dict[str, Any]:
    again = looked_too_soon(ground.facts, after)
    if not again:
        return _settled(ground, after)
    after, opened = reopened(after, again, What.OUT)
    return _settled(ground, after) | opened


def _settled(ground: Ground, after: State) -> dict[str, Any]:
    ground.after = after
    return {"happened": after.happened_kept}


def _follow(row: Entry) -> None:
    happened = row.data["happened"]
    Instrument.objects.filter(pk=row.number).update(happened=happened)


def _keeps_hold(now: State) -> bool:
    """Whether it is on a loop, and on none that touches strings or joints."""
    return now.rework is not None and all(one["keeps_hold"] for one in sent_on(now.id))


def _uncased(now: State) -> tuple[Finding, ...]:
    if now.cased_at is not None:
        return ()
    words = f"{now.serial} is not in the days of its hold: it was not cased yet."
    return (stop("uncased", words, "Nothing to note here.", call=""),)


def _impossible(now: State, said: str, moment: datetime, act: Act) -> Iterator[Finding]:
    assert now.cased_at is not None  # asked before
    words = f"{said} {_when(moment, act)}:"
    if in_utc(moment) > in_utc(act.at):
        yield stop("moment", f"{words} that is still to come.", "Say when it was.", call="")
    elif in_utc(moment) < in_utc(now.cased_at):
        cased = f"it was cased only {_when(now.cased_at, act)}."
        yield stop("moment", f"{words} {cased}", "Say when it was.", call="")


def _when(moment: datetime, act: Act) -> str:
    return when_words(moment, localtime(act.at))
