"""The neck: relief and its rod, and whether the straightedge clears the bridge."""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from shop.bench.set_up import measured, topics
from shop.bench.set_up.typed import Sent, Typed, Usual
from shop.craft.set_up import neck as necks
from shop.craft.set_up import relief as reliefs
from shop.craft.set_up.aims import Aims, aims
from shop.craft.set_up.figures import rounded
from shop.craft.set_up.neck import Clearance, Heel, neck_angle
from shop.craft.set_up.relief import EIGHTHS, Advice, Turned, turns
from shop.craft.set_up.scale import fret_place, fret_to_bridge
from shop.floor.board import State
from shop.people.gate import BadgeRequest, needs

# What a guitar can have; common practice, no source.
RELIEF: Final = (Decimal(-1), Decimal(2))
WAITED: Final = (Decimal(0), Decimal(999))
TORQUE: Final = (Decimal(0), Decimal(20))
GAP: Final = (Decimal(-10), Decimal(10))
HEEL: Final = (Decimal(40), Decimal(140))
BOARD: Final = (Decimal(2), Decimal(12))
NOTHING: Final = Usual(None, "")
MOST: Final = 2 * EIGHTHS  # eighths either way that can be chosen

TURNED: Final = ("0", *(str(one) for one in range(-MOST, MOST + 1) if one))


@never_cache
@require_safe
@needs("tag.scan")
def neck(request: BadgeRequest, code: str) -> HttpResponse:
    """The next turn of the rod, and the wedge where the angle is wrong."""
    now = topics.ground(request, code)
    aimed = aims(now.sheet.spec)
    sent = Sent(request)
    of_relief, of_angle = _of_relief(sent, now, aimed), _of_angle(sent, aimed)
    turned = int(sent.one_of("turned", TURNED))
    shown = topics.page(request, code, now, "neck") | {
        "sent": sent,
        "of_relief": of_relief,
        "of_angle": of_angle,
        "turned": turned,
        "turns": tuple((one, turns(one), one > 0) for one in range(-MOST, MOST + 1) if one),
        "aims": aimed,
        "advice": _advice(of_relief, turned),
        "clearance": _clearance(of_angle, aimed),
        "angle": _angle(of_angle, aimed),
        "rod_caution": reliefs.CAUTION,
        "reset_caution": necks.CAUTION,
        "facts": measured.facts(now, "relief"),
        "measure": measured.asked_here(request, now, "relief"),
    }
    return render(request, "bench/set_up/neck.html", shown)


def _of_relief(sent: Sent, now: State, aimed: Aims) -> tuple[Typed, ...]:
    """Relief, under the other outer string, least, most; before the turns, waited, torque."""
    taken = now.readings.of("relief")
    usual = Usual(taken[0].value, measured.MEASURED) if taken else NOTHING
    least = Usual(aimed.relief_least_mm, measured.SPEC)
    most = Usual(aimed.relief_most_mm, measured.SPEC)
    return (
        sent.length("relief", "Relief at fret 7", usual, *RELIEF),
        sent.length("other", "Relief under the other outer string", NOTHING, *RELIEF),
        sent.length("least", "Least relief", least, *RELIEF),
        sent.length("most", "Most relief", most, *RELIEF),
        sent.length("before", "Relief before the turns", NOTHING, *RELIEF),
        sent.figure("waited", "Since the last turn", "min", NOTHING, *WAITED),
        sent.figure("torque", "The key took", "N\u202fm", NOTHING, *TORQUE),
    )


def _of_angle(sent: Sent, aimed: Aims) -> tuple[Typed, ...]:
    """Clearance, heel, board."""
    board = Usual(aimed.board_mm, measured.SPEC)
    return (
        sent.length("gap", "Straightedge above the bridge top", NOTHING, *GAP),
        sent.length("heel", "Depth of the heel from the fret tops", NOTHING, *HEEL),
        sent.length("board", "Thickness of the fingerboard", board, *BOARD),
    )


def _advice(fields: tuple[Typed, ...], turned: int) -> Advice | None:
    """What to do with the rod, once the relief and its range are known."""
    relief, other, least, most, before, waited, torque = fields
    if relief.value is None or least.value is None or most.value is None or _wrong(fields):
        return None
    low, high = sorted((least.number, most.number))
    start = None if before.value is None else before.number
    return reliefs.advise(
        relief.number,
        low,
        high,
        (Turned(turned, start, relief.number),) if turned else (),
        other_side_mm=None if other.value is None else other.number,
        waited_min=None if waited.value is None else waited.number,
        torque_nm=None if torque.value is None else torque.number,
    )


def _clearance(fields: tuple[Typed, ...], aimed: Aims) -> Clearance | None:
    gap, heel, board = fields
    if gap.value is None or _wrong(fields):
        return None
    beyond = fret_to_bridge(float(aimed.scale_mm), aimed.body_joint_fret)
    known = heel.value is not None and board.value is not None
    return necks.clearance(gap.number, Heel(heel.number, beyond, board.number) if known else None)


def _angle(fields: tuple[Typed, ...], aimed: Aims) -> Decimal | None:
    """The angle in degrees that this spec's bridge and board ask for, a straightedge over the
    frets clearing the bridge by the middle of what it may."""
    _, _, board = fields
    if board.value is None:
        return None
    scale = float(aimed.scale_mm)
    angle = neck_angle(
        float(aimed.bridge_height_mm),
        (necks.LEAST_MM + necks.MOST_MM) / 2,
        board.number,
        float(aimed.fret_height_mm),
        scale,
        float(aimed.compensation_mm),
        fret_place(scale, aimed.body_joint_fret),
    )
    return rounded(angle)


def _wrong(fields: tuple[Typed, ...]) -> bool:
    return any(one.problem for one in fields)
