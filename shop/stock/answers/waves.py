"""The waves of a day, and how far each of their walks is."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Count, Exists, F, OuterRef, Q, QuerySet, Value
from django.db.models.functions import Coalesce

from shop.stock.models import Tray, TrayLine, Walk, Wave


@dataclass(frozen=True, slots=True)
class WalkRow:
    """A clerk's part of a wave."""

    id: int
    wave_id: int
    day: date
    wave_number: int
    number: int
    by: str  # badge of who has it; empty while it is free
    paused_at: datetime | None
    lines: int
    left: int  # lines still to pick

    @property
    def done(self) -> bool:
        return not self.left


@dataclass(frozen=True, slots=True)
class WaveTray:
    """A tray of a wave."""

    id: int
    code: str
    serial: str
    state: str
    urgent: bool
    slot: str


@dataclass(frozen=True, slots=True)
class WaveRow:
    """Trays picked in one go, and how far they are."""

    id: int
    day: date
    number: int
    by: str
    at: datetime
    lines: int
    left: int  # lines still to pick
    short: int  # lines marked short, or that nothing is kept for
    trays: tuple[WaveTray, ...]
    walks: tuple[WalkRow, ...]

    @property
    def closed(self) -> bool:
        return all(one.state == "closed" for one in self.trays)


def waves(day: date) -> tuple[WaveRow, ...]:
    """The waves picked for this day, and those before it with a tray that is not closed; three
    statements for any number of them."""
    unfinished = Exists(Tray.objects.filter(wave=OuterRef("pk")).exclude(state="closed"))
    return _rows(Wave.objects.filter(Q(day=day) | Q(unfinished, day__lt=day)))


def wave(wave_id: int) -> WaveRow | None:
    """The wave with this id."""
    return next(iter(_rows(Wave.objects.filter(pk=wave_id))), None)


def walk_row(walk_id: int) -> WalkRow | None:
    """The walk with this id."""
    return next(iter(_walks(Walk.objects.filter(pk=walk_id))), None)


def _rows(of: QuerySet[Wave]) -> tuple[WaveRow, ...]:
    bare = Q(trays__lines__state="short") | Q(
        trays__lines__state="open", trays__lines__reserved=0
    )  # fmt: skip
    found = list(
        of.annotate(
            lines_n=Count("trays__lines"),
            left_n=Count("trays__lines", filter=Q(trays__lines__state="open")),
            short_n=Count("trays__lines", filter=bare),
            who=F("by__code"),
        ).order_by("day", "number")
    )
    ids = [one.pk for one in found]
    trays = _trays(ids)
    walks: dict[int, list[WalkRow]] = defaultdict(list)
    for row in _walks(Walk.objects.filter(wave_id__in=ids)):
        walks[row.wave_id].append(row)
    return tuple(
        WaveRow(
            id=one.pk,
            day=one.day,
            number=one.number,
            by=one.who,
            at=one.at,
            lines=one.lines_n,
            left=one.left_n,
            short=one.short_n,
            trays=tuple(trays[one.pk]),
            walks=tuple(walks[one.pk]),
        )
        for one in found
    )


def _trays(wave_ids: Sequence[int]) -> dict[int, list[WaveTray]]:
    found: dict[int, list[WaveTray]] = defaultdict(list)
    rows = Tray.objects.filter(wave_id__in=wave_ids).order_by("-urgent", "wanted_on", "serial")
    for wave_id, pk, code, serial, state, urgent, slot in rows.values_list(
        "wave_id", "id", "code", "serial", "state", "urgent", "slot"
    ):
        found[wave_id].append(WaveTray(pk, code, serial, state, urgent, slot))
    return found


def _walks(of: QuerySet[Walk]) -> list[WalkRow]:
    still = Q(lines__state="open", lines__tray__state__in=("asked", "picked"))
    who = Coalesce("by__code", Value(""))
    rows = of.annotate(lines_n=Count("lines"), left_n=Count("lines", filter=still))
    return [
        WalkRow(*row)
        for row in rows.order_by("wave", "number").values_list(
            "id", "wave_id", "wave__day", "wave__number", "number", who, "paused_at",
            "lines_n", "left_n",
        )
    ]  # fmt: skip


def oldest_partial(serials: Sequence[str]) -> tuple[str, date] | None:
    """Of these instruments the one whose tray was wanted first and holds a part of its kit,
    with lines short: its serial and that day."""
    holds = TrayLine.objects.filter(tray=OuterRef("pk"), state="taken")
    lacks = TrayLine.objects.filter(tray=OuterRef("pk"), state="short")
    rows = Tray.objects.filter(Exists(holds), Exists(lacks), serial__in=serials)
    return rows.order_by("wanted_on", "serial").values_list("serial", "wanted_on").first()
