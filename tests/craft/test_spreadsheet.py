"""Cells that a spreadsheet takes as text."""

from __future__ import annotations

from datetime import date

import pytest

from shop.craft.spreadsheet import cells


@pytest.mark.parametrize("first", ["=", "+", "-", "@", "\t", "\0"])
def test_a_cell_that_would_be_run_begins_with_an_apostrophe(first: str) -> None:
    """The characters that OWASP ASVS 5.0 lists in requirement 1.2.10."""
    assert cells(f"{first}1+1") == [f"'{first}1+1"]


def test_a_formula_behind_a_carriage_return_is_text_as_well() -> None:
    """Common practice, no source."""
    assert cells("\r=1+1") == ["'\r=1+1"]


def test_other_cells_stay_as_they_are() -> None:
    """ISO dates, serials and numbers of the shop; all invented."""
    row = cells("Q-1043", 14, date(2031, 3, 4), "", "2 = 1+1")
    assert row == ["Q-1043", "14", "2031-03-04", "", "2 = 1+1"]
