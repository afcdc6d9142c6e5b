"""Signing in and out on a shared phone."""

from __future__ import annotations

import json

from django.conf import settings
from django.contrib.auth import SESSION_KEY, login, logout
from django.http import HttpRequest, HttpResponse
from django.middleware.csrf import get_token
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from shop.craft.code import Kind, read
from shop.people import badges
from shop.people.asking import ask_who, held_by
from shop.people.idle import lock, wake
from shop.people.models import Badge


@never_cache
@require_http_methods(["GET", "POST"])
def sign_in(request: HttpRequest) -> HttpResponse:
    """Tap or scan the badge, then the PIN."""
    shown = {
        "badge": request.POST.get("badge") or request.GET.get("badge") or held_by(request),
        "badges": badges.on_the_floor(),
        "next": request.POST.get("next") or request.GET.get("next", ""),
        "kept": request.POST.get("kept", ""),
    }
    if "another" in request.GET:
        shown["badge"] = ""
    if request.method == "GET":
        return render(request, "people/sign_in.html", shown)
    answer = badges.sign_in(shown["badge"], request.POST.get("pin", ""), timezone.now())
    if isinstance(answer, badges.Refusal):
        return render(request, "people/sign_in.html", shown | {"refusal": answer}, status=401)
    take_phone(request, answer)
    if shown["kept"]:
        return _offer_kept(request, shown["kept"])
    return redirect(_safe(request, shown["next"]))


def take_phone(request: HttpRequest, badge: Badge) -> None:
    """The badge holds the phone from now on.

    The same badge picks its idle session up again, form tokens and all; another badge
    starts a fresh one.
    """
    if str(request.session.get(SESSION_KEY)) != str(badge.pk):
        station = badge.home_station
        login(request, badge, backend="shop.people.badges.BadgeBackend")
        request.session["station"] = station
    wake(request)


def _safe(request: HttpRequest, asked: str) -> str:
    if url_has_allowed_host_and_scheme(asked, {request.get_host()}, require_https=settings.HTTPS):
        return asked
    return reverse("bench:scan")


def _offer_kept(request: HttpRequest, kept: str) -> HttpResponse:
    try:
        parcel = json.loads(kept)
        fields = [(str(k), str(v)) for k, values in parcel["fields"].items() for v in values]
        to = str(parcel["to"])
    except (ValueError, KeyError, TypeError, AttributeError):
        # Only a form that was tampered with gets here; there is nothing to offer again.
        return redirect("bench:scan")
    if not to.startswith("/") or _safe(request, to) != to:
        return redirect("bench:scan")
    return render(request, "people/kept.html", {"to": to, "fields": fields})


@require_POST
def pad(request: HttpRequest) -> HttpResponse:
    """The PIN pad laid over a page: locks on first sight, unlocks on the right PIN."""
    code = held_by(request)
    if not code:
        return ask_who(request)
    if "pin" not in request.POST:
        lock(request)
        return render(request, "people/_pad.html", {"badge": code})
    answer = badges.sign_in(code, request.POST["pin"], timezone.now())
    if isinstance(answer, badges.Refusal):
        return render(request, "people/_pad.html", {"badge": code, "refusal": answer})
    wake(request)
    get_token(request)
    if getattr(request, "htmx", False):
        return HttpResponse("")  # an empty pad: the page under it is free again
    return redirect(_safe(request, request.POST.get("next", "")))


@require_POST
def card(request: HttpRequest) -> HttpResponse:
    """A badge card was scanned on the sign-in page."""
    reading = read(request.POST.get("code", ""), {request.get_host().lower()})
    code = badges.of_card(reading.code) if reading.kind is Kind.CARD else None
    if code is None:
        refusal = badges.Refusal(
            "That is not a badge card of this shop.", "Scan your badge, or tap its number below."
        )
        shown = {"badges": badges.on_the_floor(), "refusal": refusal, "next": request.POST.get("next", "")}
        return render(request, "people/sign_in.html", shown, status=401)
    return redirect(f"{reverse('people:sign-in')}?badge={code}")


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    logout(request)
    return redirect("people:sign-in")
