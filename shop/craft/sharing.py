"""Scarce pieces shared out so that the most instruments keep their due dates.

An instrument is on time when every piece it wants is there by the moment it is needed. Who
gets what is decided in stages, each within what the one before left open: the most urgent
instruments on time, the most instruments on time, the fewest wants that get nothing at all,
the least days slipped in all, and then those due sooner before the others, by serial where
that is the same too. Every stage is solved exactly (a mixed integer programme), so the same
question has the same answer whatever order it is asked in.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import cached_property
from typing import Final

from shop.craft.when import in_utc, when_words
from shop.craft.words import listed, several

# Powers of two tell instruments apart; a sum of so many of them is still a whole number to
# the solver, whose answers are good to one part in a million.
AT_ONCE: Final = 12
NAMED: Final = 4  # so many serials are named in one sentence; of more it says how many
NO_WAY: Final = "There is no way to do all that must be done."


@dataclass(frozen=True, slots=True)
class Want:
    """So many of one item for one instrument, needed at an (aware) moment at an operation."""

    serial: str
    item: str
    quantity: int
    needed_at: datetime
    due_on: date
    urgent: bool = False
    operation: str = ""
    line: int = 0  # whatever the asker knows the want by


@dataclass(frozen=True, slots=True)
class Supply:
    """So many of one item: on hand now, or there from a moment on (``at``)."""

    item: str
    quantity: int
    at: datetime | None = None
    lot: int = 0  # whatever the asker knows the supply by

    def slip(self, want: Want) -> timedelta:
        """How long after it is needed it comes; nothing where it is there in time."""
        if self.at is None:
            return timedelta()
        return max(in_utc(self.at) - in_utc(want.needed_at), timedelta())


@dataclass(frozen=True, slots=True)
class Shared:
    """What a want gets, how long that is after it is needed, whether its instrument is on
    time in all it wants, and a sentence that says why."""

    want: Want
    supply: Supply | None
    slip: timedelta
    on_time: bool
    why: str


def days_late(supply: Supply, want: Want) -> int:
    """By how many days a supply comes after it is needed."""
    return 0 if supply.at is None else slipped_days(want.needed_at, supply.at)


def slipped_days(needed_at: datetime, there: datetime) -> int:
    """How many days of the calendar lie between, 1 at least where it is late at all."""
    if in_utc(there) <= in_utc(needed_at):
        return 0
    return max((there.astimezone(needed_at.tzinfo).date() - needed_at.date()).days, 1)


def share_out(
    wants: Iterable[Want], supplies: Iterable[Supply], now: datetime
) -> tuple[Shared, ...]:
    """Who gets which supply, in the order of due date, serial and item. Words are on the
    clock of ``now``. A want is covered out of one supply, or not at all.

    Raises ``ValueError`` for a moment without a time zone.
    """
    asked = sorted(wants, key=_turn)
    there = sorted(supplies, key=_receipt)
    question = _Question(asked, there)
    on_time = question.on_time()
    why = _Why(question, on_time, question.assigned(on_time), now)
    return tuple(
        Shared(
            want=want,
            supply=supply,
            slip=supply.slip(want) if supply else timedelta(),
            on_time=want.serial in on_time,
            why=why.of(row),
        )
        for row, (want, supply) in enumerate(zip(asked, why.supplies, strict=True))
    )


def assign(
    cost: Sequence[Sequence[int | None]],
    sizes: Sequence[int],
    rooms: Sequence[int],
    surely: Collection[int] = (),
) -> tuple[int | None, ...]:
    """For each row the column it goes to, ``None`` where it goes to none: as many rows as can
    be, at the least cost in all; the first rows first, and cheapest, where there is a choice.

    A row takes ``sizes`` of the ``rooms`` of its column; a cost of ``None`` is no way. The
    rows named in ``surely`` go somewhere. Raises ``ValueError`` where they cannot.
    """
    cells = [
        (row, column)
        for row, costs in enumerate(cost)
        for column, each in enumerate(costs)
        if each is not None and sizes[row] <= rooms[column]
    ]
    programme = _Programme(len(cells))
    of_row, of_column = _grouped(cells, 0), _grouped(cells, 1)
    for row in range(len(cost)):
        programme.between(row in surely, dict.fromkeys(of_row.get(row, ()), 1), 1)
    for column, room in enumerate(rooms):
        weights = {n: sizes[cells[n][0]] for n in of_column.get(column, ())}
        programme.between(0, weights, room)
    costs = {n: cost[row][column] or 0 for n, (row, column) in enumerate(cells)}
    turns = {n: len(cost) - row for n, (row, _) in enumerate(cells)}
    covered = programme.most(dict.fromkeys(costs, 1))
    programme.least(costs)
    if len(covered) < len(cost):
        programme.most(turns)
    chosen = programme.least({n: turns[n] * each for n, each in costs.items()})
    found = {cells[n][0]: cells[n][1] for n in chosen}
    return tuple(found.get(row) for row in range(len(cost)))


def _grouped(cells: Iterable[tuple[int, int]], side: int) -> dict[int, list[int]]:
    found: dict[int, list[int]] = defaultdict(list)
    for n, cell in enumerate(cells):
        found[cell[side]].append(n)
    return found


class _Programme:
    """Yes or no for each of some variables, within limits, the best in one stage after
    another: what a stage reaches is a limit of those after it."""

    def __init__(self, count: int) -> None:
        self.count = count
        self.limits: list[tuple[int, Mapping[int, int], int]] = []
        self.chosen: frozenset[int] | None = None

    def between(self, least: int, weights: Mapping[int, int], most: int) -> None:
        """The weights of what is chosen add up to something between these."""
        if least or sum(weights.values()) > most:
            self.limits.append((least, weights, most))

    def follows(self, which: int, any_of: Iterable[int]) -> None:
        """One is chosen only where one of these others is."""
        weights = {which: 1} | dict.fromkeys(any_of, -1)
        self.limits.append((1 - len(weights), weights, 0))

    def most(self, weights: Mapping[int, int]) -> frozenset[int]:
        return self.least({n: -each for n, each in weights.items()})

    def least(self, weights: Mapping[int, int]) -> frozenset[int]:
        """What to choose so that the weights add up to the least.

        Raises ``ValueError`` where the limits leave no way at all.
        """
        weighty = {n: each for n, each in weights.items() if each}
        if weighty or self.chosen is None:
            self.chosen = self._solved(weighty)
            reached = sum(each for n, each in weighty.items() if n in self.chosen)
            self.limits.append((reached, weighty, reached))
        return self.chosen

    def _solved(self, weights: Mapping[int, int]) -> frozenset[int]:
        if any(least > 0 and not each for least, each, _ in self.limits):
            raise ValueError(NO_WAY)
        if not self.count:
            return frozenset()
        # Slow to import, and only wanted where something is scarce.
        from scipy.optimize import Bounds, LinearConstraint, milp
        from scipy.sparse import csr_array

        limits = [one for one in self.limits if one[1]]
        rows = [row for row, (_, each, _) in enumerate(limits) for _ in each]
        columns = [n for _, each, _ in limits for n in each]
        values = [float(value) for _, each, _ in limits for value in each.values()]
        matrix = csr_array((values, (rows, columns)), shape=(len(limits), self.count))
        within = LinearConstraint(matrix, [one[0] for one in limits], [one[2] for one in limits])
        found = milp(
            [float(weights.get(n, 0)) for n in range(self.count)],
            integrality=[1] * self.count,
            bounds=Bounds(0, 1),
            constraints=[within] if limits else [],
            options={"mip_rel_gap": 0},
        )
        if found.x is None:
            raise ValueError(NO_WAY)
        return frozenset(n for n, value in enumerate(found.x) if value > 1 / 2)


class _Question:
    """The wants and supplies of one sharing, and what is asked of them."""

    def __init__(self, wants: Sequence[Want], supplies: Sequence[Supply]) -> None:
        self.wants, self.supplies = wants, supplies
        self.of_item: dict[str, list[int]] = defaultdict(list)  # supplies, by their place
        for place, supply in enumerate(supplies):
            self.of_item[supply.item].append(place)
        self.wanted: dict[str, list[int]] = defaultdict(list)  # wants, by their place
        for place, want in enumerate(wants):
            self.wanted[want.item].append(place)
        self.serials = list(dict.fromkeys(want.serial for want in wants))
        self.enough = {item: self._enough(item) for item in self.wanted}
        self.cells = [
            (row, column)
            for row, want in enumerate(wants)
            if self.enough[want.item] is None
            for column in self.of_item[want.item]
            if supplies[column].quantity >= want.quantity
        ]

    def _enough(self, item: str) -> int | None:
        """A supply on hand that covers all that is wanted of an item."""
        asked = sum(self.wants[row].quantity for row in self.wanted[item])
        for column in self.of_item[item]:
            if self.supplies[column].at is None and self.supplies[column].quantity >= asked:
                return column
        return None

    @cached_property
    def hopeless(self) -> dict[str, list[Want]]:
        """The instruments that would be late were they alone, with what they would lack."""
        found: dict[str, list[Want]] = defaultdict(list)
        for want in self.wants:
            there = (self.supplies[column] for column in self.of_item[want.item])
            if not any(one.quantity >= want.quantity and not one.slip(want) for one in there):
                found[want.serial].append(want)
        return dict(found)

    def _asked(self, surely: str = "") -> tuple[_Programme, dict[str, int]]:
        """The first two stages: the most urgent, then the most instruments on time. A variable
        for each cell, then one for each instrument that may be on time."""
        hopeful = [one for one in self.serials if one not in self.hopeless]
        number = {serial: len(self.cells) + n for n, serial in enumerate(hopeful)}
        programme = _Programme(len(self.cells) + len(hopeful))
        of_row, of_column = _grouped(self.cells, 0), _grouped(self.cells, 1)
        for column, cells in of_column.items():
            sizes = {n: self.wants[self.cells[n][0]].quantity for n in cells}
            programme.between(0, sizes, self.supplies[column].quantity)
        for row, cells in of_row.items():
            programme.between(0, dict.fromkeys(cells, 1), 1)
            if (serial := self.wants[row].serial) in number:
                programme.follows(number[serial], [n for n in cells if not self._slip(n)])
        if surely:
            programme.between(1, {number[surely]: 1}, 1)
        urgent = {want.serial for want in self.wants if want.urgent}
        # One that is urgent weighs more than all that are not.
        weights = {True: len(number) + 1, False: 1}
        programme.most({n: weights[serial in urgent] for serial, n in number.items()})
        return programme, number

    def _slip(self, cell: int) -> int:
        row, column = self.cells[cell]
        return days_late(self.supplies[column], self.wants[row])

    def on_time(self) -> frozenset[str]:
        """The instruments that are on time in the best sharing."""
        programme, number = self._asked()
        if programme.chosen is not None and programme.chosen.issuperset(number.values()):
            return frozenset(number)
        programme.most(dict.fromkeys(range(len(self.cells)), 1))
        programme.least({n: self._slip(n) for n in range(len(self.cells))})
        # Of several ways as good the one with those due sooner: each instrument weighs more
        # than all after it.
        chosen: frozenset[int] = frozenset()
        for first in range(0, len(number), AT_ONCE):
            some = list(number.values())[first : first + AT_ONCE]
            chosen = programme.most({n: 1 << turn for turn, n in enumerate(reversed(some))})
        return frozenset(serial for serial, n in number.items() if n in chosen)

    def late_instead(self, serial: str, on_time: frozenset[str]) -> tuple[str, ...]:
        """Who would be late, and is not, were this instrument on time."""
        programme, number = self._asked(surely=serial)
        chosen = programme.most({n: 1 for one, n in number.items() if one in on_time})
        return tuple(one for one in self.serials if one in on_time and number[one] not in chosen)

    def assigned(self, on_time: frozenset[str]) -> list[int | None]:
        """The place of the supply each want gets where these instruments are on time. Once
        that is settled the items no longer bear on each other."""
        got: list[int | None] = [self.enough[want.item] for want in self.wants]
        for item, rows in self.wanted.items():
            if self.enough[item] is not None:
                continue
            columns = self.of_item[item]
            cost = [[self._cost(row, column, on_time) for column in columns] for row in rows]
            sizes = [self.wants[row].quantity for row in rows]
            rooms = [self.supplies[column].quantity for column in columns]
            surely = [n for n, row in enumerate(rows) if self.wants[row].serial in on_time]
            for row, place in zip(rows, assign(cost, sizes, rooms, surely), strict=True):
                got[row] = None if place is None else columns[place]
        return got

    def _cost(self, row: int, column: int, on_time: frozenset[str]) -> int | None:
        days = days_late(self.supplies[column], self.wants[row])
        return None if days and self.wants[row].serial in on_time else days


class _Why:
    """Why each want gets what it gets, in words."""

    def __init__(
        self,
        question: _Question,
        on_time: frozenset[str],
        got: Sequence[int | None],
        now: datetime,
    ) -> None:
        self.question, self.on_time, self.got, self.now = question, on_time, got, now
        self.supplies = [None if one is None else question.supplies[one] for one in got]

    def of(self, row: int) -> str:
        want, supply = self.question.wants[row], self.supplies[row]
        at = f" at {want.operation}" if want.operation else ""
        when = when_words(want.needed_at, self.now)
        told = [f"{want.item} for {want.serial}: due {want.due_on}, needed {when}{at}."]
        if supply and not supply.slip(want):
            told.append("It gets it from those on hand." if supply.at is None else _comes(supply))
            told += self._late_anyway(want)
        else:
            told.append(f"{_comes(supply)} {_slips(supply, want)}" if supply else "None is left.")
            told += self._lost(want)
        return " ".join(told)

    def _late_anyway(self, want: Want) -> Iterator[str]:
        """That an instrument which gets this is late by another item."""
        for row, other in enumerate(self.question.wants):
            supply = self.supplies[row]
            if other.serial == want.serial and (supply is None or supply.slip(other)):
                yield f"{want.serial} waits for its {other.item} all the same."
                return

    def _lost(self, want: Want) -> Iterator[str]:
        """Why a want is not covered in time."""
        lacks = self.question.hopeless.get(want.serial, [])
        if any(one.item == want.item for one in lacks):
            yield "No more is there before that."
            return
        if lacks:
            yield (
                f"{want.serial} does not get what is there: it would be late anyway, "
                f"{self._next(lacks[0])}."
            )
            return
        yield from self._holders(want)
        yield from self._instead(want.serial)

    def _next(self, lack: Want) -> str:
        """When what an instrument lacks comes at the earliest."""
        columns = self.question.of_item[lack.item]
        there = [self.question.supplies[column] for column in columns]
        first = next((one for one in there if one.quantity >= lack.quantity), None)
        if first is None or first.at is None:
            return f"no {lack.item} is on order for it"
        return f"its {lack.item} comes {_day(first)}"

    def _holders(self, want: Want) -> Iterator[str]:
        """Who has the pieces on hand, where that says why."""
        having = [
            self.question.wants[row]
            for row in self.question.wanted[want.item]
            if (one := self.supplies[row]) is not None and one.at is None
        ]
        columns = self.question.of_item[want.item]
        there = [self.question.supplies[column] for column in columns]
        count = sum(one.quantity for one in there if one.at is None)
        if having and all(in_utc(one.needed_at) <= in_utc(want.needed_at) for one in having):
            yield f"The {count} on hand go to those that need them no later."
        elif having:
            serials = list(dict.fromkeys(one.serial for one in having))
            named = serials if len(serials) <= NAMED else [several(len(serials), "other")]
            yield f"The {count} on hand go to {listed(named)}."

    def _instead(self, serial: str) -> Iterator[str]:
        if late := self._late_instead(serial):
            yield f"Giving it to {serial} would make {listed(late)} late."

    def _late_instead(self, serial: str) -> tuple[str, ...]:
        if serial not in self._asked_before:
            found = self.question.late_instead(serial, self.on_time)
            self._asked_before[serial] = found
        return self._asked_before[serial]

    @cached_property
    def _asked_before(self) -> dict[str, tuple[str, ...]]:
        """An instrument may lack several items: who would be late is asked once."""
        return {}


def _comes(supply: Supply) -> str:
    return f"It comes {_day(supply)}."


def _slips(supply: Supply, want: Want) -> str:
    return f"That is {several(days_late(supply, want), 'day')} late."


def _day(supply: Supply) -> str:
    return "now" if supply.at is None else supply.at.date().isoformat()


def _turn(want: Want) -> tuple[date, str, str, datetime, int, int]:
    at = in_utc(want.needed_at)
    return want.due_on, want.serial, want.item, at, want.quantity, want.line


def _receipt(supply: Supply) -> tuple[str, bool, datetime, int]:
    there = _NOW if supply.at is None else in_utc(supply.at)
    return supply.item, supply.at is not None, there, supply.quantity


_NOW: Final = datetime.min.replace(tzinfo=UTC)
