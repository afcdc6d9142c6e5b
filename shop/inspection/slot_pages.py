"""A slot of the hold rack and what lies in it; a case put there, moved, or taken out."""

from __future__ import annotations

import uuid
from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from shop.craft.finding import Finding
from shop.floor import board
from shop.floor.board import Place, State
from shop.floor.door import Act, Racked, Unracked, record
from shop.inspection.racking import Tile, tile
from shop.inspection.scanned import instrument_of, slot_of
from shop.inspection.tagged import tagged
from shop.people.gate import BadgeRequest, may, needs


@never_cache
@require_http_methods(["GET", "POST"])
@needs("tag.scan")
def slot(request: BadgeRequest, slot: str) -> HttpResponse:
    """What lies in a slot. Where it is free: scan a case, and one tap puts it there. The scan
    itself changes nothing."""
    place = _place(slot)
    shown: dict[str, Any] = {
        "place": place,
        "key": uuid.uuid4(),
        "may_tell": may(request.user, "event.report"),
        "may_keep": may(request.user, "rack.keep"),
    }
    text = request.POST.get("code") or request.GET.get("code") or ""
    if place.serial:
        shown |= _lies(place)
    elif text and not place.retired:
        shown |= _coming(request, text)
    status = 422 if shown.get("findings") else 200
    return render(request, "inspection/slot.html", shown, status=status)


def _lies(place: Place) -> dict[str, Any]:
    """The instrument whose case lies there, and how its days stand."""
    now = board.by_serial(place.serial)
    if now is None:  # taken out since it was looked up
        return {}
    code = board.tags_of([now.serial])[now.serial].get("body", "")
    return {"now": now, "code": code, "one": _stands(now, code)}


def _coming(request: BadgeRequest, text: str) -> dict[str, Any]:
    """The instrument that was scanned to be put there, or what was scanned instead."""
    found = instrument_of(request, text)
    if isinstance(found, Finding):
        return {"findings": (found,)}
    now = tagged(found)
    return {"coming": now, "code": found, "one": _stands(now, found)}


def _stands(now: State, code: str) -> Tile | None:
    """How its days in the case stand; nothing where they did not begin, or are behind it."""
    at = timezone.localtime()
    case = board.case_in_rack(now, at)
    return tile(now.slot, case, code, at) if case else None


@never_cache
@require_http_methods(["GET", "POST"])
@needs("event.report")
def case_in(request: BadgeRequest, code: str) -> HttpResponse:
    """The case of an instrument: scan the label of a slot, and it lies there."""
    now, at = tagged(code), timezone.localtime()
    text = request.POST.get("slot") or request.POST.get("code") or request.GET.get("code") or ""
    told: tuple[Finding, ...] = ()
    if text and "key" in request.POST:  # a code out of a photo is sent on by a tap
        found = slot_of(request, text)
        if isinstance(found, Finding):
            told = (found,)
        else:
            outcome = record(Act.of(request, at), Racked(now.id, found.code))
            if outcome.done:
                return redirect(f"{reverse('inspection:case-in', args=[code])}?in={found.code}")
            told = outcome.findings
        text = ""
    return _case(request, code, now, told, text)


@require_POST
@needs("event.report")
def case_out(request: BadgeRequest, code: str) -> HttpResponse:
    """Its case is taken out of the rack; the slot is free."""
    now = tagged(code)
    outcome = record(Act.of(request, timezone.localtime()), Unracked(now.id))
    if outcome.done:
        return redirect(f"{reverse('inspection:case-in', args=[code])}?out={now.slot}")
    return _case(request, code, now, outcome.findings)


def _case(
    request: BadgeRequest, code: str, now: State, told: tuple[Finding, ...], asked: str = ""
) -> HttpResponse:
    """Where its case lies, and the field for another slot."""
    key = uuid.uuid4()
    shown = {
        "code": code,
        "now": now,
        "one": _stands(now, code),
        "findings": told,
        "asked": asked,
        "put": bool(now.slot) and request.GET.get("in") == now.slot,
        "taken": not now.slot and "out" in request.GET,
        "key": key,
        "key_field": {"key": key},
        "may_print": may(request.user, "paper.print"),
    }
    return render(request, "inspection/case_in.html", shown, status=422 if told else 200)


def _place(code: str) -> Place:
    place = board.slots_by_code([code]).get(code)
    if place is None:
        raise Http404
    return place
