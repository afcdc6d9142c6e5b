"""What was measured over many instruments: one characteristic after another, and what moved
between two looks. Every read is a constant number of statements."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Final, NamedTuple

from django.db.models import Count, Max, QuerySet

from shop.catalogue import book
from shop.catalogue.book import Sheet
from shop.craft import looks
from shop.craft.charts.drift import moved as move
from shop.craft.gauging import QUANTITIES, Place, Quantity
from shop.craft.inspecting.moving import LAST
from shop.floor.models import Reading, Step

NEWEST: Final = 100  # instruments on one chart: more cannot be told apart on a phone
READ: Final = 10 * NEWEST  # readings looked through for them, corrected ones among them
MOVING: Final = ("relief", "action")  # measured at both looks to see what moved


@dataclass(frozen=True, slots=True)
class Characteristic:
    """One quantity as an operation measures it on guitars of one spec."""

    spec: str
    operation: str
    quantity: Quantity
    instruments: int
    last: datetime


@dataclass(frozen=True, slots=True)
class Value:
    """The value in force of one instrument. ``serial`` is "" while the second look of it is
    still to be taken: nobody who takes it is to know what the first one read."""

    serial: str
    at: datetime
    value: Decimal
    overdue: bool  # read with a gauge that was not checked in time


@dataclass(frozen=True, slots=True)
class Run:
    """The newest values of a characteristic at one place, oldest first. ``sheet`` is that of
    the newest instrument's spec."""

    sheet: Sheet
    quantity: Quantity
    operation: str
    place: Place
    values: tuple[Value, ...]


@dataclass(frozen=True, slots=True)
class Moved:
    """One place of one instrument at both looks, each value in force."""

    serial: str
    spec: str
    quantity: Quantity
    place: Place
    first: Decimal
    second: Decimal
    at: datetime  # of the second look


def characteristics() -> tuple[Characteristic, ...]:
    """All that is measured as a number, with how many instruments have it."""
    named = ("instrument__revision__spec__key", "operation", "quantity")
    rows = (
        Reading.objects.order_by(*named)
        .values_list(*named)
        .annotate(Count("instrument", distinct=True), Max("at"))
    )
    return tuple(
        Characteristic(spec, operation, QUANTITIES[quantity], instruments, last)
        for spec, operation, quantity, instruments, last in rows
        if operation and quantity in QUANTITIES and not QUANTITIES[quantity].answers
    )


def run(spec: str, operation: str, quantity: str, place: str = "") -> Run | None:
    """The values of a characteristic at a place, its first one unless told; ``None`` where
    there are none, or no such place."""
    found = QUANTITIES.get(quantity)
    # PostgreSQL looks for no text with a zero character in it.
    if found is None or found.answers or "\0" in f"{spec}{operation}":
        return None
    readings = Reading.objects.filter(
        instrument__revision__spec__key=spec, operation=operation, quantity=quantity
    ).order_by("-id")
    newest = readings.values_list("instrument__revision_id", "instrument__revision__version")
    revision = newest.first()
    if revision is None:
        return None
    sheet = book.sheet(*revision)
    places = found.places(sheet.spec)
    there = next((one for one in places if one.key == place or not place), None)
    if there is None:
        return None
    rows = readings.filter(place=there.key).values_list(
        "instrument_id", "instrument__body__serial", "at", "value", "overdue"
    )
    latest: dict[int, tuple[str, datetime, Decimal, bool]] = {}
    for number, serial, at, value, overdue in rows[:READ]:
        if len(latest) < NEWEST:
            latest.setdefault(number, (serial, at, value, overdue))
    hidden = _looked_at_once(sheet, operation, latest)
    values = (
        Value("" if number in hidden else serial, at, value, overdue)
        for number, (serial, at, value, overdue) in latest.items()
    )
    ordered = tuple(sorted(values, key=lambda one: one.at))
    return Run(sheet, found, operation, there, ordered)


def _looked_at_once(sheet: Sheet, operation: str, instruments: Iterable[int]) -> set[int]:
    """Those whose second look is still to come, where this operation is the first."""
    second = {after.code for first, after in looks.pairs(sheet.route) if first.code == operation}
    if not second:
        return set()
    numbers = set(instruments)
    done = Step.objects.filter(
        instrument_id__in=numbers, operation__code__in=second, void_at__isnull=True
    )
    return numbers - set(done.values_list("instrument_id", flat=True))


def moved() -> tuple[Moved, ...]:
    """What was read at both looks, of the newest instruments, in the order of the second."""
    return _at_both_looks(Reading.objects.filter(quantity__in=MOVING))


def moves_of(
    spec: str, quantity: str, last: int = LAST, *, place: str = "", but: int = 0
) -> tuple[float, ...]:
    """What the last instruments of a spec moved between the looks, oldest first, in the unit of
    the quantity: at one place, or at all of them; without the instrument numbered ``but``. One
    statement, but for sheets that were not read yet."""
    # PostgreSQL looks for no text with a zero character in it.
    if quantity not in QUANTITIES or "\0" in f"{spec}{place}":
        return ()
    rows = Reading.objects.filter(quantity=quantity, instrument__revision__spec__key=spec)
    if place:
        rows = rows.filter(place=place)
    if but:
        rows = rows.exclude(instrument_id=but)
    them = _at_both_looks(rows)[-last:] if last > 0 else ()
    return tuple(move(float(one.first), float(one.second)) for one in them)


def moves_by_place(
    spec: str, quantities: Collection[str], *, but: int = 0
) -> dict[tuple[str, str], tuple[float, ...]]:
    """The same of several quantities, at each place by itself: by quantity and place. One
    statement for all, but for sheets that were not read yet."""
    rows = Reading.objects.filter(quantity__in=quantities, instrument__revision__spec__key=spec)
    found: dict[tuple[str, str], list[float]] = {}
    for one in _at_both_looks(rows.exclude(instrument_id=but)):
        spot = (one.quantity.key, one.place.key)
        found.setdefault(spot, []).append(move(float(one.first), float(one.second)))
    return {spot: tuple(moves[-LAST:]) for spot, moves in found.items()}


def _at_both_looks(readings: QuerySet[Reading]) -> tuple[Moved, ...]:
    """Of these readings, what was read at both looks, in the order of the second."""
    rows = readings.order_by("-id").values_list(
        "instrument_id", "instrument__body__serial", "instrument__revision__spec__key",
        "instrument__revision_id", "instrument__revision__version",
        "quantity", "place", "operation", "value", "at", "id",
    )  # fmt: skip
    read: dict[tuple[int, str, str], dict[str, _Read]] = {}
    sheets: dict[int, tuple[str, str, Sheet]] = {}
    for number, serial, spec, revision, version, quantity, place, operation, value, at, row in rows[
        : 4 * READ
    ]:
        if number not in sheets:
            sheets[number] = (serial, spec, book.sheet(revision, version))
        read.setdefault((number, quantity, place), {}).setdefault(operation, _Read(value, at, row))
    found = [
        one
        for (number, quantity, place), values in read.items()
        for one in _of_both_looks(*sheets[number], QUANTITIES[quantity], place, values)
    ]
    return tuple(sorted(found, key=lambda one: (one.at, one.serial, one.place.key)))


class _Read(NamedTuple):
    """The value in force that one operation read, and when; a later row has a higher number."""

    value: Decimal
    at: datetime
    number: int


def _of_both_looks(
    serial: str, spec: str, sheet: Sheet, quantity: Quantity, key: str, read: Mapping[str, _Read]
) -> Iterator[Moved]:
    place = next((one for one in quantity.places(sheet.spec) if one.key == key), None)
    if place is None:
        return
    for first, second in looks.pairs(sheet.route):
        before, after = read.get(first.code), read.get(second.code)
        # After rework the first look is taken anew: what an earlier second one read is no
        # answer to it, and the new second one is still to be taken with fresh eyes.
        if before and after and after.number > before.number:
            yield Moved(serial, spec, quantity, place, before.value, after.value, after.at)
