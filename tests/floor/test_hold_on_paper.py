"""The cards of case and cart grow old: the days in the case move, what is repaired changes.

What moves the days, what a loop does again and how long it dries are common practice, no
source. The instruments, badges and times are invented.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal

import pytest

from shop.craft.finding import Severity
from shop.craft.words import THIN
from shop.floor import board, door
from tests.floor.casing import CASED, HOUR, MINUTE, SERIAL, cased, did, done, moment, number
from tests.floor.morning import act, now, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

TUE = moment(4, 9)
NAMES = {"hold_card": "Case hold card", "rework_card": "Rework card"}


def card(form: str, at: datetime) -> str:
    """Print a card; the code on this copy."""
    it = now(SERIAL)
    copy = board.next_prints([it], form, own_code=True)[it.id]
    stands = board.stands_on(form, it, at)
    deed = door.Printed(it.id, form, NAMES[form], copy.of, copy.copy, copy.code, it.seq, stands)
    outcome = door.record(act("P-01", "", at), deed)
    assert outcome.done, words(outcome)
    return copy.code


def scanned(code: str, at: datetime) -> str:
    """What is said of a card as it is scanned: what changed since it was printed, if anything."""
    found = board.on_paper(code, now(SERIAL), at)
    assert found is not None
    _printed, _since, changes = found.finding.words.partition("Since then: ")
    assert bool(changes) == (found.finding.severity is Severity.WARN)
    assert bool(changes) == found.finding.then.endswith("Have it printed again.")
    return changes


def found_wrong(word: str, loop: str, at: datetime, depth_mm: Decimal | None = None) -> None:
    done(door.DefectFound(number(), word, loop, depth_mm=depth_mm), at, "P-22", "I")


@pytest.fixture
def in_its_case(morning: None, db: None) -> None:
    cased()


# --- the hold card ---


@pytest.mark.usefixtures("in_its_case")
def test_a_hold_card_keeps_when_the_days_are_over_on_the_full_minute() -> None:
    out = moment(3, 15)
    done(door.CaseOpened(number()), out)
    back = out + 30 * MINUTE + timedelta(seconds=20)
    done(door.CaseShut(number()), back, reason="Looked at the bridge")
    it = now(SERIAL)
    assert board.stands_on("hold_card", it, TUE) == (
        ("release not before", "2031-03-07 14:41"),
        ("revision", "TARN 1"),
    )


@pytest.mark.usefixtures("in_its_case")
def test_a_hold_card_stays_true_while_nothing_happens() -> None:
    code = card("hold_card", TUE)
    assert scanned(code, TUE + 12 * HOUR) == ""
    assert scanned(code, moment(9)) == "", "the days are over, and the card still says when"


@pytest.mark.usefixtures("in_its_case")
def test_a_card_printed_before_its_case_lay_anywhere_has_the_slot_written_by_hand() -> None:
    code = card("hold_card", TUE)
    done(door.Racked(number(), "H-001"), TUE, "P-31", "H")
    assert scanned(code, TUE + HOUR) == ""


@pytest.mark.usefixtures("in_its_case")
def test_a_card_that_says_a_slot_grows_old_as_its_case_is_moved() -> None:
    done(door.Racked(number(), "H-001"), TUE, "P-31", "H")
    code = card("hold_card", TUE)
    assert scanned(code, TUE + HOUR) == ""
    done(door.Racked(number(), "H-002"), TUE + HOUR, "P-31", "H")
    assert scanned(code, TUE + 2 * HOUR) == "Rack slot H-002, on paper H-001."
    done(door.Unracked(number()), TUE + 2 * HOUR, "P-31", "H")
    assert scanned(code, TUE + 3 * HOUR) == "Rack slot no longer: H-001."


@pytest.mark.usefixtures("in_its_case")
def test_new_strings_begin_the_days_again_and_the_card_says_so() -> None:
    code = card("hold_card", TUE)
    done(door.Happened(number(), "restrung"), TUE + HOUR, reason="One was dead")
    assert scanned(code, TUE + 2 * HOUR) == (
        "Release not before 2031-03-08 10:00, on paper 2031-03-07 14:10."
    )


@pytest.mark.usefixtures("in_its_case")
def test_after_a_fall_the_card_says_that_it_has_to_be_cased_again() -> None:
    code = card("hold_card", TUE)
    done(door.Dropped(number(), "Off the rack"), TUE + HOUR, "P-32", "R")
    assert scanned(code, TUE + 2 * HOUR) == (
        "Release not before it is cased again, on paper 2031-03-07 14:10."
    )


@pytest.mark.usefixtures("in_its_case")
def test_once_it_is_cased_again_the_old_card_says_the_new_moment() -> None:
    code = card("hold_card", TUE)
    done(door.Dropped(number(), "Off the rack"), TUE, "P-32", "R")
    done(door.RepairDone(number()), TUE + HOUR, "P-61", "X", "Seen at Repair")
    did(SERIAL, "J40", "P-16", "J", TUE + 2 * HOUR)
    did(SERIAL, "I10", "P-31", "I", TUE + 3 * HOUR)
    did(SERIAL, "I20", "P-31", "H", TUE + 4 * HOUR)
    assert scanned(code, TUE + 5 * HOUR) == (
        "Release not before 2031-03-08 13:00, on paper 2031-03-07 14:10."
    )


@pytest.mark.usefixtures("in_its_case")
def test_out_of_its_case_no_moment_stands_and_the_card_says_so() -> None:
    code = card("hold_card", TUE)
    done(door.CaseOpened(number()), TUE + HOUR)
    assert scanned(code, TUE + 2 * HOUR) == (
        "Release not before its days in the case run again, on paper 2031-03-07 14:10."
    )


@pytest.mark.usefixtures("in_its_case")
def test_a_hold_made_longer_by_the_lead_shows_on_the_card() -> None:
    code = card("hold_card", TUE)
    done(door.WaitLengthened(number(), "hold", 24), TUE + HOUR, "P-01", "", "Damp week")
    assert scanned(code, TUE + 2 * HOUR) == (
        "Release not before 2031-03-08 14:10, on paper 2031-03-07 14:10."
    )


# --- the rework card ---


def test_a_rework_card_keeps_what_is_done_and_how_long_it_dries() -> None:
    found_wrong("chip", "finish chip", CASED, Decimal("0.5"))
    assert board.stands_on("rework_card", now(SERIAL), TUE) == (
        ("disposition", "Finish chip"),
        ("route", "Q10"),
        ("dries until", f"72{THIN}h after the repair"),
    )


def test_once_it_is_repaired_the_card_says_until_when_it_dries() -> None:
    found_wrong("chip", "finish chip", CASED)
    code = card("rework_card", CASED)
    assert scanned(code, CASED + HOUR) == ""
    done(door.RepairDone(number()), CASED + HOUR, "P-61", "X")
    assert scanned(code, CASED + 2 * HOUR) == (
        "Disposition nothing left to repair, on paper Finish chip. "
        f"Dries until 2031-03-04 15:10, on paper 24{THIN}h after the repair."
    )


def test_a_second_defect_shows_on_the_card_of_the_first() -> None:
    found_wrong("chip", "finish chip", CASED)
    code = card("rework_card", CASED)
    found_wrong("loose", "small hardware", CASED + HOUR)
    assert scanned(code, CASED + 2 * HOUR) == (
        "Disposition added: End pin, jack or strap button. Route Q10 and A20, on paper Q10."
    )


def test_a_guitar_back_on_its_route_has_nothing_on_its_card_any_more() -> None:
    found_wrong("loose", "small hardware", CASED)
    code = card("rework_card", CASED)
    done(door.RepairDone(number()), CASED + HOUR, "P-61", "X")
    did(SERIAL, "A20", "P-22", "A", CASED + 2 * HOUR)
    assert now(SERIAL).rework is None
    assert scanned(code, CASED + 3 * HOUR) == (
        "Disposition nothing left to repair, on paper End pin, jack or strap button. "
        "Route nothing done again, on paper A20."
    )
