"""Tuning machines against the head they go on: R06 to R14 and R28 to R30.

Limits, traps and worked examples are common practice, no source; the numbers are invented.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from itertools import product
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.craft import fit
from shop.craft.finding import RANK, Finding, Severity
from shop.craft.fit import drilling, peghead, plates, posts
from shop.craft.hardware import (
    Article,
    Call,
    Picked,
    SetLimit,
    SpecFacts,
    TunerSet,
    Worm,
)
from shop.craft.reading import Reading, Readings
from shop.craft.size import Tolerance
from shop.craft.words import THIN
from tests.craft.bench import ARTICLES, KITS, SPECS, D, call, tray, wanted

STOP, WARN = Severity.STOP, Severity.WARN
MACHINE_RULES = (*posts.RULES, *peghead.RULES, *plates.RULES, *drilling.RULES)
HEAD_PLACES = ("tip", "middle", "nut")
STRINGS = ("6", "5", "4", "3", "2", "1")


def machines(key: str, **facts: Any) -> TunerSet:
    article = ARTICLES[key]
    assert isinstance(article, TunerSet)
    return replace(article, **facts)


def read(quantity: str, **values: str) -> tuple[Reading, ...]:
    """Readings by place, as ``read("peghead", tip="15.7")``; a string's name begins with s."""
    return tuple(
        Reading(quantity, place.removeprefix("s"), D(value)) for place, value in values.items()
    )


def heads(*values: str) -> tuple[Reading, ...]:
    return read("peghead", **dict(zip(HEAD_PLACES, values, strict=True)))


def heard(
    spec: SpecFacts, article: Article, readings: tuple[Reading, ...] = ()
) -> tuple[Finding, ...]:
    """All that is said of one article on a guitar of this spec, measured so far. One article
    is no whole list, so nothing is missed."""
    guitar = Call(serial="", spec=spec, kit=(), readings=Readings(readings), whole=False)
    return tuple(fit.of_lines(guitar, [Picked(article=article)]))


def of(rule: str, findings: tuple[Finding, ...]) -> list[Severity]:
    return [one.severity for one in findings if one.rule == rule]


def plainly(words: str) -> str:
    return words.replace(THIN, " ")


# Every limit: quiet at it, caught just past it, and a lead's own in its place.


@dataclass(frozen=True)
class Edge:
    """One limit and the measure that meets it: ``at`` it is still as ``before``, ``past``
    it as ``after``; so it is at ``at`` too, once a lead set the limit to ``tightened``."""

    limit: str
    spec: str
    set: str
    measure: str  # "set", "spec" or a quantity, and the dimension or the place
    at: str
    past: str
    tightened: str
    after: Severity = STOP
    before: Severity | None = None
    readings: tuple[Reading, ...] = ()

    @property
    def rule(self) -> str:
        return self.limit.partition(".")[0]

    def told(self, value: str, **limits: SetLimit) -> tuple[Finding, ...]:
        of_what, name = self.measure.split(".")
        spec, article, readings = SPECS[self.spec], machines(self.set), self.readings
        if of_what == "set":
            article = machines(self.set, **{name: D(value)})
        elif of_what == "spec":
            spec = replace(spec, **{name: D(value)})  # type: ignore[arg-type]
        else:
            readings = (*readings, Reading(of_what, name, D(value)))
        spec = replace(spec, limits=tuple((self.limit, one) for one in limits.values()))
        return tuple(one for one in heard(spec, article, readings) if one.rule == self.rule)


HEAD = read("peghead", middle="14.5", nut="14.5")
EDGES = (
    # A press-in bushing over its hole of 8.73.
    Edge("R06.least", "TARN", "T01", "set.bushing_od_mm", "8.75", "8.74", "0.021", WARN),
    Edge("R06.most", "TARN", "T01", "set.bushing_od_mm", "8.83", "8.84", "0.099", WARN),
    Edge("R06.loose", "TARN", "T01", "set.bushing_od_mm", "8.73", "8.72", "0.01", STOP, WARN),
    Edge("R06.splits", "TARN", "T01", "set.bushing_od_mm", "8.88", "8.89", "0.14", STOP, WARN),
    Edge("R06.least", "TARN", "T01", "hole.6", "8.78", "8.79", "0.03", WARN),
    Edge("R06.splits", "TARN", "T01", "hole.6", "8.65", "8.64", "0.14", STOP, WARN),
    # A collar through its hole of 10.
    Edge("R07.least", "HOLM", "T06", "set.bushing_od_mm", "10.00", "10.01", "0.01"),
    Edge("R07.most", "HOLM", "T06", "set.bushing_od_mm", "9.50", "9.49", "0.49"),
    Edge("R07.most", "HOLM", "T06", "hole.1", "10.30", "10.31", "0.49"),
    # A post in its hole of 6.4, a roller in its side hole of 6.4.
    Edge("R08.least", "TARN", "T01", "set.post_mm", "6.30", "6.31", "0.11"),
    Edge("R08.most", "TARN", "T01", "set.post_mm", "5.60", "5.59", "0.79"),
    Edge("R12.least", "NESS", "T11", "set.post_mm", "6.20", "6.21", "0.21"),
    Edge("R12.most", "NESS", "T11", "set.post_mm", "5.60", "5.59", "0.79"),
    Edge("R12.least", "NESS", "T11", "hole.3", "6.20", "6.19", "0.21"),
    # A peghead for machines that take 13 to 15.5.
    Edge("R09.near", "TARN", "T01", "spec.peghead_mm", "15.20", "15.21", "0.31", WARN),
    Edge("R09.near", "TARN", "T01", "spec.peghead_mm", "13.30", "13.29", "0.31", WARN),
    Edge("R09.spread", "TARN", "T01", "peghead.tip", "14.80", "14.81", "0.29", WARN, None, HEAD),
    Edge("R09.spread", "TARN", "T01", "peghead.tip", "14.20", "14.19", "0.29", WARN, None, HEAD),
    # A string hole above a face 14.5 over the seat.
    Edge("R10.least", "TARN", "T01", "set.reach_mm", "18.50", "18.49", "4.01", WARN),
    Edge("R10.most", "TARN", "T01", "set.reach_mm", "23.50", "23.51", "8.99", WARN),
    Edge("R10.buries", "TARN", "T01", "set.reach_mm", "17.50", "17.49", "3.01", STOP, WARN),
    Edge("R10.lifts", "TARN", "T01", "set.reach_mm", "24.50", "24.51", "9.99", STOP, WARN),
    # A plate on holes 35 apart.
    Edge("R11.fits", "FELL", "T09", "set.spacing_mm", "35.15", "35.16", "0.14", WARN),
    Edge("R11.fits", "FELL", "T09", "set.spacing_mm", "34.85", "34.84", "0.14", WARN),
    Edge("R11.most", "FELL", "T09", "set.spacing_mm", "35.30", "35.31", "0.29", STOP, WARN),
    Edge("R11.most", "NESS", "T11", "set.spacing_mm", "34.70", "34.69", "0.29", STOP, WARN),
    # Buttons and plates on posts 23 apart.
    Edge("R13.least", "FIRTH", "T13", "set.button_width_mm", "22.50", "22.51", "0.51"),
    Edge("R13.least", "FIRTH", "T13", "set.plate_width_mm", "22.50", "22.51", "0.51"),
    # A screw in a head of 14.5, in a wall of 13, in a head gauged thinnest at its tip.
    Edge("R14.under", "TARN", "T01", "set.screw_length_mm", "11.50", "11.51", "3.01"),
    Edge("R14.behind", "NESS", "T11", "set.screw_length_mm", "11.00", "11.01", "2.01"),
    Edge("R14.under", "TARN", "T01", "peghead.tip", "12.50", "12.49", "3.01", readings=HEAD),
    # A bit and a collar for a screw of 2.2 × 9.5.
    Edge("R28.least", "TARN", "T01", "pilot.bit", "1.20", "1.19", "1.21"),
    Edge("R28.most", "TARN", "T01", "pilot.bit", "1.60", "1.61", "1.59"),
    Edge("R28.depth", "TARN", "T01", "collar.depth", "8.25", "8.24", "0.24"),
    Edge("R28.shorter", "TARN", "T01", "collar.depth", "8.75", "8.76", "1.01"),
    # Threaded bushings.
    Edge("R29.turns", "HOLM", "T06", "turns.least", "3", "2.9", "3.1"),
    Edge("R29.torque", "HOLM", "T06", "torque.most", "1.8", "1.81", "1.79"),
)  # fmt: skip

each_edge = pytest.mark.parametrize("edge", EDGES, ids=lambda one: f"{one.limit} {one.measure}")


def test_every_limit_of_the_machines_has_its_edge_here() -> None:
    assert {one.limit for one in EDGES} == {
        limit.name for rule in MACHINE_RULES for limit in rule.limits
    }


@each_edge
def test_what_lies_at_a_limit_is_not_past_it(edge: Edge) -> None:
    assert of(edge.rule, edge.told(edge.at)) == ([edge.before] if edge.before else [])


@each_edge
def test_what_lies_one_step_past_a_limit_is_caught(edge: Edge) -> None:
    (finding,) = edge.told(edge.past)
    assert finding.severity is edge.after
    assert finding.words.endswith(".")
    assert finding.then.endswith(".")


@each_edge
def test_a_limit_set_by_a_lead_is_gone_by_and_named(edge: Edge) -> None:
    mine = SetLimit(D(edge.tightened), "P-21", date(2031, 3, 3), "this head is bound")
    (finding,) = edge.told(edge.at, mine=mine)
    assert finding.severity is edge.after
    assert finding.basis is not None
    assert edge.tightened.rstrip("0") in finding.basis.limit
    assert finding.basis.origin.startswith(
        f"{edge.limit} set by P-21 on 2031-03-03 for {SPECS[edge.spec].name}: this head is bound"
    )


def test_a_limit_set_for_one_spec_leaves_the_others_alone() -> None:
    mine = SetLimit(D("0.05"), "P-21", date(2031, 3, 3), "soft wood")
    bound = replace(SPECS["TARN"], limits=(("R06.most", mine),))
    assert of("R06", heard(bound, ARTICLES["T01"])) == [WARN]
    assert of("R06", heard(SPECS["TARN"], ARTICLES["T01"])) == []
    assert of("R06", heard(SPECS["FIRTH"], ARTICLES["T13"])) == []


def test_a_limit_of_another_rule_is_not_said_to_be_the_leads() -> None:
    mine = SetLimit(D("0.05"), "P-21", date(2031, 3, 3), "soft wood")
    spec = replace(SPECS["TARN"], limits=(("R08.least", mine),))
    (finding,) = heard(spec, ARTICLES["T03"])
    assert finding.basis is not None
    assert finding.basis.origin == "common practice"


@pytest.mark.parametrize("thick", ["15.50", "13.00"])
def test_a_peghead_at_the_end_of_the_range_is_warned_of(thick: str) -> None:
    spec = replace(SPECS["TARN"], peghead_mm=D(thick))
    assert of("R09", heard(spec, ARTICLES["T01"])) == [WARN]


@pytest.mark.parametrize(("thick", "way"), [("15.51", "thick"), ("12.99", "thin")])
def test_a_peghead_outside_the_range_is_stopped_with_how_much(thick: str, way: str) -> None:
    (finding,) = heard(replace(SPECS["TARN"], peghead_mm=D(thick)), ARTICLES["T01"])
    assert (finding.rule, finding.severity) == ("R09", STOP)
    assert plainly(finding.words) == (
        f"Peghead {thick} mm, these machines take 13 to 15.5 mm: 0.01 mm too {way}."
    )


# The worst of both limits.

TOLERANT = (
    ("R06", "TARN", "T01", "bushing_od_mm", "-0.06/0", WARN, "only 0.01 mm tight"),
    ("R06", "TARN", "T01", "bushing_od_mm", "-0.08/0", STOP, "0.01 mm loose"),
    ("R06", "TARN", "T01", "bushing_hole_mm", "0/0.08", STOP, "0.01 mm loose"),
    ("R06", "TARN", "T01", "bushing_od_mm", "0/0.04", WARN, "0.11 mm tight, more"),
    ("R06", "TARN", "T01", "bushing_hole_mm", "-0.09/0", STOP, "0.16 mm tight, it will chip"),
    ("R07", "HOLM", "T06", "bushing_od_mm", "0/0.21", STOP, "0.01 mm too tight, it does not pass"),
    ("R07", "HOLM", "T06", "bushing_hole_mm", "0/0.31", STOP, "0.51 mm of play"),
    ("R08", "TARN", "T01", "post_mm", "0/0.31", STOP, "0.09 mm of room: it will bind"),
    ("R08", "TARN", "T01", "post_hole_mm", "0/0.41", STOP, "0.81 mm of room: it will wander"),
    ("R12", "NESS", "T11", "post_mm", "0/0.21", STOP, "0.19 mm of room: it will bind"),
    ("R12", "NESS", "T11", "post_hole_mm", "-0.21/0", STOP, "0.19 mm of room: it will bind"),
    ("R09", "TARN", "T01", "peghead_mm", "0/0.71", WARN, "0.29 mm short of too thick"),
    ("R09", "TARN", "T01", "peghead_mm", "0/1.01", STOP, "0.01 mm too thick"),
    ("R09", "TARN", "T01", "peghead_mm", "-1.51/0", STOP, "0.01 mm too thin"),
    ("R09", "TARN", "T01", "peghead_mm", "-1.21/0.9", WARN, "0.1 mm short of too thick"),
    ("R09", "TARN", "T01", "peghead_mm", "-1.4/0.71", WARN, "0.1 mm short of too thin"),
    ("R09", "TARN", "T01", "peghead_max_mm", "-0.71/0", WARN, "take 13 to 14.79–15.5 mm: 0.29 mm"),
    ("R09", "TARN", "T01", "peghead_min_mm", "0/1.51", STOP, "take 13–14.51 to 15.5 mm: 0.01 mm"),
    ("R10", "TARN", "T01", "reach_mm", "-2.51/0", WARN, "3.99 mm above the face: lower"),
    ("R10", "TARN", "T01", "reach_mm", "0/2.51", WARN, "9.01 mm above the face: higher"),
    ("R10", "TARN", "T01", "reach_mm", "-2.5/2.51", WARN, "9.01 mm above the face: higher"),
    ("R10", "TARN", "T01", "reach_mm", "-3.51/0", STOP, "2.99 mm above the face: the string will"),
    ("R10", "TARN", "T01", "reach_mm", "0/3.51", STOP, "10.01 mm above the face: the string will"),
    ("R10", "TARN", "T01", "peghead_mm", "-3.51/0", STOP, "10.01 mm above"),
    ("R10", "TARN", "T01", "peghead_mm", "0/3.51", STOP, "2.99 mm above"),
    ("R11", "FELL", "T09", "spacing_mm", "0/0.16", WARN, "off by 0.32 mm"),
    ("R11", "FELL", "T09", "spacing_mm", "-0.31/0.16", STOP, "off by 0.62 mm"),
    ("R13", "FIRTH", "T13", "button_width_mm", "0/8.51", STOP, "they need 23.01 mm"),
    ("R13", "FIRTH", "T13", "button_width_mm", "-3/8.51", STOP, "Buttons 11–22.51 mm wide"),
    ("R13", "FIRTH", "T13", "plate_width_mm", "0/8.51", STOP, "Plates 14–22.51 mm wide"),
    ("R13", "FIRTH", "T13", "pitch_mm", "-8.51/0", STOP, "they need 14.5 mm"),
    ("R14", "TARN", "T01", "screw_length_mm", "0/2.01", STOP, "11.5 mm is the longest"),
    ("R14", "TARN", "T01", "peghead_mm", "-2.01/0", STOP, "9.49 mm is the longest"),
    ("R14", "NESS", "T11", "wall_mm", "-3.01/0", STOP, "7.99 mm is the longest"),
)


@pytest.mark.parametrize(
    ("rule", "spec", "key", "dimension", "limits", "severity", "told"), TOLERANT
)
def test_a_dimension_is_judged_and_told_at_the_worst_of_its_limits(
    rule: str, spec: str, key: str, dimension: str, limits: str, severity: Severity, told: str
) -> None:
    lower, upper = limits.split("/")
    within = ((dimension, Tolerance(D(lower), D(upper))),)
    facts, article = SPECS[spec], machines(key)
    assert of(rule, heard(facts, article)) == []
    if hasattr(article, dimension):
        article = replace(article, tolerances=within)
    else:
        facts = replace(facts, tolerances=within)
    (finding,) = [one for one in heard(facts, article) if one.rule == rule]
    assert finding.severity is severity
    assert told in plainly(finding.words)
    assert finding.basis is not None
    assert any("–" in value for _, value in finding.basis.sides)  # both limits are told


def test_a_spacing_is_off_by_the_tolerances_of_plate_and_holes_together() -> None:
    tight = (("spacing_mm", Tolerance(D("-0.1"), D("0.1"))),)
    plate, spec = machines("T09", tolerances=tight), replace(SPECS["FELL"], tolerances=tight)
    assert of("R11", heard(spec, ARTICLES["T09"])) == []
    assert of("R11", heard(SPECS["FELL"], plate)) == []
    assert of("R11", heard(spec, plate)) == [WARN]


def test_a_bit_suits_the_thinnest_and_the_thickest_screw_of_the_box() -> None:
    box = machines("T01", tolerances=(("screw_mm", Tolerance(D("-0.11"), D("0.11"))),))
    for bit, said in (("1.25", [STOP]), ("1.26", []), ("1.52", []), ("1.53", [STOP])):
        assert of("R28", heard(SPECS["TARN"], box, read("pilot", bit=bit))) == said


def test_a_collar_suits_the_longest_and_the_shortest_screw_of_the_box() -> None:
    box = machines("T01", tolerances=(("screw_length_mm", Tolerance(D("-0.2"), D("0.2"))),))
    for depth, said in (("8.44", [STOP]), ("8.45", []), ("8.55", []), ("8.56", [STOP])):
        assert of("R28", heard(SPECS["TARN"], box, read("collar", depth=depth))) == said


# Worked examples of the bench.


def test_a_small_bushing_falls_out_and_goes_back_to_the_clerk() -> None:
    findings = fit.check(call("TARN"), tray("TARN", ("T01", "T03")))
    small = next(one for one in findings if one.rule == "R06")
    assert (
        plainly(small.words) == "Bushing 8.35 mm in hole 8.73 mm: 0.38 mm loose, it will fall out."
    )
    assert (small.severity, small.call) == (STOP, "clerk")
    assert small.basis is not None
    assert small.basis.reckoning == "8.35 − 8.73 = −0.38 mm"


def test_lacquer_left_in_a_hole_is_stopped_until_it_is_reamed() -> None:
    narrow = replace(call("TARN"), readings=Readings(read("hole", s6="8.60", s5="8.73")))
    (finding,) = fit.measured(narrow, tray("TARN").lines, {"hole"})
    assert (finding.rule, finding.severity) == ("R06", STOP)
    assert plainly(finding.words) == (
        "Bushing 8.8 mm in hole 8.6 mm at string 6: 0.2 mm tight, it will chip or split."
    )
    assert plainly(finding.then) == "Ream to 8.73 mm and gauge again."
    reamed = replace(narrow, readings=narrow.readings.with_more(read("hole", s6="8.72")))
    assert fit.measured(reamed, tray("TARN").lines, {"hole"}) == ()


def test_a_thick_peghead_is_stopped_for_its_thickness_alone() -> None:
    thick = replace(call("TARN"), readings=Readings(heads("15.7", "15.8", "15.9")))
    (finding,) = fit.measured(thick, tray("TARN").lines, {"peghead"})
    assert (finding.rule, finding.severity, finding.call) == ("R09", STOP, "lead")
    assert plainly(finding.words) == (
        "Peghead 15.8 mm, these machines take 13 to 15.5 mm: 0.3 mm too thick."
    )
    assert finding.then == "Fit nothing. Call the lead."
    assert finding.basis is not None
    name, value = finding.basis.sides[0]
    assert name == "Peghead gauged"
    assert plainly(value) == "15.7 mm tip, 15.8 mm middle and 15.9 mm nut, mean 15.8 mm"
    assert fit.check(thick, tray("TARN")) == (finding,)


def test_wide_rollers_do_not_go_into_the_side_holes_of_a_steel_strung_head() -> None:
    findings = fit.check(call("NESS"), tray("NESS", ("T11", "T12")))
    assert [one.rule for one in findings] == ["R15", "R12", "R25"]
    assert plainly(findings[1].words) == (
        "Roller 10 mm in hole 6.4 mm, −3.6 mm of room: it will bind."
    )


def test_a_wide_plate_is_stopped_with_how_far_its_last_post_is_off() -> None:
    findings = fit.check(call("FELL"), tray("FELL", ("T09", "T10")))
    assert [one.rule for one in findings] == ["R11", "R25"]
    assert (
        plainly(findings[0].words) == "Plate 35.7 mm, holes 35 mm: the last post is off by 1.4 mm."
    )
    assert findings[0].basis is not None
    assert findings[0].basis.reckoning == "35.7 − 35 = 0.7 mm; 0.7 × 2 spans = 1.4 mm"


@pytest.mark.parametrize(("left", "right"), [(6, 6), (6, 0), (0, 6)])
def test_the_last_post_of_a_strip_of_six_is_off_by_five_spans(left: int, right: int) -> None:
    strips = machines("T09", left=left, right=right, spacing_mm=D("35.2"))
    (finding,) = [one for one in heard(SPECS["FELL"], strips) if one.rule == "R11"]
    assert "the last post is off by 1 mm" in plainly(finding.words)


# Plausible, but wrong.

TRAPS = (
    ("TARN", "T01", machines("T03"), {"R06", "R25"}),
    ("TARN", "T01", machines("T04"), {"R08", "R25"}),
    ("FELL", "T09", machines("T10"), {"R11", "R25"}),
    ("HOLM", "T06", machines("T15"), {"R03", "R25"}),  # left graduated on a right head
    ("HOLM", "T06", machines("T14"), {"R25"}),  # fits and tunes, but was not ordered
    ("TARN", "T01", machines("T01", left=4, right=2), {"R04"}),
    ("SKERRY", "T07", machines("T08"), {"R03", "R04", "R25"}),
    ("NESS", "T11", machines("T11", screw_length_mm=D("12.7")), {"R14"}),  # of a solid head
    ("FIRTH", "T13", machines("T13", button_width_mm=D("23.0")), {"R13"}),
    ("TARN", "T01", machines("T01", reach_mm=D("17.0")), {"R10"}),
    ("TARN", "T01", machines("T01", peghead_max_mm=D("14.0")), {"R09"}),
    ("NESS", "T11", machines("T11", worm=Worm.TIP), {"R30"}),
    ("HOLM", "T06", machines("T06", bushing_od_mm=D("10.2")), {"R07"}),
)


@pytest.mark.parametrize(("spec", "right", "wrong", "found"), TRAPS)
def test_plausible_but_wrong_machines_are_stopped_by_their_rules_alone(
    spec: str, right: str, wrong: TunerSet, found: set[str]
) -> None:
    usual = tray(spec)
    lines = tuple(
        replace(line, article=wrong) if line.article.key == right else line for line in usual.lines
    )
    findings = fit.check(call(spec), replace(usual, lines=lines))
    assert {one.rule for one in findings} == found
    assert {one.severity for one in findings} == {STOP}
    assert all(one.call in {"clerk", "lead"} for one in findings)


@pytest.mark.parametrize("spec", KITS)
def test_a_right_kit_measured_as_its_spec_says_stays_clean(spec: str) -> None:
    facts = SPECS[spec]
    hole = facts.bushing_hole_mm or facts.post_hole_mm
    threaded = facts.bushing == "thread"
    readings = (
        *heads(*[str(facts.peghead_mm)] * 3),
        *(Reading("hole", one, hole) for one in STRINGS),
        *read("pilot", bit="1.6"),
        *read("collar", depth="7" if facts.bushing == "none" else "8.5"),
        *(read("turns", least="4") + read("torque", most="1.2") if threaded else ()),
        *read("worm", L="1", R="1"),
    )
    measured = replace(call(spec), readings=Readings(readings))
    assert fit.check(measured, tray(spec)) == ()
    assert fit.measured(measured, tray(spec).lines, {one.quantity for one in readings}) == ()


# Holes as gauged.


def test_holes_of_one_size_are_told_once_with_their_strings() -> None:
    holes = read("hole", s6="8.60", s5="8.73", s4="8.60", s3="8.60", s2="8.90", s1="8.73")
    tight, loose = heard(SPECS["TARN"], ARTICLES["T01"], holes)
    assert "in hole 8.6 mm at string 6, 4 and 3: 0.2 mm" in plainly(tight.words)
    assert "in hole 8.9 mm at string 2: 0.1 mm" in plainly(loose.words)
    assert tight.basis is not None
    assert tight.basis.sides[1] == ("Hole gauged at string 6, 4 and 3", "8.6 mm")


def test_a_gauged_hole_counts_instead_of_the_specs() -> None:
    gauged = read("hole", s6="8.29")
    assert of("R06", heard(SPECS["TARN"], ARTICLES["T03"])) == [STOP]
    assert of("R06", heard(SPECS["TARN"], ARTICLES["T03"], gauged)) == []


def test_holes_gauged_on_a_threaded_head_are_its_through_holes() -> None:
    narrow = heard(SPECS["HOLM"], ARTICLES["T06"], read("hole", s1="9.70"))
    assert of("R07", narrow) == [STOP]
    assert plainly(narrow[0].words) == (
        "Collar 9.8 mm in hole 9.7 mm at string 1: 0.1 mm too tight, it does not pass."
    )
    wide = heard(SPECS["HOLM"], ARTICLES["T06"], read("hole", s1="10.40"))
    assert "0.6 mm of play" in plainly(wide[0].words)


def test_side_holes_gauged_on_a_slotted_head_are_for_its_rollers() -> None:
    findings = heard(SPECS["NESS"], ARTICLES["T11"], read("hole", s6="6.10", s5="6.40"))
    assert of("R12", findings) == [STOP]
    assert plainly(findings[0].words) == (
        "Roller 6 mm in hole 6.1 mm at string 6, 0.1 mm of room: it will bind."
    )


def test_a_thick_post_binds_in_its_through_hole() -> None:
    (finding,) = heard(SPECS["TARN"], ARTICLES["T04"])
    assert plainly(finding.words) == "Post 6.35 mm in hole 6.4 mm, 0.05 mm of room: it will bind."
    (loose,) = heard(SPECS["TARN"], machines("T01", post_mm=D("5.5")))
    assert plainly(loose.words) == "Post 5.5 mm in hole 6.4 mm, 0.9 mm of room: it will wander."


def test_where_the_specs_hole_would_not_suit_the_bushing_the_middle_is_advised() -> None:
    (finding,) = heard(SPECS["TARN"], machines("T01", bushing_od_mm=D("9.00")))
    assert plainly(finding.then) == "Ream to 8.94 mm and gauge again."
    reamed = heard(SPECS["TARN"], machines("T01", bushing_od_mm=D("9.00")), read("hole", s6="8.94"))
    assert reamed == ()


@settings(deadline=None)
@given(st.decimals("8.74", "9.60", places=2), st.decimals("8.00", "9.60", places=2))
def test_a_hole_reamed_as_advised_fits(bushing: Decimal, hole: Decimal) -> None:
    article = machines("T01", bushing_od_mm=bushing)
    for one in heard(SPECS["TARN"], article, (Reading("hole", "6", hole),)):
        if one.then.startswith("Ream to"):
            to = one.then.removeprefix("Ream to ").partition(THIN)[0]
            assert D(to) >= hole  # a reamer takes away
            assert heard(SPECS["TARN"], article, read("hole", s6=to)) == ()


# The head.


def test_a_head_that_tapers_is_warned_of_whatever_its_mean() -> None:
    (finding,) = heard(SPECS["TARN"], ARTICLES["T01"], heads("14.2", "14.5", "14.9"))
    assert (finding.rule, finding.severity) == ("R09", WARN)
    assert plainly(finding.words) == (
        "Peghead 14.2 mm tip, 14.5 mm middle and 14.9 mm nut: 0.7 mm uneven."
    )


def test_a_gauged_head_counts_instead_of_the_specs() -> None:
    thick = replace(SPECS["TARN"], peghead_mm=D("16.0"))
    assert of("R09", heard(thick, ARTICLES["T01"])) == [STOP]
    assert heard(thick, ARTICLES["T01"], heads("14.4", "14.5", "14.6")) == ()


def test_a_mean_that_does_not_come_out_even_is_told_as_it_is_judged() -> None:
    assert of("R09", heard(SPECS["TARN"], ARTICLES["T01"], heads("15.2", "15.2", "15.2"))) == []
    (finding,) = heard(SPECS["TARN"], ARTICLES["T01"], heads("15.5", "15.5", "15.51"))
    assert (finding.rule, finding.severity) == ("R09", STOP)
    assert plainly(finding.words).startswith("Peghead 15.5033 mm, ")


def test_the_string_hole_is_reckoned_over_the_gauged_head() -> None:
    short = machines("T01", reach_mm=D("17.3"))
    (finding,) = heard(SPECS["TARN"], short, heads("14.7", "14.8", "14.9"))
    assert (finding.rule, finding.severity) == ("R10", STOP)
    assert plainly(finding.words) == (
        "String hole 2.5 mm above the face: the string will bury in the wood."
    )
    (high,) = heard(SPECS["TARN"], machines("T01", reach_mm=D("25")))
    assert plainly(high.words).startswith("String hole 10.5 mm above the face")


def test_a_screw_meets_the_thinnest_place_of_a_gauged_head() -> None:
    findings = heard(SPECS["TARN"], machines("T01"), heads("12.4", "14.5", "14.5"))
    (screw,) = [one for one in findings if one.rule == "R14"]
    assert plainly(screw.words) == (
        "Screw 9.5 mm in 12.4 mm of wood will show through: 9.4 mm is the longest."
    )
    assert plainly(screw.then) == "Ask the clerk for screws of 9.4 mm or less."
    assert screw.basis is not None
    assert screw.basis.sides[0] == ("Peghead gauged thinnest, tip", "12.4 mm")


def test_a_screw_into_the_wall_of_a_slot_is_told_the_longest_that_goes() -> None:
    (screw,) = heard(SPECS["NESS"], machines("T11", screw_length_mm=D("12.7")))
    assert plainly(screw.words) == (
        "Screw 12.7 mm in 13 mm of wood will show through: 11 mm is the longest."
    )


def test_machines_with_one_end_to_their_range_are_judged_at_that_end() -> None:
    up_to, from_there = machines("T01", peghead_min_mm=None), machines("T01", peghead_max_mm=None)
    thin, thick = (replace(SPECS["TARN"], peghead_mm=D(one)) for one in ("12.9", "15.6"))
    assert of("R09", heard(thin, up_to)) == []
    assert of("R09", heard(thick, from_there)) == []
    assert "these machines take up to 15.5 mm: " in plainly(heard(thick, up_to)[0].words)
    assert "these machines take 13 mm and more: " in plainly(heard(thin, from_there)[0].words)


def test_the_wider_of_plate_and_button_is_named() -> None:
    (button,) = heard(SPECS["FIRTH"], machines("T13", button_width_mm=D("24")))
    assert plainly(button.words) == (
        "Buttons 24 mm wide on posts 23 mm apart will touch: they need 24.5 mm."
    )
    (plate,) = heard(SPECS["FIRTH"], machines("T13", plate_width_mm=D("22.6")))
    assert plainly(plate.words).startswith("Plates 22.6 mm wide")


# Drilling.


@pytest.mark.parametrize(
    ("screw", "bit", "said"),
    [
        ("2.2", "1.4", []),
        ("3.3", "1.6", [STOP]),
        ("3.3", "1.79", [STOP]),
        ("3.3", "1.80", []),
        ("3.3", "2.40", []),
        ("3.3", "2.41", [STOP]),
        ("1.1", "0.60", []),
        ("1.1", "0.81", [STOP]),
    ],
)
def test_the_pilot_of_another_screw_is_in_proportion(
    screw: str, bit: str, said: list[Severity]
) -> None:
    article = machines("T01", screw_mm=D(screw))
    assert of("R28", heard(SPECS["TARN"], article, read("pilot", bit=bit))) == said


def test_a_bit_too_wide_says_which_to_take() -> None:
    (finding,) = heard(SPECS["TARN"], ARTICLES["T01"], read("pilot", bit="2"))
    assert (finding.severity, finding.call) == (STOP, "")
    assert plainly(finding.words) == (
        "Pilot bit 2 mm for a screw of 2.2 mm: too wide, the screw will not hold."
    )
    assert plainly(finding.then) == "Take a bit of 1.2–1.6 mm and calliper it again."
    assert finding.basis is not None
    assert plainly(finding.basis.reckoning) == "1.2 × 2.2 / 2.2 to 1.6 × 2.2 / 2.2 = 1.2–1.6 mm"


def test_a_collar_set_too_deep_says_where_it_belongs() -> None:
    (finding,) = heard(SPECS["TARN"], ARTICLES["T01"], read("collar", depth="9.5"))
    assert (finding.severity, finding.call) == (STOP, "")
    assert plainly(finding.words) == (
        "Stop collar at 9.5 mm, screws of 9.5 mm need 8.5 mm: the bit goes too deep."
    )
    assert plainly(finding.then) == "Set the stop collar to 8.5 mm and measure again."
    assert finding.basis is not None
    assert finding.basis.reckoning == "9.5 − 1 = 8.5 mm, off by 1 mm"
    (short,) = heard(SPECS["TARN"], ARTICLES["T01"], read("collar", depth="7"))
    assert "the screw may snap" in short.words


def test_few_turns_and_much_torque_are_each_told() -> None:
    findings = heard(
        SPECS["HOLM"], ARTICLES["T06"], read("turns", least="2") + read("torque", most="2.5")
    )
    assert of("R29", findings) == [STOP, STOP]
    turns, torque = findings
    assert turns.words == (
        "Turns engaged 2, 3 needed: the peghead is too thick or the bushing too short."
    )
    assert torque.words.startswith(
        f"Torque 2.5{THIN}N{THIN}m, these bushings take 1.8{THIN}N{THIN}m"
    )


def test_machines_whose_worm_is_nearest_the_tip_are_stopped() -> None:
    (finding,) = heard(SPECS["TARN"], machines("T01", worm=Worm.TIP))
    assert (finding.rule, finding.severity) == ("R30", STOP)
    assert "nearest the tip" in finding.words


def test_machines_with_a_left_hand_thread_are_stopped() -> None:
    (finding,) = heard(SPECS["TARN"], machines("T01", worm_right_hand=False))
    assert (finding.rule, finding.severity) == ("R30", STOP)
    assert "left-hand thread" in finding.words


@pytest.mark.parametrize(
    ("place", "what", "here"),
    [("L", "a right one on the left", "left"), ("R", "a left one on the right", "right")],
)
def test_a_machine_that_tightens_backwards_is_named_for_what_it_is(
    place: str, what: str, here: str
) -> None:
    other = "R" if place == "L" else "L"
    tested = read("worm", **{place: "0", other: "1"})
    (finding,) = heard(SPECS["TARN"], ARTICLES["T01"], tested)
    assert (finding.rule, finding.severity) == ("R30", STOP)
    assert finding.words == f"This machine tightens backwards here: it is {what}."
    assert f"exchanges it for a {here} machine" in finding.then


def test_machines_that_tighten_as_they_should_are_not_spoken_of() -> None:
    assert heard(SPECS["TARN"], ARTICLES["T01"], read("worm", L="1", R="1")) == ()


# Where a rule has nothing to say.


def test_a_slotted_head_has_no_thickness_and_no_string_hole_to_judge() -> None:
    assert heard(SPECS["NESS"], ARTICLES["T11"], heads("12", "18", "25")) == ()


def test_a_slotted_head_without_a_wall_says_nothing_of_screws() -> None:
    spec = replace(SPECS["NESS"], wall_mm=None)
    assert heard(spec, machines("T11", screw_length_mm=D("30"))) == ()


def test_machines_without_a_reach_say_nothing_of_the_string_hole() -> None:
    assert heard(SPECS["TARN"], machines("T01", reach_mm=None)) == ()


def test_machines_on_their_own_have_no_spacing() -> None:
    assert heard(SPECS["TARN"], machines("T01", spacing_mm=D("35"))) == ()
    assert heard(replace(SPECS["FELL"], spacing_mm=None), ARTICLES["T10"]) == ()


@pytest.mark.parametrize(("spec", "key"), [("HOLM", "T01"), ("TARN", "T05"), ("NESS", "T05")])
def test_bushings_of_another_kind_are_told_once_and_not_measured(spec: str, key: str) -> None:
    said = {one.rule for one in heard(SPECS[spec], machines(key, bushing_od_mm=D("5")))}
    assert "R05" in said
    assert not said & {"R06", "R07"}


def test_machines_of_another_kind_are_told_once_and_not_measured() -> None:
    odd = {"spacing_mm": D("40"), "button_width_mm": D("60"), "screw_length_mm": D("40")}
    for spec, key in (("TARN", "T11"), ("NESS", "T01"), ("SKERRY", "T09"), ("FELL", "T05")):
        said = {
            one.rule for one in heard(SPECS[spec], machines(key, **odd), heads("11", "11", "11"))
        }
        assert "R02" in said
        assert not said & {"R09", "R10", "R11", "R13", "R14"}


def test_press_in_bushings_have_no_turns() -> None:
    readings = read("turns", least="1") + read("torque", most="9")
    assert heard(SPECS["TARN"], ARTICLES["T01"], readings) == ()


def test_what_was_not_measured_is_not_spoken_of() -> None:
    assert heard(SPECS["TARN"], ARTICLES["T01"]) == ()


# Whatever is said, it is said with its reasons.

WRONG_READINGS = (
    (),
    (
        *heads("10.1", "12.8", "13.2"),
        *(Reading("hole", one, D("8.00")) for one in STRINGS),
        *read("pilot", bit="2.9"),
        *read("collar", depth="3"),
        *read("turns", least="1"),
        *read("torque", most="9"),
        *read("worm", L="0", R="0"),
    ),
    (
        *heads("20.1", "20.2", "20.9"),
        *(Reading("hole", one, D("11.00")) for one in STRINGS),
        *read("pilot", bit="0.6"),
        *read("collar", depth="20"),
    ),
)
WRONG_SETS = (
    *(one for one in ARTICLES.values() if isinstance(one, TunerSet)),
    machines("T01", reach_mm=D("16"), worm=Worm.TIP, worm_right_hand=False),
    machines("T06", bushing_od_mm=D("10.3"), button_width_mm=D("40"), screw_length_mm=D("14")),
    machines("T11", screw_length_mm=D("14"), spacing_mm=D("35.2"), post_mm=D("3")),
    machines("T13", button_width_mm=D("24"), reach_mm=D("40")),
    machines("T09", spacing_mm=D("34.8")),
)


def test_every_finding_of_a_rule_about_machines_says_what_it_rests_on() -> None:
    spoke = set()
    for spec, one, readings in product(SPECS.values(), WRONG_SETS, WRONG_READINGS):
        for finding in heard(spec, one, readings):
            spoke.add(finding.rule)
            basis = finding.basis
            assert basis is not None, finding
            assert basis.title == fit.RULES[finding.rule].title
            assert len(basis.sides) >= 2
            assert all(name and value for name, value in basis.sides)
            assert basis.limit
            assert basis.origin
            assert finding.words.endswith(".")
            assert finding.then.endswith(".")
            if fit.RULES[finding.rule].limits:
                assert basis.reckoning
    assert spoke >= {rule.id for rule in MACHINE_RULES}


def test_every_rule_that_speaks_of_any_article_says_what_it_rests_on() -> None:
    for spec, one in product(SPECS.values(), ARTICLES.values()):
        for finding in fit.article(spec, one):
            assert finding.basis is not None, finding
            assert finding.basis.sides
            assert finding.basis.limit
            assert finding.basis.origin


# A wider tolerance never makes a fit better.

MEASURED = (
    "bushing_od_mm",
    "post_mm",
    "reach_mm",
    "peghead_min_mm",
    "peghead_max_mm",
    "spacing_mm",
)
BUILT = ("bushing_hole_mm", "post_hole_mm", "peghead_mm", "spacing_mm")
CHECKED = {"R06", "R07", "R08", "R09", "R10", "R11", "R12"}
PAIRED = [("TARN", "T01"), ("HOLM", "T06"), ("NESS", "T11"), ("FELL", "T09"), ("VOE", "T12")]

Within = tuple[tuple[str, Tolerance], ...]
small = st.decimals("0", "0.6", places=2)


@st.composite
def limits_and_wider(draw: st.DrawFn, names: tuple[str, ...]) -> tuple[Within, Within]:
    """Tolerances of some dimensions, and the same with none narrower."""
    some: list[tuple[str, Tolerance]] = []
    wider: list[tuple[str, Tolerance]] = []
    for name in draw(st.sets(st.sampled_from(names))):
        below, above, more_below, more_above = (draw(small) for _ in range(4))
        some.append((name, Tolerance(-below, above)))
        wider.append((name, Tolerance(-below - more_below, above + more_above)))
    return tuple(some), tuple(wider)


@st.composite
def fits(draw: st.DrawFn) -> tuple[SpecFacts, TunerSet]:
    """A spec and a set that nearly fit: their dimensions moved by up to half a millimetre."""
    key, set_key = draw(st.sampled_from(PAIRED))
    spec, article = SPECS[key], machines(set_key)
    moved = st.decimals("-0.5", "0.5", places=2)

    def shift(thing: SpecFacts | TunerSet, names: tuple[str, ...]) -> dict[str, Any]:
        found = ((name, getattr(thing, name)) for name in names)
        return {name: value + draw(moved) for name, value in found if value is not None}

    return replace(spec, **shift(spec, BUILT)), replace(article, **shift(article, MEASURED))


def worst(findings: tuple[Finding, ...]) -> dict[str, int]:
    """The worst that each rule said, 0 for a stop."""
    found: dict[str, int] = {}
    for one in findings:
        if one.rule in CHECKED:
            found[one.rule] = min(RANK[one.severity], found.get(one.rule, RANK[one.severity]))
    return found


@settings(deadline=None)
@given(fits(), limits_and_wider(MEASURED), limits_and_wider(BUILT))
def test_a_wider_tolerance_takes_no_finding_away_and_makes_none_milder(
    pair: tuple[SpecFacts, TunerSet], of_set: tuple[Within, Within], of_spec: tuple[Within, Within]
) -> None:
    spec, article = pair
    before, after = (
        worst(
            heard(
                replace(spec, tolerances=of_spec[step]), replace(article, tolerances=of_set[step])
            )
        )
        for step in (0, 1)
    )
    assert before.keys() <= after.keys()
    assert all(after[rule] <= rank for rule, rank in before.items())


# In whatever order.


@settings(deadline=None)
@given(st.permutations(range(len(KITS["TARN"].split()) + 2)))
def test_what_is_said_of_measured_machines_does_not_depend_on_the_order_of_lines(
    order: list[int],
) -> None:
    usual = tray("TARN")
    lines = (*usual.lines, Picked(article=ARTICLES["T04"]), Picked(article=ARTICLES["T10"]))
    readings = Readings(heads("15.3", "15.4", "15.8") + read("hole", s6="8.6", s1="8.9"))
    guitar = replace(call("TARN"), readings=readings)
    shuffled = replace(usual, lines=tuple(lines[place] for place in order))
    told = fit.check(guitar, shuffled)
    assert told == fit.check(guitar, replace(usual, lines=lines))
    assert {"R06", "R08", "R09"} <= {one.rule for one in told}


def test_an_approved_substitute_is_measured_like_what_was_ordered() -> None:
    either = call("TARN", T01=wanted("T01", substitutes=frozenset({"T04"})))
    (finding,) = fit.check(either, tray("TARN", ("T01", "T04")))
    assert finding.rule == "R08"
