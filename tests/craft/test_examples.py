"""The examples in the docstrings."""

from __future__ import annotations

import doctest
from types import ModuleType

import pytest

from shop.craft import code, hosts, record, spreadsheet, when, words
from shop.craft.inspecting import classes, disposing, moving, routing


@pytest.mark.parametrize(
    "module",
    [
        code, hosts, record, spreadsheet, when, words,
        classes, disposing, moving, routing,
    ],
)  # fmt: skip
def test_the_examples_of_a_module_hold(module: ModuleType) -> None:
    result = doctest.testmod(module)
    assert result.attempted > 0
    assert result.failed == 0
