"""The walk past the bins: one bin a screen. Scan the bin, scan the lot, count."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from shop.catalogue import book
from shop.craft.gauging import whole
from shop.craft.when import in_utc, when_words
from shop.craft.words import listed, several
from shop.floor import board
from shop.kitting.forms import UNSCANNED, AtBin, Unclear
from shop.people.gate import BadgeRequest, needs
from shop.stock import ledger, shelf
from shop.stock.shelf import BinStop, Coming, LotSheet, Share, WalkRow

LONGEST: Final = 60  # of a scanned text, as it is told again


@dataclass(frozen=True, slots=True)
class Gets:
    """What one tray gets at a bin, as the clerk reads it."""

    share: Share
    left: str  # machines for its wells, seen from the front
    right: str
    needed: str  # operation and moment its part has to be there
    approved: tuple[tuple[str, str], ...]  # what may go in instead, and who approved it
    filled: bool  # by as many as were found

    @property
    def line_name(self) -> str:
        """What tells the fields of this line from those of others."""
        return str(self.share.line_id)

    @property
    def left_words(self) -> str:
        return f"{self.share.serial}, left well"

    @property
    def right_words(self) -> str:
        return f"{self.share.serial}, right well"


def _walk_or_404(walk_id: int) -> WalkRow:
    row = shelf.walk_row(walk_id)
    if row is None:
        raise Http404
    return row


def _way(walk_id: int, at: AtBin | None = None) -> str:
    address = reverse("kitting:walk", args=[walk_id])
    return f"{address}?{at.address}" if at and at.said else address


@never_cache
@require_safe
@needs("tray.pick")
def walk(request: BadgeRequest, walk_id: int) -> HttpResponse:
    """The bin that comes next, or the one asked for; what is left of the walk on any phone."""
    row = _walk_or_404(walk_id)
    stops = shelf.stops_of(walk_id)
    if not stops:
        return render(request, "kitting/walked.html", {"walk": row})
    if row.by != request.user.code or row.paused_at:
        return render(request, "kitting/walk_left.html", {"walk": row, "left": len(stops)})
    at = AtBin.of(request.GET.dict())
    place = next((turn for turn, one in enumerate(stops) if one.key == at.stop), 0)
    if stops[place].key != at.stop:
        at = AtBin({})  # that bin is done: nothing said there is said here
    return render(request, "kitting/bin.html", _shown(row, stops, place, at))


def _shown(row: WalkRow, stops: Sequence[BinStop], place: int, at: AtBin) -> dict[str, Any]:
    stop, now = stops[place], timezone.localtime()
    after = stops[(place + 1) % len(stops)]
    at = at.having(at=stop.key)
    told = whole(at.said.get("found", str(stop.take if stop.lot_id else 0)))
    found = min(told or 0, stop.take)
    shares = _by_need(stop, now)
    full = stop.gets(found, [share.line_id for share, _ in shares])
    gets = [_gets(share, moment, now, stop, at, share.line_id in full) for share, moment in shares]
    return {
        "walk": row,
        "stop": stop,
        "at": at,
        "step": _step(stop, at),
        "gets": gets,
        "found": found,
        "receipt": _receipt(shelf.coming([stop.item_id])[stop.item_id], now),
        "to_go": len(stops),
        "later": _way(row.id, AtBin({"at": after.key})) if len(stops) > 1 else "",
        "then": after.key,
        "no_label": _way(row.id, at.having(**{_step(stop, at): UNSCANNED})),
        "other": _other(stop, at),
        "approved": _approved(gets),
        "again": _way(row.id, AtBin({"at": stop.key})),
        "left": at.said.get("left", ""),
        "scan_words": f"Scan bin {stop.bin}" if not at.bin_told else f"Scan lot {stop.lot}",
        "untold": {name: kept for name, kept in at.said.items() if name in {"at", "bin", "lot"}},
    }


def _other(stop: BinStop, at: AtBin) -> LotSheet | None:
    """The lot that was scanned, where it is of the stop's item and another than the one to take."""
    sheet = shelf.lot(at.lot_id) if at.lot_id and at.lot_id != stop.lot_id else None
    return sheet if sheet and sheet.item_id == stop.item_id else None


def _step(stop: BinStop, at: AtBin) -> str:
    """What is to be done now: scan the bin, scan the lot, count, or count what is left."""
    if stop.lot_id is None or at.asks_left:
        return "left"
    if not at.bin_told:
        return "bin"
    return "count" if at.lot_told else "lot"


def _by_need(stop: BinStop, now: datetime) -> list[tuple[Share, datetime | None]]:
    """The shares of a stop, each with the moment its part is needed: urgent ones first, then
    those needed first."""
    starts = board.needed([share.serial for share in stop.shares], now)
    timed = [(one, starts.get(one.serial, {}).get(one.used_at)) for one in stop.shares]
    return sorted(timed, key=lambda pair: (not pair[0].urgent, _first(pair[1]), pair[0].serial))


def _first(moment: datetime | None) -> float:
    """A moment to sort by; what is needed at no known one comes last."""
    return in_utc(moment).timestamp() if moment else float("inf")


def _gets(
    share: Share, moment: datetime | None, now: datetime, stop: BinStop, at: AtBin, filled: bool
) -> Gets:
    kit = book.sheet(*share.revision).kit
    line = next((one for one in kit if one.item_id == stop.item_id), None)
    when = when_words(moment, now) if moment else ""
    return Gets(
        share=share,
        left=at.well("left", share.line_id, stop) if stop.by_wells else "",
        right=at.well("right", share.line_id, stop) if stop.by_wells else "",
        needed=" ".join(one for one in (share.used_at, when) if one),
        approved=line.approvals if line else (),
        filled=filled,
    )


def _approved(gets: Sequence[Gets]) -> list[tuple[str, str, list[Share]]]:
    """Each substitute approved for a tray here: its key, by whom and why, and for which trays."""
    found: dict[tuple[str, str], list[Share]] = {}
    for one in gets:
        for approval in one.approved:
            found.setdefault(approval, []).append(one.share)
    return [(key, words, shares) for (key, words), shares in found.items()]


def _receipt(coming: Sequence[Coming], now: datetime) -> str:
    """The next receipt in words."""
    if not coming:
        return "No receipt is booked."
    first = coming[0]
    days = (first.due_on - now.date()).days
    day = f"{first.due_on:%a} " if 0 <= days < 7 else ""
    return f"Next receipt {day}{first.due_on.isoformat()}: {first.quantity}."


# --- said at a bin ---


@require_POST
@needs("tray.pick")
def scan(request: BadgeRequest, walk_id: int) -> HttpResponse:
    """A label was scanned at a bin: of the bin, or of the lot to take."""
    _walk_or_404(walk_id)
    at = AtBin.of(request.POST.dict())
    stop = next((one for one in shelf.stops_of(walk_id) if one.key == at.stop), None)
    if stop is None:
        return redirect(_way(walk_id))
    text = request.POST.get("code", "").strip()[:LONGEST]
    label = shelf.read_label(text, stop.bin)
    if isinstance(label, shelf.BinLabel):
        if label.code == stop.bin:
            return redirect(_way(walk_id, at.having(bin=label.code)))
        messages.error(request, f"This is {label.code}. Go to {stop.bin}.")
    elif isinstance(label, shelf.LotLabel):
        if told := _against(stop, label.lot_id):
            messages.error(request, told)
        else:
            # Whoever holds the lot's own label stands at its bin.
            return redirect(_way(walk_id, at.having(bin=stop.bin, lot=str(label.lot_id))))
    else:
        read = f"“{text}” is" if text else "That is"
        messages.error(request, f"{read} on no bin and no lot here. Scan again, or tap No label.")
    return redirect(_way(walk_id, at))


def _against(stop: BinStop, lot_id: int) -> str:
    """Why a scanned lot is not to be taken at this stop; nothing where it may be."""
    sheet = shelf.lot(lot_id)
    if sheet is None:
        return "This lot is not here any more. Scan again."
    row = sheet.row
    if row.key != stop.article.key:
        return f"This is {row.key}, lot {row.code}. Take {stop.article.key} from {stop.bin}."
    if row.held:
        return f"Lot {row.code} is held: {row.held.rstrip('.')}. Take lot {stop.lot}."
    if row.id != stop.lot_id and row.free < stop.take:
        return (
            f"This is lot {row.code}: {row.free} free, {stop.take} wanted. "
            f"Take lot {stop.lot} from {stop.bin}."
        )
    return ""


@require_POST
@needs("tray.pick")
def pick(request: BadgeRequest, walk_id: int) -> HttpResponse:
    """So many were taken: they go into the trays, and what is wanting is short."""
    _walk_or_404(walk_id)
    at = AtBin.of(request.POST.dict())
    if step := request.POST.get("step", ""):
        return redirect(_way(walk_id, at.stepped(step)))
    told = [whole(one) for one in request.POST.getlist("line")]
    lines = [one for one in told if one is not None]
    stop = next((one for one in shelf.stops_of(walk_id) if one.key == at.stop), None)
    try:
        if stop is None or {share.line_id for share in stop.shares} != set(lines):
            _told_apart(request, walk_id, lines)
            return redirect(_way(walk_id))
        found = at.found(stop)
        if found < stop.take and "left" not in at.said:
            return redirect(_way(walk_id, at.having(short="1")))
        left = at.count("left", 99_999, "Count what is left in the bin.") if _counts(at) else None
        order = [share.line_id for share, _ in _by_need(stop, timezone.localtime())]
        full = stop.gets(found, order)
        picks = [
            at.put_in(stop, one) if one in full else ledger.PutIn(one, None) for one in order
        ]  # fmt: skip
        came = ledger.pick_stop(walk_id, picks, found, request.user.pk)
    except (Unclear, ledger.OutOfStep) as why:
        messages.error(request, str(why))
        return redirect(_way(walk_id, at))
    for serial, against in came.refused:
        messages.error(request, f"{serial}: {against}")
    if came.short:
        _tell_short(request, stop, came.short)
    if left is not None and stop.lot_id is not None and not came.again:
        _recount(request, stop, at.lot_id or stop.lot_id, left)
    then = request.POST.get("then", "")
    return redirect(_way(walk_id, AtBin({"at": then}) if then else None))


def _counts(at: AtBin) -> bool:
    return "left" in at.said


def _told_apart(request: BadgeRequest, walk_id: int, lines: Sequence[int]) -> None:
    """The page was of another moment: nothing is put in, and who was here first is told."""
    if words := ledger.why_not_here(walk_id, lines, request.user.pk):
        messages.error(request, words)


def _tell_short(request: BadgeRequest, stop: BinStop, short: frozenset[int]) -> None:
    """Noted short, with the moment each is needed and the next receipt."""
    now = timezone.localtime()
    named = [
        f"{share.serial}" + (f" ({share.used_at} {when_words(moment, now)})" if moment else "")
        for share, moment in _by_need(stop, now)
        if share.line_id in short
    ]
    receipt = _receipt(shelf.coming([stop.item_id])[stop.item_id], now)
    messages.success(request, f"{stop.article.key} is short for {listed(named)}. {receipt}")


def _recount(request: BadgeRequest, stop: BinStop, lot_id: int, left: int) -> None:
    """What was left of the lot they were taken of is a count of it: the figures follow, or a
    second is asked."""
    sheet = shelf.lot(lot_id)
    if sheet is None or sheet.item_id != stop.item_id:
        return
    place = sheet.row.bin
    in_trays = sum(one.quantity for one in shelf.in_open_trays([lot_id])[lot_id])
    try:
        came = ledger.count(lot_id, left + in_trays, request.user.pk, timezone.now())
    except ledger.OutOfStep as why:
        messages.error(request, str(why))
        return
    if not came.ended:
        told = f"{place} differs from its figures. Another person counts it once more."
    elif came.judged.difference:
        told = f"{place}: the figures follow your count, {several(left, 'piece')} left."
    else:
        return
    lost = f" Nothing is kept for {listed(list(came.short))} there now." if came.short else ""
    messages.success(request, told + lost)


# --- who walks ---


@require_POST
@needs("tray.pick")
def take(request: BadgeRequest, walk_id: int) -> HttpResponse:
    """Take a walk up on this phone, whoever had it."""
    try:
        had = ledger.take_walk(walk_id, request.user.pk)
    except ledger.OutOfStep as why:
        messages.error(request, str(why))
        return redirect("kitting:waves")
    if had:
        messages.success(request, f"You have this walk from {had} now.")
    return redirect(_way(walk_id))


@require_POST
@needs("tray.pick")
def pause(request: BadgeRequest, walk_id: int) -> HttpResponse:
    """Leave a walk where it stands."""
    row = _walk_or_404(walk_id)
    try:
        ledger.pause_walk(walk_id, request.user.pk, timezone.now())
    except ledger.OutOfStep as why:
        messages.error(request, str(why))
    return redirect("kitting:wave", row.wave_id)


@require_POST
@needs("tray.pick")
def split(request: BadgeRequest, walk_id: int) -> HttpResponse:
    """Give the second half of what is left to another clerk."""
    row = _walk_or_404(walk_id)
    try:
        walks = whole(request.POST.get("walks", ""))
        ledger.split_walk(walk_id, request.user.pk, timezone.now(), walks)
    except ledger.OutOfStep as why:
        messages.error(request, str(why))
    return redirect("kitting:wave", row.wave_id)
