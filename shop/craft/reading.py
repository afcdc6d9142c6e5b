"""A measured value, as the floor keeps it and the rules read it."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class Reading:
    """One value in force: what was measured, where, and how much.

    ``quantity`` is a key of ``craft.gauging.QUANTITIES`` and gives the unit; ``place`` names
    the spot ("6" for the hole of string 6, "tip" for the peghead). A choice is kept as a
    number too: 1 for the first answer, 0 for the other.
    """

    quantity: str
    place: str
    value: Decimal


@dataclass(frozen=True, slots=True)
class Readings:
    """The readings of one instrument that are in force, in the order they were taken."""

    values: tuple[Reading, ...] = ()

    def of(self, quantity: str) -> tuple[Reading, ...]:
        return tuple(one for one in self.values if one.quantity == quantity)

    def at(self, quantity: str, place: str) -> Decimal | None:
        for one in self.values:
            if one.quantity == quantity and one.place == place:
                return one.value
        return None

    def with_more(self, later: tuple[Reading, ...]) -> Readings:
        """These readings with later ones in the place of those they correct."""
        taken = {(one.quantity, one.place) for one in later}
        kept = tuple(one for one in self.values if (one.quantity, one.place) not in taken)
        return Readings(kept + later)
