"""Rework: what defects are called, which repair they lead to, and what is done again after it.

A loop takes an instrument off its route, to Repair, and brings it back to an operation it
has passed before. Which loops a workshop has is data; the words for defects, and where each
usually leads, are common practice and stand here.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import timedelta
from decimal import ROUND_CEILING, Decimal
from typing import Final

from shop.craft.route import Route, hold_of

REPAIR: Final = "X"  # the station where a loop's repair is usually done

WORDS: Final[dict[str, tuple[str, ...]]] = {
    "finish": (
        "chip", "crack", "check", "crazing", "craze at bushing", "sink", "orange peel", "pit",
        "run", "dust nib", "swirl", "scratch", "burn-through", "witness line", "haze", "blush",
        "fisheye", "print", "overspray", "drop-fill scar", "dent",
    ),
    "wood": (
        "split", "crack", "tear-out", "chip-out", "bruise", "twist", "bow", "back-bow", "hump",
        "stain blotch", "mineral streak", "runout",
    ),
    "joint": ("gap", "step", "starved", "squeeze-out", "lift", "creep", "loose brace"),
    "fret": (
        "high", "low", "sprung end", "loose", "sharp end", "flat crown", "tool mark", "sprout",
    ),
    "setup": (
        "buzz", "back buzz", "fret-out", "dead note", "rattle", "wolf", "high action",
        "low action", "low slot", "bind at slot", "ping", "octave sharp", "octave flat",
        "wrong string", "wrong order",
    ),
    "hardware": (
        "wrong item", "wrong hand", "wrong position", "loose", "cocked", "stripped", "snapped",
        "tarnish", "mismatch", "missing",
    ),
    "electric": (
        "dead string", "weak string", "hum", "crackle", "no output", "battery missing",
    ),
    "paper": ("missing", "wrong serial", "wrong label"),
}  # fmt: skip
"""The words for defects by family, each with one meaning in its family."""

_CALLED: Final = {"setup": "Set-up", "electric": "Electrics", "paper": "Papers"}
"""Families that are not called as their key is."""


def family_words(family: str) -> str:
    """What a family is called.

    >>> family_words("setup"), family_words("wood")
    ('Set-up', 'Wood')
    """
    return _CALLED.get(family, family.capitalize())


USUAL: Final[dict[str, tuple[str, ...]]] = {
    "finish": ("finish chip",),
    "wood": ("crack or brace",),
    "joint": ("bolted neck reset", "glued neck reset"),
    "fret": ("fret",),
    "setup": ("set-up",),
    "hardware": ("wrong machines", "small hardware"),
    "electric": ("electrics",),
    "paper": ("paper",),
    "cosmetic": ("cosmetic",),
}
"""The loops a family usually leads to. What is merely cosmetic has no words of its own."""

FAMILIES: Final = tuple(USUAL)

_OWN: Final[dict[str, dict[str, tuple[str, ...]]]] = {
    "finish": dict.fromkeys(
        ("dust nib", "swirl", "scratch", "witness line", "haze", "print", "overspray"),
        ("cosmetic",),
    ),
    "wood": {
        "tear-out": ("finish chip",),
        "chip-out": ("finish chip",),
        "bruise": ("finish chip",),
        "twist": ("truss rod",),
        "bow": ("truss rod",),
        "back-bow": ("truss rod",),
        "hump": ("fret",),
        "stain blotch": ("cosmetic",),
        "mineral streak": ("cosmetic",),
        "runout": ("cosmetic",),
    },
    "joint": {
        "lift": ("bridge lift",),
        "starved": ("bridge lift", "bolted neck reset", "glued neck reset"),
        "creep": ("bridge lift", "bolted neck reset", "glued neck reset"),
        "squeeze-out": ("cosmetic",),
        "loose brace": ("crack or brace",),
    },
    "setup": {
        "buzz": ("set-up", "low nut slot", "fret"),
        "back buzz": ("low nut slot",),
        "fret-out": ("fret",),
        "dead note": ("fret",),
        "rattle": ("set-up", "crack or brace"),
        "high action": ("set-up", "bolted neck reset", "glued neck reset"),
        "low action": ("set-up", "bolted neck reset", "glued neck reset"),
        "low slot": ("low nut slot",),
        "bind at slot": ("nut, saddle, pins",),
        "ping": ("nut, saddle, pins",),
        "octave sharp": ("set-up", "bridge misplaced"),
        "octave flat": ("set-up", "bridge misplaced"),
    },
    "hardware": {
        "wrong item": ("wrong machines", "nut, saddle, pins", "small hardware"),
        "wrong hand": ("wrong machines", "nut, saddle, pins"),
        "wrong position": ("wrong machines",),
        "cocked": ("wrong machines",),
    },
    "electric": {
        "dead string": ("dead string",),
        "weak string": ("dead string",),
    },
}
"""The loops of the words that lead elsewhere than their family does."""


def suggested(word: str, family: str = "") -> tuple[str, ...]:
    """The keys of the loops that a defect usually leads to, likeliest first.

    Without a family, of every family that has the word; nothing for a word that none has.

    >>> suggested("lift"), suggested("loose", "fret")
    (('bridge lift',), ('fret',))
    """
    found = [
        key
        for one, words in WORDS.items()
        if word in words and family in ("", one)
        for key in _OWN.get(one, {}).get(word, USUAL[one])
    ]
    return tuple(dict.fromkeys(found))


@dataclass(frozen=True, slots=True)
class LoopFacts:
    """A rework loop: what is done at Repair, how long that dries, what is done again after.

    ``redo`` are the operations that the repair undoes, and the checks it may have disturbed.
    With ``keeps_hold`` the strings stay at pitch, and days in the case only stand still. With
    ``unpairs`` neck and body may come apart by it. ``minutes`` is its usual touch time.
    """

    key: str
    title: str
    triggers: str
    families: tuple[str, ...]
    work: str
    station: str
    station_code: str
    redo: tuple[str, ...]
    minutes: int
    dry_h: int = 0
    per_mm: Decimal | None = None  # so deep does it dry in ``dry_h``, and as long again below
    most_h: int | None = None  # however deep
    keeps_hold: bool = False
    unpairs: bool = False

    @property
    def by_depth(self) -> bool:
        """Whether the time to dry depends on how deep the repair is."""
        return self.per_mm is not None

    def dries(self, depth_mm: Decimal | None = None) -> timedelta:
        """How long the repair itself has to dry; the least of it where no depth is told.

        Each ``per_mm`` begun is a layer, and a layer dries as long as a full one. Raises
        ``ValueError`` for a depth that is no length.
        """
        if depth_mm is not None and not (depth_mm.is_finite() and depth_mm > 0):
            raise ValueError(f"{depth_mm} mm is no depth: give more than 0.")
        layers = Decimal(1)
        if self.per_mm is not None and depth_mm is not None:
            layers = (depth_mm / self.per_mm).to_integral_value(ROUND_CEILING)
        hours = self.dry_h * int(layers)
        return timedelta(hours=hours if self.most_h is None else min(hours, self.most_h))

    def redo_of(self, route: Route, done: Collection[str]) -> tuple[str, ...]:
        """The operations done on an instrument that are done again after this loop, in shop
        order: those of ``redo``; the days in the case, where it was cased and they do not
        only stand still; and what was done after those days and follows any of them, a
        release above all.
        """
        again = {*self.redo}
        if hold := hold_of(route):
            if hold.before in done and not self.keeps_hold:
                again |= {hold.before, hold.after}
            redone = again & {*done}
            again |= {one for one in route.after(hold.after) if redone & route.before(one)}
        return tuple(one.code for one in route.operations if one.code in again and one.code in done)
