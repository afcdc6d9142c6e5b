"""Where the bridge goes, and whether it may be cut for where it stands."""

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
from shop.craft.fit.bridge import OFF, SKEW
from shop.craft.hardware import Hand, SpecFacts
from shop.craft.head import at_nut
from shop.craft.set_up import compensation
from shop.craft.set_up.aims import Aims, Kind, aims
from shop.craft.set_up.compensation import BridgePlace
from shop.craft.set_up.figures import rounded
from shop.floor.board import State
from shop.people.gate import BadgeRequest, needs

# What a guitar can have; common practice, no source.
COMPENSATION: Final = (Decimal(0), Decimal(10))
SLANT: Final = (Decimal(-6), Decimal(6))
READING: Final = (Decimal(450), Decimal(750))


@dataclass(frozen=True, slots=True)
class Point:
    """Where one string leaves a straight saddle, and where it should begin: ``off`` is how far
    its point goes away from the nut, negative towards it. All in millimetres."""

    string: str
    beyond: Decimal
    straight: Decimal
    off: Decimal

    @property
    def by(self) -> Decimal:
        return abs(self.off)


@never_cache
@require_safe
@needs("tag.scan")
def bridge(request: BadgeRequest, code: str) -> HttpResponse:
    """What two readings from the nut say, and where each string's point begins."""
    now = topics.ground(request, code)
    aimed = aims(now.sheet.spec)
    sent = Sent(request)
    fields = _fields(sent, now, aimed)
    shown = topics.page(request, code, now, "bridge") | {
        "sent": sent,
        "fields": fields,
        "aims": aimed,
        "target": _target(fields, aimed),
        "place": _place(fields, aimed, now.sheet.spec),
        "points": _points(fields, aimed, now.sheet.spec),
        "facts": measured.facts(now, "bridge_place"),
        "measure": measured.asked_here(request, now, "bridge_place"),
    }
    return render(request, "bench/set_up/bridge.html", shown)


def _fields(sent: Sent, now: State, aimed: Aims) -> tuple[Typed, ...]:
    """Bass, treble, compensation, slant."""
    return (
        sent.length(
            "bass",
            "Nut to saddle line, bass side",
            measured.usual(now, "bridge_place", "bass"),
            *READING,
        ),
        sent.length(
            "treble",
            "Nut to saddle line, treble side",
            measured.usual(now, "bridge_place", "treble"),
            *READING,
        ),
        sent.length(
            "compensation",
            "Compensation at the middle of the saddle",
            Usual(aimed.compensation_mm, measured.SPEC),
            *COMPENSATION,
        ),
        sent.length(
            "slant",
            "Bass end of the saddle further back than its treble end",
            Usual(aimed.slant_mm, measured.SPEC),
            *SLANT,
        ),
    )


def _target(fields: tuple[Typed, ...], aimed: Aims) -> Decimal | None:
    """From the nut to the middle of the saddle."""
    middle = fields[2].value
    if middle is None:
        return None
    return rounded(compensation.bridge_place(float(aimed.scale_mm), float(middle)))


def _place(fields: tuple[Typed, ...], aimed: Aims, spec: SpecFacts) -> BridgePlace | None:
    """What the two readings say, once there are two. Both are read to the middle of the saddle
    square to the centre line, so the slant is not in them."""
    bass, treble, middle, _ = fields
    if bass.value is None or treble.value is None or middle.value is None:
        return None
    return compensation.judge(
        float(aimed.scale_mm),
        middle.number,
        bass.number,
        treble.number,
        limit_mm=measured.limit(spec, OFF),
        skew_mm=measured.limit(spec, SKEW),
    )


def _points(fields: tuple[Typed, ...], aimed: Aims, spec: SpecFacts) -> tuple[Point, ...]:
    """Every string, or pair, as it stands seen from the front."""
    _, _, middle, slant = fields
    if middle.value is None or slant.value is None:
        return ()
    strings = tuple(dict.fromkeys(one[0] for one in at_nut(spec)))
    from_bass = strings[::-1] if spec.hand is Hand.LEFT else strings
    line = compensation.straight(middle.number, slant.number, from_bass)
    begins = compensation.starting("nylon" if aimed.kind is Kind.NYLON else "steel")
    return tuple(
        Point(
            one,
            rounded(begins[one], 1),
            rounded(line[one], 1),
            rounded(begins[one], 1) - rounded(line[one], 1),
        )
        for one in strings
    )
