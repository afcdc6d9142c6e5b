"""Values as they are typed, by hand or by a gauge, and whether they are to be believed."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal
from statistics import median
from typing import Final

from shop.craft.gauging.quantities import QUANTITIES
from shop.craft.gauging.quantity import Place, Quantity, every_string
from shop.craft.hardware import UNMEASURED, SpecFacts
from shop.craft.head import posts
from shop.craft.lengths import MM_PER_INCH
from shop.craft.reading import Reading, Readings

KEPT: Final = Decimal("0.0001")  # what is kept of a value, in its unit
INCH_MARKS: Final = frozenset({"in", '"', "\u2033"})
NEIGHBOURS: Final = 3  # from so many on, their middle stands though one of them is wrong


class NotANumber(ValueError):
    """What was typed is no number; the message says what to write."""


# A comma or a point, and the unit some gauges send behind the figure.
_TYPED: Final = re.compile(
    r"([+\-\u2212]?)(\d{0,6})(?:[.,](\d{0,12}))?\s*(mm|in|\"|\u2033)?", re.IGNORECASE
)
_QUOTED: Final = 20  # characters of what was typed that are said back
_WHOLE: Final = re.compile(r"[0-9]{1,9}")  # what every column and key of the floor holds


def number(text: str, *, inch: bool = False) -> Decimal:
    """A typed or sent length in millimetres; ``inch``: bare figures are inches.

    >>> number("8,73"), number("0.344 in"), number("0.25", inch=True)
    (Decimal('8.73'), Decimal('8.7376'), Decimal('6.350'))

    Raises ``NotANumber`` for anything else.
    """
    value, unit = _figure(text)
    return value if (unit or ("in" if inch else "mm")) == "mm" else value * MM_PER_INCH


def bare_number(text: str, unit: str) -> Decimal:
    """A typed figure that is no length, in ``unit``, which is "" where it has none.

    >>> bare_number("\u22121,5", "cents")
    Decimal('-1.5')

    Raises ``NotANumber`` where it is none, or has the unit of a length behind it.
    """
    value, behind = _figure(text)
    if behind:
        in_what = f" in {unit}" if unit else ""
        raise NotANumber(f"This is no length. Write the number alone{in_what}.")
    return value


def _figure(text: str) -> tuple[Decimal, str]:
    """The figure in a text and its unit, "" where it has none. Raises ``NotANumber``."""
    typed = text.strip()
    found = _TYPED.fullmatch(typed)
    if found is None or not (found[2] or found[3]):
        quoted = typed if len(typed) <= _QUOTED else f"{typed[:_QUOTED]}\u2026"
        raise NotANumber(f"{quoted or 'Nothing'} is no number. Write it as 8.73 or 8,73.")
    sign = "-" if found[1] in {"-", "\u2212"} else ""
    unit = (found[4] or "").lower()
    return Decimal(f"{sign}{found[2] or 0}.{found[3] or 0}"), "in" if unit in INCH_MARKS else unit


def whole(text: str) -> int | None:
    """A count or number as tapped or typed, nine figures at most; nothing where it is none.

    >>> whole(" 37 "), whole("-1"), whole("\u00b2"), whole("9" * 10)
    (37, None, None, None)
    """
    told = text.strip()
    return int(told) if _WHOLE.fullmatch(told) else None


@dataclass(frozen=True, slots=True)
class Problem:
    """Why one value was not taken. ``doubtful``: it will be, once somebody says it is so."""

    quantity: str
    place: str
    words: str
    doubtful: bool = False


@dataclass(frozen=True, slots=True)
class Taken:
    """What became of the values that were entered; all are taken or none."""

    readings: tuple[Reading, ...]
    problems: tuple[Problem, ...]


Spot = tuple[str, str]  # quantity and place


def asked(
    spec: SpecFacts, quantities: Sequence[str]
) -> tuple[tuple[Quantity, tuple[Place, ...]], ...]:
    """What is to be measured on a guitar of this spec, of these quantities, and where."""
    found = ((QUANTITIES[key], QUANTITIES[key].places(spec)) for key in quantities)
    return tuple((quantity, places) for quantity, places in found if places)


def missing(
    spec: SpecFacts, quantities: Sequence[str], readings: Readings, operation: str
) -> tuple[Spot, ...]:
    """The spots of these quantities that have no reading in force that answers this
    operation: what another one measured is no answer here."""
    had = {(one.quantity, one.place) for one in readings.values if one.answers(operation)}
    return tuple(
        (quantity.key, place.key)
        for quantity, places in asked(spec, quantities)
        for place in places
        if (quantity.key, place.key) not in had
    )


def answering(
    taken: Sequence[Reading], operation: str, quantities: Collection[str], before: Readings
) -> tuple[Reading, ...]:
    """These values, taken at an operation that asks for ``quantities``, each with the
    operation it answers: this one; or, where this one does not ask for it and only measures
    again, the one that the value it corrects had answered."""
    had = {(one.quantity, one.place): one.operation for one in before.values}
    return tuple(
        replace(
            one,
            operation=operation
            if one.quantity in quantities
            else had.get((one.quantity, one.place), operation),
        )
        for one in taken
    )


def beside(before: Readings, operation: str, quantities: Collection[str]) -> Readings:
    """Of the readings in force those that stand beside values taken at an operation that asks
    for ``quantities``: of these its own alone, for another look is not to lead this one; of
    others, that it only measures again, all."""
    return Readings(
        tuple(
            one for one in before.values if one.answers(operation) or one.quantity not in quantities
        )
    )


def take(
    spec: SpecFacts,
    said: Mapping[Spot, str],
    *,
    sure: Collection[Spot] = (),
    inch: bool = False,
    before: Readings = UNMEASURED,
) -> Taken:
    """Read what was entered: the values, or every reason why they are not taken.

    ``sure`` names the doubtful spots that somebody looked at again; ``before`` holds the
    readings in force, whose neighbours count.
    """
    readings: list[Reading] = []
    problems: list[Problem] = []
    for spot, text in said.items():
        found = _read(spec, spot, text, inch)
        (problems if isinstance(found, Problem) else readings).append(found)  # type: ignore[arg-type]
    after = before.with_more(tuple(readings))
    for one in readings:
        if (one.quantity, one.place) not in sure:
            problems.extend(_doubts(spec, one, after))
    return Taken(() if problems else tuple(readings), tuple(problems))


def _read(spec: SpecFacts, spot: Spot, text: str, inch: bool) -> Reading | Problem:
    key, place = spot
    quantity = QUANTITIES.get(key)
    if quantity is None or place not in {one.key for one in quantity.places(spec)}:
        return Problem(key, place, f"{key} {place} is not measured on {spec.name}.")
    try:
        value = _value(quantity, text, inch)
    except NotANumber as why:
        return Problem(key, place, str(why))
    if not quantity.low <= value <= quantity.high:
        return Problem(key, place, _cannot_be(quantity, value))
    if quantity.answers and value not in (0, 1):
        return Problem(key, place, "Choose one of the two answers.")
    return Reading(key, place, value.quantize(KEPT, ROUND_HALF_UP).normalize())


def _value(quantity: Quantity, text: str, inch: bool) -> Decimal:
    """What was entered, in the quantity's unit. Raises ``NotANumber``."""
    return number(text, inch=inch) if quantity.is_length else bare_number(text, quantity.unit)


def _cannot_be(quantity: Quantity, value: Decimal) -> str:
    words = f"{quantity.said(value)} cannot be: {quantity.words.lower()} is {quantity.range_words}."
    if quantity.is_length and quantity.low <= value * MM_PER_INCH <= quantity.high:
        return f"{words} If it was read in inches, write in behind it."
    if quantity.is_length and quantity.low <= value / MM_PER_INCH <= quantity.high:
        return f"{words} If it was read in millimetres, write mm behind it."
    return words


def _doubts(spec: SpecFacts, one: Reading, after: Readings) -> Iterator[Problem]:
    quantity = QUANTITIES[one.quantity]
    if quantity.doubt is None:
        return
    others = [other.value for other in after.of(one.quantity) if other.place != one.place]
    alone = len(others) < NEIGHBOURS
    usual = quantity.expected(spec) if alone else median(others)
    if usual is not None and abs(one.value - usual) > quantity.doubt:
        whose = "The spec says" if alone else "The others are about"
        words = f"{quantity.said(one.value)}? {whose} {quantity.said(usual)}."
        yield Problem(one.quantity, one.place, words, doubtful=True)


def where(spec: SpecFacts, quantity: Quantity, place: Place) -> str:
    """Where a place is, for one that is named by its string: its post, seen from the front.

    "" for a place whose own words say it.
    """
    if quantity.places is not every_string:
        return ""
    return next((post.words for post in posts(spec) if post.string == place.key), "")


def said(one: Reading) -> str:
    """A reading in words, its unit with it: "8.73 mm", or the answer chosen."""
    quantity = QUANTITIES[one.quantity]
    if quantity.answers:
        return quantity.answers[0 if one.value else 1]
    return quantity.said(one.value)
