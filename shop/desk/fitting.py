"""The fit desk: any kit against any spec, every set on every spec, what on the shelf fits."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final, cast

from django.http import Http404, HttpRequest, HttpResponse, StreamingHttpResponse
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from shop.catalogue import book
from shop.catalogue.book import KitItem, OpenSpec
from shop.craft import fit
from shop.craft.finding import Finding, any_stop, any_warn, worst_first
from shop.craft.hardware import Article, Family, Picked, SpecFacts, TunerSet, Wanted
from shop.craft.phrasebook import searched
from shop.craft.spreadsheet import cells
from shop.people.gate import BadgeRequest, may, needs
from shop.people.languages import say
from shop.stock import shelf
from shop.stock.shelf import Stocked

# A page of the large table: as wide as a desk's screen, and quick to draw however many
# sets and specs there are. The CSV holds all of it.
SETS_A_PAGE: Final = 16
SPECS_A_PAGE: Final = 40

LINES_OF_A_FAMILY: Final = 6  # as many as an address may ask for; a kit has one or two

WORDS: Final = {"clear": "Fits", "warn": "Check", "stop": "No fit"}


def kind_of(findings: Iterable[Finding]) -> str:
    """The mark for these findings; a note alone is no reason to look twice."""
    told = tuple(findings)
    return "stop" if any_stop(told) else "warn" if any_warn(told) else "clear"


# --- any kit against any spec ---


@dataclass(frozen=True, slots=True)
class Choice:
    """One select of the kit: its family, the articles to choose from, the one chosen."""

    family: Family
    articles: tuple[Article, ...]
    chosen: str
    place: int  # among those of its family, from 0

    @property
    def id(self) -> str:
        return f"{self.family.value}-{self.place}"

    @property
    def there(self) -> bool:
        """Whether the one chosen is one of its family."""
        return any(one.key == self.chosen for one in self.articles)

    @property
    def words(self) -> str:
        again = f", {self.place + 1}" if self.place else ""
        return f"{self.family.words.capitalize()}{again}"


@never_cache
@require_safe
@needs("fit.ask")
def kit(request: BadgeRequest) -> HttpResponse:
    """Any kit against any spec. The address holds all that is chosen."""
    specs = book.specs()
    asked = request.GET.get("spec", "").strip().upper()
    spec = _spec(specs, asked)
    if spec is None:
        return render(request, "desk/fit.html", {"specs": specs, "unknown": asked})
    own = book.kit_lines(spec.revision_id)
    articles = _articles(own)
    choices = _choices(request, own, articles)
    shown = {
        "specs": specs,
        "spec": spec.facts,
        "needed": [one for one in choices if one.chosen or one.family in _families(own)],
        "others": [one for one in choices if not one.chosen and one.family not in _families(own)],
        **_answer(spec.facts, own, choices, articles),
        "may_set": may(request.user, "limit.set"),
    }
    return render(request, "desk/_fit_answered.html" if request.htmx else "desk/fit.html", shown)


def _spec(specs: Iterable[OpenSpec], key: str) -> OpenSpec | None:
    return next((one for one in specs if one.facts.key == key), None)


def _families(own: Iterable[KitItem]) -> set[Family]:
    return {line.article.family for line in own}


def _articles(own: Iterable[KitItem]) -> dict[str, Article]:
    """Every article in use by its key, and those of the spec's own kit, in use or not."""
    ids = book.item_ids([key for key, _ in book.items()])
    found = {one.key: one for one in book.articles(list(ids.values())).values()}
    return found | {line.article.key: line.article for line in own}


def _choices(
    request: HttpRequest, own: Sequence[KitItem], articles: dict[str, Article]
) -> list[Choice]:
    """A select for each line of the kit, and one for each family it does not have; each with
    what the address says, or with the spec's own where it says nothing."""
    choices = []
    for family in Family:
        listed = [line.article.key for line in own if line.article.family is family]
        said = request.GET.getlist(family.value)[:LINES_OF_A_FAMILY]
        chosen = said or listed
        of_family = sorted(
            (one for one in articles.values() if one.family is family), key=lambda one: one.key
        )
        for place in range(max(1, len(listed), len(chosen))):
            key = chosen[place].strip().upper() if place < len(chosen) else ""
            choices.append(Choice(family, tuple(of_family), key, place))
    return choices


def _answer(
    spec: SpecFacts,
    own: Sequence[KitItem],
    choices: Iterable[Choice],
    articles: dict[str, Article],
) -> dict[str, Any]:
    """What stands against the chosen kit, and where it is not the spec's own."""
    named = [one for one in choices if one.chosen]
    there = {one.chosen: articles[one.chosen] for one in named if one.there}
    chosen = list(there.values())
    findings = _against(spec, chosen)
    own_keys = {line.article.key: line.article for line in own}
    return {
        "findings": findings,
        "kind": kind_of(findings),
        "empty": not chosen,
        "unknown_items": [one.chosen for one in named if not one.there],
        "added": [one for one in chosen if one.key not in own_keys],
        "left_out": [one for key, one in own_keys.items() if key not in there],
    }


def _against(spec: SpecFacts, chosen: Sequence[Article]) -> tuple[Finding, ...]:
    """What stands against these articles, and what a list of just these would lack.

    Nothing is ordered here, so the next step is to choose another; only what the list lacks
    is said by the rules once they take it for the list.
    """
    lines = [Picked(article=one) for one in chosen]
    wanted = [Wanted(key=one.key, name=one.name, family=one.family) for one in chosen]
    found = fit.kit(spec, (), lines)
    said = {(one.rule, one.words) for one in found}
    lacking = (one for one in fit.kit(spec, wanted, lines) if (one.rule, one.words) not in said)
    return worst_first((*found, *lacking))


# --- every set on every spec ---


@dataclass(frozen=True, slots=True)
class Cell:
    """One set on one spec."""

    machines: TunerSet
    findings: tuple[Finding, ...]

    @property
    def kind(self) -> str:
        return kind_of(self.findings)

    @property
    def word(self) -> str:
        return WORDS[self.kind]

    @property
    def rules(self) -> list[str]:
        """The rules that speak against it, worst first, each once."""
        spoken = [one.rule for one in self.findings if one.severity != "note"]
        return list(dict.fromkeys(spoken))


@dataclass(frozen=True, slots=True)
class Page:
    """A stretch of a long row: which part is shown, and where the next and the last begin."""

    first: int  # from 0
    size: int
    of: int

    @property
    def last(self) -> int:
        return min(self.first + self.size, self.of)

    @property
    def shown_from(self) -> int:
        return self.first + 1

    @property
    def before(self) -> int | None:
        return max(0, self.first - self.size) if self.first else None

    @property
    def after(self) -> int | None:
        return self.last if self.last < self.of else None

    @property
    def whole(self) -> bool:
        return self.size >= self.of


def _page(request: HttpRequest, name: str, size: int, of: int) -> Page:
    asked = request.GET.get(name, "")
    first = int(asked) if asked.isascii() and asked.isdecimal() and len(asked) < 6 else 0
    return Page(first if first < of else 0, size, of)


@never_cache
@require_safe
@needs("fit.ask")
def sets(request: BadgeRequest) -> HttpResponse:
    """Every set of tuning machines on every open spec; or one on one, with its reasons."""
    if "spec" in request.GET and "set" in request.GET:
        return _pair(request)
    asked = request.GET.get("words", "").strip()
    specs, machines = _narrowed(asked)
    across = _page(request, "set_from", SETS_A_PAGE, len(machines))
    down = _page(request, "spec_from", SPECS_A_PAGE, len(specs))
    columns = machines[across.first : across.last]
    rows = [
        {"spec": spec, "cells": [Cell(one, fit.article(spec, one)) for one in columns]}
        for spec in specs[down.first : down.last]
    ]
    shown = {"words": asked, "columns": columns, "rows": rows, "across": across, "down": down}
    return render(request, "desk/fit_sets.html", shown)


def _pair(request: BadgeRequest) -> HttpResponse:
    """One set on one spec: all that stands against it, each with its why."""
    key, name = (request.GET.get(one, "").strip().upper() for one in ("spec", "set"))
    spec = _spec(book.specs(), key)
    machines = next((one for _, one in book.sets() if one.key == name), None)
    if spec is None or machines is None:
        raise Http404
    cell = Cell(machines, fit.article(spec.facts, machines))
    return render(request, "desk/fit_pair.html", {"spec": spec.facts, "cell": cell})


def _narrowed(asked: str) -> tuple[list[SpecFacts], list[TunerSet]]:
    """Specs and sets with these words. A word found on one side narrows that side alone, one
    found on both narrows both, and one found nowhere leaves nothing."""
    specs = [(one.facts, _spec_words(one.facts)) for one in book.specs()]
    machines = [(one, _set_words(one)) for _, one in book.sets()]
    for word in asked.lower().split():
        of_specs = [pair for pair in specs if word in pair[1]]
        of_sets = [pair for pair in machines if word in pair[1]]
        if not of_specs and not of_sets:
            return [], []
        specs, machines = of_specs or specs, of_sets or machines
    return [one for one, _ in specs], [one for one, _ in machines]


def _spec_words(spec: SpecFacts) -> str:
    known = (spec.key, spec.hand.words, f"{spec.strings}-string", f"{spec.head.value}-head")
    return searched(" ".join((*known, spec.metal.value, spec.bushing.words)), say)


def _set_words(machines: TunerSet) -> str:
    known = (machines.key, machines.name, machines.carried.words, machines.hand.words)
    metal = machines.metal.value if machines.metal else ""
    return searched(" ".join((*known, metal, machines.bushing.words)), say)


class _Line:
    """What the csv writer writes to: it hands each line on instead of keeping it."""

    def write(self, line: str) -> str:
        return line


@never_cache
@require_safe
@needs("fit.ask")
def sets_csv(request: BadgeRequest) -> HttpResponse:
    """The whole table, one line for each set on each spec, sent as it is reckoned."""
    specs, machines = _narrowed(request.GET.get("words", "").strip())
    response = StreamingHttpResponse(
        _lines(specs, machines), content_type="text/csv; charset=utf-8"
    )
    response["Content-Disposition"] = 'attachment; filename="fit.csv"'
    return cast("HttpResponse", response)  # a view's answer all the same; Django splits the two


def _lines(specs: Sequence[SpecFacts], machines: Sequence[TunerSet]) -> Iterator[str]:
    sheet = csv.writer(_Line())
    yield sheet.writerow(["spec", "revision", "set", "name", "answer", "rules", "first reason"])
    for spec in specs:
        for one in machines:
            cell = Cell(one, fit.article(spec, one))
            first = cell.findings[0].words if cell.findings else ""
            yield sheet.writerow(
                cells(
                    spec.key, spec.revision, one.key, one.name, cell.word,
                    " ".join(cell.rules), first,
                )
            )  # fmt: skip


# --- what on the shelf fits ---


@dataclass(frozen=True, slots=True)
class Offer:
    """One set as it stands on the shelf, and what speaks against it on a spec."""

    cell: Cell
    stock: Stocked
    ordered: bool

    @property
    def goes(self) -> bool:
        return self.stock.free > 0 and self.cell.kind != "stop"

    @property
    def reason(self) -> str:
        """The first reason why it does not go."""
        if self.cell.kind == "stop":
            return self.cell.findings[0].words
        return "" if self.goes else "It fits, and none is free."

    @property
    def rank(self) -> tuple[bool, bool, str]:
        return (not self.ordered, self.cell.kind != "clear", self.cell.machines.key)


@never_cache
@require_safe
@needs("fit.ask")
def on_the_shelf(request: BadgeRequest, spec: str) -> HttpResponse:
    """Which sets on the shelf would fit this spec, and why the others do not."""
    found = spec_or_404(spec)
    ordered = {line.article.key for line in book.kit_lines(found.revision_id)}
    machines = dict(book.sets())
    stock = shelf.stocked(list(machines))
    offers = sorted(
        (
            Offer(Cell(one, fit.article(found.facts, one)), stock[key], one.key in ordered)
            for key, one in machines.items()
        ),
        key=lambda one: one.rank,
    )
    shown = {
        "spec": found.facts,
        "going": [one for one in offers if one.goes],
        "others": [one for one in offers if not one.goes],
        "may_set": may(request.user, "limit.set"),
    }
    return render(request, "desk/fit_shelf.html", shown)


def spec_or_404(key: str) -> OpenSpec:
    """The open revision of this spec. Raises ``Http404`` where it has none."""
    found = _spec(book.specs(), key)
    if found is None:
        raise Http404
    return found
