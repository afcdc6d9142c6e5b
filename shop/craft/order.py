"""What comes before what, among any codes: pairs of a code and one that follows it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from heapq import heapify, heappop, heappush

Pair = tuple[str, str]


def reach(pairs: Iterable[Pair]) -> dict[str, frozenset[str]]:
    """For each code that leads anywhere, all that follows it, however far on."""
    onward: dict[str, set[str]] = {}
    for before, after in pairs:
        onward.setdefault(before, set()).add(after)
    return {code: _from(code, onward) for code in onward}


def topological(codes: Sequence[str], pairs: Iterable[Pair]) -> tuple[str, ...]:
    """The codes with each pair the right way round, otherwise as near as can be to how they
    stand. Raises ``ValueError`` where pairs go round in a circle."""
    place = {code: turn for turn, code in enumerate(dict.fromkeys(codes))}
    known = {(before, after) for before, after in pairs if before in place and after in place}
    awaited = dict.fromkeys(place, 0)
    onward: dict[str, list[str]] = {}
    for before, after in known:
        awaited[after] += 1
        onward.setdefault(before, []).append(after)
    free = [place[code] for code, count in awaited.items() if not count]
    heapify(free)
    by_place = tuple(place)
    found: list[str] = []
    while free:
        code = by_place[heappop(free)]
        found.append(code)
        for after in onward.get(code, ()):
            awaited[after] -= 1
            if not awaited[after]:
                heappush(free, place[after])
    if len(found) < len(place):
        raise ValueError(f"{' > '.join(circle(known))} is a circle.")
    return tuple(found)


def circle(pairs: Iterable[Pair]) -> list[str]:
    """The codes of one circle in order, from its least back to it; empty where there is none.

    Codes with nothing before them are taken off until none is left to take. What remains
    always has something before it, so walking backwards must come round.
    """
    earlier: dict[str, set[str]] = {}
    for before, after in pairs:
        earlier.setdefault(after, set()).add(before)
        earlier.setdefault(before, set())
    while free := [code for code, some in earlier.items() if not some]:
        for code in free:
            del earlier[code]
        for some in earlier.values():
            some.difference_update(free)
    if not earlier:
        return []
    walked = [min(earlier)]
    while (back := min(earlier[walked[-1]])) not in walked:
        walked.append(back)
    found = walked[walked.index(back) :][::-1]
    first = found.index(min(found))
    return [*found[first:], *found[: first + 1]]


def _from(code: str, onward: Mapping[str, Iterable[str]]) -> frozenset[str]:
    found: set[str] = set()
    last = {code}
    while last:
        last = {after for one in last for after in onward.get(one, ())} - found
        found |= last
    return frozenset(found)
