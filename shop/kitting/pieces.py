"""What is not a plain lot: what was set apart, singles of broken sets, spares, draws."""

from __future__ import annotations

import csv
import uuid
from collections.abc import Callable
from typing import Any, Final

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shop.catalogue import book
from shop.craft.finding import any_stop
from shop.craft.gauging import whole
from shop.craft.hardware import TunerSet
from shop.craft.singles import Laid, questions
from shop.craft.spreadsheet import cells
from shop.floor import board
from shop.floor.door import Act, Drawn, record
from shop.people.gate import BadgeRequest, may, needs
from shop.stock import ledger, shelf
from shop.stock.ledger import Singles, Thrown, Whole
from shop.stock.shelf import LotSheet

BREAK_REASONS: Final = ("A machine for a repair", "Spares of this lot for repairs")
DRAW_REASONS: Final = ("Button cracked", "Gear worn or stiff", "Post bent", "A machine was lost")
THROW_REASONS: Final = ("Worn or bent", "Plating is scratched", "Parts of it are missing")
FOUND_AT: Final = ("On the floor", "In a sweeping", "In an empty tray", "In another part's bin")
MOST: Final = 9_999  # more pieces than anybody has in hand
UNKNOWN: Final = "?"  # chosen where nobody knows what was found


@never_cache
@require_safe
@needs("stock.receive")
def pieces(request: BadgeRequest) -> HttpResponse:
    """What waits to be looked at, the singles by hand and lot, and the spares that lack."""
    return _page(request)


@never_cache
@require_safe
@needs("stock.receive")
def pieces_csv(request: BadgeRequest) -> HttpResponse:
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="pieces.csv"'
    sheet = csv.writer(response)
    sheet.writerow(["what", "item", "name", "lot", "bin", "whole", "left", "right", "since", "why"])
    for one in shelf.set_apart(timezone.localdate()):
        hands = [one.quantity if one.piece == piece else "" for piece in ("", "L", "R")]
        told = cells("set apart", one.key, one.name, one.code, one.bin, *hands)
        sheet.writerow([*told, *cells(one.since, one.why)])
    for single in shelf.singles():
        told = cells("singles", single.key, single.name, single.code, " ".join(single.bins))
        sheet.writerow([*told, *cells("", single.left, single.right, "", single.held)])
    for spare in shelf.spares_due():
        told = cells("spares lacking", spare.key, spare.name, spare.code, spare.bin)
        lacks = f"{spare.there} of {spare.wanted} singles for {spare.sets} sets"
        sheet.writerow([*told, *cells("", "", "", "", lacks)])
    return response


@never_cache
@require_POST
@needs("stock.receive")
def found(request: BadgeRequest) -> HttpResponse:
    """A part was found: it is set apart. Where it cannot be, what was typed stays."""
    sent = request.POST
    key, piece = sent.get("item", ""), sent.get("piece", "")
    item_id = None if key == UNKNOWN else book.item_ids([key]).get(key)
    where = sent.get("words", "").strip() or sent.get("where", "")
    if key != UNKNOWN and item_id is None:
        messages.error(request, "Say what you found. Choose it of the list.")
        return _page(request)
    try:
        ledger.found(
            item_id,
            _count(sent.get("quantity", "")),
            where,
            request.user.pk,
            timezone.now(),
            "L" if piece == "L" else "R" if piece == "R" else "",
            after=_known(request),
        )
    except ledger.OutOfStep as why:
        messages.error(request, str(why))
        return _page(request)
    messages.success(request, f"{key} is set apart. Bag it, and write the day on the bag.")
    return redirect("kitting:pieces")


def _page(request: BadgeRequest) -> HttpResponse:
    """The page; a form that was refused stands on it as it was sent."""
    shown = {
        "apart": shelf.set_apart(timezone.localdate()),
        "singles": shelf.singles(),
        "spares": shelf.spares_due(),
        "items": book.items(),
        "found_at": FOUND_AT,
        "unknown": UNKNOWN,
        "known": shelf.last_movement(),
        "typed": request.POST,
    }
    return render(request, "kitting/pieces.html", shown)


def _count(text: str) -> int:
    """What was typed as a count; 0, which no count is, where it is none that can be."""
    found = whole(text) or 0
    return found if found <= MOST else 0


def _known(request: BadgeRequest) -> int | None:
    """What the page that was tapped showed: how many there were, or the last movement."""
    return whole(request.POST.get("known", ""))


def _sheet_or_404(lot_id: int) -> LotSheet:
    sheet = shelf.lot(lot_id)
    if sheet is None:
        raise Http404
    return sheet


# --- what was set apart is looked at ---


@never_cache
@require_http_methods(["GET", "POST"])
@needs("stock.receive")
def look(request: BadgeRequest, lot_id: int) -> HttpResponse:
    """Somebody has it in hand: is it whole, are singles of it good, or is it thrown away?"""
    sheet = _sheet_or_404(lot_id)
    is_set = isinstance(sheet.article, TunerSet) and not sheet.row.piece
    if request.method == "POST":
        kind = request.POST.get("as", "")
        try:
            outcome = _outcome(kind, request)
            ledger.look(lot_id, outcome, request.user.pk, timezone.now(), known=_known(request))
        except ledger.OutOfStep as why:
            messages.error(request, str(why))
        else:
            messages.success(request, f"{sheet.row.key} of {sheet.row.code}: {DONE[kind]}")
            return redirect("kitting:pieces")
    asked = request.POST.get("as") or request.GET.get("as", "")
    serial = sheet.row.code.partition(" ")[2]
    shown = {
        "lot": sheet.row,
        "article": sheet.article,
        "as": asked if asked in OUTCOMES and (is_set or asked != "singles") else "",
        "is_set": is_set,
        "questions": questions(sheet.article) if isinstance(sheet.article, TunerSet) else {},
        "codes": shelf.lots_of(sheet.item_id, serial),
        "reasons": THROW_REASONS,
        "sent": request.POST,
    }
    return render(request, "kitting/look.html", shown)


def _outcome(kind: str, request: BadgeRequest) -> Whole | Singles | Thrown:
    """What was found, as it was tapped. Raises ``OutOfStep`` where nothing was."""
    if kind not in OUTCOMES:
        raise ledger.OutOfStep("Say how you found it: whole, singles, or good for nothing.")
    return OUTCOMES[kind](request)


def _as_whole(request: BadgeRequest) -> Whole:
    laid = Laid(**{name: name in request.POST for name in Laid.__dataclass_fields__})
    return Whole(_count(request.POST.get("quantity", "")), _code(request), laid)


def _as_singles(request: BadgeRequest) -> Singles:
    sent = request.POST
    left, right = (whole(sent.get(name, "")) for name in ("left", "right"))
    if left is None or right is None or left + right > MOST:
        raise ledger.OutOfStep("Count the good machines, left and right, seen from the front.")
    return Singles(_count(sent.get("quantity", "")), left, right, _code(request))


def _as_thrown(request: BadgeRequest) -> Thrown:
    why = request.POST.get("words", "").strip() or request.POST.get("why", "")
    return Thrown(_count(request.POST.get("quantity", "")), why)


def _code(request: BadgeRequest) -> str:
    return request.POST.get("other_lot", "").strip() or request.POST.get("lot", "")


OUTCOMES: Final[dict[str, Callable[[BadgeRequest], Whole | Singles | Thrown]]] = {
    "whole": _as_whole,
    "singles": _as_singles,
    "thrown": _as_thrown,
}
DONE: Final = {
    "whole": "back on the shelf. Put it into its bin.",
    "singles": "kept as singles. Bag left and right apart, and write the lot on both.",
    "thrown": "out of the figures. Throw it away.",
}


# --- sets broken and made ---


@require_POST
@needs("stock.receive")
def break_set(request: BadgeRequest, lot_id: int) -> HttpResponse:
    """Break one set of this lot into singles."""
    sheet = _sheet_or_404(lot_id)
    why = request.POST.get("words", "").strip() or request.POST.get("why", "")
    try:
        ledger.break_set(lot_id, request.user.pk, timezone.now(), why, known=_known(request))
    except ledger.OutOfStep as told:
        messages.error(request, str(told))
        return redirect("kitting:lot", lot_id)
    messages.success(
        request,
        f"1 set of {sheet.row.key} broken. Bag left and right apart, and write "
        f"{sheet.row.code} on both.",
    )
    return redirect("kitting:pieces")


@never_cache
@require_http_methods(["GET", "POST"])
@needs("stock.receive")
def make_set(request: BadgeRequest, lot_id: int) -> HttpResponse:
    """Make a set of the singles of one lot; ``lot_id`` is one of its lots of singles."""
    sheet = _sheet_or_404(lot_id)
    if not sheet.row.piece or not isinstance(sheet.article, TunerSet):
        raise Http404
    item_id = sheet.item_id
    if request.method == "POST":
        sent = request.POST
        try:
            made = ledger.make_set(
                item_id, sheet.row.code, "screws" in sent, "bushings" in sent, request.user.pk,
                timezone.now(), strings_ok="strings" in sent, known=_known(request),
            )  # fmt: skip
        except ledger.OutOfStep as why:
            messages.error(request, str(why))
        else:
            messages.success(request, f"1 set of {sheet.row.key} more in lot {sheet.row.code}.")
            return redirect("kitting:lot", made)
    asked = questions(sheet.article)
    shown = {
        "lot": sheet.row,
        "article": sheet.article,
        "loose": [one for one in shelf.singles(item_id) if one.code == sheet.row.code],
        "questions": {key: asked[key] for key in asked if key not in {"machines", "one_lot"}},
        "sent": request.POST,
    }
    return render(request, "kitting/make_set.html", shown)


# --- drawn for a repair ---


@never_cache
@require_http_methods(["GET", "POST"])
@needs("stock.receive")
def draw(request: BadgeRequest, lot_id: int) -> HttpResponse:
    """Draw of this lot for an instrument's repair."""
    sheet = _sheet_or_404(lot_id)
    sent = request.POST
    shown: dict[str, Any] = {"sent": sent, "findings": (), "key": uuid.uuid4(), "warned": False}
    if request.method == "POST":
        serial = sent.get("other_serial", "").strip().upper() or sent.get("serial", "")
        now = board.by_serial(serial)
        if now is None:
            messages.error(
                request, f"There is no instrument {serial or 'without a number'}. Read it again."
            )
        else:
            act = Act.of(request, timezone.now())
            why = sent.get("words", "").strip() or sent.get("why", "")
            count = _count(sent.get("quantity", ""))
            lead = may(request.user, "kit.substitute")
            outcome = record(act, Drawn(now.id, lot_id, count, why[:120], lead=lead))
            if outcome.done:
                messages.success(
                    request, f"{count} × {sheet.row.key} drawn for {serial}. Take it there."
                )
                return redirect("kitting:lot", lot_id)
            stopped = any_stop(outcome.findings)
            shown |= {"findings": outcome.findings, "warned": not stopped}
    asking = board.asking(request, timezone.localtime())
    shown |= {
        "lot": sheet.row,
        "article": sheet.article,
        "at_repair": [board.loop_untold(one, asking) for one in board.all_open() if one.rework],
        "reasons": DRAW_REASONS,
    }
    return render(request, "kitting/draw.html", shown)
