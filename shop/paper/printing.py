"""A last look at what is to be printed, and the print itself, which is recorded."""

from __future__ import annotations

import uuid
from dataclasses import replace
from typing import Any, Final

from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shop.floor.door import Act
from shop.paper import choosing, jobs, picture, press
from shop.paper.asked import Asked
from shop.paper.choosing import status_of
from shop.paper.foreseen import refusal
from shop.paper.forms import FIND, Form, form_of
from shop.paper.jobs import PrintedBefore, TooMany
from shop.paper.laying import REMEMBERED, Laying
from shop.paper.refusing import NoneChosen, NotPrinted, Unknown
from shop.people.gate import BadgeRequest, needs

REASONS: Final = (
    "The old one is lost",
    "The old one is spoilt",
    "It did not come out of the printer",
)


@never_cache
@require_http_methods(["GET", "POST"])
@needs("paper.print")
def look(request: BadgeRequest) -> HttpResponse:
    """How it will look, on what, and how much paper that takes. A list too long for an
    address is posted; nothing is recorded either way."""
    sent = request.POST if request.method == "POST" else request.GET
    asked = Asked.of(sent, timezone.localtime())
    try:
        form = _printable(asked)
    except NotPrinted as why:
        return choosing.page(request, sent, why)
    if request.htmx:
        laying = Laying.of(form, sent, request.session)
        shown = {"asked": asked, "laying": laying, "takes": laying.words(len(asked.names))}
        return render(request, "paper/_laying.html", shown | {"open": True})
    return _page(request, asked, form, sent)


@never_cache
@require_safe
@needs("paper.print")
def preview(request: BadgeRequest) -> HttpResponse:
    """The front of the first of them as a picture."""
    form, name = request.GET.get("form", ""), request.GET.get("name", "")
    try:
        drawn = picture.of_first_page(form, name, timezone.now())
    except NotPrinted as why:
        plain = "text/plain; charset=utf-8"
        return HttpResponse(str(why), content_type=plain, status=status_of(why))
    return HttpResponse(drawn, content_type="image/png")


@never_cache
@require_POST
@needs("paper.print")
def print_out(request: BadgeRequest) -> HttpResponse:
    """Print it. Few are there at once and their PDF opens; many are on their way, and their
    page tells how far they are. What cannot be printed is told with all that was chosen kept."""
    act = _reasoned(Act.of(request, timezone.now()), request)
    sent = request.POST
    asked = Asked.of(sent, timezone.localtime())
    try:
        form = _printable(asked)
    except NotPrinted as why:
        return choosing.page(request, sent, why)
    laying = Laying.of(form, sent, request.session)
    try:
        job = jobs.ask(
            form.key, asked.names, laying.on, laying.printer, act, again=bool(act.reason)
        )
    except NotPrinted as why:
        return _page(request, asked, form, sent, why)
    request.session[REMEMBERED] = laying.laid_for
    if job.state == "done" and not job.refused:
        return redirect("paper:pdf", job.pk)
    return redirect("paper:job", job.pk)


def _reasoned(act: Act, request: BadgeRequest) -> Act:
    """The act with words of one's own before the reason that was tapped."""
    words = request.POST.get("words", "").strip()[:200]
    return replace(act, reason=words) if words else act


def _printable(asked: Asked) -> Form:
    """The form that was asked for. Raises ``NotPrinted`` where nothing of it can be printed."""
    form = form_of(asked.form)
    if not asked.names:
        raise NoneChosen
    press.typesetter()
    return form


def _page(
    request: BadgeRequest,
    asked: Asked,
    form: Form,
    sent: QueryDict,
    why: NotPrinted | None = None,
) -> HttpResponse:
    """The page of a last look; with ``why`` nothing was printed, and it says so."""
    names = asked.names[: jobs.MOST]
    if len(asked.names) > len(names):
        why = why or TooMany(len(asked.names))
    things = FIND[form.subject](names)
    there = [name for name in names if name in things]
    example = there[0] if there else ""
    against = refusal(form, things[example], timezone.now()) if example else None
    notes: list[NotPrinted] = [Unknown(name, form.subject) for name in names if name not in things]
    if against is not None:
        notes.append(against)
    can = len(there) > (1 if against else 0)
    if not can:
        why = why or notes[0]
    laying = Laying.of(form, sent, request.session)
    shown: dict[str, Any] = {
        "asked": asked,
        "form": form,
        "why": why,
        "notes": notes if can else (),
        "can": can,
        "example": "" if against else example,
        "wide": round(form.format.width_mm),
        "high": round(form.format.height_mm),
        "laying": laying,
        "takes": laying.words(len(there)),
        "before": jobs.printed_before(form.key, there),
        "unsaid": isinstance(why, PrintedBefore),
        "reasons": REASONS,
        "reason": sent.get("reason", ""),
        "words": sent.get("words", ""),
        "key": uuid.uuid4(),
    }
    return render(request, "paper/look.html", shown, status=status_of(why))
