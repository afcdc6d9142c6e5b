"""Progress drawn as a fingerboard: one space for each operation on the route.

Where two branches meet at a pairing, each branch is a board of its own and the two stand
above the main one and join it. Spaces narrow along a board, as frets do.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Final

from shop.craft.route import Route

HEIGHT: Final = 26
WIDTH: Final = 360
GAP: Final = 14
# The last space of a board against its first.
NARROWING: Final = 0.62


@dataclass(frozen=True, slots=True)
class Space:
    """One operation's space on the board. ``state``: done, now, held or open."""

    code: str
    name: str
    state: str
    x: float
    y: float
    width: float

    @property
    def middle(self) -> float:
        return round(self.x + self.width / 2, 1)

    @property
    def level(self) -> float:
        return self.y + HEIGHT / 2

    @property
    def end(self) -> float:
        return round(self.x + self.width, 1)


@dataclass(frozen=True, slots=True)
class Board:
    """A run of spaces between two edges."""

    x: float
    y: float
    width: float
    spaces: tuple[Space, ...]


@dataclass(frozen=True, slots=True)
class Fingerboard:
    width: int
    height: int
    deep: int  # of one board
    boards: tuple[Board, ...]
    joins: tuple[tuple[float, int, int], ...]  # x, from y, to y
    summary: str


def fingerboard(
    route: Route, done: Collection[str], now: str = "", held: bool = False
) -> Fingerboard:
    """The drawing for a route with these operations done, ``now`` being next (or held)."""
    branches, main = _branches(route)
    boards, joins = [], []
    top = HEIGHT + GAP if branches else 0
    spaces = sum(len(branch) for branch in branches)
    at = 0.0
    for branch in branches:
        room = WIDTH - GAP * (len(branches) - 1)
        width = room * len(branch) / spaces
        boards.append(_board(route, branch, at, 0, width, done, now, held))
        joins.append((round(at + width / 2, 1), HEIGHT, top))
        at += width + GAP
    boards.append(_board(route, main, 0, top, WIDTH, done, now, held))
    summary = _summary(route, done, now, held)
    return Fingerboard(WIDTH, top + HEIGHT, HEIGHT, tuple(boards), tuple(joins), summary)


def _branches(route: Route) -> tuple[list[list[str]], list[str]]:
    """The branches that meet at the pairing, and all the rest, in shop order."""
    order = [one.code for one in route.operations]
    pairing = next((one.code for one in route.operations if one.needs == "neck"), None)
    if pairing is None:
        return [], order
    before = _ancestors(route, pairing)
    branches: list[list[str]] = []
    for last in [step.before for step in route.into(pairing)]:
        branch = {last} | _ancestors(route, last)
        branches.append([code for code in order if code in branch])
    branches.sort(key=lambda branch: order.index(branch[0]))
    return branches, [code for code in order if code not in before]


def _ancestors(route: Route, code: str) -> set[str]:
    found: set[str] = set()
    ahead = [code]
    while ahead:
        for step in route.into(ahead.pop()):
            if step.before not in found:
                found.add(step.before)
                ahead.append(step.before)
    return found


def _board(
    route: Route,
    codes: list[str],
    x: float,
    y: float,
    width: float,
    done: Collection[str],
    now: str,
    held: bool,
) -> Board:
    count = max(1, len(codes))
    weights = [1 - (1 - NARROWING) * place / max(1, count - 1) for place in range(count)]
    unit = width / sum(weights)
    spaces, at = [], x
    for code, weight in zip(codes, weights, strict=False):
        facts = route.find(code)
        state = "done" if code in done else "open"
        if code == now and code not in done:
            state = "held" if held else "now"
        name = facts.name if facts else code
        spaces.append(Space(code, name, state, round(at, 1), y, round(weight * unit, 1)))
        at += weight * unit
    return Board(round(x, 1), y, round(width, 1), tuple(spaces))


def _summary(route: Route, done: Collection[str], now: str, held: bool) -> str:
    counted = f"{len(done)} of {len(route.operations)} done"
    facts = route.find(now)
    if facts is None:
        return f"{counted}."
    return f"{counted}, {'held' if held else 'now'}: {facts.code} {facts.name}."
