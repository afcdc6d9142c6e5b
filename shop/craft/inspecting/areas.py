"""The checklist of an inspection on one spec's guitar: area by area, one a screen.

What a spec does not have is not asked; what its facts do not tell (an inlay, a cutaway) may be
answered as not applicable. Numbers and titles are the trade's and stay the same on each spec.
"""

from __future__ import annotations

from dataclasses import dataclass

from shop.craft.hardware import SpecFacts
from shop.craft.inspecting.asked import Kind, Light, SeenBy
from shop.craft.inspecting.checklist import AREAS

__all__ = ["Area", "Item", "Light", "SeenBy", "areas_of"]


@dataclass(frozen=True, slots=True)
class Item:
    """One thing to look at. ``words`` say what is right; ``key`` stays the same on each spec
    and revision. Only where ``may_not_apply`` may it be answered as not applicable."""

    key: str
    words: str
    seen_by: SeenBy
    may_not_apply: bool = False


@dataclass(frozen=True, slots=True)
class Area:
    """One screen of the checklist. ``number`` is the trade's, 1 to 16, whether or not a spec
    has the areas before it; ``how`` says how to hold it and where to look."""

    number: int
    key: str
    title: str
    items: tuple[Item, ...]
    light: Light
    how: str


def areas_of(spec: SpecFacts) -> tuple[Area, ...]:
    """The areas of this spec with their items, in order of their numbers; an area of which a
    spec has nothing falls away."""
    found = (
        Area(number, one.key, one.title, _items(one, spec), one.light, one.how)
        for number, one in enumerate(AREAS, 1)
    )
    return tuple(area for area in found if area.items)


def _items(kind: Kind, spec: SpecFacts) -> tuple[Item, ...]:
    return tuple(
        Item(
            f"{kind.key}.{row.key}",
            row.words if isinstance(row.words, str) else row.words(spec),
            row.seen_by,
            row.may_not_apply(spec),
        )
        for row in kind.rows
        if row.only(spec)
    )
