"""What is typed on a page of the set-up: a figure that is to be tried out, or nothing.

Nothing typed means what was measured, or what the spec aims at. Lengths are typed in the
unit the form was drawn with; whatever cannot be is told with what can, and stays typed.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from shop.craft.gauging import KEPT, NotANumber, bare_number, number
from shop.craft.lengths import MM_PER_INCH, length
from shop.craft.size import plain
from shop.people.gate import BadgeRequest

LONGEST: Final = 24  # characters of a figure
INCH_STEP: Final = Decimal("0.0001")


@dataclass(frozen=True, slots=True)
class Usual:
    """What counts where nothing is typed, and whose that is: "measured", "the spec"."""

    value: Decimal | None
    origin: str


@dataclass(frozen=True, slots=True)
class Typed:
    """One figure of a form: what stands in it, what counts, and what is wrong with it.

    ``unit`` is "mm" or "in" for a length, else whatever stands behind the figure.
    """

    name: str
    words: str
    unit: str
    typed: str
    value: Decimal | None
    usual: Usual
    problem: str = ""
    is_length: bool = False

    @property
    def key(self) -> str:
        """The name as the id of an element."""
        return self.name.replace("'", "-second").replace(" ", "-")

    @property
    def usual_words(self) -> str:
        """What counts where nothing is typed, with its unit."""
        if self.usual.value is None:
            return ""
        if self.is_length:
            return length(self.usual.value, "inch" if self.unit == "in" else "mm")
        return f"{plain(self.usual.value)} {self.unit}".strip()

    @property
    def number(self) -> float:
        """What counts. Only where there is something."""
        if self.value is None:
            raise ValueError(f"{self.name} has no value")
        return float(self.value)


@dataclass(frozen=True, slots=True)
class Group:
    """Fields that are folded away under some words, unless there is something to do there."""

    words: str
    fields: tuple[Typed, ...]
    needed: bool = False  # each of them has to have a value

    @property
    def open(self) -> bool:
        return any(one.problem or (self.needed and one.value is None) for one in self.fields)


class Sent:
    """A form as it was sent, read field by field; ``wrong`` once a field could not be read."""

    def __init__(self, request: BadgeRequest) -> None:
        self._sent = request.GET
        given = self._sent.get("unit", "")
        self.unit = given if given in ("mm", "in") else _unit_of(request)
        self.wrong = False

    @property
    def inch(self) -> bool:
        return self.unit == "in"

    def text(self, name: str) -> str:
        return self._sent.get(name, "").replace("\0", "").strip()[:LONGEST]

    def one_of(self, name: str, choices: tuple[str, ...]) -> str:
        """One of these, the first where nothing else was chosen."""
        found = self.text(name)
        return found if found in choices else choices[0]

    def length(
        self,
        name: str,
        words: str,
        usual: Usual,
        least: Decimal,
        most: Decimal,
        by_mm: Decimal | None = None,
    ) -> Typed:
        """A length in millimetres; ``by_mm`` is a step up or down from what counted."""
        text = self.text(name)
        value, problem = self._read(text, least, most)
        value = usual.value if not text else value
        if by_mm is not None and value is not None:
            value = min(most, max(least, value + by_mm))
            text = self.shown(value)
        return Typed(name, words, self.unit, text, value, usual, problem, is_length=True)

    def figure(
        self, name: str, words: str, unit: str, usual: Usual, least: Decimal, most: Decimal
    ) -> Typed:
        """A figure of any other unit."""
        text = self.text(name)
        if not text:
            return Typed(name, words, unit, "", usual.value, usual)
        try:
            value = bare_number(text, unit)
            problem = "" if least <= value <= most else _range(f"{plain(least)}\u2013{plain(most)}")
        except NotANumber as why:
            value, problem = Decimal(0), str(why)
        self.wrong = self.wrong or bool(problem)
        return Typed(name, words, unit, text, None if problem else value, usual, problem)

    def shown(self, value_mm: Decimal) -> str:
        """A length as it would be typed."""
        if self.inch:
            return f"{(value_mm / MM_PER_INCH).quantize(INCH_STEP, ROUND_HALF_UP):f}"
        return f"{value_mm.quantize(KEPT, ROUND_HALF_UP).normalize():f}"

    def _read(self, text: str, least: Decimal, most: Decimal) -> tuple[Decimal | None, str]:
        if not text:
            return None, ""
        try:
            value = number(text, inch=self.inch)
        except NotANumber as why:
            self.wrong = True
            return None, str(why)
        if least <= value <= most:
            return value, ""
        self.wrong = True
        units = "inch" if self.inch else "mm"
        return None, _range(f"{length(least, units)} to {length(most, units)}")


def _range(said: str) -> str:
    return f"It cannot be: {said} can."


def _unit_of(request: BadgeRequest) -> str:
    return "in" if request.user.units == "inch" else "mm"
