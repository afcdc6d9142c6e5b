"""Lists in and out: items, stock, what is on order, and orders, as CSV or XLSX."""

from __future__ import annotations

import csv
from typing import Final

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from shop.craft.spreadsheet import cells
from shop.craft.words import several
from shop.people.gate import BadgeRequest, needs
from shop.stock import ledger, shelf

# What each kind of list is, for whoever chooses one.
WORDS: Final = {
    "items": "Items with their measures",
    "stock": "Stock: new lots in their bins",
    "receipts": "Receipts: what is on order",
    "orders": "Orders: instruments to build",
}
SHOWN: Final = 200  # rows on the page; the CSV has all of them
TOLD: Final = 3  # of what stands against kits: messages travel in a cookie of 2 kB
LETTERS: Final = 240  # of one of them


@never_cache
@require_safe
@needs("stock.see")
def lists(request: BadgeRequest) -> HttpResponse:
    """Every list to be had, and the way in for one."""
    kinds = [(what, WORDS[what], shelf.list_head(what)) for what in shelf.list_kinds()]
    shown = {
        "kinds": kinds,
        "chosen": request.GET.get("what", ""),
        "most_mb": shelf.LIST_BYTES // (1024 * 1024),
        "intakes": shelf.intakes(),
    }
    return render(request, "kitting/lists.html", shown)


@never_cache
@require_safe
@needs("stock.see")
def file(request: BadgeRequest, name: str) -> HttpResponse:
    """One list as a file: ``items.csv``."""
    what, _, form = name.partition(".")
    if (found := shelf.list_file(what, form)) is None:
        raise Http404
    content, media_type = found
    return _attached(HttpResponse(content, content_type=media_type), name)


@require_POST
@needs("stock.import")
def bring(request: BadgeRequest) -> HttpResponse:
    """Read a file; what it would do is looked at next."""
    what = request.POST.get("what", "")
    try:
        name, content = _sent(request)
        intake_id = ledger.bring_in(what, name, content, request.user.pk, timezone.now())
    except ledger.OutOfStep as why:
        messages.error(request, str(why))
        return redirect(f"/lists/?what={what}" if what in WORDS else "kitting:lists")
    return redirect("kitting:intake", intake_id)


def _sent(request: HttpRequest) -> tuple[str, bytes]:
    """Name and content of the file. Raises ``OutOfStep`` where there is none."""
    sent = request.FILES.get("file")
    if sent is None:
        raise ledger.OutOfStep("There is no file yet. Choose the list.")
    # One byte more than allowed is enough to know that it is too large.
    return sent.name or "", sent.read(shelf.LIST_BYTES + 1)


@never_cache
@require_safe
@needs("stock.import")
def intake(request: BadgeRequest, intake_id: int) -> HttpResponse:
    """What a list would do: what is wrong with it first, then what is new and what changes."""
    sheet = _sheet_or_404(intake_id)
    shown = {
        "sheet": sheet,
        "list": sheet.row,
        "counts": sheet.counts,
        "faults": sheet.faults[:SHOWN],
        "faults_more": len(sheet.faults) - SHOWN,
        "acts": sheet.acts[:SHOWN],
        "acts_more": len(sheet.acts) - SHOWN,
    }
    return render(request, "kitting/intake.html", shown)


@never_cache
@require_safe
@needs("stock.import")
def intake_csv(request: BadgeRequest, intake_id: int) -> HttpResponse:
    """Everything that is wrong with a list, and what each row would do."""
    sheet = _sheet_or_404(intake_id)
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    table = csv.writer(response)
    table.writerow(["line", "column", "row", "what", "words"])
    about = {one.line: one.about for one in sheet.lines}
    for fault in sheet.faults:
        named = about.get(fault.line, "")
        table.writerow(cells(fault.line, fault.column, named, "bad", fault.words))
    for one in sheet.lines:
        if one.state != "bad":
            table.writerow(cells(one.line, "", one.about, one.state, one.words))
    return _attached(response, "read.csv")


def _attached(response: HttpResponse, name: str) -> HttpResponse:
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


def _sheet_or_404(intake_id: int) -> shelf.IntakeSheet:
    sheet = shelf.intake(intake_id)
    if sheet is None:
        raise Http404
    return sheet


@require_POST
@needs("stock.import")
def take(request: BadgeRequest, intake_id: int) -> HttpResponse:
    """Take a list over, whole or not at all."""
    _sheet_or_404(intake_id)
    try:
        outcome = ledger.accept(intake_id, request.user.pk, timezone.now())
    except ledger.OutOfStep as why:
        messages.error(request, str(why))
    else:
        _tell(request, outcome)
    return redirect("kitting:intake", intake_id)


def _tell(request: HttpRequest, outcome: ledger.Outcome) -> None:
    if outcome.already:
        messages.success(request, "The list is taken over already. Nothing more to do.")
    elif outcome.taken:
        words = f"Taken over: {outcome.new} new, {outcome.changed} changed."
        messages.success(request, words)
        for words in outcome.against[:TOLD]:
            messages.error(request, _cut(words))
        if (more := len(outcome.against) - TOLD) > 0:
            messages.error(request, f"{more} more against kits. Look at them under Fit.")
    else:
        rows = several(len(outcome.meanwhile), "row")
        first = " ".join(_cut(one) for one in outcome.meanwhile[:TOLD])
        messages.error(
            request, f"Nothing is taken over yet: {rows} changed meanwhile. {first} Look again."
        )


def _cut(words: str) -> str:
    return words if len(words) <= LETTERS else f"{words[:LETTERS]}\u2026"
