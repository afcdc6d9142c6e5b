"""A measured value, as the floor keeps it and the rules read it."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class Reading:
    """One value in force: what was measured, where, and how much.

    ``quantity`` is a key of ``craft.gauging.QUANTITIES`` and gives the unit; ``place`` names
    the spot ("6" for the hole of string 6, "tip" for the peghead). A choice is kept as a
    number too: 1 for the first answer, 0 for the other. ``operation`` is the one it answers:
    what two operations measure is measured at each. It is "" for a value taken before that
    was kept, which answers every operation.
    """

    quantity: str
    place: str
    value: Decimal
    operation: str = ""

    def answers(self, operation: str) -> bool:
        """Whether it is what this operation asks to be measured, and not an earlier one."""
        return self.operation in ("", operation)

    def row(self) -> list[str]:
        """It as the floor keeps it."""
        return [self.quantity, self.place, str(self.value), self.operation]

    @classmethod
    def of_row(cls, row: Sequence[str]) -> Reading:
        """A reading as the floor kept it; older rows do not say which operation it answers.

        >>> Reading.of_row(["proud", "bass", "3.2"]).answers("U30")
        True
        """
        quantity, place, value, *operation = row
        return cls(quantity, place, Decimal(value), *operation)


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

    def standing_for(self, asks: Sequence[tuple[str, Collection[str]]]) -> tuple[Reading, ...]:
        """Those that answer one of these operations, each given with the quantities it asks
        for. One that does not say which it answers stands for all that ask for it."""
        codes = {operation for operation, _ in asks}
        quantities = {one for _, asked in asks for one in asked}
        return tuple(
            one
            for one in self.values
            if (one.operation in codes if one.operation else one.quantity in quantities)
        )
