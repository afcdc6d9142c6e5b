"""Where a defect's repair leads back to, and what has to be looked at again after it.

The repairs are those of ``craft.rework``. What each returns to is common practice, no source;
a workshop's own loops say the same in full, with every check that the repair may disturb.
"""

from __future__ import annotations

from collections.abc import Collection
from typing import Final

from shop.craft import rework
from shop.craft.rework import LoopFacts
from shop.craft.route import Route
from shop.craft.words import listed

RETURNS: Final[dict[str, tuple[str, ...]]] = {
    "finish chip": ("Q10",),
    "cosmetic": ("Q10",),
    "crack or brace": ("Q10",),
    "fret": ("F20",),
    "low nut slot": ("U10",),
    "nut, saddle, pins": ("U10", "U30"),
    "set-up": ("U30", "A30"),
    "truss rod": ("A30",),
    "bridge lift": ("G30",),
    "bridge misplaced": ("G50",),
    "bolted neck reset": ("J20",),
    "glued neck reset": ("J20",),
    "wrong machines": ("N60",),
    "small hardware": ("A20",),
    "electrics": ("U20",),
    "dead string": ("U20",),
    "paper": ("Z10",),
}
"""The operations that the instrument goes back to after each repair, in shop order."""


def routing(word: str, family: str = "") -> tuple[str, ...]:
    """The operations that a defect's likeliest repair goes back to; nothing for a word that
    no family has.

    >>> routing("high action"), routing("lift", "joint"), routing("wrong label")
    (('U30', 'A30'), ('G30',), ('Z10',))
    """
    likeliest = rework.suggested(word, family)[:1]
    return tuple(code for key in likeliest for code in RETURNS.get(key, ()))


def again(loop: LoopFacts, route: Route, done: Collection[str]) -> str:
    """What of the work already ``done`` is done and checked again after a loop, in words."""
    operations = [
        one for code in loop.redo_of(route, done) if (one := route.find(code)) is not None
    ]
    if not operations:
        return "Nothing that is done has to be done again."
    listing = listed([one.words for one in operations])
    return f"Done again after it: {listing}."
