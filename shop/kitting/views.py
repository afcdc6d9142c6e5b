"""The clerk's front page: how the day stands, the one thing to do next, the trays by wave."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from shop.craft.spreadsheet import cells
from shop.craft.words import several
from shop.floor import board
from shop.kitting.days import day_after
from shop.kitting.trays import is_short, left_words, tray_list, waiting
from shop.people.gate import BadgeRequest, may, needs
from shop.stock import shelf
from shop.stock.shelf import TrayRow, WalkRow, WaveRow

# Name of the page, its words, and the right it needs.
PAGES: Final = (
    ("waves", "Waves", "tray.pick"),
    ("shorts", "Shorts", "stock.see"),
    ("lots", "Lots", "lot.measure"),
    ("arrivals", "Deliveries in", "stock.receive"),
    ("pieces", "Parts back", "stock.receive"),
    ("counts", "Counts", "stock.count"),
    ("reorder", "To order", "stock.see"),
    ("deliveries", "On order", "stock.see"),
    ("bins", "Bins", "stock.see"),
    ("used", "Where a lot went", "stock.see"),
    ("lists", "Lists in and out", "stock.see"),
)


@dataclass(frozen=True, slots=True)
class Next:
    """The one thing to do now. ``walk``: it is taken up by a tap; else ``address`` is opened."""

    words: str
    why: str
    address: str = ""
    walk: int = 0


@never_cache
@require_safe
@needs("tray.pick")
def trays(request: BadgeRequest) -> HttpResponse:
    """Today's figures, what comes next, the trays wanted up to the next release day."""
    now = timezone.localtime()
    day = day_after(now.date())
    rows, waves = tray_list(day), shelf.waves(day)
    shorts = [one for one in board.shorts(now) if not one.here]
    codes = {one.serial: one.tray_code for one in shorts if one.tray_code}
    partial = shelf.oldest_partial(list(codes))
    shown = {
        "day": day,
        "left": left_words(day, now),
        "first": board.closed_first_time(now.date()),
        "shorts": len(shorts),
        "partial": partial,
        "partial_code": codes[partial[0]] if partial else "",
        "counts_due": shelf.counts_due(now.date()),
        "next": _next(rows, waves, request.user.code),
        "groups": _groups(rows, waves),
        "pages": [
            (f"kitting:{name}", words) for name, words, right in PAGES if may(request.user, right)
        ],
    }
    return render(request, "kitting/trays.html", shown)


def _next(rows: Sequence[TrayRow], waves: Sequence[WaveRow], badge: str) -> Next | None:
    """Go on with the walk, build the wave, check the trays: the first that there is."""
    walks = [walk for wave in waves for walk in wave.walks if not walk.done]
    own = [walk for walk in walks if walk.by == badge]
    free = [walk for walk in walks if not walk.by or walk.paused_at]
    for words, chosen in (("Go on with the walk", own), ("Walk the bins", free)):
        if chosen:
            return Next(words, _walk_words(chosen[0]), walk=chosen[0].id)
    if to_pick := waiting(list(rows)):
        why = f"{several(len(to_pick), 'tray')} to pick."
        return Next("Build the wave", why, reverse("kitting:waves"))
    if picked := [row for row in rows if not row["open"] and row["to_check"]]:
        why = f"{several(len(picked), 'tray')} picked and not checked."
        return Next("Check the trays", why, reverse("kitting:tray", args=[picked[0]["code"]]))
    return None


def _walk_words(walk: WalkRow) -> str:
    paused = f" Paused by {walk.by}." if walk.paused_at and walk.by else ""
    left = several(walk.left, "line")
    return f"Wave {walk.wave_number}, walk {walk.number}: {left} to pick.{paused}"


def _groups(
    rows: Sequence[TrayRow], waves: Sequence[WaveRow]
) -> list[tuple[WaveRow | None, list[TrayRow]]]:
    """The trays by their waves, those in none at the head."""
    known = {one.id for one in waves}
    found: list[tuple[WaveRow | None, list[TrayRow]]] = [
        (None, [row for row in rows if row["wave_id"] not in known])
    ]
    found += [(one, [row for row in rows if row["wave_id"] == one.id]) for one in waves]
    return [(wave, of) for wave, of in found if of]


@never_cache
@require_safe
@needs("tray.pick")
def trays_csv(request: BadgeRequest) -> HttpResponse:
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="trays.csv"'
    sheet = csv.writer(response)
    sheet.writerow(
        ["release", "serial", "spec", "tray", "item", "name", "quantity", "state", "bin"]
    )
    for row in shelf.trays(day_after(timezone.localdate())):
        for line in row["lines"]:
            sheet.writerow(
                cells(
                    row["wanted_on"], row["serial"], row["spec"], row["code"],
                    line["article"].key, line["article"].name, line["quantity"],
                    "short" if is_short(line) else line["state"], line["bin"] or "",
                )
            )  # fmt: skip
    return response
