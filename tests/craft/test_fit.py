"""Trays against guitars, on the invented workshop of :mod:`tests.craft.bench`.

The limits and the traps are common practice, no source; the numbers are invented.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft.finding import Finding, Severity
from shop.craft.fit import check
from shop.craft.hardware import (
    Call,
    Family,
    Guard,
    Hand,
    Metal,
    Nut,
    Picked,
    StrapButton,
    TrayFacts,
    TunerSet,
)
from tests.craft.bench import ARTICLES, KITS, SPECS, call, tray, wanted


def rules(findings: tuple[Finding, ...]) -> list[str]:
    return [one.rule for one in findings]


def said(findings: tuple[Finding, ...], rule: str) -> Finding:
    """The first finding of a rule."""
    return next(one for one in findings if one.rule == rule)


def with_machines(key: str, left: int | None, right: int | None, spec: str = "TARN") -> TrayFacts:
    """A usual tray whose machines lie counted in their wells."""
    usual = tray(spec)
    machines, *others = usual.lines
    assert machines.article.family is Family.TUNERS
    counted = Picked(article=ARTICLES[key], left_counted=left, right_counted=right)
    return replace(usual, lines=(counted, *others))


def with_nut(spec: str, **facts: object) -> tuple[Call, TrayFacts]:
    """A guitar and its usual tray, the nut changed but not its key, so that only R16 speaks."""
    usual = tray(spec)
    lines = tuple(
        replace(line, article=replace(line.article, **facts))  # type: ignore[arg-type]
        if isinstance(line.article, Nut)
        else line
        for line in usual.lines
    )
    return call(spec), replace(usual, lines=lines)


@pytest.mark.parametrize("spec", KITS)
def test_the_right_kit_of_every_spec_is_clean(spec: str) -> None:
    assert check(call(spec), tray(spec)) == ()


def test_a_custom_order_in_the_agreed_metal_is_clean() -> None:
    gold = call(
        "TARN",
        T01=wanted("T02", approved_metal=Metal.GOLD),
        E04=wanted("E07", approved_metal=Metal.GOLD),
    )
    assert check(gold, tray("TARN", ("T01", "T02"), ("E04", "E07"))) == ()


# Plausible, but wrong.

TRAPS = [
    ("WOLD", "T15", "T14", {"R03", "R25"}),  # the graduated set of the other hand
    ("HOLM", "T06", "T14", {"R25"}),  # graduated where the plain set was ordered
    ("WOLD", "N02", "N01", {"R16", "R25"}),  # a right slotted nut in a left guitar
    ("SKERRY", "E06", "E04", {"R15", "R25"}),  # nickel beside chrome
    ("SKERRY", "T07", "T08", {"R03", "R04", "R25"}),  # six in line of the other side
    ("TARN", "T01", "T03", {"R06", "R25"}),  # a small bushing: it falls out
    ("TARN", "T01", "T04", {"R08", "R25"}),  # a thick post: it binds
    ("TARN", "T01", "T02", {"R15", "R25"}),  # gold nobody ordered
    ("FELL", "T09", "T10", {"R11", "R25"}),  # a wide plate: its first two posts go in
    ("FIRTH", "T13", "T01", {"R01", "R06", "R25"}),  # six for twelve strings, wide bushings too
    ("TARN", "T01", "T11", {"R02", "R05", "R25"}),  # slotted plates for a solid head
    ("TARN", "T01", "T05", {"R05", "R15", "R25"}),  # threaded for press-in
    ("NESS", "T11", "T12", {"R12", "R15", "R25"}),  # wide rollers, and gold
    ("TARN", "N01", "N05", {"R16", "R25"}),  # a narrower nut
    ("TARN", "P01", "P02", {"R18", "R25"}),  # pins of another taper
]


@pytest.mark.parametrize(("spec", "right", "wrong", "found"), TRAPS)
def test_a_plausible_but_wrong_article_is_stopped_by_its_rules(
    spec: str, right: str, wrong: str, found: set[str]
) -> None:
    findings = check(call(spec), tray(spec, (right, wrong)))
    assert set(rules(findings)) == found
    assert all(one.severity is Severity.STOP for one in findings)
    assert rules(findings)[-1] == "R25"


@pytest.mark.parametrize(("spec", "right", "wrong", "found"), TRAPS)
def test_every_stop_has_words_a_next_step_and_somebody_to_call(
    spec: str, right: str, wrong: str, found: set[str]
) -> None:
    for one in check(call(spec), tray(spec, (right, wrong))):
        assert one.words.endswith(".")
        assert one.then.endswith(".")
        assert one.call in {"clerk", "lead"}


# Whose tray it is.


def test_a_tray_of_another_body_is_named_before_any_fit_rule() -> None:
    findings = check(call("WOLD"), tray("TARN", serial="Q-1055"))
    assert rules(findings) == ["tray"]
    (swap,) = findings
    assert swap.words == "Tray T7K2-M4C is for Q-1055. The body in front of you is Q-1043."
    assert "Q-1055" in swap.then
    assert "Q-1043" in swap.then


def test_a_tray_of_another_body_is_stopped_even_if_its_kit_would_fit() -> None:
    assert rules(check(call("TARN"), tray("TARN", serial="Q-1044"))) == ["tray"]


def test_a_tray_built_to_an_older_revision_is_stopped_with_both_revisions() -> None:
    findings = check(call("TARN"), tray("TARN", revision=1))
    assert rules(findings) == ["revision"]
    assert "TARN revision 1" in findings[0].words
    assert "TARN revision 2" in findings[0].words


def test_a_tray_built_to_another_spec_is_stopped() -> None:
    assert rules(check(call("TARN"), replace(tray("TARN"), spec="HOLM"))) == ["revision"]


# What is missing, what is too much.


def without(usual: TrayFacts, *keys: str) -> TrayFacts:
    return replace(usual, lines=tuple(line for line in usual.lines if line.article.key not in keys))


def test_a_line_noted_as_short_is_named_and_lets_the_work_go_on_with_a_reason() -> None:
    short = replace(without(tray("TARN"), "R01", "C01"), missing=(wanted("C01"), wanted("R01")))
    (finding,) = check(call("TARN"), short)
    assert (finding.rule, finding.severity) == ("missing", Severity.WARN)
    assert finding.words == "PARTIAL tray, 2 lines still to come: R01 light 6; C01 hard case."


def test_a_line_that_is_absent_and_not_noted_is_stopped() -> None:
    (finding,) = check(call("TARN"), without(tray("TARN"), "T01"))
    assert (finding.rule, finding.severity) == ("count", Severity.STOP)
    assert finding.words == (
        "Tuning machines: 0 in the tray, 1 on this guitar's list and not noted as short."
    )


def test_a_line_the_guitar_does_not_take_is_stopped_once() -> None:
    usual = tray("NESS")
    extra = replace(usual, lines=(*usual.lines, Picked(article=ARTICLES["G01"])))
    (finding,) = check(call("NESS"), extra)
    assert finding.rule == "count"
    assert finding.words == "Pickguard: 1 in the tray (G01), 0 on this guitar's list."


def test_two_of_one_is_one_too_many() -> None:
    usual = tray("HOLM")
    lines = tuple(
        replace(line, quantity=2) if line.article.family is Family.BATTERY else line
        for line in usual.lines
    )
    (finding,) = check(call("HOLM"), replace(usual, lines=lines))
    assert finding.rule == "count"
    assert "2 in the tray (V01), 1 on this guitar's list" in finding.words


def test_stops_stand_before_the_warning_of_a_partial_tray() -> None:
    short = replace(without(tray("TARN", ("T01", "T05")), "R01"), missing=(wanted("R01"),))
    assert rules(check(call("TARN"), short)) == ["R05", "R15", "R25", "missing"]


# Machines.


def test_the_count_of_machines_comes_with_both_numbers() -> None:
    finding = said(check(call("FIRTH"), tray("FIRTH", ("T13", "T01"))), "R01")
    assert finding.words == "6 machines in the tray, this guitar needs 12."
    assert finding.then == "Give T01 back to the clerk and take T13 12-string solo set."


def test_machines_counted_seven_and_five_are_stopped_with_the_exchange_to_make() -> None:
    (finding,) = check(call("FIRTH"), with_machines("T13", 7, 5, "FIRTH"))
    assert finding.rule == "R04"
    assert finding.words.startswith("7 left and 5 right in the tray. This head needs 6 left and 6")
    assert finding.then == ("The clerk exchanges 1 left machine for right of the same set and lot.")


def test_six_machines_of_which_four_are_left_are_stopped() -> None:
    assert rules(check(call("TARN"), with_machines("T01", 4, 2))) == ["R04"]
    assert rules(check(call("TARN"), with_machines("T01", 2, 4))) == ["R04"]


def test_wells_that_hold_too_few_machines_are_counted_again() -> None:
    (finding,) = check(call("TARN"), with_machines("T01", 3, 2))
    assert finding.rule == "R04"
    assert finding.then == "The clerk counts both wells and makes the set up to 6 machines."


def test_one_well_counted_is_judged_with_the_sets_own_other_side() -> None:
    assert check(call("TARN"), with_machines("T01", None, 3)) == ()
    assert rules(check(call("TARN"), with_machines("T01", 2, None))) == ["R04"]


def test_wells_counted_are_told_even_where_the_whole_set_is_too_small() -> None:
    findings = check(call("FIRTH"), with_machines("T01", 3, 3, "FIRTH"))
    assert rules(findings) == ["R01", "R04", "R06", "R25"]


def test_wells_counted_right_are_clean() -> None:
    assert check(call("SKERRY"), with_machines("T07", 6, 0, "SKERRY")) == ()


def test_a_plain_set_fits_a_left_handed_head_unchanged() -> None:
    left = call("WOLD", T15=wanted("T06"))
    assert check(left, tray("WOLD", ("T15", "T06"))) == ()


def test_a_reversed_head_takes_the_machines_of_the_other_side() -> None:
    spec = replace(SPECS["SKERRY"], reversed_line=True)
    turned = replace(call("SKERRY", T07=wanted("T08")), spec=spec)
    assert check(turned, tray("SKERRY", ("T07", "T08"))) == ()
    assert rules(check(replace(call("SKERRY"), spec=spec), tray("SKERRY"))) == ["R04"]


def test_the_wrong_bushing_warns_against_drilling_and_calls_the_lead() -> None:
    finding = said(check(call("TARN"), tray("TARN", ("T01", "T05"))), "R05")
    assert "made for press-in bushings, this set has threaded bushings" in finding.words
    assert "Do not drill or ream" in finding.words
    assert finding.call == "lead"


def test_a_list_that_asks_for_what_does_not_fit_is_taken_to_the_lead() -> None:
    mistaken = call("TARN", T01=wanted("T05"))
    finding = said(check(mistaken, tray("TARN", ("T01", "T05"))), "R05")
    assert (
        finding.then == "Fit nothing. The list itself asks for T05: the lead must look at the list."
    )


# Nut.


@pytest.mark.parametrize("width", ["44.40", "44.50", "44.60"])
def test_a_nut_within_a_tenth_of_its_width_fits(width: str) -> None:
    """±0.10 mm is common practice, no source."""
    assert check(*with_nut("TARN", width_mm=Decimal(width))) == ()


@pytest.mark.parametrize("width", ["44.39", "44.61"])
def test_a_nut_beyond_a_tenth_of_its_width_is_stopped(width: str) -> None:
    """±0.10 mm is common practice, no source."""
    (finding,) = check(*with_nut("TARN", width_mm=Decimal(width)))
    assert finding.rule == "R16"
    assert width in finding.words
    assert "44.5" in finding.words


def test_each_difference_of_a_nut_is_told() -> None:
    findings = check(call("FIRTH"), tray("FIRTH", ("N03", "N02")))
    assert rules(findings) == ["R16", "R16", "R16", "R16", "R25"]
    text = " ".join(one.words for one in findings)
    for part in ("44.5", "47.6", "6 strings", "has 12", "38.1", "pairs", "left-handed"):
        assert part in text


def test_a_spread_other_than_the_specs_is_stopped() -> None:
    (finding,) = check(*with_nut("TARN", spread_mm=Decimal("36.6")))
    assert (finding.rule, "36.6" in finding.words, "38.1" in finding.words) == ("R16", True, True)


def test_a_nut_slotted_for_the_other_hand_says_where_its_widest_slot_would_be() -> None:
    finding = said(check(call("WOLD"), tray("WOLD", ("N02", "N01"))), "R16")
    assert "slotted right-handed, this guitar is left-handed" in finding.words
    assert "under string 1" in finding.words


def test_a_blank_without_slots_has_no_hand_and_no_spread() -> None:
    assert check(*with_nut("WOLD", slotted=False, hand=Hand.RIGHT, spread_mm=None)) == ()


# Colour and order.


def test_nickel_beside_chrome_is_said_to_look_alike() -> None:
    finding = said(check(call("SKERRY"), tray("SKERRY", ("E06", "E04"))), "R15")
    assert finding.words.startswith("E04 heel button is nickel, this guitar's metal is chrome.")
    assert "compare at a window" in finding.words
    other = said(check(call("HOLM"), tray("HOLM", ("E05", "E07"))), "R15")
    assert "window" not in other.words


def test_every_metal_part_that_shows_is_asked() -> None:
    usual = tray("TARN")
    lines = tuple(
        replace(line, article=replace(line.article, metal=Metal.BLACK)) for line in usual.lines
    )
    findings = check(call("TARN"), replace(usual, lines=lines))
    assert rules(findings) == ["R15"] * len(lines)


def test_the_usual_metal_is_wrong_where_the_buyer_agreed_to_another() -> None:
    gold = call("TARN", T01=wanted("T02", approved_metal=Metal.GOLD))
    findings = check(gold, tray("TARN"))
    assert rules(findings) == ["R15", "R25"]
    assert "the buyer agreed to gold" in findings[0].words


def test_an_approved_metal_holds_for_its_own_line_only() -> None:
    gold = call("TARN", T01=wanted("T02", approved_metal=Metal.GOLD))
    assert rules(check(gold, tray("TARN", ("T01", "T02"), ("E04", "E07")))) == ["R15", "R25"]


def test_an_article_that_fits_but_was_not_ordered_is_stopped_as_such() -> None:
    (finding,) = check(call("HOLM"), tray("HOLM", ("T06", "T14")))
    assert finding.words == (
        "T14 graduated set, right may fit, but it is not what was ordered: T06 sealed solo set."
    )
    assert finding.call == "lead"


def test_an_article_that_neither_fits_nor_was_ordered_is_not_said_to_fit() -> None:
    finding = said(check(call("WOLD"), tray("WOLD", ("T15", "T14"))), "R25")
    assert "may fit" not in finding.words
    assert "also not what was ordered: T15" in finding.words


def test_an_approved_substitute_counts_as_ordered() -> None:
    either = call("HOLM", T06=wanted("T06", substitutes=frozenset({"T14"})))
    assert check(either, tray("HOLM", ("T06", "T14"))) == ()


def test_each_of_two_lines_of_one_family_answers_for_its_own_article() -> None:
    usual = call("TARN")
    second = wanted("E07", approved_metal=Metal.GOLD)
    both = replace(usual, kit=(*usual.kit, second))
    lines = (*tray("TARN").lines, Picked(article=ARTICLES["E07"]))
    assert check(both, replace(tray("TARN"), lines=lines)) == ()


# In whatever order.


@given(st.permutations(range(len(KITS["HOLM"].split()))), st.sampled_from(["T14", "T05", "T01"]))
def test_the_findings_do_not_depend_on_the_order_in_the_tray(order: list[int], set_: str) -> None:
    usual = tray("HOLM", ("T06", set_), ("E05", "E07"), ("N01", "N02"))
    shuffled = replace(usual, lines=tuple(usual.lines[place] for place in order))
    assert check(call("HOLM"), shuffled) == check(call("HOLM"), usual)


def test_two_wrong_articles_of_one_family_are_told_in_one_order() -> None:
    lines = [Picked(article=ARTICLES[key]) for key in ("T05", "T11", "T13")]
    others = without(tray("TARN"), "T01").lines
    told = {
        check(call("TARN"), replace(tray("TARN"), lines=(*some, *others)))
        for some in permutations(lines)
    }
    assert len(told) == 1


def test_the_articles_tried_are_of_the_families_they_claim() -> None:
    assert isinstance(ARTICLES["T01"], TunerSet)
    assert isinstance(ARTICLES["E04"], StrapButton)
    assert isinstance(ARTICLES["G01"], Guard)
    assert {ARTICLES[key].family for key in KITS["HOLM"].split()} == set(Family)
