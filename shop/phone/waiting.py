"""What waits on a phone to be sent, as the phone itself knows it."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from shop.phone.installed import FRESH, NOBODYS


@require_safe
def waiting(request: HttpRequest) -> HttpResponse:
    """The page that lists it: the same for whoever holds the phone, filled by the phone, and
    there without the network."""
    nobody: dict[str, Any] = dict.fromkeys(NOBODYS, "")
    nobody |= {"nobody": True, "idle_seconds": settings.IDLE_SECONDS}
    nobody |= {"places": {"pad": reverse("people:pad")}}
    response = render(request, "phone/waiting.html", nobody)
    response["X-Offline"] = "shared"
    response["Cache-Control"] = FRESH
    return response
