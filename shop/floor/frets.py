"""The heights of an instrument's frets, as they were read last."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from shop.craft.set_up.frets import FretReadings
from shop.floor.models import FretHeights


@dataclass(frozen=True, slots=True)
class FretsKept:
    """Heights as they were read at one stage, "before" or "after", from the "board" or from a
    "straight" reference; flats and rocker by fret, in millimetres. ``tool`` is the gauge they
    were read with, "" where nobody said; ``overdue``: that was not checked in time."""

    stage: str
    datum: str
    readings: FretReadings
    flats_mm: Mapping[int, Decimal]
    rockers_mm: Mapping[int, Decimal]
    by: str
    at: datetime
    tool: str
    overdue: bool


def fret_heights(instrument_id: int) -> tuple[FretsKept | None, FretsKept | None]:
    """The heights in force: before levelling, and after crowning where those are newer."""
    before, after = (_newest(instrument_id, stage) for stage in ("before", "after"))
    if before and after and after.at < before.at:
        after = None
    return before, after


def newest(instrument_id: int) -> FretsKept | None:
    """The heights read last, at whichever stage."""
    return _newest(instrument_id)


def _newest(instrument_id: int, stage: str = "") -> FretsKept | None:
    rows = FretHeights.objects.filter(instrument_id=instrument_id).order_by("-id")
    rows = rows.filter(stage=stage) if stage else rows
    columns = (
        "stage", "datum", "heights", "flats", "rockers", "by__code", "at", "tool__name", "overdue",
    )  # fmt: skip
    row = rows.values(*columns).first()
    if row is None:
        return None
    return FretsKept(
        stage=row["stage"],
        datum=row["datum"],
        readings=as_readings(row["heights"]),
        flats_mm=_by_fret(row["flats"]),
        rockers_mm=_by_fret(row["rockers"]),
        by=row["by__code"],
        at=row["at"],
        tool=row["tool__name"] or "",
        overdue=row["overdue"],
    )


def as_readings(heights: list[list[str | None]]) -> FretReadings:
    """The heights as the craft reads them, of the plain data that is kept."""
    return FretReadings(
        tuple(tuple(None if one is None else Decimal(one) for one in line) for line in heights)
    )


def as_kept(readings: FretReadings) -> list[list[str | None]]:
    """The same as plain data."""
    return [[None if one is None else str(one) for one in line] for line in readings.lines]


def _by_fret(kept: Mapping[str, str]) -> dict[int, Decimal]:
    return {int(fret): Decimal(value) for fret, value in kept.items()}
