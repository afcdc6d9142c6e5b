"""One line of a tray: what goes in, from which lot, out of two lots, of a second plating lot."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from typing import Any, Final

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from shop.catalogue import book
from shop.craft.gauging import whole
from shop.craft.hardware import Metal
from shop.floor import board
from shop.floor.door import Act, CallMade, record
from shop.kitting.checking import Line, reason_of, tray_or_404
from shop.people.gate import BadgeRequest, needs
from shop.stock import ledger, shelf
from shop.stock.shelf import LotChoice, TrayRow

SECOND_REASONS: Final = (
    "Laid side by side in daylight: one shade",
    "The two never show side by side",
    "The buyer was asked and takes it",
)

NO_LOT: Final = 0  # what was scanned for a lot is none


def line_or_404(row: TrayRow, line_id: int) -> Line:
    """A line of a tray that is open, or the plain page that says there is none."""
    lines: list[Line] = row["lines"]
    chosen = next((one for one in lines if one["id"] == line_id), None)
    if chosen is None or row["state"] == "closed":
        raise Http404
    return chosen


@dataclass(frozen=True, slots=True)
class Clash:
    """A lot that shows another shade than what lies in the tray: its plating lot and theirs."""

    metal: Metal
    lot: LotChoice
    others: tuple[tuple[str, str], ...]  # item and plating lot of each part in the tray

    @property
    def baths(self) -> str:
        return ", ".join(dict.fromkeys(bath for _, bath in self.others))


def clash(row: TrayRow, line: Line, metal: Metal | None, lot: LotChoice) -> Clash | None:
    """Whether this lot would be a second plating lot of one metal in the tray."""
    others = tuple(
        (one["put_in"].key, one["plating"] or one["lot_code"])
        for one in row["lines"]
        if one["id"] != line["id"]
        and one["put_in"]
        and one["put_in"].metal is metal
        and one["lot_code"]
        and not one["second_lot_why"]
    )
    apart = tuple(one for one in others if one[1] != lot.plating)
    if metal is None or not apart or line["second_lot_why"]:
        return None
    return Clash(metal, lot, apart)


@never_cache
@require_http_methods(["GET", "POST"])
@needs("tray.pick")
def line(request: BadgeRequest, code: str, line_id: int) -> HttpResponse:
    """Say what was put in for one line, or that its bin is short."""
    row = tray_or_404(code)
    if request.method == "POST" and row["state"] == "closed":
        words = f"The tray of {row['serial']} is closed. Open it again first."
        messages.error(request, words)
        return redirect("kitting:tray", code)
    chosen = line_or_404(row, line_id)
    key = request.POST.get("item", chosen["article"].key).strip().upper()
    lot_id = _lot_asked(request, chosen)
    if request.method == "POST" and _put(request, row, chosen, key, lot_id):
        return redirect("kitting:tray", code)
    lots = shelf.lots_for(line_id, chosen["item_id"])
    asked = next((one for one in lots if one.id == lot_id), None)
    return render(
        request,
        "kitting/line.html",
        {
            "tray": row,
            "line": chosen,
            "items": book.items(),
            "item": key,
            "lots": lots,
            "lot_id": lot_id,
            "clash": clash(row, chosen, chosen["article"].metal, asked) if asked else None,
            "split": _split(chosen, lots),
            "key": uuid.uuid4(),
        },
    )


def _lot_asked(request: BadgeRequest, chosen: Line) -> int | None:
    """The lot whose label was scanned or that was tapped; none where neither was."""
    if text := request.POST.get("code", "").strip():
        label = shelf.read_label(text, chosen["bin"] or "")
        return label.lot_id if isinstance(label, shelf.LotLabel) else NO_LOT
    return whole(request.POST.get("lot") or request.GET.get("lot", ""))


def _put(request: BadgeRequest, row: TrayRow, chosen: Line, key: str, lot_id: int | None) -> bool:
    """Note what went in. False, with the reason told, where it cannot be so."""
    short = request.POST.get("said") == "short"
    item_id = None if short else book.item_ids([key]).get(key)
    if not short and item_id is None:
        messages.error(request, f"There is no item {key}. Choose one of the list.")
        return False
    if not short and lot_id == NO_LOT:
        text = request.POST.get("code", "")[:40]
        messages.error(request, f"{text} is no lot's label. Scan the label on the bag.")
        return False
    try:
        ledger.put_in(
            row["id"], [ledger.PutIn(chosen["id"], item_id, lot_id=None if short else lot_id)]
        )
    except ledger.OutOfStep as why:
        messages.error(request, str(why))
        return False
    return True


def _split(chosen: Line, lots: tuple[LotChoice, ...]) -> LotChoice | None:
    """The lot to begin with where no single one covers the line and all of them do."""
    if chosen["state"] == "taken" or sum(one.free for one in lots) < chosen["quantity"]:
        return None
    fullest = max(lots, key=lambda one: one.free)
    return fullest if fullest.free < chosen["quantity"] else None


@require_POST
@needs("tray.pick")
def split(request: BadgeRequest, code: str, line_id: int) -> HttpResponse:
    """Fill a line out of two lots: so many from the fullest, the rest as a line of its own."""
    row = tray_or_404(code)
    chosen = line_or_404(row, line_id)
    first = whole(request.POST.get("first", "")) or 0
    try:
        ledger.split_line(line_id, first, request.user.pk, timezone.now())
    except ledger.OutOfStep as why:
        messages.error(request, str(why))
        return redirect("kitting:line", code, line_id)
    rest = chosen["quantity"] - first
    words = f"{chosen['article'].key} is two lines now: {first} and {rest}, a lot for each."
    messages.success(request, words)
    return redirect("kitting:tray", code)


# --- a second plating lot ---


@require_POST
@needs("tray.pick")
def ask_second(request: BadgeRequest, code: str, line_id: int) -> HttpResponse:
    """Call the lead to a tray that wants a second plating lot."""
    row = tray_or_404(code)
    chosen = line_or_404(row, line_id)
    lots = shelf.lots_for(line_id, chosen["item_id"])
    lot = next((one for one in lots if str(one.id) == request.POST.get("lot")), None)
    between = clash(row, chosen, chosen["article"].metal, lot) if lot else None
    now = board.by_serial(row["serial"])
    if lot is None or between is None or now is None:
        messages.error(request, "This lot can go in as it is, or lies here no more. Look again.")
        return redirect("kitting:line", code, line_id)
    words = (
        f"Tray {row['code']}: {chosen['article'].key} is there of plating lot {lot.plating} only, "
        f"and the tray has {between.metal.value} of {between.baths}. May it go in?"
    )
    outcome = record(Act.of(request, timezone.localtime()), CallMade(now.id, "lead", words))
    if outcome.done:
        messages.success(request, "The lead is called. Leave the line open until it is accepted.")
    for one in () if outcome.done else outcome.findings:
        messages.error(request, f"{one.words} {one.then}")
    return redirect("kitting:tray", code)


@never_cache
@require_http_methods(["GET", "POST"])
@needs("tray.accept")
def second(request: BadgeRequest, code: str, line_id: int) -> HttpResponse:
    """The lead looks at two plating lots side by side and accepts the second, or does not."""
    row = tray_or_404(code)
    chosen = line_or_404(row, line_id)
    if request.method == "POST":
        why = reason_of(request.POST, SECOND_REASONS)
        try:
            ledger.accept_second_lot(line_id, why, request.user.pk, timezone.now())
        except ledger.OutOfStep as told:
            messages.error(request, str(told))
            return redirect("kitting:second", code, line_id)
        words = f"A second plating lot is accepted for {chosen['article'].key}. It can go in now."
        messages.success(request, words)
        return redirect("kitting:tray", code)
    metal = chosen["article"].metal
    inside = [
        {"key": one["put_in"].key, "name": one["put_in"].name, "bath": one["plating"] or
         one["lot_code"]}
        for one in row["lines"]
        if one["put_in"] and one["put_in"].metal is metal and one["lot_code"]
        and one["id"] != line_id
    ]  # fmt: skip
    lots = shelf.lots_for(line_id, chosen["item_id"])
    baths = {one["bath"] for one in inside}
    shown: dict[str, Any] = {
        "tray": row,
        "line": chosen,
        "metal": metal,
        "inside": inside,
        "lots": lots,
        "apart": bool(baths) and any({one.plating} != baths for one in lots),
        "reasons": SECOND_REASONS,
    }
    return render(request, "kitting/second.html", shown)
