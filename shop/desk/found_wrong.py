"""What was found wrong: how often each word, which few cost most, and what the first look let
through. Never by person."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final, Literal

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from shop.craft.inspecting.finding_twice import escape_rate
from shop.craft.quality.pareto import Bar as Ranked
from shop.craft.quality.pareto import Ranking
from shop.craft.quality.spells import too_few, week
from shop.craft.quality.yields import ENOUGH, per_hundred
from shop.craft.words import THIN, several
from shop.desk.bars import FEW, Bar, long, on_a_hundred, percent, sheet
from shop.desk.span import Asked, asking
from shop.floor import board
from shop.floor.board import ByWord, Escapes
from shop.people.gate import BadgeRequest, needs
from shop.people.languages import say

RANKS: Final = {"minutes": "By minutes", "count": "By count"}
Part = Literal["spec", "week"]  # what escapes are divided by
WEEKS: Final = 26  # that escapes are told of one by one

# --- by word ---


@never_cache
@require_safe
@needs("figure.see")
def defects(request: BadgeRequest) -> HttpResponse:
    """How often each word was found, on a hundred instruments inspected."""
    asked = Asked.of(request, timezone.localtime())
    found = board.defects_by_word(asked.spell)
    shown = {
        "found": found,
        "few": too_few(found.inspected),
        "enough": ENOUGH,
        "bars": list(_by_word(asked, found)),
        "csv": asked.to("figures-defects-csv"),
        "formulas": (per_hundred,),
    }
    return render(request, "desk/figures_defects.html", shown | asking(asked, "figures-defects"))


def _by_word(asked: Asked, found: ByWord) -> Iterator[Bar]:
    most = max((one.count for one in found.words), default=1)
    for one in found.words:
        often = one.per_hundred
        yield Bar(
            say(one.word),
            several(one.count, "time") if often is None else on_a_hundred(often),
            long(one.count / most),
            _behind(asked, one.family, one.word),
            of=f"{one.count} on {found.inspected} inspected",
            name=say(one.family),
        )


def _behind(asked: Asked, family: str, word: str) -> str:
    return asked.to("figures-behind", what="found", family=family, word=word)


@never_cache
@require_safe
@needs("figure.see")
def defects_csv(request: BadgeRequest) -> HttpResponse:
    asked = Asked.of(request, timezone.localtime())
    return sheet("defects", board.defect_rows(board.defects_by_word(asked.spell)))


# --- which few cost most ---


@never_cache
@require_safe
@needs("figure.see")
def pareto(request: BadgeRequest) -> HttpResponse:
    """The words ranked by how many minutes of rework they took in all, or by how often."""
    asked, rank = Asked.of(request, timezone.localtime()), _rank(request)
    ranking = _ranking(board.defects_by_word(asked.spell), rank)
    shown = {
        "rank": rank,
        "ranks": [
            (words, f"?{asked.query(rank=key)}", key == rank) for key, words in RANKS.items()
        ],
        "bars": list(_ranked(asked, ranking, rank)),
        "few": len(ranking.few),
        "lines": [(one, f"{one.minutes:.0f}", percent(one.cumulative)) for one in ranking.bars],
        "csv": asked.to("figures-pareto-csv", rank=rank),
    }
    more = asking(asked, "figures-pareto", rank=rank)
    return render(request, "desk/figures_pareto.html", shown | more)


def _rank(request: BadgeRequest) -> str:
    rank = request.GET.get("rank", "")
    return rank if rank in RANKS else "minutes"


def _ranking(found: ByWord, rank: str) -> Ranking:
    return found.pareto.by_count if rank == "count" else found.pareto.by_minutes


def _ranked(asked: Asked, ranking: Ranking, rank: str) -> Iterator[Bar]:
    most = ranking.bars[0].weight if ranking.bars else 0
    few = set(ranking.few)
    for one in ranking.bars:
        yield Bar(
            say(one.word),
            _weight(one, rank),
            long(one.weight / most if most else 0),
            _behind(asked, one.family, one.word),
            of=f"{percent(one.share)} of all, {percent(one.cumulative)} with those above",
            remarks=("One of the few that make 80 %",) if one in few else (),
            name=say(one.family),
        )


def _weight(one: Ranked, rank: str) -> str:
    return several(one.count, "time") if rank == "count" else f"{one.minutes:.0f}{THIN}min"


@never_cache
@require_safe
@needs("figure.see")
def pareto_csv(request: BadgeRequest) -> HttpResponse:
    asked, rank = Asked.of(request, timezone.localtime()), _rank(request)
    rows: list[Sequence[object]] = [
        ("family", "word", "count", "minutes", "weight", "share", "cumulative")
    ]
    rows += [
        (
            one.family, one.word, one.count, f"{one.minutes:.0f}", f"{one.weight:.0f}",
            f"{one.share:.4f}", f"{one.cumulative:.4f}",
        )
        for one in _ranking(board.defects_by_word(asked.spell), rank).bars
    ]  # fmt: skip
    return sheet(f"pareto-{rank}", rows)


# --- escapes ---


@never_cache
@require_safe
@needs("figure.see")
def escapes(request: BadgeRequest) -> HttpResponse:
    """What only the second look found: of all, and of each spec or week."""
    asked, by = Asked.of(request, timezone.localtime()), _part(request)
    every, parts = _escapes(asked, by)
    bars = [_escape_bar(key, one, href) for key, one, href in parts if one.inspected]
    bys = (("spec", "By spec"), ("week", "By week"))
    shown = {
        "by": by,
        "bys": [(words, f"?{asked.query(by=key)}", key == by) for key, words in bys],
        "every": every,
        "total": _escape_bar("", every, asked.to("figures-behind", what="escaped")),
        "bars": bars,
        "weeks": WEEKS if by == "week" and len(asked.spell.weeks) > WEEKS else 0,
        "csv": asked.to("figures-escapes-csv", by=by),
        "formulas": (escape_rate,),
    }
    more = asking(asked, "figures-escapes", by=by)
    return render(request, "desk/figures_escapes.html", shown | more)


def _part(request: BadgeRequest) -> Part:
    return "week" if request.GET.get("by") == "week" else "spec"


def _escapes(asked: Asked, by: Part) -> tuple[Escapes, list[tuple[str, Escapes, str]]]:
    """All of it, and each spec that has any or each of the newest weeks, with what is behind
    it."""
    every, parts = board.escapes_by(asked.spell, by)
    if by == "spec":
        return every, [
            (key, one, asked.to("figures-behind", what="escaped", spec=key))
            for key, one in parts.items()
        ]
    mondays = [one for one in asked.spell.weeks if one <= asked.last][-WEEKS:]
    return every, [
        (
            week(monday),
            parts.get(week(monday), Escapes(0, 0)),
            asked.to_week("figures-behind", monday, what="escaped"),
        )
        for monday in mondays
    ]


def _escape_bar(words: str, one: Escapes, href: str) -> Bar:
    """One instrument may have several, so that this is no share and has no interval."""
    if one.rate is None:
        return Bar(words, "none looked at twice", "0", href)
    return Bar(
        words,
        on_a_hundred(100 * one.rate),
        long(one.rate),
        href,
        of=f"{one.escaped} on {one.inspected} looked at twice",
        remarks=(FEW,) if too_few(one.inspected) else (),
    )


@never_cache
@require_safe
@needs("figure.see")
def escapes_csv(request: BadgeRequest) -> HttpResponse:
    asked, by = Asked.of(request, timezone.localtime()), _part(request)
    every, parts = _escapes(asked, by)
    rows = [("all", every), *((key, one) for key, one, _ in parts)]
    return sheet("escapes", board.escape_rows(rows))
