"""What of an exchange the buyer sees. Common practice, no source; articles are made up."""

from __future__ import annotations

import doctest
from dataclasses import replace
from decimal import Decimal
from types import ModuleType

import pytest

from shop.craft import aisles, visible, weighing
from shop.craft.hardware import Article, Metal, Pins, Saddle, TunerSet
from shop.craft.words import THIN
from tests.craft.bench import ARTICLES

MACHINES = ARTICLES["T01"]
assert isinstance(MACHINES, TunerSet)
T01 = MACHINES
BONE = Pins(
    key="P01", name="bone pins", count=6, taper_deg=Decimal(3), collar_mm=Decimal("5.4"),
    slotted=True,
)  # fmt: skip
SADDLE = ARTICLES["S01"]
assert isinstance(SADDLE, Saddle)


@pytest.mark.parametrize(
    ("out", "into", "shows"),
    [
        (T01, replace(T01, key="T91"), ()),
        (T01, replace(T01, post_mm=Decimal("6.35")), ()),
        (T01, replace(T01, metal=Metal.GOLD), ("nickel becomes gold",)),
        (T01, replace(T01, metal=None), ("nickel becomes no metal",)),
        (T01, replace(T01, ratios=("15:1",)), ("the ratio 18:1 becomes 15:1",)),
        (
            T01,
            replace(T01, button_width_mm=Decimal(18)),
            (f"buttons of 15.5{THIN}mm become 18{THIN}mm wide",),
        ),
        (BONE, replace(BONE, key="P91"), ()),
        (BONE, replace(BONE, name="ebony pins"), ("bone pins become ebony pins",)),
        (BONE, replace(BONE, taper_deg=Decimal(5)), ("pins of 3° become pins of 5°",)),
        (SADDLE, replace(SADDLE, key="S91", height_mm=Decimal(12)), ()),
    ],
)
def test_what_shows_is_told_and_nothing_else(
    out: Article, into: Article, shows: tuple[str, ...]
) -> None:
    assert visible.changes(out, into) == shows


def test_several_things_that_show_are_each_told() -> None:
    into = replace(T01, metal=Metal.BLACK, ratios=("16:1",))
    assert visible.changes(T01, into) == ("nickel becomes black", "the ratio 18:1 becomes 16:1")


@pytest.mark.parametrize("module", [aisles, visible, weighing])
def test_the_examples_of_a_module_hold(module: ModuleType) -> None:
    result = doctest.testmod(module)
    assert result.attempted > 0
    assert result.failed == 0
