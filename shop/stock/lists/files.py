"""A file as a table of text, and a table as a file: CSV and XLSX.

What is read goes by its own bytes, not by its name. Every cell becomes text of one form:
numbers with a point, days as ISO 8601 writes them, yes and no. A line is numbered as a
spreadsheet numbers it: the first is 1, empty ones count.

CSV is read by the standard library and XLSX by openpyxl itself: tablib leaves empty lines
out, and with them the numbers of the lines, and cannot tell a formula without a value from
an empty cell. It lays out what is written.
"""

from __future__ import annotations

import csv
import io
import re
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any, Final

import openpyxl
import tablib
from tablib.formats._xlsx import XLSXFormat

from shop.craft import cell
from shop.craft.size import plain
from shop.craft.spreadsheet import cells

MB: Final = 1024 * 1024
MOST_BYTES: Final = 5 * MB
MOST_ROWS: Final = 2_000  # taken over in one go: others wait to write meanwhile
MOST_COLUMNS: Final = 200
MOST_UNPACKED: Final = 100 * MB  # of an XLSX, which is a ZIP file: 5 MB could hold 5 GB
MOST_PARTS: Final = 1_000
MOST_LINES: Final = 100_000  # empty ones and all
DELIMITERS: Final = ",;\t"

FORMS: Final = {
    "csv": "text/csv; charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}

# What no text has in it, and neither an XLSX nor a database keeps.
_NO_TEXT: Final = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
_AGAIN: Final = "Save the list again as CSV (UTF-8) or XLSX."


class Unreadable(ValueError):
    """The file is no table that can be read; the message says why and what to do."""


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with a list, where, and what to do."""

    line: int
    column: str  # empty: of the whole line
    words: str
    stops: bool = True  # or it is only to be looked at
    # It goes by what is here, and may be gone when it is judged again; not of the file itself.
    may_pass: bool = False


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a file: its cells as text, and what is wrong with some of them."""

    number: int
    cells: tuple[str, ...]
    wrong: tuple[tuple[int, str], ...] = ()  # place of the cell, and words


@dataclass(frozen=True, slots=True)
class Table:
    """The lines of a file that are not empty, the head first, and how it was read."""

    lines: tuple[Line, ...]
    told: str = ""


def read(content: bytes, names: frozenset[str]) -> Table:
    """The file as a table. ``names`` are the columns that it may have, folded by
    :func:`folded`: by them the character between two cells is found.

    Raises ``Unreadable``.
    """
    if len(content) > MOST_BYTES:
        raise Unreadable(
            f"The file is larger than {MOST_BYTES // MB} MB. Bring the list in as several files."
        )
    if not content.strip():
        raise Unreadable("There is nothing in this file. Choose the list again.")
    if content.startswith((b"PK\x03\x04", b"PK\x05\x06")):
        lines, told = _workbook(content)
    elif content.startswith(b"\xd0\xcf\x11\xe0"):
        raise Unreadable("This is an old spreadsheet, or one with a password. Save it as XLSX.")
    else:
        lines, told = _text(content, names)
    kept = []
    for line in lines:
        if line.number > MOST_LINES:
            raise Unreadable(
                f"The list goes on past line {MOST_LINES}. Delete the empty lines at its end."
            )
        if any(line.cells) or line.wrong:
            kept.append(line)
        if len(kept) > MOST_ROWS + 1:
            raise Unreadable(
                f"The list has more than {MOST_ROWS} rows. Bring it in as several files."
            )
    if not kept:
        raise Unreadable("There is nothing in this file. Choose the list again.")
    return Table(tuple(kept), told)


def folded(name: str) -> str:
    """The name of a column whatever its case: ``best before`` and ``Best_Before`` are one."""
    return " ".join(name.replace("_", " ").split()).casefold()


# --- reading text ---


def _text(content: bytes, names: frozenset[str]) -> tuple[Iterator[Line], str]:
    text, told = _decoded(content)
    if _NO_TEXT.search(text):
        raise Unreadable(f"This file is no list: it holds what is no text. {_AGAIN}")
    return _lines(text, _delimiter(text, names)), told


def _decoded(content: bytes) -> tuple[str, str]:
    """The text of a file, and in words how it was read where that is worth a look."""
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        try:
            return content.decode("utf-16"), ""
        except UnicodeDecodeError:
            raise Unreadable(f"This file is no list: it holds what is no text. {_AGAIN}") from None
    try:
        return content.decode("utf-8-sig"), ""
    except UnicodeDecodeError as at:
        line = content.count(b"\n", 0, at.start) + 1
    try:
        return content.decode("cp1252"), (
            f"Line {line} is not UTF-8: the file is read as Windows-1252. Look at letters like "
            f"ö and ° below. If they are wrong, save the list again as CSV (UTF-8)."
        )
    except UnicodeDecodeError:
        raise Unreadable(f"Line {line} is neither UTF-8 nor Windows-1252. {_AGAIN}") from None


def _delimiter(text: str, names: frozenset[str]) -> str:
    """The character that cuts the first line into the most columns that are known."""
    first = next((one for one in text.splitlines() if one.strip()), "")

    def known(delimiter: str) -> int:
        return len(names & {folded(one.strip('" ')) for one in first.split(delimiter)})

    return max(DELIMITERS, key=known)


def _lines(text: str, delimiter: str) -> Iterator[Line]:
    # Cells in quotes hold commas, line breaks and doubled quotes: RFC 4180, section 2.
    rows = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    number = 0
    try:
        for number, row in enumerate(rows, start=1):
            _not_too_wide(number, len(row))
            yield Line(number, tuple(cell.bare(one) for one in row))
    except csv.Error:
        raise Unreadable(
            f"Line {number + 1} cannot be read: a quotation mark is open, or stands in the middle "
            f"of a cell. {_AGAIN}"
        ) from None


def _not_too_wide(number: int, width: int) -> None:
    if width > MOST_COLUMNS:
        raise Unreadable(
            f"Line {number} has more than {MOST_COLUMNS} columns. Leave in only those of the list."
        )


# --- reading a workbook ---


def _workbook(content: bytes) -> tuple[Iterator[Line], str]:
    """The first sheet of an XLSX file."""
    try:
        _unpacks(content)
        # Twice: once for the values, once to see where a formula stands.
        values, formulas = (
            openpyxl.load_workbook(io.BytesIO(content), read_only=True, data_only=data_only)
            for data_only in (True, False)
        )
        names = [one.title for one in values.worksheets]
        sheets = values.worksheets[0], formulas.worksheets[0]
        for sheet in sheets:
            sheet.reset_dimensions()  # what a file says of its own size need not be so
    except Unreadable:
        raise
    except Exception as broken:
        raise _no_workbook() from broken
    told = f"Only the first of {len(names)} sheets is read: {names[0]}." if names[1:] else ""
    return _sheet(*sheets), told


def _no_workbook() -> Unreadable:
    return Unreadable(f"This file is no XLSX, or it is damaged. {_AGAIN}")


def _unpacks(content: bytes) -> None:
    """Raises ``Unreadable`` where the file unpacked is larger than any list. A part is never
    unpacked beyond the size that it names here."""
    with zipfile.ZipFile(io.BytesIO(content)) as packed:
        parts = packed.infolist()
    if sum(one.file_size for one in parts) > MOST_UNPACKED or len(parts) > MOST_PARTS:
        raise Unreadable(
            f"Unpacked this file is larger than {MOST_UNPACKED // MB} MB: no list is. {_AGAIN}"
        )


def _sheet(values: Any, formulas: Any) -> Iterator[Line]:
    rows = enumerate(zip(values.iter_rows(), formulas.iter_rows(), strict=True), start=1)
    while True:
        try:
            number, (row, behind) = next(rows)
        except StopIteration:
            return
        except Exception as broken:
            raise _no_workbook() from broken
        yield _line(number, row, behind)


def _line(number: int, row: Sequence[Any], behind: Sequence[Any]) -> Line:
    texts: list[str] = []
    wrong: list[tuple[int, str]] = []
    for place, one in enumerate(row):
        text = _as_text(one.value)
        if one.data_type == "e":
            wrong.append((place, f"The cell holds the error {text}. Write what it is to say."))
            text = ""
        elif not text and behind[place].data_type == "f":
            wrong.append(
                (place, "A formula without a value. Open the file, save it and bring it in again.")
            )
        texts.append(text)
    while texts and not texts[-1] and len(texts) - 1 not in dict(wrong):
        texts.pop()
    _not_too_wide(number, len(texts))
    return Line(number, tuple(texts), tuple(wrong))


def _as_text(value: object) -> str:
    """The value of a spreadsheet's cell as text."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        # A spreadsheet shows 15 figures; what is behind them comes from its binary numbers.
        return f"{Decimal(f'{value:.15g}'):f}"
    if isinstance(value, datetime) and value.time() == value.time().min:
        return value.date().isoformat()
    if isinstance(value, date):
        return value.isoformat()
    text = str(value)
    if _NO_TEXT.search(text):
        raise Unreadable(f"This file is no list: it holds what is no text. {_AGAIN}")
    return cell.bare(text)


# --- writing ---


def write(form: str, title: str, head: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    """A table as a file, ``form`` being one of ``FORMS``. No cell of it is run as a formula:
    in CSV an apostrophe says that it is text, in XLSX its type does."""
    if form == "csv":
        sheet = tablib.Dataset(*(cells(*map(_plain, row)) for row in rows), headers=cells(*head))
        return str(sheet.export("csv")).encode()
    return _written(tablib.Dataset(*(tuple(map(_value, row)) for row in rows), headers=head), title)


def _written(table: tablib.Dataset, title: str) -> bytes:
    book = openpyxl.Workbook()
    sheet = book.worksheets[0]
    sheet.title = title
    XLSXFormat.dset_sheet(table, sheet)
    for row in sheet.iter_rows():
        for one in row:
            if isinstance(one.value, str):
                # openpyxl takes a text that begins with = for a formula. The mark is what a
                # spreadsheet sets itself where somebody types an apostrophe first.
                one.data_type, one.quotePrefix = "s", one.data_type == "f"
    for column in sheet.columns:
        widest = max(len(str(one.value or "")) for one in column)
        sheet.column_dimensions[column[0].column_letter].width = min(widest, 40) + 2
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def _plain(value: object) -> str:
    """A value as CSV has it."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Decimal):
        return plain(value).replace("\u2212", "-")
    return "" if value is None else _NO_TEXT.sub("", str(value))


def _value(value: object) -> object:
    """A value as XLSX has it: numbers and days are numbers and days."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return _NO_TEXT.sub("", value) if isinstance(value, str) else value
