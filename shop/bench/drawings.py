"""What is drawn once and shown often: the kit sheet and the fingerboard."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from django.core.cache import cache
from django.template.loader import render_to_string
from django.utils.translation import get_language

from shop.catalogue import book
from shop.craft.fingerboard import fingerboard
from shop.craft.hardware import TunerSet
from shop.craft.head import View, draw
from shop.floor.board import State, Work

VIEWS: tuple[View, ...] = ("front", "back")


def kit(now: State, units: str) -> str:
    """The rendered kit sheet in a person's units and the language in force. Kept by spec
    revision, version and both; an instrument with deviations of its own gets its own, drawn
    afresh."""
    if now.departures:
        return _kit(now, units)
    key = f"kit:{now.revision_id}:{now.version}:{units}:{get_language()}"
    return cache.get_or_set(key, lambda: _kit(now, units), timeout=None) or ""


def _kit(now: State, units: str) -> str:
    spec = now.sheet.spec
    articles = (one.article for one in now.kit)
    tuners = next((one for one in articles if isinstance(one, TunerSet)), None)
    return render_to_string(
        "bench/_kit.html",
        {
            "units": units,
            "spec": spec,
            "sheet": now.sheet,
            "kit": now.kit,
            "tuners": tuners,
            "views": [draw(spec, view, tuners) for view in VIEWS],
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
    return _progress(
        now.revision_id, now.version, now.done_codes, code, bool(work.held), get_language()
    )


@lru_cache(maxsize=2048)
def _progress(
    revision_id: int,
    version: int,
    done: frozenset[str],
    now: str,
    held: bool,
    language: str | None,  # the one in force: the drawing has words
) -> Progress:
    board = fingerboard(book.sheet(revision_id, version).route, done, now, held)
    return Progress(render_to_string("drawing/fingerboard.svg", {"board": board}), board.summary)
