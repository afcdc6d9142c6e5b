"""The instruments behind a bar of a figure, a page at a time. Never by person."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from shop.desk.bars import sheet
from shop.desk.span import Asked, asking, operation_of, page_of
from shop.floor import board
from shop.floor.board import Ones
from shop.people.gate import BadgeRequest, may, needs

MANY: Final = 5000  # instruments that a list is read by at a time
TOLD: Final = "chart.see"  # who may read why something came back, whoever looks again later


@dataclass(frozen=True, slots=True)
class Behind:
    """Which instruments are asked for: those started, or sent back, at an operation; those a
    word was found on; those with an escape."""

    asked: Asked
    what: str
    operation: str
    family: str
    word: str
    page: int

    @classmethod
    def of(cls, request: BadgeRequest) -> Behind:
        sent = request.GET
        family, word = (sent.get(name, "").replace("\0", "") for name in ("family", "word"))
        what = sent.get("what", "")
        known = what in ("started", "escaped") or (what == "found" and word)
        return cls(
            Asked.of(request, timezone.localtime()),
            what if known else "failed",
            operation_of(request),
            family,
            word,
            page_of(request),
        )

    @property
    def kept(self) -> dict[str, str]:
        """What is asked beside days, station and spec."""
        if self.what == "found":
            return {"what": self.what, "family": self.family, "word": self.word}
        if self.what == "escaped":
            return {"what": self.what}
        return {"what": self.what, "operation": self.operation}

    def ones(self, page: int, shown: int = 0) -> Ones:
        spell = self.asked.spell
        if self.what == "found":
            return board.found_on(spell, self.family, self.word, page, shown)
        if self.what == "escaped":
            return board.escaped(spell, page, shown)
        failed = self.what == "failed"
        return board.started_at(spell, self.operation, failed=failed, page=page, shown=shown)


@never_cache
@require_safe
@needs("figure.see")
def behind(request: BadgeRequest) -> HttpResponse:
    """The instruments behind a bar, the newest first, a page at a time."""
    it = Behind.of(request)
    found = it.ones(it.page)
    tags = board.tags_of([one.serial for one in found.rows if one.serial])
    started = it.what in ("started", "failed")
    told = may(request.user, TOLD) or not started
    to = it.asked.to
    other = it.kept | {"what": "started" if it.what == "failed" else "failed"}
    shown = {
        "it": it,
        "rows": [
            (one, tags.get(one.serial, {}).get("body", ""), one.words if told else "")
            for one in found.rows
        ],
        "kept_back": any(not one.serial for one in found.rows),
        "words_kept": not told and it.what == "failed",
        "earlier": to("figures-behind", **it.kept, page=str(it.page - 1)) if it.page > 1 else "",
        "later": to("figures-behind", **it.kept, page=str(found.later)) if found.later else "",
        "other": to("figures-behind", **other) if started else "",
        "by_week": to("figures-weeks", operation=it.operation) if started else "",
        "csv": to("figures-behind-csv", **it.kept),
    }
    return render(request, "desk/figures_behind.html", shown | asking(it.asked, "", **it.kept))


@never_cache
@require_safe
@needs("figure.see")
def behind_csv(request: BadgeRequest) -> HttpResponse:
    it = Behind.of(request)
    told = may(request.user, TOLD) or it.what not in ("started", "failed")
    return sheet("instruments", _all_of(it, told=told))


def _all_of(it: Behind, *, told: bool) -> Iterator[Sequence[object]]:
    """Every one of them as rows, under one head, however many a bar counts."""
    page: int | None = 1
    while page is not None:
        found = it.ones(page, MANY)
        head, *rows = board.one_rows(found)
        if page == 1:
            yield head
        yield from rows if told else ([*row[:-1], ""] for row in rows)
        page = found.later
