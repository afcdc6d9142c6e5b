"""What becomes of a defect, decided by taps; and a defect that was noted by mistake."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any, Final, Literal
from urllib.parse import urlencode

from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from shop.catalogue import book
from shop.craft.clocks import What
from shop.craft.finding import Finding, any_stop, warn
from shop.craft.inspecting.classes import DefectClass
from shop.craft.inspecting.disposing import (
    DEPARTMENTS,
    SENT,
    Decider,
    Decision,
    Disposition,
    choices,
    judge,
)
from shop.craft.rework import LoopFacts, suggested
from shop.craft.when import span_words, when_words
from shop.craft.words import mm
from shop.floor import board
from shop.floor.board import Asking, DefectRow, State
from shop.floor.door import Act, DefectDecided, DefectWithdrawn, record
from shop.inspection.found import ground, lead_beside, page, seen, shown_rows
from shop.inspection.signing import signing
from shop.people.gate import BadgeRequest, may, needs

Asks = Literal["lead", "what", "loop", "department", "record"]

WHY: Final[dict[Disposition, tuple[str, ...]]] = {
    Disposition.REWORK: (
        "Over the limit of this spec",
        "A buyer would return it",
        "It cannot be played so",
        "It may get worse",
    ),
    Disposition.TOUCH_UP: ("It polishes out", "A small fill hides it", "It shows from the front"),
    Disposition.ACCEPT: ("Below the limit", "Grown in the wood", "A touch-up would show more"),
    Disposition.SECONDS: (
        "It plays well and looks less",
        "A repair would show",
        "A repair costs more than it brings",
    ),
    Disposition.RETURN: ("It came so", "The wood has moved", "It cannot be repaired here"),
    Disposition.HOLD: ("The limit is not clear", "Not seen before", "It may get worse"),
    Disposition.SCRAP: ("Past repair", "Not safe to string"),
    Disposition.CANNIBALISE: ("Past repair, its parts are good", "Cheaper to build anew"),
}
"""The usual reasons of each, by one tap."""

WHY_WITHDRAWN: Final = (
    "Noted on the wrong instrument",
    "Noted twice",
    "Wiped off: it was dust",
    "Another word or class is right",
)
LONGEST: Final = 200  # letters of a reason
DEPTHS: Final = tuple(Decimal(tenths) / 10 for tenths in (2, 4, 6, 8, 10))  # mm
STOPPED: Final = frozenset({Disposition.SCRAP, Disposition.CANNIBALISE})


@dataclass(frozen=True, slots=True)
class Deciding:
    """How far it is decided. ``other``: not the loop that it usually leads to."""

    what: Disposition | None = None
    loop: str = ""
    department: str = ""
    other: bool = False

    @classmethod
    def of(cls, sent: Mapping[str, str]) -> Deciding:
        """What was decided as the address carries it; what it cannot mean is left out."""
        named = sent.get("what", "")
        what = next((one for one in Disposition if one.value == named), None)
        if what is None:
            return cls()
        department = sent.get("department", "")
        return cls(
            what,
            sent.get("loop", "") if what in SENT else "",
            department if what is Disposition.RETURN and department in DEPARTMENTS else "",
            other=what in SENT and "other" in sent,
        )

    @property
    def told(self) -> dict[str, str]:
        what = self.what.value if self.what else ""
        every = {"what": what, "loop": self.loop, "department": self.department}
        return {name: one for name, one in every.items() if one}

    @property
    def query(self) -> str:
        return urlencode(self.told)

    @property
    def another(self) -> str:
        """The address that asks for another loop than the usual one."""
        return f"{replace(self, loop='').query}&other=1"

    @property
    def back(self) -> str:
        """The address of the question before."""
        if self.loop or self.department or self.other:
            return replace(self, loop="", department="", other=False).query
        return ""


@dataclass(frozen=True, slots=True)
class LoopChoice:
    """A loop to choose, and what it brings with it."""

    loop: LoopFacts
    costs: tuple[str, ...]
    query: str


@never_cache
@require_http_methods(["GET", "POST"])
@needs("defect.decide")
def decide(request: BadgeRequest, code: str, number: int) -> HttpResponse:
    """What becomes of it, which repair it goes to, and why; the effect told before it counts."""
    now, at = ground(code), timezone.localtime()
    asking = board.asking(request, at)
    row = _row(now, asking, number)
    # What is sent after another one decided is answered by the floor, which says so.
    if not row.undecided and request.method == "GET":
        return redirect("inspection:defects", code)
    here = reverse("inspection:decide", args=[code, number])
    lead = may(request.user, "instrument.settle")
    approves = lead or lead_beside(asking)
    by = Decider(asking.who.code, may_accept=approves, may_approve=approves)
    sent = request.POST if request.method == "POST" else request.GET
    deciding = Deciding.of(sent)
    (defect,) = shown_rows([row], now, asking, at, lead=lead)
    shown = page(code, now, asking, here) | {
        "defect": defect,
        "deciding": deciding,
        "signing": signing(now, row, asking),
    }
    if request.method == "POST":
        return _decided(request, code, now, row, by, deciding, shown)
    if defect.wants_lead:
        return render(request, "inspection/decide.html", shown | {"asks": "lead"})
    if deciding.what is None:
        offered = choices(DefectClass(row.grade), by, joined=_joined(now))
        wants_lead = any(one.why_not and one.why_not.rule == "right" for one in offered)
        asks = {"asks": "what", "all": offered, "wants_lead": wants_lead}
        return render(request, "inspection/decide.html", shown | asks)
    more = _asked(now, row, by, deciding, asking)
    return render(request, "inspection/decide.html", shown | more)


def _row(now: State, asking: Asking, number: int) -> DefectRow:
    """The defect with this number, where whoever asks may see it."""
    rows, _ = seen(now, asking)
    row = next((one for one in rows if one.number == number), None)
    if row is None:
        raise Http404
    return row


def _joined(now: State) -> bool:
    """Whether the pocket is cut for this neck."""
    pairing = now.sheet.pairing
    return pairing is not None and pairing.code in now.done_codes


def _asked(
    now: State, row: DefectRow, by: Decider, deciding: Deciding, asking: Asking
) -> dict[str, Any]:
    """What the page of the next question shows."""
    what = deciding.what
    if what is Disposition.RETURN and not deciding.department:
        ways = [(one, replace(deciding, department=one).query) for one in DEPARTMENTS]
        return {"asks": "department", "departments": ways}
    if what not in SENT:
        return _recording(now, row, by, deciding, asking, None)
    known = {one.key: one for one in book.loops() if one.key != What.DROPPED}
    usual = [known[key] for key in _usual(row, what) if key in known]
    chosen = known.get(deciding.loop)
    if chosen is None and len(usual) == 1 and not deciding.other:
        chosen = usual[0]
    if chosen is not None:
        return _recording(now, row, by, replace(deciding, loop=chosen.key), asking, chosen)
    rest = [one for one in known.values() if one not in usual]
    rest.sort(key=lambda one: row.family not in one.families)  # its family's own first
    return {
        "asks": "loop",
        "usual": [_loop(now, deciding, one) for one in usual],
        "others": [_loop(now, deciding, one) for one in rest],
    }


def _usual(row: DefectRow, what: Disposition | None) -> tuple[str, ...]:
    """The loops it usually goes to, likeliest first; what is slight is polished first."""
    likely = suggested(row.word, row.family)
    cosmetic = what is Disposition.TOUCH_UP and row.family in ("finish", "wood", "joint")
    return tuple(dict.fromkeys(("cosmetic", *likely))) if cosmetic else likely


def _loop(now: State, deciding: Deciding, loop: LoopFacts) -> LoopChoice:
    query = replace(deciding, loop=loop.key, other=False).query
    return LoopChoice(loop, board.loop_cost(now, loop), query)


def _recording(
    now: State,
    row: DefectRow,
    by: Decider,
    deciding: Deciding,
    asking: Asking,
    loop: LoopFacts | None,
) -> dict[str, Any]:
    """What the last page shows: what it brings with it, and the button that records."""
    what = deciding.what
    assert what is not None
    against, brings = _weighed(now, row, by, deciding, asking, loop)
    depths = [(str(one), mm(one), span_words(loop.dries(one))) for one in DEPTHS] if loop else []
    costs = board.loop_cost(now, loop) if loop else ()
    if what in STOPPED:
        costs = ("Work on it stops until the lead has looked.",)
    alone = any(one.rule == "second" for one in against)
    return {
        "asks": "record",
        "deciding": deciding,
        "loop": loop,
        "costs": costs,
        "brings": () if loop else brings,
        "against": tuple(one for one in against if one.rule != "second"),
        "alone": next((one for one in against if one.rule == "second"), None),
        "second": asking.signer.code if asking.signer and not alone else "",
        "depths": depths if loop and loop.by_depth else [],
        "joins": when_words(now.rework.since, asking.at) if loop and now.rework else "",
        "puts_down": now.open if loop and now.open and not now.open.unsure else None,
        "reasons": WHY[what],
        "told": (),
    }


def _weighed(
    now: State,
    row: DefectRow,
    by: Decider,
    deciding: Deciding,
    asking: Asking,
    loop: LoopFacts | None,
) -> tuple[tuple[Finding, ...], tuple[Finding, ...]]:
    """What stands against it but for the reason, still to be tapped; else what it brings."""
    assert deciding.what is not None
    found = judge(
        Decision(
            disposition=deciding.what,
            defect_class=DefectClass(row.grade),
            reason=WHY[deciding.what][0],
            by=by,
            second=asking.signer.code if asking.signer else "",
            loop=loop.key if loop else "",
            department=deciding.department,
        ),
        found_by=row.found_by,
        joined=_joined(now),
        cased=now.cased_at is not None,
        keeps_hold=loop is not None and loop.keeps_hold,
        electronics=bool(now.sheet.spec.electronics),
        pinned=now.sheet.spec.pin_taper_deg is not None,
    )
    found = (*found, *board.unsigned(asking.signer.code if asking.signer else ""))
    return (found, ()) if any_stop(found) else ((), found)


def _decided(
    request: BadgeRequest,
    code: str,
    now: State,
    row: DefectRow,
    by: Decider,
    deciding: Deciding,
    shown: dict[str, Any],
) -> HttpResponse:
    at = timezone.localtime()
    if deciding.what is None:
        return redirect(shown["here"])
    loop = book.loop(deciding.loop) if deciding.loop else None
    depth = next((one for one in DEPTHS if str(one) == request.POST.get("depth")), None)
    told: tuple[Finding, ...] = ()
    if loop and loop.by_depth and depth is None:
        told = (warn("depth", "How deep the fill is, is not said yet.", "Tap the depth."),)
    else:
        act = replace(Act.of(request, at), reason=reason_of(request.POST))
        deed = DefectDecided(
            instrument_id=now.id,
            number=row.number,
            disposition=deciding.what.value,
            loop=deciding.loop,
            depth_mm=depth,
            department=deciding.department,
        )
        outcome = record(act, deed)
        if outcome.done:
            return redirect(f"{reverse('inspection:defects', args=[code])}?after={act.key}")
        told = outcome.findings
    asking = board.asking(request, at)
    more = _recording(now, row, by, deciding, asking, loop) | {
        "told": told,
        "against": (),
        "why": request.POST.get("why", ""),
        "own": request.POST.get("own", ""),
        "depth": request.POST.get("depth", ""),
    }
    return render(request, "inspection/decide.html", shown | more, status=422)


def reason_of(sent: Mapping[str, str]) -> str:
    """The reason as the journal keeps it: what was tapped, and what was written."""
    said = [one for name in ("why", "own") if (one := sent.get(name, "").strip())]
    return ": ".join(said)[:LONGEST]


@never_cache
@require_http_methods(["GET", "POST"])
@needs("defect.note")
def withdraw(request: BadgeRequest, code: str, number: int) -> HttpResponse:
    """It was noted by mistake: why, and one button."""
    now, at = ground(code), timezone.localtime()
    asking = board.asking(request, at)
    row = _row(now, asking, number)
    if not row.undecided and request.method == "GET":
        return redirect("inspection:defects", code)
    here = reverse("inspection:withdraw", args=[code, number])
    told: tuple[Finding, ...] = ()
    if request.method == "POST":
        act = replace(Act.of(request, at), reason=reason_of(request.POST))
        outcome = record(act, DefectWithdrawn(now.id, number))
        if outcome.done:
            return redirect(f"{reverse('inspection:defects', args=[code])}?after={act.key}")
        told = outcome.findings
    lead = may(request.user, "instrument.settle")
    (defect,) = shown_rows([row], now, asking, at, lead=lead)
    shown = page(code, now, asking, here) | {
        "defect": defect,
        "reasons": WHY_WITHDRAWN,
        "told": told,
        "why": request.POST.get("why", ""),
        "own": request.POST.get("own", ""),
    }
    return render(request, "inspection/withdraw.html", shown, status=422 if told else 200)
