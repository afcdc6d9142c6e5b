"""The surface under all readings, against other ways of solving the same programme.

The others: every vertex tried in exact fractions, and sums of concave functions line by line
(``exact_frets``), which is no programme and knows no solver. Boards are invented.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import combinations, pairwise

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from shop.craft.set_up.frets.solving import APART_MM, Point, Straight, clean, highest, highest_each
from tests.craft import exact_frets

unhurried = settings(deadline=None)  # a busy machine plans slowly, and rightly
NEAR = 1e-9  # mm, a height: what the solver leaves by its tolerance

# A board on which the fret places are whole millimetres, so that fractions stay short.
places = st.lists(st.integers(20, 480), min_size=2, max_size=22, unique=True).map(sorted)
heights = st.integers(70, 150).map(lambda hundredths: hundredths / 100)


@st.composite
def lines(draw: st.DrawFn, most_frets: int = 22, most_lines: int = 6) -> list[list[Point]]:
    where = draw(places)[:most_frets]
    return [
        [(float(place), draw(heights)) for place in where]
        for _ in range(draw(st.integers(1, most_lines)))
    ]


def total(found: Sequence[Straight | None], board: Sequence[Sequence[Point]]) -> float:
    return sum(
        one.height_mm(place)
        for one, line in zip(found, board, strict=True)
        if one is not None
        for place, _ in line
    )


def by_fractions(line: Sequence[tuple[Fraction, Fraction]]) -> Fraction:
    """The greatest sum of targets on one line: every straight through two of its points that
    stays under all of them is tried."""
    best = None
    for (x0, h0), (x1, h1) in combinations(line, 2):
        rise = (h1 - h0) / (x1 - x0)
        at_nut = h0 - rise * x0
        if all(at_nut + rise * x <= h for x, h in line):
            told = sum((at_nut + rise * x for x, _ in line), Fraction(0))
            best = told if best is None else max(best, told)
    assert best is not None
    return best


def solved(rows: list[list[Fraction]], to: list[Fraction]) -> list[Fraction] | None:
    """Gauss's way through a small system of equations; nothing where it has no one answer."""
    table = [[*row, value] for row, value in zip(rows, to, strict=True)]
    size = len(table)
    for column in range(size):
        pivot = next((row for row in range(column, size) if table[row][column]), None)
        if pivot is None:
            return None
        table[column], table[pivot] = table[pivot], table[column]
        table[column] = [one / table[column][column] for one in table[column]]
        for row in range(size):
            if row != column and (factor := table[row][column]):
                table[row] = [
                    mine - factor * other
                    for mine, other in zip(table[row], table[column], strict=True)
                ]
    return [row[-1] for row in table]


def by_vertices(board: Sequence[Sequence[tuple[Fraction, Fraction]]], apart: Fraction) -> Fraction:
    """The greatest sum of targets over all lines: every corner of what is allowed is tried."""
    width = 2 * len(board)
    rows: list[list[Fraction]] = []
    most: list[Fraction] = []
    cost = [Fraction(0)] * width
    for one, line in enumerate(board):
        cost[2 * one] = Fraction(len(line))
        cost[2 * one + 1] = sum((x for x, _ in line), Fraction(0))
        for x, h in line:
            row = [Fraction(0)] * width
            row[2 * one], row[2 * one + 1] = Fraction(1), x
            rows.append(row)
            most.append(h)
    for one in range(len(board) - 1):
        for sign in (1, -1):
            row = [Fraction(0)] * width
            row[2 * one], row[2 * one + 2] = Fraction(sign), Fraction(-sign)
            rows.append(row)
            most.append(apart)
    best = None
    for chosen in combinations(range(len(rows)), width):
        corner = solved([rows[one] for one in chosen], [most[one] for one in chosen])
        if corner is None:
            continue
        inside = all(
            sum((a * b for a, b in zip(row, corner, strict=True)), Fraction(0)) <= limit
            for row, limit in zip(rows, most, strict=True)
        )
        if inside:
            told = sum((a * b for a, b in zip(cost, corner, strict=True)), Fraction(0))
            best = told if best is None else max(best, told)
    assert best is not None
    return best


def exact(line: Sequence[Point]) -> list[tuple[Fraction, Fraction]]:
    return [(Fraction(round(x)), Fraction(round(h * 100), 100)) for x, h in line]


@unhurried
@given(lines(most_lines=1))
def test_one_line_reaches_what_the_best_of_all_straights_in_exact_fractions_reaches(
    board: list[list[Point]],
) -> None:
    wanted = by_fractions(exact(board[0]))
    assert total(highest(board), board) == pytest.approx(float(wanted), abs=1e-9)


@pytest.mark.parametrize(
    "apart", [Fraction(0), Fraction(1, 50), Fraction(1, 2)], ids=["none", "0.02", "0.5"]
)
@pytest.mark.parametrize(
    "board",
    [
        [[110, 104, 109], [118, 112, 111]],
        [[110, 104, 109, 120], [90, 130, 90, 101]],
        [[100, 100, 100], [100, 100, 100]],
        [[140, 90, 80], [80, 90, 140]],
        [[95, 131, 77, 103], [77, 131, 95, 88]],
    ],
)
def test_two_lines_reach_what_the_best_of_all_corners_in_exact_fractions_reaches(
    board: list[list[int]], apart: Fraction
) -> None:
    where = (37, 181, 322, 440)
    points = [[(float(x), h / 100) for x, h in zip(where, line, strict=False)] for line in board]
    wanted = by_vertices([exact(line) for line in points], apart)
    assert total(highest(points, float(apart)), points) == pytest.approx(float(wanted), abs=1e-9)


@unhurried
@given(lines(), st.sampled_from([0.0, APART_MM, 0.5]))
def test_all_lines_together_reach_what_another_method_reaches(
    board: list[list[Point]], apart_mm: float
) -> None:
    wanted = total(exact_frets.highest(board, apart_mm), board)
    count = len(board) * len(board[0])
    assert total(highest(board, apart_mm), board) == pytest.approx(wanted, abs=NEAR * count)


@unhurried
@given(boards=st.lists(lines(most_frets=12, most_lines=4), max_size=4))
def test_boards_solved_together_reach_what_each_reaches_alone(
    boards: list[list[list[Point]]],
) -> None:
    found = highest_each(boards)
    assert len(found) == len(boards)
    for board, one in zip(boards, found, strict=True):
        count = len(board) * len(board[0])
        assert total(one, board) == pytest.approx(total(highest(board), board), abs=NEAR * count)


@unhurried
@given(lines())
def test_the_surface_stays_under_every_reading_and_true_across(board: list[list[Point]]) -> None:
    found = [one for one in highest(board) if one is not None]
    for one, line in zip(found, board, strict=True):
        assert all(one.height_mm(place) <= height + 1e-9 for place, height in line)
    for one, other in pairwise(found):
        assert abs(one.at_nut_mm - other.at_nut_mm) <= APART_MM + 1e-9


@unhurried
@given(lines())
def test_a_board_read_from_the_other_edge_has_the_same_surface_from_the_other_edge(
    board: list[list[Point]],
) -> None:
    assert highest(board[::-1]) == highest(board)[::-1]


@unhurried
@given(lines(most_lines=3), st.booleans())
def test_a_board_that_is_its_own_mirror_image_has_a_surface_that_is(
    half: list[list[Point]], middle: bool
) -> None:
    board = [*half, *half[::-1][middle:]]
    found = highest(board)
    assert found == found[::-1]
    wanted = total(exact_frets.highest(board), board)
    count = len(board) * len(board[0])
    assert total(found, board) == pytest.approx(wanted, abs=NEAR * count)


def test_where_many_surfaces_are_best_a_board_that_is_its_own_image_gets_one_that_is_too() -> None:
    """The lowest fret lies in the middle of the three: about it a straight turns for nothing."""
    bent = [(100.0, 1.2), (200.0, 1.0), (300.0, 1.2)]
    found = highest([bent, bent])
    assert found == found[::-1]
    assert total(found, [bent, bent]) == pytest.approx(6.0)


@pytest.mark.parametrize(
    ("value", "wanted"), [(0.12499999999, 0.125), (1.16 - 1.035, 0.125), (-1e-11, 0.0)]
)
def test_noise_of_the_solver_does_not_come_into_a_figure(value: float, wanted: float) -> None:
    assert clean(value) == wanted


@unhurried
@given(lines(), st.data())
def test_a_higher_reading_never_lets_the_sum_of_the_targets_fall(
    board: list[list[Point]], data: st.DataObject
) -> None:
    line = data.draw(st.integers(0, len(board) - 1))
    fret = data.draw(st.integers(0, len(board[line]) - 1))
    more = data.draw(st.integers(1, 40)) / 100
    raised = [list(one) for one in board]
    place, height = raised[line][fret]
    raised[line][fret] = (place, height + more)
    assert total(highest(raised), raised) >= total(highest(board), board) - 1e-9


@unhurried
@given(lines(), st.integers(-20, 20), st.integers(-20, 20))
def test_a_board_held_higher_or_tilted_has_its_surface_higher_or_tilted_with_it(
    board: list[list[Point]], up: int, tilt: int
) -> None:
    higher, steeper = up / 100, tilt / 100_000
    moved = [[(x, h + higher + steeper * x) for x, h in line] for line in board]
    wanted = total(highest(board), board)
    wanted += sum(higher + steeper * x for line in board for x, _ in line)
    assert total(highest(moved), moved) == pytest.approx(wanted, abs=1e-8)


@unhurried
@given(lines(most_lines=5), st.data())
def test_a_line_that_was_not_read_bounds_nothing_but_holds_its_neighbours_within_twice_the_step(
    board: list[list[Point]], data: st.DataObject
) -> None:
    assume(len(board) > 1)
    gap = data.draw(st.integers(1, len(board) - 1))
    found = highest([*board[:gap], [], *board[gap:]])
    assert found[gap] is None
    before, after = found[gap - 1], found[gap + 1]
    assert before is not None
    assert after is not None
    assert abs(before.at_nut_mm - after.at_nut_mm) <= 2 * APART_MM + 1e-9
    read = [one for one in found if one is not None]
    assert total(read, board) >= total(highest(board), board) - 1e-9


@pytest.mark.parametrize("board", [[[]], [[(36.2, 1.1)]], [[], [(36.2, 1.1)], []]])
def test_fewer_than_two_points_on_every_line_have_no_surface(board: list[list[Point]]) -> None:
    assert highest(board) == (None,) * len(board)


def test_lines_of_which_one_lies_much_higher_come_as_far_apart_at_the_nut_as_they_may() -> None:
    where = (100.0, 200.0, 300.0)
    low, high = highest([[(x, 1.0) for x in where], [(x, 1.1) for x in where]])
    assert low is not None
    assert high is not None
    assert high.at_nut_mm - low.at_nut_mm == pytest.approx(APART_MM)
