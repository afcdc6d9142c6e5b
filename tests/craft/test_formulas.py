"""Every formula stands for itself: symbols, source, and an example that can be followed."""

from __future__ import annotations

import doctest
import inspect
import math
from types import ModuleType
from typing import Any

import pytest

from shop.craft import formulas
from shop.craft.formula import Formula

MODULES = [module for _, modules in formulas.FAMILIES for module in modules]
EVERY = [one for _, those in formulas.families() for one in those]


def test_there_are_formulas_of_every_family() -> None:
    assert len(EVERY) > 40
    assert all(those for _, those in formulas.families())


def test_no_two_formulas_have_one_address() -> None:
    keys = [one.key for one in EVERY]
    assert len(keys) == len(set(keys))


@pytest.mark.parametrize("one", EVERY, ids=[one.key for one in EVERY])
def test_a_formula_names_every_argument_and_its_result_with_a_unit(one: Formula[Any]) -> None:
    arguments = set(inspect.signature(one.reckon).parameters)
    assert {symbol.argument for symbol in one.symbols} == arguments | {""}
    assert set(one.given) == arguments
    assert all(symbol.sign and symbol.words for symbol in one.symbols)


@pytest.mark.parametrize("one", EVERY, ids=[one.key for one in EVERY])
def test_each_symbol_of_a_formula_stands_in_it_as_written(one: Formula[Any]) -> None:
    assert all(symbol.sign in one.written for symbol in one.symbols)


@pytest.mark.parametrize("one", EVERY, ids=[one.key for one in EVERY])
def test_a_worked_example_has_a_result_that_is_a_number(one: Formula[Any]) -> None:
    assert math.isfinite(one.example)
    assert one(**one.given) == one.example


@pytest.mark.parametrize("one", EVERY, ids=[one.key for one in EVERY])
def test_a_formula_says_where_it_comes_from(one: Formula[Any]) -> None:
    assert len(one.source) > 10


@pytest.mark.parametrize("one", EVERY, ids=[one.key for one in EVERY])
def test_a_formula_has_an_example_in_its_docstring_that_holds(one: Formula[Any]) -> None:
    module = inspect.getmodule(one.reckon)
    assert isinstance(module, ModuleType)
    found = doctest.DocTestFinder().find(one.reckon, globs=vars(module))
    tried = [doctest.DocTestRunner().run(test) for test in found if test.examples]
    assert tried
    assert not any(result.failed for result in tried)
