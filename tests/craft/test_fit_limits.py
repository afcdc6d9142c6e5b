"""Every limit of every rule, tried at its edge.

For each limit there is a guitar, or the moment of an operation on one, whose judged value
lies exactly at it. It is clean; with the limit moved past the value by the smallest step that
is measured, the limit's own rule speaks and no other. So no limit can be dropped, doubled or
compared the wrong way unseen, and a new limit without an edge here fails by its name.
The limits are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest

from shop.craft import fit
from shop.craft.finding import Finding, Severity
from shop.craft.fit import moment
from shop.craft.fit.moment import Moment, Room
from shop.craft.hardware import Coat
from shop.craft.route import OperationFacts
from tests.craft.bench import D, call, operation
from tests.craft.variations import SET_BY, SET_WHY, Facts, Read, fitted, rules, with_limits

STOP, WARN = Severity.STOP, Severity.WARN

UP, DOWN = Decimal("0.01"), Decimal("-0.01")  # the least that is gauged
WARMER = DAMPER = Decimal("0.1")  # the least that a room is read to
DRIER = -DAMPER
SOONER, DAY = Decimal("-0.02"), Decimal(1)  # in hours: little more than the minute it is read at

NOW = datetime(2031, 3, 3, 9, 30, tzinfo=UTC)


@dataclass(frozen=True, kw_only=True)
class Edge:
    """A guitar at the edge: its spec, what is changed, and the step that moves the limit past
    the value. ``limits`` sets aside a milder limit that would speak before this one."""

    key: str
    step: Decimal
    says: Severity = STOP
    spec: Facts = field(default_factory=dict)
    read: Read = field(default_factory=dict)
    limits: Mapping[str, str] = field(default_factory=dict)
    parts: Mapping[str, Facts] = field(default_factory=dict)
    best_before: date | None = None
    ship_on: date | None = None

    def found(self, moved: Mapping[str, Decimal] | None = None) -> tuple[Finding, ...]:
        return fitted(
            self.key,
            spec=self.spec,
            read=self.read,
            limits={**self.limits, **(moved or {})},
            best_before=self.best_before,
            ship_on=self.ship_on,
            **self.parts,
        )


@dataclass(frozen=True, kw_only=True)
class Work:
    """An operation at the edge: about to be done on a usual guitar, with what stands round
    it, and the step that moves the limit past that."""

    operation: OperationFacts
    step: Decimal
    says: Severity = STOP
    room: Room | None = None
    coat: Coat = Coat.OTHER
    coated_on: date | None = None

    def found(self, moved: Mapping[str, Decimal] | None = None) -> tuple[Finding, ...]:
        usual = call("TARN")
        spec = with_limits(replace(usual.spec, coat=self.coat), moved or {})
        now = Moment(operation=self.operation, at=NOW, room=self.room, coated_on=self.coated_on)
        return moment.judge(now, replace(usual, spec=spec))


GAUGES = {"strings": {"gauges": (("6", D("1.35")),)}}


def _hole(size: str, step: Decimal, says: Severity = STOP, **limits: str) -> Edge:
    """A press-in bushing of 8.80 in a hole of this size."""
    named = {f"R06.{name}": value for name, value in limits.items()}
    return Edge(key="TARN", step=step, says=says, read={("hole", "6"): size}, limits=named)


def _reach(mm: str, step: Decimal, says: Severity = STOP, **limits: str) -> Edge:
    """Machines of this reach in a peghead of 14.5."""
    named = {f"R10.{name}": value for name, value in limits.items()}
    parts = {"tuners": {"reach_mm": D(mm)}}
    return Edge(key="TARN", step=step, says=says, parts=parts, limits=named)


def _plate(mm: str, step: Decimal, says: Severity = STOP, **limits: str) -> Edge:
    """A plate of this spacing over holes 35 apart."""
    named = {f"R11.{name}": value for name, value in limits.items()}
    parts = {"tuners": {"spacing_mm": D(mm)}}
    return Edge(key="FELL", step=step, says=says, parts=parts, limits=named)


def _read(
    quantity: str, place: str, value: str, step: Decimal, says: Severity = STOP, key: str = "TARN"
) -> Edge:
    """A usual guitar on which this was read."""
    return Edge(key=key, step=step, says=says, read={(quantity, place): value})


def _proud(mm: str, step: Decimal, says: Severity = STOP, **limits: str) -> Edge:
    """A saddle this far above the bridge."""
    named = {f"R32.{name}": value for name, value in limits.items()}
    return Edge(key="TARN", step=step, says=says, read={("proud", "bass"): mm}, limits=named)


def _bridge(bass: str, treble: str, step: Decimal, says: Severity = STOP) -> Edge:
    """A bridge read from the nut on both sides, where 648.8 is its place."""
    read = {("bridge_place", "bass"): bass, ("bridge_place", "treble"): treble}
    return Edge(key="TARN", step=step, says=says, read=read)


def _set(
    quantity: str,
    place: str,
    value: str,
    step: Decimal,
    *,
    spec: Facts | None = None,
    limits: Mapping[str, str] | None = None,
) -> Edge:
    """A set-up at a limit that stops it, with what would only warn set aside."""
    read = {(quantity, place): value}
    return Edge(key="TARN", step=step, read=read, spec=spec or {}, limits=limits or {})


def _part(key: str, family: str, step: Decimal, says: Severity = STOP, **facts: Decimal) -> Edge:
    """A usual guitar with these facts of one part changed."""
    return Edge(key=key, step=step, says=says, parts={family: facts})


def _glued(
    step: Decimal,
    says: Severity = STOP,
    *,
    glue: str = "white",
    temp_c: str = "21",
    rh_pct: str = "48",
    hours_ago: int = 0,
) -> Work:
    """Glue about to be used in a room as it was read."""
    room = Room(D(temp_c), D(rh_pct), NOW - timedelta(hours=hours_ago))
    return Work(operation=operation(glue=glue), step=step, says=says, room=room)


def _coated(coat: Coat, days_ago: int) -> Work:
    """A finish of this age, about to be worked on."""
    coated_on = NOW.date() - timedelta(days=days_ago)
    waits = operation(finish_age="stop")
    return Work(operation=waits, step=DAY, coat=coat, coated_on=coated_on)


UNEVEN = {("peghead", "tip"): "14.5", ("peghead", "middle"): "14.6", ("peghead", "nut"): "14.8"}

EDGES: dict[str, Edge | Work] = {
    "R06.least": _hole("8.78", UP, WARN),
    "R06.most": _hole("8.70", DOWN, WARN),
    "R06.loose": _hole("8.80", UP, least="0"),
    "R06.splits": _hole("8.65", DOWN, most="0.15"),
    "R07.least": _read("hole", "6", "9.80", UP, key="HOLM"),
    "R07.most": _read("hole", "6", "10.30", DOWN, key="HOLM"),
    "R08.least": Edge(key="TARN", step=UP, spec={"post_hole_mm": D("6.10")}),
    "R08.most": Edge(key="TARN", step=DOWN, spec={"post_hole_mm": D("6.80")}),
    "R09.near": _part("TARN", "tuners", UP, WARN, peghead_max_mm=D("14.8")),
    "R09.spread": Edge(key="TARN", step=DOWN, says=WARN, read=UNEVEN),
    "R10.least": _reach("18.5", UP, WARN),
    "R10.most": _reach("23.5", DOWN, WARN),
    "R10.buries": _reach("17.5", UP, least="3"),
    "R10.lifts": _reach("24.5", DOWN, most="10"),
    "R11.fits": _plate("35.15", DOWN, WARN),
    "R11.most": _plate("35.30", DOWN, fits="0.30"),
    "R12.least": _read("hole", "6", "6.20", UP, key="NESS"),
    "R12.most": _read("hole", "6", "6.80", DOWN, key="NESS"),
    "R13.least": Edge(key="TARN", step=UP, spec={"pitch_mm": D("16.0")}),
    "R14.under": _part("TARN", "tuners", UP, screw_length_mm=D("11.5")),
    "R14.behind": _part("NESS", "tuners", UP, screw_length_mm=D("11.0")),
    "R16.width": _part("TARN", "nut", DOWN, width_mm=D("44.6")),
    "R17.least": _part("TARN", "saddle", UP, thickness_mm=D("3.18")),
    "R17.most": _part("TARN", "saddle", DOWN, thickness_mm=D("3.12")),
    "R17.length": _part("TARN", "saddle", DOWN, length_mm=D("71.5")),
    "R19.hole": _read("tail_hole", "tail", "12.10", DOWN, key="HOLM"),
    "R24.least": _part("TARN", "case", UP, inside_depth_mm=D(127)),
    "R24.most": _part("TARN", "case", DOWN, WARN, inside_overall_mm=D(1070)),
    "R28.least": _read("pilot", "bit", "1.2", UP),
    "R28.most": _read("pilot", "bit", "1.6", DOWN),
    "R28.shorter": _read("collar", "depth", "8.25", DOWN),
    "R28.depth": _read("collar", "depth", "8.75", DOWN),
    "R29.turns": _read("turns", "least", "3", UP, key="HOLM"),
    "R29.torque": _read("torque", "most", "1.8", DOWN, key="HOLM"),
    "R31.least": _read("strap", "heel", "5", UP),
    "R32.least": _proud("2.0", UP, low="2.0"),
    "R32.low": _proud("2.5", UP, WARN),
    "R32.high": _proud("4.5", DOWN, WARN),
    "R32.most": _proud("5.0", DOWN, high="5.0"),
    "R34.least": Edge(
        key="TARN", step=UP, says=WARN, parts=GAUGES, read={("nut_slot", "6"): "1.40"}
    ),
    "R34.most": Edge(
        key="TARN", step=DOWN, says=WARN, parts=GAUGES, read={("nut_slot", "6"): "1.50"}
    ),
    "R35.months": Edge(
        key="HOLM",
        step=D(1),
        says=WARN,
        best_before=date(2032, 3, 14),
        ship_on=date(2031, 3, 14),
    ),
    "R36.least": _part("FIRTH", "nut", UP, pair_gap_mm=D("1.8")),
    "R36.most": _part("FIRTH", "nut", DOWN, pair_gap_mm=D("2.2")),
    "R41.off": _bridge("649.3", "649.1", DOWN),
    "R41.skew": _bridge("649.1", "648.8", DOWN, WARN),
    "R42.off": _read("action", "bass", "2.55", DOWN, WARN),
    "R42.far": _set("action", "bass", "2.90", DOWN, limits={"R42.off": "0.5"}),
    "R43.least": _set("relief", "7", "0", UP, spec={"relief_least_mm": D(0)}),
    "R43.most": _set("relief", "7", "0.50", DOWN, spec={"relief_most_mm": D("0.50")}),
    "R44.accept": _read("octave_off", "6", "3", DOWN, WARN),
    "R44.rework": _set("octave_off", "6", "-5", DOWN, limits={"R44.accept": "5"}),
    "R45.plain_least": _read("first_fret", "1", "0.25", UP, WARN),
    "R45.plain_most": _read("first_fret", "1", "0.40", DOWN, WARN),
    "R45.wound_least": _read("first_fret", "6", "0.40", UP, WARN),
    "R45.wound_most": _read("first_fret", "6", "0.55", DOWN, WARN),
    "R45.nylon": _read("first_fret", "6", "0.80", DOWN, WARN, key="VOE"),
    "R37.white": _glued(WARMER, glue="white", temp_c="13"),
    "R37.yellow": _glued(WARMER, glue="yellow", temp_c="4.5"),
    "R37.rh_least": _glued(DAMPER, rh_pct="40"),
    "R37.rh_most": _glued(DRIER, rh_pct="60"),
    "R37.read": _glued(SOONER, WARN, hours_ago=12),
    "R38.lacquer": _coated(Coat.LACQUER, days_ago=14),
    "R38.polyester": _coated(Coat.POLYESTER, days_ago=2),
}


def edge_of(name: str) -> Edge | Work:
    if name not in EDGES:
        pytest.fail(f"{name}: no edge is tried for it. Give EDGES what lies at it.")
    return EDGES[name]


@pytest.mark.parametrize("name", fit.LIMITS)
def test_a_value_exactly_at_a_limit_is_clean(name: str) -> None:
    assert edge_of(name).found() == ()


@pytest.mark.parametrize("name", fit.LIMITS)
def test_one_step_past_a_limit_its_own_rule_speaks_alone(name: str) -> None:
    edge = edge_of(name)
    found = edge.found({name: fit.LIMITS[name].value + edge.step})
    assert rules(found) == [name.partition(".")[0]]
    assert found[0].severity is edge.says


@pytest.mark.parametrize("name", fit.LIMITS)
def test_a_finding_names_the_limit_it_went_by_and_who_set_it(name: str) -> None:
    edge, limit = edge_of(name), fit.LIMITS[name]
    moved = limit.value + edge.step
    (found,) = edge.found({name: moved})
    assert found.basis is not None
    assert limit.said(moved) in found.basis.limit
    assert f"{name} set by {SET_BY}" in found.basis.origin
    assert SET_WHY in found.basis.origin


@pytest.mark.parametrize("name", fit.LIMITS)
def test_a_limit_moved_the_other_way_lets_the_value_pass(name: str) -> None:
    edge = edge_of(name)
    assert edge.found({name: fit.LIMITS[name].value - edge.step}) == ()


def test_no_edge_is_kept_for_a_limit_that_is_gone() -> None:
    assert set(EDGES) <= set(fit.LIMITS)


def test_every_limit_belongs_to_the_rule_it_is_named_after() -> None:
    for rule in (*fit.RULES.values(), *moment.RULES):
        assert {limit.name.partition(".")[0] for limit in rule.limits} <= {rule.id}
        assert len({limit.words for limit in rule.limits}) == len(rule.limits)
