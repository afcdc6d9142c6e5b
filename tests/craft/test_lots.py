"""Which lot a kit is taken from. The rule itself is common practice, no source."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from shop.craft.hardware import Metal
from shop.craft.lots import LotFacts, Need, choose

FIRST = date(2031, 1, 7)
T, E, P = 1, 2, 3  # machines, strap buttons, pins


def lot(
    number: int, item: int, free: int, plating: str = "31-07A", after: int = 0, code: str = ""
) -> LotFacts:
    return LotFacts(number, item, code or plating, plating, FIRST + timedelta(days=after), free)


def ids(needs: Sequence[Need], lots: Sequence[LotFacts]) -> list[int | None]:
    return [one.id if one else None for one in choose(needs, lots).values()]


def test_the_oldest_lot_that_covers_is_taken() -> None:
    lots = [lot(3, P, 9, after=1), lot(1, P, 9), lot(2, P, 9, after=5)]
    assert ids([Need(P, 6)], lots) == [1]


def test_a_lot_that_covers_only_a_part_is_passed_over() -> None:
    assert ids([Need(P, 6)], [lot(1, P, 5), lot(2, P, 6, after=9)]) == [2]


def test_two_lots_never_make_one_need() -> None:
    assert ids([Need(P, 6)], [lot(1, P, 5), lot(2, P, 5)]) == [None]


def test_of_one_day_the_lot_booked_first_is_taken() -> None:
    assert ids([Need(P, 1)], [lot(2, P, 5), lot(1, P, 5)]) == [1]


def test_plated_parts_come_out_of_the_bath_that_has_them_all() -> None:
    lots = [
        lot(1, T, 1, "31-07A"),
        lot(2, T, 4, "31-09B", after=60),
        lot(3, E, 5, "31-09B", after=60),
    ]
    assert ids([Need(T, 1, Metal.GOLD), Need(E, 2, Metal.GOLD)], lots) == [2, 3]


def test_of_two_baths_that_have_them_all_the_older_is_taken() -> None:
    lots = [
        *(lot(10 + item, item, 9, "31-09B", after=60) for item in (T, E)),
        *(lot(item, item, 9, "31-07A") for item in (T, E)),
    ]
    assert ids([Need(T, 1, Metal.GOLD), Need(E, 2, Metal.GOLD)], lots) == [T, E]


def test_where_no_bath_has_them_all_each_part_still_gets_a_lot() -> None:
    lots = [lot(1, T, 1, "31-07A"), lot(2, E, 5, "31-09B", after=60)]
    assert ids([Need(T, 1, Metal.GOLD), Need(E, 2, Metal.GOLD)], lots) == [1, 2]


def test_parts_of_another_metal_do_not_ask_for_the_same_bath() -> None:
    lots = [lot(1, T, 1, "gold 1"), lot(2, E, 5, "nickel 1"), lot(3, E, 5, "gold 1", after=9)]
    assert ids([Need(T, 1, Metal.GOLD), Need(E, 2, Metal.NICKEL)], lots) == [1, 2]


def test_what_shows_no_metal_goes_by_age_alone() -> None:
    lots = [lot(1, P, 9, "x"), lot(2, P, 9, "y", after=1), lot(3, T, 9, "y")]
    assert ids([Need(T, 1, Metal.GOLD), Need(P, 6)], lots) == [3, 1]


LOTS = st.lists(
    st.tuples(
        st.sampled_from((T, E, P)), st.integers(0, 4), st.sampled_from("abc"), st.integers(0, 3)
    ),
    max_size=9,
).map(
    lambda rows: [lot(n, item, free, bath, day) for n, (item, free, bath, day) in enumerate(rows)]
)


@given(lots=LOTS, quantities=st.tuples(*[st.integers(1, 3)] * 3))
def test_no_other_choice_keeps_more_parts_in_one_bath(
    lots: list[LotFacts], quantities: tuple[int, int, int]
) -> None:
    """Held to every bath there is, counted out one by one."""
    needs = [Need(item, q, Metal.GOLD) for item, q in zip((T, E, P), quantities, strict=True)]
    chosen = choose(needs, lots)
    for need in needs:
        covers = [one for one in lots if one.item_id == need.item_id and one.free >= need.quantity]
        assert (chosen[need.item_id] is None) == (not covers)
        assert chosen[need.item_id] is None or chosen[need.item_id] in covers
    baths = {
        bath: sum(
            any(
                one.item_id == need.item_id and one.plating == bath and one.free >= need.quantity
                for one in lots
            )
            for need in needs
        )
        for bath in "abc"
    }
    taken = [one.plating for one in chosen.values() if one is not None]
    if taken:
        assert max(taken.count(bath) for bath in baths) == max(baths.values())


@given(lots=LOTS, quantity=st.integers(1, 3))
def test_the_order_the_lots_are_told_in_does_not_matter(
    lots: list[LotFacts], quantity: int
) -> None:
    needs = [Need(T, quantity, Metal.GOLD), Need(E, 1, Metal.GOLD), Need(P, 1)]
    assert choose(needs, lots) == choose(needs, lots[::-1])
