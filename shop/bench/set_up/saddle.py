"""The saddle: what comes off it for the action, and what is left above the bridge."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from shop.bench.set_up import measured, topics
from shop.bench.set_up.typed import Sent, Typed, Usual
from shop.craft.fit.saddle import PROUD_HIGH, PROUD_LEAST, PROUD_LOW, PROUD_MOST
from shop.craft.fit.setting import ACTION_OFF
from shop.craft.hardware import Hand, SpecFacts
from shop.craft.set_up import neck as necks
from shop.craft.set_up import saddle as saddles
from shop.craft.set_up.aims import Aims, aims
from shop.craft.set_up.figures import rounded
from shop.craft.set_up.neck import Heel
from shop.craft.set_up.saddle import Limits, SaddlePlan, Side
from shop.craft.set_up.scale import fret_to_bridge
from shop.floor.board import State
from shop.people.gate import BadgeRequest, needs

# What a guitar can have; common practice, no source.
ACTION: Final = (Decimal("0.5"), Decimal(8))
PROUD: Final = (Decimal(0), Decimal(12))
ELEMENT: Final = (Decimal(0), Decimal(4))
SLOT: Final = (Decimal(2), Decimal(15))
HEEL: Final = (Decimal(40), Decimal(140))
# Where the strings are read; at another fret than the 12th, what is wanted there is typed too.
AIMED_AT: Final = "12"
NOTHING: Final = Usual(None, "")
NONE: Final = Usual(Decimal(0), "no element")


@dataclass(frozen=True, slots=True)
class Row:
    """One end of the saddle as the table has it, in millimetres."""

    side: str
    off: Decimal
    base: Decimal
    left: Decimal


@never_cache
@require_safe
@needs("tag.scan")
def saddle(request: BadgeRequest, code: str) -> HttpResponse:
    """What comes off the base at both ends, or why the neck is set again instead."""
    now = topics.ground(request, code)
    spec = now.sheet.spec
    aimed = aims(spec)
    sent = Sent(request)
    frets = tuple(str(one) for one in range(1, aimed.frets + 1))
    fret = sent.one_of("fret", (AIMED_AT, *frets))
    fields = _fields(sent, now, aimed, fret)
    plan = _plan(fields, aimed, spec, int(fret))
    shown = topics.page(request, code, now, "saddle") | {
        "sent": sent,
        "fields": fields,
        "fret": fret,
        "frets": frets,
        "aims": aimed,
        "plan": plan,
        "cuts": _rows(plan, spec) if plan else (),
        "caution": saddles.CAUTION,
        "reset_caution": necks.CAUTION,
        "facts": measured.facts(now, "action", "proud"),
        "measure": measured.asked_here(request, now, "action", "proud"),
    }
    return render(request, "bench/set_up/saddle.html", shown)


def _fields(sent: Sent, now: State, aimed: Aims, fret: str) -> tuple[Typed, ...]:
    """Of each side the action, what is wanted and the height above the bridge; then what lies
    under the saddle, its slot, and the heel."""

    def usual(quantity: str, side: str) -> Usual:
        return measured.usual(now, quantity, side)

    there = fret == AIMED_AT
    bass = Usual(aimed.action_bass_mm, measured.SPEC) if there else NOTHING
    treble = Usual(aimed.action_treble_mm, measured.SPEC) if there else NOTHING
    over_bass = usual("action", "bass") if there else NOTHING
    over_treble = usual("action", "treble") if there else NOTHING
    return (
        sent.length("action_bass", f"Action at fret {fret}, bass", over_bass, *ACTION),
        sent.length("target_bass", "Wanted, bass", bass, *ACTION),
        sent.length("proud_bass", "Saddle above the bridge, bass", usual("proud", "bass"), *PROUD),
        sent.length("action_treble", f"Action at fret {fret}, treble", over_treble, *ACTION),
        sent.length("target_treble", "Wanted, treble", treble, *ACTION),
        sent.length(
            "proud_treble", "Saddle above the bridge, treble", usual("proud", "treble"), *PROUD
        ),
        sent.length("element", "Element that goes under the saddle", NONE, *ELEMENT),
        sent.length("slot", "Depth of the saddle slot", NOTHING, *SLOT),
        sent.length("heel", "Depth of the heel from the fret tops", NOTHING, *HEEL),
    )


def _plan(fields: tuple[Typed, ...], aimed: Aims, spec: SpecFacts, fret: int) -> SaddlePlan | None:
    """The plan, once both sides are known."""
    *sides, element, slot, heel = fields
    if any(one.value is None for one in (*sides, element)) or any(one.problem for one in fields):
        return None
    bass, treble = (Side(*(one.number for one in side)) for side in (sides[:3], sides[3:]))
    scale = float(aimed.scale_mm)
    beyond = fret_to_bridge(scale, aimed.body_joint_fret)
    return saddles.plan(
        bass,
        treble,
        scale,
        fret=fret,
        element_mm=element.number,
        tolerance_mm=measured.limit(spec, ACTION_OFF),
        slot_mm=None if slot.value is None else slot.number,
        limits=_limits(spec),
        heel=None if heel.value is None else Heel(heel.number, beyond, float(aimed.board_mm)),
    )


def _rows(plan: SaddlePlan, spec: SpecFacts) -> tuple[Row, ...]:
    """Both ends, in the order they are seen from the front."""
    rows = tuple(
        Row(one.side, rounded(one.off_mm), rounded(one.base_mm), rounded(one.left_mm))
        for one in (plan.bass, plan.treble)
    )
    return rows[::-1] if spec.hand is Hand.LEFT else rows


def _limits(spec: SpecFacts) -> Limits:
    """How far the saddle may stand above the bridge: as a lead set it for this spec, or usual."""
    return Limits(
        *(measured.limit(spec, one) for one in (PROUD_LEAST, PROUD_LOW, PROUD_HIGH, PROUD_MOST))
    )
