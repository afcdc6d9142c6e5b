"""A piece measured as it comes in, against the size its article declares: rule "lot".

One piece out of its size raises the whole lot, before any of it lies in a tray: what one
maker's lot has wrong, all of it is likely to have wrong. No guitar is asked here; what the
size has to fit is the business of the other rules.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from shop.craft.finding import Basis, Finding, stop
from shop.craft.fit.exchange import named
from shop.craft.fit.rule import Limit
from shop.craft.hardware import (
    Article,
    Electronics,
    Nut,
    Pins,
    Saddle,
    StrapButton,
    Tail,
    TunerFamily,
    TunerSet,
)
from shop.craft.size import Size, plain
from shop.craft.words import THIN, mm

RULE: Final = "lot"
EITHER_WAY: Final = Limit("lot.either_way", Decimal("0.05"), "mm", "either way")
DOUBT_MM: Final = Decimal("0.5")  # further off, the figure is asked again; common practice
KEPT_MM: Final = Decimal("0.001")  # what is kept of a value

# What a calliper at the receiving table measures, in the order it is taken. Left out: what a
# set is made for (the peghead it grips) and the inside of a case, taken with a tape.
MEASURED: Final[dict[type[Article], tuple[tuple[str, str], ...]]] = {
    TunerSet: (
        ("bushing_od_mm", "Bushing outside"),
        ("post_mm", "Post"),
        ("reach_mm", "Seat to string hole"),
        ("spacing_mm", "Between posts on one plate"),
        ("plate_width_mm", "Plate width"),
        ("button_width_mm", "Button width"),
        ("screw_mm", "Screw diameter"),
        ("screw_length_mm", "Screw length"),
    ),
    Nut: (
        ("width_mm", "Width"),
        ("spread_mm", "Outer string to outer string"),
        ("pair_gap_mm", "Between the strings of a pair"),
    ),
    Saddle: (("thickness_mm", "Thickness"), ("length_mm", "Length"), ("height_mm", "Height")),
    Pins: (("collar_mm", "Under the collar"),),
    Tail: (("hole_mm", "Shank in its hole"),),
    StrapButton: (("screw_mm", "Screw diameter"), ("screw_length_mm", "Screw length")),
    Electronics: (("element_mm", "Height of the element"),),
}


@dataclass(frozen=True, slots=True)
class Measure:
    """A dimension to measure on an article: its words, and the size it has to be within.

    ``declared``: the article states the tolerance itself; otherwise the usual one is taken.
    """

    dimension: str
    words: str
    size: Size
    declared: bool

    @property
    def allowed(self) -> str:
        """The size in words, and whose it is: "8.785–8.8 mm, as declared"."""
        if self.declared:
            return f"{self.size}{THIN}mm, as declared"
        nominal = (self.size.least + self.size.most) / 2
        return f"{plain(nominal)} \u00b1 {mm(EITHER_WAY.value)}, {EITHER_WAY.origin}"


def measures(article: Article) -> tuple[Measure, ...]:
    """Everything to measure on one piece of this article; nothing for strings or a case."""
    return tuple(_measures(article))


def measure(article: Article, dimension: str) -> Measure:
    """This dimension of the article. Raises ``ValueError`` where it is none to measure."""
    for one in _measures(article):
        if one.dimension == dimension:
            return one
    raise ValueError(f"{named(article)} has no {dimension or 'dimension without a name'}.")


def _measures(article: Article) -> Iterator[Measure]:
    stated = dict(article.tolerances)
    for dimension, words in MEASURED.get(type(article), ()):
        if getattr(article, dimension) is None:
            continue
        size, declared = article.size(dimension), dimension in stated
        if not declared:
            size = Size(size.least - EITHER_WAY.value, size.most + EITHER_WAY.value)
        yield Measure(dimension, _as_built(article, dimension, words), size, declared)


def _as_built(article: Article, dimension: str, words: str) -> str:
    """What turns in a slotted head is a roller."""
    slotted = isinstance(article, TunerSet) and article.carried is TunerFamily.SLOT
    return "Roller" if slotted and dimension == "post_mm" else words


def out_of_size(article: Article, dimension: str, value: Decimal) -> tuple[Finding, ...]:
    """What stands against a piece measured so, in millimetres; nothing when it is inside.

    Raises ``ValueError`` where the article has no such dimension to measure.
    """
    asked = measure(article, dimension)
    size = asked.size
    if size.least <= value <= size.most:
        return ()
    over = value > size.most
    off, end = (value - size.most, size.most) if over else (size.least - value, size.least)
    larger, smaller = (value, end) if over else (end, value)
    basis = Basis(
        "A piece measured at receiving",
        (
            (f"{asked.words} measured", mm(value)),
            (f"{asked.words} of {article.key}", f"{size}{THIN}mm"),
        ),
        f"{plain(larger)} \u2212 {plain(smaller)} = {mm(off)}",
        "the declared size" if asked.declared else EITHER_WAY.said(EITHER_WAY.value),
        f"declared for {article.key}" if asked.declared else EITHER_WAY.origin,
    )
    return (
        stop(
            RULE,
            f"{asked.words} {mm(value)}: {mm(off)} {'over' if over else 'under'} "
            f"the {size} of {article.key}.",
            "Put the whole lot aside and call the lead.",
            basis=basis,
        ),
    )


def doubt(article: Article, dimension: str, value: Decimal) -> str:
    """Why this value is asked again, in words; nothing for one that can be believed.

    Raises ``ValueError`` where the article has no such dimension to measure.
    """
    asked = measure(article, dimension)
    if asked.size.least - DOUBT_MM <= value <= asked.size.most + DOUBT_MM:
        return ""
    return (
        f"{mm(value)}? {asked.words} of {article.key} is {asked.size}. "
        "Measure again, or say it is so."
    )
