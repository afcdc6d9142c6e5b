"""What passed the first time: of the instruments that were begun at an operation, those that
passed it with no rework: none was sent from there before it was recorded, and none ever sent it
back over it.

An instrument counts once at an operation, at the moment it was first recorded there, whatever
came later: a rework next month is a failure of this month. A row that was struck never was.
One begun and not recorded yet is neither passed nor failed, and waits.

What is found at an operation is found there before that is recorded: a look that rejects a
guitar is recorded when the repair is done, for the first time. Where only a station was said,
it was the operation there that was recorded next.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, Final, Literal

from django.db import connection
from django.db.models import Case, F, Value, When

from shop.catalogue import book
from shop.craft.quality.spells import week
from shop.craft.quality.yields import Yield, rolled
from shop.floor import first_pass_statements as statements
from shop.floor.models import Defect, Instrument, Rework
from shop.floor.spell import One, Ones, Spell, begins, page_of, span

By = Literal["", "station", "spec", "week"]
"""How the figures are divided: not at all, or into one group for each of these."""

BITS: Final = 60  # operations told in one number of eight bytes
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
    weeks = [week(monday) for monday in spell.weeks] if by == "week" else []
    for number, part, started, failed in _counted(spell, by, operations, specs):
        key = ""
        if by == "spec":
            key = specs[part]
        elif by == "week":
            key = weeks[part]
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


def _counted(
    spell: Spell,
    by: By,
    operations: Sequence[tuple[int, str, str]],
    specs: Mapping[int, str],
) -> list[tuple[int, int, int, int]]:
    """Rows of operation, part, started and failed: the part is a revision where specs are
    asked for, the number of a week of the spell, else 0. A row may take back of another."""
    there = [n for n, _, station in operations if spell.station in ("", station)]
    part = "0"
    at_station = f"AND s.operation_id IN ({_numbers(there)}) " if spell.station else ""
    of_spec = _of_spec(spell.spec, specs) if spell.spec else ""
    edges = [spell.since, spell.until]
    if by == "spec":
        part = "s.of"
    elif by == "week":
        edges[1:1] = map(begins, spell.weeks[1:])
        part = _week_of(0, len(edges) - 2)
    values = {f"edge{n}": edge for n, edge in enumerate(edges)}
    values |= {"since": spell.since, "until": spell.until}
    adapted: dict[str, Any] = {
        name: connection.ops.adapt_datetimefield_value(value) for name, value in values.items()
    }
    words = _words([number for number, *_ in operations])
    more: dict[str, Any] = {"rework": f"{REWORK}%"}
    parts = (f"({n}, %(edge{n})s, %(edge{n + 1})s)" for n in range(len(edges) - 1))
    pieces = {
        "part": part,
        "of": "i.revision_id" if by == "spec" else "0",
        "join": statements.INSTRUMENTS if specs else "",
        "kept": "MATERIALIZED" if specs else "NOT MATERIALIZED",
        "only": at_station + of_spec,
        "of_spec": of_spec,
        "places": ", ".join(f"({number})" for number in there or [0]),
        "parts": ", ".join(parts),
        "words": ", ".join(f"({lowest})" for lowest in words),
        "within": at_station + (statements.WITHIN.format(bits=BITS) if len(words) > 1 else ""),
    }
    standing, by_bits = statements.STANDING, bool(specs) and by != "week"
    if specs:
        standing = statements.STANDING_BY_SPEC if by_bits else statements.STANDING_OF_SPECS
    with connection.cursor() as cursor:
        cursor.execute(standing.format(**pieces), adapted)
        rows: list[tuple[int, int, int, int]] = cursor.fetchall()
        if by_bits:
            rows = list(_told_apart(rows, by))
        away = statements.AWAY.format(named=_named(operations, more))
        cursor.execute(statements.OTHERWISE.format(away=away, **pieces), adapted | more)
        rows += cursor.fetchall()
    return rows


def _words(numbers: Sequence[int]) -> list[int]:
    """The least number of each stretch of ``BITS`` that holds some of these."""
    return sorted({number - number % BITS for number in numbers}) or [0]


def _told_apart(
    rows: Iterable[tuple[int, int, int, int]], by: By
) -> Iterator[tuple[int, int, int, int]]:
    """What stands, from bits to an operation each."""
    for revision, lowest, bits, many in rows:
        for bit in range(BITS):
            if (bits or 0) >> bit & 1:
                yield lowest + bit, revision if by == "spec" else 0, many, 0


def _named(operations: Sequence[tuple[int, str, str]], more: dict[str, Any]) -> str:
    """For ``statements.AWAY``: under which codes something is found at an operation, its own
    and that of its station. The codes go among the parameters, ``more``."""
    rows = []
    for number, *codes in operations:
        for which, code in enumerate(codes):
            more[f"code{number}_{which}"] = code
            rows.append(f"(%(code{number}_{which})s, {number})")
    return ", ".join(rows or ["(NULL, 0)"])


def _of_spec(spec: str, specs: Mapping[int, str]) -> str:
    """What narrows steps to the revisions of a spec."""
    revisions = [number for number, key in specs.items() if key == spec]
    return f"AND i.revision_id IN ({_numbers(revisions)}) "


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
    newest first; with ``failed`` those alone that a rework was sent from there, or sent back
    over it. Three statements, one more of a spec and one where a rework was sent from there."""
    operations = book.operations()
    places = {number: (code, station) for number, code, station in operations}
    there = [
        number
        for number, (code, station) in places.items()
        if operation in ("", code) and spell.station in ("", station)
    ]
    join, only = "", f"AND s.operation_id IN ({_numbers(there)}) "
    if spell.spec:
        join, only = (
            statements.INSTRUMENTS,
            f"{only} {_of_spec(spell.spec, book.specs_of_revisions())}",
        )
    asked: dict[str, Any] = {"rework": f"{REWORK}%"}
    for name, moment in (("since", spell.since), ("until", spell.until)):
        asked[name] = connection.ops.adapt_datetimefield_value(moment)
    of_page = span(page, shown)
    sql = statements.BEGUN.format(
        away=statements.AWAY.format(named=_named(operations, asked)), join=join, only=only,
        which=statements.FAILED if failed else "",
        first=of_page.start, many=of_page.stop - of_page.start,
    )  # fmt: skip
    with connection.cursor() as cursor:
        cursor.execute(sql, asked)
        found = cursor.fetchall()
    some, later = page_of(found, page, shown)
    numbers = {number for number, *_ in some}
    columns = ("pk", "body__serial", "revision__spec__key")
    rows = Instrument.objects.filter(pk__in=numbers).values_list(*columns)
    named = {number: (serial, spec) for number, serial, spec in rows}
    sent = _sent_from({number for number, *_, away in some if away})
    ones = []
    for number, at, first, void_why, away in some:
        moment = _moment(first)
        words = _before(sent[number], places[at], moment) if away else _why(void_why)
        ones.append(One(*named[number], moment, places[at][0], words))
    return Ones(tuple(ones), later)


def _moment(kept: Any) -> datetime:
    """A moment as a statement of its own gives it: SQLite has it as text, in UTC."""
    if isinstance(kept, datetime):
        return kept
    return datetime.fromisoformat(kept).replace(tzinfo=UTC)


Sent = tuple[str, datetime, str, str]  # where it was found, when it was sent, the loop and word


def _sent_from(numbers: Collection[int]) -> dict[int, list[Sent]]:
    """What each of these instruments was sent on a loop for; one statement, none for none."""
    rows: dict[int, list[Sent]] = {}
    if not numbers:
        return rows
    # The loop of what joined another is not its own, and is not told.
    opened = When(decided_at=F("rework__opened_at"), then=F("rework__loop"))
    noted = (
        Defect.objects.filter(instrument_id__in=numbers, rework__isnull=False)
        .order_by()
        .annotate(own=Case(opened, default=Value("")))
        .values_list("instrument_id", "found_at", "decided_at", "own", "word")
    )
    begun = Rework.objects.filter(instrument_id__in=numbers).order_by()
    told = begun.values_list("instrument_id", "found_at", "opened_at", "loop", "word")
    for number, place, at, loop, word in told.union(noted):
        rows.setdefault(number, []).append((place, at, loop, word))
    return rows


def _before(sent: Sequence[Sent], places: Sequence[str], at: datetime) -> str:
    """The last that was found at one of these places before a moment, in words."""
    them = [one for one in sent if one[0] in places and one[1] < at]
    *_, loop, word = max(them, key=lambda one: one[1])
    return f"{loop}: {word}" if loop else word


def _why(void_why: str) -> str:
    """The loop and the word of it, without that it was a rework."""
    return void_why.removeprefix(REWORK).strip()
