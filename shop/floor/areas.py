"""How far the checklist of a look is answered: area by area, each with whose answers they are.

What counts is what was answered since the look was last recorded, and since the instrument was
last repaired: a repair may have disturbed what was looked at before it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final, Literal

from shop.craft import looks
from shop.craft.finding import Finding, Severity
from shop.craft.inspecting.areas import Area, Item, areas_of
from shop.craft.inspecting.progress import Answer, Progress
from shop.craft.route import Done
from shop.craft.start import Asking, may_start
from shop.craft.when import in_utc
from shop.floor.models import AreaLook, Defect, Reading
from shop.floor.state import State

NOBODY = 0  # no row of a journal has this number
OVERALL = "overall"  # the area in which all is seen at once, and so what others tell of too
UNDECIDED = "undecided"  # what is to become of a defect is asked when the look is recorded

_OF_DEFECTS: Final = (
    "number", "decided_at", "found_at", "family", "word", "grade", "zone",
    "entry__who", "entry__beside", "at",
)  # fmt: skip

Standing = Literal["open", "defect", "ok"]
"""How an area stands: an item without an answer, a defect among them, all as it should be."""


@dataclass(frozen=True, slots=True)
class Seen:
    """A defect that an area of a look may be told by. ``number`` is its row in the journal;
    ``offered``: it was noted at this look, or waits for a decision since before it."""

    number: int
    family: str
    word: str
    grade: int  # 0 where nobody graded it
    zone: int
    found_at: str
    found_by: str
    at: datetime
    offered: bool


@dataclass(frozen=True, slots=True)
class AreaRow:
    """One area of a look as it was answered last; ``by`` is "" where nobody has.

    ``told_by`` is the row of the defect that was chosen for it, 0 for none, nor for one that
    was withdrawn; ``number`` its own row, ``since`` the one from which on it is answered as a
    defect without a choice.
    """

    area: Area
    answers: Mapping[str, Answer]
    by: str = ""
    at: datetime | None = None
    told_by: int = NOBODY
    number: int = NOBODY
    since: int = NOBODY

    @property
    def standing(self) -> Standing:
        if any(item.key not in self.answers for item in self.area.items):
            return "open"
        return "defect" if self.wrong else "ok"

    @property
    def wrong(self) -> tuple[Item, ...]:
        """The items that were answered as a defect."""
        return self._answered(Answer.DEFECT)

    @property
    def left_out(self) -> tuple[Item, ...]:
        """The items that do not apply to this guitar."""
        return self._answered(Answer.NOT_APPLICABLE)

    def _answered(self, answer: Answer) -> tuple[Item, ...]:
        return tuple(one for one in self.area.items if self.answers.get(one.key) is answer)


@dataclass(frozen=True, slots=True)
class AreaLooks:
    """The checklist of one look of one instrument. ``defects`` is how many were noted at it,
    ``known`` how many noted elsewhere still wait for a decision: seen again at this look they
    need not be noted twice. What the first look found is not known to the second. ``seen`` are
    all that may be known at this look, whatever became of them."""

    operation: str
    rows: tuple[AreaRow, ...]
    progress: Progress
    defects: int
    known: int = 0
    seen: tuple[Seen, ...] = ()
    noters: tuple[tuple[str, str], ...] = ()

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What keeps the look from being recorded, and what is to be told of its answers."""
        return self.progress.to_finish(self._noted)

    @property
    def faults(self) -> tuple[Finding, ...]:
        """What is wrong with the answers given so far."""
        return self.progress.findings(self._noted)

    @property
    def to_tell_of(self) -> int:
        """How many defects its answers may tell of."""
        return self.defects + self.known

    def stands_for(self, area: Area) -> bool:
        """Whether one of these stands for an area that is answered as a defect while none is
        chosen for it: each stands for one. What is seen of the whole guitar may be any of them
        again."""
        if area.key == OVERALL:
            return self.to_tell_of > 0
        others = [row for row in self.rows if row.area.number != area.number]
        own = self.row(area.number)
        last = max((row.number for row in self.rows), default=NOBODY) + 1
        since = own.since if own and own.since else last
        return self._left([*(row.since for row in _by_count(others)), since], others) >= 0

    @property
    def _noted(self) -> dict[int, int]:
        """By the number of each area with a defect among its answers, 1 where one stands for it.
        Where there are too few, those answered last are without."""
        counted = sorted(_by_count(self.rows), key=lambda row: row.since)
        enough = len(counted) + min(self._left([row.since for row in counted], self.rows), 0)
        without = {row.area.number for row in counted[enough:]}
        if not self.to_tell_of:
            without |= {row.area.number for row in self.rows if row.area.key == OVERALL}
        return {
            row.area.number: int(bool(row.told_by) or row.area.number not in without)
            for row in self.rows
            if row.wrong
        }

    def _left(self, since: Iterable[int], rows: Iterable[AreaRow]) -> int:
        """How many defects are left once every area that is answered so ``since`` a row, and was
        not told by which, has one of its own; below 0 for how many there are too few.

        One that was chosen for an area of ``rows`` may be that of another only where the other
        was answered before: that it is the same was said with that one in view. Whoever answers
        after it has to say so again.
        """
        offered = {one.number for one in self.seen if one.offered}
        chosen: dict[int, int] = {}
        for row in rows:
            if row.told_by in offered and row.area.key != OVERALL:
                chosen[row.told_by] = max(row.number, chosen.get(row.told_by, NOBODY))
        left, again = self.to_tell_of - len(chosen), 0
        for number in sorted(since, reverse=True):
            if again < sum(later > number for later in chosen.values()):
                again += 1
            else:
                left -= 1
        return left

    @property
    def next(self) -> AreaRow | None:
        """The first area that is open; ``None`` where all are answered."""
        return next((row for row in self.rows if row.standing == "open"), None)

    @property
    def by(self) -> tuple[str, ...]:
        """The badges that answered it, each once."""
        return tuple(dict.fromkeys(row.by for row in self.rows if row.by))

    @property
    def answered(self) -> int:
        """How many areas are answered."""
        return sum(row.standing != "open" for row in self.rows)

    def row(self, number: int) -> AreaRow | None:
        """The area with this number, where its spec has one."""
        return next((row for row in self.rows if row.area.number == number), None)


def looks_of(now: State) -> tuple[str, ...]:
    """The operations of its route at which the checklist is gone through, in shop order."""
    codes = {one.code for pair in looks.pairs(now.sheet.route) for one in pair}
    return tuple(one.code for one in now.sheet.route.operations if one.code in codes)


def against_look(now: State, operation: str, asking: Asking) -> tuple[Finding, ...]:
    """What stands against looking at it here and now: where it is, who asks, what comes before
    it. Defects that nobody has decided keep only the record of the look back."""
    found = may_start(now.stands(asking.at), operation, asking)
    return tuple(one for one in found if one.rule != UNDECIDED)


def against_measuring(now: State, operation: str, asking: Asking) -> tuple[Finding, ...]:
    """The stops against measuring at a look here and now: its values are read by whoever may
    take it, when it may be taken. A value that comes once the look is recorded is asked the
    same; that it is recorded does not throw the value away."""
    stands = now.stands(asking.at)
    unrecorded = tuple(one for one in stands.done if one.operation != operation)
    found = may_start(replace(stands, done=unrecorded), operation, asking)
    stops = (one for one in found if one.severity is Severity.STOP)
    return tuple(one for one in stops if one.rule != UNDECIDED)


def area_looks(now: State, operation: str) -> AreaLooks | None:
    """The checklist of a look: as it is being answered, or as it was when the look was
    recorded. ``None`` for an operation that is no look of its route. Two statements."""
    sheet = now.sheet.stop(operation)
    if sheet is None or operation not in looks_of(now):
        return None
    after, until, since = _spell(now, operation)
    here, unknown = {operation, sheet.station_code}, _of_first_looks(now, operation)
    real = Defect.objects.real().filter(instrument_id=now.id)
    seen: list[Seen] = []
    defects = known = 0
    noters: list[tuple[str, str]] = []
    for number, decided, place, *more in real.order_by("number").values_list(*_OF_DEFECTS):
        family, word, grade, zone, by, beside, at = more
        ours = place in here and number > after and _within(number, at, until, since)
        waits = not ours and decided is None and place not in unknown
        defects, known = defects + ours, known + waits
        if ours:
            noters.append((by, beside))
        if ours or place not in unknown:
            found = (family, word, grade, zone, place, by, at)
            seen.append(Seen(number, *found, offered=ours or waits))
    latest: dict[int, AreaLook] = {}
    counted: dict[int, int] = {}
    rows = AreaLook.objects.filter(
        instrument_id=now.id, operation=operation, number__gt=after
    ).select_related("by")
    tellable = {one.number for one in seen}
    for one in rows.order_by("number"):
        if _within(one.number, one.at, until, since):
            latest[one.area] = one
            if one.told_by in tellable or Answer.DEFECT not in one.answers.values():
                counted.pop(one.area, None)
            else:
                counted.setdefault(one.area, one.number)
    areas = areas_of(now.sheet.spec)
    kept = {key: word for one in latest.values() for key, word in one.answers.items()}
    progress = Progress.of(areas, kept)
    return AreaLooks(
        operation,
        tuple(
            _row(area, latest.get(area.number), progress, tellable, counted.get(area.number, 0))
            for area in areas
        ),
        progress,
        defects,
        known,
        tuple(seen),
        tuple(noters),
    )


def hands_in(now: State, operation: str) -> tuple[str, ...]:
    """Whoever had a part in a look as it is being taken: answered an area of it, read a value,
    noted a defect at it, or signed beside who read or noted. The next look takes other eyes.
    Empty for an operation that is no look of its route. Three statements."""
    looks = area_looks(now, operation)
    if looks is None:
        return ()
    after, until, since = _spell(now, operation)
    rows = Reading.objects.filter(instrument_id=now.id, operation=operation, entry__seq__gt=after)
    read = [
        (who, beside)
        for who, beside, number, at in rows.order_by("id").values_list(
            "entry__who", "entry__beside", "entry__seq", "at"
        )
        if _within(number, at, until, since)
    ]
    hands = (one for both in (*read, *looks.noters) for one in both if one)
    return tuple(dict.fromkeys((*looks.by, *hands)))


def _of_first_looks(now: State, second: str) -> frozenset[str]:
    """Where the first look was that this is the second of: its operation and its station."""
    return frozenset(
        code
        for one, other in looks.pairs(now.sheet.route)
        if other.code == second
        for code in (one.code, one.station_code)
    )


def _by_count(rows: Iterable[AreaRow]) -> list[AreaRow]:
    """Those answered as a defect, each a part of the guitar, for which none was chosen."""
    return [
        row
        for row in rows
        if row.standing == "defect" and not row.told_by and row.area.key != OVERALL
    ]


def _row(
    area: Area, kept: AreaLook | None, progress: Progress, known: Collection[int], since: int
) -> AreaRow:
    if kept is None:
        return AreaRow(area, {})
    answers = {
        item.key: progress.answers[item.key] for item in area.items if item.key in progress.answers
    }
    told_by = kept.told_by if kept.told_by in known else NOBODY
    return AreaRow(area, answers, kept.by.code, kept.at, told_by, kept.number, since)


def _spell(now: State, operation: str) -> tuple[int, int | None, datetime | None]:
    """Between which rows of the journal the answers to a look stand: after the last record of
    it, and since the last repair; once it is recorded, up to that record."""
    recorded = sorted(
        one.seq for one in (*now.done, *now.past) if one.operation == operation and one.seq
    )
    last = max(
        (one.seq for one in now.done if one.operation == operation and _counts(now, one)),
        default=None,
    )
    if last:
        return max((seq for seq in recorded if seq < last), default=0), last, None
    repaired = max((in_utc(one.at) for one in now.repairs), default=None)
    return max(recorded, default=0), None, repaired


def _counts(now: State, one: Done) -> bool:
    """Whether a step counts, and is not to be done again on the loop it is on."""
    loop = now.rework
    again = loop is not None and one.operation in loop.redo
    return not again or (loop is not None and in_utc(one.at) > in_utc(loop.since))


def _within(number: int, at: datetime, until: int | None, since: datetime | None) -> bool:
    early = since is not None and in_utc(at) <= since
    return not early and (until is None or number < until)
