"""What an instrument was when it was released, and all that happened to it, by its serial."""

from __future__ import annotations

from typing import Any, Final

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from shop.craft import record
from shop.craft.code import read
from shop.craft.record import Sheet, Unreadable
from shop.floor import board
from shop.people.gate import BadgeRequest, may, needs

MOST: Final = 20  # serials to choose from on one page


@never_cache
@require_safe
@needs("floor.see")
def records(request: BadgeRequest) -> HttpResponse:
    """Find an instrument by its serial or a code on it, finished and scrapped ones too."""
    words = request.GET.get("serial", "").strip()
    serials = found(request, words)
    if len(serials) == 1:
        return redirect("desk:record", serials[0])
    return render(request, "desk/records.html", {"words": words, **to_choose(serials)})


def to_choose(serials: list[str]) -> dict[str, Any]:
    """So many of them as one chooses from, and whether there are more."""
    return {"found": serials[:MOST], "more": len(serials) > MOST, "most": MOST}


def found(request: HttpRequest, words: str) -> list[str]:
    """The serials that words can mean, one more than are shown where there are more. By serial
    first: a code of ours could be the end of one."""
    if ends := board.serials(words, MOST + 1):
        return ends
    own = {request.get_host().lower(), settings.ADDRESS.split("://")[1].lower()}
    code = read(words, own).code
    serial = board.serial_of(code) if code else None
    return [serial] if serial else []


@never_cache
@require_safe
@needs("floor.see")
def one(request: BadgeRequest, serial: str) -> HttpResponse:
    """The record that was frozen with the release, as it was, and the journal to this day."""
    now = board.by_serial(serial)
    if now is None:
        raise Http404
    asking = board.asking(request, timezone.localtime())
    shown: dict[str, Any] = {
        "now": now,
        "history": board.history_asked(now, asking, request.GET),
        "groups": board.history_groups,
        "here": reverse("desk:record", args=[serial]),
    }
    if request.htmx:
        return render(request, "_history.html", shown)
    sheet, unread = frozen(board.as_built(now.id))
    shown |= {
        "sheet": sheet,
        "unread": unread,
        "may_print": may(request.user, "paper.print"),
    }
    return render(request, "desk/record.html", shown)


def frozen(kept: Any) -> tuple[Sheet | None, str]:
    """A record that was kept as a sheet, or a sentence why it cannot be read here; neither where
    nothing was frozen yet."""
    if kept is None:
        return None, ""
    try:
        return record.read(kept, _), ""
    except Unreadable as unread:
        return None, f"It is there and cannot be read here: {unread}"
