"""Into the carton: case, label and record are one instrument, and its papers go along."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from typing import Any, Final
from urllib.parse import urlencode

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from shop.craft import leaving
from shop.craft.finding import Finding, any_stop, any_warn
from shop.floor import board
from shop.floor.board import State
from shop.floor.door import Act, Boxed, record
from shop.inspection.tagged import scanned, tagged
from shop.people.gate import BadgeRequest, may, needs

REASONS: Final = (
    "Looked at: case, carton and record are of one guitar",
    "The lead agreed",
)


@dataclass(frozen=True, slots=True)
class Goes:
    """What is to be known of what goes along: the woods that need a paper, each with its
    numbers, and the battery with what was noted of its contacts (``None``: nothing yet)."""

    woods: tuple[tuple[str, str], ...]
    listed: tuple[str, ...]
    battery: str
    insulated: bool | None


@never_cache
@require_http_methods(["GET", "POST"])
@needs("step.record", "step.learn")
def box(request: BadgeRequest, code: str) -> HttpResponse:
    """One scan after another: the case, then the label on the carton. The record is the one
    this page was opened for."""
    now, at = tagged(code), timezone.localtime()
    case = request.GET.get("case", "").replace("\0", "")[:7].upper()
    text = request.POST.get("code") or request.POST.get("label") or ""
    if board.unreleased(now) or board.carton_of(now) is not None or not text:
        findings = board.scans_agree(now, case) if case else ()
        return _page(request, code, now, "" if findings else case, findings=findings)
    reading = scanned(request, text)
    if reading.finding is not None:
        return _page(request, code, now, case, findings=(reading.finding,))
    if not case:
        findings = board.scans_agree(now, reading.code)
        if findings:
            return _page(request, code, now, "", findings=findings)
        return redirect(_way(code, reading.code))
    outcome = record(Act.of(request, at), Boxed(now.id, case, reading.code))
    if outcome.done:
        return redirect("inspection:box", code)
    return _page(request, code, now, case, label=reading.code, findings=outcome.findings)


def _page(
    request: BadgeRequest,
    code: str,
    now: State,
    case: str,
    label: str = "",
    findings: tuple[Finding, ...] = (),
) -> HttpResponse:
    asking = board.asking(request, timezone.localtime())
    unreleased = board.unreleased(now)
    key = uuid.uuid4()
    shown: dict[str, Any] = {
        "code": code,
        "now": now,
        "spec": now.sheet.spec,
        "beside": asking.beside.code if asking.beside else "",
        "key": key,
        "key_field": {"key": key},
        "here": _way(code, case),
        "anew": _way(code, ""),
        "case": case,
        "label": label,
        "unreleased": unreleased,
        "carton": board.carton_of(now),
        "findings": findings,
        # Only what a reason clears is left: it is asked for.
        "asks_why": bool(label) and any_warn(findings) and not any_stop(findings),
        "measures": any(one.rule == "readings" for one in findings),
        "reasons": REASONS,
        "goes": _goes(now),
        "may_print": may(request.user, "paper.print"),
        "cold": leaving.COLD_C,
        "rest": leaving.REST_H,
        "dock": leaving.DOCK_C,
    }
    return render(request, "inspection/box.html", shown, status=422 if findings else 200)


def _way(code: str, case: str) -> str:
    """The address of the page, with what was scanned on the case so far."""
    here = reverse("inspection:box", args=[code])
    return f"{here}?{urlencode({'case': case})}" if case else here


def _goes(now: State) -> Goes:
    noted = [one.value for one in now.readings.of("insulated")]
    return Goes(
        woods=tuple((one.wood.name, ", ".join(one.numbers)) for one in board.papers(now)),
        listed=tuple(one.name for one in now.sheet.spec.woods if one.permit),
        battery=now.sheet.spec.electronics or "",
        insulated=all(noted) if noted else None,
    )
