"""Entering the heights of the frets: by keys, by a gauge that types, or from a machine's file.

A file only fills the form: it is looked over there and recorded like what was typed.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Final

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from shop.bench import in_hand, views
from shop.craft.finding import Finding, Severity
from shop.craft.set_up import frets as craft
from shop.craft.set_up.frets import FileProblem, FretReadings, Spot
from shop.craft.set_up.frets.reading import LEAST_LINES, MOST_LINES
from shop.floor import board
from shop.floor.board import FretsKept, State
from shop.floor.door import Act, FretsRead, record
from shop.people.gate import BadgeRequest, needs

NAME: Final = re.compile(r"h ([1-9]\d?) ([1-6])")
LONGEST: Final = 24  # characters of a figure
MOST_BYTES: Final = 200_000  # of a file
LINES: Final = range(LEAST_LINES, MOST_LINES + 1)
CHECKS: Final = {"flat": "Flat", "rocker": "Rocker"}


@dataclass(frozen=True, slots=True)
class Entry:
    """A form of heights, as it was sent or as a file filled it: figures as typed, by spot."""

    stage: str = "before"
    datum: str = "board"
    lines: int = MOST_LINES
    heights: Mapping[Spot, str] = field(default_factory=dict)
    checks: Mapping[tuple[str, int], str] = field(default_factory=dict)
    sure: frozenset[Spot] = frozenset()
    anew: bool = False
    inch: bool = False
    tool: str | None = None

    @classmethod
    def parse(cls, request: HttpRequest, frets: int) -> Entry:
        sent = request.POST
        typed = {
            spot: text
            for name in sent
            if (spot := _spot(name)) and (text := sent[name].strip()[:LONGEST])
        }
        ticked = {spot for name in sent.getlist("sure") if (spot := _spot(name))}
        checks = {
            (name, fret): text
            for name in CHECKS
            for fret in range(1, frets + 1)
            if (text := sent.get(f"{name} {fret}", "").strip()[:LONGEST])
        }
        return cls(
            stage="after" if sent.get("stage") == "after" else "before",
            datum="straight" if sent.get("datum") == "straight" else "board",
            lines=_lines(sent.get("lines", "")),
            heights=typed,
            checks=checks,
            sure=frozenset(ticked & set(typed)),
            anew="anew" in sent,
            inch=sent.get("unit") == "in",
            tool=sent.get("tool", "").replace("\0", "").strip(),
        )

    def of(self, check: str) -> dict[int, str]:
        return {fret: text for (name, fret), text in self.checks.items() if name == check}


@dataclass(frozen=True, slots=True)
class Field:
    """One figure on the screen: what is typed into it, what it had, what is wrong with it."""

    name: str
    words: str
    typed: str
    earlier: Decimal | None
    open: bool
    problem: Finding | None
    sure: bool = False

    @property
    def key(self) -> str:
        return self.name.replace(" ", "-")

    @property
    def doubtful(self) -> bool:
        return self.problem is not None and self.problem.severity is Severity.WARN


@dataclass(frozen=True, slots=True)
class Fret:
    """One fret on the screen: a field a line, and after crowning what was looked at beside."""

    number: int
    fields: tuple[Field, ...]
    checks: tuple[Field, ...]


@never_cache
@require_http_methods(["GET", "POST"])
@needs("step.record", "step.learn")
def heights(request: BadgeRequest, code: str) -> HttpResponse:
    """Read the frets line by line, and record what was read."""
    now = views.ground(code)
    if request.method == "GET":
        return _page(request, code, now, _begun(request, now))
    entry = Entry.parse(request, board.frets_of(now))
    if nobody := views.alone(request):
        return _page(request, code, now, entry, nobody)
    deed = FretsRead(
        instrument_id=now.id,
        operation=request.POST.get("operation", ""),
        stage=entry.stage,
        datum=entry.datum,
        lines=entry.lines,
        heights=entry.heights,
        flats=entry.of("flat"),
        rockers=entry.of("rocker"),
        sure=entry.sure,
        anew=entry.anew,
        inch=entry.inch,
        tool=entry.tool or "",
    )
    outcome = record(Act.of(request, timezone.localtime()), deed)
    if not outcome.done:
        return _page(request, code, now, entry, outcome.findings)
    if "tool" in request.POST:
        in_hand.remember(request, entry.tool or "")
    return redirect("bench:set-up-frets", code)


@never_cache
@require_http_methods(["GET", "POST"])
@needs("step.record", "step.learn")
def file(request: BadgeRequest, code: str) -> HttpResponse:
    """Choose the file of a measuring machine; what it says stands in the form then."""
    now = views.ground(code)
    stage = (
        "after" if "after" in (request.POST.get("stage"), request.GET.get("stage")) else "before"
    )
    if request.method == "GET":
        return _asked(request, code, now, stage)
    sent = request.FILES.get("heights")
    # One byte more than allowed is enough to know that it is too big.
    text = sent.read(MOST_BYTES + 1).decode("utf-8", "replace") if sent else ""
    found = craft.read(text)
    if found.readings is None:
        return _asked(request, code, now, stage, found.problems)
    count = board.frets_of(now)
    if found.readings.frets > count:
        words = f"This file has {found.readings.frets} frets, the board of {now.serial} {count}."
        return _asked(request, code, now, stage, (FileProblem(0, words),))
    return _page(request, code, now, _filled(now, found.readings, stage))


def _asked(
    request: BadgeRequest,
    code: str,
    now: State,
    stage: str,
    problems: tuple[FileProblem, ...] = (),
) -> HttpResponse:
    shown = {
        "code": code,
        "now": now,
        "spec": now.sheet.spec,
        "stage": stage,
        "problems": problems,
        "sample": craft.SAMPLE,
    }
    return render(request, "bench/set_up/fret_file.html", shown, status=422 if problems else 200)


def _filled(now: State, readings: FretReadings, stage: str) -> Entry:
    """A form with what a file says in it, in millimetres, to be recorded as a board of its own:
    of the datum read from last, or a straight one where a height has a minus."""
    typed = {
        spot: f"{height:f}"
        for spot in readings.spots()
        if (height := readings.at(spot)) is not None
    }
    last = board.frets_newest(now.id)
    below = any(text.startswith("-") for text in typed.values())
    return Entry(
        stage=stage,
        datum="straight" if below else last.datum if last else "board",
        lines=len(readings.lines),
        heights=typed,
        anew=True,
    )


def _begun(request: BadgeRequest, now: State) -> Entry:
    """The form as it is opened: going on from the heights read last where there are some."""
    last = board.frets_newest(now.id)
    stage = "after" if request.GET.get("stage") == "after" else "before"
    going_on = last if last and last.stage == stage else None
    lines = len(going_on.readings.lines) if going_on else MOST_LINES
    return Entry(
        stage=stage,
        datum=last.datum if last else "board",
        lines=_lines(request.GET.get("lines", str(lines))),
        inch=request.user.units == "inch",
    )


def _page(
    request: BadgeRequest,
    code: str,
    now: State,
    entry: Entry,
    findings: tuple[Finding, ...] = (),
) -> HttpResponse:
    """The screen, with what was typed and could not be taken still in it."""
    shown = views.page(request, code, now)
    refused = {one.rule: one for one in findings}
    rows = tuple(_rows(now, entry, refused, _kept(now, entry)))
    shown_at = [one.problem for row in rows for one in (*row.fields, *row.checks) if one.problem]
    stop = shown["work"].stop
    shown |= {
        "entry": entry,
        "rows": rows,
        "unit": "in" if entry.inch else "mm",
        "line_counts": LINES,
        "against": [one for one in findings if one not in shown_at],
        "problems": len(shown_at),
        "signed": True,  # a fret may lie below a straight reference
        "readable": stop is not None and stop.code not in board.inspections(now),
        "hand": in_hand.in_hand(request, entry.tool),
    }
    return render(request, "bench/set_up/fret_heights.html", shown)


def _kept(now: State, entry: Entry) -> FretsKept | None:
    """The heights that stay beside what is typed now."""
    last = None if entry.anew else board.frets_newest(now.id)
    form = (entry.stage, entry.datum, entry.lines)
    same = last and (last.stage, last.datum, len(last.readings.lines)) == form
    return last if last and same and last.readings.frets == board.frets_of(now) else None


def _rows(
    now: State, entry: Entry, refused: Mapping[str, Finding], kept: FretsKept | None
) -> Iterator[Fret]:
    earlier_checks = {
        "flat": kept.flats_mm if kept else {},
        "rocker": kept.rockers_mm if kept else {},
    }
    for number in range(1, board.frets_of(now) + 1):
        fields = []
        for line in range(1, entry.lines + 1):
            spot = Spot(number, line)
            earlier = kept.readings.at(spot) if kept else None
            fields.append(
                Field(
                    name=f"h {number} {line}",
                    words=f"Line {line}",
                    typed=entry.heights.get(spot, ""),
                    earlier=earlier,
                    open=earlier is None,
                    problem=refused.get(board.fret_rule(spot)),
                    sure=spot in entry.sure,
                )
            )
        checks = tuple(
            Field(
                name=f"{name} {number}",
                words=words,
                typed=entry.checks.get((name, number), ""),
                earlier=earlier_checks[name].get(number),
                open=False,
                problem=refused.get(f"{name} {number}"),
            )
            for name, words in CHECKS.items()
        )
        yield Fret(number, tuple(fields), checks if entry.stage == "after" else ())


def _spot(name: str) -> Spot | None:
    """The spot of a field, by its name."""
    found = NAME.fullmatch(name)
    return Spot(int(found[1]), int(found[2])) if found else None


def _lines(text: str) -> int:
    return int(text) if text in map(str, LINES) else MOST_LINES
