"""What happened to an instrument, told row by row."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from shop.bench import views
from shop.floor import board
from shop.people.gate import BadgeRequest, needs


@never_cache
@require_safe
@needs("tag.scan")
def history(request: BadgeRequest, code: str) -> HttpResponse:
    """The journal in sentences, newest first; a tap narrows it to one kind of rows."""
    now = views.ground(code)
    asking = board.asking(request, timezone.localtime())
    shown = {
        "code": code,
        "now": now,
        "history": board.history_asked(now, asking, request.GET),
        "groups": board.history_groups,
        "here": reverse("bench:history", args=[code]),
    }
    return render(request, "_history.html" if request.htmx else "bench/history.html", shown)
