"""Parts that come back from a closed tray, or off its instrument."""

from __future__ import annotations

import uuid
from dataclasses import replace
from typing import Any, Final

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from shop.craft.gauging import whole
from shop.floor import board
from shop.floor.door import Act, PartReturned, record
from shop.people.gate import BadgeRequest, needs
from shop.stock import ledger, shelf
from shop.stock.shelf import TrayRow

REASONS: Final = (
    "It was not needed",
    "It does not fit",
    "It is damaged",
    "It came off at Repair",
)


@never_cache
@require_http_methods(["GET", "POST"])
@needs("stock.receive")
def give_back(request: BadgeRequest, code: str) -> HttpResponse:
    """Which part, how many, sealed or opened: then it says where to put it."""
    tray = shelf.tray(code)
    now = board.by_serial(tray["serial"]) if tray else None
    if tray is None or now is None or now.tray_id != tray["id"]:
        raise Http404
    shown: dict[str, Any] = {"findings": (), "sent": request.POST}
    if request.method == "POST":
        act = _reasoned(Act.of(request, timezone.now()), request)
        try:
            outcome = record(act, _deed(now.id, request))
        except ledger.OutOfStep as why:  # the tray was opened at this very moment
            messages.error(request, str(why))
            return redirect("kitting:return", code)
        if outcome.done:
            for one in outcome.findings:
                messages.success(request, f"{one.words} {one.then}")
            return redirect("kitting:return", code)
        shown["findings"] = outcome.findings
    shown |= {
        "tray": tray,
        "lines": _lines(tray),
        "key": uuid.uuid4(),
        "reasons": REASONS,
    }
    return render(request, "kitting/return.html", shown)


def _reasoned(act: Act, request: BadgeRequest) -> Act:
    """The act with words of one's own before the reason that was tapped."""
    words = request.POST.get("words", "").strip()[:200]
    return replace(act, reason=words) if words else act


def _deed(instrument_id: int, request: BadgeRequest) -> PartReturned:
    return PartReturned(
        instrument_id,
        whole(request.POST.get("line", "")) or 0,
        whole(request.POST.get("quantity", "")) or 0,
        sealed=request.POST.get("how") == "sealed",
    )


def _lines(tray: TrayRow) -> list[dict[str, Any]]:
    """The lines something can come back of: how many lie in the tray, how many are fitted."""
    lines = []
    for line in tray["lines"]:
        inside = line["quantity"] - line["fitted"] - line["returned"]
        if tray["state"] == "closed" and line["state"] == "taken" and inside + line["fitted"]:
            lines.append(line | {"inside": inside})
    return lines
