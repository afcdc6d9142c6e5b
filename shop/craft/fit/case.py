"""The guitar in its case: R24."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from shop.craft.finding import Finding
from shop.craft.fit.exchange import exchange
from shop.craft.fit.rule import Limit, LineCase, rule
from shop.craft.hardware import Case
from shop.craft.words import mm

# Both common practice; a lead may set others for a spec revision.
LEAST = Limit("R24.least", Decimal(3), "mm", "least room each way")
MOST = Limit("R24.most", Decimal(25), "mm", "most")


@dataclass(frozen=True, slots=True)
class Way:
    """One of the ways a guitar has to fit: the case's dimension, the guitar's, in words."""

    inside: str
    outside: str
    words: str
    tight: str  # what the case is where it leaves too little


WAYS: Final = (
    Way("inside_overall_mm", "overall_mm", "over all", "too short for this head"),
    Way("inside_body_mm", "body_length_mm", "along the body", "too short for this body"),
    Way("inside_width_mm", "body_width_mm", "across the body", "too narrow"),
    Way("inside_depth_mm", "body_depth_mm", "in depth", "too shallow"),
)


@rule(
    "R24",
    "Case with room for the guitar, and not too much",
    of=Case,
    reads=tuple(name for way in WAYS for name in (way.inside, way.outside)),
    limits=(LEAST, MOST),
)
def suits(case: LineCase[Case]) -> Iterator[Finding]:
    for way in WAYS:
        yield from _room(case, way)


def _room(case: LineCase[Case], way: Way) -> Iterator[Finding]:
    inside, guitar = case.article.size(way.inside), case.spec.size(way.outside)
    room, key = inside - guitar, case.article.key
    least, most = case.limit(LEAST), case.limit(MOST)
    if least <= room.least and room.most <= most:
        return
    why = case.basis(
        (f"Inside case {key}, {way.words}", f"{inside} mm"),
        (case.spec.name, f"{guitar} mm"),
        reckoning=f"{inside} \u2212 {guitar} = {room} mm",
        uses=suits.limits,
    )
    if room.least < 0:
        words = (
            f"Case {key} is {mm(-room.least)} {way.tight}: {inside} inside, {guitar} {way.words}."
        )
        yield case.stop(words, exchange(case.call, case.article), why, "clerk")
    elif room.least < least:
        words = f"Case {key} leaves only {mm(room.least)} {way.words}, at least {mm(least)} is due."
        yield case.stop(words, exchange(case.call, case.article), why, "clerk")
    else:
        words = f"Case {key} leaves {mm(room.most)} {way.words}: the guitar will shift."
        yield case.warn(words, "Pad it there, or take another case, and say which.", why, "clerk")


RULES = (suits,)
