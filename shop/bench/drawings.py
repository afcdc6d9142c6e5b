"""What is drawn once and shown often: the kit sheet and the fingerboard."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from django.core.cache import cache
from django.template.loader import render_to_string

from shop.catalogue import book
from shop.craft.fingerboard import fingerboard
from shop.craft.hardware import Family
from shop.craft.head import draw
from shop.floor.board import State, Work


def kit(now: State) -> str:
    """The rendered kit sheet. Kept by spec revision and version; an instrument with
    deviations of its own gets its own, drawn afresh."""
    if now.departures:
        return _kit(now)
    key = f"kit:{now.revision_id}:{now.version}"
    return cache.get_or_set(key, lambda: _kit(now), timeout=None) or ""


def _kit(now: State) -> str:
    spec = now.sheet.spec
    tuners = next((one for one in now.kit if one.article.family is Family.TUNERS), None)
    return render_to_string(
        "bench/_kit.html",
        {
            "spec": spec,
            "sheet": now.sheet,
            "kit": now.kit,
            "tuners": tuners.article if tuners else None,
            "front": draw(spec, "front"),
            "back": draw(spec, "back"),
            "changed": {one.into.key for one in now.departures if one.into},
        },
    )


@dataclass(frozen=True, slots=True)
class Progress:
    drawing: str
    summary: str


def progress(now: State, work: Work) -> Progress:
    """The instrument's fingerboard. Instruments at the same stage share one."""
    code = work.stop.code if work.stop else ""
    return _progress(now.revision_id, now.version, now.done_codes, code, bool(work.held))


@lru_cache(maxsize=2048)
def _progress(
    revision_id: int, version: int, done: frozenset[str], now: str, held: bool
) -> Progress:
    board = fingerboard(book.sheet(revision_id, version).route, done, now, held)
    return Progress(render_to_string("drawing/fingerboard.svg", {"board": board}), board.summary)
