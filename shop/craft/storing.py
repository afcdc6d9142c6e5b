"""What is easily taken for something else is not kept beside it.

Pins of two tapers look the same and lie a metre apart; nickel and chrome look alike under
warm light, so parts of one family are not kept in both on one aisle. Common practice, no
source.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import combinations
from typing import Final

from shop.craft.finding import Basis, Finding, warn
from shop.craft.fit.finish import LOOK_ALIKE
from shop.craft.fit.rule import COMMON
from shop.craft.hardware import Article, Family, Pins
from shop.craft.size import plain
from shop.craft.words import THIN, listed

APART_M: Final = Decimal(1)  # pins of two tapers, at the least
CODE: Final = re.compile(r"(.*?)(\d+)")


@dataclass(frozen=True, slots=True)
class Kept:
    """An article in a bin; ``aisle`` and ``along_m`` are None for a bin without a place."""

    bin: str
    aisle: int | None
    along_m: Decimal | None
    article: Article


def look_alikes(kept: Sequence[Kept]) -> tuple[Finding, ...]:
    """What lies too near to what it is taken for, each pair or aisle once."""
    ordered = sorted(kept, key=lambda one: (one.bin, one.article.key))
    return (*_pins(ordered), *_metals(ordered))


def _pins(kept: Sequence[Kept]) -> Iterator[Finding]:
    of_pins = [(one, one.article) for one in kept if isinstance(one.article, Pins)]
    for (one, pins), (other, more) in combinations(of_pins, 2):
        if pins.taper_deg == more.taper_deg or not (near := _nearness(one, other)):
            continue
        yield warn(
            "look-alikes",
            f"{_named(one)}, {plain(pins.taper_deg)}°, and {_named(other)}, "
            f"{plain(more.taper_deg)}°, {near}. They look the same: "
            f"{plain(pins.collar_mm)} and {plain(more.collar_mm)}{THIN}mm under the collar.",
            f"Keep them {plain(APART_M)}{THIN}m apart, or on two aisles.",
            basis=Basis(
                "Pins of two tapers lie apart",
                tuple(
                    (_named(it), f"{plain(its.taper_deg)}°, {_place(it)}")
                    for it, its in ((one, pins), (other, more))
                ),
                limit=f"at least {plain(APART_M)}{THIN}m",
                origin=COMMON,
            ),
        )


def _nearness(one: Kept, other: Kept) -> str:
    """How near two bins are, where that is too near; "" where it is not, or nobody knows."""
    if one.bin == other.bin:
        return "lie in one bin"
    if one.aisle is None or other.aisle is None or one.along_m is None or other.along_m is None:
        return "lie in bins side by side" if _beside(one.bin, other.bin) else ""
    apart = abs(one.along_m - other.along_m)
    near = one.aisle == other.aisle and apart < APART_M
    return f"lie {plain(apart)}{THIN}m apart on aisle {one.aisle}" if near else ""


def _beside(one: str, other: str) -> bool:
    """Whether two bins stand side by side by their codes: C-11 and C-12."""
    first, second = CODE.fullmatch(one), CODE.fullmatch(other)
    if first is None or second is None or first[1] != second[1]:
        return False
    return abs(int(first[2]) - int(second[2])) <= 1


def _metals(kept: Sequence[Kept]) -> Iterator[Finding]:
    """Of bins with a place, those on one aisle; of others, those side by side."""
    placed: dict[tuple[int, Family], list[Kept]] = defaultdict(list)
    loose: list[Kept] = []
    for one in kept:
        if one.article.metal not in LOOK_ALIKE:
            continue
        if one.aisle is None:
            loose.append(one)
        else:
            placed[one.aisle, one.article.family].append(one)
    for (aisle, family), them in sorted(placed.items()):
        if len({one.article.metal for one in them}) > 1:
            yield _alike(them, family, f"on aisle {aisle}")
    for one, other in combinations(loose, 2):
        same = one.article.family is other.article.family
        if same and one.article.metal is not other.article.metal and _beside(one.bin, other.bin):
            where = "in one bin" if one.bin == other.bin else "in bins side by side"
            yield _alike([one, other], one.article.family, where)


def _alike(them: Sequence[Kept], family: Family, where: str) -> Finding:
    by_metal = [
        (metal.value, [one for one in them if one.article.metal is metal])
        for metal in sorted(LOOK_ALIKE, reverse=True)
    ]
    said = [f"{listed([_named(one) for one in ones])} in {metal}" for metal, ones in by_metal]
    return warn(
        "look-alikes",
        f"{family.words.capitalize()} of two metals {where}: {listed(said)}. "
        "They look alike under warm light.",
        "Keep the one metal on another aisle.",
        basis=Basis(
            "Nickel and chrome lie on two aisles",
            tuple(
                (_named(one), f"{metal}, {_place(one)}") for metal, ones in by_metal for one in ones
            ),
            limit="one of the two on an aisle",
            origin=COMMON,
        ),
    )


def _named(one: Kept) -> str:
    return f"{one.article.key} ({one.bin})"


def _place(one: Kept) -> str:
    if one.aisle is None or one.along_m is None:
        return "no place yet"
    return f"aisle {one.aisle}, {plain(one.along_m)}{THIN}m"
