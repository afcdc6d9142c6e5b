"""What passed the first time: of the instruments that were begun at an operation, those that no
rework ever sent back over it.

An instrument counts once at an operation, at the moment it was first recorded there, whatever
came later: a rework next month is a failure of this month. A row that was struck never was.
One begun and not recorded yet is neither passed nor failed, and waits.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

from django.db import connection
from django.db.models import Case, F, Min, Value, When
from django.db.models import Max as Most

from shop.catalogue import book
from shop.craft.quality.spells import week
from shop.craft.quality.yields import Yield, rolled
from shop.floor.models import Step
from shop.floor.spell import One, Ones, Spell, begins, page_of, span

By = Literal["", "station", "spec", "week"]
"""How the figures are divided: not at all, or into one group for each of these."""

REWORK: Final = "rework:"  # how the reason of a void begins that a rework gave


@dataclass(frozen=True, slots=True)
class OfOperation:
    """How many of those started at an operation passed it with no rework."""

    operation: str
    station: str
    counted: Yield


@dataclass(frozen=True, slots=True)
class OfGroup:
    """The operations of a station, a spec or a week ("2031-W10"), along the floor."""

    key: str
    operations: tuple[OfOperation, ...]

    @property
    def counted(self) -> Yield:
        """All passes of all starts: what one operation of it yields in the mean."""
        counts = [one.counted for one in self.operations]
        return Yield(sum(one.passed for one in counts), sum(one.started for one in counts))

    @property
    def fewest(self) -> int:
        """How many were started where the fewest were."""
        return min((one.counted.started for one in self.operations), default=0)

    @property
    def most(self) -> int:
        """How many were started where the most were: about as many guitars as it is made of."""
        return max((one.counted.started for one in self.operations), default=0)

    @property
    def rolled(self) -> float:
        """The share that passes all of its operations at once."""
        shares = (one.counted.share for one in self.operations)
        return rolled([one for one in shares if one is not None])


def yields(spell: Spell, by: By = "") -> tuple[OfGroup, ...]:
    """The yields of a spell, in groups: one for all, or those it is divided by. Stations stand
    along the floor, specs by their keys, weeks oldest first; where nothing was started there
    is none. Three statements, and one more where specs come in."""
    operations = book.operations()
    specs = book.specs_of_revisions() if spell.spec or by == "spec" else {}
    counts: dict[str, dict[int, list[int]]] = {}
    mondays = spell.weeks if by == "week" else ()
    for number, part, started, failed in _counted(spell, by, operations, specs):
        key = ""
        if by == "spec":
            key = specs[part]
        elif by == "week":
            key = week(mondays[part])
        sums = counts.setdefault(key, {}).setdefault(number, [0, 0])
        sums[0] += started
        sums[1] += failed
    groups = (
        OfGroup(key, tuple(_of_operations(operations, sums)))
        for key, sums in sorted(counts.items())
    )
    found = [one for one in groups if one.operations]
    return tuple(_of_stations(found)) if by == "station" else tuple(found)


def _of_operations(
    operations: Sequence[tuple[int, str, str]], sums: Mapping[int, Sequence[int]]
) -> Iterator[OfOperation]:
    for number, code, station in operations:
        started, failed = sums.get(number, (0, 0))
        if started:
            yield OfOperation(code, station, Yield(started - failed, started))


def _of_stations(groups: Sequence[OfGroup]) -> Iterator[OfGroup]:
    stations: dict[str, list[OfOperation]] = {}
    for group in groups:
        for one in group.operations:
            stations.setdefault(one.station, []).append(one)
    for station, them in stations.items():
        yield OfGroup(station, tuple(them))


# --- the statements ---

# Nearly every step stands, and stands for the first time: those are counted by looking at
# nothing else. Only where a step is void (``step_void``, an index of those alone) is it worked
# out what came first; what stands there was counted at another moment, and is taken out again.
# Grouping a million steps by instrument, as it would be said first, takes seconds.
#
# What stands is counted operation by operation and week by week, each a stretch of one index
# (``step_stands``), which is never sorted nor grouped, and the table itself is not read.
#
# Measured over a million steps on PostgreSQL 15, 2 cores with nothing beside
# (``tests.bench.yields``): all in one 246 ms, by station 296 ms, by spec, which reads and joins
# the table, 411 ms, by week over all years 454 ms; one week 114 ms.
# If a step told that it was done before, the second would take 75 ms in the same place.
_STANDING: Final = """
WITH place(number) AS (VALUES {places}), part(number, since, until) AS (VALUES {parts})
SELECT place.number, part.number, (
    SELECT COUNT(*) FROM floor_step s WHERE s.operation_id = place.number
        AND s.void_at IS NULL AND s.at >= part.since AND s.at < part.until
), 0 FROM place CROSS JOIN part
"""
_STANDING_OF_SPECS: Final = """
SELECT s.operation_id, {part}, COUNT(*), 0 FROM floor_step s {join}
WHERE s.void_at IS NULL AND s.at >= %(since)s AND s.at < %(until)s {only} GROUP BY 1, 2
"""
_AGAIN: Final = """
SELECT s.operation_id, {part}, SUM(s.started), SUM(s.failed) FROM (
    SELECT again.instrument_id, again.operation_id, side.started,
        CASE WHEN side.started > 0 THEN again.failed ELSE 0 END AS failed,
        CASE WHEN side.started < 0 OR again.stands < again.began THEN again.stands
            ELSE again.began END AS at
    FROM (
        SELECT v.instrument_id, v.operation_id, MIN(v.at) AS began,
            MAX(CASE WHEN v.void_why LIKE %(rework)s THEN 1 ELSE 0 END) AS failed,
            (SELECT l.at FROM floor_step l WHERE l.instrument_id = v.instrument_id
                AND l.operation_id = v.operation_id AND l.void_at IS NULL) AS stands
        FROM floor_step v WHERE v.void_at IS NOT NULL AND NOT v.struck
        GROUP BY v.instrument_id, v.operation_id
    ) again CROSS JOIN (SELECT 1 AS started UNION ALL SELECT -1) side
) s {join}
WHERE s.at >= %(since)s AND s.at < %(until)s {only} GROUP BY 1, 2
"""
_INSTRUMENTS: Final = "JOIN floor_instrument i ON i.id = s.instrument_id"


def _counted(
    spell: Spell,
    by: By,
    operations: Sequence[tuple[int, str, str]],
    specs: Mapping[int, str],
) -> list[tuple[int, int, int, int]]:
    """Rows of operation, part, started and failed: the part is a revision where specs are
    asked for, the number of a week of the spell, else 0. A row may take back of another."""
    there = [n for n, _, station in operations if spell.station in ("", station)]
    only, part = "", "0"
    if spell.station:
        only += f"AND s.operation_id IN ({_numbers(there)}) "
    if spell.spec:
        revisions = [number for number, key in specs.items() if key == spell.spec]
        only += f"AND i.revision_id IN ({_numbers(revisions)}) "
    edges = [spell.since, spell.until]
    if by == "spec":
        part = "i.revision_id"
    elif by == "week":
        edges[1:1] = map(begins, spell.weeks[1:])
        part = _week_of(0, len(edges) - 2)
    values = {f"edge{n}": edge for n, edge in enumerate(edges)}
    values |= {"since": spell.since, "until": spell.until}
    adapted: dict[str, Any] = {
        name: connection.ops.adapt_datetimefield_value(value) for name, value in values.items()
    }
    more = {"rework": f"{REWORK}%"}
    parts = (f"({n}, %(edge{n})s, %(edge{n + 1})s)" for n in range(len(edges) - 1))
    pieces = {
        "part": part,
        "join": _INSTRUMENTS if specs else "",
        "only": only,
        "places": ", ".join(f"({number})" for number in there or [0]),
        "parts": ", ".join(parts),
    }
    standing = _STANDING_OF_SPECS if specs else _STANDING
    with connection.cursor() as cursor:
        cursor.execute(standing.format(**pieces), adapted)
        rows = cursor.fetchall()
        cursor.execute(_AGAIN.format(**pieces), adapted | more)
        rows += cursor.fetchall()
    return [tuple(map(int, row)) for row in rows]  # type: ignore[misc]


def _numbers(them: Sequence[int]) -> str:
    """For a list in SQL; of none, a number that nothing has."""
    return ", ".join(map(str, them or [0]))


def _week_of(first: int, last: int) -> str:
    """SQL for the number of the week a moment lies in, found by halves: the databases' own
    ways to tell a week cost three times as much, and know the shop's calendar less."""
    if first == last:
        return str(first)
    middle = (first + last + 1) // 2
    before, after = _week_of(first, middle - 1), _week_of(middle, last)
    return f"CASE WHEN s.at < %(edge{middle})s THEN {before} ELSE {after} END"


# --- behind a bar ---


def started_at(
    spell: Spell, operation: str = "", *, failed: bool = False, page: int = 1, shown: int = 0
) -> Ones:
    """The instruments that were started at an operation, or at any of the spell's station, the
    newest first; with ``failed`` those alone that a rework sent back over it. One statement."""
    rows = Step.objects.filter(struck=False)
    if operation:
        rows = rows.filter(operation__code=operation)
    if spell.station:
        rows = rows.filter(operation__station__code=spell.station)
    if spell.spec:
        rows = rows.filter(instrument__revision__spec__key=spell.spec)
    back = When(void_at__isnull=False, void_why__startswith=REWORK, then=F("void_why"))
    counted = (
        rows.order_by()
        .values_list("instrument_id", "operation_id")
        .annotate(first=Min("at"), why=Most(Case(back, default=Value(""))))
        .filter(first__gte=spell.since, first__lt=spell.until)
    )
    if failed:
        counted = counted.exclude(why="")
    named = counted.values_list(
        "instrument__body__serial", "instrument__revision__spec__key", "first",
        "operation__code", "why",
    )  # fmt: skip
    found = list(named.order_by("-first", "instrument_id", "operation_id")[span(page, shown)])
    some, later = page_of(found, page, shown)
    return Ones(tuple(One(*row[:4], _why(row[4])) for row in some), later)


def _why(void_why: str) -> str:
    """The loop and the word of it, without that it was a rework."""
    return void_why.removeprefix(REWORK).strip()
