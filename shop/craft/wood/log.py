"""The room's log as a sensor writes it: our own open form of it, and what is wrong with one.

A text of lines. The first names the columns, in any order and case: ``when``, ``celsius``,
``rh`` and, where one file does not come from one known sensor, ``sensor``. Every other line
is one reading::

    when,celsius,rh,sensor
    2031-03-03T06:45+01:00,21.4,47,S-2
    2031-03-03T05:55Z,21.3,46.5,S-2

``when`` is ISO 8601 with its zone, because clocks change twice a year. ``celsius`` and
``rh`` are figures with a point or a comma and are kept to the tenth. Between two cells stands
a comma, a semicolon or a tab; where figures have a comma, a semicolon or a tab. Empty lines and
lines that begin with ``#`` are passed over.

A small gauge that types what it shows sends ``T21.4 H47`` (:func:`typed`).
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Final

from shop.craft import cell
from shop.craft.clocks import Air
from shop.craft.size import plain
from shop.craft.when import in_utc
from shop.craft.wood.room import RH_PCT, TEMP_C
from shop.craft.words import THIN, listed, several

COLUMNS: Final = ("when", "celsius", "rh")
SENSOR: Final = "sensor"
MOST_ROWS: Final = 5_000  # five weeks at one reading each ten minutes
MOST_SENSOR: Final = 20  # characters of its name
MOST_TOLD: Final = 20  # faults; whoever has more has another kind of file
AHEAD: Final = timedelta(minutes=10)  # the clock of a sensor may go so far before the shop's

# A sensor whose clock was never set begins long before, or ends long after.
YEARS: Final = (2000, 2199)

SAMPLE: Final = """\
when,celsius,rh,sensor
2031-03-03T06:45+01:00,21.4,47,S-2
2031-03-03T05:55Z,21.3,46.5,S-2
"""

_TENTH: Final = Decimal("0.1")
_DELIMITERS: Final = ",;\t"
_TYPED: Final = re.compile(
    r"\s*T\s*(?P<t>[+\-\u2212]?[0-9]{1,3}(?:[.,][0-9]{1,3})?)\s*°?C?[\s;/]*"
    r"H\s*(?P<h>[0-9]{1,3}(?:[.,][0-9]{1,3})?)\s*%?(?:RH)?\s*",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Log:
    """What a file says: its readings, oldest first, or what is wrong with it, never both."""

    sensor: str
    readings: tuple[Air, ...]
    faults: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Reading:
    line: int
    air: Air
    sensor: str


def read(text: str, now: datetime, sensor: str = "") -> Log:
    """The log in this text. ``sensor`` is its name where the file does not give it.

    Raises ``ValueError`` for a ``now`` without a time zone.
    """
    latest = in_utc(now) + AHEAD
    lines = [
        (number, line)
        for number, line in enumerate(text.lstrip("\ufeff").splitlines(), 1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    if not lines:
        return _wrong("There is nothing in this file. Choose the log again.")
    delimiter = _delimiter(lines[0][1])
    names = [one.casefold() for one in _cells(lines[0][1], delimiter)]
    lacking = [one for one in COLUMNS if one not in names]
    if lacking:
        return _wrong(
            f"Line {lines[0][0]} lacks {listed(lacking)}. The first line names the columns: "
            "when,celsius,rh."
        )
    if len(lines) == 1:
        return _wrong("Only the names of columns are in this file. Choose the log again.")
    if len(lines) - 1 > MOST_ROWS:
        return _wrong(
            f"The log has {len(lines) - 1} readings. Bring it in as files of {MOST_ROWS} at most."
        )
    rows: list[_Reading] = []
    faults: list[str] = []
    for number, line in lines[1:]:
        try:
            rows.append(_reading(number, _cells(line, delimiter), names, latest))
        except cell.NotSo as why:
            faults.append(f"Line {number}: {why}")
    faults += _at_odds(rows)
    name, told = _sensor([one.sensor for one in rows], sensor)
    faults += told
    if faults:
        return Log(name, (), _most(faults))
    kept = {in_utc(one.air.at): one.air for one in rows}
    return Log(name, tuple(kept[at] for at in sorted(kept)))


def written(log: Log) -> str:
    """The same log as text of this form, on one clock: UTC.

    >>> from datetime import UTC
    >>> air = Air(datetime(2031, 3, 3, 5, 45, tzinfo=UTC), Decimal("21.4"), Decimal("47"))
    >>> print(written(Log("S-2", (air,))), end="")
    when,celsius,rh,sensor
    2031-03-03T05:45:00Z,21.4,47,S-2
    """
    rows = (
        f"{in_utc(one.at).replace(tzinfo=None).isoformat()}Z,{one.temp_c},{one.rh_pct},{log.sensor}"
        for one in log.readings
    )
    return "".join(f"{line}\n" for line in (",".join((*COLUMNS, SENSOR)), *rows))


def typed(text: str) -> tuple[Decimal, Decimal] | None:
    """What a small gauge typed, °C and %RH to the tenth; ``None`` where it is no such thing.

    >>> typed("T21.4 H47"), typed("t 21,44 h 47.0"), typed("21.4")
    ((Decimal('21.4'), Decimal('47.0')), (Decimal('21.4'), Decimal('47.0')), None)
    """
    found = _TYPED.fullmatch(text)
    if found is None:
        return None
    return _to_the_tenth(cell.exact(found["t"])), _to_the_tenth(cell.exact(found["h"]))


def _reading(number: int, cells: Sequence[str], names: Sequence[str], latest: datetime) -> _Reading:
    if len(cells) > len(names) and any(cells[len(names) :]):
        raise cell.NotSo(
            f"it has {len(cells)} cells under {len(names)} names. Where figures have a comma, "
            "put a semicolon between cells."
        )
    row = dict(zip(names, cells, strict=False))
    at = _moment(row.get("when", ""))
    if in_utc(at) > latest:
        raise cell.NotSo(f"{row['when']} is still to come. Set the clock of the sensor.")
    temp_c = _figure(row.get("celsius", ""), "celsius", "°C", TEMP_C)
    rh_pct = _figure(row.get("rh", ""), "rh", "%RH", RH_PCT)
    sensor = cell.words(row.get(SENSOR, ""), MOST_SENSOR)
    return _Reading(number, Air(at, temp_c, rh_pct), sensor)


def _moment(text: str) -> datetime:
    if not text:
        raise cell.NotSo("when is empty. Write it as 2031-03-03T06:45+01:00.")
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        at = None
    if at is None or ":" not in text:
        raise cell.NotSo(f"{cell.quoted(text)} is no moment. Write it as 2031-03-03T06:45+01:00.")
    if at.utcoffset() is None:
        raise cell.NotSo(
            f"{cell.quoted(text)} has no zone. Write it behind, as 2031-03-03T06:45+01:00, or Z "
            "for UTC."
        )
    earliest, last = YEARS
    if not earliest <= at.year <= last:
        raise cell.NotSo(
            f"{cell.quoted(text)} is not of the years {earliest} to {last}. Set the clock of the "
            "sensor."
        )
    return at


def _figure(text: str, name: str, unit: str, between: tuple[Decimal, Decimal]) -> Decimal:
    if not text:
        raise cell.NotSo(f"{name} is empty. Write it, or leave the line out.")
    value = _to_the_tenth(cell.exact(text))
    least, most = between
    if not least <= value <= most:
        raise cell.NotSo(
            f"{plain(value)}{THIN}{unit} is not of a room that is worked in: {plain(least)} to "
            f"{plain(most)}{THIN}{unit} can be."
        )
    return value


def _at_odds(rows: Sequence[_Reading]) -> Iterator[str]:
    """Two lines of one moment that say two things."""
    first: dict[datetime, _Reading] = {}
    for one in rows:
        before = first.setdefault(in_utc(one.air.at), one)
        if (before.air.temp_c, before.air.rh_pct) != (one.air.temp_c, one.air.rh_pct):
            yield f"Line {one.line}: line {before.line} says another thing of the same moment."


def _sensor(named: Sequence[str], given: str) -> tuple[str, list[str]]:
    """Whose log it is: one sensor's, or the one that was given by whoever brings it."""
    names = sorted({one for one in named if one})
    given = cell.bare(given)
    if len(names) > 1:
        return "", [f"It is of {len(names)} sensors, {listed(names)}. Bring each in by itself."]
    if names and given and names[0] != given:
        return "", [f"It is of sensor {names[0]}, and {given} was said. Say the one it is of."]
    name = names[0] if names else given
    if not name:
        return "", ["No sensor is named. Say which one it is of."]
    if len(name) > MOST_SENSOR:
        return "", [f"The name of a sensor has {MOST_SENSOR} characters at most."]
    return name, []


def _delimiter(head: str) -> str:
    return max(_DELIMITERS, key=head.count)


def _cells(line: str, delimiter: str) -> list[str]:
    try:
        return [cell.bare(one) for one in next(csv.reader([line], delimiter=delimiter), [])]
    except csv.Error:  # a cell without end
        return []


def _to_the_tenth(value: Decimal) -> Decimal:
    return value.quantize(_TENTH, ROUND_HALF_EVEN)


def _wrong(words: str) -> Log:
    return Log("", (), (words,))


def _most(faults: Sequence[str]) -> tuple[str, ...]:
    more = len(faults) - MOST_TOLD
    if more <= 0:
        return tuple(faults)
    return (*faults[:MOST_TOLD], f"Beside these: {several(more, 'fault')} more.")
