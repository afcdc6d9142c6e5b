"""Between which values a reading is wanted, as its spec and its kind of guitar say."""

from __future__ import annotations

from dataclasses import dataclass

from shop.craft.fit.saddle import PROUD, PROUD_LEAST, PROUD_MOST
from shop.craft.gauging.setting import ACTION, OCTAVE_OFF, RELIEF
from shop.craft.hardware import SpecFacts
from shop.craft.set_up import intonation
from shop.craft.set_up.aims import ACTION_OFF_MM, aims


@dataclass(frozen=True, slots=True)
class Allowed:
    """The least and the most that is wanted, in the quantity's unit."""

    lower: float
    upper: float

    @property
    def has_room(self) -> bool:
        """Whether anything lies between them: nothing else can be judged by them."""
        return self.lower < self.upper


def allowed(quantity: str, place: str, spec: SpecFacts) -> Allowed | None:
    """What is wanted of a quantity at a place of a guitar of this spec; ``None`` where
    nothing is said, or where other measures decide, as with a hole and its bushing."""
    aim = aims(spec)
    if quantity == RELIEF:
        return Allowed(float(aim.relief_least_mm), float(aim.relief_most_mm))
    if quantity == ACTION:
        return _about(float(aim.action_mm(place)), float(ACTION_OFF_MM))
    if quantity == OCTAVE_OFF:
        return _about(0.0, intonation.ACCEPT_CENTS)
    if quantity == PROUD:
        return Allowed(float(PROUD_LEAST.value), float(PROUD_MOST.value))
    return None


def _about(wanted: float, off: float) -> Allowed:
    return Allowed(round(wanted - off, 3), round(wanted + off, 3))
