"""Who could still take a second look with fresh eyes, and what is not told to them."""

from __future__ import annotations

from collections.abc import Collection

from shop.craft.finding import Finding, note, warn
from shop.craft.route import Done, OperationFacts, Route, last_of
from shop.craft.start.standing import (
    Asking,
    Decided,
    Frozen,
    Rework,
    Standing,
    Undecided,
)
from shop.craft.words import listed


def pairs(route: Route) -> tuple[tuple[OperationFacts, OperationFacts], ...]:
    """Each first look of a route with the second, by other eyes, that follows it."""
    found = (
        (route.find(step.before), route.find(step.after))
        for step in route.precedences
        if step.other_person
    )
    return tuple((first, second) for first, second in found if first and second and first.proves)


def still_to_take(
    route: Route, done: Collection[Done], asking: Asking, decided: Collection[Decided] = ()
) -> tuple[tuple[OperationFacts, OperationFacts], ...]:
    """The pairs of which whoever asks could still take the second look.

    They could where it is not done, the first was not theirs, they signed no decision on what
    that one found, and it is for anybody like them.
    """
    found = []
    for first, second in pairs(route):
        taken = last_of(first.code, done)
        theirs = taken is not None and asking.who.code in taken.hands
        theirs = theirs or asking.who.code in knowing(first, decided)
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


def knowing(first: OperationFacts, decided: Collection[Decided]) -> frozenset[str]:
    """The badges that signed a decision on what a first look found, and so know of it."""
    here = places(first)
    return frozenset(code for one in decided if one.found_at in here for code in one.hands)


def second_after(now: Standing, found_at: str) -> OperationFacts | None:
    """The second look still to be taken after the first one that found something there."""
    for first, second in pairs(now.route):
        if found_at in places(first) and last_of(second.code, now.done) is None:
            return second
    return None


def signed_away(now: Standing, found_at: str) -> Finding | None:
    """What signing a decision on something found there costs whoever signs; ``None`` where no
    second look is still to be taken after it."""
    if second_after(now, found_at) is None:
        return None
    return note(
        "other eyes", f"Who signs this does not take the second look of {now.serial}.", call=""
    )


def left_to_look(
    now: Standing,
    second: OperationFacts,
    left: Collection[str],
    asking: Asking,
    *,
    one_more: bool,
) -> tuple[Finding, ...]:
    """What is told of who could take a second look, ``left`` by their badges, before whoever
    asks signs, and whoever is beside: that nobody is left then; or, where ``one_more`` badge has
    still to sign, which one had better not. Nothing where enough are left."""
    signs = {asking.who.code} | ({asking.signer.code} if asking.signer else set())
    after = sorted(set(left).difference(signs))
    if left and not after:
        those = listed(sorted(left))
        words = f"Only {those} could take the second look of {now.serial}: nobody is left then."
        then = f"Have somebody else sign, or the lead sign another person off for {second.station}."
        return (warn("other eyes", words, then),)
    if one_more and len(after) == 1:
        (one,) = after
        words = f"Only {one} is left to take the second look of {now.serial}."
        return (warn("other eyes", words, "Have somebody else sign beside you."),)
    return ()


def untold(now: Standing, asking: Asking, one: Undecided | Frozen) -> bool:
    """Whether what a defect is, or what the instrument is frozen for, is kept from whoever
    asks: others found it at a first look, and they could still take the second.

    A defect kept before it was known who had found it where counts as one of the first look:
    too little is told of it rather than too much.
    """
    if isinstance(one, Frozen) and not one.found_by:
        return False  # frozen for no defect
    return _of_others(now, asking, one.found_at, one.found_by)


def untold_loop(now: Standing, asking: Asking, one: Rework) -> bool:
    """Whether what the instrument is on a loop for is kept from whoever asks, in the same way:
    a single one of several that joined keeps back all."""
    return any(_of_others(now, asking, found_at, found_by) for found_at, found_by in one.found)


def _of_others(now: Standing, asking: Asking, found_at: str, found_by: str) -> bool:
    if found_by == asking.who.code:
        return False
    return any(
        not found_by or found_at in places(first)
        for first, _ in still_to_take(now.route, now.done, asking, now.decided)
    )


def places(operation: OperationFacts) -> frozenset[str]:
    """The codes by which something is said to be found at an operation: its own, its station's."""
    return frozenset({operation.code, operation.station_code})
