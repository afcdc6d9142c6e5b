"""Seeded panels: a lead puts defects on some, two inspectors call them, each alone, and what
comes of it is told of both together: A and B, nobody by name."""

from __future__ import annotations

import uuid
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shop.craft.quality.agreement import PANELS, WANTED, Against, Agreement, by_chance, kappa
from shop.craft.quality.spots import FAMILIES, FIELDS, LEAST_PANELS, MOST_PANELS, Spot
from shop.craft.rework import WORDS
from shop.craft.words import several
from shop.desk.bars import percent, sheet, surely
from shop.desk.gauges import told
from shop.floor import board
from shop.floor.board import CalledPanel, SetRow, Turn
from shop.floor.door import Act, PanelCalled, PanelsKept, record
from shop.people.gate import BadgeRequest, may, needs

LETTERS: Final = ("A", "B")
FOUND: Final = {"yes": True, "no": False}
KAPPA: Final = "Kappa, after Cohen"


@never_cache
@require_safe
@needs("panel.call", "panel.seed")
def panels(request: BadgeRequest) -> HttpResponse:
    """The sets of panels: to look at for an inspector, with how far they are for the lead."""
    rows = board.panel_sets(request.user.pk)
    shown = {
        "rows": [(one, _so_far(one)) for one in rows if not one.away],
        "away": [one for one in rows if one.away],
        "may_seed": may(request.user, "panel.seed"),
        "may_call": may(request.user, "panel.call"),
    }
    return render(request, "desk/panels.html", shown)


def _so_far(row: SetRow) -> list[tuple[str, int]]:
    """How many panels A and B have called."""
    called = (*row.called, *(0 for _ in LETTERS))
    return list(zip(LETTERS, called, strict=False))


# --- looked at ---


@never_cache
@require_http_methods(["GET", "POST"])
@needs("panel.call")
def panel(request: BadgeRequest, panels: int) -> HttpResponse:
    """One panel a screen: found, or nothing wrong. Nothing is told but what they called
    themselves."""
    turn = board.panel_turn(panels, request.user.pk)
    if turn is None:
        raise Http404
    findings: tuple[Any, ...] = ()
    if request.method == "POST":
        number, said = request.POST.get("panel", ""), request.POST.get("found", "")
        if _is_number(number) and said in FOUND:
            deed = PanelCalled(panels, int(number), FOUND[said])
            outcome = record(Act.of(request, timezone.localtime()), deed)
            if outcome.done:
                return redirect("desk:panel", panels)
            findings = outcome.findings
    return _page(request, turn, findings)


def _page(request: BadgeRequest, turn: Turn, findings: Sequence[Any]) -> HttpResponse:
    asked = request.GET.get("panel", "")
    done = turn.next is None
    at = int(asked) if not done and _is_number(asked) and int(asked) in turn.panels else turn.next
    its = board.panel_set(turn.number, request.user.pk)
    barred = not done and its is not None and not its.is_open_to_asker
    shown = {
        "turn": turn,
        "at": None if barred else at,
        "barred": barred,
        "seeded": its is not None and its.seeded,
        "before": turn.mine.get(at) if at is not None else None,
        "called": sorted(turn.mine.items()),
        "count": len(turn.mine),
        "findings": findings,
        "key": uuid.uuid4(),
    }
    return render(request, "desk/panel.html", shown)


def _is_number(text: str) -> bool:
    return text.isascii() and text.isdecimal() and len(text) < 5


# --- seeded ---


@dataclass(frozen=True, slots=True)
class Typed:
    """What was chosen for one panel: a defect with its family, and the field it is in."""

    number: int
    defect: str
    field: str

    @property
    def spots(self) -> tuple[Spot, ...]:
        if not self.defect:
            return ()
        family, _, word = self.defect.partition("/")
        return (Spot(self.field, family, word),)


@never_cache
@require_http_methods(["GET", "POST"])
@needs("panel.seed")
def seed(request: BadgeRequest) -> HttpResponse:
    """A new set: what panels they are, and for each the defect that is put on it, or none."""
    sent = request.POST if request.method == "POST" else request.GET
    count = _count(sent.get("panels", ""))
    words = request.POST.get("words", "").replace("\0", "").strip()
    typed = [
        Typed(at, request.POST.get(f"defect-{at}", ""), request.POST.get(f"field-{at}", FIELDS[4]))
        for at in range(1, count + 1)
    ]
    shown: dict[str, Any] = {"findings": ()}
    if request.method == "POST":
        deed = PanelsKept(words, tuple(one.spots for one in typed))
        outcome = record(Act.of(request, timezone.localtime()), deed)
        if outcome.done:
            several_panels = several(count, "panel")
            told(request, outcome, f"{several_panels} are seeded. Two inspectors look at them now.")
            return redirect("desk:panels")
        shown["findings"] = outcome.findings
    shown |= {
        "words": words,
        "typed": typed,
        "count": count,
        "counts": range(LEAST_PANELS, MOST_PANELS + 1),
        "usual": PANELS,
        "families": [(one, [(f"{one}/{word}", word) for word in WORDS[one]]) for one in FAMILIES],
        "fields": FIELDS,
        "key": uuid.uuid4(),
    }
    return render(request, "desk/panels_seed.html", shown)


def _count(text: str) -> int:
    asked = int(text) if _is_number(text) else PANELS
    return min(max(asked, LEAST_PANELS), MOST_PANELS)


@require_POST
@needs("panel.seed")
def away(request: BadgeRequest, panels: int) -> HttpResponse:
    """Put a set away: nobody looks at it any more."""
    outcome = record(Act.of(request, timezone.localtime()), PanelsKept(away=panels))
    if outcome.done:
        messages.success(request, f"Set {panels} is put away.")
        return redirect("desk:panels")
    raise Http404


# --- what came of it ---


@never_cache
@require_safe
@needs("panel.seed")
def results(request: BadgeRequest, panels: int) -> HttpResponse:
    """How far the two agree, once both have called all: with kappa, what each missed and what
    each called where nothing is."""
    its = board.panel_set(panels, request.user.pk)
    if its is None:
        raise Http404
    them = board.panels_called(panels)
    found = board.panels_judged(them)
    shown = {
        "its": its,
        "so_far": _so_far(its),
        "found": found,
        "summary": list(_summary(found)) if found else (),
        "inspectors": list(_inspectors(found)) if found else (),
        "lines": [(one, _remark(one)) for one in them],
        "wanted": f"{100 * WANTED:.0f}",
        "away": reverse("desk:panels-away", args=[panels]),
        "key": uuid.uuid4(),
        "formulas": (kappa, by_chance),
    }
    return render(request, "desk/panels_results.html", shown)


def _summary(found: Agreement) -> Iterator[tuple[str, str]]:
    """What was worked out, line by line."""
    yield "Called the same", f"{found.agreed} of {found.panels} panels"
    yield "Agreement", surely(percent(found.share), *map(percent, found.interval))
    if found.kappa is None:
        yield KAPPA, "none: both called all panels alike"
    elif found.kappa_interval is None:
        yield KAPPA, _signed(found.kappa)
    else:
        yield KAPPA, surely(_signed(found.kappa), *map(_signed, found.kappa_interval))


def _signed(figure: float) -> str:
    return f"{figure:.2f}".replace("-", "\u2212")


def _inspectors(found: Agreement) -> Iterator[tuple[str, str, str]]:
    """Of A and B: defects missed, and defects called where none is."""
    for letter, one in zip(LETTERS, (found.first, found.second), strict=True):
        yield letter, *_against(one)


def _against(one: Against) -> tuple[str, str]:
    missed, alarms = one.missed_share or 0.0, one.false_alarm_share or 0.0
    return (
        f"{one.missed} of {one.seeded} defects, {percent(missed)}",
        f"{one.false_alarms} of {one.clean} without one, {percent(alarms)}",
    )


def _remark(one: CalledPanel) -> str:
    """What is to be said of how a panel was called; "" where both were right."""
    wrong = [
        letter
        for letter, said in zip(LETTERS, (one.first, one.second), strict=True)
        if said != one.seeded
    ]
    if not wrong:
        return ""
    if len(wrong) == len(LETTERS):
        return "Both missed it." if one.seeded else "Both called one where none is."
    return f"{wrong[0]} missed it." if one.seeded else f"{wrong[0]} called one where none is."


@never_cache
@require_safe
@needs("panel.seed")
def results_csv(request: BadgeRequest, panels: int) -> HttpResponse:
    """Each panel with what is on it and what A and B called; empty until both are done."""
    rows: list[Sequence[object]] = [("panel", "on it", "A", "B")]
    rows += [
        (
            one.number,
            "; ".join(f"{spot.word}, {spot.field}" for spot in one.spots) or "nothing",
            _called(said=one.first),
            _called(said=one.second),
        )
        for one in board.panels_called(panels)
    ]
    return sheet(f"panels-{panels}", rows)


def _called(*, said: bool) -> str:
    return "found" if said else "nothing wrong"
