"""Every formula of the shop, by what it is of: what stands on the pages of formulas."""

from __future__ import annotations

from collections.abc import Iterator
from types import ModuleType
from typing import Any, Final

from shop.craft.charts import (
    attributes,
    capability,
    constants,
    drift,
    individuals,
    runs,
    spread,
)
from shop.craft.formula import Formula
from shop.craft.inspecting import finding_twice
from shop.craft.measuring import study, uncertainty
from shop.craft.quality import agreement, little, yields
from shop.craft.rack import looking
from shop.craft.set_up import (
    compensation,
    heights,
    neck,
    nut,
    relief,
    saddle,
    scale,
    slot_depth,
    strings,
)
from shop.craft.set_up.frets import judging, targets
from shop.craft.wood import moisture, movement, species

FAMILIES: Final[tuple[tuple[str, tuple[ModuleType, ...]], ...]] = (
    ("Scale and bridge", (scale, compensation)),
    ("Frets", (targets, judging)),
    ("Neck", (relief, neck)),
    ("Saddle", (saddle,)),
    ("Nut", (nut, slot_depth)),
    ("Buzz", (heights,)),
    ("Strings", (strings,)),
    ("Charts", (spread, individuals, runs, constants, capability, drift, attributes)),
    ("Measuring", (study, uncertainty)),
    ("Inspecting", (finding_twice,)),
    ("Quality", (yields, agreement, little)),
    ("Hold rack", (looking,)),
    ("Wood", (moisture, species, movement)),
)
"""A family's words, and the files in which its formulas are declared."""


def of(module: ModuleType) -> tuple[Formula[Any], ...]:
    """The formulas that are declared in a file, in their order there."""
    here = module.__name__
    found = (one for one in vars(module).values() if isinstance(one, Formula))
    return tuple(one for one in found if one.reckon.__module__ == here)


def families() -> Iterator[tuple[str, tuple[Formula[Any], ...]]]:
    """Each family with its formulas."""
    for words, modules in FAMILIES:
        yield words, tuple(one for module in modules for one in of(module))


def find(key: str) -> Formula[Any] | None:
    """The formula of a page's address."""
    every = (one for _, formulas in families() for one in formulas)
    return next((one for one in every if one.key == key), None)
