"""What is measured at the bench, where on the guitar, and which values can be believed.

A value comes typed on the keypad, or typed by a gauge that sends its reading as keys, with
a decimal comma or point and perhaps its unit. One that no guitar can have is refused with
the range that can be; one far from what the spec or its neighbours say is asked again.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from statistics import median
from typing import Final

from shop.craft.hardware import UNMEASURED, Bushing, SpecFacts
from shop.craft.head import at_nut, posts
from shop.craft.lengths import MM_PER_INCH
from shop.craft.reading import Reading, Readings
from shop.craft.size import Size, plain
from shop.craft.words import THIN

KEPT: Final = Decimal("0.0001")  # what is kept of a value, in its unit
INCH_MARKS: Final = frozenset({"in", '"', "\u2033"})
NEIGHBOURS: Final = 3  # from so many on, their middle stands though one of them is wrong


@dataclass(frozen=True, slots=True)
class Place:
    """One spot that is measured: its key ("6") and its words ("string 6")."""

    key: str
    words: str


Places = Callable[[SpecFacts], tuple[Place, ...]]
Expected = Callable[[SpecFacts], Decimal | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """A thing that is measured: its unit, what is plausible, what is doubtful.

    ``low`` and ``high`` bound what a guitar can have. A value further than ``doubt`` from
    what the spec expects, or from the middle of its neighbours, is asked again. With
    ``answers`` it is no number but one of two answers, kept as 1 and 0. ``places`` is empty
    where a spec has no such thing.
    """

    key: str
    words: str
    unit: str
    low: Decimal
    high: Decimal
    places: Places
    doubt: Decimal | None = None
    expected: Expected = lambda _: None
    answers: tuple[str, ...] = ()
    how: str = ""  # how it is measured, in a line

    @property
    def is_length(self) -> bool:
        return self.unit == "mm"

    @property
    def range_words(self) -> str:
        return self.said(Size(self.low, self.high))

    def said(self, value: Decimal | Size) -> str:
        """A value, or a range of them, with the unit: "8.73 mm"."""
        figure = plain(value) if isinstance(value, Decimal) else value
        return f"{figure}{THIN}{self.unit}".rstrip(THIN)


def _strings(spec: SpecFacts) -> tuple[Place, ...]:
    """Every string from the thickest to the thinnest."""
    order = at_nut(spec)
    from_bass = order if order[0].startswith("6") else order[::-1]
    return tuple(Place(one, f"string {one}") for one in from_bass)


def _only(*places: tuple[str, str]) -> Places:
    fixed = tuple(Place(key, words) for key, words in places)
    return lambda _: fixed


def _where(applies: Callable[[SpecFacts], bool], places: Places) -> Places:
    return lambda spec: places(spec) if applies(spec) else ()


def _hole(spec: SpecFacts) -> Decimal | None:
    return spec.post_hole_mm if spec.bushing is Bushing.NONE else spec.bushing_hole_mm


def _paired(spec: SpecFacts) -> bool:
    return spec.strings == 12


def _d(number: str) -> Decimal:
    return Decimal(number)


# Plausible ranges and doubts are common practice, no source.
QUANTITIES: Final[dict[str, Quantity]] = {
    one.key: one
    for one in (
        Quantity(
            key="peghead",
            words="Peghead thickness",
            unit="mm",
            low=_d("10"),
            high=_d("25"),
            doubt=_d("1"),
            expected=lambda spec: spec.peghead_mm,
            places=_only(("tip", "near the tip"), ("middle", "middle"), ("nut", "near the nut")),
            how="Calliper square across the head, felt under the jaws.",
        ),
        Quantity(
            key="hole",
            words="Post hole",
            unit="mm",
            low=_d("5"),
            high=_d("13"),
            doubt=_d("0.35"),
            expected=_hole,
            places=_strings,
            how="Pin gauge or bore gauge from the face; clear the lacquer first.",
        ),
        Quantity(
            key="worm",
            words="Bench test of one left and one right machine",
            unit="",
            low=_d("0"),
            high=_d("1"),
            answers=("Worm nearest the nut, button tightens counter-clockwise", "Otherwise"),
            places=lambda spec: (
                *((Place("L", "a left machine"),) if spec.left_posts else ()),
                *((Place("R", "a right machine"),) if spec.right_posts else ()),
            ),
            how="Hold it as it will sit. Turn the button as seen from its own end.",
        ),
        Quantity(
            key="turns",
            words="Turns a threaded bushing engages",
            unit="turns",
            low=_d("0"),
            high=_d("20"),
            places=_where(
                lambda spec: spec.bushing is Bushing.THREAD, _only(("least", "the least of all"))
            ),
            how="Count by hand, before the spanner.",
        ),
        Quantity(
            key="torque",
            words="Torque on the bushings",
            unit="N\u202fm",
            low=_d("0.1"),
            high=_d("10"),
            places=_where(
                lambda spec: spec.bushing is Bushing.THREAD, _only(("most", "the most of all"))
            ),
            how="As the torque driver is set.",
        ),
        Quantity(
            key="pilot",
            words="Pilot bit",
            unit="mm",
            low=_d("0.5"),
            high=_d("3"),
            places=_only(("bit", "the bit")),
            how="Calliper on the bit in the chuck.",
        ),
        Quantity(
            key="collar",
            words="Stop collar",
            unit="mm",
            low=_d("1"),
            high=_d("30"),
            places=_only(("depth", "bit beyond the collar")),
            how="From the face of the collar to the tip of the bit.",
        ),
        Quantity(
            key="tail_hole",
            words="Tail hole",
            unit="mm",
            low=_d("6"),
            high=_d("16"),
            doubt=_d("0.5"),
            expected=lambda spec: spec.tail_hole_mm,
            places=_where(lambda spec: spec.tail != "none", _only(("tail", "at the tail"))),
        ),
        Quantity(
            key="tail_block",
            words="Tail block",
            unit="mm",
            low=_d("8"),
            high=_d("80"),
            doubt=_d("5"),
            expected=lambda spec: spec.tail_block_mm,
            places=_where(lambda spec: spec.tail != "none", _only(("tail", "through the hole"))),
        ),
        Quantity(
            key="saddle_slot",
            words="Saddle slot width",
            unit="mm",
            low=_d("1.5"),
            high=_d("5"),
            doubt=_d("0.3"),
            expected=lambda spec: spec.saddle_slot_width_mm,
            places=_only(("bass", "bass end"), ("middle", "middle"), ("treble", "treble end")),
        ),
        Quantity(
            key="nut_slot",
            words="Nut slot width",
            unit="mm",
            low=_d("0.15"),
            high=_d("2.5"),
            doubt=None,
            places=_strings,
            how="The widest feeler that passes, or the file's own gauge.",
        ),
        Quantity(
            key="proud",
            words="Saddle above the bridge",
            unit="mm",
            low=_d("0"),
            high=_d("12"),
            places=_only(("bass", "bass side"), ("treble", "treble side")),
        ),
        Quantity(
            key="strap",
            words="Strap button to the nearest bolt or rod",
            unit="mm",
            low=_d("0"),
            high=_d("60"),
            places=_where(lambda spec: spec.strap_button, _only(("heel", "at the heel"))),
            how="Find the bolts with a magnet, measure to the nearest edge.",
        ),
        Quantity(
            key="octave",
            words="Octave string of each pair",
            unit="",
            low=_d("0"),
            high=_d("1"),
            answers=("Bass side", "Treble side"),
            places=_where(_paired, _only(*((f"{one}", f"course {one}") for one in (6, 5, 4, 3)))),
        ),
        Quantity(
            key="insulated",
            words="Battery contacts insulated, or its switch off",
            unit="",
            low=_d("0"),
            high=_d("1"),
            answers=("Yes", "No"),
            places=_where(lambda spec: bool(spec.electronics), _only(("battery", "the battery"))),
        ),
    )
}


class NotANumber(ValueError):
    """What was typed is no number; the message says what to write."""


# A comma or a point, and the unit some gauges send behind the figure.
_TYPED: Final = re.compile(
    r"([+\-\u2212]?)(\d{0,6})(?:[.,](\d{0,12}))?\s*(mm|in|\"|\u2033)?", re.IGNORECASE
)
_QUOTED: Final = 20  # characters of what was typed that are said back


def number(text: str, *, inch: bool = False) -> Decimal:
    """A typed or sent length in millimetres; ``inch``: bare figures are inches.

    >>> number("8,73"), number("0.344 in"), number("0.25", inch=True)
    (Decimal('8.73'), Decimal('8.7376'), Decimal('6.350'))

    Raises ``NotANumber`` for anything else.
    """
    value, unit = _figure(text)
    return value if (unit or ("in" if inch else "mm")) == "mm" else value * MM_PER_INCH


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


def missing(spec: SpecFacts, quantities: Sequence[str], readings: Readings) -> tuple[Spot, ...]:
    """The spots of these quantities that have no reading in force."""
    return tuple(
        (quantity.key, place.key)
        for quantity, places in asked(spec, quantities)
        for place in places
        if readings.at(quantity.key, place.key) is None
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
    if quantity.is_length:
        return number(text, inch=inch)
    value, unit = _figure(text)
    if unit:
        in_what = f" in {quantity.unit}" if quantity.unit else ""
        raise NotANumber(f"This is no length. Write the number alone{in_what}.")
    return value


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
    if quantity.places is not _strings:
        return ""
    return next((post.words for post in posts(spec) if post.string == place.key), "")


def said(one: Reading) -> str:
    """A reading in words, its unit with it: "8.73 mm", or the answer chosen."""
    quantity = QUANTITIES[one.quantity]
    if quantity.answers:
        return quantity.answers[0 if one.value else 1]
    return quantity.said(one.value)
