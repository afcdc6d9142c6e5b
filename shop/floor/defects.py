"""The defects of an instrument with what became of each, and the repairer's list."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any, Final, Literal

from shop.catalogue import book
from shop.craft import looks, zones
from shop.craft.inspecting.disposing import Disposition
from shop.craft.looks import Entered
from shop.craft.route import Route
from shop.craft.start import Asking, Decided, fresh
from shop.craft.when import in_utc
from shop.floor import course, history
from shop.floor.deeds import loops
from shop.floor.deeds.defects import NOTED, called_by
from shop.floor.models import Defect, Instrument, Photo, Step
from shop.floor.models.defects import WAITS, WITHDRAWN
from shop.floor.state import State

SPOT: Final = "spot"  # the view of a picture that shows a defect close up

Standing = Literal["open", "held", "in rework", "closed", "withdrawn"]
"""How a defect stands: nobody decided, the lead is to decide, it is being made good, it was
made good or decided for good, it was noted by mistake."""


@dataclass(frozen=True, slots=True)
class DefectRow:
    """One defect. ``number`` is its row in the journal; ``grade`` 0 where nobody graded it;
    ``recheck`` are the operations of its loop that are still to be done again, in shop order;
    ``photo`` what its picture hashes to, "" where there is none."""

    number: int
    family: str
    word: str
    grade: int
    zone: int
    view: str
    x_mm: Decimal | None
    y_mm: Decimal | None
    words: str
    found_at: str
    found_by: str
    at: datetime
    disposition: str
    decided_at: datetime | None
    decided_by: str
    second: str
    reason: str
    department: str
    loop: str
    standing: Standing
    recheck: tuple[str, ...]
    photo: str

    @property
    def undecided(self) -> bool:
        return self.standing in ("open", "held")


def defects(instrument_id: int) -> tuple[DefectRow, ...]:
    """Every defect of an instrument, as it was found; three statements."""
    rows = Defect.objects.filter(instrument_id=instrument_id).order_by("number")
    them = list(rows.select_related("found_by", "decided_by", "rework"))
    pictures = Photo.objects.filter(instrument_id=instrument_id, view=SPOT)
    photos = dict(pictures.values_list("entry_id", "sha256"))
    done = _done([instrument_id]).get(instrument_id, set())
    return tuple(_row(one, done, photos.get(one.entry_id, "")) for one in them)


def sold_with(instrument_id: int) -> tuple[tuple[str, str], ...]:
    """The defects it is sold with as seconds, each by its word and its place, "" for none; one
    statement."""
    rows = Defect.objects.filter(
        instrument_id=instrument_id, disposition=Disposition.SECONDS.value
    ).order_by("number")
    named = dict(one for side in zones.ZONES.values() for one in side)
    return tuple((word, named.get(zone, "")) for word, zone in rows.values_list("word", "zone"))


def loop_is_kept(now: State, asking: Asking) -> bool:
    """Whether what an instrument is on a loop for is kept back from whoever asks: others found
    it at the first look, and they could still take the second. Two statements at most."""
    look = history.look_of(now, asking) if now.rework else None
    if look is None:
        return False
    sent = Defect.objects.in_rework().filter(instrument_id=now.id).select_related("found_by")
    return any(
        look.keeps(Entered(NOTED, (one.found_by.code,), frozenset({one.found_at}), one.number))
        for one in sent
    )


def loop_untold(now: State, asking: Asking) -> State:
    """The instrument without what it is on a loop for, where that is kept back."""
    if now.rework is None or not loop_is_kept(now, asking):
        return now
    untold = replace(now.rework, words="found at the first look")
    return replace(now, rework_kept=course.rework_row(untold))


def photos_with_fresh_eyes(
    rows: Iterable[dict[str, Any]], now: State, asking: Asking
) -> list[dict[str, Any]]:
    """The same of pictures, rows of ``particulars.photos``: one of a defect tells more of it
    than its word."""
    look = history.look_of(now, asking)
    return [
        row
        for row in rows
        if look is None
        or row["view"] != SPOT
        or not look.keeps(
            Entered(NOTED, (row["by__code"],), frozenset({row["operation"]}), row["entry__seq"])
        )
    ]


@dataclass(frozen=True, slots=True)
class RepairRow:
    """One instrument that waits for its repair.

    ``works`` is what is done at Repair, ``stations`` where, ``defects`` what was found. ``age``
    is since it was sent there. ``minutes`` is the usual time of what is still to be repaired,
    ``spent`` what it was repaired for before: the minutes that were told, else the usual ones.
    ``recheck`` are the operations done again after it, in shop order. ``kept``: what was found
    is kept back from whoever asks, and nothing is told of it or of its repair.
    """

    serial: str
    urgent: bool
    words: str
    loops: tuple[str, ...]
    works: tuple[str, ...]
    stations: tuple[str, ...]
    defects: tuple[str, ...]
    worst: int  # the worst class among them; 0: nobody graded any
    since: datetime
    age: timedelta
    minutes: int
    spent: int
    recheck: tuple[str, ...]
    frozen: bool
    kept: bool = False


def to_repair(at: datetime, asking: Asking | None = None) -> tuple[RepairRow, ...]:
    """The repairer's list, the longest wait first: every instrument with a repair still to be
    done. What the first look found is kept back from an ``asking`` badge that could still take
    the second. The same five statements for any number of them, and one more for such a badge.
    """
    still = Instrument.objects.filter(ended="").exclude(rework={})
    columns = (
        "pk", "body__serial", "urgent", "rework", "frozen", "revision_id", "revision__version",
        "decided",
    )  # fmt: skip
    them = []
    routes: dict[int, Route] = {}
    signed: dict[int, tuple[Decided, ...]] = {}
    for number, serial, urgent, kept, frozen, revision, version, decided in still.values_list(
        *columns
    ):
        one = course.rework(kept)
        if one is not None and one.stage == "repair":
            them.append((number, serial, urgent, one, bool(frozen)))
            routes[number] = book.sheet(revision, version).route
            signed[number] = course.decided(decided)
    numbers = [number for number, *_ in them]
    minutes = {one.key: one.minutes for one in book.loops()}
    pending = loops.pending_of(numbers)
    found: dict[int, list[Defect]] = {}
    sent = Defect.objects.in_rework().filter(instrument_id__in=numbers).order_by("number")
    for defect in sent.select_related("found_by"):
        found.setdefault(defect.instrument_id, []).append(defect)
    spent = _spent(numbers, minutes)
    hidden = _found_at_first_looks(routes, found, signed, asking) if asking else frozenset()
    rows = [
        RepairRow(
            serial=serial,
            urgent=urgent,
            words=one.words,
            loops=_once(said["title"] for said in pending[number]),
            works=_once(said["work"] for said in pending[number]),
            stations=_once(said["station"] for said in pending[number]),
            defects=tuple(_called(defect) for defect in found.get(number, ())),
            worst=_worst(found.get(number, ())),
            since=one.since,
            age=in_utc(at) - in_utc(one.since),
            minutes=sum(minutes.get(said["loop"], 0) for said in pending[number]),
            spent=spent.get(number, 0),
            recheck=one.redo,
            frozen=frozen,
        )
        for number, serial, urgent, one, frozen in them
    ]
    told = [
        _untold(row) if number in hidden else row
        for row, (number, *_) in zip(rows, them, strict=True)
    ]
    return tuple(sorted(told, key=lambda row: (row.since, row.serial)))


def _found_at_first_looks(
    routes: Mapping[int, Route],
    found: Mapping[int, Collection[Defect]],
    signed: Mapping[int, Collection[Decided]],
    asking: Asking,
) -> frozenset[int]:
    """Those at repair for what others found at a first look whose second one is still to be
    taken, and could be by whoever asks, who ``signed`` no decision on any of it."""
    at_first = {
        (number, second.code)
        for number, route in routes.items()
        for first, second in looks.pairs(route)
        if looks.could_take(first, second, asking)
        and asking.who.code not in fresh.knowing(first, signed[number])
        for one in found.get(number, ())
        if one.found_at in (first.code, first.station_code) and one.found_by.code != asking.who.code
    }
    done = _done({number for number, _ in at_first}) if at_first else {}
    return frozenset(number for number, code in at_first if code not in done.get(number, ()))


def _untold(row: RepairRow) -> RepairRow:
    return replace(row, words="", loops=(), works=(), defects=(), worst=0, kept=True)


def _row(one: Defect, done: Collection[str], photo: str) -> DefectRow:
    loop = one.rework
    still = loop is not None and loop.closed_at is None
    return DefectRow(
        number=one.number,
        family=one.family,
        word=one.word,
        grade=one.grade,
        zone=one.zone,
        view=one.view,
        x_mm=one.x_mm,
        y_mm=one.y_mm,
        words=one.words,
        found_at=one.found_at,
        found_by=one.found_by.code,
        at=one.at,
        disposition=one.disposition,
        decided_at=one.decided_at,
        decided_by=one.decided_by.code if one.decided_by else "",
        second=one.second,
        reason=one.reason,
        department=one.department,
        loop=loop.loop if loop else "",
        standing=_standing(one, still=still),
        recheck=tuple(code for code in loop.redo if code not in done) if loop and still else (),
        photo=photo,
    )


def _standing(one: Defect, *, still: bool) -> Standing:
    if not one.disposition:
        return "open"
    if one.disposition == WAITS:
        return "held"
    if one.disposition == WITHDRAWN:
        return "withdrawn"
    return "in rework" if still else "closed"


def _called(one: Defect) -> str:
    return called_by(one) if one.grade else f"{one.word}, {one.words}" if one.words else one.word


def _spent(numbers: Collection[int], minutes: dict[str, int]) -> dict[int, int]:
    """The minutes that each was repaired for already, as they were told; where they were not,
    the usual ones of its loops: rows of the journal say of which, however many were repaired
    as one."""
    found: dict[int, int] = {}
    rows = loops.repaired_of(numbers)
    for number, keys, took in rows:
        usual = sum(minutes.get(key, 0) for key in keys)
        found[number] = found.get(number, 0) + (took or usual)
    return found


def _done(numbers: Collection[int]) -> dict[int, set[str]]:
    """The operations that count as done, by instrument."""
    rows = Step.objects.filter(instrument_id__in=numbers, void_at__isnull=True)
    found: dict[int, set[str]] = {}
    for number, code in rows.values_list("instrument_id", "operation__code"):
        found.setdefault(number, set()).add(code)
    return found


def _worst(them: Iterable[Defect]) -> int:
    return min((one.grade for one in them if one.grade), default=0)


def _once(words: Iterable[Any]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(str(one) for one in words if one))
