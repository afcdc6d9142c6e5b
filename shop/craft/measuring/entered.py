"""The values of a study as they are typed: a table of fields, or a list of rows.

A list has a row for each value: part, person, value, between commas, semicolons or tabs. Parts
and people are told by what they are called; a value's trial is its turn among those of its
part and person. A first row without a figure is its head.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from shop.craft.gauging.entering import NotANumber, number
from shop.craft.words import several

Values = tuple[tuple[tuple[Decimal, ...], ...], ...]
"""In mm, of each part, by each person, each trial."""

COLUMNS: Final = 3
MOST_TOLD: Final = 3  # problems of one list that are told one by one


@dataclass(frozen=True, slots=True)
class Entered:
    """What was typed: its values, or every reason why they are not taken."""

    values: Values = ()
    problems: tuple[str, ...] = ()


def table(
    typed: Mapping[tuple[int, int, int], str], parts: int, people: int, trials: int
) -> Entered:
    """A table of fields, each by its part, person and trial from 1.

    >>> table({(1, 1, 1): "1,02"}, 1, 1, 2).problems
    ('Part 1, person 1, time 2: nothing was entered.',)
    """
    problems: list[str] = []

    def value(part: int, person: int, trial: int) -> Decimal:
        where = f"Part {part}, person {person}, time {trial}"
        text = typed.get((part, person, trial), "").strip()
        if not text:
            problems.append(f"{where}: nothing was entered.")
            return Decimal(0)
        try:
            return number(text)
        except NotANumber as why:
            problems.append(f"{where}: {why}")
            return Decimal(0)

    values = tuple(
        tuple(
            tuple(value(part, person, trial) for trial in _from_one(trials))
            for person in _from_one(people)
        )
        for part in _from_one(parts)
    )
    return Entered((), _few(problems)) if problems else Entered(values)


def rows(text: str) -> Entered:
    """A list of rows; what lacks a value of some part and person is for the study to say.

    >>> rows("part;person;value\\n1;Ana;1,02\\n1;Ana;1,03").values
    (((Decimal('1.02'), Decimal('1.03')),),)
    """
    found: dict[tuple[str, str], list[Decimal]] = {}
    problems: list[str] = []
    lines = [(at, line) for at, line in enumerate(text.splitlines(), 1) if line.strip()]
    for place, (at, line) in enumerate(lines):
        cells = _cells(line)
        if len(cells) != COLUMNS:
            count = several(len(cells), "column")
            problems.append(f"Row {at} has {count}: part, person and value are wanted.")
            continue
        part, person, figure = cells
        try:
            value = number(figure)
        except NotANumber as why:
            if place:
                problems.append(f"Row {at}: {why}")
            continue
        found.setdefault((part, person), []).append(value)
    if problems:
        return Entered((), _few(problems))
    parts = list(dict.fromkeys(part for part, _ in found))
    people = list(dict.fromkeys(person for _, person in found))
    return Entered(
        tuple(tuple(tuple(found.get((part, person), ())) for person in people) for part in parts)
    )


def _cells(line: str) -> list[str]:
    apart = next((one for one in "\t;" if one in line), ",")
    return [one.strip() for one in line.split(apart)]


def _few(problems: Sequence[str]) -> tuple[str, ...]:
    """The first problems, and how many more there are."""
    more = len(problems) - MOST_TOLD
    if more <= 0:
        return tuple(problems)
    return (*problems[:MOST_TOLD], f"{several(more, 'more value')} cannot be taken.")


def _from_one(count: int) -> range:
    return range(1, count + 1)
