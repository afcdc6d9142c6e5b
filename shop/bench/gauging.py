"""Entering what was measured: every place of what the operation at this station asks for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from shop.bench import in_hand, views
from shop.craft import fit, gauging
from shop.craft.finding import Finding, Severity, any_stop
from shop.craft.gauging import QUANTITIES, Place, Quantity, Spot
from shop.craft.when import when_words
from shop.floor import board
from shop.floor.board import State, Work
from shop.floor.door import Act, Gauged, record
from shop.people.gate import BadgeRequest, needs


@dataclass(frozen=True, slots=True)
class Earlier:
    """A value entered before, as it is told: "8.73 mm", "Mon 09:12 P-11"; ``overdue``: read
    with a gauge that was not checked in time, which ``tool`` names where any is known."""

    words: str
    when: str
    tool: str = ""
    overdue: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One place to measure on the screen, with what was typed into it and what it had.

    ``open``: its value is still wanted, or stands at a stop. ``earlier`` is newest first:
    the first one is in force.
    """

    name: str
    place: Place
    where: str
    open: bool
    earlier: tuple[Earlier, ...]
    typed: str = ""
    sure: bool = False
    problem: Finding | None = None

    @property
    def key(self) -> str:
        """The name as the id of an element."""
        return self.name.replace(" ", "-")

    @property
    def doubtful(self) -> bool:
        return self.problem is not None and self.problem.severity is Severity.WARN


@dataclass(frozen=True, slots=True)
class Block:
    """One quantity with its places."""

    quantity: Quantity
    fields: tuple[Field, ...]


@dataclass(frozen=True, slots=True)
class Entry:
    """A form that was sent: values and ticks by their spot, and the unit it was drawn with."""

    values: Mapping[Spot, str]
    sure: frozenset[Spot]
    inch: bool
    tool: str

    @classmethod
    def parse(cls, request: HttpRequest, now: State) -> Entry:
        sent = request.POST
        spots = [
            (quantity.key, place.key)
            for quantity, places in gauging.asked(now.sheet.spec, tuple(QUANTITIES))
            for place in places
        ]
        values = {spot: text for spot in spots if (text := sent.get(_name(spot), "").strip())}
        ticked = set(sent.getlist("sure"))
        sure = frozenset(spot for spot in values if _name(spot) in ticked)
        tool = sent.get("tool", "").replace("\0", "").strip()
        return cls(values, sure, sent.get("unit") == "in", tool)


@never_cache
@require_http_methods(["GET", "POST"])
@needs("step.record", "step.learn")
def gauge(request: BadgeRequest, code: str) -> HttpResponse:
    """Measure, enter, and hear what it says."""
    now = views.ground(code)
    if request.method == "GET":
        return _page(request, code, now)
    entry = Entry.parse(request, now)
    if nobody := views.alone(request):
        return _page(request, code, now, entry, nobody)
    deed = Gauged(
        now.id,
        request.POST.get("operation", ""),
        entry.values,
        entry.sure,
        inch=entry.inch,
        tool=entry.tool,
    )
    outcome = record(act := Act.of(request, timezone.localtime()), deed)
    if not outcome.done:
        return _page(request, code, now, entry, outcome.findings)
    if "tool" in request.POST:
        in_hand.remember(request, entry.tool)
    if any_stop(outcome.findings):
        found = outcome.findings
        after = outcome.after or views.ground(code)
        return views.stopped(request, code, after, found, "bench:gauge", "Measure again")
    if deed.operation in board.looks_of(now):
        return redirect("inspection:look-values", code)
    return redirect(f"/{code}?after={act.key}")


def _page(
    request: BadgeRequest,
    code: str,
    now: State,
    entry: Entry | None = None,
    findings: tuple[Finding, ...] = (),
) -> HttpResponse:
    """The screen, with what was sent and could not be taken still in it."""
    shown = views.page(request, code, now)
    kept_back = _kept_back(request, now)
    refused = {one.rule: one for one in findings}
    blocks = tuple(_blocks(now, shown["work"], entry, refused, kept_back))
    at_places = [one.problem for block in blocks for one in block.fields if one.problem]
    inch = entry.inch if entry else request.user.units == "inch"
    shown |= {
        "blocks": blocks,
        "barred": _barred(request, now, shown["work"]),
        "unit": "in" if inch else "mm",
        "against": [one for one in findings if one not in at_places],
        "problems": len(at_places),
        "signed": any(block.quantity.signed for block in blocks),
        "hand": in_hand.in_hand(request, entry.tool if entry else None),
    }
    return render(request, "bench/gauge.html", shown)


def _barred(request: BadgeRequest, now: State, work: Work) -> tuple[Finding, ...]:
    """Why whoever asks does not measure at the look that is next here: then no form is shown.
    A second badge beside is asked for on the form itself."""
    if work.stop is None or work.stop.code not in board.looks_of(now):
        return ()
    asking = board.asking(request, timezone.localtime())
    found = board.against_measuring(now, work.stop.code, asking)
    return tuple(one for one in found if one.rule not in board.SIGNED_BESIDE)


def _blocks(
    now: State,
    work: Work,
    entry: Entry | None,
    refused: Mapping[str, Finding],
    kept_back: frozenset[Spot],
) -> Iterator[Block]:
    """What the operation asks for, then what stands at a stop, each with its places."""
    spec = now.sheet.spec
    own = work.stop.facts.gauges if work.stop else ()
    again = _at_a_stop(now)
    code = work.stop.code if work.stop else ""
    wanted = set(gauging.missing(spec, own, now.readings, code))
    before = board.measured(now.id)
    at = timezone.localtime()
    for quantity, places in gauging.asked(spec, tuple(dict.fromkeys([*own, *again]))):
        fields = []
        for place in places:
            spot = (quantity.key, place.key)
            field = Field(
                name=_name(spot),
                place=place,
                where=gauging.where(spec, quantity, place),
                open=spot in wanted or quantity.key in again,
                earlier=tuple(
                    Earlier(
                        gauging.said(one.reading),
                        f"{when_words(one.at, at)} {one.by}",
                        one.tool,
                        one.overdue,
                    )
                    for one in (() if spot in kept_back else before.get(spot, ()))
                ),
                typed=entry.values.get(spot, "") if entry else "",
                sure=entry is not None and spot in entry.sure,
                problem=refused.get(board.reading_rule(spot)),
            )
            fields.append(field)
        yield Block(quantity, tuple(fields))


def _kept_back(request: BadgeRequest, now: State) -> frozenset[Spot]:
    """Where no values are shown: the first look measured there, and whoever asks can still
    take the second with fresh eyes."""
    return board.values_kept(now, board.asking(request, timezone.localtime()))


def _at_a_stop(now: State) -> Sequence[str]:
    """The measured quantities that a stop on the readings goes by."""
    stops = {one.rule for one in now.standing.get("readings", ()) if one.severity is Severity.STOP}
    measured = dict.fromkeys(one.quantity for one in now.readings.values)
    return [one for one in measured if stops & fit.rules_reading({one})]


def _name(spot: Spot) -> str:
    """A spot as the name of its field: "hole 6"."""
    return " ".join(spot)
