"""The dock: what is boxed and not handed over, cartons scanned one after another, and the lists
by which carriers took them."""

from __future__ import annotations

import csv
import uuid
from collections.abc import Iterable, Sequence
from typing import Any, Final
from urllib.parse import urlencode

from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shop.craft import leaving
from shop.craft.finding import Finding, any_stop, any_warn, stop
from shop.craft.spreadsheet import cells
from shop.floor import board
from shop.floor.board import CartonRow, ManifestSheet
from shop.floor.door import Act, HandedOver, record
from shop.inspection.tagged import scanned
from shop.people.gate import BadgeRequest, may, needs

MOST: Final = 200  # an address is to stay one that a browser takes
NAME: Final = 40  # letters of a carrier's name
COUNTED: Final = 4  # figures of a count; more were mistyped
REASONS: Final = ("The lead agreed", "Looked at: the cartons are whole")

Refused = tuple[Finding, ...]


@never_cache
@require_http_methods(["GET", "POST"])
@needs("step.record", "step.learn")
def dock(request: BadgeRequest) -> HttpResponse:
    """What stands here. Each carton that is scanned joins the list that the address keeps."""
    rows = board.at_dock()
    chosen = _chosen(request.GET.getlist("serial"), rows)
    if request.method != "POST":
        return _page(request, rows, chosen)
    reading = scanned(request, request.POST.get("code", ""))
    if reading.finding is not None:
        return _page(request, rows, chosen, (reading.finding,))
    serial, wrong = board.carton_scanned(reading.code)
    wrong = wrong or _not_here(serial, rows, chosen)
    if wrong is not None:
        return _page(request, rows, chosen, (wrong,))
    names = list(dict.fromkeys([serial, *(one.serial for one in chosen)]))
    return redirect(_way(names))


@require_POST
@needs("step.record", "step.learn")
def hand(request: BadgeRequest) -> HttpResponse:
    """A carrier takes what was scanned."""
    act = Act.of(request, timezone.localtime())
    if before := board.manifest_of(act.key):
        return redirect("inspection:manifest", before)  # sent twice: they are gone from here
    rows = board.at_dock()
    chosen = _chosen(request.POST.getlist("serial"), rows)
    text = request.POST.get("counted", "").strip()
    counted = int(text) if text.isascii() and text.isdecimal() and len(text) <= COUNTED else 0
    carrier = " ".join(request.POST.get("carrier", "").replace("\0", "").split())
    deed = HandedOver(tuple(one.number for one in chosen), carrier[: NAME + 1], counted)
    outcome = record(act, deed)
    if not outcome.done:
        return _page(request, rows, chosen, outcome.findings, carrier, text)
    made = board.manifest_of(act.key)
    return redirect("inspection:manifest", made) if made else redirect("inspection:dock")


@never_cache
@require_safe
@needs("step.record", "step.learn", "floor.see")
def dock_csv(request: BadgeRequest) -> HttpResponse:
    return _sheet("dock.csv", board.at_dock())


@never_cache
@require_safe
@needs("step.record", "step.learn", "floor.see")
def manifest(request: BadgeRequest, manifest: str) -> HttpResponse:
    """One list as it was handed over."""
    found = _list(manifest)
    shown = {"sheet": found, "may_print": may(request.user, "paper.print")}
    return render(request, "inspection/manifest.html", shown)


@never_cache
@require_safe
@needs("step.record", "step.learn", "floor.see")
def manifest_csv(request: BadgeRequest, manifest: str) -> HttpResponse:
    found = _list(manifest)
    return _sheet(f"{found.number}.csv", found.cartons)


def _list(number: str) -> ManifestSheet:
    found = board.manifest(number) if "\0" not in number else None
    if found is None:
        raise Http404
    return found


def _page(
    request: BadgeRequest,
    rows: Sequence[CartonRow],
    chosen: Sequence[CartonRow],
    findings: Refused = (),
    carrier: str = "",
    counted: str = "",
) -> HttpResponse:
    names = [one.serial for one in chosen]
    lists = board.manifests()
    shown: dict[str, Any] = {
        "here": _way(names),
        "key": uuid.uuid4(),
        "findings": findings,
        "asks_why": any_warn(findings) and not any_stop(findings),
        "reasons": REASONS,
        "chosen": [(one, _way([it for it in names if it != one.serial])) for one in chosen],
        "left": [one for one in rows if one.serial not in names],
        "count": len(rows),
        "carrier": carrier or (lists[0].carrier if lists else ""),
        "carriers": list(dict.fromkeys(one.carrier for one in lists)),
        "counted": counted,
        "lists": lists,
        "dock": leaving.DOCK_C,
        "most": NAME,
    }
    status = 422 if findings else 200
    return render(request, "inspection/dock.html", shown, status=status)


def _not_here(
    serial: str, rows: Iterable[CartonRow], chosen: Sequence[CartonRow]
) -> Finding | None:
    """Why a carton cannot go on the list."""
    if len(chosen) >= MOST:
        words = f"{MOST} cartons are on the list, which is all it takes."
        return stop("dock", words, "Hand these over, then scan on.", call="")
    if any(one.serial == serial for one in rows):
        return None
    words = f"{serial} is not on this dock: it is not boxed, or was handed over."
    return stop("unboxed", words, "Set its carton aside and open its page.", call="")


def _chosen(names: Iterable[str], rows: Iterable[CartonRow]) -> list[CartonRow]:
    """Those of these that stand here, in the order they were scanned."""
    here = {one.serial: one for one in rows}
    return [here[name] for name in dict.fromkeys(names) if name in here][:MOST]


def _way(names: Iterable[str]) -> str:
    """The address of the dock with these on the list."""
    said = urlencode([("serial", one) for one in names])
    here = reverse("inspection:dock")
    return f"{here}?{said}" if said else here


def _sheet(name: str, rows: Iterable[CartonRow]) -> HttpResponse:
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    sheet = csv.writer(response)
    sheet.writerow(
        [
            "serial", "spec", "label", "order", "goes to", "due", "boxed by", "boxed", "list",
            "carrier", "handed over", "why not",
        ]
    )  # fmt: skip
    for one in rows:
        gone = timezone.localtime(one.gone_at).isoformat(timespec="minutes") if one.gone_at else ""
        sheet.writerow(
            cells(
                one.serial, one.spec, one.label, one.order, one.destination, one.due_on, one.by,
                timezone.localtime(one.at).isoformat(timespec="minutes"), one.manifest,
                one.carrier, gone, one.why,
            )
        )  # fmt: skip
    return response
