"""Choosing what to print: which form, and of what."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from http import HTTPStatus
from typing import Any, Final
from urllib.parse import urlencode

from django.conf import settings
from django.contrib import messages
from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from shop.catalogue import book
from shop.craft.code import read
from shop.craft.finding import Finding, stop
from shop.floor import board, tags
from shop.paper import choices
from shop.paper.asked import Asked
from shop.paper.choices import LISTED, QUOTED, Narrowed, next_work_day
from shop.paper.forms import FORMS, Form
from shop.paper.refusing import NotPrinted, PressMissing
from shop.people.gate import BadgeRequest, needs

GROUPS: Final = {
    "On the instrument": ("traveller", "body_tag", "neck_tag", "hold_card", "rework_card"),
    "Set-up": ("nut_strip",),
    "Kitting": ("tray_label", "bin_label", "lot_label"),
    "Going out": ("as_built", "box_label", "packing", "manifest"),
    "The shop": ("badge_card", "station_card", "gauge_label", "slot_label"),
}
"""The forms as they are looked for."""

MOST_SCANNED: Final = 200  # an address is to stay one that a browser takes


@never_cache
@require_safe
@needs("paper.print")
def choose(request: BadgeRequest) -> HttpResponse:
    """Which form; then of what. ``?form=`` and ``?serial=`` choose beforehand."""
    return page(request, request.GET)


def page(request: BadgeRequest, sent: QueryDict, why: NotPrinted | None = None) -> HttpResponse:
    """The page to choose on, with all that was chosen; with ``why`` nothing was printed, and
    it says so."""
    now = timezone.localtime()
    asked = Asked.of(sent, now)
    if asked.known is None:
        return _forms(request, asked, why)
    narrowed = Narrowed.of(sent)
    found = choices.found(asked.known, narrowed, now)
    listed = found.rows[:LISTED]
    names = {row.name for row in listed}
    ticked = choices.named(asked.known, [one for one in asked.names if one not in names])
    known = names.union(row.name for row in ticked)
    shown: dict[str, Any] = {
        "form": asked.known,
        "of": asked.known.subject,
        "why": why,
        "narrowed": narrowed,
        "words": _narrowed_words(narrowed, now),
        "count": len(found.rows),
        "counts": found.counts,
        "ticked": ticked,
        "rows": listed,
        "chosen": set(asked.names),
        "unknown": [one for one in asked.names if one not in known],
        "tomorrow": next_work_day(now),
        "stations": book.stations(),
        "all": _all(asked.known, narrowed),
    }
    return render(request, "paper/choose.html", shown, status=status_of(why))


def status_of(why: NotPrinted | None) -> HTTPStatus:
    """A press that is not installed is out of order; all else is asked for otherwise."""
    if why is None:
        return HTTPStatus.OK
    if isinstance(why, PressMissing):
        return HTTPStatus.SERVICE_UNAVAILABLE
    return HTTPStatus.UNPROCESSABLE_ENTITY


def _forms(request: BadgeRequest, asked: Asked, why: NotPrinted | None) -> HttpResponse:
    told = ""
    if asked.form:
        told = f"There is no form “{asked.form[:QUOTED]}” here. Choose one of these."
    elif why:
        told = "No form was chosen. Choose one of these."
    groups = {words: [FORMS[key] for key in keys if key in FORMS] for words, keys in GROUPS.items()}
    chosen = urlencode([("serial", name) for name in asked.names])
    shown = {"groups": groups, "asked": asked, "chosen": chosen, "why": told}
    shown["phones"] = settings.SIDE_ADDRESS  # where they are set up, if they need to be
    status = HTTPStatus.UNPROCESSABLE_ENTITY if told else HTTPStatus.OK
    return render(request, "paper/forms.html", shown, status=status)


def _narrowed_words(narrowed: Narrowed, now: datetime) -> str:
    """Which instruments are listed, as it goes on after how many they are."""
    return {
        "all": "open",
        "tomorrow": f"of the release of {next_work_day(now):%a %Y-%m-%d}",
        "today": "of the release of today",
        "case": "whose days in the case are over",
        "station": f"next at {dict(book.stations()).get(narrowed.station, 'no such station')}",
        "due": f"due by {narrowed.by}",
        "words": f"ending in {narrowed.words.upper()}",
    }[narrowed.which]


def _all(form: Form, narrowed: Narrowed) -> str:
    """The address that prints all of a narrowed list, however many they are."""
    said = {
        "form": form.key,
        "which": narrowed.which,
        "station": narrowed.station,
        "by": f"{narrowed.by:%Y-%m-%d}" if narrowed.by else "",
        "words": narrowed.words,
        "all": "1",
    }
    return f"{reverse('paper:look')}?{urlencode({name: it for name, it in said.items() if it})}"


@never_cache
@require_http_methods(["GET", "POST"])
@needs("paper.print")
def scanned(request: BadgeRequest) -> HttpResponse:
    """One tag after another: each scan or typed serial joins the list that the address keeps."""
    asked = Asked.of(request.GET, timezone.localtime())
    text = (request.POST.get("code") or request.GET.get("add") or "").replace("\0", "").strip()
    finding: Finding | None = None
    if text or request.method == "POST":
        serial, finding = _whose(request, text)
        if serial and len(asked.names) >= MOST_SCANNED and serial not in asked.names:
            finding = stop(
                "print scanned",
                f"{MOST_SCANNED} are on the list, which is all it takes.",
                "Print these, then scan on.",
                call="",
            )
        elif serial:
            names = list(dict.fromkeys([serial, *asked.names]))
            messages.success(request, f"{serial} is on the list, {len(names)} in all.")
            return redirect(_here(asked.form, names))
    shown = {
        "asked": asked,
        "form": asked.known,
        "finding": finding,
        "here": _here(asked.form, asked.names),
        "rows": [
            (name, _here(asked.form, [one for one in asked.names if one != name]))
            for name in asked.names
        ],
        "chosen": urlencode([("serial", name) for name in asked.names]),
    }
    return render(request, "paper/scanned.html", shown)


def _here(form: str, names: Sequence[str]) -> str:
    """The address of the list of these."""
    said = [("form", form)] if form else []
    said += [("serial", name) for name in names]
    return f"{reverse('paper:scanned')}?{urlencode(said)}" if said else reverse("paper:scanned")


def _whose(request: BadgeRequest, text: str) -> tuple[str, Finding | None]:
    """The serial of the instrument that a scan or a typed serial names, or why it is none."""
    if serial := tags.body_of(text.upper()):
        return serial, None
    own = {request.get_host().lower(), settings.ADDRESS.split("://")[1].lower()}
    reading = read(text, own)
    if reading.kind is None:
        return "", reading.finding
    found = tags.find(reading.code, reading.kind)
    if found.finding is not None:
        return "", found.finding
    return board.serial_of(found.body_tag) or "", None
