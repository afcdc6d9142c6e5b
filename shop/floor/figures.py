"""Figures of quality, each of a spell: what passed the first time, what was found wrong, what
the first look let through, and what is at repair; the instruments behind each bar, and the
same as rows of a table. By operation, station, spec and week, never by person."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from django.utils.timezone import localtime

from shop.catalogue import book
from shop.craft.when import in_utc
from shop.floor import course, first_pass
from shop.floor import found as founds
from shop.floor.first_pass import By, OfGroup, OfOperation
from shop.floor.found import ByWord, Escapes, OfWord
from shop.floor.models import Rework, Step
from shop.floor.spell import One, Ones, Spell

__all__ = [
    "By",
    "ByWord",
    "Escapes",
    "OfGroup",
    "OfOperation",
    "OfWord",
    "One",
    "Ones",
    "OpenRework",
    "Spell",
    "by_word_rows",
    "escape_rows",
    "escaped",
    "escapes",
    "escapes_by",
    "found",
    "found_on",
    "group_rows",
    "one_rows",
    "open_rework",
    "open_rework_rows",
    "specs_built",
    "started_at",
    "yields",
]

yields = first_pass.yields
started_at = first_pass.started_at
found = founds.found
found_on = founds.found_on
escapes = founds.escapes
escapes_by = founds.escapes_by
specs_built = founds.specs_built
escaped = founds.escaped

HOUR: Final = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class OpenRework:
    """An instrument on a loop: since when and for how long, and the station that has it now.
    ``stage`` is "repair", "drying" or "redo"; ``station`` is "" where nobody can tell."""

    serial: str
    spec: str
    loop: str
    word: str
    since: datetime
    age: timedelta
    stage: str
    station: str


def open_rework(now: datetime, station: str = "", spec: str = "") -> tuple[OpenRework, ...]:
    """What is on a loop now, the longest first, and where. Four statements."""
    rows = Rework.objects.filter(closed_at__isnull=True).order_by("opened_at", "id")
    if spec:
        rows = rows.filter(instrument__revision__spec__key=spec)
    columns = (
        "instrument_id", "instrument__body__serial", "instrument__revision__spec__key",
        "instrument__rework", "loop", "word", "opened_at",
    )  # fmt: skip
    them = list(rows.values_list(*columns))
    loops = book.every_loop()
    stations = book.stations_of_operations()
    live = Step.objects.filter(instrument_id__in=[row[0] for row in them], void_at__isnull=True)
    done = set(live.values_list("instrument_id", "operation__code"))
    found = []
    for number, serial, its_spec, kept, loop, word, opened_at in them:
        facts = course.rework(kept)
        stage: str = facts.stage if facts else "repair"
        where = loops[loop].station_code if loop in loops else ""
        if facts and stage == "redo":
            to_come = [code for code in facts.redo if (number, code) not in done]
            where = stations.get(to_come[0], "") if to_come else where
            if facts.dry_until and in_utc(facts.dry_until) > in_utc(now):
                stage = "drying"
        age = in_utc(now) - in_utc(opened_at)
        one = OpenRework(serial, its_spec, loop, word, opened_at, age, stage, where)
        if station in ("", where):
            found.append(one)
    return tuple(found)


# --- as rows of a table, the first one names the columns ---


def group_rows(groups: Sequence[OfGroup], by: By = "") -> Iterator[list[str]]:
    yield [by or "group", "operation", "station", "started", "passed", "yield", "low", "high"]
    for group in groups:
        for one in group.operations:
            counted = one.counted
            low, high = counted.interval or (None, None)
            yield [
                group.key, one.operation, one.station, str(counted.started), str(counted.passed),
                _share(counted.share), _share(low), _share(high),
            ]  # fmt: skip
        counted = group.counted
        yield [
            group.key, "rolled", "", str(counted.started), str(counted.passed),
            _share(group.rolled), "", "",
        ]  # fmt: skip


def by_word_rows(found: ByWord) -> Iterator[list[str]]:
    yield ["family", "word", "count", "inspected", "per hundred", "minutes"]
    for one in found.words:
        often = "" if one.per_hundred is None else f"{one.per_hundred:.2f}"
        yield [
            one.family, one.word, str(one.count), str(found.inspected), often, str(one.minutes),
        ]  # fmt: skip


def escape_rows(divided: Sequence[tuple[str, Escapes]]) -> Iterator[list[str]]:
    """Of each part asked for: a spec, or a week."""
    yield ["part", "escaped", "inspected twice", "rate"]
    for key, one in divided:
        yield [key, str(one.escaped), str(one.inspected), _share(one.rate)]


def open_rework_rows(rows: Sequence[OpenRework]) -> Iterator[list[str]]:
    yield ["serial", "spec", "loop", "word", "since", "hours", "stage", "station"]
    for one in rows:
        yield [
            one.serial, one.spec, one.loop, one.word, _moment(one.since),
            f"{one.age / HOUR:.1f}", one.stage, one.station,
        ]  # fmt: skip


def one_rows(ones: Ones) -> Iterator[list[str]]:
    yield ["serial", "spec", "at", "where", "words"]
    for one in ones.rows:
        yield [one.serial, one.spec, _moment(one.at), one.where, one.words]


def _share(share: float | None) -> str:
    return "" if share is None else f"{share:.4f}"


def _moment(at: datetime) -> str:
    """By the shop's clock."""
    return localtime(at).isoformat(timespec="minutes")
