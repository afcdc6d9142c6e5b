"""One tray at the kitting desk: each line checked, the tray closed, labelled and parked."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any, Final

from django.contrib import messages
from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shop.craft import weighing
from shop.craft.finding import Severity, any_stop, any_warn, worst_first
from shop.craft.gauging import NotANumber, number, whole
from shop.craft.hardware import Article, TunerSet
from shop.floor import board
from shop.floor.door import Act, LineChecked, TrayClosed, TrayOpened, record
from shop.people.fresh import asked_by_itself
from shop.people.gate import BadgeRequest, needs
from shop.stock import ledger, shelf
from shop.stock.shelf import SmallParts, TrayRow

REASONS = ("The missing part follows before it is needed", "The lead agreed to go on")
OPEN_REASONS = ("What was missing has come", "A part is exchanged", "It is checked once more")

GONE: Final = "This line is checked, or not in the tray any more."
MOST_TAPS: Final = 12  # a larger count is typed
WELL_TAPS: Final = range(8)  # machines in one well; no head has more on a side
Line = dict[str, Any]


def tray_or_404(code: str) -> TrayRow:
    """The tray with this code, or the plain page that says there is none."""
    row = shelf.tray(code)
    if row is None:
        raise Http404
    return row


@never_cache
@require_safe
@needs("tray.pick")
def tray(request: BadgeRequest, code: str) -> HttpResponse:
    """One tray: what lies in it, what stands against closing it, its label and its slot."""
    return _tray_page(request, tray_or_404(code))


def _tray_page(request: BadgeRequest, row: TrayRow) -> HttpResponse:
    closed = row["state"] == "closed"
    findings = () if closed else worst_first(board.tray_outlook(row["serial"]))
    waits = [line for line in row["lines"] if line["state"] == "open"]
    shown = {
        "tray": row,
        "findings": findings,
        "stopped": any_stop(findings),
        "warned": any_warn(findings),
        "reasons": REASONS,
        "open_reasons": OPEN_REASONS,
        "key": uuid.uuid4(),
        "to_pick": len(waits),
        "to_check": sum(line["to_check"] for line in row["lines"]),
        "partial": [line for line in row["lines"] if line["state"] == "short"],
    }
    return render(request, "kitting/tray.html", shown)


# --- the check, one line a screen ---


@dataclass(frozen=True, slots=True)
class Counted:
    """What was said of one line. ``how``: scanned, counted or weighed. ``fault`` says why it
    is not checked, ``told`` what a weight came to, ``kept`` that it is checked by it."""

    how: str = "count"
    count: int = 0
    left: int | None = None
    right: int | None = None
    fault: str = ""
    told: str = ""
    kept: bool = False


@never_cache
@require_http_methods(["GET", "POST"])
@needs("tray.pick")
def check(request: BadgeRequest, code: str) -> HttpResponse:
    """The tray check: the next line that nobody checked yet, or the one asked for. Why a line
    is not checked stands on the page that answers: a phone that sends it later reads it there.
    """
    row = tray_or_404(code)
    asked = request.POST.get("line") or request.GET.get("line", "")
    said = Counted()
    if request.method == "POST":
        said = _tapped(request, row, asked)
        if said.kept:
            return redirect("kitting:check", code)
        row = tray_or_404(code)  # as it stands by now
    left = [line for line in row["lines"] if line["to_check"]]
    if row["state"] == "closed" or not left:
        asks = request.method == "GET"
        return redirect("kitting:tray", code) if asks else _tray_page(request, row)
    line = next((one for one in left if str(one["id"]) == asked), left[0])
    own = asked in {"", str(line["id"])}  # or it was said of a line that is gone
    inside = [one for one in row["lines"] if one["state"] == "taken"]
    shown = {
        "tray": row,
        "line": line,
        "article": line["put_in"],
        "wells": isinstance(line["put_in"], TunerSet),
        "well_taps": WELL_TAPS,
        "taps": range(MOST_TAPS + 1) if line["quantity"] <= MOST_TAPS else (),
        "small": _small_of(line),
        "said": said if own else Counted(),
        "sent": request.POST if own else {},
        "done": len(inside) - len(left),
        "of": len(inside),
        "others": [one for one in left if one["id"] != line["id"]],
        "fields": {
            "key": uuid.uuid4(),
            "line": line["id"],
            "lies": f"{line['put_in_id']}-{line['lot_id'] or ''}",
        },
    }
    return render(request, "kitting/check.html", shown)


def _tapped(request: BadgeRequest, row: TrayRow, asked: str) -> Counted:
    """What was said of a line, and kept as its check, unless ``fault`` or a message says why
    not. Without its number it was said of the first that nobody checked yet."""
    act = Act.of(request, timezone.localtime())
    lines = (one for one in row["lines"] if (str(one["id"]) == asked if asked else one["to_check"]))
    line = next(lines, None)
    if line is None or line["put_in"] is None:
        messages.error(request, GONE)
        return Counted()
    said = _said(request.POST, line, _small_of(line))
    if not said.fault:
        return replace(said, kept=_checked(request, act, row, line, said))
    if line["to_check"]:
        return said
    messages.error(request, GONE)
    return Counted()


def _small_of(line: Line) -> SmallParts | None:
    """The screws that go with a set of machines, for as many sets as the line holds."""
    if not isinstance(line["put_in"], TunerSet):
        return None
    found = shelf.small_parts(line["put_in_id"])
    return replace(found, count=found.count * line["quantity"]) if found else None


def _said(sent: QueryDict, line: Line, small: SmallParts | None) -> Counted:
    """What was tapped, typed or scanned, read against what the line is to hold."""
    if text := sent.get("code", "").strip():
        return _scanned(text, line)
    article: Article = line["put_in"]
    if not isinstance(article, TunerSet):
        count = whole(sent.get("count", ""))
        if count is None:
            return Counted(fault="Count the pieces, then tap how many there are.")
        return Counted("count", count)
    return _machines(sent, line, article, small)


def _scanned(text: str, line: Line) -> Counted:
    """A label scanned for a line: the label of the lot it is said to be from."""
    label = shelf.read_label(text, line["bin"] or "")
    if not isinstance(label, shelf.LotLabel):
        return Counted(fault=f"{text[:40]} is no lot's label. Scan the label on the bag, or count.")
    if label.lot_id != line["lot_id"]:
        other = shelf.lot(label.lot_id)
        named = f"{other.row.key} lot {other.row.code}" if other else "another lot"
        ours = f"lot {line['lot_code']}" if line["lot_code"] else "no lot"
        return Counted(
            fault=f"This is {named}. By the list {line['put_in'].key} of {ours} lies here. "
            "Exchange it, or change the line to what lies here."
        )
    if isinstance(line["put_in"], TunerSet):
        return Counted(
            fault=f"Lot {line['lot_code']} is right. Now count the machines in the wells."
        )
    return Counted("scan", line["quantity"])


def _machines(sent: QueryDict, line: Line, article: TunerSet, small: SmallParts | None) -> Counted:
    """The machines in both wells, and the screws in their bag where the set has some."""
    left, right = whole(sent.get("left", "")), whole(sent.get("right", ""))
    if left is None or right is None:
        return Counted(fault="Count both wells, seen from the front, and tap how many lie in each.")
    sets: int = line["quantity"]
    wanted = (article.left * sets, article.right * sets)
    said = Counted("count", sets, left, right)
    if (left, right) != wanted:
        fault = (
            f"{left} left and {right} right counted. {article.key} has {wanted[0]} left and "
            f"{wanted[1]} right, seen from the front. Put the wells right, then count again."
        )
        return replace(said, count=0, fault=fault)
    return _bag(sent, said, small) if small else said


def _bag(sent: QueryDict, said: Counted, small: SmallParts) -> Counted:
    """The bag of screws, weighed or counted."""
    gross, screws = sent.get("gross", "").strip(), whole(sent.get("screws", ""))
    told, how = "", "count"
    if gross and small.unit_g is not None and small.bag_g is not None:
        try:
            weighed = weighing.count(
                number(gross), small.bag_g, small.unit_g, small.unit_sd_g or Decimal(0)
            )
        except (NotANumber, weighing.NoCount) as why:
            return replace(said, fault=str(why))
        if weighed.doubtful:
            return replace(said, fault=weighed.words)
        screws, told, how = weighed.count, weighed.words, "weigh"
    if screws is None:
        ways = "Weigh the bag of screws, or count them." if small.weighed else "Count the screws."
        return replace(said, fault=ways)
    if screws != small.count:
        apart = screws - small.count
        do = f"Take {apart} out" if apart > 0 else f"Put {-apart} in"
        by = f"By weight {told}" if told else f"{screws} screws counted."
        return replace(said, fault=f"{by} {small.count} wanted. {do}, then check the bag again.")
    return replace(said, how=how, told=told)


def _checked(request: BadgeRequest, act: Act, row: TrayRow, line: Line, said: Counted) -> bool:
    """Record the check of one line and tell so; False where it is refused, or the ledger would
    not have it."""
    item_id, lot_id = _looked_at(request.POST, line)
    deed = LineChecked(
        row["id"], line["id"], item_id, lot_id, said.how, said.count, said.left, said.right
    )
    try:
        outcome = record(act, deed)
    except ledger.OutOfStep as why:
        messages.error(request, str(why))
        return False
    for one in outcome.findings:
        if one.severity is Severity.STOP:
            messages.error(request, f"{one.words} {one.then}")
    # Said once, and to whoever is there: what a phone sends by itself is told by nothing.
    if outcome.result == "recorded" and not asked_by_itself(request):
        how = {"scan": "scanned", "count": "counted", "weigh": "counted and weighed"}[said.how]
        words = f"{line['put_in'].key} {how}." + (f" Screws: {said.told}" if said.told else "")
        messages.success(request, words)
    return outcome.done


def _looked_at(sent: QueryDict, line: Line) -> tuple[int, int | None]:
    """The item and the lot that lay there by the page it was tapped on; those that lie there
    now, where it came from no such page."""
    item, dash, lot = sent.get("lies", "").partition("-")
    return (whole(item) or 0, whole(lot)) if dash else (line["put_in_id"], line["lot_id"])


# --- closed, parked, opened again ---


@require_POST
@needs("tray.pick")
def close(request: BadgeRequest, code: str) -> HttpResponse:
    """Close the tray: it is checked, and what lies in it leaves the shelf once."""
    row = tray_or_404(code)
    return _done(request, code, TrayClosed(row["id"]))


@require_POST
@needs("tray.pick")
def reopen(request: BadgeRequest, code: str) -> HttpResponse:
    """Open a closed tray again: what was short follows, or something is exchanged."""
    row = tray_or_404(code)
    return _done(request, code, TrayOpened(row["id"]))


def _done(request: BadgeRequest, code: str, deed: TrayClosed | TrayOpened) -> HttpResponse:
    """Do it, or say on the tray's page why not."""
    act = Act.of(request, timezone.localtime())
    if words := request.POST.get("words", "").strip():
        act = replace(act, reason=words[:200])
    try:
        outcome = record(act, deed)
        against = () if outcome.done else outcome.findings
        told = [f"{one.words} {one.then}" for one in against]
    except ledger.OutOfStep as why:  # another tray emptied the bin at this very moment
        told = [str(why)]
    for one in told:
        messages.error(request, one)
    return redirect("kitting:tray", code)


@require_POST
@needs("tray.pick")
def park(request: BadgeRequest, code: str) -> HttpResponse:
    """Note the slot of the rack the tray stands in."""
    row = tray_or_404(code)
    typed = "".join(request.POST.get("slot", "").split())
    slot = typed.upper()
    if not (typed.isascii() and typed.isalnum()):
        messages.error(request, "Give the number on the slot, such as 7.")
        return redirect("kitting:tray", code)
    if row["state"] != "closed":
        messages.error(
            request, f"The tray of {row['serial']} is open. Close it, then park it in slot {slot}."
        )
        return redirect("kitting:tray", code)
    try:
        ledger.park_tray(row["id"], slot)
    except ledger.OutOfStep as why:
        messages.error(request, str(why))
    else:
        messages.success(request, f"The tray of {row['serial']} stands in slot {slot}.")
        others = [serial for serial in shelf.in_slot(slot) if serial != row["serial"]]
        if others:
            named = f"the tray of {others[0]}" if len(others) == 1 else _trays_of(others)
            messages.warning(request, f"Slot {slot} has {named} too. Look which one stands there.")
    return redirect("kitting:tray", code)


def _trays_of(serials: Sequence[str]) -> str:
    return f"the trays of {', '.join(serials[:-1])} and {serials[-1]}"


def reason_of(sent: QueryDict, known: Sequence[str]) -> str:
    """The reason that was tapped, or the words in its place; "" where there is neither."""
    words = " ".join(sent.get("words", "").split())
    tapped = sent.get("why", "")
    return words or (tapped if tapped in known else "")
