"""What is short and by when it is needed; the scarce parts shared out."""

from __future__ import annotations

import csv
import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from shop.craft.phrasebook import searched
from shop.craft.spreadsheet import cells
from shop.craft.when import when_words
from shop.craft.words import several
from shop.floor import board
from shop.floor.board import Short
from shop.floor.door import Act, PartsShared, record
from shop.people.gate import BadgeRequest, may, needs
from shop.people.languages import say

# Words that narrow the shorts by a tap.
FILTERS: Final = ("late", "unpromised", "lost", "urgent", "batch")


@dataclass(frozen=True, slots=True)
class Line:
    """One short as the page tells it, its moment on the clock of whoever looks."""

    short: Short
    needed: str

    @property
    def short_words(self) -> str:
        """Words a filter looks in."""
        one = self.short
        marks = [
            "urgent" if one.urgent else "",
            "lost" if one.lost_to else "",
            "late" if one.days else "",
            "" if one.promised else "unpromised",
            "" if one.line_id else "batch",
        ]
        known = (one.item.key, one.item.name, one.serial, one.operation, *marks)
        return " ".join(filter(None, known))


@dataclass(frozen=True, slots=True)
class Total:
    """All that is short of one item."""

    key: str
    name: str
    quantity: int
    instruments: int
    first_needed: str
    receipt: date | None
    slips: str


def _filtered(request: HttpRequest, at: datetime) -> tuple[list[Line], str]:
    """The shorts narrowed to the words asked for; every word must be found."""
    asked = request.GET.get("words", "").strip()
    lines = [Line(one, when_words(one.needed_at, at)) for one in board.shorts(at)]
    words = asked.lower().split()
    found = [one for one in lines if all(it in searched(one.short_words, say) for it in words)]
    return found, asked


def _totals(lines: Sequence[Line]) -> list[Total]:
    """The same by item, the item that is needed first at the head."""
    by_item: dict[str, list[Line]] = {}
    for line in lines:
        by_item.setdefault(line.short.item.key, []).append(line)
    return [_total(key, some) for key, some in by_item.items()]


def _total(key: str, some: Sequence[Line]) -> Total:
    rows = [one.short for one in some]
    first = next((one.receipt for one in rows if one.receipt), None)
    worst = max(rows, key=lambda one: (not one.promised, one.days))
    return Total(
        key=key,
        name=rows[0].item.name,
        quantity=sum(one.quantity for one in rows),
        instruments=len({one.serial for one in rows}),
        first_needed=some[0].needed,
        receipt=first.due_on if first else None,
        slips=worst.slip_words,
    )


@never_cache
@require_safe
@needs("stock.see")
def shorts(request: BadgeRequest) -> HttpResponse:
    """Everything that is short, what is needed first before the rest."""
    at = timezone.localtime()
    lines, asked = _filtered(request, at)
    shown = {
        "lines": lines,
        "totals": _totals(lines),
        "words": asked,
        "filters": FILTERS,
        "may_share": may(request.user, "stock.share"),
    }
    return render(request, "kitting/shorts.html", shown)


@never_cache
@require_safe
@needs("stock.see")
def shorts_csv(request: BadgeRequest) -> HttpResponse:
    lines, _ = _filtered(request, timezone.localtime())
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="shorts.csv"'
    sheet = csv.writer(response)
    sheet.writerow(
        ["item", "name", "quantity", "serial", "operation", "needed", "due", "next receipt",
         "days late", "why"]
    )  # fmt: skip
    for line in lines:
        one = line.short
        needed = one.needed_at.isoformat(timespec="minutes")
        receipt = one.receipt.due_on if one.receipt else ""
        sheet.writerow(
            cells(
                one.item.key, one.item.name, one.quantity, one.serial, one.operation, needed,
                one.due_on, receipt, one.days if one.promised else "", one.why,
            )
        )  # fmt: skip
    return response


@never_cache
@require_http_methods(["GET", "POST"])
@needs("stock.share")
def share(request: BadgeRequest) -> HttpResponse:
    """Who would get the scarce parts and who not, and why; one tap accepts it."""
    at = timezone.localtime()
    shown: dict[str, Any] = {"key": uuid.uuid4()}
    if request.method == "POST":
        deed = PartsShared(request.POST.get("mark", "")[:16])
        outcome = record(Act.of(request, at), deed)
        if outcome.done:
            messages.success(request, "Shared out. Each guitar that gains or loses has it noted.")
            return redirect("kitting:shorts")
        shown["findings"] = outcome.findings
    sharing = board.sharing(at)
    moved = len({one.line_id for one in sharing.moves})
    shown |= {"sharing": sharing, "moved": several(moved, "line"), "at": at}
    return render(request, "kitting/share.html", shown)
