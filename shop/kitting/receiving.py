"""The receiving table: every lot, one lot measured, held and given free."""

from __future__ import annotations

import csv
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from typing import Any, Final

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shop.craft.finding import Finding
from shop.craft.fit import receiving
from shop.craft.gauging import whole
from shop.craft.hardware import Family, TunerSet
from shop.craft.phrasebook import searched
from shop.craft.spreadsheet import cells
from shop.craft.words import mm, several
from shop.kitting.measuring import Typed, typed
from shop.kitting.pieces import BREAK_REASONS
from shop.people.gate import BadgeRequest, needs
from shop.people.languages import say
from shop.stock import ledger, shelf

HOLD_REASONS: Final = (
    "Plating is spotted or scratched",
    "Pieces are missing in the boxes",
    "It is not what was ordered",
)
FREE_REASONS: Final = ("Measured again, it is inside", "It is taken as it is")


def _filtered(request: HttpRequest) -> tuple[list[shelf.LotRow], str]:
    """The lots narrowed to the words asked for; every word must be found."""
    asked = request.GET.get("words", "").strip()
    words = asked.lower().split()
    rows = shelf.lots()
    found = [row for row in rows if all(one in searched(row.short_words, say) for one in words)]
    return found, asked


@never_cache
@require_safe
@needs("lot.measure")
def lots(request: BadgeRequest) -> HttpResponse:
    """Every lot on the shelf, those that are held first."""
    rows, asked = _filtered(request)
    return render(request, "kitting/lots.html", {"lots": rows, "words": asked})


@never_cache
@require_safe
@needs("lot.measure")
def lots_csv(request: BadgeRequest) -> HttpResponse:
    rows, _ = _filtered(request)
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="lots.csv"'
    sheet = csv.writer(response)
    sheet.writerow(
        ["item", "name", "lot", "bin", "received", "on hand", "reserved", "free", "measured",
         "best before", "held", "singles", "plating lot"]
    )  # fmt: skip
    for row in rows:
        sheet.writerow(
            cells(
                row.key, row.name, row.code, row.bin, row.received_on, row.on_hand,
                row.reserved, row.free, row.measured, row.best_before or "", row.held, row.piece,
                row.plating,
            )
        )  # fmt: skip
    return response


@never_cache
@require_safe
@needs("lot.measure")
def labelled(request: BadgeRequest, lot_id: int) -> HttpResponse:
    """The address on a lot's label, as a phone's own camera opens it."""
    return redirect("kitting:lot", lot_id)


@never_cache
@require_http_methods(["GET", "POST"])
@needs("lot.measure")
def lot(request: BadgeRequest, lot_id: int) -> HttpResponse:
    """One lot: measure pieces of it, see what was measured, hold it or give it free."""
    sheet = _sheet_or_404(lot_id)
    entry = Typed(dimension=request.GET.get("dimension", ""))
    if request.method == "POST":
        entry = typed(sheet.article, request.POST)
        if entry.taken and _measure(request, sheet, entry):
            return redirect(f"{request.path}?dimension={_next(lot_id, entry.dimension)}")
    measures = receiving.measures(sheet.article)
    left = _left(sheet)
    if left and not entry.dimension and not entry.fault:
        entry = replace(entry, dimension=next(iter(left)))
    findings = _findings(sheet)
    said_below = any(sheet.row.held.startswith(one.words) for one in findings)
    shown = {
        "lot": sheet.row,
        "held_words": "" if said_below or sheet.to_measure else sheet.row.held,
        "sheet": sheet,
        "measures": measures,
        "to_measure": sheet.to_measure,
        "left": [(one.words, left[one.dimension]) for one in measures if one.dimension in left],
        "is_set": isinstance(sheet.article, TunerSet),
        "break_reasons": BREAK_REASONS,
        "rows": _measured(sheet, measures),
        "entry": entry,
        "findings": findings,
        "battery": sheet.article.family is Family.BATTERY,
        "hold_reasons": HOLD_REASONS,
        "free_reasons": FREE_REASONS,
    }
    return render(request, "kitting/lot.html", shown)


def _left(sheet: shelf.LotSheet) -> dict[str, int]:
    """How many pieces are still to be measured before the lot is free, by dimension."""
    asked = [one.dimension for one in receiving.measures(sheet.article)]
    return sheet.to_measure.left(asked) if sheet.to_measure else {}


def _next(lot_id: int, dimension: str) -> str:
    """What is measured next: the same again, unless enough pieces of it were and another
    dimension waits."""
    sheet = shelf.lot(lot_id)
    left = _left(sheet) if sheet else {}
    return dimension if not left or dimension in left else next(iter(left))


def _sheet_or_404(lot_id: int) -> shelf.LotSheet:
    sheet = shelf.lot(lot_id)
    if sheet is None:
        raise Http404
    return sheet


def _measure(request: BadgeRequest, sheet: shelf.LotSheet, entry: Typed) -> bool:
    """Keep what was typed and tell what came of it; False where it was not kept."""
    after = whole(request.POST.get("after", ""))
    try:
        out = ledger.measure(
            sheet.row.id, entry.values, request.user.pk, timezone.now(), after=after
        )
    except ledger.OutOfStep as why:
        messages.error(request, str(why))
        return False
    pieces = several(len(entry.values), "piece")
    after_it = shelf.lot(sheet.row.id)
    if sheet.row.held and after_it and not after_it.row.held:
        messages.success(request, f"{pieces} measured, inside the size. The lot is free to pick.")
    elif out:
        messages.error(request, f"{len(out)} of {pieces} out of size. The whole lot is held.")
    else:
        messages.success(request, f"{pieces} measured, inside the size.")
    return True


def _measured(sheet: shelf.LotSheet, measures: Sequence[receiving.Measure]) -> list[dict[str, Any]]:
    """The values measured so far, newest first, in words."""
    words = {one.dimension: one.words for one in measures}
    return [
        {
            "words": words.get(one.dimension, one.dimension),
            "value": mm(one.value),
            "inside": one.inside,
            "by": one.by,
            "at": one.at,
        }
        for one in sheet.checks
    ]


def _findings(sheet: shelf.LotSheet) -> list[Finding]:
    """What the pieces measured stand against, each once, while the lot is held."""
    if not sheet.row.held:
        return []
    askable = {one.dimension for one in receiving.measures(sheet.article)}
    found = [
        finding
        for check in sheet.checks
        if not check.inside and check.dimension in askable
        for finding in receiving.out_of_size(sheet.article, check.dimension, check.value)
    ]
    return list(dict.fromkeys(found))


@require_POST
@needs("lot.measure")
def hold(request: BadgeRequest, lot_id: int) -> HttpResponse:
    """Hold the whole lot."""
    return _decide(request, lot_id, ledger.hold, "is held. Nobody picks from it.")


@require_POST
@needs("lot.free")
def free(request: BadgeRequest, lot_id: int) -> HttpResponse:
    """Give a held lot free again."""
    return _decide(request, lot_id, ledger.free, "is free to pick again.")


def _decide(
    request: BadgeRequest, lot_id: int, deed: Callable[..., None], done: str
) -> HttpResponse:
    sheet = _sheet_or_404(lot_id)
    why = request.POST.get("words", "").strip() or request.POST.get("why", "")
    try:
        deed(lot_id, why, request.user.pk, timezone.now())
    except ledger.OutOfStep as told:
        messages.error(request, str(told))
    else:
        messages.success(request, f"Lot {sheet.row.code} {done}")
    return redirect("kitting:lot", lot_id)


@require_POST
@needs("lot.measure")
def best_before(request: BadgeRequest, lot_id: int) -> HttpResponse:
    """The date printed on the batteries of this lot."""
    _sheet_or_404(lot_id)
    told: Any = request.POST.get("best_before", "")
    try:
        day = date.fromisoformat(told)
        ledger.keep_until(lot_id, day, timezone.localdate())
    except ledger.OutOfStep as why:
        messages.error(request, str(why))
    except ValueError:
        messages.error(request, f"{told or 'Nothing'} is no date. Write it as 2034-03-31.")
    else:
        messages.success(request, f"Best before {day.isoformat()}.")
    return redirect("kitting:lot", lot_id)
