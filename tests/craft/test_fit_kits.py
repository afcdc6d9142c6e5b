"""Whole kits under every rule at once: the right ones clean, the likely mix-ups caught.

What is likely to be mixed up is common practice, no source; the numbers are invented.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft import fit
from shop.craft.finding import Severity
from shop.craft.hardware import Article, Guard, Hand, Metal, Nut, Picked, Saddle, TunerFamily
from tests.craft.bench import ARTICLES, KITS, SPECS, D, call, tray, wanted
from tests.craft.variations import changed, explained, rules

MIRRORED = {Hand.RIGHT: Hand.LEFT, Hand.LEFT: Hand.RIGHT, Hand.ANY: Hand.ANY}


def picked(*articles: Article) -> list[Picked]:
    return [Picked(article=one) for one in articles]


@pytest.mark.parametrize("spec", KITS)
def test_the_right_list_of_every_spec_is_clean(spec: str) -> None:
    keys = KITS[spec].split()
    lines = picked(*(ARTICLES[key] for key in keys))
    assert fit.kit(SPECS[spec], [wanted(key) for key in keys], lines) == ()


# A part that looks right, and the one rule that knows better.
MIX_UPS = [
    ("TARN", ARTICLES["P02"], "R18"),  # 5° pins for 3° ones
    ("FELL", ARTICLES["P01"], "R18"),  # and the other way round
    ("TARN", changed("P01", key="P04", slotted=False), "R18"),  # plain pins in plain holes
    ("WOLD", ARTICLES["N01"], "R16"),  # a right slotted nut on a left neck
    ("WOLD", ARTICLES["S01"], "R17"),  # its saddle
    ("WOLD", ARTICLES["G01"], "R22"),  # its guard
    ("HOLM", changed("E02", key="E03", hole_mm=D("12.7")), "R19"),  # 12.7 jack, 12.0 hole
    ("SKERRY", ARTICLES["E04"], "R15"),  # nickel beside chrome
    ("NESS", changed("R01", key="R04", tension_n=818), "R23"),  # medium strings, light top
    ("FIRTH", ARTICLES["C01"], "R24"),  # the right case, but for a longer head
    ("TARN", changed("S01", key="S03", thickness_mm=D("2.35")), "R17"),  # the thin saddle
]


@pytest.mark.parametrize(("spec", "wrong", "rule"), MIX_UPS)
def test_a_part_that_looks_right_is_stopped_by_one_rule(
    spec: str, wrong: Article, rule: str
) -> None:
    findings = fit.article(SPECS[spec], wrong)
    assert [(one.rule, one.severity) for one in findings] == [(rule, Severity.STOP)]


@pytest.mark.parametrize(("spec", "wrong", "rule"), MIX_UPS)
def test_in_the_tray_it_is_also_not_what_was_ordered(spec: str, wrong: Article, rule: str) -> None:
    usual = tray(spec)
    lines = tuple(
        replace(line, article=wrong) if line.article.family is wrong.family else line
        for line in usual.lines
    )
    assert rules(fit.check(call(spec), replace(usual, lines=lines))) == [rule, "R25"]


def test_two_gold_lots_on_one_guitar_are_compared() -> None:
    gold = replace(SPECS["TARN"], metal=Metal.GOLD)
    machines, button = (
        Picked(article=ARTICLES["T02"], lot="31-07A"),
        Picked(article=ARTICLES["E07"], lot="31-09B"),
    )
    (finding,) = fit.kit(gold, [wanted("T02"), wanted("E07")], [machines, button])
    assert (finding.rule, finding.severity) == ("R27", Severity.WARN)
    assert explained(finding)


def test_one_machine_out_of_a_repair_bin_is_neither_ordered_nor_of_the_lot() -> None:
    """It looks and fits alike; only its ratio and its plating differ."""
    usual = tray("TARN")
    single = changed("T01", key="T91", name="single machine, 15:1", ratios=("15:1",))
    lines = tuple(replace(line, lot="31-07A") for line in usual.lines)
    mixed = (*lines, Picked(article=single, lot="30-11C"))
    findings = fit.check(call("TARN"), replace(usual, lines=mixed))
    assert set(rules(findings)) == {"count", "R25", "R27"}
    (lots,) = (one for one in findings if one.rule == "R27")
    assert "30-11C (T91)" in lots.words
    assert "T91" in next(one.words for one in findings if one.rule == "R25")


# Machines in line change sides with the hand, and so does what they are: not a mirror image.
EVEN = [key for key, spec in SPECS.items() if spec.tuner_family is not TunerFamily.LINE]
HANDED = [one for one in ARTICLES.values() if isinstance(one, Nut | Saddle | Guard)]


@given(st.sampled_from(EVEN), st.sampled_from(HANDED), st.sampled_from(list(Hand)))
def test_a_guitar_and_its_mirror_image_are_judged_alike(
    key: str, article: Nut | Saddle | Guard, hand: Hand
) -> None:
    spec = SPECS[key]
    guard = spec.guard and MIRRORED[spec.guard]
    mirror = replace(spec, hand=MIRRORED[spec.hand], guard=guard)
    told = fit.article(spec, replace(article, hand=hand))
    assert rules(fit.article(mirror, replace(article, hand=MIRRORED[hand]))) == rules(told)


@given(st.sampled_from(sorted(set(KITS) - {"VOE"})), st.data())
def test_a_list_is_judged_alike_in_whatever_order_it_is_written(
    spec: str, data: st.DataObject
) -> None:
    wrong = {"N01": "N02", "S01": "S04", "P01": "P02", "E02": "E01", "G01": "G02", "R01": "R03"}
    keys = [wrong.get(key, key) for key in KITS[spec].split()]
    listed = [wanted(key) for key in keys]
    lines = picked(*(ARTICLES[key] for key in keys))
    told = fit.kit(SPECS[spec], listed, lines)
    shuffled = data.draw(st.permutations(lines))
    assert fit.kit(SPECS[spec], listed, shuffled) == told
    assert told
