"""Fret heights as a measuring machine writes them. Files are invented."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.craft.set_up.frets import SAMPLE, FretReadings, Spot, read, written

unhurried = settings(deadline=None)  # a busy machine plans slowly, and rightly
HEAD = "heelcap fret heights,1\nunit,mm\n"
GOOD = f"{HEAD}frets,3\nlines,3\nfret,line,height\n1,1,1.10\n1,2,1.11\n3,3,1.09\n"


def problems(text: str) -> list[str]:
    found = read(text)
    assert found.readings is None
    return [f"Line {one.line}: {one.words}" if one.line else one.words for one in found.problems]


def heights(text: str) -> FretReadings:
    found = read(text)
    assert found.problems == ()
    assert found.readings is not None
    return found.readings


def test_a_file_gives_its_heights_and_leaves_open_what_was_not_read() -> None:
    readings = heights(GOOD)
    assert (readings.frets, len(readings.lines)) == (3, 3)
    assert readings.at(Spot(1, 2)) == Decimal("1.11")
    assert readings.at(Spot(3, 3)) == Decimal("1.09")
    assert len(readings.missing) == 6


@pytest.mark.parametrize(
    "text",
    [
        GOOD.replace(",", ";"),
        GOOD.replace(",", ";").replace(".", ","),
        GOOD.replace(",", "\t").replace(".", ","),
        GOOD.replace("1.10", '"1,10"'),
        GOOD.replace("\n", "\r\n"),
        "\ufeff" + GOOD,
        GOOD.replace("unit,mm", "# a note, with a comma\n\nprobe,2 mm ball\nUnit,MM"),
        GOOD.replace("height", "height_mm").replace("unit,mm\n", ""),
        GOOD + "2,2,\n2,3\n",
        GOOD.replace("fret,line,height\n", "Fret,Line,Height,,\n"),
    ],
)
def test_the_same_heights_are_read_however_they_are_written(text: str) -> None:
    assert heights(text) == heights(GOOD)


@pytest.mark.parametrize("minus", ["-", "\u2212"])
def test_a_height_below_its_reference_has_a_minus(minus: str) -> None:
    readings = heights(GOOD.replace("1.10", f"{minus}0.02"))
    assert readings.at(Spot(1, 1)) == Decimal("-0.02")
    assert heights(written(readings)) == readings


def test_inches_are_read_to_a_hundredth_of_a_millimetre() -> None:
    readings = heights(GOOD.replace("unit,mm", "unit,in").replace("1.10", "0.0433"))
    assert readings.at(Spot(1, 1)) == Decimal("1.10")


def test_without_how_many_there_are_the_last_that_were_read_count() -> None:
    text = GOOD.replace("frets,3\nlines,3\n", "").replace("3,3,1.09", "5,4,1.09")
    readings = heights(text)
    assert (readings.frets, len(readings.lines)) == (5, 4)


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("", "There is no line fret, line, height, with the heights below it."),
        (GOOD.replace("unit,mm\n", ""), "The unit is not said. Write a line: unit, mm."),
        (GOOD.replace("unit,mm", "unit,cm"), "Line 2: The unit cm is not known. Write mm or in."),
        (
            GOOD.replace(",height\n", ",height_in\n"),
            "Line 5: The heights are called height_in, the unit mm.",
        ),
        (
            GOOD.replace(",height\n", ",z\n"),
            "Line 5: This line has to name the columns: fret, line, height.",
        ),
        (
            GOOD.replace("1.11", "1.1x"),
            "Line 7: 1.1x is no height. Write it as 1.10 or 1,10.",
        ),
        (GOOD.replace("1.11", "--1"), "Line 7: --1 is no height. Write it as 1.10 or 1,10."),
        (
            GOOD.replace("1.11", "1,11"),
            "Line 7: 4 cells instead of 3. Part them by semicolons in every line.",
        ),
        (GOOD.replace("1,2,", "0,2,"), "Line 7: 0 is no fret. Write a number from 1 to 30."),
        (
            GOOD.replace("1,2,", "1,b,"),
            "Line 7: b is no line of the board. Write a number from 1 to 6.",
        ),
        (GOOD.replace("1,2,", ",2,"), "Line 7: Nothing is no fret. Write a number from 1 to 30."),
        (
            GOOD.replace("1,2,", "1,1,"),
            "Line 7: Fret 1 on line 1 stands in line 6 of the file already.",
        ),
        (GOOD.replace("3,3,", "4,3,"), "Line 8: Fret 4 on line 3, but this file has 3 frets."),
        (
            GOOD.replace("lines,3", "lines,2"),
            "Line 4: 2 is no number of lines. Write a number from 3 to 6.",
        ),
        (f"{HEAD}fret,line,height\n", "There is no height in this file."),
        (
            GOOD.replace("heights,1", "heights,2"),
            "Line 1: This is form 2 of the file; write form 1.",
        ),
        ("x" * 40_001, "This is no file of one fretboard: it is too long."),
    ],
)
def test_what_is_wrong_is_told_with_its_line(text: str, wanted: str) -> None:
    assert problems(text) == [wanted]


def test_one_wrong_height_keeps_the_whole_file_out_and_all_of_them_are_named() -> None:
    found = problems(GOOD.replace("1.10", "a").replace("1.09", "b"))
    assert [one.split(":")[0] for one in found] == ["Line 6", "Line 8"]


def test_many_problems_are_named_up_to_a_dozen() -> None:
    rows = "".join(f"{fret},1,?\n" for fret in range(1, 21))
    found = problems(f"{HEAD}fret,line,height\n{rows}")
    assert len(found) == 13
    assert found[-1] == "And 8 more like these."


cells = st.none() | st.integers(0, 999).map(lambda hundredths: Decimal(hundredths).scaleb(-2))
tables = st.tuples(st.integers(3, 6), st.integers(1, 12)).flatmap(
    lambda size: st.lists(cells, min_size=size[0] * size[1], max_size=size[0] * size[1]).map(
        lambda row: FretReadings(
            tuple(tuple(row[line * size[1] : (line + 1) * size[1]]) for line in range(size[0]))
        )
    )
)


@unhurried
@given(tables.filter(lambda one: len(one.missing) < one.frets * len(one.lines)))
def test_what_is_written_reads_back_the_same(readings: FretReadings) -> None:
    assert heights(written(readings)) == readings


@unhurried
@given(st.text(max_size=300) | st.text('fretlinhgum123456.,;\t\n"#-', max_size=300))
def test_no_text_is_without_an_answer(text: str) -> None:
    found = read(text)
    assert (found.readings is None) == bool(found.problems)


def test_the_sample_that_is_shown_is_a_file() -> None:
    found = read(SAMPLE)
    assert found.problems == ()
    assert found.readings
    assert found.readings.at(Spot(1, 2)) == Decimal("1.11")
