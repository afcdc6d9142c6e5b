"""A defect told by taps: what it is, where it is, and which loop makes it good.

Each answer stands in the address, so that a step back takes it back and nothing is typed; only
the last tap records.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any, Final, Literal
from urllib.parse import urlencode

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from shop.bench.events import answer, cost, page
from shop.bench.views import ground, stopped
from shop.catalogue import book
from shop.craft import zones
from shop.craft.clocks import What
from shop.craft.finding import Finding, warn
from shop.craft.rework import WORDS, LoopFacts, family_words, suggested
from shop.craft.when import span_words, when_words
from shop.craft.words import mm
from shop.floor import board
from shop.floor.board import State
from shop.floor.door import Act, DefectFound, record
from shop.people.gate import BadgeRequest, needs

Asks = Literal["family", "word", "zone", "loop", "record"]

PLACES: Final = {str(number): words for number, words in zones.PLACES.items()}
"""The words of each zone by its number as an address carries it."""
NOWHERE: Final = "0"  # the word says it all, or it is all over

DEPTHS: Final = tuple(Decimal(tenths) / 10 for tenths in (2, 4, 6, 8, 10))  # mm


@dataclass(frozen=True, slots=True)
class Report:
    """How far a defect is told. ``other``: not the loop that it usually leads to."""

    family: str = ""
    word: str = ""
    zone: str = ""
    loop: str = ""
    other: bool = False

    @classmethod
    def of(cls, sent: Mapping[str, str]) -> Report:
        """What was told as the address carries it; what it cannot mean is left out."""
        family, word, zone = (sent.get(name, "") for name in ("family", "word", "zone"))
        if family not in WORDS:
            return cls()
        if word not in WORDS[family]:
            return cls(family)
        if zone not in PLACES and zone != NOWHERE:
            return cls(family, word)
        return cls(family, word, zone, sent.get("loop", ""), "other" in sent)

    @property
    def query(self) -> str:
        """The same in an address."""
        told = {"family": self.family, "word": self.word, "zone": self.zone, "loop": self.loop}
        return urlencode({name: one for name, one in told.items() if one})

    @property
    def another(self) -> str:
        """The address that asks for another loop than the usual one."""
        return f"{replace(self, loop='').query}&other=1"

    @property
    def back(self) -> str:
        """The address of the question before."""
        if self.loop or self.other:
            return replace(self, loop="", other=False).query
        if self.zone:
            return replace(self, zone="").query
        return Report(self.family if self.word else "").query

    @property
    def asks(self) -> Asks:
        """What is asked next, apart from the loop where the word leads to one alone."""
        if not self.family:
            return "family"
        if not self.word:
            return "word"
        return "loop" if self.zone else "zone"

    @property
    def place(self) -> str:
        return PLACES.get(self.zone, "")

    @property
    def words(self) -> str:
        """What is said beside the word: where it is, and of which family where others have
        the word too."""
        alone = sum(self.word in words for words in WORDS.values()) == 1
        return ", ".join(one for one in ("" if alone else self.family, self.place) if one)


@dataclass(frozen=True, slots=True)
class Choice:
    """A loop to choose, and what it brings with it."""

    loop: LoopFacts
    costs: tuple[str, ...]
    query: str


@never_cache
@require_http_methods(["GET", "POST"])
@needs("defect.report")
def defect(request: BadgeRequest, code: str) -> HttpResponse:
    """One question after another by taps, then one button. Whoever grades defects is led to
    note it with its class where a look is taken."""
    now, at = ground(code), timezone.localtime()
    asking = board.asking(request, at)
    if request.method == "GET" and board.ungraded_at_a_look(now, asking):
        return redirect("inspection:note", code)
    sent = request.POST if request.method == "POST" else request.GET
    report = Report.of(sent)
    shown = page(code, now, asking, "bench:defect") | {"report": report, "asks": report.asks}
    if request.method == "POST":
        act = Act.of(request, at)
        # What waited on a phone is judged by where it was tapped.
        if ungraded := board.ungraded_at_a_look(now, act.asking):
            return stopped(request, code, now, ungraded, "inspection:note", "Note the defect")
        loop = book.loop(report.loop)
        depth = next((one for one in DEPTHS if str(one) == sent.get("depth")), None)
        if loop and loop.by_depth and depth is None:
            told = (warn("depth", "How deep the fill is, is not said yet.", "Tap the depth."),)
            more = _recording(now, report, loop, told)
            return render(request, "bench/defect.html", shown | more, status=422)
        found = DefectFound(now.id, report.word, report.loop, "", report.words, depth)
        return answer(request, code, now, act, record(act, found), "bench:defect")
    return render(request, "bench/defect.html", shown | _asked(now, report))


def _asked(now: State, report: Report) -> dict[str, Any]:
    """What the page of the next question shows."""
    if report.asks == "family":
        return {"families": [(one, family_words(one), ", ".join(WORDS[one][:3])) for one in WORDS]}
    if report.asks == "word":
        return {"all_words": WORDS[report.family]}
    if report.asks == "zone":
        return {"zones": zones.ZONES, "nowhere": NOWHERE}
    known = {one.key: one for one in book.loops()}
    usual = [known[one] for one in suggested(report.word, report.family) if one in known]
    chosen = known.get(report.loop)
    if chosen is None and len(usual) == 1 and not report.other:
        chosen = usual[0]
    if chosen is not None:
        return _recording(now, report, chosen, ())
    rest = [one for one in known.values() if one not in usual and one.key != What.DROPPED]
    rest.sort(key=lambda one: report.family not in one.families)  # its family's own first
    return {
        "choices": [_choice(now, report, one) for one in usual],
        "others": [_choice(now, report, one) for one in rest],
    }


def _choice(now: State, report: Report, loop: LoopFacts) -> Choice:
    query = replace(report, loop=loop.key, other=False).query
    return Choice(loop, cost(now, loop), query)


def _recording(
    now: State, report: Report, loop: LoopFacts, told: tuple[Finding, ...]
) -> dict[str, Any]:
    """What the last page shows, with the button that records."""
    at = timezone.localtime()
    depths = [(str(one), mm(one), span_words(loop.dries(one))) for one in DEPTHS]
    return {
        "asks": "record",
        "loop": loop,
        "costs": cost(now, loop),
        "depths": depths if loop.by_depth else [],
        "joins": when_words(now.rework.since, at) if now.rework else "",
        "puts_down": now.open if now.open and not now.open.unsure else None,
        "told": told,
    }
