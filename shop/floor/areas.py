"""How far the checklist of a look is answered: area by area, each with whose answers they are.

What counts is what was answered since the look was last recorded, and since the instrument was
last repaired: a repair may have disturbed what was looked at before it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Literal

from shop.craft import looks
from shop.craft.finding import Finding, Severity
from shop.craft.inspecting.areas import Area, Item, areas_of
from shop.craft.inspecting.progress import Answer, Progress
from shop.craft.route import Done
from shop.craft.start import Asking, may_start
from shop.craft.when import in_utc
from shop.floor.models import AreaLook, Defect, Reading
from shop.floor.state import State

OVERALL = "overall"  # the area in which all is seen at once, and so what others tell of too
UNDECIDED = "undecided"  # what is to become of a defect is asked when the look is recorded

Standing = Literal["open", "defect", "ok"]
"""How an area stands: an item without an answer, a defect among them, all as it should be."""


@dataclass(frozen=True, slots=True)
class AreaRow:
    """One area of a look as it was answered last; ``by`` is "" where nobody has."""

    area: Area
    answers: Mapping[str, Answer]
    by: str = ""
    at: datetime | None = None

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
    need not be noted twice. What the first look found is not known to the second. ``noters``
    noted those of this look: each a badge and who signed beside it, "" for nobody."""

    operation: str
    rows: tuple[AreaRow, ...]
    progress: Progress
    defects: int
    known: int = 0
    noters: tuple[tuple[str, str], ...] = ()

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What keeps the look from being recorded, and what is to be told of its answers."""
        return self.progress.to_finish(noted(self.progress, self.to_tell_of))

    @property
    def faults(self) -> tuple[Finding, ...]:
        """What is wrong with the answers given so far."""
        return self.progress.findings(noted(self.progress, self.to_tell_of))

    @property
    def to_tell_of(self) -> int:
        """How many defects its answers may tell of."""
        return self.defects + self.known

    def left_for(self, area: Area) -> int:
        """How many of these no other area tells of: each stands for one. What is seen of the
        whole guitar may be any of them again."""
        if area.key == OVERALL:
            return self.to_tell_of
        others = (row for row in self.rows if row.area.number != area.number)
        told = sum(row.standing == "defect" and row.area.key != OVERALL for row in others)
        return max(self.to_tell_of - told, 0)

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
    latest: dict[int, AreaLook] = {}
    rows = AreaLook.objects.filter(
        instrument_id=now.id, operation=operation, number__gt=after
    ).select_related("by")
    for one in rows.order_by("number"):
        if _within(one.number, one.at, until, since):
            latest[one.area] = one
    areas = areas_of(now.sheet.spec)
    kept = {key: word for one in latest.values() for key, word in one.answers.items()}
    progress = Progress.of(areas, kept)
    here, unknown = {operation, sheet.station_code}, _of_first_looks(now, operation)
    found = Defect.objects.real().filter(instrument_id=now.id)
    defects = known = 0
    noters: list[tuple[str, str]] = []
    columns = ("number", "at", "found_at", "decided_at", "entry__who", "entry__beside")
    for number, at, place, decided, *who in found.order_by("number").values_list(*columns):
        if place in here and number > after and _within(number, at, until, since):
            defects += 1
            noters.append((who[0], who[1]))
        elif decided is None and place not in unknown:
            known += 1
    return AreaLooks(
        operation,
        tuple(_row(area, latest.get(area.number), progress) for area in areas),
        progress,
        defects,
        known,
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


def noted(progress: Progress, defects: int) -> dict[int, int]:
    """By the number of each area with a defect among its answers, 1 where one of so many
    ``defects`` stands for it. A defect says on which part of the guitar it is and not in which
    area it was found, so each stands for one area, the first ones first; and any of them for
    the area in which the whole guitar is seen."""
    wrong = [
        area
        for area in progress.areas
        if any(progress.answers.get(item.key) is Answer.DEFECT for item in area.items)
    ]
    parts = [area.number for area in wrong if area.key != OVERALL]
    whole = {area.number: int(defects > 0) for area in wrong if area.key == OVERALL}
    return {number: int(place < defects) for place, number in enumerate(parts)} | whole


def _row(area: Area, kept: AreaLook | None, progress: Progress) -> AreaRow:
    if kept is None:
        return AreaRow(area, {})
    answers = {
        item.key: progress.answers[item.key] for item in area.items if item.key in progress.answers
    }
    return AreaRow(area, answers, kept.by.code, kept.at)


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
