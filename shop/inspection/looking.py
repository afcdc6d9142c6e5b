"""A look at an instrument: its checklist, one area a screen, and what is measured at it."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from shop.catalogue import book
from shop.catalogue.book import StopSheet
from shop.craft import looks as fresh_eyes
from shop.craft.finding import Finding, any_stop, note
from shop.craft.inspecting.areas import Item
from shop.craft.inspecting.progress import Answer
from shop.craft.set_up.figures import figure, signed
from shop.craft.when import when_words
from shop.craft.words import THIN
from shop.craft.zones import PLACES
from shop.floor import board
from shop.floor.board import AreaLooks, AreaRow, Asking, LookValue, Seen, State
from shop.floor.door import Act, AreaLooked, record
from shop.inspection.found import area_of, ground
from shop.people.gate import BadgeRequest, may, needs

ANSWERS: Final = (
    (Answer.OK.value, "OK"),
    (Answer.DEFECT.value, "Defect"),
    (Answer.NOT_APPLICABLE.value, "Not applicable"),
)
"""What may be tapped of an item, and what it is called."""
DIGITS: Final = 9  # of a row's number: no journal is longer
ALL: Final = "all"  # the field of the tap that answers all that has no answer yet
DRAFT: Final = "look_draft"  # of the session: what could not be taken yet


@dataclass(frozen=True, slots=True)
class Asked:
    """One item on the screen of its area, with the answer that is tapped and those to tap."""

    item: Item
    answer: str

    @property
    def answers(self) -> tuple[tuple[str, str], ...]:
        return ANSWERS if self.item.may_not_apply else ANSWERS[:2]


@dataclass(frozen=True, slots=True)
class Shown:
    """One value of a look in figures; its words carry the unit."""

    value: LookValue

    @property
    def read(self) -> str:
        return "" if self.value.value is None else self.value.quantity.said(self.value.value)

    @property
    def before(self) -> str:
        return "" if self.value.first is None else self.value.quantity.said(self.value.first)

    @property
    def wanted(self) -> str:
        """Between which values it should lie: "0.15–0.25 mm"."""
        if (it := self.value.wanted) is None:
            return ""
        unit = self.value.quantity.unit
        return f"{figure(it.lower)}–{figure(it.upper)}{THIN}{unit}".rstrip(THIN)

    @property
    def moved(self) -> str:
        if (verdict := self.value.verdict) is None:
            return ""
        return f"{signed(verdict.moved)}{THIN}{self.value.quantity.unit}".rstrip(THIN)


@never_cache
@require_safe
@needs("step.record", "step.learn")
def look(request: BadgeRequest, code: str) -> HttpResponse:
    """Every area of the look that is taken here, what is still open first."""
    now = ground(code)
    asking = _asking(request)
    return _look(request, code, now, asking, _here(now, asking))


def _look(
    request: BadgeRequest,
    code: str,
    now: State,
    asking: Asking,
    stop: StopSheet | None,
    told: tuple[Finding, ...] = (),
    shut: Finding | None = None,
) -> HttpResponse:
    """``shut``: why the area that was opened is not shown."""
    shown = _page(request, code, now, asking) | {"stop": stop, "told": told, "shut": shut}
    if stop is None:
        shown |= {"coming": _coming(now)}
        return render(request, "inspection/look.html", shown, status=422 if told else 200)
    against = board.against_look(board.loop_untold(now, asking), stop.code, asking)
    looks = board.area_looks(now, stop.code)
    assert looks is not None  # it is one of the looks of its route
    kept = looks.row(area_of(request.GET.get("kept", "")))
    shown |= {
        "against": against,
        "stopped": any_stop(against),
        "moved": board.look_moves(now, stop.code, _eyes(asking)),
        "looks": looks,
        "rows": sorted(looks.rows, key=lambda row: row.standing != "open"),
        "hidden": _hidden(now, looks, asking),
        "kept": kept if kept and kept.by else None,
        "caution": book.caution(stop.station_code),
        "open": now.open if now.open and now.open.operation == stop.code else None,
    }
    return render(request, "inspection/look.html", shown, status=422 if told else 200)


@never_cache
@require_http_methods(["GET", "POST"])
@needs("step.record", "step.learn")
def look_area(request: BadgeRequest, code: str, area: int) -> HttpResponse:
    """One area: each item is answered, and all of it is kept by one tap."""
    now = ground(code)
    asking = _asking(request)
    if request.method == "GET":
        return _area(request, code, now, asking, area)
    operation = request.POST.get("operation", "")
    looks = board.area_looks(now, operation)
    row = looks.row(area) if looks else None
    answers = _sent(request.POST, row)
    act = Act.of(request, timezone.localtime())
    told_by = _told_by(request.POST, answers)
    outcome = record(act, AreaLooked(now.id, operation, area, answers, told_by))
    if not outcome.done:
        request.session[DRAFT] = {"of": _draft_of(code, operation, area), "answers": answers}
        return _area(request, code, now, asking, area, outcome.findings, operation)
    request.session.pop(DRAFT, None)
    return redirect(_onward(code, operation, area))


def _area(
    request: BadgeRequest,
    code: str,
    now: State,
    asking: Asking,
    number: int,
    told: tuple[Finding, ...] = (),
    operation: str = "",
) -> HttpResponse:
    """The screen of an area, with what was tapped and could not be taken still on it."""
    stop = now.sheet.stop(operation) if operation else _here(now, asking)
    looks = board.area_looks(now, stop.code) if stop else None
    if stop is None or looks is None:
        return _look(request, code, now, asking, None, told)
    row = looks.row(number)
    if row is None:
        raise Http404
    against = board.against_look(now, stop.code, asking)
    if any_stop(against):
        return _look(request, code, now, asking, stop, told)
    if number in _hidden(now, looks, asking) and not told:
        return _look(request, code, now, asking, stop, shut=_shut(row, stop))
    draft = _draft(request, code, stop.code, number)
    answers = draft or {key: one.value for key, one in row.answers.items()}
    fields = [Asked(item, answers.get(item.key, "")) for item in row.area.items]
    kept = looks.row(area_of(request.GET.get("kept", "")))
    alone = not looks.stands_for(row.area)
    known = board.defects_to_choose(now, looks, asking) if alone or row.told_by else ()
    shown = _page(request, code, now, asking) | {
        "stop": stop,
        "looks": looks,
        "row": row,
        "fields": fields,
        "told": told,
        "to_note": any(one.answer == Answer.DEFECT for one in fields) and alone and not row.told_by,
        "choices": [
            _choice(one, asking) for one in known if one.offered and one.number != row.told_by
        ],
        "chosen": next((_choice(one, asking) for one in known if one.number == row.told_by), None),
        "all_ok": not any(one.answer for one in fields),
        "values": row.area.key == "values" and bool(stop.facts.gauges),
        "kept": kept if kept and kept.by and kept is not row else None,
        "all_field": ALL,
    }
    return render(request, "inspection/look_area.html", shown, status=422 if told else 200)


@never_cache
@require_safe
@needs("step.record", "step.learn")
def values(request: BadgeRequest, code: str) -> HttpResponse:
    """What this look measured against what is wanted; at the second look, once it has measured,
    beside what the first one read, and how that move is judged."""
    now = ground(code)
    asking = _asking(request)
    stop = _here(now, asking) or _last_here(now, asking)
    shown = _page(request, code, now, asking) | {"stop": stop}
    if stop is None:
        return render(request, "inspection/look_values.html", shown | {"coming": _coming(now)})
    kept = board.values_kept(now, asking)
    second = board.looks_of(now).index(stop.code) > 0
    rows = [Shown(one) for one in board.look_values(now, stop.code, kept)]
    shown |= {
        "rows": rows,
        "missing": sum(row.value.value is None for row in rows),
        "moves": [row for row in rows if row.value.verdict],
        "second": second,
        "kept_back": bool(kept) and not second,
        "taken": stop.code in now.done_codes,
        "stopped": any_stop(board.against_look(now, stop.code, asking)),
    }
    return render(request, "inspection/look_values.html", shown)


# --- what is kept back ---


def _hidden(now: State, looks: AreaLooks, asking: Asking) -> frozenset[int]:
    """The areas of a first look that others answered, by their numbers, where whoever asks could
    still take the second and has no hand in this one: they see that it is answered, not how."""
    look = fresh_eyes.still_to_take(now.sheet.route, now.done, asking)
    who, begun = asking.who.code, now.open
    if look is None or look.first.code != looks.operation or who in looks.by:
        return frozenset()  # not theirs to take, or they have answered here and are of this look
    if begun and begun.operation == looks.operation and who in (begun.by, *begun.helpers):
        return frozenset()
    return frozenset(row.area.number for row in looks.rows if row.by)


def _shut(row: AreaRow, stop: StopSheet) -> Finding:
    return note(
        "areas",
        f"Area {row.area.number} {row.area.title} is answered by {row.by}. What they found is "
        "kept from you: you may still take the second look.",
        f"To go on with {stop.code}, begin it or take it over first. Then somebody else takes "
        "the second look.",
    )


# --- which look, and what stands around it ---


def _asking(request: BadgeRequest) -> Asking:
    return board.asking(request, timezone.localtime())


def _eyes(asking: Asking) -> set[str]:
    """The badges of whoever asks and who signs beside them."""
    return {asking.who.code, asking.beside.code if asking.beside else ""}


def _page(request: BadgeRequest, code: str, now: State, asking: Asking) -> dict[str, Any]:
    """What each of these pages shows, and the key its one act will have."""
    return {
        "code": code,
        "now": now,
        "spec": now.sheet.spec,
        "at": asking.at,
        "beside": asking.beside.code if asking.beside else "",
        "here": reverse("inspection:look", args=[code]),
        "key": uuid.uuid4(),
        "may_note": may(request.user, "defect.note"),
    }


def _at_station(now: State, asking: Asking) -> list[StopSheet]:
    """The looks of its route that are taken where the phone is, in shop order."""
    found = (now.sheet.stop(code) for code in board.looks_of(now))
    return [one for one in found if one and one.station_code == asking.station]


def _here(now: State, asking: Asking) -> StopSheet | None:
    """The look that is to be taken where the phone is: the first that is not recorded."""
    here = _at_station(now, asking)
    return next((one for one in here if one.code not in now.done_codes), None)


def _last_here(now: State, asking: Asking) -> StopSheet | None:
    """The look that was taken last where the phone is."""
    here = _at_station(now, asking)
    return here[-1] if here else None


def _coming(now: State) -> StopSheet | None:
    """The next look of its route, wherever it is taken."""
    found = (now.sheet.stop(code) for code in board.looks_of(now) if code not in now.done_codes)
    return next((one for one in found if one), None)


# --- answers ---


def _choice(one: Seen, asking: Asking) -> dict[str, Any]:
    """A defect as the tap that chooses it tells of it."""
    place, when = PLACES.get(one.zone, ""), when_words(one.at, asking.at)
    return {"one": one, "place": place, "when": when}


def _told_by(sent: Mapping[str, str], answers: Mapping[str, str]) -> int:
    """The row of the defect that was tapped, or kept, for what is wrong in an area; 0 for none,
    and where nothing is wrong in it any more. What is no number is no row."""
    text = sent.get("told_by", "")
    if not text or Answer.DEFECT not in answers.values():
        return 0
    return int(text) if text.isascii() and text.isdecimal() and len(text) <= DIGITS else -1


def _sent(sent: Mapping[str, str], row: AreaRow | None) -> dict[str, str]:
    """The answer to each item as it was tapped; the tap that answers all speaks for the rest."""
    if row is None:
        return {}
    rest = Answer.OK.value if sent.get(ALL) == Answer.OK else ""
    tapped = {item.key: sent.get(item.key, "") or rest for item in row.area.items}
    return {key: word for key, word in tapped.items() if word}


def _onward(code: str, operation: str, area: int) -> str:
    """The next area that is open, else the list of all."""
    looks = board.area_looks(ground(code), operation)
    coming = looks.next if looks else None
    if coming is None:
        return f"{reverse('inspection:look', args=[code])}?kept={area}"
    way = reverse("inspection:look-area", args=[code, coming.area.number])
    return f"{way}?kept={area}"


def _draft_of(code: str, operation: str, area: int) -> str:
    return f"{code} {operation} {area}"


def _draft(request: BadgeRequest, code: str, operation: str, area: int) -> dict[str, str]:
    """The answers of this area that could not be taken yet: a defect is noted first, and they
    are there when one comes back from that."""
    kept: dict[str, Any] = request.session.get(DRAFT) or {}
    if kept.get("of") != _draft_of(code, operation, area):
        return {}
    return dict(kept["answers"])
