"""What a kind of list is: its columns, how a row is read, and what it would do."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from shop.craft import cell
from shop.craft.words import listed
from shop.stock.lists.files import Fault, Table, folded

Row = Mapping[str, Any]  # a row as read: what each column of the file says in it

NEW, CHANGED, SAME, BAD = "new", "changed", "same", "bad"
_NAMED: Final = 12  # columns that are named to choose from


class Bad(Exception):
    """A row that cannot be taken over: column and words of everything that is wrong in it."""

    def __init__(self, *faults: tuple[str, str]) -> None:
        self.faults = faults


@dataclass(frozen=True, slots=True)
class Told:
    """What a row would do: how it stands to what is there, and what its act takes."""

    state: str
    takes: Mapping[str, Any]
    words: str = ""  # what comes, or what becomes other


@dataclass(frozen=True, slots=True)
class Column:
    """One column: how a cell of it is read that is not empty, and what an empty one says."""

    name: str
    read: Callable[[str], Any]
    needed: bool = True
    empty: Any = None


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of list, for the way in and the way out."""

    what: str  # as ``Intake.what`` says it
    columns: tuple[Column, ...]
    # What a row is known by; nothing where it may stand there twice.
    key: Callable[[Row], tuple[str, ...] | None]
    # What is there that the rows go by, asked once for all of them: rows and today.
    state: Callable[[Sequence[Row], date], Any]
    judge: Callable[[Row, Any], Told]  # raises Bad
    rows: Callable[[], Iterable[Sequence[object]]]  # all of it, to be written
    also: tuple[
        str, ...
    ] = ()  # columns written last for whoever reads, and left aside on the way in

    @property
    def head(self) -> tuple[str, ...]:
        return (*(one.name for one in self.columns), *self.also)

    @property
    def names(self) -> frozenset[str]:
        return frozenset(map(folded, self.head))


@dataclass(frozen=True, slots=True)
class Judged:
    """One row of a list, judged against what is there."""

    line: int
    cells: Mapping[str, str]
    about: str  # what the row is known by
    told: Told | None  # nothing: it is bad
    faults: tuple[Fault, ...] = ()

    @property
    def state(self) -> str:
        return self.told.state if self.told else BAD

    @property
    def words(self) -> str:
        return self.told.words if self.told else ""


def columns_of(kind: Kind, table: Table) -> tuple[tuple[str, ...], tuple[Fault, ...]]:
    """The column each cell of a line belongs to, "" for one left aside; and what is wrong
    with the head."""
    head = table.lines[0]
    known = {folded(name): name for name in kind.head}
    found, faults = [], []
    for text in head.cells:
        name = known.get(folded(text), "")
        if text and not name:
            faults.append(
                Fault(head.number, cell.quoted(text), f"No such column. Use {_some(kind)}.")
            )
        if name and name in found:
            faults.append(Fault(head.number, name, "The column is there twice. Take one out."))
        found.append(name)
    missing = [one.name for one in kind.columns if one.needed and one.name not in found]
    faults += [Fault(head.number, name, "The column is missing. Add it.") for name in missing]
    return tuple("" if name in kind.also else name for name in found), tuple(faults)


def _some(kind: Kind) -> str:
    names = [one.name for one in kind.columns]
    more = f" or another of the {len(names)} that the list has when written here"
    return listed(names[:_NAMED]) + (more if names[_NAMED:] else "")


def cells_of(
    columns: Sequence[str], table: Table
) -> tuple[list[tuple[int, dict[str, str]]], list[Fault]]:
    """Line number and cells of every row below the head, and what is wrong with them."""
    rows, faults = [], []
    for line in table.lines[1:]:
        for place, words in line.wrong:
            if name := columns[place] if place < len(columns) else "":
                faults.append(Fault(line.number, name, words))
        beyond = [
            text
            for place, text in enumerate(line.cells)
            if text and not (place < len(columns) and table.lines[0].cells[place])
        ]
        if beyond:
            faults.append(
                Fault(
                    line.number,
                    "",
                    f"{cell.quoted(beyond[0])} stands under no column. Put quotation marks "
                    "around cells with a comma in them, or take it out.",
                )
            )
        said = (*line.cells, *("" for _ in columns))
        rows.append((line.number, {n: t for n, t in zip(columns, said, strict=False) if n}))
    return rows, faults


def judge(
    kind: Kind, rows: Sequence[tuple[int, Mapping[str, str]]], today: date
) -> tuple[Judged, ...]:
    """Every row against what is there now, in a number of statements that does not go by
    the number of rows."""
    reads = [(line, cells, *_read(kind, line, cells)) for line, cells in rows]
    state = kind.state([row for *_, row, faults in reads if not faults], today)
    first: dict[tuple[str, ...], int] = {}
    found = []
    for line, cells, row, faults in reads:
        key = None if faults else kind.key(row)
        about = " ".join(key) if key else cells.get(kind.columns[0].name, "")
        if key and first.setdefault(key, line) != line:
            words = f"{about} stands on line {first[key]} already. Take one of the two out."
            faults = (Fault(line, "", words),)
        told = None
        if not faults:
            try:
                told = kind.judge(row, state)
            except Bad as bad:
                faults = tuple(
                    Fault(line, column, words, may_pass=True) for column, words in bad.faults
                )
        found.append(Judged(line, cells, about, told, faults))
    return tuple(found)


def _read(kind: Kind, line: int, cells: Mapping[str, str]) -> tuple[Row, tuple[Fault, ...]]:
    row, faults = {}, []
    for column in kind.columns:
        text = cells.get(column.name)
        if text:
            try:
                row[column.name] = column.read(text)
            except cell.NotSo as why:
                faults.append(Fault(line, column.name, str(why)))
        elif column.needed:
            faults.append(Fault(line, column.name, "The cell is empty. Fill it in."))
        elif text is not None:
            row[column.name] = column.empty
    return row, tuple(faults)


def key_text(text: str) -> str:
    """The key of an item, a spec or a bin: its case does not matter."""
    return text.upper()


def text(most: int) -> Callable[[str], str]:
    """A reader of words of so many characters at most."""
    return lambda said: cell.words(said, most)


def other(name: str, now: object, was: object) -> str:
    """That something becomes other, in words; nothing where it stays."""
    return "" if now == was else f"{name} {now}, was {was}"
