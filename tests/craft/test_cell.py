"""What one cell of a list says. All values invented; common practice, no source."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft import cell
from shop.craft.spreadsheet import cells


@pytest.mark.parametrize(
    ("text", "value"),
    [("8.73", "8.73"), ("8,73", "8.73"), ("-0.02", "-0.02"), ("\u22121", "-1"), ("+3", "3")],
)
def test_a_number_is_read_with_comma_or_point(text: str, value: str) -> None:
    assert cell.exact(text) == Decimal(value)


def test_a_day_is_read_with_midnight_behind_it() -> None:
    for text in ("2031-03-04", "2031-03-04 00:00:00", "2031-03-04T00:00"):
        assert cell.day(text) == date(2031, 3, 4)


@pytest.mark.parametrize("text", ["yes", "TRUE", "True", "1"])
def test_yes_is_read_in_the_words_of_people_and_of_spreadsheets(text: str) -> None:
    assert cell.yes(text) is True


@pytest.mark.parametrize("text", ["no", "FALSE", "0"])
def test_no_is_read_in_the_words_of_people_and_of_spreadsheets(text: str) -> None:
    assert cell.yes(text) is False


@pytest.mark.parametrize(
    ("read", "text", "told"),
    [
        (cell.whole, "1,000", "1,000 is no whole number. Write it as 1200."),
        (cell.whole, "6.0", "6.0 is no whole number. Write it as 1200."),
        (cell.whole, "-3", "-3 is no whole number. Write it as 1200."),
        (cell.whole, "٣", "٣ is no whole number. Write it as 1200."),
        (cell.whole, "0", "0 cannot be: it lies between 1 and 1000000."),
        (cell.exact, "8.8 mm", "8.8 mm is no number. Write it as 8.73 or 8,73."),
        (cell.exact, "1.234,5", "1.234,5 is no number. Write it as 8.73 or 8,73."),
        (cell.exact, ".", ". is no number. Write it as 8.73 or 8,73."),
        (cell.exact, "NaN", "NaN is no number. Write it as 8.73 or 8,73."),
        (cell.day, "4.3.2031", "4.3.2031 is no date. Write it as 2031-03-04."),
        (cell.day, "2031-02-30", "2031-02-30 is no date. Write it as 2031-03-04."),
        (cell.day, "2031-03-04 09:30", "2031-03-04 09:30 is no date. Write it as 2031-03-04."),
        (cell.yes, "maybe", "maybe is neither yes nor no. Write yes or no."),
    ],
)
def test_what_cannot_be_read_says_what_it_says_and_what_to_write(
    read: Callable[[str], Any], text: str, told: str
) -> None:
    with pytest.raises(cell.NotSo) as why:
        read(text)
    assert str(why.value) == told


def test_words_longer_than_may_be_kept_say_how_long_they_are() -> None:
    assert cell.words("A" * 20, 20) == "A" * 20
    with pytest.raises(cell.NotSo, match=r"has 21 characters\. Say it in 20\."):
        cell.words("A" * 21, 20)


@given(st.text().map(lambda text: " ".join(text.split())))
def test_words_guarded_as_a_formula_come_back_as_they_were(text: str) -> None:
    """Any words with single spaces that do not begin with an apostrophe themselves."""
    if not text.startswith("'"):
        assert cell.bare(cells(text)[0]) == text


@given(st.text())
def test_any_cell_says_something_or_why_not(text: str) -> None:
    readers: list[Callable[[str], Any]] = [cell.whole, cell.exact, cell.day, cell.yes]
    for read in readers:
        said = "."
        try:
            read(text)
        except cell.NotSo as why:
            said = str(why)
        assert said.endswith(".")
