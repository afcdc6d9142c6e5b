"""The shortest walk past the bins of a shelf, exactly.

The shelf is one block of parallel aisles, each an equal way from the next, with a cross aisle
along their fronts and another along their backs. The kitting table stands at the front end of
aisle 1: there a walk begins and ends.

A shortest walk takes an aisle in one of few ways: through it once, through it and back, in
from the front to the farthest bin, in from the back, or in from both with the widest gap left
unwalked. What has been walked up to an aisle matters to the rest by three things alone: how
often the front and the back end of that aisle are reached (not at all, odd, even), and whether
the two hang together. So the best of each of these few states, carried from aisle to aisle,
gives the best walk whatever the number of bins: H. D. Ratliff and A. S. Rosenthal,
"Order-Picking in a Rectangular Warehouse: A Solvable Case of the Traveling Salesman Problem",
Operations Research 31(3), 1983, pages 507 to 521 (from memory).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from typing import Any, Final

ZERO: Final = Decimal(0)


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """Where a bin stands: its aisle, from 1, and how far along it from the front, in metres."""

    aisle: int
    along_m: Decimal


TABLE: Final = Place(1, ZERO)


@dataclass(frozen=True, slots=True)
class Shelf:
    """``gap_m`` from the middle of one aisle to that of the next, ``length_m`` from the front
    cross aisle to the back one."""

    gap_m: Decimal
    length_m: Decimal


@dataclass(frozen=True, slots=True)
class Way:
    """Bins in the order they are passed, and the length of the walk from the table to the
    table; bins without a place come last in ``order`` and are not in ``length_m``."""

    order: tuple[str, ...]
    length_m: Decimal


def distance(one: Place, other: Place, shelf: Shelf) -> Decimal:
    """The shortest way between two places, in metres: along the aisle, or round through the
    nearer cross aisle.

    >>> shelf = Shelf(Decimal(2), Decimal(10))
    >>> distance(Place(1, Decimal(8)), Place(2, Decimal(7)), shelf)  # by the back
    Decimal('7')
    """
    if one.aisle == other.aisle:
        return abs(one.along_m - other.along_m)
    by_front = one.along_m + other.along_m
    by_back = 2 * shelf.length_m - by_front
    return abs(one.aisle - other.aisle) * shelf.gap_m + min(by_front, by_back)


def way(places: Mapping[str, Place | None], shelf: Shelf) -> Way:
    """The shortest walk from the table past all of these bins and back.

    Raises ``ValueError`` for a place that is not on the shelf.
    """
    at: dict[Place, list[str]] = defaultdict(list)
    nowhere = []
    for code, place in sorted(places.items()):
        if place is None:
            nowhere.append(code)
            continue
        if place.aisle < 1 or not 0 <= place.along_m <= shelf.length_m:
            raise ValueError(
                f"{code}: aisle {place.aisle}, {place.along_m} m is not on this shelf."
            )
        at[place].append(code)
    if not at:
        return Way(tuple(nowhere), ZERO)
    length_m, edges = _shortest({TABLE, *at}, shelf)
    passed = dict.fromkeys(_round(edges))  # a place passed twice is stopped at the first time
    order = [code for place in passed for code in at.get(place, ())]
    return Way((*order, *nowhere), length_m)


# --- the best of each state, aisle by aisle ---

Edge = tuple[Place, Place]
# How often the front and the back end of an aisle are reached, 1 odd and 2 even, and whether
# what reaches the one hangs together with what reaches the other.
State = tuple[int, int, bool]


@dataclass(frozen=True, slots=True)
class _Taken:
    """One way to take an aisle: stretches of it from, to and how often; how often it reaches
    the front and the back end, and whether it joins them."""

    stretches: tuple[tuple[Decimal, Decimal, int], ...]
    front: int
    back: int
    joins: bool = False

    @property
    def length_m(self) -> Decimal:
        return sum(((to - begin) * times for begin, to, times in self.stretches), ZERO)


def _ways_in(stops: Sequence[Decimal], length_m: Decimal) -> Iterator[_Taken]:
    """Every way of taking an aisle that passes all its stops and may be part of a shortest
    walk; ``stops`` are in order."""
    yield _Taken(((ZERO, length_m, 1),), 1, 1, joins=True)
    yield _Taken(((ZERO, length_m, 2),), 2, 2, joins=True)
    if not stops:
        yield _Taken((), 0, 0)
        return
    yield _Taken(((ZERO, stops[-1], 2),), 2, 0)
    yield _Taken(((stops[0], length_m, 2),), 0, 2)
    if len(stops) > 1:
        low, high = max(pairwise(stops), key=lambda gap: gap[1] - gap[0])
        yield _Taken(((ZERO, low, 2), (high, length_m, 2)), 2, 2)


def _across(state: State) -> Iterator[tuple[int, int]]:
    """How often a walk may go on to the next aisle along the front and along the back: an end
    reached an odd number of times must be left once more, and nothing is left behind."""
    front, back, joined = state
    for along_front in _leaving(front):
        for along_back in _leaving(back):
            apart = front and back and not joined
            if (along_front and along_back) if apart else (along_front or along_back):
                yield along_front, along_back


def _leaving(reached: int) -> tuple[int, ...]:
    return {0: (0,), 1: (1,), 2: (0, 2)}[reached]


def _reached(before: int, more: int) -> int:
    both = before + more
    return both and (both % 2 or 2)


def _shortest(stops: set[Place], shelf: Shelf) -> tuple[Decimal, list[Edge]]:
    """The length of the shortest closed walk past these places, and the edges it walks."""
    along: dict[int, list[Decimal]] = defaultdict(list)
    for place in sorted(stops):
        along[place.aisle].append(place.along_m)
    last = max(along)
    # Each state with its length and how it came about, the last choice first.
    best: dict[State, tuple[Decimal, Any]] = {(0, 0, False): (ZERO, None)}
    for aisle in range(1, last + 1):
        taken: dict[State, tuple[Decimal, Any]] = {}
        for one in _ways_in(along.get(aisle, ()), shelf.length_m):
            for (front, back, joined), (length_m, chosen) in best.items():
                after = (
                    _reached(front, one.front), _reached(back, one.back), joined or one.joins
                )  # fmt: skip
                _keep(taken, after, length_m + one.length_m, (one, chosen))
        if aisle == last:
            break
        best = {}
        for state, (length_m, chosen) in taken.items():
            for front, back in _across(state):
                after = front, back, state[2] and front > 0 and back > 0
                _keep(best, after, length_m + (front + back) * shelf.gap_m, ((front, back), chosen))
    ends = [
        found
        for (front, back, joined), found in taken.items()
        if front != 1 and back != 1 and (joined or not (front and back))
    ]
    length_m, chosen = min(ends, key=lambda found: found[0])
    return length_m, list(_edges(chosen, along, shelf))


def _keep(
    known: dict[State, tuple[Decimal, Any]], state: State, length_m: Decimal, how: Any
) -> None:
    if state not in known or length_m < known[state][0]:
        known[state] = length_m, how


def _edges(chosen: Any, along: Mapping[int, Sequence[Decimal]], shelf: Shelf) -> Iterator[Edge]:
    """What was chosen, from the last aisle to the first, as edges between places."""
    aisle = max(along)
    while chosen is not None:
        taken, chosen = chosen
        for begin, to, times in taken.stretches:
            inner = [one for one in along.get(aisle, ()) if begin < one < to]
            for low, high in pairwise([begin, *inner, to]):
                if low < high:
                    yield from [(Place(aisle, low), Place(aisle, high))] * times
        if chosen is not None:
            (front, back), chosen = chosen
            aisle -= 1
            for end, times in ((ZERO, front), (shelf.length_m, back)):
                yield from [(Place(aisle, end), Place(aisle + 1, end))] * times


def _round(edges: Sequence[Edge]) -> list[Place]:
    """The places in the order of one walk from the table along each edge once (C. Hierholzer,
    "Ueber die Moeglichkeit, einen Linienzug ohne Wiederholung und ohne Unterbrechung zu
    umfahren", Mathematische Annalen 6, 1873, pages 30 to 32, from memory)."""
    left: dict[Place, list[int]] = defaultdict(list)
    for number, edge in enumerate(edges):
        for place in edge:
            left[place].append(number)
    walked = [False] * len(edges)
    open_at, closed = [TABLE], []
    while open_at:
        here = open_at[-1]
        while left[here] and walked[left[here][-1]]:
            left[here].pop()
        if left[here]:
            number = left[here].pop()
            walked[number] = True
            one, other = edges[number]
            open_at.append(other if here == one else one)
        else:
            closed.append(open_at.pop())
    return closed[::-1]
