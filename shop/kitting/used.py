"""Where a lot went: every instrument, tray and person that had pieces of it."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from datetime import datetime
from urllib.parse import urlencode

from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.timezone import localtime
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from shop.craft.spreadsheet import cells
from shop.floor import board
from shop.people.gate import BadgeRequest, needs
from shop.stock import shelf

HEAD = (
    "serial", "what became of it", "since", "order", "destination", "item", "lot", "plating lot",
    "stage", "out", "fitted", "off it", "kept", "tray", "picked by", "checked by", "closed by",
    "fitted by", "fitted at", "people", "why scrapped",
)  # fmt: skip


@never_cache
@require_http_methods(["GET", "POST"])
@needs("stock.see")
def search(request: BadgeRequest) -> HttpResponse:
    """Scan a lot's label, or type its code; one lot of that name is shown at once."""
    scanned = request.POST.get("code", "").strip()
    if isinstance(label := shelf.read_label(scanned) if scanned else None, shelf.LotLabel):
        return redirect("kitting:used", label.lot_id)
    if request.method == "POST":
        return redirect(f"{reverse('kitting:used')}?{urlencode({'words': scanned})}")
    words = request.GET.get("words", "").strip()
    return render(
        request, "kitting/used_search.html", {"words": words, "lots": shelf.lots_named(words)}
    )


@never_cache
@require_safe
@needs("stock.see")
def used(request: BadgeRequest, lot_id: int) -> HttpResponse:
    """One lot: its kin, and every instrument that had of them."""
    found = _or_404(lot_id)
    fitted = {one.serial for one, _ in found.uses if one.fitted}
    shown = {
        "found": found,
        "lot": found.lot,
        "fitted": len(fitted),
        "gone": found.out_of_the_shop,
    }
    return render(request, "kitting/used.html", shown)


@never_cache
@require_safe
@needs("stock.see")
def used_csv(request: BadgeRequest, lot_id: int) -> HttpResponse:
    found = _or_404(lot_id)
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="lot-{lot_id}-used.csv"'
    sheet = csv.writer(response)
    sheet.writerow(HEAD)
    sheet.writerows(_rows(found))
    return response


def _rows(found: board.WhereUsed) -> Iterator[list[str]]:
    for one, it in found.uses:
        became = (it.stage, _moment(it.at), it.order, it.destination) if it else ("", "", "", "")
        yield cells(
            one.serial, *became, found.lot.key, one.lot.words, one.lot.plating, one.stage,
            one.quantity, one.fitted, one.off, one.kept, one.tray, one.picked_by, one.checked_by,
            one.closed_by, one.fitted_by, _moment(one.fitted_at), " ".join(one.people),
            it.why if it else "",
        )  # fmt: skip


def _moment(at: datetime | None) -> str:
    return localtime(at).isoformat(" ", "minutes") if at else ""


def _or_404(lot_id: int) -> board.WhereUsed:
    found = board.where_used(lot_id)
    if found is None:
        raise Http404
    return found
