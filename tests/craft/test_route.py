"""Whether a route is sound, what is next on it, when. Routes, badges and times are invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from graphlib import CycleError, TopologicalSorter
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft import order
from shop.craft.route import (
    HOLD,
    Done,
    Needs,
    OperationFacts,
    Part,
    Precedence,
    Route,
    faults,
    hold_of,
    last_of,
    next_up,
    ready_at,
    topological,
)
from shop.craft.words import THIN

BERLIN = ZoneInfo("Europe/Berlin")
MONDAY = datetime(2031, 3, 3, 14, 10, tzinfo=BERLIN)


def operation(
    code: str, name: str = "work", station: str = "Bench", needs: Needs = "", rests: Part = ""
) -> OperationFacts:
    facts = OperationFacts(code, name, station, needs, irreversible=False, touch_min=Decimal(5))
    return replace(facts, rests=rests)


def route(*pairs: tuple[str, str]) -> Route:
    """Operations tied by these pairs, in the order of their codes."""
    codes = sorted({code for pair in pairs for code in pair})
    return Route("R", tuple(map(operation, codes)), tuple(Precedence(*pair) for pair in pairs))


FOUR_DAYS = timedelta(hours=96)
LINE = Route(
    "TARN 2",
    (
        operation("N40", "gauge post holes", "Neck bench"),
        operation("N50", "press bushings", "Neck bench"),
        operation("G30", "glue bridge", "Bridge"),
        operation("G40", "unclamp", "Bridge"),
        operation("A30", "string and set up", "Assembly"),
        operation("I10", "final inspection", "Inspection"),
        operation("I20", "case in", "Inspection"),
        operation("I30", "re-inspection", "Re-inspection"),
    ),
    (
        Precedence("N40", "N50"),
        Precedence("G30", "G40", wait=timedelta(hours=1)),
        Precedence("G30", "A30", wait=timedelta(hours=24)),
        Precedence("G40", "A30"),
        Precedence("N50", "A30"),
        Precedence("A30", "I10", wait=timedelta(minutes=30), other_person=True),
        Precedence("I10", "I20"),
        Precedence("I20", "I30", wait=FOUR_DAYS, clock=HOLD),
        Precedence("I10", "I30", other_person=True),
        Precedence("A30", "I30", other_person=True),
    ),
)


def done(*codes: str, by: str = "P-11", at: datetime = MONDAY - timedelta(days=30)) -> list[Done]:
    return [Done(code, by, at) for code in codes]


def plain(text: str) -> str:
    return text.replace(THIN, " ")


# The route itself.


def test_a_sound_route_has_no_faults() -> None:
    assert faults(LINE) == []


def test_a_route_of_one_operation_needs_no_precedence() -> None:
    assert faults(Route("R", (operation("N40"),), ())) == []


def test_a_route_without_operations_is_faulty() -> None:
    assert faults(Route("R", (), ())) == ["Route R has no operation: add at least one."]


def test_a_code_that_is_not_on_the_route_is_named() -> None:
    lame = Route("R", (operation("N40"), operation("N50")), (Precedence("N40", "N50"),))
    (fault,) = faults(Route("R", lame.operations, (*lame.precedences, Precedence("N50", "N60"))))
    assert fault == "N50 before N60: N60 is not on the route. Add it or drop this."


def test_an_operation_tied_to_nothing_is_named() -> None:
    loose = Route("R", (*map(operation, ("N40", "N50", "Q10")),), (Precedence("N40", "N50"),))
    (fault,) = faults(loose)
    assert fault.startswith("Q10 is tied to no other operation")


def test_what_stands_twice_is_named() -> None:
    twice = Route(
        "R",
        (*map(operation, ("N40", "N50", "N40")),),
        (Precedence("N40", "N50"), Precedence("N40", "N50", wait=timedelta(hours=1))),
    )
    assert faults(twice) == [
        "N40 stands 2 times on the route: keep one.",
        "N40 before N50 stands 2 times: keep one, with the longest wait.",
    ]


def test_a_wait_below_nothing_is_named() -> None:
    backwards = Route(
        "R",
        (operation("N40"), operation("N50")),
        (Precedence("N40", "N50", wait=-timedelta(hours=1)),),
    )
    assert faults(backwards) == ["N40 before N50: the wait is below 0. Give 0 or more."]


def test_a_circle_is_named_in_its_order() -> None:
    (fault,) = faults(route(("N40", "N50"), ("N50", "N60"), ("N60", "N40"), ("N60", "J10")))
    assert fault.startswith("N40 > N50 > N60 > N40 is a circle")


def test_an_operation_before_itself_is_a_circle() -> None:
    (fault,) = faults(route(("N40", "N40")))
    assert fault.startswith("N40 > N40 is a circle")


# Where its lines begin, end and meet.

JOIN = Route(
    "J",
    (
        operation("N10", rests="neck"),
        operation("B10", rests="body"),
        operation("J10", needs="neck"),
        operation("I20"),
        operation("I30"),
    ),
    (
        Precedence("N10", "J10"),
        Precedence("B10", "J10"),
        Precedence("J10", "I20"),
        Precedence("I20", "I30", wait=FOUR_DAYS, clock=HOLD),
    ),
)


def tied(*more: Precedence, without: str = "", also: tuple[OperationFacts, ...] = ()) -> Route:
    """The route of a neck and a body with these precedences more, and one less."""
    kept = [step for step in JOIN.precedences if f"{step.before} {step.after}" != without]
    return Route("J", (*also, *JOIN.operations), (*kept, *more))


def test_a_neck_and_a_body_that_meet_are_sound() -> None:
    assert faults(JOIN) == []


def test_where_parts_come_in_nothing_else_begins() -> None:
    line = tied(Precedence("N20", "J10"), also=(operation("N20"),))
    assert faults(line) == ["N20 has nothing before it: say what comes before it."]


def test_where_no_part_comes_in_any_operation_begins() -> None:
    assert faults(route(("G30", "U30"), ("N50", "U30"))) == []


def test_only_the_last_operation_leads_nowhere() -> None:
    line = tied(Precedence("J10", "F10"), also=(operation("F10"),))
    assert faults(line) == ["F10 has nothing after it: say what comes after it."]


def test_a_body_that_never_reaches_the_pairing_is_named() -> None:
    (fault,) = faults(tied(Precedence("B10", "I20"), without="B10 J10"))
    assert fault == (
        "B10 does not lead to J10, so the body never gets there: say what comes in between."
    )


def test_a_neck_that_never_reaches_the_pairing_is_named() -> None:
    (fault,) = faults(tied(Precedence("N10", "I20"), without="N10 J10"))
    assert fault.startswith("N10 does not lead to J10, so the neck never gets there")


def test_of_two_operations_that_take_in_a_body_one_leads_to_the_pairing() -> None:
    spare = operation("B15", rests="body")
    assert faults(tied(Precedence("B15", "I20"), also=(spare,))) == []


def test_parts_may_come_to_the_pairing_by_way_of_other_operations() -> None:
    by_way = (Precedence("N10", "N20"), Precedence("N20", "J10"))
    assert faults(tied(*by_way, without="N10 J10", also=(operation("N20"),))) == []


def test_two_operations_that_pair_are_named() -> None:
    both = (operation("J10", needs="neck"), operation("J15", needs="neck"))
    (fault,) = faults(Route("R", both, (Precedence("J10", "J15"),)))
    assert fault == "J10 and J15 both pair neck and body: keep one."


def test_a_circle_hides_no_other_kind_of_fault_behind_it() -> None:
    """Lines in a circle have neither beginning nor end to speak of."""
    found = faults(tied(Precedence("I30", "J10")))
    assert [one.split(" is a")[0] for one in found] == ["I20 > I30 > J10 > I20"]


# Its hold.


@pytest.mark.parametrize(
    ("wait", "said"),
    [
        (timedelta(hours=95, minutes=59), "95 h 59 min"),
        (timedelta(hours=72), "72 h"),
        (timedelta(), "0 min"),
        (-timedelta(hours=1), "-1 h"),
    ],
)
def test_a_hold_of_less_than_its_least_is_named(wait: timedelta, said: str) -> None:
    short = replace(JOIN.precedences[-1], wait=wait)
    (fault,) = faults(tied(short, without="I20 I30"))
    assert plain(fault) == f"I20 before I30: the hold is {said}. Give 96 h or more."


@pytest.mark.parametrize("hours", [96, 120])
def test_a_hold_may_be_longer_than_its_least(hours: int) -> None:
    longer = replace(JOIN.precedences[-1], wait=timedelta(hours=hours))
    assert faults(tied(longer, without="I20 I30")) == []


def test_a_hold_that_is_only_noted_is_named() -> None:
    noted = replace(JOIN.precedences[-1], noted=True)
    (fault,) = faults(tied(noted, without="I20 I30"))
    assert fault.startswith("I20 before I30: a hold that is only noted holds nothing.")


def test_two_holds_are_named() -> None:
    (fault,) = faults(tied(Precedence("J10", "I30", wait=FOUR_DAYS, clock=HOLD)))
    assert fault == "The hold stands 2 times: I20 before I30, J10 before I30. Keep one."


def test_the_release_after_the_days_in_the_case_leaves_the_rack() -> None:
    ends = ("I30", "I50"), ("I50", "Z10")
    longer = replace(
        LINE,
        operations=(
            *LINE.operations, replace(operation("I50"), freezes=True), operation("Z10"),
        ),
        precedences=(*LINE.precedences, *(Precedence(*pair) for pair in ends)),
    )  # fmt: skip
    assert longer.leaves_rack == "I50"


def test_without_a_release_behind_them_what_waits_for_the_days_leaves_the_rack() -> None:
    assert LINE.leaves_rack == "I30"
    frozen_before = replace(
        LINE, operations=tuple(replace(one, freezes=one.code == "A30") for one in LINE.operations)
    )
    assert frozen_before.leaves_rack == "I30"


def test_a_route_without_days_in_the_case_has_no_rack_to_leave() -> None:
    assert route(("I20", "I30")).leaves_rack == ""


def test_the_hold_of_a_route_is_never_less_than_its_least() -> None:
    hold = JOIN.precedences[-1]
    assert hold_of(JOIN) == hold
    short = tied(replace(hold, wait=timedelta(hours=1)), without="I20 I30")
    assert hold_of(short) == hold
    longer = replace(hold, wait=timedelta(hours=120))
    assert hold_of(tied(longer, without="I20 I30")) == longer
    assert hold_of(route(("I20", "I30"))) is None


# Against the standard library.

CODES = [f"N{tens}0" for tens in range(1, 9)]
pairs = st.lists(st.tuples(st.sampled_from(CODES), st.sampled_from(CODES)), min_size=1, unique=True)
forward = pairs.map(lambda some: [pair for pair in some if pair[0] < pair[1]]).filter(bool)


def sorter(some: list[tuple[str, str]]) -> TopologicalSorter[str]:
    graph: TopologicalSorter[str] = TopologicalSorter()
    for before, after in some:
        graph.add(after, before)
    return graph


@given(pairs)
def test_a_circle_is_found_where_the_standard_library_finds_one(
    some: list[tuple[str, str]],
) -> None:
    """Against graphlib of Python's standard library, on random routes."""
    circles = [one for one in faults(route(*some)) if "is a circle" in one]
    try:
        sorter(some).prepare()
    except CycleError:
        (fault,) = circles
        circle = fault.split(" is a circle")[0].split(" > ")
        assert circle[0] == circle[-1]
        assert set(pairwise(circle)) <= set(some)
        with pytest.raises(ValueError, match="is a circle"):
            topological(route(*some))
    else:
        assert circles == []


@given(forward, st.permutations(CODES))
def test_the_topological_order_has_every_pair_the_right_way_round(
    some: list[tuple[str, str]], shop_order: list[str]
) -> None:
    """Whatever order the shop writes its operations in; each code once, as in graphlib's."""
    line = route(*some)
    shuffled = sorted(line.operations, key=lambda one: shop_order.index(one.code))
    found = topological(replace(line, operations=tuple(shuffled)))
    assert sorted(found) == sorted(sorter(some).static_order())
    assert all(found.index(before) < found.index(after) for before, after in some)


@given(forward)
def test_a_shop_order_that_is_topological_is_kept(some: list[tuple[str, str]]) -> None:
    line = route(*some)
    assert topological(line) == tuple(one.code for one in line.operations)


@given(pairs)
def test_what_comes_after_is_what_a_walk_along_the_lines_comes_by(
    some: list[tuple[str, str]],
) -> None:
    """Against the powers of the pairs: each join adds a step, until none is new."""
    closed = set(some)
    while more := {(a, d) for a, b in closed for c, d in closed if b == c} - closed:
        closed |= more
    line = route(*some)
    for code in (one.code for one in line.operations):
        assert line.after(code) == {after for before, after in closed if before == code}
        assert line.before(code) == {before for before, after in closed if after == code}
        assert order.reach(some).get(code, frozenset()) == line.after(code)


@given(forward)
def test_what_is_next_is_what_the_standard_library_has_ready(some: list[tuple[str, str]]) -> None:
    """Against graphlib's TopologicalSorter, wave by wave, on random routes."""
    graph = sorter(some)
    graph.prepare()
    line = route(*some)
    behind: list[Done] = []
    while graph.is_active():
        ready = set(graph.get_ready())
        assert set(next_up(line, behind)) == ready
        behind += done(*ready)
        graph.done(*ready)
    assert next_up(line, behind) == ()


@given(forward, st.data())
def test_work_taken_in_any_allowed_order_is_a_topological_order(
    some: list[tuple[str, str]], data: st.DataObject
) -> None:
    """An order is topological when each pair stands in it the right way round."""
    line = route(*some)
    behind: list[Done] = []
    while up := next_up(line, behind):
        taken = data.draw(st.sampled_from(up))
        behind += done(taken)
    taken_in = [one.operation for one in behind]
    assert sorted(taken_in) == sorted(one.code for one in line.operations)
    assert all(taken_in.index(before) < taken_in.index(after) for before, after in some)


# What is next.


def test_what_is_next_stands_in_shop_order() -> None:
    assert next_up(LINE, []) == ("N40", "G30")
    assert next_up(LINE, done("G30", "N40")) == ("N50", "G40")


def test_a_running_wait_does_not_hide_what_is_next() -> None:
    assert "G40" in next_up(LINE, done("G30", at=MONDAY))


# Ready at.


def test_nothing_to_count_from_has_no_ready_moment() -> None:
    assert ready_at(LINE, "N40", []) is None
    assert ready_at(LINE, "A30", done("G30")) is None


def test_the_ready_moment_is_the_last_of_all_that_comes_before() -> None:
    behind = [*done("N40", "N50"), *done("G30", at=MONDAY), *done("G40", at=MONDAY)]
    assert ready_at(LINE, "A30", behind) == MONDAY + timedelta(hours=24)


def test_work_done_again_starts_its_wait_again() -> None:
    again = [*done("G30", at=MONDAY), *done("G30")]
    assert ready_at(LINE, "G40", again) == MONDAY + timedelta(hours=1)
    assert last_of("G30", again) == again[0]
    assert last_of("G40", again) is None


def test_a_wait_that_is_only_noted_keeps_nothing_back() -> None:
    noted = Precedence("A10", "I20", wait=timedelta(hours=24), clock="adhesive", noted=True)
    line = Route("R", (operation("A10"), operation("I20")), (noted,))
    assert ready_at(line, "I20", done("A10", at=MONDAY)) == MONDAY


def test_a_hold_that_asks_for_less_lasts_its_least() -> None:
    short = Precedence("I20", "I30", wait=timedelta(hours=1), clock=HOLD)
    line = Route("R", (operation("I20"), operation("I30")), (short,))
    assert ready_at(line, "I30", done("I20", at=MONDAY)) == MONDAY + FOUR_DAYS


def test_everybody_who_had_a_hand_in_it_is_known() -> None:
    assert Done("G30", "P-18", MONDAY, others=("P-19", "P-25")).hands == ("P-18", "P-19", "P-25")


@pytest.mark.parametrize(
    ("cased", "ready"),
    [
        # 2031-03-30 has 23 hours, 2031-10-26 has 25.
        (datetime(2031, 3, 28, 14, 10), datetime(2031, 4, 1, 15, 10)),
        (datetime(2031, 10, 24, 14, 10), datetime(2031, 10, 28, 13, 10)),
    ],
)
def test_a_hold_across_a_change_of_the_clocks_lasts_its_96_hours(
    cased: datetime, ready: datetime
) -> None:
    """Against zoneinfo, that is the IANA time zone database, for central Europe."""
    start, end = cased.replace(tzinfo=BERLIN), ready.replace(tzinfo=BERLIN)
    assert end.astimezone(UTC) - start.astimezone(UTC) == FOUR_DAYS
    behind = [*done("A30", "I10", by="P-31"), *done("I20", at=start)]
    assert ready_at(LINE, "I30", behind) == end.astimezone(UTC)


@given(
    st.datetimes(datetime(2031, 1, 1), datetime(2032, 1, 1), timezones=st.just(UTC)),
    st.sampled_from(["Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "UTC"]),
    st.integers(0, 200),
)
def test_a_wait_is_elapsed_time_in_every_zone(start: datetime, zone: str, hours: int) -> None:
    """Against zoneinfo: the same moment told in any zone gives the same ready moment."""
    local = start.astimezone(ZoneInfo(zone))
    wait = timedelta(hours=hours)
    line = Route("R", (operation("G30"), operation("A30")), (Precedence("G30", "A30", wait=wait),))
    assert ready_at(line, "A30", [Done("G30", "P-18", local)]) == start + wait


def test_a_moment_without_a_time_zone_is_turned_away() -> None:
    naive = datetime(2031, 3, 3, 7, 0)
    with pytest.raises(ValueError, match="has no time zone"):
        ready_at(LINE, "G40", done("G30", at=naive))
