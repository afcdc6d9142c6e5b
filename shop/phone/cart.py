"""A cart of instruments, its tags scanned one after another: what each of them stands for."""

from __future__ import annotations

import json
import re
from typing import Any, Final, Literal, get_args
from urllib.parse import urlsplit

from django.conf import settings
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from shop.craft.code import Kind, pretty, read
from shop.craft.finding import Finding
from shop.floor import board, tags
from shop.people.gate import BadgeRequest, needs

Answer = Literal["clear", "warn", "stop"]
"""What a tag is on this cart: what goes on here, what does not, what no work is done by."""

# A tag's address has 35 characters at most; what is longer is no tag of any shop.
LONGEST: Final = 300
# More than any cart holds.
MOST: Final = 60
SEVEN: Final = re.compile(r"[0-9A-Z]{7}")


@never_cache
@require_http_methods(["GET", "POST"])
@needs("tag.scan")
def cart(request: BadgeRequest) -> HttpResponse:
    """The list of a cart. With script the phone keeps it, and asks for one row after another;
    without, it goes to and fro with every tag."""
    text = request.POST.get("code", "")
    rows = [_row(request, text)] if text else []
    names = {row["name"] for row in rows}
    rows += [row for row in _brought(request.POST.get("had", "")) if row["name"] not in names]
    had = json.dumps([[row["kind"], row["code"], row["name"]] for row in rows[:MOST]])
    return render(request, "phone/cart.html", {"rows": rows[:MOST], "fields": {"had": had}})


@never_cache
@require_safe
@needs("tag.scan")
def look(request: BadgeRequest) -> HttpResponse:
    """One row of the list: what this tag stands for, here and now."""
    row = _row(request, request.GET.get("code", ""))
    return render(request, "phone/_cart_row.html", {"row": row, "new": True})


def _row(request: BadgeRequest, text: str) -> dict[str, Any]:
    """What there is to say of a tag. Its code leads to its instrument; without one it is no tag
    of this shop, or leads nowhere."""
    own = {request.get_host().lower(), urlsplit(settings.ADDRESS).netloc.lower()}
    reading = read(text[:LONGEST], own)
    if reading.kind is None:
        return _stopped(text[:LONGEST].strip(), reading.finding)
    found = tags.find(reading.code, reading.kind)
    now = board.by_tag(found.body_tag) if found.body_tag else None
    if now is None:
        return _stopped(pretty(reading.code), found.finding or tags.unknown(reading.code))
    at = timezone.localtime()
    work = board.work(now, board.asking(request, at))
    paper = board.on_paper(found.paper, now, at)
    frozen = next((one for one in work.reasons if one.rule == "frozen"), None)
    kind: Answer = "stop" if frozen else "clear" if work.here and not paper else "warn"
    return {
        "kind": kind,
        "code": reading.code,
        "name": now.serial,
        "now": now,
        "work": work,
        "of": "" if reading.kind is Kind.BODY or paper else reading.kind.words,
        "paper": paper,
        "finding": frozen,
    }


def _stopped(name: str, finding: Finding | None) -> dict[str, Any]:
    return {"kind": "stop", "code": "", "name": name, "finding": finding}


def _brought(had: str) -> list[dict[str, Any]]:
    """The rows that a page without script brings back; what has not their form is left out."""
    try:
        rows = [(str(kind), str(code), str(name)) for kind, code, name in json.loads(had or "[]")]
    except (ValueError, TypeError, RecursionError):
        return []  # only a form that was tampered with gets here
    return [
        {"kind": kind, "code": code if SEVEN.fullmatch(code) else "", "name": name}
        for kind, code, name in rows
        if kind in get_args(Answer)
    ]
