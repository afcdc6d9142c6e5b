"""The parts on the body and what goes along: tail, strap button, electronics, guard, case.

The limits and the numbers are common practice, no source.
"""

from __future__ import annotations

import doctest
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft import fit
from shop.craft.finding import Finding, Severity
from shop.craft.fit import electronics
from shop.craft.fit.electronics import months_after
from shop.craft.hardware import Article, Electronics, Hand, Picked, TrayFacts
from shop.craft.size import Tolerance
from shop.craft.words import THIN
from tests.craft.bench import ARTICLES, KITS, SPECS, D, call, tray, wanted
from tests.craft.variations import changed, explained, fitted, readings_of, rules

STOP, WARN = Severity.STOP, Severity.WARN

WIDE_JACK = changed("E02", key="E03", name="end jack, wide", hole_mm=D("12.7"))


# Tail.


@pytest.mark.parametrize("hole", ["11.9", "12.0", "12.1"])
def test_a_jack_in_its_own_hole_is_quiet(hole: str) -> None:
    assert fitted("HOLM", tail={"hole_mm": D(hole)}) == ()
    assert fitted("HOLM", read={("tail_hole", "tail"): hole}) == ()


@pytest.mark.parametrize("hole", ["11.89", "12.11"])
def test_a_jack_for_another_hole_is_stopped(hole: str) -> None:
    (finding,) = fitted("HOLM", tail={"hole_mm": D(hole)})
    assert (finding.rule, finding.severity) == ("R19", STOP)
    assert f"needs a hole of {hole}{THIN}mm, this one is 12{THIN}mm" in finding.words
    assert finding.then == (
        "Do not ream it. Fit nothing. The list itself asks for E02: the lead must look at the list."
    )
    assert finding.call == "clerk"


def test_the_wider_of_two_like_jacks_is_stopped_by_its_hole_alone() -> None:
    findings = fit.article(SPECS["HOLM"], WIDE_JACK)
    assert rules(findings) == ["R19"]
    assert f"needs a hole of 12.7{THIN}mm, this one is 12{THIN}mm" in findings[0].words


def test_a_hole_gauged_off_is_taken_to_the_lead_and_the_jack_stays() -> None:
    (finding,) = fitted("HOLM", read={("tail_hole", "tail"): "12.15"})
    assert (finding.rule, finding.call) == ("R19", "lead")
    assert finding.then == "Do not ream it. It is the hole that is off. Call the lead."


def test_a_hole_is_judged_at_the_worst_of_its_tolerance() -> None:
    close = {"tolerances": (("tail_hole_mm", Tolerance(D("-0.1"), D("0.1"))),)}
    assert fitted("HOLM", spec=close) == ()
    for lower, upper in (("-0.11", "0"), ("0", "0.11")):
        coarse = {"tolerances": (("tail_hole_mm", Tolerance(D(lower), D(upper))),)}
        assert rules(fitted("HOLM", spec=coarse)) == ["R19"]


def test_a_pin_where_a_jack_belongs_is_stopped_by_its_kind_alone() -> None:
    (finding,) = fit.article(SPECS["HOLM"], ARTICLES["E01"])
    assert finding.words == "E01 is an end pin, this guitar takes an end jack."
    (other,) = fit.article(SPECS["TARN"], ARTICLES["E02"])
    assert other.words == "E02 is an end jack, this guitar takes an end pin."
    (none,) = fit.article(SPECS["VOE"], ARTICLES["E01"])
    assert none.words == "E01 is an end pin, this guitar takes nothing at the tail."


def test_a_pin_in_the_tray_of_a_guitar_that_takes_none_is_told_once() -> None:
    usual = tray("VOE")
    lines = (*usual.lines, Picked(article=ARTICLES["E01"]))
    assert rules(fit.check(call("VOE"), replace(usual, lines=lines))) == ["count"]


@pytest.mark.parametrize("block", ["8", "20", "34"])
def test_a_tail_block_within_the_grip_of_the_jack_is_quiet(block: str) -> None:
    assert fitted("HOLM", spec={"tail_block_mm": D(block)}) == ()
    assert fitted("HOLM", read={("tail_block", "tail"): block}) == ()


@pytest.mark.parametrize(
    ("block", "does"),
    [("7.99", "it will not draw tight"), ("34.01", "its nut will not reach the thread")],
)
def test_a_tail_block_beyond_the_grip_of_the_jack_is_stopped(block: str, does: str) -> None:
    (spec,) = fitted("HOLM", spec={"tail_block_mm": D(block)})
    (gauged,) = fitted("HOLM", read={("tail_block", "tail"): block})
    for finding in (spec, gauged):
        assert (finding.rule, finding.severity) == ("R20", STOP)
        assert block in finding.words
        assert does in finding.words
    assert (spec.call, gauged.call) == ("clerk", "lead")
    assert gauged.then == "Fit nothing. Ask the lead for a jack of another length."


def test_a_block_of_38_is_told_with_what_the_jack_grips_to() -> None:
    (finding,) = fitted("HOLM", read={("tail_block", "tail"): "38"})
    assert finding.words.replace(THIN, " ").startswith(
        "Tail block is 38 mm; jack E02 grips to 34 mm"
    )


def test_the_grip_holds_at_the_worst_of_block_and_jack() -> None:
    block = {"tail_block_mm": D(33), "tolerances": (("tail_block_mm", Tolerance(D(0), D(1))),)}
    assert fitted("HOLM", spec=block) == ()
    grip = {"tolerances": (("grip_max_mm", Tolerance(D("-0.1"), D(0))),)}
    assert rules(fitted("HOLM", spec=block, tail=grip)) == ["R20"]
    thin = {"tail_block_mm": D(9), "tolerances": (("tail_block_mm", Tolerance(D(-1), D(0))),)}
    assert fitted("HOLM", spec=thin) == ()
    grip = {"tolerances": (("grip_min_mm", Tolerance(D(0), D("0.1"))),)}
    assert rules(fitted("HOLM", spec=thin, tail=grip)) == ["R20"]


def test_an_end_pin_and_a_jack_without_a_range_have_no_grip() -> None:
    assert fitted("TARN", spec={"tail_block_mm": D(70)}) == ()
    open_ended = {"grip_min_mm": None, "grip_max_mm": None}
    assert fitted("HOLM", spec={"tail_block_mm": D(70)}, tail=open_ended) == ()


# Strap button.


def test_a_strap_button_clear_of_the_bolts_is_quiet() -> None:
    assert fitted("TARN", read={("strap", "heel"): "5"}) == ()


@pytest.mark.parametrize("distance", ["4.99", "0"])
def test_a_strap_button_over_a_bolt_is_stopped_before_the_drill(distance: str) -> None:
    (finding,) = fitted("TARN", read={("strap", "heel"): distance})
    assert (finding.rule, finding.severity) == ("R31", STOP)
    assert finding.words.startswith(distance)
    assert finding.then.startswith("Do not drill here.")


def test_the_spot_is_judged_while_the_button_itself_is_short() -> None:
    guitar = replace(call("TARN"), readings=readings_of({("strap", "heel"): "2"}))
    lines = [line for line in tray("TARN").lines if line.article.key != "E04"]
    assert rules(fit.measured(guitar, lines, {"strap"})) == ["R31"]


# Electronics.


def listed(spec: str, *keys: str, extra: tuple[Article, ...] = ()) -> tuple[Finding, ...]:
    """The whole list of a spec, made of these articles, asked as the catalogue asks it."""
    articles = [*(ARTICLES[key] for key in keys), *extra]
    lines = [wanted(key) for key in keys] + [
        replace(wanted("X01"), key=one.key, name=one.name, family=one.family) for one in extra
    ]
    return fit.kit(SPECS[spec], lines, [Picked(article=one) for one in articles])


def keys_of(spec: str, *without: str) -> list[str]:
    return [key for key in KITS[spec].split() if key not in without]


@pytest.mark.parametrize(
    ("without", "missing"), [("X01", "Electronics missing"), ("V01", "Battery missing")]
)
def test_a_list_without_unit_or_battery_is_stopped(without: str, missing: str) -> None:
    (finding,) = listed("HOLM", *keys_of("HOLM", without))
    assert (finding.rule, finding.severity, finding.call) == ("R21", STOP, "lead")
    assert finding.words.startswith(missing)
    assert rules(listed("HOLM", *keys_of("HOLM", "X01", "V01"))) == ["R21", "R21"]


def test_a_unit_or_a_battery_of_another_kind_is_stopped() -> None:
    (unit,) = fitted("HOLM", electronics={"battery": "2×AA"})
    assert unit.words == ("X01 under-saddle element runs on 2×AA, HOLM revision 2 is made for 9V.")
    (battery,) = fitted("HOLM", battery={"kind": "AA"})
    assert battery.words == ("V01 9 V battery is AA, the electronics of HOLM revision 2 take 9V.")
    for one in (unit, battery):
        assert (one.rule, one.severity) == ("R21", STOP)
        assert one.basis is not None
        assert one.basis.sides[1] == ("HOLM revision 2", "9V")


def test_a_spec_without_electronics_takes_neither_unit_nor_battery() -> None:
    findings = listed("TARN", *keys_of("TARN"), "X01", "V01")
    assert rules(findings) == ["R21", "R21"]
    assert "TARN revision 2 has no electronics: X01" in findings[0].words
    assert findings[0].basis is not None
    assert findings[0].basis.sides[1] == ("TARN revision 2", "no electronics")


def in_tray(spec: str, *without: str, missing: tuple[str, ...] = ()) -> TrayFacts:
    usual = tray(spec)
    return replace(
        usual,
        lines=tuple(line for line in usual.lines if line.article.key not in without),
        missing=tuple(wanted(key) for key in missing),
    )


def test_a_battery_short_in_the_tray_is_told_once() -> None:
    """The count or the note of a short line says it; the list itself is complete."""
    assert rules(fit.check(call("HOLM"), in_tray("HOLM", "V01"))) == ["count"]
    noted = in_tray("HOLM", "V01", missing=("V01",))
    assert rules(fit.check(call("HOLM"), noted)) == ["missing"]


def test_a_unit_in_the_tray_of_a_guitar_without_electronics_is_told_once() -> None:
    usual = tray("TARN")
    lines = (*usual.lines, Picked(article=ARTICLES["X01"]))
    assert rules(fit.check(call("TARN"), replace(usual, lines=lines))) == ["count"]


def test_a_battery_that_goes_to_the_bench_by_batch_is_not_missed_in_the_tray() -> None:
    by_batch = {"V01", "G01", "R01", "C01"}
    kit = tuple(line for line in call("HOLM").kit if line.key not in by_batch)
    for_tray = replace(call("HOLM"), kit=kit, whole=False)
    assert fit.check(for_tray, in_tray("HOLM", *by_batch)) == ()


def test_a_whole_list_without_a_battery_is_stopped_at_the_tray_too() -> None:
    kit = tuple(line for line in call("HOLM").kit if line.key != "V01")
    assert rules(fit.check(replace(call("HOLM"), kit=kit), in_tray("HOLM", "V01"))) == ["R21"]


# Battery.

SHIPS = date(2031, 3, 14)


@pytest.mark.parametrize(
    ("best_before", "fresh"),
    [(date(2032, 3, 14), True), (date(2032, 3, 13), False), (date(2031, 1, 1), False)],
)
def test_a_battery_keeps_a_year_beyond_shipping(best_before: date, fresh: bool) -> None:
    findings = fitted("HOLM", best_before=best_before, ship_on=SHIPS)
    assert [(one.rule, one.severity) for one in findings] == ([] if fresh else [("R35", WARN)])
    for one in findings:
        assert f"best before {best_before}" in one.words
        assert "less than 12 months" in one.words


def test_a_battery_of_unknown_age_or_a_guitar_without_a_date_says_nothing() -> None:
    assert fitted("HOLM", ship_on=SHIPS) == ()
    assert fitted("HOLM", best_before=date(2020, 1, 1)) == ()


@pytest.mark.parametrize(
    ("day", "months", "due"),
    [
        (date(2031, 1, 31), 1, date(2031, 2, 28)),
        (date(2028, 2, 29), 12, date(2029, 2, 28)),
        (date(2027, 2, 28), 12, date(2028, 2, 28)),
        (date(2031, 12, 1), 1, date(2032, 1, 1)),
        (date(2031, 6, 30), 0, date(2031, 6, 30)),
    ],
)
def test_months_are_counted_by_the_calendar(day: date, months: int, due: date) -> None:
    """The last of a shorter month stands for the days it lacks; leap years by the calendar."""
    assert months_after(day, months) == due


def test_the_example_of_months_holds() -> None:
    assert doctest.testmod(electronics) == (0, 1)


@given(st.dates(date(2000, 1, 1), date(2100, 1, 1)), st.integers(0, 60))
def test_so_many_months_on_is_never_further_off_than_the_longest_ones(
    day: date, months: int
) -> None:
    due = months_after(day, months)
    assert (due.year - day.year) * 12 + due.month - day.month == months
    assert timedelta(0) <= due - day <= timedelta(days=31 * months)


def test_part_of_a_month_asked_for_counts_as_a_whole_one() -> None:
    day = date(2032, 3, 14)
    assert fitted("HOLM", best_before=day, ship_on=SHIPS, limits={"R35.months": "12"}) == ()
    more = fitted("HOLM", best_before=day, ship_on=SHIPS, limits={"R35.months": "12.5"})
    assert "less than 13 months" in more[0].words


def test_a_battery_left_bare_is_told_before_the_box() -> None:
    assert fitted("HOLM", read={("insulated", "battery"): "1"}) == ()
    (finding,) = fitted("HOLM", read={("insulated", "battery"): "0"})
    assert (finding.rule, finding.severity) == ("R35", WARN)
    assert finding.then.startswith("Insulate before boxing")


# Guard.


def test_a_guard_of_the_other_hand_is_stopped() -> None:
    (finding,) = fit.article(SPECS["TARN"], ARTICLES["G02"])
    assert (finding.rule, finding.severity) == ("R22", STOP)
    assert "Guard G02 is left-handed, this guitar takes a right-handed one." in finding.words
    assert rules(fit.article(SPECS["WOLD"], ARTICLES["G01"])) == ["R22"]
    assert fitted("TARN", guard={"hand": Hand.ANY}) == ()


def test_a_guard_on_a_list_that_takes_none_is_stopped() -> None:
    (finding,) = listed("NESS", *keys_of("NESS"), "G01")
    assert finding.rule == "R22"
    assert finding.words == "NESS revision 2 takes no pickguard: G01 stays off."
    assert rules(fit.article(SPECS["NESS"], ARTICLES["G01"])) == ["R22"]


# Case.

WAYS = [
    ("inside_overall_mm", 1045, "over all"),
    ("inside_body_mm", 505, "along the body"),
    ("inside_width_mm", 400, "across the body"),
    ("inside_depth_mm", 124, "in depth"),
]


@pytest.mark.parametrize(("inside", "guitar", "words"), WAYS)
@pytest.mark.parametrize(
    ("room", "severity"),
    [
        ("-0.01", STOP),
        ("0", STOP),
        ("2.99", STOP),
        ("3", None),
        ("25", None),
        ("25.01", WARN),
    ],
)
def test_a_case_leaves_room_each_way_and_not_too_much(
    inside: str, guitar: int, words: str, room: str, severity: Severity | None
) -> None:
    findings = fitted("TARN", case={inside: guitar + Decimal(room)})
    assert [(one.rule, one.severity) for one in findings] == (
        [("R24", severity)] if severity else []
    )
    assert all(words in one.words for one in findings)


def test_the_usual_case_is_too_short_for_the_head_of_a_12_string() -> None:
    (finding,) = fit.article(SPECS["FIRTH"], ARTICLES["C01"])
    assert (finding.rule, finding.severity) == ("R24", STOP)
    assert finding.words.replace(THIN, " ") == (
        "Case C01 is 35 mm too short for this head: 1060 inside, 1095 over all."
    )


def test_the_room_in_a_case_is_that_of_the_largest_guitar_in_the_smallest_case() -> None:
    guitar = {"tolerances": (("body_width_mm", Tolerance(D(-1), D(3))),)}
    assert fitted("TARN", spec=guitar) == ()
    case = {"tolerances": (("inside_width_mm", Tolerance(D("-0.5"), D(0))),)}
    (finding,) = fitted("TARN", spec=guitar, case=case)
    assert "leaves only 2.5" in finding.words


def test_a_case_that_may_be_short_or_long_is_told_by_its_worst() -> None:
    """Inside 1060 at the middle of its tolerance, the guitar 1045 over all."""

    def made(lower: str, upper: str) -> dict[str, object]:
        return {"tolerances": (("inside_overall_mm", Tolerance(D(lower), D(upper))),)}

    assert fitted("TARN", case=made("-12", "10")) == ()
    (wide,) = fitted("TARN", case=made("-12", "11"))
    assert (wide.severity, "leaves 26\u202fmm over all" in wide.words) == (WARN, True)
    (tight,) = fitted("TARN", case=made("-13", "10"))
    assert (tight.severity, "leaves only 2\u202fmm over all" in tight.words) == (STOP, True)
    (short,) = fitted("TARN", case=made("-16", "10"))
    assert "is 1\u202fmm too short for this head" in short.words


def test_a_case_without_any_room_leaves_nothing_rather_than_being_too_short() -> None:
    (finding,) = fitted("TARN", case={"inside_width_mm": D(400)})
    assert finding.words.replace(THIN, " ") == (
        "Case C01 leaves only 0 mm across the body, at least 3 mm is due."
    )


# All of them.


def test_every_finding_here_says_what_it_rests_on() -> None:
    findings = (
        *fitted("HOLM", tail={"hole_mm": D(9)}, spec={"tail_block_mm": D(40)}),
        *fit.article(SPECS["TARN"], WIDE_JACK),
        *fitted("HOLM", read={("tail_block", "tail"): "5", ("strap", "heel"): "1"}),
        *listed("HOLM", *keys_of("HOLM", "X01", "V01")),
        *fitted("HOLM", battery={"kind": "AA"}, electronics={"battery": "AA"}),
        *listed("TARN", *keys_of("TARN"), "X01"),
        *fitted(
            "HOLM",
            best_before=date(2031, 4, 1),
            ship_on=SHIPS,
            read={("insulated", "battery"): "0"},
        ),
        *fit.article(SPECS["NESS"], ARTICLES["G01"]),
        *fit.article(SPECS["TARN"], ARTICLES["G02"]),
        *fitted("TARN", case={"inside_width_mm": D(300), "inside_depth_mm": D(126)}),
        *fitted("TARN", case={"inside_body_mm": D(600)}),
    )
    told = {"R19", "R20", "R21", "R22", "R24", "R31", "R35"}
    assert set(rules(findings)) == told
    for one in findings:
        assert explained(one), one
        assert one.words.endswith(".")
        assert one.then.endswith(".")


def test_a_unit_stays_a_unit_whatever_it_runs_on() -> None:
    aa = changed("X01", key="X02", name="element on AA", battery="AA")
    assert isinstance(aa, Electronics)
    (finding,) = listed("HOLM", *keys_of("HOLM", "X01"), extra=(aa,))
    assert finding.rule == "R21"
    assert finding.words.startswith("X02 element on AA runs on AA")
