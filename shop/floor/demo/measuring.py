"""What is measured and looked at in the demo workshop, where all is as it should be."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Any, Final

from shop.catalogue.book import StopSheet
from shop.craft import gauging, looks
from shop.craft.gauging import Spot
from shop.craft.gauging.setting import ACTION, RELIEF
from shop.craft.hardware import Strings, TunerSet
from shop.craft.head import posts
from shop.craft.inspecting.areas import areas_of
from shop.craft.inspecting.progress import Answer
from shop.craft.set_up.aims import aims
from shop.craft.size import plain
from shop.floor.door import AreaLooked
from shop.floor.state import State

# As a careful bench has them; common practice, no source. 1 is the first of two answers.
USUAL: Final = {
    "worm": "1",
    "turns": "5",
    "torque": "1.2",
    "pilot": "1.4",
    "proud": "3.2",
    "first_fret": "0.4",  # clear enough for a wound string, low enough for a plain one
    "strap": "12",
    "insulated": "1",
}
MOVED_MM: Final = {ACTION: Decimal("0.06"), RELIEF: Decimal("0.04")}
"""In four days in the case: common practice, no source."""
SLOT_ROOM_MM: Final = Decimal("0.10")  # a nut slot is wider than its string by this
FEELER_MM: Final = Decimal("0.01")  # no feeler tells less
COLLAR_MM: Final = Decimal(1)  # the pilot hole is shallower than the screw is long by this


def readings(now: State, stop: StopSheet) -> dict[Spot, str]:
    """Everything an operation measures on this instrument, each value as it is typed."""
    return {
        (quantity.key, place.key): _moved(now, stop, quantity, _value(now, quantity, place.key))
        for quantity, places in gauging.asked(now.sheet.spec, stop.facts.gauges)
        for place in places
    }


def looked_at(now: State, stop: StopSheet) -> Iterator[AreaLooked]:
    """Every area of a look, all of it as it should be."""
    for area in areas_of(now.sheet.spec):
        yield AreaLooked(
            now.id, stop.code, area.number, {one.key: Answer.OK.value for one in area.items}
        )


def marks(now: State) -> dict[str, str]:
    """The mark on each machine by the key of its post; none where they are all alike."""
    if not _part(now, TunerSet).marked:
        return {}
    return {post.key: post.mark for post in posts(now.sheet.spec)}


def _value(now: State, quantity: gauging.Quantity, place: str) -> str:
    spec = now.sheet.spec
    if quantity.key == ACTION:
        return plain(aims(spec).action_mm(place))
    expected = quantity.expected(spec)
    if expected is not None:
        return plain(expected)
    if quantity.key == "octave":
        return "1" if spec.octave_on_bass_side else "0"
    if quantity.key == "nut_slot":
        width = dict(_part(now, Strings).gauges)[place] + SLOT_ROOM_MM
        return plain(width.quantize(FEELER_MM))
    if quantity.key == "collar":
        return plain(_part(now, TunerSet).screw_length_mm - COLLAR_MM)
    return USUAL[quantity.key]


def _moved(now: State, stop: StopSheet, quantity: gauging.Quantity, value: str) -> str:
    """A value as this operation reads it: at a second look it has moved as is usual."""
    second = stop.code in {other.code for _first, other in looks.pairs(now.sheet.route)}
    if not second or quantity.key not in MOVED_MM:
        return value
    return plain(Decimal(value) + MOVED_MM[quantity.key])


def _part(now: State, kind: type[Any]) -> Any:
    return next(line.article for line in now.kit if isinstance(line.article, kind))
