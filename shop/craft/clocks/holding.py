"""How the hold stands: a walk through all that happened since an instrument was cased.

What changes the instrument (a joint, a cut, its strings, a drop) begins the hold again or
asks for a last check, also once it had passed. What only lets it stand still (out of the
case, the room) counts while it runs: a hold that has passed is passed, and being out of the
case is then the work itself. Should it be begun again in the middle of such a span, what is
left of the span counts.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import datetime, timedelta
from enum import IntEnum
from heapq import heapify, heappop, heappush
from typing import Final

from shop.craft.clocks import spans
from shop.craft.clocks.spans import Kind, Span
from shop.craft.clocks.told import Air, Happening, Held, What
from shop.craft.when import in_utc, on_the_minute, span_words, when_words
from shop.craft.words import THIN

CHECK: Final = timedelta(hours=24)  # at least so long after one string or a small adjustment

AGAIN: Final = {
    What.GLUED: "Glued",
    What.RECUT: "Frets, neck, slot or nut redone",
    What.RESTRUNG: "All strings new or slack",
    What.DROPPED: "Dropped",
}
"""What begins the hold again, as it is told."""

CHECKED: Final = {What.STRING: "One string replaced", What.TRIMMED: "Saddle or rod adjusted"}
"""What asks for a last check of the hold, as it is told."""

SPANS: Final = {
    Kind.TOUCHED_UP: "Out of the case {long}for touch-up",
    Kind.OUT: "Out of the case {long}",
    Kind.ROOM: "Room {long}outside "
    f"{'-'.join(map(str, spans.RH_PCT))}{THIN}%RH or {'-'.join(map(str, spans.TEMP_C))}{THIN}°C",
    Kind.DANGER: f"Room {{long}}outside {'-'.join(map(str, spans.SAFE_RH_PCT))}{THIN}%RH",
}
"""What lets the hold stand still, as it is told, with how ``long`` it lasted."""

_MOST: Final = {
    Kind.TOUCHED_UP: spans.TOUCH_UP,
    Kind.OUT: spans.AWAY,
    Kind.DANGER: spans.DANGER,
}


class _Turn(IntEnum):
    """What goes first of what is at one moment."""

    END = 0
    CHANGE = 1
    BEGIN = 2


_Event = tuple[datetime, _Turn, int]


def hold(
    started: datetime,
    length: timedelta,
    happenings: Sequence[Happening],
    air: Sequence[Air],
    now: datetime,
    tell: Callable[[datetime], str] | None = None,
) -> Held:
    """The hold that began ``started`` and takes ``length``, with all that happened since.

    Neither happenings nor readings need be in order; a reading from before ``started`` tells
    how the room was then. ``tell`` says a moment in words; without it they are on the clock of
    ``now``, for who reads them now. Raises ``ValueError`` for a moment without a time zone.
    """
    return _Walk(started, length, happenings, air, now, tell).held()


class _Walk:
    """The hold as it stands after each thing that happened, one after another."""

    def __init__(
        self,
        started: datetime,
        length: timedelta,
        happenings: Iterable[Happening],
        air: Iterable[Air],
        now: datetime,
        tell: Callable[[datetime], str] | None,
    ) -> None:
        self._when = tell or (lambda moment: when_words(moment, now))
        self.start = in_utc(started)
        self.length = length
        self.checks: list[datetime] = []
        self.counted: list[Span] = []
        self.because: list[str] = []
        happened = sorted(happenings, key=lambda one: (_moment(one), one.what, one.cure))
        self.changes = [one for one in happened if one.what in AGAIN or one.what in CHECKED]
        self.spans = [
            *spans.out_of_the_case(happened, self.start, in_utc(now)),
            *spans.outside(air, self.start, in_utc(now)),
        ]
        # The wood does not know that the hold has passed: danger after it asks for the look too.
        self.crack_check = any(
            one.kind is Kind.DANGER and one.length > spans.DANGER for one in self.spans
        )
        self.touched_up = [one for one in self.spans if one.kind is Kind.TOUCHED_UP]

    def held(self) -> Held:
        events: list[_Event] = [
            *((_moment(one), _Turn.CHANGE, turn) for turn, one in enumerate(self.changes)),
            *((one.start, _Turn.BEGIN, turn) for turn, one in enumerate(self.spans)),
        ]
        heapify(events)
        while events:
            at, kind, turn = heappop(events)
            if kind is _Turn.CHANGE:
                self._change(self.changes[turn])
            elif kind is _Turn.END:
                self._end(self.spans[turn])
            elif (begin := self._running_from(self.spans[turn])) == at:
                self.counted.append(self.spans[turn])
                heappush(events, (self.spans[turn].end, _Turn.END, turn))
            elif begin is not None:
                self.spans[turn] = self.spans[turn].since(begin)
                heappush(events, (begin, _Turn.BEGIN, turn))
        halted = self._halted()
        still = spans.standing_still(self._pauses(self.counted), self.start)
        return Held(
            ready=None if halted else self._ready(self.counted),
            started=self.start,
            paused=sum((end - begin for begin, end in still), timedelta()),
            because=tuple(self.because),
            halted=halted,
            crack_check=self.crack_check,
        )

    def _change(self, one: Happening) -> None:
        at, before = _moment(one), self._ready(self.counted)
        if one.what in CHECKED:
            self.checks.append(at)
            if (ready := self._ready(self.counted)) > before:
                told = f"{CHECKED[one.what]} {self._when(at)}"
                self.because.append(f"{told}: not ready before {self._when(on_the_minute(ready))}.")
        elif at + one.cure > self.start:
            self.start = at + one.cure
            dry = f" {self._when(self.start)}, once it is dry" if one.cure else ""
            self.because.append(f"{AGAIN[one.what]} {self._when(at)}: {self._again}{dry}.")

    def _running_from(self, span: Span) -> datetime | None:
        """From when the hold runs during a span; ``None`` when it has passed throughout."""
        if self._ready(self.counted) > span.start:
            return span.start
        later = (at for one in self.changes if (at := _moment(one)) > span.start)
        return next((at for at in later if at < span.end or span.going_on), None)

    def _end(self, span: Span) -> None:
        if span.going_on:
            return
        if self._begins_again(span):
            told = f"{self._told(span)}, back {self._when(span.end)}: {self._again}."
            if span.end > self.start:
                self.start = span.end
                self.because.append(told)
            return
        # What it adds to all that began before it, so that shared hours are told once.
        place = self.counted.index(span)
        before, after = self._ready(self.counted[:place]), self._ready(self.counted[: place + 1])
        if after > before:
            told = f"{self._told(span)} from {self._when(span.start)}"
            self.because.append(f"{told}: ready {span_words(after - before)} later.")

    def _begins_again(self, span: Span) -> bool:
        """Whether the hold begins again after a span, and does not only go on."""
        if span.kind is Kind.ROOM:
            return self._room_in_all() > spans.ROOM_IN_ALL
        return self._net(span) > _MOST[span.kind]

    def _room_in_all(self) -> timedelta:
        """How long the room was outside since the start in force."""
        rooms = (one.since(self.start) for one in self.counted if one.kind is Kind.ROOM)
        return sum((one.length for one in rooms), timedelta())

    def _net(self, span: Span) -> timedelta:
        return spans.net(span, self.touched_up) if span.kind is Kind.OUT else span.length

    def _ready(self, counted: Sequence[Span]) -> datetime:
        pauses = self._pauses(counted)
        runs = [(self.start, self.length), *((at, CHECK) for at in self.checks)]
        return max(_passed(at, long, pauses) for at, long in runs)

    def _pauses(self, counted: Iterable[Span]) -> list[Span]:
        """The spans in which the hold stands still: danger is part of a room outside."""
        return [
            one
            for one in counted
            if one.kind is not Kind.DANGER
            and (one.kind is not Kind.OUT or self._net(one) >= spans.GLANCE)
        ]

    def _halted(self) -> str:
        """What keeps the hold from running now."""
        going_on = {one.kind: one for one in self.counted if one.going_on}
        out = going_on.get(Kind.TOUCHED_UP) or going_on.get(Kind.OUT)
        room, danger = going_on.get(Kind.ROOM), going_on.get(Kind.DANGER)
        if danger and self._begins_again(danger):
            room = danger
        return " ".join(self._halts(one) for one in (out, room) if one)

    def _halts(self, span: Span) -> str:
        again = self._begins_again(span)
        outcome = f"{self._again} once" if again else "the hold stands still until"
        since = f"{SPANS[span.kind].format(long='').strip()} since {self._when(span.began)}"
        return f"{since}: {outcome} it is back."

    def _told(self, span: Span) -> str:
        """A span that is over, with how long it lasted."""
        long = span_words(self._net(span))
        if span.kind is Kind.ROOM and self._begins_again(span):
            long = f"{span_words(self._room_in_all())} in all"
        return SPANS[span.kind].format(long=f"{long} ").strip()

    @property
    def _again(self) -> str:
        return f"the {span_words(self.length)} begin again"


def _moment(one: Happening) -> datetime:
    """When a happening had happened: at its end, where it has one."""
    return max(in_utc(one.at), in_utc(one.until or one.at))


def _passed(start: datetime, length: timedelta, pauses: Sequence[Span]) -> datetime:
    """When so much time has passed outside the pauses."""
    ready = start + length
    for begin, end in spans.standing_still(pauses, start):
        if begin >= ready:
            break
        ready += end - begin
    return ready
