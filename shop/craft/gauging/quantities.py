"""What is measured at the bench, where on the guitar, and which values it can have."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from shop.craft.hardware import Bushing, SpecFacts
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
            places=every_string,
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
            places=every_string,
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
