"""When to order again: what is below its point, how that is reckoned, and the shopping list."""

from __future__ import annotations

import csv

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from shop.craft.phrasebook import searched
from shop.craft.reorder import LOOK_BACK_DAYS, REVIEW_DAYS
from shop.craft.spreadsheet import cells
from shop.people.gate import BadgeRequest, needs
from shop.people.languages import say
from shop.stock import shelf


def _filtered(request: HttpRequest) -> tuple[list[shelf.Reorder], str]:
    """The items narrowed to the words asked for; every word must be found."""
    asked = request.GET.get("words", "").strip()
    words = asked.lower().split()
    rows = shelf.reordering(timezone.now())
    found = [row for row in rows if all(one in searched(row.short_words, say) for one in words)]
    return found, asked


@never_cache
@require_safe
@needs("stock.see")
def reorder(request: BadgeRequest) -> HttpResponse:
    """Every item against its reorder point, those to be ordered first."""
    rows, words = _filtered(request)
    shown = {
        "below": [row for row in rows if row.below],
        "enough": [row for row in rows if not row.below],
        "words": words,
        "look_back": LOOK_BACK_DAYS,
        "review": REVIEW_DAYS,
    }
    return render(request, "kitting/reorder.html", shown)


@never_cache
@require_safe
@needs("stock.see")
def shopping_csv(request: BadgeRequest) -> HttpResponse:
    """The shopping list: what is below its point, in whole packs."""
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="shopping.csv"'
    sheet = csv.writer(response)
    sheet.writerow(["item", "name", "quantity", "packs", "needed by"])
    rows, _ = _filtered(request)
    for row in rows:
        if row.below:
            sheet.writerow(cells(row.key, row.name, row.quantity, row.packs, row.needed_on or ""))
    return response


@never_cache
@require_safe
@needs("stock.see")
def reorder_csv(request: BadgeRequest) -> HttpResponse:
    """The whole list, with what each point is made of."""
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="reorder.csv"'
    sheet = csv.writer(response)
    sheet.writerow(
        ["item", "name", "class", "on hand", "free", "on order", "next due", "order at",
         "a day", "deviation", "lead days", "deviation of lead", "service per cent",
         "safety stock", "reckoned", "least", "wanted by orders", "first not covered", "order now",
         "packs"]
    )  # fmt: skip
    rows, _ = _filtered(request)
    for row in rows:
        point = row.point
        sheet.writerow(
            cells(
                row.key, row.name, row.cls, row.on_hand, row.free, row.on_order,
                row.next_on or "", point.at, f"{point.demand.mean:.3f}",
                f"{point.demand.sd:.3f}", f"{point.lead.days:g}", f"{point.lead.sd_days:g}",
                f"{point.lead.service_pct:g}", f"{point.safety:.2f}", f"{point.reckoned:.2f}",
                point.least, row.wanted, row.wanted_on or "", row.quantity, row.packs,
            )
        )  # fmt: skip
    return response
