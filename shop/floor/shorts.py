"""What trays and benches still lack, by when it is needed, and when more of it comes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from typing import Final

from django.utils.timezone import localtime

from shop.catalogue import book
from shop.craft import needed as craft
from shop.craft.hardware import Article
from shop.craft.sharing import slipped_days
from shop.craft.when import in_utc, when_words
from shop.craft.words import several
from shop.floor import needs, states
from shop.floor.models import Entry, Instrument
from shop.floor.state import State, departures_of
from shop.stock import shelf
from shop.stock.shelf import Awaited, Coming

# The journal's words for a line that another tray got, and for one that got another's.
LOST: Final = "kit short"
COVERED: Final = "kit covered"


@dataclass(frozen=True, slots=True)
class Short:
    """Pieces of one item that an instrument lacks.

    ``line_id`` is its tray's line, 0 for what goes to the bench by batch. ``receipt`` is the
    earliest delivery that nobody who needs it sooner takes up, ``slips`` how long after
    ``needed_at`` that is there; both are empty where the pieces lie on the shelf unspoken for
    (``here``). ``lost_to`` is the urgent instrument, or those, that got what was kept for it.
    """

    item: Article
    item_id: int
    serial: str
    tray_code: str
    line_id: int
    quantity: int
    operation: str
    needed_at: datetime
    due_on: date
    urgent: bool
    receipt: Coming | None
    slips: timedelta
    why: str
    here: bool = False
    lost_to: str = ""

    @property
    def days(self) -> int:
        """By how many days of the calendar it slips."""
        if self.receipt is None:
            return 0
        return slipped_days(self.needed_at, craft.on_the_shelf(self.receipt.due_on, self.needed_at))

    @property
    def promised(self) -> bool:
        """Whether it is known from when on it is there."""
        return self.here or self.receipt is not None

    @property
    def slip_words(self) -> str:
        return slip_words(self.days) if self.promised else "nothing on order"


@dataclass(frozen=True, slots=True)
class Need:
    """So many of one item for one instrument, not in its tray or at its bench yet."""

    one: State
    line: Awaited | None  # none: it goes to the bench by batch
    item_id: int
    quantity: int
    operation: str
    needed_at: datetime

    @property
    def turn(self) -> tuple[datetime, date, str, int]:
        """Who needs it sooner goes first, not who ordered first."""
        return in_utc(self.needed_at), self.one.due_on, self.one.serial, self.item_id

    @property
    def covered(self) -> bool:
        return self.line is not None and self.line.lot_id is not None


@dataclass(slots=True)
class Shelves:
    """What is free and what is to come of some items, as it is spoken for one by one."""

    free: dict[int, list[int]] = field(default_factory=dict)  # of each lot
    receipts: dict[int, list[tuple[Coming, int]]] = field(default_factory=dict)

    @classmethod
    def of(cls, item_ids: Sequence[int]) -> Shelves:
        """Two statements for any number of items."""
        lots, coming = shelf.free_lots(item_ids), shelf.coming(item_ids)
        return cls(
            {item: [one.free for one in found] for item, found in lots.items()},
            {item: [(one, one.quantity) for one in found] for item, found in coming.items()},
        )

    def take(self, need: Need) -> bool:
        """Speak for free pieces: a tray's out of one lot, a batch out of any."""
        lots = self.free[need.item_id]
        if need.line is None:
            if sum(lots) < need.quantity:
                return False
            left = need.quantity
            for place, free in enumerate(lots):
                lots[place] -= min(free, left)
                left -= min(free, left)
            return True
        for place, free in enumerate(lots):
            if free >= need.quantity:
                lots[place] -= need.quantity
                return True
        return False

    def receipt(self, need: Need) -> Coming | None:
        """The earliest receipt that covers it, with those before it, spoken for."""
        left = need.quantity
        rows = self.receipts[need.item_id]
        if sum(more for _, more in rows) < left:
            return None
        for place, (coming, more) in enumerate(rows):
            rows[place] = coming, more - min(more, left)
            left -= min(more, left)
            if not left:
                return coming
        return None


def shorts(at: datetime) -> tuple[Short, ...]:
    """Everything that open instruments lack, what is needed first before the rest. The same
    few statements for any number."""
    now = localtime(at)
    bare = [one for one in open_needs(now) if not one.covered]
    return reckoned(bare, Shelves.of(sorted({one.item_id for one in bare})), now)


def lost(at: datetime) -> tuple[Short, ...]:
    """What another tray got and is not covered again; one statement where nothing is."""
    open_ones = Instrument.objects.filter(finished_at__isnull=True)
    rows = Entry.objects.filter(kind=LOST, outcome="recorded", instrument__in=open_ones)
    return tuple(one for one in shorts(at) if one.lost_to) if rows.exists() else ()


def reckoned(bare: Iterable[Need], shelves: Shelves, now: datetime) -> tuple[Short, ...]:
    """These needs, each with what of the shelves is not spoken for by one before it.

    What a bench fetches by itself out of what is free is not told.
    """
    in_turn = sorted(bare, key=lambda one: one.turn)
    articles = book.articles(sorted({one.item_id for one in in_turn}))
    lost = _lost(in_turn)
    rows = []
    for one in in_turn:
        here = shelves.take(one)
        if here and one.line is None:
            continue
        receipt = None if here else shelves.receipt(one)
        line_id = one.line.line_id if one.line else 0
        row = as_short(one, articles[one.item_id], receipt, now, here)
        rows.append(_told(row, lost.get(line_id, ""), one.line.held if one.line else "", now))
    return tuple(rows)


def open_needs(now: datetime) -> Iterator[Need]:
    """All that open instruments still want, whether it is kept for them or not.

    What an operation that is done would have used is wanted no more. A line that says no
    operation is needed on the release day.
    """
    them = _departed(states.all_open())
    lines: dict[int, list[Awaited]] = defaultdict(list)
    for line in shelf.awaited([one.tray_id for one in them]):
        lines[line.tray_id].append(line)
    for one in them:
        starts = needs.of(one, now)
        for line in lines[one.tray_id]:
            if (when := _needed(one, line.used_at, starts, now)) is not None:
                yield Need(one, line, line.item_id, line.quantity, line.used_at, when)
        for item in one.kit:
            if item.in_tray:
                continue
            if (when := _needed(one, item.used_at, starts, now)) is not None:
                yield Need(one, None, item.item_id, item.quantity, item.used_at, when)


def _needed(
    one: State, operation: str, starts: Mapping[str, datetime], now: datetime
) -> datetime | None:
    if operation and one.sheet.stop(operation):
        return starts.get(operation)
    return datetime.combine(one.release_on, craft.SHIFT.starts, now.tzinfo)


def _departed(them: list[State]) -> list[State]:
    """The same instruments, with where they depart from their specs read at once for all."""
    found = departures_of([one.id for one in them if one.deviations_count])
    return [replace(one, departed=found.get(one.id, ())) for one in them]


def _lost(bare: Iterable[Need]) -> dict[int, str]:
    """By its line who got what was kept for it, as the journal told last; one statement."""
    ids = {one.one.id for one in bare if one.line}
    rows = Entry.objects.filter(instrument_id__in=ids, kind__in=(LOST, COVERED))
    found: dict[int, str] = {}
    for kind, said in rows.filter(outcome="recorded").order_by("pk").values_list("kind", "data"):
        found[said["line_id"]] = said["got_by"] if kind == LOST else ""
    return found


def as_short(
    need: Need, article: Article, receipt: Coming | None, now: datetime, here: bool = False
) -> Short:
    """A need as it is told, were it covered by this receipt."""
    slips = timedelta()
    if receipt is not None:
        there = craft.on_the_shelf(receipt.due_on, now)
        slips = max(in_utc(there) - in_utc(need.needed_at), timedelta())
    return Short(
        item=article,
        item_id=need.item_id,
        serial=need.one.serial,
        tray_code=need.one.tray_code,
        line_id=need.line.line_id if need.line else 0,
        quantity=need.quantity,
        operation=need.operation,
        needed_at=need.needed_at,
        due_on=need.one.due_on,
        urgent=need.one.urgent,
        receipt=receipt,
        slips=slips,
        why="",
        here=here,
    )


def _told(one: Short, lost_to: str, held: str, now: datetime) -> Short:
    """The same with why it is short, in words."""
    lost = f"lost its {one.item.key} to {lost_to}, " if lost_to else ""
    words = " ".join(filter(None, (f"{lost}{dates_words(one, now)}", held)))
    return replace(one, lost_to=lost_to, why=words[:1].upper() + words[1:])


def dates_words(one: Short, now: datetime) -> str:
    """By when it is needed and from when more is there: the two dates that decide."""
    at = f" at {one.operation}" if one.operation else ""
    needed = f"needed {when_words(one.needed_at, now)}{at}"
    if one.here:
        return f"{needed}, free on the shelf now."
    if one.receipt is None:
        return f"{needed}, nothing more on order."
    return f"{needed}, next receipt {one.receipt.due_on}: {slip_words(one.days)}."


def slip_words(days: int) -> str:
    return f"slips {several(days, 'day')}" if days else "in time"
