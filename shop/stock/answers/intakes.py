"""The lists that came in, one of them row by row, and any list as a file to go out."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from shop.stock.lists import KINDS
from shop.stock.lists.files import FORMS, MOST_BYTES, Fault, write
from shop.stock.lists.kind import BAD, CHANGED, NEW, SAME
from shop.stock.models import Intake

__all__ = ["MOST_BYTES"]


@dataclass(frozen=True, slots=True)
class IntakeRow:
    """One list that was brought in."""

    id: int
    what: str
    name: str
    by: str
    at: datetime
    taken_by: str | None
    taken_at: datetime | None


@dataclass(frozen=True, slots=True)
class IntakeLine:
    """One row of a list: where it stands in the file, what it is about, what it would do."""

    line: int
    about: str
    state: str
    words: str


@dataclass(frozen=True, slots=True)
class IntakeSheet:
    """One list as it was judged last."""

    row: IntakeRow
    lines: tuple[IntakeLine, ...]
    faults: tuple[Fault, ...]  # what keeps it from being taken over, by line
    told: tuple[Fault, ...]  # what is only to be looked at

    @property
    def counts(self) -> dict[str, int]:
        """How many rows are new, change what is there, are there already, are bad."""
        found = Counter(one.state for one in self.lines)
        return {state: found[state] for state in (NEW, CHANGED, SAME, BAD)}

    @property
    def acts(self) -> tuple[IntakeLine, ...]:
        """The rows that would do something."""
        return tuple(one for one in self.lines if one.state in {NEW, CHANGED})

    @property
    def may_pass(self) -> bool:
        """Whether all that is wrong goes by what is here, and not by the file."""
        return all(one.may_pass for one in self.faults)


_ROW = ("id", "what", "name", "by__code", "at", "taken_by__code", "taken_at")


def intakes(most: int = 20) -> list[IntakeRow]:
    """The lists brought in last, newest first, in one statement."""
    return [IntakeRow(*row) for row in Intake.objects.values_list(*_ROW)[:most]]


def intake(intake_id: int) -> IntakeSheet | None:
    """The list with this id, in one statement however many rows it has."""
    row = Intake.objects.filter(pk=intake_id).values_list(*_ROW, "rows", "faults").first()
    if row is None:
        return None
    *about, rows, faults = row
    found = sorted((Fault(**one) for one in faults), key=lambda one: one.line)
    return IntakeSheet(
        row=IntakeRow(*about),
        lines=tuple(map(_line, rows)),
        faults=tuple(one for one in found if one.stops),
        told=tuple(one for one in found if not one.stops),
    )


def _line(row: dict[str, Any]) -> IntakeLine:
    return IntakeLine(row["line"], row["about"], row["state"], row["words"])


def list_kinds() -> tuple[str, ...]:
    return tuple(KINDS)


def list_head(what: str) -> tuple[str, ...]:
    """The columns that a list of this kind has to have."""
    return tuple(one.name for one in KINDS[what].columns if one.needed)


def list_file(what: str, form: str) -> tuple[bytes, str] | None:
    """A list as a file of this form, and its media type; nothing for no such list or form."""
    kind = KINDS.get(what)
    if kind is None or form not in FORMS:
        return None
    return write(form, what, kind.head, kind.rows()), FORMS[form]
