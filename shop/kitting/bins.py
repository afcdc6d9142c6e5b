"""The bins: where each stands, what lies in it, and what lies too near to what it looks like."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from itertools import takewhile
from typing import Final

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from shop.craft import storing
from shop.craft.aisles import Place
from shop.craft.finding import Finding
from shop.craft.size import plain
from shop.craft.spreadsheet import cells
from shop.craft.storing import Kept
from shop.craft.words import THIN
from shop.people.gate import BadgeRequest, needs
from shop.stock import ledger, shelf

FIRST: Final = Place(1, Decimal("0.0"))  # where a bin is put that had no place
WIDE_M: Final = Decimal("0.3")  # from the middle of one bin to the next; common practice
STEPS_M: Final = tuple(map(Decimal, ("-1", "-0.1", "0.1", "1")))


def _findings(rows: Iterable[shelf.BinRow]) -> tuple[Finding, ...]:
    """What lies too near to what it looks like, anywhere on the shelf."""
    kept = {
        Kept(
            row.code,
            row.place.aisle if row.place else None,
            row.place.along_m if row.place else None,
            one.article,
        ): None
        for row in rows
        for one in row.lies
    }
    return storing.look_alikes(list(kept))


@never_cache
@require_safe
@needs("stock.see")
def bins(request: BadgeRequest) -> HttpResponse:
    """Every bin in the order in which they are passed."""
    return _page(request)


def _page(request: BadgeRequest, typed: str = "") -> HttpResponse:
    """The list; ``typed`` is the code that no bin could be made of."""
    rows = shelf.bins()
    shown = {
        "bins": rows,
        "placed": sum(row.place is not None for row in rows),
        "findings": _findings(rows),
        "typed": typed,
    }
    return render(request, "kitting/bins.html", shown)


@never_cache
@require_safe
@needs("stock.see")
def bins_csv(request: BadgeRequest) -> HttpResponse:
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="bins.csv"'
    sheet = csv.writer(response)
    sheet.writerow(["bin", "aisle", "metres along", "item", "name", "lot", "well", "on hand"])
    for row in shelf.bins():
        place = (row.place.aisle, plain(row.place.along_m)) if row.place else ("", "")
        for one in row.lies:
            sheet.writerow(
                cells(
                    row.code, *place, one.article.key, one.article.name, one.lot, one.piece,
                    one.on_hand,
                )
            )  # fmt: skip
        if not row.lies:
            sheet.writerow(cells(row.code, *place, "", "", "", "", ""))
    return response


@dataclass(frozen=True, slots=True)
class Tap:
    """One tap that puts a bin somewhere else: where, so that twice is as good as once."""

    words: str
    place: Place
    can: bool = True

    @property
    def value(self) -> str:
        return f"{self.place.aisle} {self.place.along_m}"


@never_cache
@require_safe
@needs("stock.see")
def labelled(request: BadgeRequest, code: str) -> HttpResponse:
    """The address on a bin's label, as a phone's own camera opens it."""
    return redirect("kitting:bin", code)


@never_cache
@require_safe
@needs("stock.see")
def one(request: BadgeRequest, code: str) -> HttpResponse:
    """One bin: what lies in it, and its place, moved by taps."""
    rows = shelf.bins()
    row = next((one for one in rows if one.code == code), None)
    if row is None:
        raise Http404
    by_code = sorted(rows, key=lambda it: it.code)
    shown = {
        "bin": row,
        "findings": [it for it in _findings(rows) if _speaks_of(it, code)],
        "aisle_taps": list(_aisle_taps(row.place)) if row.place else [],
        "metre_taps": list(_metre_taps(row.place)) if row.place else [],
        "first_taps": list(_first_taps(row, by_code)),
        "following": next((it for it in by_code if it.code > code and it.place is None), None),
    }
    return render(request, "kitting/one_bin.html", shown)


def _speaks_of(finding: Finding, code: str) -> bool:
    return finding.basis is not None and any(
        side.endswith(f"({code})") for side, _ in finding.basis.sides
    )


def _aisle_taps(now: Place) -> Iterator[Tap]:
    yield Tap("One aisle nearer", Place(now.aisle - 1, now.along_m), now.aisle > 1)
    yield Tap("One aisle farther", Place(now.aisle + 1, now.along_m))


def _metre_taps(now: Place) -> Iterator[Tap]:
    for step in STEPS_M:
        along = now.along_m + step
        sign = "+" if step > 0 else ""
        yield Tap(f"{sign}{plain(step)}{THIN}m", Place(now.aisle, along), along >= 0)


def _first_taps(row: shelf.BinRow, by_code: Sequence[shelf.BinRow]) -> Iterator[Tap]:
    """Where a bin may well stand: beside the one before it by code, else at the table."""
    earlier = list(takewhile(lambda one: one.code < row.code, by_code))
    before = next((one for one in reversed(earlier) if one.place is not None), None)
    if before is not None and before.place is not None:
        beside = Place(before.place.aisle, before.place.along_m + WIDE_M)
        yield Tap(f"Beside {before.code}: {_words(beside)}", beside, beside != row.place)
    if row.place is None:
        yield Tap(f"At the kitting table: {_words(FIRST)}", FIRST)


def _words(place: Place) -> str:
    return f"aisle {place.aisle}, {plain(place.along_m)}{THIN}m along"


@require_POST
@needs("stock.receive")
def place(request: BadgeRequest, code: str) -> HttpResponse:
    """Put the bin where the tap says, or take its place from it."""
    try:
        ledger.place_bin(code, *_said(request.POST.get("place", "")))
    except ledger.OutOfStep as why:
        messages.error(request, str(why))
    return redirect("kitting:bin", code)


def _said(text: str) -> tuple[int | None, Decimal | None]:
    """The aisle and metres a tap sends: "2 3.4", or "none". Raises ``OutOfStep``."""
    if text == "none":
        return None, None
    aisle, _, along = text.partition(" ")
    try:
        return int(aisle), Decimal(along)
    except (ValueError, InvalidOperation) as why:
        raise ledger.OutOfStep("This page is too old. Open the bin again.") from why


@never_cache
@require_POST
@needs("stock.receive")
def make(request: BadgeRequest) -> HttpResponse:
    """A new bin, and on to its place; one that is there already is opened all the same."""
    typed = request.POST.get("code", "")
    try:
        code = ledger.make_bin(typed)
    except ledger.BinThere as why:
        code = why.code
        messages.info(request, f"{code} is there. This is its page.")
    except ledger.OutOfStep as why:
        messages.error(request, str(why))
        return _page(request, typed)
    return redirect("kitting:bin", code)
