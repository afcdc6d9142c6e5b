"""Two looks at one guitar: the second is taken with fresh eyes.

Whoever is to look again does not see what the first look found until their own is entered,
every area of it where the look asks for the checklist, and none of its values until they have
measured there themselves: two people who
miss a fault each by themselves miss less than one who checks what another has written. What is
kept back follows from the route: an operation that proves what was done before it is a look,
and the one that takes other eyes after it is the second.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Final

from shop.craft import fit
from shop.craft.inspecting import moving
from shop.craft.route import Done, OperationFacts, Route, last_of
from shop.craft.start import Asking, Decided, fresh

ENTERED: Final = frozenset({"readings", "defect", "noted", "step"})
"""The kinds of rows in which somebody says what their own look found."""

Spot = tuple[str, str]  # quantity and place


@dataclass(frozen=True, slots=True)
class Entered:
    """A row of the journal as far as it decides what is kept back.

    ``hands`` are the badges it was entered under, ``places`` the codes of the operation and
    the station it speaks of. ``bare``: that the work was done, or begun, is all it tells.
    ``rules`` are those of the findings it was answered with.
    """

    kind: str
    hands: tuple[str, ...]
    places: frozenset[str]
    seq: int
    bare: bool = False
    rules: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Look:
    """The second look that ``who`` could still take, after ``first``.

    ``since`` is the row that recorded the first look, ``None`` while it is not recorded.
    """

    first: OperationFacts
    second: OperationFacts
    who: str
    since: int | None

    def is_own(self, row: Entered) -> bool:
        """Whether the row tells what ``who`` found at the second look, after the first."""
        return (
            self.since is not None
            and row.seq > self.since
            and row.kind in ENTERED
            and self.who in row.hands
            and not row.places.isdisjoint(fresh.places(self.second))
        )

    def hides(
        self, spots: Collection[Spot], measured: Collection[Spot], *, entered: bool
    ) -> frozenset[Spot]:
        """Of the spots that the first look measured, those whose values are kept back: where
        the second one measures as well, until ``who`` has ``measured`` there; elsewhere until
        they have ``entered`` anything of their own."""
        both = self.second.gauges
        return frozenset(
            spot for spot in spots if (spot not in measured if spot[0] in both else not entered)
        )

    def keeps(self, row: Entered) -> bool:
        """Whether the row is kept back: it tells what others found at the first look."""
        found_there = not row.places.isdisjoint(fresh.places(self.first))
        return found_there and not row.bare and self.who not in row.hands

    def repeats(self, row: Entered) -> bool:
        """Whether the row, of others at the second look, was answered with something that lies
        beside what the first look measured: how far it moved since, or what a rule makes of a
        value that may be of the first."""
        found_there = not row.places.isdisjoint(fresh.places(self.second))
        beside = fit.rules_reading(self.first.gauges) | {moving.RULE}
        return found_there and self.who not in row.hands and not row.rules.isdisjoint(beside)


pairs = fresh.pairs
could_take = fresh.could_take


def still_to_take(
    route: Route, done: Collection[Done], asking: Asking, decided: Collection[Decided] = ()
) -> Look | None:
    """The second look that whoever asks could still take with fresh eyes.

    The first of those that ``start.fresh`` knows of.
    """
    for first, second in fresh.still_to_take(route, done, asking, decided):
        taken = last_of(first.code, done)
        return Look(first, second, asking.who.code, taken.seq if taken else None)
    return None
