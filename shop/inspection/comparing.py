"""Both looks side by side: what each found, what each measured, and the way to its touch-up."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Final, Literal

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from shop.craft import gauging, zones
from shop.craft.charts.drift import moved
from shop.craft.finding import Finding
from shop.craft.inspecting.moving import Offer
from shop.craft.reading import Reading
from shop.craft.route import Done, last_of
from shop.craft.set_up.figures import signed
from shop.craft.when import when_words
from shop.craft.words import THIN
from shop.floor import board
from shop.floor.board import FoundTwice, State, Twice
from shop.inspection.tagged import tagged
from shop.inspection.touching import touching_up
from shop.people.gate import BadgeRequest, needs

Mark = Literal["clear", "stop", "warn", "note"]

FOUND: Final[dict[str, tuple[Mark, str]]] = {
    "second": ("warn", "Escape: at the second look only"),
    "both": ("clear", "At both looks"),
    "first": ("note", "At the first look only"),
}
"""How a defect is headed, by which look found it."""

KNOWN: Final = "Known before the second look"


@dataclass(frozen=True, slots=True)
class DefectLine:
    """A defect as it is told: by which look, what and where, and how it stands. ``looks`` has
    of each where it was noted, by whom and when."""

    mark: Mark
    kind: str
    word: str
    grade: int  # 0 where nobody graded it
    place: str
    words: str
    looks: tuple[tuple[str, str, str], ...]
    standing: str
    number: int

    @classmethod
    def of(cls, one: FoundTwice, at: datetime, first: frozenset[str]) -> DefectLine:
        row = one.row
        mark, kind = FOUND[one.kind]
        if one.kind == "both" and one.first is not None and one.first.found_at not in first:
            kind = KNOWN
        return cls(
            mark=mark,
            kind=kind,
            word=row.word,
            grade=row.grade,
            place=zones.PLACES.get(row.zone, ""),
            words=row.words,
            looks=tuple(
                (it.found_at, it.found_by, when_words(it.at, at))
                for it in (one.first, one.second)
                if it is not None
            ),
            standing=row.standing,
            number=row.number,
        )


@dataclass(frozen=True, slots=True)
class ValueLine:
    """One place that both looks measure. ``first``, ``second`` and ``moved`` are in words, ""
    where there is none; ``finding`` judges the move, where it is judged."""

    what: str
    place: str
    first: str
    second: str
    moved: str
    kind: str  # usual, watch or stop; "" where the move is not judged
    finding: Finding | None
    offer: Offer | None


@never_cache
@require_safe
@needs("defect.note")
def looks(request: BadgeRequest, code: str) -> HttpResponse:
    """What each look found and measured, once whoever asks has entered their own."""
    now, at = tagged(code), timezone.localtime()
    asking = board.asking(request, at)
    shown = {
        "code": code,
        "now": now,
        "spec": now.sheet.spec,
        "beside": asking.beside.code if asking.beside else "",
        "key": uuid.uuid4(),
    }
    twice = board.compare(now)
    if twice is None or not board.may_compare(now, asking):
        return render(request, "inspection/looks_shut.html", shown | _shut(twice, now, asking))
    first = frozenset({twice.first.code, twice.first.station_code})
    values = tuple(_values(twice))
    shown |= {
        "twice": twice,
        "first_told": _done(twice.first_done, at),
        "second_told": _done(twice.second_done, at),
        "defects": [DefectLine.of(one, at, first) for one in twice.found],
        "values": values,
        "judged": [one.finding for one in values if one.finding is not None],
        "offers": [one.offer for one in values if one.offer is not None],
        "touching_up": touching_up(now, at),
    }
    return render(request, "inspection/looks.html", shown)


def _shut(twice: Twice | None, now: State, asking: board.Asking) -> dict[str, str]:
    """Why nothing is shown yet, and what opens it."""
    if twice is None:
        return {"words": "Its route has no second look.", "then": ""}
    first, second = twice.first.words, twice.second.words
    if last_of(twice.first.code, now.done) is None:
        words = f"{first} is not recorded yet."
        return {"words": words, "then": f"Both looks stand here once {second} is recorded."}
    barred = [
        one
        for one in board.against(now, twice.second.code, asking)
        if one.rule in ("person", "training")
    ]
    if barred:
        return {"words": barred[0].words, "then": barred[0].then}
    return {
        "words": f"{second} is taken with fresh eyes: what the first look found is kept back.",
        "then": "Both looks stand here side by side once all of your own is entered: every "
        "value, every area, every defect.",
    }


def _done(one: Done | None, at: datetime) -> str:
    """By whom and when a look was recorded; "" where it is not."""
    return f"{', '.join(one.hands)}, {when_words(one.at, at)}" if one else ""


def _values(twice: Twice) -> Iterator[ValueLine]:
    for one in twice.values:
        key, place = one.quantity.key, one.place.key
        verdict = one.verdict
        by = ""
        if one.first is not None and one.value is not None and not one.quantity.answers:
            unit = one.quantity.unit
            by = f"{signed(moved(float(one.first), float(one.value)))}{THIN}{unit}".rstrip(THIN)
        yield ValueLine(
            what=one.quantity.words,
            place=one.place.words,
            first=_said(key, place, one.first),
            second=_said(key, place, one.value),
            moved=by,
            kind=verdict.kind if verdict else "",
            finding=verdict.finding if verdict else None,
            offer=verdict.offer if verdict else None,
        )


def _said(quantity: str, place: str, value: Decimal | None) -> str:
    return "" if value is None else gauging.said(Reading(quantity, place, value))
