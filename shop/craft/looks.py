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

from shop.craft.route import Done, OperationFacts, Route, last_of
from shop.craft.start import Asking

ENTERED: Final = frozenset({"readings", "defect", "noted", "step"})
"""The kinds of rows in which somebody says what their own look found."""

Spot = tuple[str, str]  # quantity and place


@dataclass(frozen=True, slots=True)
class Entered:
    """A row of the journal as far as it decides what is kept back.

    ``hands`` are the badges it was entered under, ``places`` the codes of the operation and
    the station it speaks of. ``bare``: that the work was done, or begun, is all it tells.
    """

    kind: str
    hands: tuple[str, ...]
    places: frozenset[str]
    seq: int
    bare: bool = False


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
            and not row.places.isdisjoint(_places(self.second))
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
        found_there = not row.places.isdisjoint(_places(self.first))
        return found_there and not row.bare and self.who not in row.hands


def pairs(route: Route) -> tuple[tuple[OperationFacts, OperationFacts], ...]:
    """Each first look of a route with the second, by other eyes, that follows it."""
    found = (
        (route.find(step.before), route.find(step.after))
        for step in route.precedences
        if step.other_person
    )
    return tuple((first, second) for first, second in found if first and second and first.proves)


def still_to_take(route: Route, done: Collection[Done], asking: Asking) -> Look | None:
    """The second look that whoever asks could still take with fresh eyes.

    They could where it is not done, the first was not theirs, and they stand at its station
    or are signed off for it: another station is one tap away.
    """
    for first, second in pairs(route):
        taken = last_of(first.code, done)
        there = second.station_code
        could = asking.station == there or there in asking.who.trained
        theirs = taken is not None and asking.who.code in taken.hands
        if could and not theirs and last_of(second.code, done) is None:
            return Look(first, second, asking.who.code, taken.seq if taken else None)
    return None


def _places(operation: OperationFacts) -> frozenset[str]:
    return frozenset({operation.code, operation.station_code})
