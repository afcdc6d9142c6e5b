"""What becomes of a defect. Which class allows what: common practice, no source."""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from itertools import pairwise, product
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from shop.craft import rework
from shop.craft.clocks import Happening, What, hold
from shop.craft.finding import Finding, Severity, any_stop
from shop.craft.inspecting.classes import CLASSES, DefectClass
from shop.craft.inspecting.disposing import Choice, Decider, Decision, Disposition, choices, judge
from shop.craft.inspecting.routing import RETURNS, again, routing
from shop.craft.rework import LoopFacts
from shop.craft.route import OperationFacts, Precedence, Route
from shop.craft.words import THIN

INSPECTOR = Decider("P-31")
LEAD = Decider("P-02", may_accept=True, may_approve=True)
DEMO = json.loads(
    (Path(__file__).resolve().parents[2] / "shop/floor/demo/workshop.json").read_text()
)
LOOPS: dict[str, dict[str, Any]] = {one["key"]: one for one in DEMO["loops"]}


def decision(what: str, grade: int, by: Decider = LEAD, **more: str) -> Decision:
    usual = {"reason": "as seen", "second": "P-44" if grade < 3 else "", "loop": "set-up"}
    usual |= {"department": "neck"} if what == "return" else {}
    return Decision(Disposition(what), DefectClass(grade), by=by, **usual | more)


def judged(
    one: Decision, *, found_by: str = "P-31", joined: bool = False, cased: bool = False,
    keeps_hold: bool = False, electronics: bool = False, pinned: bool = True,
) -> tuple[Finding, ...]:  # fmt: skip
    return judge(
        one, found_by=found_by, joined=joined, cased=cased, keeps_hold=keeps_hold,
        electronics=electronics, pinned=pinned,
    )  # fmt: skip


def said(findings: tuple[Finding, ...]) -> list[str]:
    return [f"{one.words} {one.then}".strip().replace(THIN, " ") for one in findings]


# --- classes ---


def test_there_are_four_classes_worst_first_each_with_words_and_examples() -> None:
    assert [(one.value, one.words) for one in DefectClass] == [
        (1, "Critical"), (2, "Major"), (3, "Minor"), (4, "Note"),
    ]  # fmt: skip
    assert all(one.meaning and one.examples for one in DefectClass)
    assert len({example for one in CLASSES.values() for example in one.examples}) == 12
    assert [one.value for one in DefectClass if one.serious] == [1, 2]


# --- what a class allows ---

TABLE = {
    "rework": "12", "touch-up": "34", "accept as is": "34", "seconds": "23", "return": "12",
    "hold for decision": "123", "scrap": "1", "cannibalise": "1",
}  # fmt: skip


@pytest.mark.parametrize(
    ("what", "grade"), [(one, grade) for one, grade in product(TABLE, range(1, 5))]
)
def test_a_class_allows_what_its_row_says_and_nothing_else(what: str, grade: int) -> None:
    """Common practice, no source; a return, a hold and the use of parts are our own reading."""
    findings = judged(decision(what, grade))
    assert any_stop(findings) is (str(grade) not in TABLE[what])
    assert all(one.words and one.then for one in findings if one.severity is Severity.STOP)


@pytest.mark.parametrize(
    ("what", "grade", "sentence"),
    [
        (
            "touch-up",
            2,
            (
                "Class 2 is not touched up: that is for 3 and 4. "
                "Send it to rework, or hold it for the lead."
            ),
        ),
        (
            "scrap",
            2,
            ("Class 2 is not scrapped: that is for 1. Send it to rework, or hold it for the lead."),
        ),
        (
            "rework",
            4,
            (
                "Class 4 is too slight for rework: that is for 1 and 2. "
                "Accept it as it is, or class it anew if it is worse."
            ),
        ),
        (
            "accept as is",
            1,
            (
                "Class 1 is not accepted: that is for 3 and 4. "
                "Send it to rework, or hold it for the lead."
            ),
        ),
    ],
)
def test_a_refusal_says_for_which_classes_it_is_and_what_to_do_instead(
    what: str, grade: int, sentence: str
) -> None:
    assert said(judged(decision(what, grade))) == [sentence]


def test_the_classes_named_in_a_refusal_are_those_that_are_allowed() -> None:
    for what, grade in product(TABLE, range(1, 5)):
        for one in judged(decision(what, grade)):
            if one.rule == "class" and "that is for" in one.words:
                named = one.words.split("that is for ")[1]
                assert [sign for sign in named if sign.isdigit()] == list(TABLE[what])


# --- who ---


@pytest.mark.parametrize(
    ("what", "grade"),
    [("accept as is", 3), ("seconds", 2), ("seconds", 3), ("scrap", 1), ("cannibalise", 1)],
)
def test_only_a_lead_decides_what_cannot_be_undone_or_is_let_through(what: str, grade: int) -> None:
    (found,) = judged(decision(what, grade, by=INSPECTOR))
    assert (found.rule, found.severity, found.call) == ("right", Severity.STOP, "lead")
    assert not any_stop(judged(decision(what, grade, by=LEAD)))


def test_whoever_may_accept_may_not_for_that_approve() -> None:
    accepts = Decider("P-07", may_accept=True)
    assert not any_stop(judged(decision("accept as is", 3, by=accepts)))
    assert any_stop(judged(decision("seconds", 3, by=accepts)))


def test_an_inspector_accepts_class_4() -> None:
    assert said(judged(decision("accept as is", 4, by=INSPECTOR))) == [
        "It is closed as it is, and stays in the record with your reason."
    ]


# --- two badges ---


@pytest.mark.parametrize("grade", [1, 2])
def test_class_1_and_2_take_a_second_badge_and_whoever_found_it_can_be_it(grade: int) -> None:
    assert said(judged(decision("rework", grade, second=""))) == [
        f"Class {grade} takes 2 badges, and here is 1. P-31, who found it, can sign beside you."
    ]
    assert not any_stop(judged(decision("rework", grade, second="P-31")))


@pytest.mark.parametrize("grade", [1, 2])
def test_nobody_is_their_own_second(grade: int) -> None:
    own = decision("rework", grade, by=INSPECTOR, second="P-31")
    assert said(judged(own)) == [
        f"P-31 signed twice: class {grade} takes 2 badges. Have a second person sign beside you."
    ]


def test_class_3_and_4_take_one_badge() -> None:
    assert not any_stop(judged(decision("touch-up", 3, second="")))
    assert not any_stop(judged(decision("accept as is", 4, second="")))


# --- what has to be said ---


@pytest.mark.parametrize("what", TABLE)
@pytest.mark.parametrize("reason", ["", "  ", "-", "12"])
def test_every_decision_has_a_reason_in_words(what: str, reason: str) -> None:
    grade = int(TABLE[what][0])
    assert "reason" in {one.rule for one in judged(decision(what, grade, reason=reason))}


@pytest.mark.parametrize(("what", "grade"), [("rework", 2), ("touch-up", 3)])
def test_what_is_sent_for_repair_says_which(what: str, grade: int) -> None:
    assert said(judged(decision(what, grade, loop=""))) == [
        "No repair is chosen. Choose the repair it goes to."
    ]


@pytest.mark.parametrize("department", ["", "bridge"])
def test_a_return_says_what_goes_back(department: str) -> None:
    assert said(judged(decision("return", 2, department=department))) == [
        "Of the 2 departments none is named. Say whether the neck or the body goes back."
    ]


def test_all_that_is_missing_is_told_at_once() -> None:
    bare = decision("rework", 1, reason="", loop="", second="")
    assert [one.rule for one in judged(bare)] == ["reason", "loop", "second"]


# --- a pair, its days in the case, its parts ---


def test_nothing_goes_back_to_its_department_once_the_pair_is_cut() -> None:
    assert said(judged(decision("return", 2), joined=True)) == [
        (
            "The pocket is cut for this neck: the 2 are a pair, and neither goes back alone. "
            "Send it to rework, or hold it for the lead."
        )
    ]
    assert said(judged(decision("return", 2))) == [
        "The neck goes back with this reason, and work on it stops. Set it aside with its tag on."
    ]


def test_what_a_repair_does_to_the_days_in_the_case_is_told_before_it_is_decided() -> None:
    assert said(judged(decision("rework", 2), cased=True)) == [
        "Its days in the case begin again after this repair. Take it off the rack."
    ]
    assert said(judged(decision("rework", 2), cased=True, keeps_hold=True)) == [
        (
            "Its days in the case stand still while it is out, for 72 h at most. "
            "The strings stay at pitch."
        )
    ]
    assert judged(decision("rework", 2)) == ()


def test_scrapping_says_what_ends_with_it_and_using_its_parts_says_which() -> None:
    assert said(judged(decision("scrap", 1), joined=True)) == [
        "Neck and body are a pair: both end with it."
    ]
    _, parts = said(judged(decision("cannibalise", 1), electronics=True))
    assert parts == (
        "Its machines, pins, strap buttons and electronics come off to quarantine. "
        "Slack the strings first. Count what comes off, each with its line."
    )
    _, parts = said(judged(decision("cannibalise", 1)))
    assert "electronics" not in parts
    _, parts = said(judged(decision("cannibalise", 1), pinned=False))
    assert parts.startswith("Its machines and strap buttons come off to quarantine."), "nylon"


def test_nothing_told_beside_a_decision_that_stands_keeps_it_back() -> None:
    for what, grade in product(TABLE, range(1, 5)):
        if str(grade) in TABLE[what]:
            found = judged(decision(what, grade), cased=True)
            assert all(one.severity is Severity.NOTE for one in found)


# --- what is offered ---


@pytest.mark.parametrize("by", [INSPECTOR, LEAD], ids=["inspector", "lead"])
@pytest.mark.parametrize("joined", [True, False])
@pytest.mark.parametrize("grade", list(DefectClass))
def test_what_is_offered_is_what_would_be_taken(
    grade: DefectClass, by: Decider, joined: bool
) -> None:
    for one in choices(grade, by, joined=joined):
        findings = judged(decision(one.disposition.value, grade, by=by), joined=joined)
        assert one.possible is not any_stop(findings)
        assert one.why_not is None or one.why_not in findings


def test_all_are_offered_in_one_order_whatever_the_class() -> None:
    orders = {tuple(one.disposition for one in choices(grade)) for grade in DefectClass}
    assert orders == {tuple(Disposition)}
    assert len({one.words for one in Disposition}) == len(Disposition)


def test_what_is_not_possible_stays_in_its_place_with_why() -> None:
    scrap: Choice = choices(DefectClass.NOTE)[list(Disposition).index(Disposition.SCRAP)]
    assert not scrap.possible
    assert scrap.why_not is not None
    assert scrap.why_not.words == "Class 4 is not scrapped: that is for 1."


# --- a chip, and its days in the case ---


def test_a_chip_of_1_2_mm_is_filled_and_its_days_in_the_case_stand_still_for_26_h() -> None:
    """Class 2; the repair is the drop fill, which keeps the strings at pitch; out for 26 h it is
    ready 26 h later. Common practice, no source."""
    key = rework.suggested("chip", "finish")[0]
    assert (key, LOOPS[key].get("keeps_hold")) == ("finish chip", True)
    one = decision("rework", 2, by=INSPECTOR, second="P-44", loop=key)
    (note,) = judged(one, joined=True, cased=True, keeps_hold=True)
    assert note.severity is Severity.NOTE
    assert any_stop(judged(decision("touch-up", 2, second="P-44", loop=key)))
    cased = datetime(2031, 3, 3, 14, 10, tzinfo=ZoneInfo("Europe/Berlin"))
    out = Happening(What.TOUCHED_UP, cased + timedelta(hours=20), cased + timedelta(hours=46))
    held = hold(cased, timedelta(hours=96), [out], (), cased + timedelta(hours=50))
    assert held.ready == cased + timedelta(hours=96 + 26)


# --- where a repair leads back to ---

# Each family of defects, and the operation its repair goes back to; common practice, no source.
BACK = [
    ("finish", "chip", "Q10"), ("finish", "swirl", "Q10"), ("fret", "high", "F20"),
    ("setup", "low slot", "U10"), ("setup", "high action", "U30 A30"), ("joint", "lift", "G30"),
    ("hardware", "wrong position", "N60"), ("hardware", "loose", "N60"), ("electric", "hum", "U20"),
    ("electric", "dead string", "U20"), ("paper", "wrong label", "Z10"),
]  # fmt: skip


@pytest.mark.parametrize(("family", "word", "back"), BACK)
def test_a_defect_goes_back_to_the_operation_its_family_does(
    family: str, word: str, back: str
) -> None:
    assert routing(word, family) == tuple(back.split())


def test_every_word_goes_back_somewhere_and_no_other_does() -> None:
    assert all(routing(word, family) for family, words in rework.WORDS.items() for word in words)
    assert routing("smudge") == ()


def test_every_repair_that_a_defect_leads_to_has_somewhere_to_go_back_to() -> None:
    led = {
        key
        for family, words in rework.WORDS.items()
        for word in words
        for key in rework.suggested(word, family)
    }
    assert led <= set(RETURNS) == set(LOOPS) - {"dropped"}


# Where the demo's loop does something again before the operation that is usually named: the
# file's own checks of the frets, the cleaning before the bridge goes on, the holes before the
# machines. They belong to the same work.
EARLIER = {"fret": "F10", "bridge lift": "G20", "wrong machines": "N40"}


@pytest.mark.parametrize("key", sorted(RETURNS))
def test_the_demo_does_again_what_a_repair_goes_back_to(key: str) -> None:
    redo = LOOPS[key]["redo"]
    places = [redo.index(code) for code in RETURNS[key]]
    assert places == sorted(places)
    assert redo[0] == EARLIER.get(key, RETURNS[key][0])


# --- what is looked at again ---

CODES = ["G30", "G40", "U30", "A30", "I10", "I20", "I30", "I50"]


def route() -> Route:
    steps = [Precedence(a, b, clock="hold" if b == "I30" else "") for a, b in pairwise(CODES)]
    names = {"G30": "Bridge on", "I10": "First look", "I20": "Case in"}
    facts = (OperationFacts(one, names.get(one, "…"), "", "", False, 1) for one in CODES)  # type: ignore[arg-type]
    return Route("Straight on", tuple(facts), tuple(steps))


def loop(redo: str, keeps_hold: bool = False) -> LoopFacts:
    return LoopFacts(
        "some", "Some", "", ("joint",), "", "Repair", "X", tuple(redo.split()), 60,
        keeps_hold=keeps_hold,
    )  # fmt: skip


def test_what_is_looked_at_again_is_told_with_the_names_of_the_operations() -> None:
    assert again(loop("G30 I10"), route(), CODES[:5]) == (
        "Done again after it: G30 Bridge on and I10 First look."
    )
    assert again(loop("I10", keeps_hold=True), route(), CODES[:5]) == (
        "Done again after it: I10 First look."
    )


def test_days_in_the_case_that_begin_anew_are_among_it() -> None:
    assert again(loop("G30 I10"), route(), CODES[:6]) == (
        "Done again after it: G30 Bridge on, I10 First look and I20 Case in."
    )


def test_where_nothing_of_it_is_done_nothing_is_done_again() -> None:
    assert again(loop("G30"), route(), []) == "Nothing that is done has to be done again."
