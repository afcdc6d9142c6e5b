"""The defects of an instrument: what was found, where, by whom, and what became of each."""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from shop.catalogue import book
from shop.craft.finding import Finding
from shop.craft.hardware import SpecFacts
from shop.craft.inspecting import body_map
from shop.craft.inspecting.body_map import Place, View
from shop.craft.inspecting.classes import DefectClass
from shop.craft.inspecting.defects import MEANINGS
from shop.craft.inspecting.disposing import Disposition
from shop.craft.when import when_words
from shop.craft.zones import PLACES
from shop.floor import board, photos
from shop.floor.board import Asking, DefectRow, State
from shop.inspection.touching import TouchingUp, touching_up
from shop.people.gate import BadgeRequest, may, needs

SMALL_PX: Final = 132  # how wide a place is shown beside its words
STANDS: Final = ("open", "in rework", "closed")
AREAS: Final = {str(number): number for number in range(1, 17)}  # of the checklist


@dataclass(frozen=True, slots=True)
class Small:
    """A place on a small drawing: the outline, its zone, a cross where it was tapped."""

    view: View
    zone: int
    mark: tuple[float, float] | None

    @property
    def px(self) -> float:
        """Millimetres to one pixel of the small drawing."""
        return round(self.view.size_mm[0] / SMALL_PX, 4)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """One defect as a page tells of it. ``became`` is its disposition in words, "" while nobody
    decided; ``loop`` the title of the repair it is on or was on."""

    row: DefectRow
    line: str
    grade: DefectClass | None
    place: str
    small: Small | None
    noted: str
    became: str
    decided: str
    loop: str
    may_withdraw: bool
    wants_lead: bool  # it is held for the lead, and whoever asks is none, nor has one beside
    photo_gone: bool

    @property
    def stands(self) -> str:
        """Under which heading it is listed."""
        if self.row.undecided:
            return "open"
        return "in rework" if self.row.standing == "in rework" else "closed"


def ground(code: str) -> State:
    """The instrument of a live body tag, or the plain page that says why there is none."""
    now = board.by_tag(code)
    if now is None:
        raise Http404
    return now


def seen(now: State, asking: Asking) -> tuple[tuple[DefectRow, ...], bool]:
    """The defects that whoever asks may see, and whether what the first look found is kept
    from them until they have entered what they found themselves."""
    every = board.defects_of(now.id)
    shown = board.defects_with_fresh_eyes(every, now, asking)
    return shown, len(shown) < len(every) or bool(board.values_kept(now, asking))


def place_of(row: DefectRow) -> Place | None:
    """Where it is on a drawing; none where it was never tapped on one."""
    if row.zone not in body_map.SHOWN.get(row.view, ()):
        return None
    return Place(row.view, row.zone, row.x_mm, row.y_mm)


def small_of(spec: SpecFacts, zone: int, place: Place | None) -> Small | None:
    """A zone on a small drawing, with the place in it where one was tapped."""
    if zone not in PLACES:
        return None
    view = body_map.draw(spec, place.view if place else body_map.views_of(zone)[0])
    mark = body_map.on_page(view, place) if place and place.x_mm is not None else None
    return Small(view, zone, mark)


def shown_rows(
    rows: Iterable[DefectRow], now: State, asking: Asking, at: datetime, *, lead: bool
) -> list[Shown]:
    """These defects as a page tells of them. ``lead``: for somebody who settles."""
    titles = {key: loop.title for key, loop in book.every_loop().items()}
    return [_shown(row, now, asking, at, titles, lead=lead) for row in rows]


def _shown(
    row: DefectRow,
    now: State,
    asking: Asking,
    at: datetime,
    titles: dict[str, str],
    *,
    lead: bool,
) -> Shown:
    place, meaning = place_of(row), MEANINGS.get((row.family, row.word))
    return Shown(
        row=row,
        line=meaning.line if meaning else "",
        grade=DefectClass(row.grade) if row.grade else None,
        place=place.words if place else PLACES.get(row.zone, ""),
        small=small_of(now.sheet.spec, row.zone, place),
        noted=when_words(row.at, at),
        became=_became(row),
        decided=when_words(row.decided_at, at) if row.decided_at else "",
        loop=titles.get(row.loop, row.loop),
        may_withdraw=row.undecided and (lead or row.found_by == asking.who.code),
        wants_lead=row.standing == "held" and not (lead or lead_beside(asking)),
        photo_gone=bool(row.photo) and not photos.there(row.photo),
    )


def lead_beside(asking: Asking) -> bool:
    """Whether somebody who settles signs beside whoever asks."""
    return asking.signer is not None and board.settles(asking.signer.code)


def _became(row: DefectRow) -> str:
    if row.standing == "withdrawn":
        return "Noted by mistake"
    known = [one.value for one in Disposition]
    return Disposition(row.disposition).words if row.disposition in known else row.disposition


def page(code: str, now: State, asking: Asking, here: str) -> dict[str, Any]:
    """What each of these pages shows, and the key its one act will have."""
    return {
        "code": code,
        "here": here,
        "now": now,
        "spec": now.sheet.spec,
        "beside": asking.beside.code if asking.beside else "",
        "key": uuid.uuid4(),
    }


def area_of(text: str) -> int:
    """The area of the checklist that an address names; 0 for none."""
    return AREAS.get(text, 0)


@dataclass(frozen=True, slots=True)
class Told:
    """What became of the act that a page is shown after."""

    kind: str
    word: str
    findings: tuple[Finding, ...]


def told_after(text: str) -> Told | None:
    """The answer to the act with this key, where it is one of ours and was done."""
    try:
        kept = board.answered(uuid.UUID(text))
    except ValueError:
        return None
    if kept is None or kept["result"] != "recorded":
        return None
    findings = tuple(Finding.of_row(one) for one in kept["findings"])
    return Told(kept["kind"], str(kept["data"].get("word", "")), findings)


@never_cache
@require_safe
@needs("tag.scan")
def defects(request: BadgeRequest, code: str) -> HttpResponse:
    """What was found wrong with an instrument, what is open first."""
    now, at = ground(code), timezone.localtime()
    asking = board.asking(request, at)
    rows, kept = seen(now, asking)
    lead = may(request.user, "instrument.settle")
    found = shown_rows(rows, now, asking, at, lead=lead)
    area = area_of(request.GET.get("area", ""))
    shown = page(code, now, asking, reverse("inspection:defects", args=[code])) | {
        "groups": [(stands, [one for one in found if one.stands == stands]) for stands in STANDS],
        "found": found,
        "kept": kept,
        "told": told_after(request.GET.get("after", "")),
        "area": area,
        "may_note": may(request.user, "defect.note") and not now.ended,
        "may_decide": may(request.user, "defect.decide") and not now.ended,
        "touching_up": _touching_up(request, now, asking),
    }
    return render(request, "inspection/defects.html", shown)


def _touching_up(request: BadgeRequest, now: State, asking: Asking) -> TouchingUp | None:
    """The way to its touch-up once that is decided, for whoever may take it out of its case and
    may know what it is for."""
    way = touching_up(now, asking.at) if may(request.user, "event.report") else None
    told = way is not None and way.state != "decide" and not board.loop_is_kept(now, asking)
    return way if told else None
