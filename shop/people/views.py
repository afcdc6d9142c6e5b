"""Signing in and out on a shared phone, alone or with a second badge beside."""

from __future__ import annotations

import json
import secrets
from typing import Final
from urllib.parse import urlsplit

from django.conf import settings
from django.contrib.auth import get_user, login, logout
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
from shop.people.asking import ask_who, held_by, under
from shop.people.gate import BadgeRequest, may, needs
from shop.people.idle import lock, wake
from shop.people.lately import remember
from shop.people.models import Badge

PHONE: Final = "phone"
YEARS: Final = 5 * 365 * 24 * 3600


@never_cache
@require_http_methods(["GET", "POST"])
def sign_in(request: HttpRequest) -> HttpResponse:
    """Tap or scan the badge, then the PIN."""
    if request.method == "GET":
        badge = "" if "another" in request.GET else request.GET.get("badge") or held_by(request)
        return _page(request, badge, request.GET.get("next", ""))
    badge, then, kept = _carried(request)
    answer = badges.sign_in(badge, request.POST.get("pin", ""), timezone.now())
    if isinstance(answer, badges.Refusal):
        return _page(request, badge, then, kept, answer)
    take_phone(request, answer)
    response = _offer_kept(request, kept) if kept else redirect(_safe(request, then))
    if PHONE not in request.COOKIES:
        # Which phone it was, for the record; it says nothing about a person.
        response.set_cookie(
            PHONE, secrets.token_hex(8), max_age=YEARS, httponly=True, samesite="Lax",
            secure=settings.HTTPS,
        )  # fmt: skip
    remember(request, response, answer.code)
    return response


@require_POST
def choose(request: HttpRequest) -> HttpResponse:
    """A badge was tapped: its PIN pad, with whatever was to be done carried along."""
    return _page(request, *_carried(request))


@require_POST
def another(request: HttpRequest) -> HttpResponse:
    """Not that badge: choose again, with whatever was to be done carried along."""
    _, then, kept = _carried(request)
    return _page(request, "", then, kept)


def _carried(request: HttpRequest) -> tuple[str, str, str]:
    post = request.POST
    return post.get("badge", ""), post.get("next", ""), post.get("kept", "")


def _page(
    request: HttpRequest,
    badge: str,
    then: str = "",
    kept: str = "",
    refusal: badges.Refusal | None = None,
) -> HttpResponse:
    shown = {
        "badge": badge,
        "badges": [] if badge else badges.on_the_floor(),
        "next": then,
        "kept": kept,
        "carried": {"next": then, "kept": kept},
        "refusal": refusal,
    }
    return render(request, "people/sign_in.html", shown, status=401 if refusal else 200)


def take_phone(request: HttpRequest, badge: Badge) -> None:
    """The badge holds the phone from now on.

    The same badge picks its idle session up again, form tokens and all; another badge
    starts a fresh one.
    """
    # Asked anew: a session from before a change of PIN is the badge's no more.
    if get_user(request).pk != badge.pk:
        station = badge.home_station
        login(request, badge, backend="shop.people.badges.BadgeBackend")
        request.session["station"] = station
    request.user = badge
    request.user = badge
    wake(request)


def _safe(request: HttpRequest, asked: str) -> str:
    if url_has_allowed_host_and_scheme(asked, {request.get_host()}, require_https=settings.HTTPS):
        return asked
    return reverse("bench:scan")


def _offer_kept(request: HttpRequest, kept: str) -> HttpResponse:
    try:
        parcel = json.loads(kept)
        fields = [(str(k), str(v)) for k, values in parcel["fields"].items() for v in values]
        to, by = str(parcel["to"]), str(parcel.get("by", ""))
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        # Only a form that was tampered with gets here; there is nothing to offer again.
        return redirect("bench:scan")
    if not to.startswith("/") or _safe(request, to) != to:
        return redirect("bench:scan")
    return render(request, "people/kept.html", {"to": to, "fields": fields, "by": by})


@require_POST
def pad(request: HttpRequest) -> HttpResponse:
    """The PIN pad laid over a page: locks on first sight, unlocks on the right PIN."""
    code = held_by(request)
    if not code:
        return ask_who(request)
    if "pin" not in request.POST:
        lock(request)
        return render(request, "people/_pad.html", {"badge": code, "next": under(request)})
    answer = badges.sign_in(code, request.POST["pin"], timezone.now())
    if isinstance(answer, badges.Refusal):
        shown = {"badge": code, "refusal": answer, "next": under(request)}
        return render(request, "people/_pad.html", shown)
    wake(request)
    get_token(request)
    if getattr(request, "htmx", False):
        return HttpResponse("")  # an empty pad: the page under it is free again
    return redirect(_safe(request, request.POST.get("next", "")))


@require_POST
def card(request: HttpRequest) -> HttpResponse:
    """A badge card was scanned on the sign-in page."""
    _, then, kept = _carried(request)
    code = _on_card(request)
    if code is None:
        return _page(request, "", then, kept, no_card("your badge"))
    return _page(request, code, then, kept)


def _on_card(request: HttpRequest) -> str | None:
    """The badge code that the scanned card stands for."""
    own = {request.get_host().lower(), urlsplit(settings.ADDRESS).netloc.lower()}
    reading = read(request.POST.get("code", ""), own)
    return badges.of_card(reading.code) if reading.kind is Kind.CARD else None


def no_card(whose: str) -> badges.Refusal:
    return badges.Refusal(
        "That is not a badge card of this shop.", f"Scan {whose}, or tap its number below."
    )


@never_cache
@require_http_methods(["GET", "POST"])
@needs("tag.scan")
def beside(request: BadgeRequest) -> HttpResponse:
    """A trainer or a witness signs beside whoever holds the phone: badge, then PIN."""
    asked = request.POST if request.method == "POST" else request.GET
    code, then = asked.get("badge", "").strip().upper(), asked.get("next", "")
    if code == request.user.code:
        return _beside(request, "", then, _same(code))
    if request.method == "GET" or "pin" not in request.POST:
        return _beside(request, code, then)
    answer = badges.sign_in(code, request.POST["pin"], timezone.now())
    if isinstance(answer, badges.Refusal):
        return _beside(request, code, then, answer)
    # Asked again of the badge itself: what was typed may have been read more kindly.
    if answer.pk == request.user.pk:
        return _beside(request, "", then, _same(answer.code))
    if not may(answer, badges.BESIDE_RIGHT):
        return _beside(request, "", then, _no_second(answer.code))
    badges.stand_beside(request.session, answer)
    return redirect(_safe(request, then))


def _same(code: str) -> badges.Refusal:
    return badges.Refusal(
        f"{code} holds this phone already.", "Choose the badge of whoever stands beside you."
    )


def _no_second(code: str) -> badges.Refusal:
    return badges.Refusal(
        f"{code} records no steps, so it cannot sign beside you.",
        "Ask somebody who records steps, or your lead.",
    )


def _beside(
    request: BadgeRequest, badge: str, then: str, refusal: badges.Refusal | None = None
) -> HttpResponse:
    on_the_floor = [] if badge else badges.on_the_floor(badges.BESIDE_RIGHT)
    stands = badges.beside(request.session)
    shown = {
        "badge": badge,
        "badges": [one for one in on_the_floor if one["code"] != request.user.code],
        "beside": stands.code if stands else "",
        "next": then,
        "carried": {"next": then},
        "refusal": refusal,
    }
    return render(request, "people/beside.html", shown, status=401 if refusal else 200)


@require_POST
@needs("tag.scan")
def beside_card(request: BadgeRequest) -> HttpResponse:
    """The card of whoever stands beside was scanned."""
    code, then = _on_card(request), request.POST.get("next", "")
    if code is None:
        return _beside(request, "", then, no_card("the card of the badge beside you"))
    if code == request.user.code:
        return _beside(request, "", then, _same(code))
    return _beside(request, code, then)


@require_POST
@needs("tag.scan")
def beside_end(request: BadgeRequest) -> HttpResponse:
    """Nobody stands beside any more."""
    badges.leave_beside(request.session)
    return redirect(_safe(request, request.POST.get("next", "")))


@never_cache
@require_http_methods(["GET", "POST"])
@needs("tag.scan")
def screens(request: BadgeRequest) -> HttpResponse:
    """How this person has the screens: language, lengths, thumb, size of text. One tap each, and
    it holds on every phone."""
    if request.method == "POST":
        for what in badges.CHOICES:
            if what in request.POST and badges.choose(request.user, what, request.POST[what]):
                return redirect("people:screens")
    chosen = {what: getattr(request.user, what) for what in badges.CHOICES}
    return render(request, "people/screens.html", {"choices": badges.CHOICES, "chosen": chosen})


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    logout(request)
    return redirect("people:sign-in")
