"""The formulas of scale, neck, relief, saddle and bridge, and the examples beside them."""

from __future__ import annotations

import doctest
from types import ModuleType

import pytest

from shop.craft.formula import Formula
from shop.craft.set_up import compensation, figures, intonation, neck, relief, saddle, scale

MODULES = (scale, relief, saddle, neck, compensation, intonation)
FORMULAS = {
    one.key: one
    for module in MODULES
    for one in vars(module).values()
    if isinstance(one, Formula)
}  # fmt: skip

# Worked by hand with a scale of 645, but for the rule of 17.817 at 650.
WORKED = {
    "fret-place": "357.69",
    "fret-to-bridge": "287.31",
    "fret-rule": "325.002",
    "note-frequency": "82.41",
    "cents": "4.99",
    "from-cents": "441.27",
    "saddle-cents": "3.5",
    "saddle-move": "0.373",
    "relief-between": "0.225",
    "saddle-change": "1.20",
    "neck-angle": "0.67",
    "reset-wedge": "0.63",
    "wedge-at-board": "0.58",
    "scale-shortening": "0.042",
    "bridge-place": "648.8",
}


def test_every_formula_has_an_example_worked_by_hand_and_none_is_forgotten() -> None:
    assert {key: f"{one.example:.{one.places}f}" for key, one in FORMULAS.items()} == WORKED


@pytest.mark.parametrize("module", [figures, scale, relief, compensation, intonation])
def test_the_other_examples_of_a_module_hold(module: ModuleType) -> None:
    result = doctest.testmod(module)
    assert result.attempted > 0
    assert result.failed == 0
