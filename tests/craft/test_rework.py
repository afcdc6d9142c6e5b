"""Rework: which repair a defect leads to, how long it dries, and what is done again."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft.rework import FAMILIES, USUAL, WORDS, LoopFacts, suggested
from shop.craft.route import OperationFacts, Precedence, Route

SHOP = "J40 G30 G40 G50 U30 Q10 A30 I10 I20 I30 I50 Z10 Z20"
CODES = SHOP.split()


def facts(code: str) -> OperationFacts:
    return OperationFacts(code, "", "", "", False, Decimal(1))


def route(codes: list[str], cased: bool = True) -> Route:
    """One operation after another; the hold lies between I20 and I30."""
    steps = [
        Precedence(one, other, clock="hold" if cased and other == "I30" else "")
        for one, other in pairwise(codes)
    ]
    return Route("Straight on", tuple(map(facts, codes)), tuple(steps))


def done_to(code: str) -> list[str]:
    return CODES[: CODES.index(code) + 1]


def loop(redo: str, **more: object) -> LoopFacts:
    usual: dict[str, object] = {
        "key": "bridge lift", "title": "Bridge lift", "triggers": "", "families": ("joint",),
        "work": "", "station": "Repair", "station_code": "X", "minutes": 60,
        "redo": tuple(redo.split()),
    }  # fmt: skip
    return LoopFacts(**usual | more)  # type: ignore[arg-type]


LIFT = loop("G30 G40 G50 U30 A30 I10")
CHIP = loop("Q10 I10 I30", keeps_hold=True)

# --- done again ---


def again(which: LoopFacts, done: list[str], on: Route | None = None) -> str:
    return " ".join(which.redo_of(on or route(CODES), done))


def test_what_was_done_is_done_again_and_what_was_not_only_lies_ahead() -> None:
    assert again(LIFT, done_to("U30")) == "G30 G40 G50 U30"


def test_what_the_repair_does_not_touch_stays_done() -> None:
    assert again(LIFT, done_to("I10")) == "G30 G40 G50 U30 A30 I10"


def test_what_is_not_on_the_route_is_left_out() -> None:
    short = [code for code in CODES if code != "G50"]
    assert again(LIFT, done_to("U30"), route(short)) == "G30 G40 U30"


def test_shop_order_counts_and_not_the_order_in_which_it_was_written_down() -> None:
    assert again(loop("I10 A30 G30"), done_to("I10")) == "G30 A30 I10"


def test_a_guitar_in_its_case_goes_into_it_anew() -> None:
    assert again(LIFT, done_to("I20")) == "G30 G40 G50 U30 A30 I10 I20"


def test_a_guitar_looked_at_after_its_days_in_the_case_is_looked_at_anew() -> None:
    assert again(LIFT, done_to("I30")) == "G30 G40 G50 U30 A30 I10 I20 I30"


def test_a_repair_with_the_strings_at_pitch_leaves_the_days_in_the_case() -> None:
    assert again(CHIP, done_to("I20")) == "Q10 I10"
    assert again(CHIP, done_to("I30")) == "Q10 I10 I30"


@pytest.mark.parametrize("which", [LIFT, CHIP], ids=["slack", "at pitch"])
def test_a_guitar_released_and_boxed_is_released_and_boxed_anew(which: LoopFacts) -> None:
    assert again(which, done_to("Z10")).endswith("I30 I50 Z10")


def test_a_paper_printed_anew_takes_no_other_look() -> None:
    assert again(loop("Z10", keeps_hold=True), done_to("Z10")) == "Z10"


def test_nothing_done_is_nothing_to_do_again() -> None:
    assert again(LIFT, []) == ""


def test_a_route_without_a_hold_has_none_to_begin_anew() -> None:
    assert again(LIFT, done_to("I30"), route(CODES, cased=False)) == "G30 G40 G50 U30 A30 I10"


@given(st.sets(st.sampled_from(CODES)), st.sets(st.sampled_from([*CODES, "U20"])), st.booleans())
def test_whatever_is_done_again_was_done_and_all_of_the_loop_that_was_done_is_in_it(
    done: set[str], redo: set[str], keeps: bool
) -> None:
    which = loop(" ".join(sorted(redo)), keeps_hold=keeps)
    found = which.redo_of(route(CODES), done)
    assert redo & done <= set(found) <= done
    assert list(found) == [code for code in CODES if code in found]


# --- drying ---

DROP = loop("Q10", dry_h=24, per_mm=Decimal("0.2"), most_h=168)


@pytest.mark.parametrize(
    ("depth", "hours"),
    [
        ("0.01", 24), ("0.2", 24), ("0.21", 48), ("0.4", 48), ("0.41", 72), ("1.2", 144),
        ("1.4", 168), ("1.41", 168), ("20", 168),
    ],
)  # fmt: skip
def test_a_drop_fill_dries_a_day_for_each_layer_and_a_week_at_most(depth: str, hours: int) -> None:
    """24 h for each 0.2 mm up to seven days: common practice, no source."""
    assert DROP.dries(Decimal(depth)) == timedelta(hours=hours)


def test_a_fill_of_a_depth_nobody_told_dries_one_layer_at_least() -> None:
    assert DROP.by_depth
    assert DROP.dries() == DROP.dries(None) == timedelta(hours=24)


def test_a_repair_that_dries_the_same_at_any_depth_does_not_ask_for_it() -> None:
    """A steamed joint dries 72 h: common practice, no source."""
    steamed = loop("J40", dry_h=72)
    assert not steamed.by_depth
    assert steamed.dries(Decimal(5)) == steamed.dries() == timedelta(hours=72)


def test_a_repair_that_does_not_dry_is_dry_at_once() -> None:
    assert loop("A20").dries() == timedelta()


@pytest.mark.parametrize("depth", ["0", "-0.2", "NaN", "Infinity"])
def test_a_depth_that_is_none_is_refused_with_a_word(depth: str) -> None:
    with pytest.raises(ValueError, match="is no depth: give more than 0"):
        DROP.dries(Decimal(depth))


@given(
    st.decimals("0.01", "9", places=2),
    st.decimals("0.01", "9", places=2),
)
def test_a_deeper_fill_never_dries_sooner(one: Decimal, other: Decimal) -> None:
    shallow, deep = sorted((one, other))
    assert timedelta(hours=24) <= DROP.dries(shallow) <= DROP.dries(deep) <= timedelta(hours=168)


# --- words ---


def test_each_word_stands_once_in_its_family() -> None:
    for words in WORDS.values():
        assert len(set(words)) == len(words)


def test_every_family_with_words_leads_somewhere() -> None:
    assert set(WORDS) < set(FAMILIES) == set(USUAL)
    assert all(USUAL.values())


@pytest.mark.parametrize(
    ("word", "keys"),
    [
        ("lift", ("bridge lift",)),
        ("chip", ("finish chip",)),
        ("sprung end", ("fret",)),
        ("low slot", ("low nut slot",)),
        ("dead string", ("dead string",)),
        ("hum", ("electrics",)),
        ("wrong label", ("paper",)),
        ("swirl", ("cosmetic",)),
        ("wrong position", ("wrong machines",)),
        ("gap", ("bolted neck reset", "glued neck reset")),
        ("octave flat", ("set-up", "bridge misplaced")),
    ],
)
def test_a_defect_leads_to_the_repair_it_usually_needs(word: str, keys: tuple[str, ...]) -> None:
    """Common practice, no source."""
    assert suggested(word) == keys


def test_a_word_of_two_families_leads_to_both_until_its_family_is_told() -> None:
    assert suggested("loose") == ("fret", "wrong machines", "small hardware")
    assert suggested("loose", "fret") == ("fret",)
    assert suggested("loose", "hardware") == ("wrong machines", "small hardware")


@pytest.mark.parametrize(("word", "family"), [("smudge", ""), ("lift", "finish"), ("", "")])
def test_a_word_that_no_family_has_leads_nowhere(word: str, family: str) -> None:
    assert suggested(word, family) == ()
