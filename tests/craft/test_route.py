"""What may be done next and why not. Routes, badges and times are invented."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from graphlib import CycleError, TopologicalSorter
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft.finding import Finding, Severity
from shop.craft.route import (
    Done,
    OperationFacts,
    Precedence,
    Route,
    faults,
    may_start,
    next_up,
    ready_at,
)
from shop.craft.words import THIN

BERLIN = ZoneInfo("Europe/Berlin")
MONDAY = datetime(2031, 3, 3, 14, 10, tzinfo=BERLIN)


def operation(code: str, name: str = "work", station: str = "Bench") -> OperationFacts:
    return OperationFacts(code, name, station, "", irreversible=False, touch_min=Decimal(5))


def route(*pairs: tuple[str, str]) -> Route:
    codes = dict.fromkeys(code for pair in pairs for code in pair)
    return Route("R", tuple(map(operation, codes)), tuple(Precedence(*pair) for pair in pairs))


HOLD = timedelta(hours=96)
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
        Precedence("I20", "I30", wait=HOLD),
        Precedence("I10", "I30", other_person=True),
        Precedence("A30", "I30", other_person=True),
    ),
)


def done(*codes: str, by: str = "P-11", at: datetime = MONDAY - timedelta(days=30)) -> list[Done]:
    return [Done(code, by, at) for code in codes]


def rules(findings: tuple[Finding, ...]) -> list[str]:
    return [one.rule for one in findings]


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
    try:
        sorter(some).prepare()
    except CycleError:
        (fault,) = faults(route(*some))
        circle = fault.split(" is a circle")[0].split(" > ")
        assert circle[0] == circle[-1]
        assert set(pairwise(circle)) <= set(some)
    else:
        assert faults(route(*some)) == []


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
        assert may_start(line, taken, behind, "P-11", MONDAY) == ()
        behind += done(taken)
    order = [one.operation for one in behind]
    assert sorted(order) == sorted(one.code for one in line.operations)
    assert all(order.index(before) < order.index(after) for before, after in some)


# What is next.


def test_what_is_next_stands_in_shop_order() -> None:
    assert next_up(LINE, []) == ("N40", "G30")
    assert next_up(LINE, done("G30", "N40")) == ("N50", "G40")


def test_a_running_wait_does_not_hide_what_is_next() -> None:
    assert "G40" in next_up(LINE, done("G30", at=MONDAY))


# Why not.


def test_an_operation_whose_turn_it_is_may_start() -> None:
    assert may_start(LINE, "N50", done("N40"), "P-11", MONDAY) == ()


def test_an_operation_off_the_route_says_what_is_next() -> None:
    (finding,) = may_start(LINE, "U20", done("N40"), "P-11", MONDAY)
    assert finding.rule == "route"
    assert finding.words == "U20 is not on the route TARN 2."
    assert "N50 press bushings (Neck bench)" in finding.then


def test_a_recorded_operation_says_when_and_by_whom() -> None:
    (finding,) = may_start(LINE, "N40", done("N40", at=MONDAY), "P-10", MONDAY)
    assert finding.rule == "done"
    assert finding.words == "N40 gauge post holes was recorded Mon 14:10 by P-11."
    assert finding.then.startswith("Next up: N50 press bushings (Neck bench) and G30")


def test_a_finished_route_has_nothing_next() -> None:
    everything = done(*(one.code for one in LINE.operations))
    (finding,) = may_start(LINE, "I30", everything, "P-10", MONDAY)
    assert finding.then == "If it must be done again, the lead opens it."


def test_missing_predecessors_are_named_with_their_station() -> None:
    (finding,) = may_start(LINE, "A30", done("G30"), "P-22", MONDAY)
    assert finding.rule == "order"
    assert finding.words == (
        "A30 string and set up comes after G40 unclamp (Bridge) "
        "and N50 press bushings (Neck bench), not recorded yet."
    )
    assert finding.then.startswith(
        "Next up: N40 gauge post holes (Neck bench) and G40 unclamp (Bridge)."
    )
    assert finding.call == "lead"


def test_a_hold_says_when_it_is_ready_and_what_is_left() -> None:
    cased = [*done("A30", by="P-22"), *done("I10", by="P-31"), *done("I20", at=MONDAY)]
    friday = datetime(2031, 3, 7, 11, 0, tzinfo=BERLIN)
    (finding,) = may_start(LINE, "I30", cased, "P-32", friday)
    assert finding.rule == "wait"
    assert plain(finding.words) == "Ready Fri 14:10. 3 h 10 min left after I20 case in."
    assert "Fri 14:10" in finding.then


def test_a_hold_ends_on_the_very_second() -> None:
    cased = [*done("A30", "I10", by="P-31"), *done("I20", at=MONDAY)]
    ready = MONDAY + HOLD
    early = ready - timedelta(seconds=1)
    assert rules(may_start(LINE, "I30", cased, "P-32", early)) == ["wait"]
    assert may_start(LINE, "I30", cased, "P-32", ready) == ()


def test_a_hold_is_told_ready_at_the_next_full_minute() -> None:
    behind = done("G30", at=MONDAY + timedelta(seconds=20))
    (finding,) = may_start(LINE, "G40", behind, "P-18", MONDAY + timedelta(minutes=30))
    assert plain(finding.words) == "Ready Mon 15:11. 31 min left after G30 glue bridge."


def test_of_several_waits_the_last_to_end_is_told() -> None:
    two = Route(
        "R",
        (*map(operation, ("G30", "J30", "A30")),),
        (
            Precedence("G30", "A30", wait=timedelta(hours=24)),
            Precedence("J30", "A30", wait=timedelta(hours=12)),
        ),
    )
    behind = [*done("G30", at=MONDAY - timedelta(hours=20)), *done("J30", at=MONDAY)]
    (finding,) = may_start(two, "A30", behind, "P-22", MONDAY)
    assert plain(finding.words) == "Ready Tue 02:10. 12 h left after J30 work."


def test_work_done_again_starts_its_wait_again() -> None:
    again = [*done("G30"), *done("G30", at=MONDAY)]
    assert ready_at(LINE, "G40", again) == MONDAY + timedelta(hours=1)
    assert rules(may_start(LINE, "G40", again, "P-18", MONDAY)) == ["wait"]


def test_who_did_the_work_may_not_inspect_it() -> None:
    behind = [*done("A30", by="P-22"), *done("I10", by="P-31"), *done("I20", by="P-31")]
    for badge, named in (("P-31", "I10 final inspection"), ("P-22", "A30 string and set up")):
        (finding,) = may_start(LINE, "I30", behind, badge, MONDAY)
        assert finding.rule == "person"
        assert (
            finding.words == f"You did {named} on this guitar. I30 re-inspection needs other eyes."
        )
    assert may_start(LINE, "I30", behind, "P-32", MONDAY) == ()


def test_everybody_who_ever_did_the_work_counts() -> None:
    behind = [*done("A30", by="P-22"), *done("A30", by="P-23")]
    assert rules(may_start(LINE, "I10", behind, "P-22", MONDAY)) == ["person"]
    assert rules(may_start(LINE, "I10", behind, "P-23", MONDAY)) == ["person"]


def test_every_reason_is_given_at_once() -> None:
    behind = [*done("A30", by="P-31"), *done("I20", at=MONDAY)]
    findings = may_start(LINE, "I30", behind, "P-31", MONDAY)
    assert rules(findings) == ["order", "wait", "person"]
    for one in findings:
        assert one.severity is Severity.STOP
        assert one.then.endswith(".")
        assert one.call == "lead"


# Ready at.


def test_nothing_to_count_from_has_no_ready_moment() -> None:
    assert ready_at(LINE, "N40", []) is None
    assert ready_at(LINE, "A30", done("G30")) is None


def test_the_ready_moment_is_the_last_of_all_that_comes_before() -> None:
    behind = [*done("N40", "N50"), *done("G30", at=MONDAY), *done("G40", at=MONDAY)]
    assert ready_at(LINE, "A30", behind) == MONDAY + timedelta(hours=24)


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
    assert end.astimezone(UTC) - start.astimezone(UTC) == HOLD
    behind = [*done("A30", "I10", by="P-31"), *done("I20", at=start)]
    assert ready_at(LINE, "I30", behind) == end.astimezone(UTC)
    assert may_start(LINE, "I30", behind, "P-32", end) == ()
    (finding,) = may_start(LINE, "I30", behind, "P-32", end - timedelta(minutes=10))
    assert plain(finding.words).startswith(f"Ready Tue {end:%H:%M}. 10 min left")


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
        may_start(LINE, "N40", [], "P-11", naive)
    with pytest.raises(ValueError, match="has no time zone"):
        ready_at(LINE, "G40", done("G30", at=naive))
