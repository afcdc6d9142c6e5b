"""Asking who is there, without losing what they were about to do."""

from __future__ import annotations

import json
from urllib.parse import urlsplit

from django.contrib.auth import SESSION_KEY
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from shop.people import badges
from shop.people.models import Badge


def ask_who(request: HttpRequest) -> HttpResponse:
    """The PIN pad in place of the page that was asked for.

    What was posted is kept in the form and offered again after the PIN. A partial change
    gets the pad alone, laid over the page, which stays as it was.
    """
    if getattr(request, "htmx", False):
        pad = {"badge": held_by(request), "next": under(request)}
        answer = render(request, "people/_pad.html", pad, status=401)
        answer["HX-Retarget"] = "#lock"
        answer["HX-Reswap"] = "innerHTML"
        return answer
    kept = ""
    if request.method == "POST":
        fields = {name: request.POST.getlist(name) for name in request.POST}
        for never in ("csrfmiddlewaretoken", "pin"):
            fields.pop(never, None)
        kept = json.dumps({"to": request.get_full_path(), "fields": fields, "by": held_by(request)})
    asked = request.get_full_path() if request.method == "GET" else ""
    shown = {
        "badge": held_by(request),
        "badges": badges.on_the_floor(),
        "next": asked,
        "kept": kept,
        "carried": {"next": asked, "kept": kept},
    }
    return render(request, "people/sign_in.html", shown, status=401)


def under(request: HttpRequest) -> str:
    """The page under the pad, as the browser names where it asks from; "" where it does not."""
    asked = urlsplit(request.headers.get("Referer", ""))
    if asked.netloc != request.get_host():
        return ""
    return f"{asked.path}?{asked.query}" if asked.query else asked.path


def held_by(request: HttpRequest) -> str:
    """The badge whose idle session this phone holds, or nothing."""
    number = request.session.get(SESSION_KEY)
    if number is None:
        return ""
    return Badge.objects.filter(pk=number).values_list("code", flat=True).first() or ""
