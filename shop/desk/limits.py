"""The limits of the fit rules for one spec: what is in force, whose it is, another value."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from shop.catalogue import book, revising
from shop.catalogue.book import Change, LimitFacts
from shop.craft.gauging import NotANumber, number
from shop.craft.size import plain
from shop.craft.words import THIN
from shop.desk.fitting import spec_or_404
from shop.people.gate import BadgeRequest, needs

WHY_AT_MOST: Final = 200  # characters a reason may have


@never_cache
@require_safe
@needs("limit.set")
def limits(request: BadgeRequest, spec: str) -> HttpResponse:
    """Every limit of a spec's open revision, and every change that was ever made to one."""
    found = spec_or_404(spec)
    rows = book.limits_of(found.revision_id)
    changes = [(row, change) for row in rows for change in row.changes]
    shown = {
        "spec": found.facts,
        "rows": [{"limit": row, "default": _figure(row)} for row in rows],
        "set": [row for row in rows if row.changed],
        "history": [
            {"limit": row, "change": change, "value": _said(row, change)}
            for row, change in sorted(changes, key=lambda pair: pair[1].on, reverse=True)
        ],
    }
    return render(request, "desk/fit_limits.html", shown)


def _figure(row: LimitFacts) -> str:
    """The default with its unit."""
    return f"{plain(row.default)}{THIN}{row.limit.unit}".strip()


def _said(limit: LimitFacts, change: Change) -> str:
    """What a change set, in words."""
    return limit.limit.said(limit.default if change.value is None else change.value)


@dataclass(frozen=True, slots=True)
class Wish:
    """What was typed: a value, or the default back, and why."""

    text: str = ""
    why: str = ""
    back: bool = False

    @classmethod
    def of(cls, request: BadgeRequest) -> Wish:
        text, why = (request.POST.get(name, "").strip() for name in ("value", "why"))
        return cls(text, why, "back" in request.POST)

    def value(self, limit: LimitFacts) -> Decimal | None:
        """The value wished for; nothing for the default. Raises ``NotANumber``."""
        if self.back:
            return None
        if limit.limit.unit != "mm" and any(one.isalpha() for one in self.text):
            raise NotANumber(f"{self.text} is no number. Write the figure alone, as 12 or 0,5.")
        return number(self.text)


@never_cache
@require_http_methods(["GET", "POST"])
@needs("limit.set")
def limit(request: BadgeRequest, spec: str, name: str) -> HttpResponse:
    """One limit: what is in force, how it came to be, and another value for it."""
    found = spec_or_404(spec)
    row = next((one for one in book.limits_of(found.revision_id) if one.name == name), None)
    if row is None:
        raise Http404
    wish = Wish.of(request) if request.method == "POST" else Wish()
    shown: dict[str, Any] = {
        "spec": found.facts,
        "row": row,
        "default": row.limit.said(row.default),
        "wish": wish,
        "history": [{"change": one, "value": _said(row, one)} for one in row.changes],
    }
    if request.method == "POST":
        try:
            _set(request, found.revision_id, row, wish)
        except (NotANumber, revising.NotReady) as why:
            return render(request, "desk/fit_limit.html", shown | {"fault": str(why)})
        messages.success(request, f"{row.rule} of {spec} is set." if not wish.back else _back(row))
        return redirect("desk:fit-limits", spec)
    return render(request, "desk/fit_limit.html", shown)


def _back(row: LimitFacts) -> str:
    return f"{row.rule} is back to {row.limit.said(row.default)}."


def _set(request: BadgeRequest, revision_id: int, row: LimitFacts, wish: Wish) -> None:
    """Set the limit, unless this very wish was fulfilled already, as on a second tap.

    Raises ``NotANumber`` or ``NotReady`` where it cannot be.
    """
    value = wish.value(row)
    if len(wish.why) > WHY_AT_MOST:
        raise revising.NotReady(f"{len(wish.why)} characters. Say why in {WHY_AT_MOST}.")
    change = Change(value, request.user.code, timezone.localdate(), wish.why)
    if change in row.changes[:1]:
        return
    if value is None and row.changed is None:
        raise revising.NotReady(f"{row.limit.said(row.default)} is in force already.")
    revising.set_limit(revision_id, row.name, value, change.by, change.why, change.on)
