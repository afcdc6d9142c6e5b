"""What a look measures: its values against what is wanted, and beside those of the first look.

The second look is told what the first one read only where it has measured itself.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from functools import cached_property
from typing import Final, Literal

from shop.craft import gauging, looks
from shop.craft.charts.allowed import Allowed, allowed
from shop.craft.finding import Finding
from shop.craft.fit.saddle import PROUD
from shop.craft.gauging import Place, Quantity, Spot
from shop.craft.gauging.setting import ACTION, RELIEF
from shop.craft.inspecting.moving import USUAL, Verdict, judged
from shop.craft.set_up.aims import aims
from shop.craft.set_up.figures import judged as rounded
from shop.floor.measured import moves_by_place
from shop.floor.models import Reading
from shop.floor.state import State

SIDES: Final[dict[str, Literal["bass", "treble"]]] = {"bass": "bass", "treble": "treble"}


@dataclass(frozen=True, slots=True)
class LookValue:
    """One place that a look measures. ``value`` is what it read, ``None`` until then; ``wanted``
    between which values it should lie, where anything says so. ``first`` is what the first look
    read, at the second one and only once that has measured here; ``verdict`` judges what it
    moved since, where such a move is judged at all."""

    quantity: Quantity
    place: Place
    wanted: Allowed | None
    value: Decimal | None = None
    by: str = ""
    at: datetime | None = None
    first: Decimal | None = None
    verdict: Verdict | None = None

    @property
    def inside(self) -> bool | None:
        """Whether it lies as wanted, ``None`` where that cannot be told."""
        if self.value is None or self.wanted is None:
            return None
        return self.wanted.lower <= rounded(float(self.value)) <= self.wanted.upper


def look_values(now: State, operation: str, kept: Collection[Spot] = ()) -> tuple[LookValue, ...]:
    """Every place that a look measures, in the order of its gaugings. ``kept`` are the spots at
    which the first look's values are kept back from whoever asks (``history.values_kept``): at
    none of them is anything told of what that one read."""
    stop = now.sheet.stop(operation)
    if stop is None:
        return ()
    pairs = looks.pairs(now.sheet.route)
    before = next((one.code for one, other in pairs if other.code == operation), "")
    is_first = any(one.code == operation for one, _other in pairs)
    read = _read(now, stop.facts.gauges)
    last = _Last(now, stop.facts.gauges)
    found = []
    for quantity, places in gauging.asked(now.sheet.spec, stop.facts.gauges):
        for place in places:
            spot = (quantity.key, place.key)
            earlier = read.get((*spot, before)) if before and spot not in kept else None
            own = None if is_first and spot in kept else read.get((*spot, operation))
            found.append(_value(now, operation, quantity, place, own, earlier, last))
    return tuple(found)


def moves(now: State, operation: str, eyes: Collection[str]) -> tuple[Finding, ...]:
    """What the moves since the first look say against recording the second one: those that are
    not usual, by all it measured. ``eyes`` are the badges of whoever asks: how far a value moved
    is told to who read it, since it tells what the first look read. Two statements at most,
    none where the operation is no second look or measures nothing."""
    seconds = {other.code for _one, other in looks.pairs(now.sheet.route)}
    if operation not in seconds:
        return ()
    return tuple(
        one.verdict.finding if one.by in eyes else _untold(one)
        for one in look_values(now, operation)
        if one.verdict and one.verdict.kind != "usual"
    )


def _untold(one: LookValue) -> Finding:
    assert one.verdict is not None  # asked before
    where = f"{one.quantity.words}, {one.place.words}" if one.place.words else one.quantity.words
    words = (
        f"{where}: it is outside what is allowed since the first look."
        if one.verdict.kind == "stop"
        else f"{where}: it moved otherwise than usual since the first look."
    )
    then = f"{one.by} read it and is told by how much. Or measure it yourself."
    return replace(one.verdict.finding, words=words, then=then, call="")


class _Last:
    """What the last instruments of its spec moved, read when it is first asked for."""

    def __init__(self, now: State, quantities: Collection[str]) -> None:
        self.now, self.quantities = now, [one for one in quantities if one in USUAL]

    @cached_property
    def moves(self) -> Mapping[Spot, tuple[float, ...]]:
        spec = self.now.sheet.spec.key
        return moves_by_place(spec, self.quantities, but=self.now.id)


_Read = tuple[Decimal, str, datetime, int]


def _read(now: State, quantities: Collection[str]) -> dict[tuple[str, str, str], _Read]:
    """The latest value of each operation at each spot."""
    rows = Reading.objects.filter(instrument_id=now.id, quantity__in=quantities).order_by("id")
    columns = ("quantity", "place", "operation", "value", "by__code", "at", "id")
    return {
        (quantity, place, operation): (value, by, at, number)
        for quantity, place, operation, value, by, at, number in rows.values_list(*columns)
    }


def _value(
    now: State,
    operation: str,
    quantity: Quantity,
    place: Place,
    own: _Read | None,
    first: _Read | None,
    last: _Last,
) -> LookValue:
    wanted = allowed(quantity.key, place.key, now.sheet.spec)
    if own is None or not _in_force(now, (quantity.key, place.key), operation):
        return LookValue(quantity, place, wanted)
    value, by, at, _number = own
    if first is None:
        return LookValue(quantity, place, wanted, value, by, at)
    verdict = _verdict(now, quantity, place, wanted, first[0], value, last)
    return LookValue(quantity, place, wanted, value, by, at, first[0], verdict)


def _in_force(now: State, spot: Spot, operation: str) -> bool:
    """Whether what was measured last at a spot answers this operation: after a repair the first
    look measures anew, and what an earlier second one read is no answer any more."""
    there = (one for one in now.readings.values if (one.quantity, one.place) == spot)
    return any(one.answers(operation) for one in there)


def _verdict(
    now: State,
    quantity: Quantity,
    place: Place,
    wanted: Allowed | None,
    first: Decimal,
    second: Decimal,
    last: _Last,
) -> Verdict | None:
    key, spec = quantity.key, now.sheet.spec
    if key not in USUAL:
        return None
    aim = aims(spec)
    aimed: Decimal | None = None
    if key == ACTION:
        aimed = aim.action_mm(place.key)
    elif key == RELIEF:
        aimed = aim.relief_mm
    proud = now.readings.at(PROUD, place.key)
    return judged(
        key,
        float(first),
        float(second),
        aim=None if aimed is None else float(aimed),
        limits=wanted,
        last=last.moves.get((key, place.key), ()),
        proud_mm=None if proud is None else float(proud),
        side=SIDES.get(place.key, ""),
    )
