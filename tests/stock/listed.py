"""Lists as somebody would bring them in."""

from __future__ import annotations

import io
from typing import Any

import openpyxl

from shop.stock import ledger, shelf
from shop.stock.models import Intake
from tests.floor.morning import NOW


def lines(*rows: str) -> bytes:
    """A CSV file, RFC 4180: lines end with CR and LF."""
    return "".join(f"{row}\r\n" for row in rows).encode()


def workbook(*rows: list[Any]) -> bytes:
    book = openpyxl.Workbook()
    sheet = book.worksheets[0]
    for row in rows:
        sheet.append(row)
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def brought(what: str, content: bytes, by: int, name: str = "list.csv") -> shelf.IntakeSheet:
    """The list as it is judged once it was read."""
    sheet = shelf.intake(ledger.bring_in(what, name, content, by, NOW))
    assert sheet is not None
    return sheet


def states(sheet: shelf.IntakeSheet) -> list[str]:
    return [one.state for one in sheet.lines]


def faults(sheet: shelf.IntakeSheet) -> list[tuple[int, str, str]]:
    return [(one.line, one.column, one.words) for one in sheet.faults]


def taken(what: str, content: bytes, by: int) -> ledger.Outcome:
    """A list read and taken over."""
    return ledger.accept(brought(what, content, by).row.id, by, NOW)


def count_of(outcome: ledger.Outcome) -> tuple[bool, int, int]:
    return outcome.taken, outcome.new, outcome.changed


def last() -> Intake:
    return Intake.objects.latest("id")
