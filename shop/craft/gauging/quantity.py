"""What a quantity is: its unit, where it is measured, which values it can have."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

from shop.craft.hardware import SpecFacts
from shop.craft.head import at_nut
from shop.craft.size import Size, plain
from shop.craft.words import THIN


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
    def signed(self) -> bool:
        """Whether it can be below zero, so that a minus has to be typed."""
        return self.low < 0

    @property
    def range_words(self) -> str:
        return self.said(Size(self.low, self.high))

    def said(self, value: Decimal | Size) -> str:
        """A value, or a range of them, with the unit: "8.73 mm"."""
        figure = plain(value) if isinstance(value, Decimal) else value
        return f"{figure}{THIN}{self.unit}".rstrip(THIN)


def every_string(spec: SpecFacts) -> tuple[Place, ...]:
    """Every string from the thickest to the thinnest."""
    order = at_nut(spec)
    from_bass = order if order[0].startswith("6") else order[::-1]
    return tuple(Place(one, f"string {one}") for one in from_bass)


def only(*places: tuple[str, str]) -> Places:
    fixed = tuple(Place(key, words) for key, words in places)
    return lambda _: fixed


def where_so(applies: Callable[[SpecFacts], bool], places: Places) -> Places:
    return lambda spec: places(spec) if applies(spec) else ()
