"""What was gauged on the guitar in hand, and until then what its spec says."""

from __future__ import annotations

from dataclasses import dataclass

from shop.craft.fit.rule import Case
from shop.craft.size import Size, exactly
from shop.craft.words import listed


@dataclass(frozen=True, slots=True)
class Gauged:
    """A size to judge, with the places it was gauged at; none before it is gauged."""

    size: Size
    places: tuple[str, ...] = ()

    @property
    def at(self) -> str:
        """The places for the middle of a sentence: " at the bass and middle"."""
        return f" at the {listed(self.places)}" if self.places else ""

    def side(self, what: str) -> tuple[str, str]:
        """This size as one side of a basis."""
        name = f"{what} gauged{self.at}" if self.places else f"{what} by the spec"
        return name, f"{self.size} mm"


def sizes(case: Case, quantity: str, dimension: str) -> tuple[Gauged, ...]:
    """The sizes to judge, smallest first, equal ones together: those gauged, or the spec's
    own dimension between its limits. Empty where the spec has no such dimension either."""
    found: dict[Size, list[str]] = {}
    for one in case.call.readings.of(quantity):
        found.setdefault(exactly(one.value), []).append(one.place)
    if found:
        ordered = sorted(found.items(), key=lambda each: each[0].least)
        return tuple(Gauged(size, tuple(places)) for size, places in ordered)
    if getattr(case.spec, dimension) is None:
        return ()
    return (Gauged(case.spec.size(dimension)),)
