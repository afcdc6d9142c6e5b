"""Who could still take a second look with fresh eyes, and what is not told to them."""

from __future__ import annotations

from collections.abc import Collection

from shop.craft.route import Done, OperationFacts, Route, last_of
from shop.craft.start.standing import Asking, Frozen, Standing, Undecided


def pairs(route: Route) -> tuple[tuple[OperationFacts, OperationFacts], ...]:
    """Each first look of a route with the second, by other eyes, that follows it."""
    found = (
        (route.find(step.before), route.find(step.after))
        for step in route.precedences
        if step.other_person
    )
    return tuple((first, second) for first, second in found if first and second and first.proves)


def still_to_take(
    route: Route, done: Collection[Done], asking: Asking
) -> tuple[tuple[OperationFacts, OperationFacts], ...]:
    """The pairs of which whoever asks could still take the second look.

    They could where it is not done, the first was not theirs, and it is for anybody like them.
    """
    found = []
    for first, second in pairs(route):
        taken = last_of(first.code, done)
        theirs = taken is not None and asking.who.code in taken.hands
        if could_take(first, second, asking) and not theirs and last_of(second.code, done) is None:
            found.append((first, second))
    return tuple(found)


def could_take(first: OperationFacts, second: OperationFacts, asking: Asking) -> bool:
    """Whether a second look is for somebody like whoever asks: they stand at its station or are
    signed off for it, since another station is one tap away.

    Where it takes no signed-off hand it could be anybody's. Then whoever stands where the first
    look is taken counts too, and not everybody: else nobody could repair or decide what it found.
    """
    there = second.station_code
    if asking.station == there or there in asking.who.trained:
        return True
    return not second.trained and asking.station == first.station_code


def untold(now: Standing, asking: Asking, one: Undecided | Frozen) -> bool:
    """Whether what a defect is, or what the instrument is frozen for, is kept from whoever
    asks: others found it at a first look, and they could still take the second.

    A defect kept before it was known who had found it where counts as one of the first look:
    too little is told of it rather than too much.
    """
    if isinstance(one, Frozen) and not one.found_by:
        return False  # frozen for no defect
    if one.found_by == asking.who.code:
        return False
    return any(
        not one.found_by or one.found_at in places(first)
        for first, _ in still_to_take(now.route, now.done, asking)
    )


def places(operation: OperationFacts) -> frozenset[str]:
    """The codes by which something is said to be found at an operation: its own, its station's."""
    return frozenset({operation.code, operation.station_code})
