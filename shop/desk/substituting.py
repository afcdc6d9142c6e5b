"""The lead puts another item in the place of one of the kit: what, on which instruments, by what.

Three taps of the same page, its address holding what is chosen so far.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final, cast

from django.contrib import messages
from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from shop.catalogue import book
from shop.craft.finding import Finding, any_stop, any_warn, worst_first
from shop.craft.hardware import Article
from shop.desk.matters.matter import WHY
from shop.floor import board
from shop.floor.board import KitRow
from shop.floor.door import Act, Substituted, record
from shop.people.gate import BadgeRequest, needs
from shop.stock import ledger, shelf
from shop.stock.shelf import Stocked

REASONS: Final = ("It ran out, the next comes too late", "The one kept for it is damaged")
ASKED: Final = (("yes", "Yes"), ("no", "No"), ("not needed", "Not needed: nothing shows"))


@dataclass(frozen=True, slots=True)
class Candidate:
    """An item of the family, how it would do on all the instruments chosen, and what is free."""

    article: Article
    stock: Stocked
    findings: tuple[Finding, ...]
    shows: tuple[str, ...]  # what the buyer would see

    @property
    def mark(self) -> str:
        if any_stop(self.findings):
            return "stop"
        return "warn" if any_warn(self.findings) else "clear"


@never_cache
@require_http_methods(["GET", "POST"])
@needs("kit.substitute")
def substitute(request: BadgeRequest) -> HttpResponse:
    """What is to go out, on which instruments, what goes in, and why."""
    said = request.POST if request.method == "POST" else request.GET
    refused: list[tuple[str, Sequence[Finding]]] = []
    if request.method == "POST":
        faults = _faults(request.POST)
        if not faults:
            refused = _exchange(request)
            if not refused:
                return redirect("desk:substitute")
    else:
        faults = []
    return render(request, "desk/substitute.html", _shown(said, refused, faults))


def _faults(sent: QueryDict) -> list[str]:
    """What the form does not say yet, sentence by sentence."""
    asked = {
        "for": "Tap the instruments it is for.",
        "in": "Tap what goes in.",
        "asked": "Say whether the buyer was asked.",
    }
    left = [words for name, words in asked.items() if not sent.get(name)]
    return left if _reason(sent) else [*left, "Tap why, or write another reason."]


def _reason(sent: Mapping[str, Any]) -> str:
    said = [str(sent.get(name, "")).strip() for name in ("why", "own")]
    return ": ".join(one for one in said if one)[:WHY]


def _exchange(request: BadgeRequest) -> list[tuple[str, Sequence[Finding]]]:
    """Do it on each instrument by itself; those that refused it, each with what stands against
    it. The same form sent twice does it once."""
    sent = request.POST
    act = replace(Act.of(request, timezone.localtime()), reason=_reason(sent))
    out, into = sent.get("out", ""), sent.get("in", "")
    refused: list[tuple[str, Sequence[Finding]]] = []
    for number, serial in enumerate(dict.fromkeys(sent.getlist("for"))):
        now = board.by_serial(serial)
        if now is None:
            messages.error(request, f"There is no {serial}. Choose one of the list.")
            continue
        deed = Substituted(now.id, out, into, cast("Any", sent.get("asked", "")))
        try:
            outcome = record(act.also(number), deed)
        except ledger.OutOfStep as why:  # it went into the tray at this very moment
            messages.error(request, str(why))
            continue
        if outcome.done:
            told = [f"{it.words} {it.then}".strip() for it in outcome.findings]
            messages.success(
                request, " ".join([f"{serial} gets {into} in the place of {out}.", *told])
            )
        else:
            refused.append((serial, outcome.findings))
    return refused


def _shown(
    said: QueryDict, refused: Sequence[tuple[str, Sequence[Finding]]], faults: Sequence[str]
) -> dict[str, Any]:
    """The page as far as it is chosen."""
    rows, serial, out = board.kit_rows(), said.get("serial", ""), said.get("out", "")
    own = [row for row in rows if serial in ("", row.serial)]
    of_item = [row for row in rows if row.line.article.key == out]
    chosen = [serial for serial, _ in refused] or said.getlist("for")
    for_them = [row for row in of_item if row.serial in chosen and row.kept is None]
    candidates = _candidates(for_them) if for_them else []
    return {
        "serial": serial,
        "out": of_item[0].line.article if of_item else None,
        "unknown": out if out and not of_item else "",
        "items": _items(own),
        "can": [row for row in of_item if row.kept is None],
        "cannot": [row for row in of_item if row.kept is not None],
        "chosen": chosen or ([serial] if serial else []),
        "for_them": for_them,
        "going": [one for one in candidates if one.mark != "stop"],
        "others": [one for one in candidates if one.mark == "stop"],
        "said": {name: said.get(name, "") for name in ("in", "asked", "why", "own")},
        "asked": ASKED,
        "reasons": REASONS,
        "refused": refused,
        "faults": faults,
        "key": uuid.uuid4(),
    }


def _items(rows: Iterable[KitRow]) -> list[tuple[Article, int]]:
    """What can be exchanged at all, in the order of fitting, and on how many instruments."""
    found: dict[str, tuple[Article, int]] = {}
    for row in rows:
        if row.kept is None:
            article = row.line.article
            found[article.key] = (article, found.get(article.key, (article, 0))[1] + 1)
    return sorted(found.values(), key=lambda one: (one[0].family.rank, one[0].key))


def _candidates(rows: Sequence[KitRow]) -> list[Candidate]:
    """Every item of the family that could go in, those that fit first."""
    out = rows[0].line.article
    ids = book.item_ids([key for key, _ in book.items() if key != out.key])
    stocks = shelf.stocked(sorted(ids.values()))
    found = []
    for item_id, stock in stocks.items():
        into = stock.article
        if into.family is not out.family:
            continue
        looks = [board.exchange_outlook(row, into, item_id) for row in rows]
        found.append(
            Candidate(
                into,
                stock,
                worst_first(dict.fromkeys(one for look in looks for one in look.findings)),
                looks[0].shows,
            )
        )
    order = {"clear": 0, "warn": 1, "stop": 2}
    return sorted(found, key=lambda one: (order[one.mark], one.article.key))
