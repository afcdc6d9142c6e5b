"""The shortest walk past the bins, held to two others that know nothing of its method: the
ways between places to SciPy's shortest paths on the shelf drawn as a graph, the walk to every
order there is.

Shelves are made up. The length of the walk itself has a published method: H. D. Ratliff and
A. S. Rosenthal, Operations Research 31(3), 1983, pages 507 to 521.
"""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise, permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.sparse import coo_array
from scipy.sparse.csgraph import shortest_path

from shop.craft.aisles import TABLE, Place, Shelf, Way, distance, way

AISLES = 5
LENGTH = 8  # metres
SHELF = Shelf(Decimal(2), Decimal(LENGTH))


def at(aisle: int, along_m: str | int) -> Place:
    return Place(aisle, Decimal(along_m))


def named(places: list[Place]) -> dict[str, Place | None]:
    return {f"B-{number:02}": place for number, place in enumerate(places, 1)}


def walked(order: list[Place], shelf: Shelf) -> Decimal:
    """The length of the walk from the table past the places in this order, and back."""
    return sum(
        (distance(one, other, shelf) for one, other in pairwise([TABLE, *order, TABLE])), Decimal(0)
    )


def shortest_of_all(places: list[Place], shelf: Shelf) -> Decimal:
    return min(walked(list(order), shelf) for order in permutations(places))


whole = st.builds(Place, st.integers(1, AISLES), st.integers(0, LENGTH).map(Decimal))
tenths = st.builds(Place, st.integers(1, 4), st.decimals(0, LENGTH, places=1, allow_nan=False))
shelves = st.builds(
    Shelf,
    st.sampled_from([Decimal("0.5"), Decimal(2), Decimal(7)]),
    st.sampled_from([Decimal(LENGTH), Decimal("8.5"), Decimal(20)]),
)


# --- ways between two places ---


def paths(shelf: Shelf) -> np.ndarray:
    """Shortest paths between all the whole metres of the shelf, drawn as a graph."""
    per = LENGTH + 1
    edges: list[tuple[int, int, float]] = []
    for aisle in range(AISLES):
        edges += [(aisle * per + m, aisle * per + m + 1, 1.0) for m in range(LENGTH)]
        if aisle:
            edges += [
                ((aisle - 1) * per + end, aisle * per + end, float(shelf.gap_m))
                for end in (0, LENGTH)
            ]
    one, other, metres = zip(*edges, strict=True)
    graph = coo_array((metres, (one, other)), shape=(AISLES * per, AISLES * per))
    return np.asarray(shortest_path(graph.tocsr(), directed=False))


@pytest.mark.parametrize("gap", ["0.5", "2", "7"])
def test_the_way_between_any_two_places_is_the_shortest_path_on_the_graph(gap: str) -> None:
    """Source: scipy.sparse.csgraph.shortest_path."""
    shelf = Shelf(Decimal(gap), Decimal(LENGTH))
    found = paths(shelf)
    all_places = [at(aisle, m) for aisle in range(1, AISLES + 1) for m in range(LENGTH + 1)]
    for row, one in enumerate(all_places):
        for column, other in enumerate(all_places):
            assert float(distance(one, other, shelf)) == found[row, column]


# --- the walk ---


@settings(max_examples=150, deadline=None)
@given(st.lists(whole, min_size=1, max_size=6), shelves)
def test_no_order_of_a_few_bins_is_shorter(places: list[Place], shelf: Shelf) -> None:
    assert way(named(places), shelf).length_m == shortest_of_all(places, shelf)


@settings(max_examples=8, deadline=None)
@given(st.lists(tenths, min_size=7, max_size=8), shelves)
def test_no_order_of_eight_bins_is_shorter(places: list[Place], shelf: Shelf) -> None:
    assert way(named(places), shelf).length_m == shortest_of_all(places, shelf)


@settings(max_examples=200, deadline=None)
@given(st.lists(tenths, max_size=60), shelves)
def test_the_order_passes_each_bin_once_and_is_as_long_as_the_walk(
    places: list[Place], shelf: Shelf
) -> None:
    bins = named(places)
    found = way(bins, shelf)
    assert sorted(found.order) == sorted(bins)
    in_order = [place for code in found.order if (place := bins[code]) is not None]
    assert found.length_m == (walked(in_order, shelf) if places else 0)


def test_a_walk_by_hand() -> None:
    """Up aisle 1 past the bin at 7, over by the back, down aisle 2 and home: 8 + 2 + 8 + 2."""
    bins = {"A": at(1, 7), "B": at(2, 7), "C": at(2, 1)}
    found = way(bins, SHELF)
    assert found.length_m == 20
    assert found.order in {("A", "B", "C"), ("C", "B", "A")}


def test_bins_near_the_front_are_fetched_from_the_front() -> None:
    """Out to aisle 3 and back, 8, and 1 in and out again at each of them, 2 each."""
    bins = {code: at(aisle, 1) for aisle, code in enumerate("ABC", 1)}
    assert way(bins, SHELF).length_m == 8 + 3 * 2


def test_the_widest_gap_of_an_aisle_is_left_unwalked() -> None:
    """Aisles 1 and 3 are walked through; of the middle one only its two ends are."""
    bins = {
        "near": at(2, 1), "far": at(2, 7), **{f"1-{m}": at(1, m) for m in (3, 4, 5)},
        **{f"3-{m}": at(3, m) for m in (3, 4, 5)},
    }  # fmt: skip
    assert way(bins, SHELF).length_m == 2 * LENGTH + 2 * 4 + 2 * 1 + 2 * 1


def test_bins_at_one_place_are_passed_together_in_the_order_of_their_codes() -> None:
    bins = {"C": at(1, 5), "A": at(1, 5), "B": at(1, 2)}
    order = "".join(way(bins, SHELF).order)
    assert "AC" in order


def test_bins_without_a_place_come_last_by_their_codes() -> None:
    bins = {"Z-02": None, "B-01": at(3, 4), "Z-01": None, "A-01": at(1, 4)}
    assert way(bins, SHELF).order[-2:] == ("Z-01", "Z-02")
    assert way({"Z-02": None, "Z-01": None}, SHELF) == Way(("Z-01", "Z-02"), Decimal(0))


def test_no_bins_are_no_walk() -> None:
    assert way({}, SHELF) == Way((), Decimal(0))


def test_a_bin_at_the_table_is_no_way_at_all() -> None:
    assert way({"A": TABLE}, SHELF) == Way(("A",), Decimal(0))


@pytest.mark.parametrize("place", [at(0, 1), at(1, 9), at(1, "-0.1")])
def test_a_place_off_the_shelf_is_named(place: Place) -> None:
    with pytest.raises(ValueError, match=r"^A-01: aisle .* is not on this shelf\.$"):
        way({"A-01": place}, SHELF)
