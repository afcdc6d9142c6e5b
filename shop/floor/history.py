"""An instrument's history: its journal told row by row, newest first, a page at a time."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from shop.catalogue import book
from shop.craft import gauging, looks
from shop.craft.finding import Severity
from shop.craft.looks import Entered, Look, Spot
from shop.craft.start import Asking
from shop.floor import areas
from shop.floor.models import Entry, Instrument, Tag
from shop.floor.state import State
from shop.floor.telling import GROUPS, Names, Told, kinds_of, told

PAGE = 50  # rows
DIGITS = 9  # of a row's number: no journal is longer

BARE = frozenset({"step", "start", "join", "taken"})  # these tell of work, not of what was seen


@dataclass(frozen=True, slots=True)
class History:
    """A page of the journal. ``kept`` rows of it are kept back from who asks, until they have
    entered their own; ``earlier`` is the row to go on before, ``None`` on the last page."""

    rows: tuple[Told, ...]
    group: str = ""
    kept: int = 0
    earlier: int | None = None


def asked(now: State, asking: Asking, sent: Mapping[str, str]) -> History:
    """The page that an address asks for by ``group`` and ``before``; what it names that does
    not exist is left out."""
    before = sent.get("before", "")
    group = sent.get("group", "")
    return history(
        now,
        asking,
        group=group if group in GROUPS else "",
        before_seq=int(before)
        if before.isascii() and before.isdecimal() and len(before) <= DIGITS
        else None,
    )


def history(
    now: State, asking: Asking, group: str = "", before_seq: int | None = None, count: int = PAGE
) -> History:
    """What happened to an instrument, newest first, of one group or of all: so many rows
    before ``before_seq``, as they may be seen by whoever asks."""
    found = Entry.objects.filter(instrument_id=now.id).select_related("corrects").order_by("-seq")
    if kinds := kinds_of(group):
        found = found.filter(kind__in=kinds)
    if before_seq is not None:
        found = found.filter(seq__lt=before_seq)
    rows = list(found[: count + 1])
    shown = rows[:count]
    kept = _kept_back(now, asking)
    seen = [row for row in shown if kept is None or not kept.has(row)]
    names = _names(now, seen)
    return History(
        rows=tuple(told(row, names) for row in seen),
        group=group,
        kept=len(shown) - len(seen),
        earlier=shown[-1].seq if len(rows) > count else None,
    )


def with_fresh_eyes(now: State, asking: Asking) -> State:
    """The instrument as whoever asks may see it: without what the first look measured, while
    they could still take the second, wherever they have not measured themselves."""
    spots = values_kept(now, asking)
    return now.without_readings_at(spots) if spots else now


def values_kept(now: State, asking: Asking) -> frozenset[Spot]:
    """Where the first look's values are kept back from whoever asks."""
    kept = _kept_back(now, asking)
    return kept.spots if kept else frozenset()


def look_of(now: State, asking: Asking) -> Look | None:
    """The second look that whoever asks could still take, before their own is entered."""
    kept = _kept_back(now, asking)
    return None if kept is None or kept.entered else kept.look


@dataclass(frozen=True, slots=True)
class _KeptBack:
    """What is kept back from whoever could still take the second look: all of the first, until
    they have ``entered`` their own, which is every area where the look asks for the checklist;
    then its values at ``spots`` alone, and what others were told of them at the second."""

    look: Look
    entered: bool
    spots: frozenset[Spot]

    def has(self, row: Entry) -> bool:
        """Whether a row is kept back, itself or as a word on one that is."""
        return self._has(row) or bool(row.corrects and self._has(row.corrects))

    def _has(self, row: Entry) -> bool:
        told = _entered(row)
        if (not self.entered or self.spots) and self.look.repeats(told):
            return True
        shown = self.entered and self.spots.isdisjoint(_spots(row))
        return not shown and self.look.keeps(told)


def _kept_back(now: State, asking: Asking) -> _KeptBack | None:
    look = looks.still_to_take(now.sheet.route, now.done, asking, now.decided)
    if look is None:
        return None
    if look.since is None:
        return _KeptBack(look, entered=False, spots=_of_others(now, look))
    rows = Entry.objects.filter(
        instrument_id=now.id, outcome="recorded", kind__in=looks.ENTERED, seq__gt=look.since
    )
    own = [row for row in rows if look.is_own(_entered(row))]
    measured = {spot for row in own for spot in _spots(row)}
    in_force = {
        (one.quantity, one.place) for one in now.readings.values if one.answers(look.second.code)
    }
    first = {
        (quantity.key, place.key)
        for quantity, places in gauging.asked(now.sheet.spec, look.first.gauges)
        for place in places
    }
    entered = bool(own) and _is_looked_at(now, look)
    spots = look.hides(first, measured & in_force, entered=entered)
    return _KeptBack(look, entered=entered, spots=spots)


def _is_looked_at(now: State, look: Look) -> bool:
    """Whether the second look has been over the whole instrument, where it asks for that: a
    first value of its own must not open the first look's list."""
    looked = areas.area_looks(now, look.second.code) if look.second.checklist else None
    return looked is None or looked.next is None


def _of_others(now: State, look: Look) -> frozenset[Spot]:
    """Where the first look, not recorded yet, has measured already, but for what whoever asks
    measured there themselves: they may be taking it."""
    first = look.first
    taken = {
        (one.quantity, one.place)
        for one in now.readings.values
        if one.quantity in first.gauges and one.answers(first.code)
    }
    if not taken:
        return frozenset()
    rows = Entry.objects.filter(instrument_id=now.id, outcome="recorded", kind="readings")
    newest = {spot: row for row in rows.order_by("seq") for spot in _spots(row)}
    own = {spot for spot, row in newest.items() if look.who in _entered(row).hands}
    return frozenset(taken - own)


def _spots(row: Entry) -> set[Spot]:
    """Where the values were measured that a row tells of, taken or refused."""
    return {(one[0], one[1]) for one in row.data["entered"]} if row.kind == "readings" else set()


def _entered(row: Entry) -> Entered:
    said: dict[str, Any] = row.data
    places = {row.station, said.get("operation"), said.get("found_at")}
    return Entered(
        kind=row.kind,
        hands=tuple(one for one in (row.who, row.beside) if one),
        places=frozenset(one for one in places if one),
        seq=row.seq,
        bare=row.kind in BARE and not (row.reason or _judged(row)),
        rules=frozenset(one["rule"] for one in row.findings),
    )


def _judged(row: Entry) -> bool:
    """Whether more stood against it than what is only noted."""
    return any(one["severity"] != Severity.NOTE for one in row.findings)


def _names(now: State, rows: Iterable[Entry]) -> Names:
    """The names these rows need; of the tags they speak of, one statement for all."""
    codes = {row.data["neck_code"] for row in rows if row.data.get("neck_code")}
    necks = Tag.objects.filter(code__in=codes, neck__isnull=False) if codes else Tag.objects.none()
    stops = now.sheet.stops
    return Names(
        operations={one.code: one.facts.name for one in stops},
        stations={one.station_code: one.facts.station for one in stops} | dict(book.stations()),
        parts=dict(necks.values_list("code", "neck__serial")),
        tray=now.tray_code,
        spec=now.sheet.spec,
    )


def serials(words: str, most: int = 20) -> list[str]:
    """The instruments whose serial ends so, finished and scrapped ones too; one that is the
    whole serial stands alone."""
    text = words.strip().upper()
    if not text or "\0" in text:  # PostgreSQL takes no NUL in a text
        return []
    found = Instrument.objects.filter(body__serial__endswith=text).order_by("body__serial")
    ends = list(found.values_list("body__serial", flat=True)[:most])
    return [text] if text in ends else ends


def serial_of(code: str) -> str | None:
    """The instrument that this tag hung on, live or void, whose tray carries this code, or of
    which it was printed."""
    body = Instrument.objects.filter(body__tags__code=code)
    neck = Instrument.objects.filter(neck__tags__code=code)
    pair = Instrument.objects.filter(pairs__neck__tags__code=code).order_by("-pairs__made_at")
    tray = Instrument.objects.filter(tray__code=code)
    paper = Instrument.objects.filter(prints__code=code)
    for found in (body, neck, pair, tray, paper):
        if serial := found.values_list("body__serial", flat=True).first():
            return str(serial)
    return None
