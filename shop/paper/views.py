"""Choosing what to print, and the print itself."""

from __future__ import annotations

from http import HTTPStatus

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from shop.floor import board
from shop.paper import press
from shop.paper.refusing import NotPrinted, PressMissing
from shop.people.gate import needs


@never_cache
@require_safe
@needs("paper.print")
def choose(request: HttpRequest) -> HttpResponse:
    """Which form, for which instruments; ``?form=`` and ``?serial=`` choose beforehand."""
    return _page(request)


@never_cache
@require_safe
@needs("paper.print")
def print_out(request: HttpRequest) -> HttpResponse:
    """The PDF of what was chosen, or the page again with why not. Printing changes nothing."""
    form, serials = request.GET.get("form", ""), request.GET.getlist("serial")
    try:
        pdf = press.print_forms(form, serials, timezone.now())
    except PressMissing as why:
        return _page(request, str(why), HTTPStatus.SERVICE_UNAVAILABLE)
    except NotPrinted as why:
        return _page(request, str(why), HTTPStatus.UNPROCESSABLE_ENTITY)
    name = press.file_name(form, serials)
    return HttpResponse(
        pdf,
        content_type="application/pdf",
        headers={"Content-Disposition": f'inline; filename="{name}"'},
    )


def _page(request: HttpRequest, why: str = "", status: HTTPStatus = HTTPStatus.OK) -> HttpResponse:
    open_now = sorted(board.all_open(), key=lambda one: (one.due_on, one.serial))
    form = request.GET.get("form", "")
    chosen = set(press.cleaned(request.GET.getlist("serial")))
    if "all" in request.GET:
        chosen = {one.serial for one in open_now}
    shown = {
        "forms": press.FORMS.values(),
        "form": form if form in press.FORMS else next(iter(press.FORMS)),
        "instruments": open_now,
        "chosen": chosen,
        "most": press.MOST,
        "why": why,
    }
    return render(request, "paper/choose.html", shown, status=status)
