"""The rules of a fit as a whole: which there are, in which order, and what they go by.

The order a person checks in is common practice, no source.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import fields, replace
from typing import Any

import pytest

from shop.craft import fit
from shop.craft.finding import Severity
from shop.craft.fit import moment, placing
from shop.craft.fit.rule import Rule
from shop.craft.gauging import QUANTITIES
from shop.craft.hardware import FAMILY_OF, Picked, SpecFacts, TunerSet
from shop.craft.reading import Reading, Readings
from tests.craft.bench import ARTICLES, SPECS, D, call, tray

# Count, family, hand, sides and bushing in the tray; then with gauges; then with the drill.
MACHINES_IN_ORDER = (
    "R01", "R02", "R03", "R04", "R05",
    "R06", "R07", "R08", "R12", "R09", "R10", "R14", "R11", "R13",
    "R28", "R29", "R30",
)  # fmt: skip

LIMITED = (*fit.RULES.values(), *moment.RULES)  # the rules a lead may set limits of


def test_machines_are_looked_at_in_the_order_of_the_bench() -> None:
    of_machines = [one.id for one in fit.RULES.values() if one.of is TunerSet]
    assert of_machines == list(MACHINES_IN_ORDER)


def test_a_rule_is_declared_once() -> None:
    declared = Counter(one.id for family in fit.FAMILIES for one in family.RULES)
    assert set(declared.values()) == {1}
    assert list(fit.RULES) == list(declared)


def test_where_machines_sit_is_asked_apart() -> None:
    assert not {one.id for one in placing.RULES} & fit.RULES.keys()


def test_a_limit_is_named_after_its_rule() -> None:
    for one in LIMITED:
        for limit in one.limits:
            assert limit.name.startswith(f"{one.id}.")
            assert fit.LIMITS[limit.name] is limit


def test_a_limit_is_declared_once() -> None:
    declared = Counter(limit.name for one in LIMITED for limit in one.limits)
    assert set(declared.values()) == {1}
    assert list(fit.LIMITS) == list(declared)


@pytest.mark.parametrize("rule", [one for one in fit.RULES.values() if one.of is TunerSet])
def test_what_a_rule_of_machines_reads_is_a_fact_or_is_measured(rule: Rule[Any]) -> None:
    known = {one.name for kind in (TunerSet, SpecFacts) for one in fields(kind)}
    known |= {"posts"}
    assert set(rule.reads) <= known | QUANTITIES.keys()


def test_each_quantity_of_the_machines_is_judged_by_its_rules() -> None:
    assert fit.rules_reading({"hole"}) == {"R06", "R07", "R12"}
    assert fit.rules_reading({"peghead"}) == {"R09", "R10", "R14"}
    assert fit.rules_reading({"pilot"}) == fit.rules_reading({"collar"}) == {"R28"}
    assert fit.rules_reading({"turns", "torque"}) == {"R29"}
    assert fit.rules_reading({"worm"}) == {"R30"}
    assert fit.rules_reading(()) == frozenset()


def test_the_findings_of_one_line_come_in_the_order_of_the_rules_stops_first() -> None:
    readings = Readings(
        (
            Reading("peghead", "tip", D("12.9")),
            Reading("peghead", "middle", D("12.9")),
            Reading("peghead", "nut", D("13.3")),
            Reading("hole", "6", D("8.60")),
            Reading("pilot", "bit", D("2.0")),
            Reading("worm", "R", D("0")),
        )
    )
    measured = replace(call("TARN"), readings=readings)
    findings = fit.check(measured, tray("TARN", ("T01", "T04")))
    stops = [one.rule for one in findings if one.severity is Severity.STOP]
    others = [one.rule for one in findings if one.severity is not Severity.STOP]
    assert stops == ["R06", "R08", "R28", "R30", "R25"]
    assert others == ["R09", "R09"]
    assert [one.rule for one in findings] == stops + others


def test_every_line_is_looked_at_for_its_colour_before_any_is_measured() -> None:
    """A black button beside machines whose bushing falls out: the eye comes before the gauge."""
    findings = fit.check(call("TARN"), tray("TARN", ("T01", "T03"), ("E04", "E05")))
    assert [one.rule for one in findings] == ["R15", "R06", "R25", "R25"]


def test_what_is_asked_of_some_measures_leaves_the_rest_of_the_tray_alone() -> None:
    thick = tuple(Reading("peghead", one, D("15.8")) for one in ("tip", "middle", "nut"))
    measured = replace(call("TARN"), readings=Readings(thick))
    wrong = tray("TARN", ("T01", "T02"), ("N01", "N02"))
    assert [one.rule for one in fit.measured(measured, wrong.lines, {"peghead"})] == ["R09"]
    assert fit.measured(measured, wrong.lines, {"hole"}) == ()


def test_one_set_against_one_spec_says_what_a_tray_of_it_would() -> None:
    """Whatever was ordered: only who is sent where differs."""
    for key in ("T03", "T04", "T05", "T11", "T14"):
        alone = fit.article(SPECS["TARN"], ARTICLES[key])
        in_tray = fit.check(call("TARN"), tray("TARN", ("T01", key)))
        assert [(one.rule, one.words) for one in alone] == [
            (one.rule, one.words) for one in in_tray if one.rule != "R25"
        ]
        assert all("clerk" not in one.then for one in alone)


def test_a_list_of_the_catalogue_is_judged_without_any_tray() -> None:
    usual = call("FELL").kit
    lines = [Picked(article=ARTICLES[one.key]) for one in usual]
    assert fit.kit(SPECS["FELL"], usual, lines) == ()
    wide = [Picked(article=ARTICLES["T10"]) if one.article.key == "T09" else one for one in lines]
    assert [one.rule for one in fit.kit(SPECS["FELL"], usual, wide)] == ["R11", "R25"]


def test_every_family_of_articles_has_its_place_in_the_order() -> None:
    assert [one.rank for one in FAMILY_OF.values()] == list(range(len(FAMILY_OF)))
