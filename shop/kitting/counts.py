"""Counting bins: what is due, one bin counted, a second count where the first is far off."""

from __future__ import annotations

import csv
from datetime import datetime, time
from typing import Final

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from shop.craft.counting import GOAL_PCT
from shop.craft.gauging import whole
from shop.craft.phrasebook import searched
from shop.craft.spreadsheet import cells
from shop.craft.words import listed, several
from shop.people.gate import BadgeRequest, needs
from shop.people.languages import say
from shop.stock import ledger, shelf

REASONS: Final = (
    "Not known: found at this count",
    "Taken or put back without a tray",
    "Broken or thrown away",
    "Received with another number",
)
QUOTED: Final = 20  # characters of what was typed that are said back
ENDED: Final = {"agreed": "as by the figures", "adjusted": "adjusted", "apart": "two numbers"}


def _filtered(request: HttpRequest) -> tuple[list[shelf.ToCount], str]:
    """The bins to count narrowed to the words asked for; every word must be found."""
    asked = request.GET.get("words", "").strip()
    words = asked.lower().split()
    rows = shelf.to_count(timezone.localdate())
    found = [row for row in rows if all(one in searched(row.short_words, say) for one in words)]
    return found, asked


def _midnight() -> datetime:
    """When today began by the shop's own clock."""
    return timezone.make_aware(datetime.combine(timezone.localdate(), time()))


@never_cache
@require_safe
@needs("stock.count")
def counts(request: BadgeRequest) -> HttpResponse:
    """What is to be counted, second counts first, and how many lines were right today."""
    rows, words = _filtered(request)
    shown = {
        "second": [row for row in rows if row.count_id],
        "due": [row for row in rows if not row.count_id],
        "words": words,
        "accuracy": shelf.count_accuracy(_midnight()),
        "goal": GOAL_PCT,
        "done": [(row, ENDED[row.ended]) for row in shelf.counts_done(_midnight())],
        "badge": request.user.code,
    }
    return render(request, "kitting/counts.html", shown)


@never_cache
@require_safe
@needs("stock.count")
def counts_csv(request: BadgeRequest) -> HttpResponse:
    """The bins to count, as narrowed on the page. Blind, as the page is."""
    rows, _ = _filtered(request)
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="counts.csv"'
    sheet = csv.writer(response)
    sheet.writerow(
        ["bin", "item", "name", "lot", "single", "class", "counted last", "every days",
         "second count after"]
    )  # fmt: skip
    for row in rows:
        sheet.writerow(
            cells(
                row.bin, row.key, row.name, row.code, row.piece, row.cls, row.last or "",
                row.every_days, row.counted_by,
            )
        )  # fmt: skip
    return response


@never_cache
@require_safe
@needs("stock.count")
def done_csv(request: BadgeRequest) -> HttpResponse:
    """What was counted, the newest first."""
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="counted.csv"'
    sheet = csv.writer(response)
    sheet.writerow(
        ["counted", "bin", "item", "lot", "by the figures", "counted by", "number", "second by",
         "second number", "difference", "per cent", "came to", "reason"]
    )  # fmt: skip
    for row in shelf.counts_done():
        sheet.writerow(
            cells(
                timezone.localtime(row.at).isoformat(timespec="minutes"), row.bin, row.key,
                row.code, row.judged.expected, row.by, row.judged.counted, row.second_by,
                "" if row.second is None else row.second, row.judged.difference,
                "" if row.judged.pct is None else row.judged.pct, ENDED[row.ended], row.why,
            )
        )  # fmt: skip
    return response


@never_cache
@require_http_methods(["GET", "POST"])
@needs("stock.count")
def count(request: BadgeRequest, lot_id: int) -> HttpResponse:
    """One bin, counted without knowing the figures; or counted a second time."""
    bin_ = shelf.bin_to_count(lot_id)
    if bin_ is None:
        raise Http404
    typed = request.POST.get("counted", "").strip()
    if request.method == "POST" and _count(request, bin_, typed):
        return redirect("kitting:counts")
    shown = {
        "bin": bin_,
        "typed": typed,
        "reasons": REASONS,
        "mine": bin_.counted_by == request.user.code,
    }
    return render(request, "kitting/count.html", shown)


def _count(request: BadgeRequest, bin_: shelf.BinToCount, typed: str) -> bool:
    """Keep the number and tell what came of it; False where it was not kept."""
    counted = whole(typed)
    if counted is None:
        told = f"{typed[:QUOTED]} is no count." if typed else "No number yet."
        messages.error(request, f"{told} Count, and give the number in digits: 37.")
        return False
    by, now = request.user.pk, timezone.now()
    # Which of the two it is was decided when the page was opened, not when it came back.
    first = request.POST.get("second", "")
    try:
        if first:
            why = request.POST.get("words", "").strip() or request.POST.get("why", "")
            found = ledger.second_count(whole(first) or 0, counted, by, now, why)
        else:
            after = whole(request.POST.get("after", ""))
            found = ledger.count(bin_.lot_id, counted, by, now, after=after)
    except ledger.OutOfStep as why_not:
        messages.error(request, str(why_not))
        return False
    _tell(request, f"{bin_.bin} {bin_.article.key}", found)
    return True


def _tell(request: HttpRequest, which: str, found: ledger.Counted) -> None:
    judged = found.judged
    if found.ended == "agreed":
        messages.success(request, f"{which}: {judged.counted} counted, as by the figures.")
    elif found.ended == "adjusted":
        messages.success(
            request,
            f"{which}: {judged.counted} counted, {judged.expected} by the figures. "
            f"{judged.words}. The figures follow the count.",
        )
    elif found.ended == "apart":
        messages.error(
            request,
            f"{which}: the two counts differ. Nothing is changed. Count it again together.",
        )
    else:
        messages.success(
            request,
            f"{which}: {judged.counted} counted. {judged.words}. Another person counts it too, "
            "without your number.",
        )
    if found.short:
        trays = several(len(found.short), "tray")
        messages.error(request, f"Short by it now: {trays}, {listed(found.short)}. Tell the lead.")
