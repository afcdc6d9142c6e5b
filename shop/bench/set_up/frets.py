"""The plan for levelling the frets: what to seat, what to file, and how they stand after."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from shop.bench.set_up import topics
from shop.bench.set_up.typed import Sent, Typed, Usual
from shop.craft.set_up import frets as craft
from shop.craft.set_up.aims import Aims, aims
from shop.craft.set_up.figures import length, rounded
from shop.craft.set_up.frets import Advice, Board, Crowned, Spot
from shop.craft.set_up.frets.drawing import draw
from shop.craft.set_up.frets.planning import EASY_MM, MOST_MM
from shop.craft.when import when_words
from shop.floor import board
from shop.floor.board import FretsKept, State
from shop.people.gate import BadgeRequest, needs

WORKS: Final = ("new", "repair")
FALL_MOST: Final = Decimal("0.5")  # mm; common practice, no source
NONE: Final = Decimal(0)


@dataclass(frozen=True, slots=True)
class Cell:
    """One spot of the table: read, target, what comes off, read after. Millimetres."""

    read: Decimal | None
    target: Decimal | None
    off: Decimal | None
    after: Decimal | None


@dataclass(frozen=True, slots=True)
class Row:
    """One fret: the most that comes off it and on which line, the least that is left."""

    fret: int
    off: Decimal | None
    line: int | None
    left: Decimal | None
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class Stage:
    """One set of heights as the page tells of it."""

    kept: FretsKept
    when: str
    missing: tuple[Spot, ...]


@never_cache
@require_safe
@needs("tag.scan")
def frets(request: BadgeRequest, code: str) -> HttpResponse:
    """What to do with the frets, first in a sentence, then drawn and as a table."""
    now = topics.ground(request, code)
    before, after = board.fret_heights(now.id)
    aimed, sent = aims(now.sheet.spec), Sent(request)
    fall = _fall(sent, before, aimed)
    work = sent.one_of("work", WORKS)
    shown = topics.page(request, code, now, "frets") | {
        "sent": sent,
        "wrong": sent.wrong,
        "fields": (fall,),
        "work": work,
        "aims": aimed,
        "limits": (EASY_MM, MOST_MM, craft.NEW_MM if work == "new" else craft.REPAIR_MM),
        "caution": craft.CAUTION,
        "before": _stage(before),
        "after": _stage(after),
        "here_now": _may_read(request, now),
    }
    repair = work == "repair"
    apart = bool(before and after and before.datum != after.datum)
    if before and not sent.wrong:
        of = _board(before, aimed, fall, repair=repair)
        shown |= _planned(before, None if apart else after, of)
    if after and not sent.wrong:
        of = _board(after, aimed, _fall(sent, after, aimed), repair=repair)
        crowned = Crowned(after.readings, after.flats_mm, after.rockers_mm)
        shown |= {"judged": craft.judge(crowned, of), "apart": apart}
    return render(request, "bench/set_up/frets.html", shown)


def _planned(before: FretsKept, after: FretsKept | None, of: Board) -> dict[str, Any]:
    """The plan, and what was read after it from the same datum, as the page shows them."""
    advice = craft.advise(before.readings, of)
    wrong = {one.fret for one in advice.suspects}
    wrong |= {fret for fret, off in advice.plan.by_fret.items() if off > MOST_MM}
    again = after.readings if after else None
    return {
        "advice": advice,
        "drawing": draw(advice.plan, again, frozenset(wrong)) if advice.plan.told else None,
        "rows": _rows(advice, after),
        "lines": range(1, len(before.readings.lines) + 1),
        "arithmetic": _arithmetic(advice),
    }


def _fall(sent: Sent, kept: FretsKept | None, aimed: Aims) -> Typed:
    """What is still to be filed at the last fret. Heights over the board do not show how the
    board itself falls away, so nothing is, unless somebody says so."""
    straight = kept is not None and kept.datum == "straight"
    usual = Usual(aimed.fall_off_mm, "the spec") if straight else Usual(NONE, "read from the board")
    return sent.length("fall", "Fall-off to file at the last fret", usual, NONE, FALL_MOST)


def _board(kept: FretsKept, aimed: Aims, fall: Typed, *, repair: bool) -> Board:
    return Board(
        scale_mm=float(aimed.scale_mm),
        body_joint=aimed.body_joint_fret,
        fall_off_mm=fall.number,
        fret_mm=aimed.fret_height_mm if kept.datum == "straight" else None,
        repair=repair,
    )


def _stage(kept: FretsKept | None) -> Stage | None:
    if kept is None:
        return None
    return Stage(kept, when_words(kept.at, timezone.localtime()), kept.readings.missing)


def _may_read(request: BadgeRequest, now: State) -> bool:
    """Whether the operation to do at this phone's station is one where frets can be read."""
    work = board.work(now, board.asking(request, timezone.localtime()))
    return work.here and work.stop is not None and work.stop.code not in board.inspections(now)


def _rows(advice: Advice, after: FretsKept | None) -> tuple[Row, ...]:
    plan = advice.plan
    left = plan.left_by_fret
    found = []
    for fret in range(1, plan.readings.frets + 1):
        cells = tuple(
            _cell(plan, after, Spot(fret, line + 1)) for line in range(len(plan.targets_mm))
        )
        taken = [(one.off, line) for line, one in enumerate(cells, 1) if one.off is not None]
        most = max(taken, key=lambda one: one[0], default=None)
        found.append(
            Row(
                fret=fret,
                off=most[0] if most else None,
                line=most[1] if most and most[0] else None,
                left=left.get(fret),
                cells=cells,
            )
        )
    return tuple(found)


def _cell(plan: craft.Plan, after: FretsKept | None, spot: Spot) -> Cell:
    to = plan.targets_mm[spot.line - 1][spot.fret - 1]
    again = after.readings if after and spot.line <= len(after.readings.lines) else None
    return Cell(
        read=plan.readings.at(spot),
        target=None if to is None else rounded(to),
        off=plan.removals_mm[spot.line - 1][spot.fret - 1],
        after=again.at(spot) if again and spot.fret <= again.frets else None,
    )


def _arithmetic(advice: Advice) -> tuple[str, ...]:
    """The straight of each line, as it is worked out."""
    return tuple(
        f"Line {line}: t = {length(one.at_nut_mm)} {'+' if one.rise >= 0 else chr(0x2212)} "
        f"{abs(one.rise):.6f} · x \u2212 y"
        for line, one in enumerate(advice.plan.straights, 1)
        if one is not None
    )


@never_cache
@require_safe
@needs("tag.scan")
def frets_csv(request: BadgeRequest, code: str) -> HttpResponse:
    """The heights in force as a file, in the form that a measuring machine writes: after
    crowning where they were read, else before."""
    now = topics.ground(request, code)
    before, after = board.fret_heights(now.id)
    kept = after if request.GET.get("stage") == "after" else before
    answer = HttpResponse(content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{now.serial}-frets.csv"'
    if kept:
        answer.write(craft.written(kept.readings))
    else:
        csv.writer(answer).writerow(("fret", "line", "height"))
    return answer
