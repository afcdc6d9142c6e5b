"""What a form can be printed of: the instruments, badges or bins to choose from, narrowed."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Final

from django.http import QueryDict
from django.utils.dateparse import parse_date
from django.utils.translation import gettext as _

from shop.catalogue import book
from shop.craft.needed import SHIFT
from shop.craft.when import in_utc
from shop.floor import board
from shop.floor.board import FloorRow, State
from shop.paper.forms import CHOICES, Form

LISTED: Final = 200  # rows to tick on one page; all of a longer list are printed by one tap
QUOTED: Final = 40  # characters of what was typed that are kept


@dataclass(frozen=True, slots=True)
class Row:
    """One to tick: its name, what it is, and what else helps to tell it from others."""

    name: str
    words: str
    more: str = ""


@dataclass(frozen=True, slots=True)
class Narrowed:
    """Which of them: the word that was tapped, and what it asks for beside."""

    which: str = "all"
    station: str = ""
    by: date | None = None
    words: str = ""

    @classmethod
    def of(cls, sent: QueryDict) -> Narrowed:
        """As an address says it; what is not known narrows nothing. A field that was filled
        in counts by itself: Enter in it is enough."""
        words = sent.get("words", "").replace("\0", "").strip()[:QUOTED]
        by = _day(sent.get("by", ""))
        station = sent.get("station", "")
        which = sent.get("which", "")
        if which == "words" and not words:
            which = ""  # Enter in the field for a day presses the key of the other
        if not which:
            which = "station" if station else "words" if words else "due" if by else ""
        if which not in WHICH or (which == "due" and by is None):
            which = "all"
        return cls(which, station, by, words)


WHICH: Final = ("all", "tomorrow", "today", "case", "station", "due", "words")


def _day(text: str) -> date | None:
    try:
        return parse_date(text)
    except ValueError:
        return None  # 31 February: no day at all


def next_work_day(now: datetime) -> date:
    """The day after this one on which the shop works."""
    morning = datetime.combine(now.date() + timedelta(days=1), time(), now.tzinfo)
    return SHIFT.opens(morning).date()


@dataclass(frozen=True, slots=True)
class Found:
    """The rows that were asked for. ``counts``: how many each word leaves, as far as that is
    known without asking further."""

    rows: list[Row]
    counts: Mapping[str, int]


def found(form: Form, narrowed: Narrowed, now: datetime) -> Found:
    """What this form can be of, narrowed; the same few statements for any number. ``now`` is
    on the shop's wall clock."""
    if form.subject == "instrument":
        return _instruments(narrowed, now)
    them = [Row(name, words) for name, words in CHOICES[form.subject]()]
    asked = narrowed.words.lower().split()
    said = [(one, f"{one.name} {one.words}".lower()) for one in them]
    return Found([one for one, words in said if all(word in words for word in asked)], {})


def named(form: Form, names: Sequence[str]) -> list[Row]:
    """Those of these names that there are, in their order."""
    if not names:
        return []
    if form.subject == "instrument":
        states = board.by_serials(names)
        return [_row(states[name]) for name in names if name in states]
    them = {name: Row(name, words) for name, words in CHOICES[form.subject]()}
    return [them[name] for name in names if name in them]


def _instruments(narrowed: Narrowed, now: datetime) -> Found:
    if narrowed.which == "station":
        name = dict(book.stations()).get(narrowed.station, "")
        there = [one for one in board.floor_list(now, now.date()) if one.station == name]
        return Found(_rows(there), {})
    if narrowed.which == "words":
        ends = board.serials(narrowed.words)
        return Found(_rows(board.by_serials(ends).values()), {})
    open_now = board.all_open()
    kept = {which: [one for one in open_now if fits(one)] for which, fits in _fits(now).items()}
    counts = {which: len(them) for which, them in kept.items()}
    if narrowed.which == "due":
        assert narrowed.by is not None  # else it narrows nothing
        return Found(_rows(one for one in open_now if one.due_on <= narrowed.by), counts)
    return Found(_rows(kept[narrowed.which]), counts)


def _fits(now: datetime) -> dict[str, Callable[[State], bool]]:
    today, tomorrow = now.date(), next_work_day(now)
    return {
        "all": lambda one: True,
        "tomorrow": lambda one: today < one.release_on <= tomorrow,
        "today": lambda one: one.release_on == today,
        "case": lambda one: _hold_passed(one, now),
    }


def _hold_passed(one: State, now: datetime) -> bool:
    """Whether its days in the case are over, and what comes after them is not done yet."""
    days = one.sheet.route.hold
    held = one.held(now)
    if days is None or held is None or days.after in one.done_codes:
        return False
    return held.ready is not None and held.ready <= in_utc(now)


def _rows(them: Iterable[State | FloorRow]) -> list[Row]:
    return [_row(one) for one in sorted(them, key=lambda one: (one.due_on, one.serial))]


def _row(one: State | FloorRow) -> Row:
    words = one.spec if isinstance(one, FloorRow) else one.sheet.spec.key
    more = [_("due %(due)s") % {"due": f"{one.due_on:%Y-%m-%d}"}]
    if one.urgent:
        more.append(_("urgent"))
    if one.order:
        more.append(_("order %(order)s") % {"order": one.order})
    return Row(one.serial, words, ", ".join(more))
