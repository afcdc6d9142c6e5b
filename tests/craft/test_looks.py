"""What the second of two looks is not to see of the first, until it has said something itself.

Two independent looks, the second without the first one's list: common practice, no source.
Routes, badges and rows are invented.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest

from shop.craft import looks
from shop.craft.looks import Entered, Look
from shop.craft.route import Done, OperationFacts, Precedence, Route
from shop.craft.start import Asking, Person

MONDAY = datetime(2031, 3, 3, 9, 30, tzinfo=UTC)


def operation(code: str, station: str, *, proves: bool = False) -> OperationFacts:
    return OperationFacts(
        code, "work", station, "", irreversible=False, touch_min=Decimal(5),
        station_code=station, proves=proves,
    )  # fmt: skip


ROUTE = Route(
    "two looks",
    (
        operation("A30", "A"),
        operation("I10", "I", proves=True),
        operation("I20", "H"),
        operation("I30", "R"),
        operation("I50", "R", proves=True),
    ),
    (
        Precedence("A30", "I10", other_person=True, apart_days=7),
        Precedence("I10", "I20"),
        Precedence("I20", "I30", wait=timedelta(hours=96), clock="hold"),
        Precedence("A30", "I30", other_person=True, apart_days=7),
        Precedence("I10", "I30", other_person=True),
        Precedence("I30", "I50"),
    ),
)
FIRST = 20  # the row of the journal that recorded I10


def done(*codes: str, by: str = "P-31") -> list[Done]:
    return [Done(code, by, MONDAY, seq=FIRST if code == "I10" else 1) for code in codes]


def asking(who: str = "P-32", station: str = "R", *trained: str) -> Asking:
    until = date(2032, 3, 3)
    return Asking(Person(who, dict.fromkeys(trained, until)), station, MONDAY)


def look() -> Look:
    found = looks.still_to_take(ROUTE, done("A30", "I10", "I20"), asking())
    assert found is not None
    return found


def row(
    kind: str = "defect",
    by: str = "P-31",
    *places: str,
    seq: int = FIRST - 1,
    bare: bool = False,
) -> Entered:
    return Entered(kind, (by,), frozenset(places or ("I10", "I")), seq, bare)


def test_the_two_looks_of_a_route_are_the_one_that_proves_and_the_one_by_other_eyes() -> None:
    assert [(one.code, two.code) for one, two in looks.pairs(ROUTE)] == [("I10", "I30")]


def test_work_that_takes_other_eyes_after_it_is_no_look() -> None:
    """A30 asks for another person at I10 as well, but proves nothing."""
    assert ("A30", "I10") not in [(one.code, two.code) for one, two in looks.pairs(ROUTE)]


def test_at_the_station_of_the_second_look_it_is_still_to_take() -> None:
    assert look() == Look(ROUTE.operations[1], ROUTE.operations[3], "P-32", FIRST)


def test_elsewhere_nothing_is_kept_back() -> None:
    assert looks.still_to_take(ROUTE, done("I10"), asking("P-15", "Q")) is None


def test_who_is_signed_off_for_the_second_look_does_not_see_it_from_elsewhere_either() -> None:
    assert looks.still_to_take(ROUTE, done("I10"), asking("P-32", "I", "R")) is not None


def test_before_the_first_look_is_recorded_its_rows_are_kept_back_as_well() -> None:
    found = looks.still_to_take(ROUTE, done("A30"), asking())
    assert found is not None
    assert found.keeps(row())


def test_whoever_took_the_first_look_sees_it() -> None:
    assert looks.still_to_take(ROUTE, done("I10"), asking("P-31")) is None


def test_a_helper_at_the_first_look_sees_it_too() -> None:
    helped = [Done("I10", "P-31", MONDAY, ("P-32",), seq=FIRST)]
    assert looks.still_to_take(ROUTE, helped, asking("P-32")) is None


def test_once_the_second_look_is_recorded_everything_is_seen() -> None:
    both = [*done("I10", "I20"), Done("I30", "P-32", MONDAY, seq=30)]
    assert looks.still_to_take(ROUTE, both, asking("P-32")) is None


def test_a_route_of_one_look_keeps_nothing_back() -> None:
    single = Route("one", ROUTE.operations[:2], ROUTE.precedences[:1])
    assert looks.still_to_take(single, done("I10"), asking()) is None


@pytest.mark.parametrize("kind", ["defect", "readings", "step", "remark", "call"])
@pytest.mark.parametrize("places", [("I10",), ("I",), ("I10", "X")])
def test_what_was_entered_at_the_first_look_is_kept_back(
    kind: str, places: tuple[str, ...]
) -> None:
    assert look().keeps(row(kind, "P-31", *places))


def test_that_the_first_look_was_done_is_no_secret() -> None:
    assert not look().keeps(row("step", bare=True))


@pytest.mark.parametrize("places", [("A30", "A"), ("I20", "H"), ("I30", "R")])
def test_what_was_entered_elsewhere_is_seen(places: tuple[str, ...]) -> None:
    assert not look().keeps(row("defect", "P-22", *places))


def test_nobody_is_kept_from_what_they_entered_themselves() -> None:
    assert not look().keeps(row("defect", "P-32"))


@pytest.mark.parametrize("kind", ["defect", "readings", "step"])
def test_a_row_of_their_own_at_the_second_look_opens_the_first(kind: str) -> None:
    assert look().is_own(row(kind, "P-32", "R", seq=FIRST + 5))


def test_each_value_is_kept_back_until_they_measured_there_themselves() -> None:
    """Both looks measure relief and action; the first alone measures what is proud."""
    found = look()
    both = replace(found, second=replace(found.second, gauges=("relief", "action")))
    first = {("relief", "7"), ("action", "bass"), ("action", "treble"), ("proud", "bass")}
    assert both.hides(first, set(), entered=False) == first
    assert both.hides(first, set(), entered=True) == first - {("proud", "bass")}
    own = {("relief", "7"), ("action", "bass")}
    assert both.hides(first, own, entered=True) == {("action", "treble")}


@pytest.mark.parametrize(
    "other",
    [
        row("defect", "P-31", "R", seq=FIRST + 5),
        row("defect", "P-32", "A", seq=FIRST + 5),
        row("defect", "P-32", "R", seq=FIRST - 5),
        row("start", "P-32", "R", seq=FIRST + 5),
        row("call", "P-32", "R", seq=FIRST + 5),
    ],
    ids=["another's", "elsewhere", "of an earlier look", "begun only", "a call only"],
)
def test_nothing_else_opens_it(other: Entered) -> None:
    assert not look().is_own(other)
