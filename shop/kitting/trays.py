"""The trays the clerk has to fill: what each lacks, and whether it was asked for too late."""

from __future__ import annotations

from datetime import date, datetime

from shop.craft.when import in_utc, span_words
from shop.kitting.days import closes
from shop.stock import shelf
from shop.stock.shelf import TrayRow


def tray_list(day: date) -> list[TrayRow]:
    """The trays not closed and wanted up to this day, urgent ones first. Each says ``short``,
    the articles it lacks; ``open``, how many lines are to pick; ``to_check``, how many lie in
    it unchecked; ``late``, that it was asked for after the list of its day closed."""
    rows = shelf.trays(day)
    for row in rows:
        lines = row["lines"]
        row["short"] = [line["article"] for line in lines if is_short(line)]
        row["open"] = sum(line["state"] == "open" for line in lines)
        row["to_check"] = sum(line["to_check"] for line in lines)
        asked: datetime | None = row["asked_at"]
        row["late"] = asked is not None and in_utc(asked) > in_utc(closes(row["wanted_on"]))
    return sorted(rows, key=lambda row: not row["urgent"])


def is_short(line: dict[str, object]) -> bool:
    """Whether the figures say that this line goes without: marked so, or nothing kept for it."""
    return line["state"] == "short" or (line["state"] == "open" and not line["reserved"])


def waiting(rows: list[TrayRow]) -> list[TrayRow]:
    """Of these trays those that are in no wave and have something to pick."""
    return [row for row in rows if row["wave_id"] is None and row["open"]]


def left_words(day: date, now: datetime) -> str:
    """How long the list of a release day stays open, in words."""
    left = in_utc(closes(day)) - in_utc(now)
    if left.total_seconds() <= 0:
        return f"The list for {day:%a} closed at {closes(day):%H:%M}."
    return f"The list for {day:%a} closes in {span_words(left)}."
