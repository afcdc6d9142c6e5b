"""The measuring tool in hand: taken once, remembered for this phone, sent with what it reads."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from shop.craft.measuring.tool import Tool
from shop.floor import board
from shop.people.gate import BadgeRequest, needs

REMEMBERED: Final = "tool"  # in the session: what it is called


@dataclass(frozen=True, slots=True)
class InHand:
    """The gauges to choose from, and the one in hand, if any; ``name`` as it was chosen."""

    tools: tuple[Tool, ...]
    on: date
    name: str = ""

    @property
    def tool(self) -> Tool | None:
        return next((one for one in self.tools if one.name == self.name), None)

    @property
    def standing(self) -> str:
        """How the check of the one in hand stands, as it follows its name."""
        return self.tool.standing(self.on) if self.tool else ""

    @property
    def overdue(self) -> bool:
        return self.tool is not None and self.tool.overdue(self.on)

    @property
    def choices(self) -> tuple[tuple[str, str, str], ...]:
        """Of each: its name, what it is called, how its check stands."""
        return tuple((one.name, one.called, one.standing(self.on)) for one in self.tools)


def in_hand(request: HttpRequest, chosen: str | None = None) -> InHand:
    """What is in hand at this phone; ``chosen``: what a form that was sent says instead."""
    kept = str(request.session.get(REMEMBERED, ""))
    return InHand(board.tools(), timezone.localdate(), kept if chosen is None else chosen)


def nobodys() -> InHand:
    """The same for a page that is anybody's: nothing is in hand yet."""
    return InHand(board.tools(), timezone.localdate())


def remember(request: Any, name: str) -> None:
    """This one is in hand from now on. What a phone kept for later says nothing of now."""
    sending = getattr(request, "sending", None)
    if sending is not None and sending.tapped.kept:
        return
    if request.session.get(REMEMBERED, "") != name:
        request.session[REMEMBERED] = name


@never_cache
@require_http_methods(["GET", "POST"])
@needs("step.record", "step.learn")
def take(request: BadgeRequest, code: str) -> HttpResponse:
    """The tag of a gauge was scanned: one tap takes it in hand, or puts it down."""
    tool = board.tool_of_code(code)
    if tool is None:
        raise Http404
    if request.method == "POST":
        remember(request, "" if "down" in request.POST or tool.retired else tool.name)
        return redirect("bench:in-hand", code)
    today = timezone.localdate()
    shown = {
        "tool": tool,
        "standing": tool.standing(today),
        "overdue": tool.overdue(today),
        "has_it": request.session.get(REMEMBERED, "") == tool.name,
        "seen": request.session.get("seen_tags", []),
    }
    return render(request, "bench/in_hand.html", shown)
