"""Fret heights as a measuring machine writes them: an open format, one height a row.

It begins as ``SAMPLE`` does. It is plain text in UTF-8. Cells are parted by a comma, a
semicolon or a tab; the first line shows which. Figures have a point, or a comma where cells are
parted otherwise or the figure stands in quotes. Before the heights stand lines of a name and a
value, in any order: ``unit`` (mm or in) has to be there, ``frets`` and ``lines`` where the last
of them were not all read; names that are not known, such as a machine's own, are passed over.
Lines are counted from the bass edge, frets from the nut. A height left empty, or a row left
out, was not read; below the reference it was read from it has a minus. Empty rows and rows that
begin with # say nothing.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from shop.craft.lengths import MM_PER_INCH
from shop.craft.set_up.frets.reading import (
    LEAST_LINES,
    MOST_FRETS,
    MOST_LINES,
    RESOLUTION_MM,
    FretReadings,
    Spot,
)

NAME: Final = "heelcap fret heights"
VERSION: Final = "1"
COLUMNS: Final = ("fret", "line", "height")
SAMPLE: Final = f"""{NAME};{VERSION}
unit;mm
frets;20
lines;6
{";".join(COLUMNS)}
1;1;1,10
1;2;1,11
"""
UNITS: Final = {"mm": Decimal(1), "in": MM_PER_INCH}
MOST_SIGNS: Final = 40_000  # of a file; a board has 180 heights at most
MOST_TOLD: Final = 12  # problems that are named one by one

_FIGURE: Final = re.compile(r"[-\u2212]?\d{1,3}(?:[.,]\d{0,6})?", re.ASCII)
_WHOLE: Final = re.compile(r"\d{1,3}")
_QUOTED: Final = 20  # characters of a cell that are said back


@dataclass(frozen=True, slots=True)
class FileProblem:
    """Why a line of a file is not taken; line 0 is the file as a whole."""

    line: int
    words: str


@dataclass(frozen=True, slots=True)
class FromFile:
    """What a file says: its heights, or every problem with it. All of it is taken or none."""

    readings: FretReadings | None
    problems: tuple[FileProblem, ...]


@dataclass(slots=True)
class _Said:
    """What was read of a file so far."""

    header: dict[str, tuple[int, str]] = field(default_factory=dict)
    columns: tuple[str, ...] = ()
    heights: dict[Spot, tuple[int, Decimal | None]] = field(default_factory=dict)
    problems: list[FileProblem] = field(default_factory=list)

    def wrong(self, line: int, words: str) -> None:
        self.problems.append(FileProblem(line, words))


def read(text: str) -> FromFile:
    """The heights in a file's text, or what is wrong with it, line by line."""
    said = _Said()
    if len(text) > MOST_SIGNS:
        problem = FileProblem(0, "This is no file of one fretboard: it is too long.")
        return FromFile(None, (problem,))
    for number, cells in _rows(text):
        _take(said, number, cells)
    _whole(said)
    if said.problems:
        return FromFile(None, tuple(_shortened(said.problems)))
    return FromFile(_readings(said), ())


def written(readings: FretReadings) -> str:
    """The same heights as such a file, with commas between cells and points in figures."""
    to = io.StringIO()
    rows = csv.writer(to, lineterminator="\n")
    rows.writerow((NAME, VERSION))
    rows.writerows((("unit", "mm"), ("frets", readings.frets), ("lines", len(readings.lines))))
    rows.writerow(COLUMNS)
    for spot in readings.spots():
        if (height := readings.at(spot)) is not None:
            rows.writerow((spot.fret, spot.line, f"{height:f}"))
    return to.getvalue()


def _rows(text: str) -> Iterator[tuple[int, list[str]]]:
    """Each row that says something, with its number."""
    lines = text.removeprefix("\ufeff").replace("\0", "").splitlines()
    telling = [(at, one) for at, one in enumerate(lines, 1) if not one.lstrip().startswith("#")]
    first = next((one for _, one in telling if re.search(r"[;\t,]", one)), "")
    mark = next((one for one in (";", "\t", ",") if one in first), ",")
    for number, line in telling:
        cells = [cell.strip() for cell in next(csv.reader([line], delimiter=mark), [])]
        while cells and not cells[-1]:
            cells.pop()
        if cells:
            yield number, cells


def _take(said: _Said, number: int, cells: list[str]) -> None:
    """One row: of the header, the names of the columns, or a height."""
    if said.columns:
        _height(said, number, cells)
    elif cells[0].lower() == "fret":
        _columns(said, number, cells)
    else:
        said.header[cells[0].lower()] = (number, cells[1] if len(cells) > 1 else "")


def _columns(said: _Said, number: int, cells: list[str]) -> None:
    names = tuple(cell.lower() for cell in cells)
    unit = names[2].removeprefix("height_") if len(names) == 3 else ""
    if unit in UNITS:
        _, declared = said.header.setdefault("unit", (number, unit))
        if declared.lower() != unit:
            said.wrong(number, f"The heights are called {names[2]}, the unit {_back(declared)}.")
        names = (*names[:2], "height")
    if names != COLUMNS:
        said.wrong(number, "This line has to name the columns: fret, line, height.")
    said.columns = COLUMNS


def _height(said: _Said, number: int, cells: list[str]) -> None:
    if len(cells) > len(COLUMNS):
        said.wrong(
            number, f"{len(cells)} cells instead of 3. Part them by semicolons in every line."
        )
        return
    fret = _counted(said, number, "fret", cells[0], 1, MOST_FRETS)
    line = _counted(said, number, "line", cells[1] if len(cells) > 1 else "", 1, MOST_LINES)
    height = cells[2] if len(cells) > 2 else ""
    value: Decimal | None = None
    if height:
        if not _FIGURE.fullmatch(height):
            said.wrong(number, f"{_back(height)} is no height. Write it as 1.10 or 1,10.")
            return
        value = Decimal(height.replace(",", ".").replace("\u2212", "-"))
    if fret is None or line is None:
        return
    spot = Spot(fret, line)
    if spot in said.heights:
        before = said.heights[spot][0]
        said.wrong(
            number, f"Fret {fret} on line {line} stands in line {before} of the file already."
        )
        return
    said.heights[spot] = (number, value)


def _counted(said: _Said, number: int, name: str, text: str, least: int, most: int) -> int | None:
    """A fret, a line or how many of them there are; nothing where the cell says none."""
    if _WHOLE.fullmatch(text) and text.isascii() and least <= int(text) <= most:
        return int(text)
    typed, can = _back(text), f"Write a number from {least} to {most}."
    words = {
        "fret": f"{typed} is no fret. {can}",
        "line": f"{typed} is no line of the board. {can}",
        "frets": f"{typed} is no number of frets. {can}",
        "lines": f"{typed} is no number of lines. {can}",
    }
    said.wrong(number, words[name])
    return None


def _whole(said: _Said) -> None:
    """What is wrong with the file as a whole."""
    if not said.columns:
        said.wrong(0, "There is no line fret, line, height, with the heights below it.")
        return
    number, version = said.header.get(NAME, (0, VERSION))
    if version != VERSION:
        said.wrong(number, f"This is form {_back(version)} of the file; write form {VERSION}.")
    number, unit = said.header.get("unit", (0, ""))
    if not unit:
        said.wrong(0, "The unit is not said. Write a line: unit, mm.")
    elif unit.lower() not in UNITS:
        said.wrong(number, f"The unit {_back(unit)} is not known. Write mm or in.")
    if not said.heights and not said.problems:
        said.wrong(0, "There is no height in this file.")
    for name, least, most in (("frets", 1, MOST_FRETS), ("lines", LEAST_LINES, MOST_LINES)):
        if name in said.header:
            number, text = said.header[name]
            count = _counted(said, number, name, text, least, most)
            _inside(said, name, count)


def _inside(said: _Said, name: str, count: int | None) -> None:
    """A height beyond the frets or lines that were declared."""
    if count is None:
        return
    for spot, (number, _) in said.heights.items():
        if (spot.fret if name == "frets" else spot.line) > count:
            many = f"{count} frets" if name == "frets" else f"{count} lines"
            said.wrong(number, f"Fret {spot.fret} on line {spot.line}, but this file has {many}.")


def _readings(said: _Said) -> FretReadings:
    scale = UNITS[said.header["unit"][1].lower()]
    frets = _declared(said, "frets", max(spot.fret for spot in said.heights))
    lines = _declared(said, "lines", max(LEAST_LINES, *(spot.line for spot in said.heights)))
    table: list[list[Decimal | None]] = [[None] * frets for _ in range(lines)]
    for spot, (_, value) in said.heights.items():
        if value is not None:
            height = (value * scale).quantize(RESOLUTION_MM, ROUND_HALF_UP)
            table[spot.line - 1][spot.fret - 1] = height
    return FretReadings(tuple(map(tuple, table)))


def _declared(said: _Said, name: str, seen: int) -> int:
    return int(said.header[name][1]) if name in said.header else seen


def _shortened(problems: list[FileProblem]) -> Iterator[FileProblem]:
    yield from problems[:MOST_TOLD]
    left = len(problems) - MOST_TOLD
    if left > 0:
        yield FileProblem(0, f"And {left} more like these.")


def _back(text: str) -> str:
    """What a cell says, said back."""
    return (text if len(text) <= _QUOTED else f"{text[:_QUOTED]}\u2026") or "Nothing"
