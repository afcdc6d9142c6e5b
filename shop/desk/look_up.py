"""The as-built look-up: for a buyer, a dealer or a repairer who asks years later.

One page by serial or scanned tag, with nothing on it that can be changed: the record as it was
frozen, the proof of it in the journal, and what is missing, said to be missing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from shop.craft.record import Sheet
from shop.craft.words import listed, several
from shop.desk.records import found, frozen, to_choose
from shop.floor import board
from shop.floor.board import CartonRow, Picture, Proven, State
from shop.people.gate import BadgeRequest, may, needs

FIRST_LOOKS = 3  # the first form of a record that keeps what the first look measured
LONGEST = 300  # letters of what is typed or scanned


@dataclass(frozen=True, slots=True)
class Missing:
    """Something the page cannot show: what, and why or what to do."""

    what: str
    words: str


@never_cache
@require_http_methods(["GET", "POST"])
@needs("floor.see")
def look_up(request: BadgeRequest) -> HttpResponse:
    """By its serial, typed or written on it, or by any code on it, void ones too."""
    typed = request.POST.get("code") or request.GET.get("serial") or request.GET.get("code") or ""
    words = typed.replace("\0", "").strip()[:LONGEST]
    serials = found(request, words) if words else []
    if len(serials) == 1:
        return redirect("desk:as-built", serials[0])
    shown = {"words": words, **to_choose(serials)}
    return render(request, "desk/look_up.html", shown)


@never_cache
@require_safe
@needs("floor.see")
def as_built(request: BadgeRequest, serial: str) -> HttpResponse:
    """One page: the record, its proof, and what is missing of it."""
    now = board.by_serial(serial)
    if now is None:
        raise Http404
    kept = board.as_built(now.id)
    sheet, unread = frozen(kept)
    proven = board.proven(now, kept)
    pictures = board.pictures(now.id)
    carton = board.carton_of(now)
    asking = board.asking(request, timezone.localtime())
    shown: dict[str, Any] = {
        "now": now,
        "sheet": sheet,
        "proven": proven,
        "pictures": [one for one in pictures if one.there],
        "carton": carton,
        "back": board.worked_on_since(now) if sheet and not now.ended else None,
        "missing": tuple(_missing(now, kept, sheet, unread, pictures, carton, proven)),
        "asked_at": asking.at,
        "may_print": sheet is not None and may(request.user, "paper.print"),
        "rows": _rows(proven),
    }
    return render(request, "desk/as_built.html", shown)


def _rows(proven: Proven) -> str:
    return several(proven.chain.rows, "row")


def _missing(
    now: State,
    kept: dict[str, Any] | None,
    sheet: Sheet | None,
    unread: str,
    pictures: tuple[Picture, ...],
    carton: CartonRow | None,
    proven: Proven,
) -> Iterator[Missing]:
    if kept is None:
        yield _no_record(now, proven)
        return
    if sheet is None:
        yield Missing("The record", unread)
        return
    yield from _unmeasured(now, kept)
    if kept["form"] < FIRST_LOOKS and kept["inspections"]:
        words = "A record of its time kept what was measured last at each place, and no more."
        yield Missing("Values of the first look", words)
    gone = [one for one in pictures if not one.there]
    for one in gone:
        words = (
            f"The file of the picture taken at {one.operation} is gone from this machine, or is "
            "not what was kept. Look in a backup of the photos."
        )
        yield Missing("A picture", words)
    if not pictures:
        yield Missing("Pictures", "None was taken of it up to its release.")
    if not kept.get("room"):
        yield Missing("The room", "It was not read in its days in the case.")
    if "defects" not in kept:
        yield Missing("Defects", "A record of its time did not say what was noted at its looks.")
    yield from _without_lots(kept)
    if carton is None:
        yield _no_carton(now)
    elif not carton.manifest:
        yield Missing("The carrier", "It was not handed over: its carton stands on the dock.")


def _without_lots(kept: dict[str, Any]) -> Iterator[Missing]:
    unknown = [one["key"] for one in kept["kit"] if not one["lot"]]
    if len(unknown) == len(kept["kit"]):
        yield Missing("Lots", "No lot is on record of any part.")
    elif unknown:
        yield Missing("Lots", f"No lot is on record of {listed(unknown)}.")


def _no_carton(now: State) -> Missing:
    words = "No carton is on record: it was not boxed by scans here."
    last = board.last_carton_of(now)
    if last is not None:
        boxed = f"{timezone.localtime(last.at):%Y-%m-%d}"
        words = f"It was boxed {boxed} by {last.by} and worked on since: it is in no carton now."
        if last.gone_at is not None:
            gone = f"{timezone.localtime(last.gone_at):%Y-%m-%d}"
            words = (
                f"It was boxed {boxed} by {last.by} and handed to {last.carrier} {gone}, list "
                f"{last.manifest}. It was worked on since: it is in no carton now."
            )
    return Missing("The carton", words)


def _no_record(now: State, proven: Proven) -> Missing:
    words = "It was not released: what it was built of goes on record with its release."
    if proven.holds is False:
        words = "It is gone: its journal tells of the release it was frozen with. Look in a backup."
    elif now.ended:
        words = "It was scrapped before its release: only its journal tells of it."
    return Missing("The record", words)


def _unmeasured(now: State, kept: dict[str, Any]) -> Iterator[Missing]:
    for name, places in board.never_measured(now, kept):
        words = "It was never measured, or no value of it was in force at release."
        if places:
            words = f"No value of it was in force at release here: {listed(places)}."
        yield Missing(name, words)
