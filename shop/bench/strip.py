"""What stands around every page: the station this phone is at, and where one may go."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from django.conf import settings
from django.http import HttpRequest
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.translation import get_language

from shop.bench import here
from shop.catalogue import book


def strip(request: HttpRequest) -> dict[str, Any]:
    """For every template: the badge, its units and station, and the addresses each page
    links to."""
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated:
        return {"badge_code": ""}
    code = request.session.get("station", "")
    return {
        "badge_code": user.code,
        "units": user.units,
        "thumb": user.thumb,
        "text_size": user.text_size,
        "station": code,
        "station_words": lambda: dict(book.stations()).get(code, ""),
        "station_count": lambda: here.counted(code),
        "idle_seconds": settings.IDLE_SECONDS,
        "places": _places(),
        "ways": lambda: ways(request),  # asked for by whole pages only
    }


@lru_cache(maxsize=1)
def _places() -> dict[str, str]:
    """Looked up once: the addresses of a running shop do not change."""
    return {
        "station": reverse("bench:station"),
        "pad": reverse("people:pad"),
        "sign_out": reverse("people:sign-out"),
    }


def ways(request: HttpRequest) -> str:
    """The places this badge may go to."""
    user = request.user
    assert user.is_authenticated  # the strip offers the ways to nobody else
    return _drawn(frozenset(user.get_all_permissions()), user.is_staff, get_language())


@lru_cache(maxsize=64)
def _drawn(rights: frozenset[str], office: bool, language: str | None) -> str:
    """Drawn once for each set of rights in each language: a shop has a handful."""
    return render_to_string("_ways.html", {"rights": rights, "office": office})
