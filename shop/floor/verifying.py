"""Going over the journal: is every row there, in its place, and as it was written?

Rows are read in the order they were written, a page at a time, and of each chain only its end
is remembered. A row is judged after the link that the row before it carries, whatever that
one looks like: one altered row is one finding, and not one for each row after it.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, Final, NamedTuple

from django.db import connection, transaction
from django.utils.timezone import localtime

from shop.database.statement import Statement
from shop.floor import chain
from shop.floor.models import Entry, Instrument, Loose

PAGE: Final = 2000  # rows
COLUMNS: Final = (
    "id",
    *dict.fromkeys(name for one in chain.FIELDS.values() for name in one),
    "link",
)
# What can be read of a row that holds what no row can hold.
BARE: Final = ("id", "instrument_id", "seq", "subject", "kind", "who", "link")

_PAGE = Statement(
    lambda after: Entry.objects.filter(pk__gt=after).order_by("pk").values_list(*COLUMNS)[:PAGE],
    int,
)
_ROW = Statement(lambda pk: Entry.objects.filter(pk=pk).values_list(*COLUMNS), int)
_CHAIN = Statement(
    lambda pk: Entry.objects.filter(instrument_id=pk).order_by("pk").values_list(*COLUMNS), int
)

Row = dict[str, Any]

_out_of = json.JSONDecoder().raw_decode


class Seal(NamedTuple):
    """All links up to a row as one sign: kept apart, it tells a journal that was written anew
    as a whole."""

    row: int
    sign: str


@dataclass(frozen=True, slots=True)
class Told:
    """What going over the journal came to. ``wrong`` counts what was said on the way."""

    rows: int
    chains: int
    wrong: int
    seal: Seal


class End(NamedTuple):
    """A chain as far as it was read."""

    seq: int
    link: str


START: Final = End(0, "")


def verify(
    say: Callable[[str], None],
    kept: Seal | None = None,
    on_the_way: Callable[[int], None] = lambda rows: None,
) -> Told:
    """Go over the whole journal and ``say`` each thing that is not as it was written.

    ``kept``: an earlier seal that is to hold still. ``on_the_way`` hears after each page how
    many rows were read.
    """
    look = _Look(say, kept)
    with _at_one_moment():
        for page in _pages():
            for said in page:
                look.at(said)
            on_the_way(look.rows)
        look.at_the_ends()
    return Told(look.rows, look.chains, look.wrong, Seal(look.last, look.sign()))


@dataclass(frozen=True, slots=True)
class Proof:
    """The chain of one instrument gone over: how many rows it has and the link of the last,
    and what is wrong with it, a sentence each."""

    rows: int
    link: str
    wrong: tuple[str, ...]


def proof(instrument_id: int) -> Proof:
    """Go over the rows of one instrument and say what is not as it was written. What stands in
    other chains, and that nothing was rewritten as a whole, only ``verify`` with its seal can
    tell. The rows and the end that is kept of them are of one moment."""
    wrong: list[str] = []
    look = _Look(wrong.append, None)
    with _at_one_moment(sealed=False):
        for said in _rows_of(instrument_id):
            look.at(said)
        look.at_the_end_of(instrument_id)
        ends = Instrument.objects.filter(pk=instrument_id).values_list("seq", "link")
        kept = ends.first() or START
    return Proof(look.rows, kept[1], tuple(wrong))


def _rows_of(instrument_id: int) -> list[Row]:
    try:
        return [_whole(row) for row in _CHAIN.rows(instrument_id)]
    except ValueError:  # something in it cannot be read
        numbers = Entry.objects.filter(instrument_id=instrument_id).order_by("pk")
        return [_bare(number) for number in numbers.values_list("pk", flat=True)]


def grouped(count: int) -> str:
    """A count of many as it is read.

    >>> grouped(1000000)
    '1 000 000'
    """
    return f"{count:,}".replace(",", " ")


class _Look:
    """One look over the journal."""

    def __init__(self, say: Callable[[str], None], kept: Seal | None) -> None:
        self._say = say
        self._kept = kept
        self._links = hashlib.sha256()
        # Of a chain that goes on as it should one end, else two: where it may go on from.
        self._ends: dict[int | None, tuple[End, ...]] = {}
        self.rows = self.last = self.wrong = self.chains = 0

    def at(self, said: Row) -> None:
        """The next row in the order they were written."""
        if self._kept and said["id"] > self._kept.row:
            self._compare_seals()
        self.rows += 1
        self.last = said["id"]
        self._links.update(said["link"].encode())
        ends = self._ends.get(said["instrument_id"], (START,))
        wrong, self._ends[said["instrument_id"]] = _judged(said, ends)
        if wrong:
            self._found(f"{_name(said)}: {wrong}")

    def at_the_ends(self) -> None:
        """All rows were read: each chain ends where its instrument says it does."""
        if self._kept:
            self._compare_seals()
        self.chains = len(self._ends)
        loose = Loose.objects.values_list("seq", "link").first() or START
        self._end("The rows of no instrument", None, End(*loose))
        instruments = Instrument.objects.values_list("pk", "body__serial", "seq", "link")
        for number, serial, seq, link in instruments.iterator(PAGE):
            self._end(serial, number, End(seq, link))
        for left in self._ends:
            self._found(f"Instrument number {left}: it has rows and is not there.")

    def at_the_end_of(self, number: int) -> None:
        """The rows of one instrument were read: its chain ends where it says."""
        one = Instrument.objects.filter(pk=number).values_list("body__serial", "seq", "link")
        for serial, seq, link in one:
            self._end(serial, number, End(seq, link))

    def sign(self) -> str:
        return self._links.hexdigest()

    def _end(self, whose: str, number: int | None, kept: End) -> None:
        ends = self._ends.pop(number, (START,))
        last = max(one.seq for one in ends)
        if number is not None and last == 0:
            words = "no row of the journal speaks of it."
        elif kept in ends:
            return
        elif last < kept.seq:
            are = "are" if kept.seq > last + 1 else "is"
            words = f"{_rows(last + 1, kept.seq)} {are} missing at the end."
        elif last > kept.seq:
            words = f"{_rows(kept.seq + 1, last)} at the end came in by no door."
        else:
            words = f"row {last} at the end is not the one that was written."
        self._found(f"{whose}: {words}")

    def _compare_seals(self) -> None:
        kept, self._kept = self._kept, None
        if kept and kept.sign != self.sign():
            self._found(
                f"Seal at row {kept.row}: it does not hold. Rows up to there were rewritten, "
                "taken out or put in since it was noted."
            )

    def _found(self, words: str) -> None:
        self.wrong += 1
        self._say(words)


def _judged(said: Row, ends: tuple[End, ...]) -> tuple[str, tuple[End, ...]]:
    """What is wrong with a row, if anything, and where its chain goes on from."""
    *aside, latest = ends
    seq, here = said["seq"], End(said["seq"], said["link"])
    due = latest.seq + 1
    if seq == due and _gives(said, latest.link):
        return "", (here,)
    after = f"it stands after row {latest.seq}, out of its order."
    for one in aside:
        if seq == one.seq + 1 and _gives(said, one.link):
            # Where it closes the gap the chain goes on after both, else after this one.
            return after, (here, latest) if latest.seq == seq + 1 else (latest, here)
    if seq == due:
        words = "it does not give its link: it was altered, or the row before it got another link."
        return words, (here,)
    if _gives({**said, "seq": due}, latest.link):
        return f"it was written as row {due}; its number was altered.", (End(due, said["link"]),)
    if seq > due:
        are = "are" if seq > due + 1 else "is"
        words = f"{_rows(due, seq - 1)} {are} not before it: taken out, or put elsewhere."
        return words, (latest, here)
    return after, (latest, here)


def _gives(said: Row, before: str) -> bool:
    """Whether the row gives the link it carries after this one."""
    try:
        return bool(chain.link(said, before) == said["link"])
    except (KeyError, ValueError):
        return False  # bare, in a form no row was written in, or of letters that are none


def _rows(first: int, last: int) -> str:
    return f"row {first}" if first == last else f"rows {first} to {last}"


def _name(said: Row) -> str:
    at = said.get("at")
    when = f"{localtime(at):%Y-%m-%d %H:%M}" if at else "at no moment"
    place = "loose row" if said["instrument_id"] is None else "row"
    what = f"{said['kind']} by {said['who']}"
    return f"Row {said['id']} ({said['subject']}, {place} {said['seq']}, {what}, {when})"


def _pages() -> Iterator[list[Row]]:
    last = 0
    while True:
        try:
            page = [_whole(row) for row in _PAGE.rows(last)]
        except ValueError:  # something in it cannot be read
            page = [_bare(number) for number in _numbers(last)]
        if not page:
            return
        yield page
        last = page[-1]["id"]


def _numbers(after: int) -> list[int]:
    return list(
        Entry.objects.filter(pk__gt=after).order_by("pk").values_list("pk", flat=True)[:PAGE]
    )


def _whole(row: tuple[Any, ...]) -> Row:
    """A row as it was read: JSON still as text, and on SQLite its key without hyphens.

    Raises ``ValueError`` for what no row can hold.
    """
    said = dict(zip(COLUMNS, row, strict=True))
    for name in ("findings", "data"):
        if isinstance(text := said[name], str):
            said[name] = [] if text == "[]" else _out_of(text)[0]
    if isinstance(key := said["key"], str):
        said["key"] = f"{key[:8]}-{key[8:12]}-{key[12:16]}-{key[16:20]}-{key[20:]}"
    said["seq"] = int(said["seq"])
    return said


def _bare(number: int) -> Row:
    """The row with this number: whole, or what can be read of it."""
    try:
        return _whole(_ROW.rows(number)[0])
    except ValueError:
        said: Row = Entry.objects.values(*BARE).get(pk=number)
        return said | {"seq": said["seq"] if isinstance(said["seq"], int) else 0}


@contextmanager
def _at_one_moment(*, sealed: bool = True) -> Iterator[None]:
    """All that is read inside was so at one moment. Nobody who writes meanwhile has to wait.
    ``sealed``: no row may turn up later among those that were read."""
    if connection.in_atomic_block:
        yield
    elif connection.vendor == "postgresql":
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")
            # A row has its number before it can be seen. Those on their way are waited for, so
            # that no lower one turns up after the seal; undone, the lock is gone again.
            if sealed:
                with transaction.atomic():
                    cursor.execute(f"LOCK TABLE {Entry._meta.db_table} IN SHARE MODE")
                    cursor.execute("SELECT 1")
                    transaction.set_rollback(True)
            yield
    else:
        # Not by Django: its transactions stand in the line of writers.
        with connection.cursor() as cursor:
            cursor.execute("BEGIN DEFERRED")
            try:
                yield
            finally:
                cursor.execute("ROLLBACK")
