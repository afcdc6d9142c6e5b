"""What stands against starting an operation. Routes, badges and times are invented.

Who may not look at whose work, for how long training counts and how long a part rests are
common practice, without a published source.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from shop.craft.clocks import Happening, Held, What, hold
from shop.craft.finding import Finding, Severity, stop
from shop.craft.route import HOLD, Done, OperationFacts, Precedence, Route
from shop.craft.start import (
    Asking,
    Frozen,
    OpenStep,
    Person,
    Rework,
    Standing,
    Undecided,
    is_of_the_hold,
    kept_apart,
    may_start,
    ready_at,
)
from shop.craft.words import THIN

BERLIN = ZoneInfo("Europe/Berlin")
MONDAY = datetime(2031, 3, 3, 14, 10, tzinfo=BERLIN)
FRIDAY = datetime(2031, 3, 7, 11, 0, tzinfo=BERLIN)
LONG_AGO = MONDAY - timedelta(days=30)
HOUR = timedelta(hours=1)
MINUTE = timedelta(minutes=1)
SECOND = timedelta(seconds=1)
FOUR_DAYS = timedelta(hours=96)

STATIONS = {
    "N": "Neck bench", "B": "Body bench", "J": "Joint", "G": "Bridge", "F": "Frets",
    "U": "Nut and saddle", "E": "Electronics", "Q": "Polish", "A": "Assembly",
    "I": "Inspection", "H": "Hold rack", "R": "Re-inspection",
}  # fmt: skip


def operation(code: str, name: str, station: str = "", **more: object) -> OperationFacts:
    """An operation at the station of its first letter, unless another is given."""
    at = station or code[0]
    facts = OperationFacts(code, name, STATIONS[at], "", False, Decimal(5), station_code=at)
    return replace(facts, **more)  # type: ignore[arg-type]


OPERATIONS = (
    operation("N10", "receive the neck", rests="neck", rest_h=48),
    operation("B10", "receive the body", rests="body", rest_h=48),
    operation("J10", "cut the pocket", needs="neck", machine=True, trained=True),
    operation("G30", "glue bridge", trained=True),
    operation("G40", "unclamp"),
    operation("F20", "level frets"),
    operation("U10", "fit the nut"),
    operation("U20", "fit electronics", "E"),
    operation("U30", "set the saddle"),
    operation("Q10", "polish"),
    operation("A10", "lay the guard"),
    operation("A30", "string and set up"),
    operation("I10", "final inspection", proves=True),
    operation("I20", "case in", "H"),
    operation("I30", "re-inspection", "R"),
    operation("I50", "release", "R", proves=True, freezes=True),
)
CODES = tuple(one.code for one in OPERATIONS)
ROUTE = Route(
    "TARN 2",
    OPERATIONS,
    (
        Precedence("N10", "J10"),
        Precedence("B10", "J10"),
        Precedence("J10", "G30"),
        Precedence("G30", "G40", wait=HOUR, clock="bridge clamp"),
        Precedence("J10", "F20"),
        Precedence("F20", "U10"),
        Precedence("G40", "U20"),
        Precedence("U10", "U20"),
        Precedence("U20", "U30"),
        Precedence("U30", "Q10"),
        Precedence("Q10", "A10"),
        Precedence("A10", "A30"),
        Precedence("G30", "A30", wait=24 * HOUR, clock="string load"),
        Precedence("A30", "I10", wait=30 * MINUTE, clock="settle", other_person=True, apart_days=7),
        Precedence("U10", "I10", other_person=True, apart_days=7),
        Precedence("I10", "I20"),
        Precedence("A10", "I20", wait=24 * HOUR, clock="adhesive", noted=True),
        Precedence("I20", "I30", wait=FOUR_DAYS, clock=HOLD),
        Precedence("I10", "I30", other_person=True),
        Precedence("A30", "I30", other_person=True, apart_days=7),
        Precedence("I30", "I50"),
    ),
)
FACTS = {one.code: one for one in OPERATIONS}
STATION = {one.code: one.station_code for one in OPERATIONS}
TRAINED = {"J": date(2031, 12, 31), "G": date(2031, 12, 31)}
ANYBODY = Person("P-99", TRAINED)


def through(last: str, by: str = "P-10", at: datetime = LONG_AGO) -> tuple[Done, ...]:
    """Everything in shop order up to and with an operation, done long ago."""
    return tuple(Done(code, by, at) for code in CODES[: CODES.index(last) + 1])


def standing(done: tuple[Done, ...] = (), **more: object) -> Standing:
    return replace(Standing("Q-1043", ROUTE, done), **more)  # type: ignore[arg-type]


def why(
    now: Standing,
    operation: str,
    who: Person | str = ANYBODY,
    at: datetime = MONDAY,
    beside: Person | None = None,
    work: tuple[Finding, ...] = (),
) -> tuple[Finding, ...]:
    """The reasons against an operation, asked at its own station."""
    person = Person(who, TRAINED) if isinstance(who, str) else who
    asking = Asking(person, STATION.get(operation, ""), at, beside)
    return may_start(now, operation, asking, work)


def rules(findings: tuple[Finding, ...]) -> list[str]:
    return [one.rule for one in findings]


def plain(text: str) -> str:
    return text.replace(THIN, " ")


def cased(*happenings: Happening, at: datetime = FRIDAY) -> Standing:
    """Cased on Monday at 14:10, as it stands at a moment."""
    done = (*through("I10", "P-31"), Done("I20", "P-31", MONDAY))
    return standing(done, held=hold(MONDAY, FOUR_DAYS, happenings, (), at))


# Its turn.


def test_an_operation_whose_turn_it_is_may_start() -> None:
    assert why(standing(through("G30")), "G40") == ()


def test_an_operation_off_the_route_says_what_is_next() -> None:
    (finding,) = why(standing(through("J10")), "X10")
    assert finding.rule == "route"
    assert finding.words == "X10 is not on the route TARN 2."
    assert finding.then == "Next up: G30 glue bridge (Bridge) and F20 level frets (Frets)."


def test_a_recorded_operation_says_when_and_by_whom() -> None:
    done = (*through("B10"), Done("J10", "P-16", MONDAY))
    (finding,) = why(standing(done), "J10", at=MONDAY + HOUR)
    assert finding.rule == "done"
    assert finding.words == "J10 cut the pocket was recorded Mon 14:10 by P-16."
    assert finding.then.startswith("Next up: G30 glue bridge (Bridge) and F20")


def test_a_finished_route_has_nothing_next() -> None:
    everything = standing(through("I50"))
    assert why(everything, "I50")[0].then == "If it must be done again, the lead opens it."
    assert why(everything, "X10")[0].then.startswith("Check the serial")


def test_electronics_come_before_the_saddle() -> None:
    (finding,) = why(standing(through("U10")), "U30", "P-20")
    assert finding.rule == "order"
    assert finding.words == (
        "U30 set the saddle comes after U20 fit electronics (Electronics), not recorded yet."
    )
    assert finding.then == (
        "Next up: U20 fit electronics (Electronics). "
        "If the work is really done, the lead records it late."
    )
    assert finding.call == "lead"


def test_a_predecessor_the_route_does_not_have_is_named_by_its_code() -> None:
    line = replace(ROUTE, precedences=(*ROUTE.precedences, Precedence("X10", "G40")))
    (finding,) = why(standing(through("G30"), route=line), "G40")
    assert finding.words == "G40 unclamp comes after X10, not recorded yet."


def test_a_step_that_was_struck_is_looked_for_where_all_is_to_be_proven() -> None:
    """Nothing right before the inspection is missing, but something further back."""
    without = tuple(one for one in through("A30") if one.operation != "G40")
    (finding,) = why(standing(without), "I10")
    assert finding.rule == "order"
    assert "I10 final inspection comes after G40 unclamp (Bridge)" in finding.words
    assert why(standing(without[:-1]), "A30") == ()


# Waits.


def test_a_bridge_glued_at_half_past_nine_is_unclamped_and_strung_in_its_time() -> None:
    """Glued at 09:30: 60 min in clamps, 24 h before it takes the load of the strings."""
    glued = datetime(2031, 3, 4, 9, 30, tzinfo=BERLIN)
    everything = {one.operation: one for one in through("A10")}
    now = standing(tuple((everything | {"G30": Done("G30", "P-18", glued)}).values()))
    early = why(replace(now, done=(*through("J10"), Done("G30", "P-18", glued))), "G40", at=glued)
    assert plain(early[0].words) == "Ready Tue 10:30. 1 h left after G30 glue bridge."
    (finding,) = why(now, "A30", at=glued + 6 * HOUR)
    assert plain(finding.words) == "Ready Wed 09:30. 18 h left after G30 glue bridge."
    assert finding.then == "Take another instrument and come back Wed 09:30."
    assert why(now, "A30", at=glued + 24 * HOUR) == ()
    assert ready_at(now, "A30") == glued + 24 * HOUR


def test_a_wait_is_told_ready_at_the_next_full_minute() -> None:
    done = (*through("J10"), Done("G30", "P-18", MONDAY + 20 * SECOND))
    (finding,) = why(standing(done), "G40", at=MONDAY + 30 * MINUTE)
    assert plain(finding.words) == "Ready Mon 15:11. 31 min left after G30 glue bridge."


def test_work_done_again_starts_its_wait_again() -> None:
    done = (*through("J10"), Done("G30", "P-18", MONDAY), Done("G30", "P-18", LONG_AGO))
    assert rules(why(standing(done), "G40", at=MONDAY + 59 * MINUTE)) == ["wait"]
    assert why(standing(done), "G40", at=MONDAY + HOUR) == ()


def test_a_lead_may_make_a_wait_longer_and_never_shorter() -> None:
    done = (*through("J10"), Done("G30", "P-18", MONDAY))
    overnight = standing(done, longer={"bridge clamp": 7 * HOUR})
    assert ready_at(overnight, "G40") == MONDAY + 8 * HOUR
    assert rules(why(overnight, "G40", at=MONDAY + 7 * HOUR)) == ["wait"]
    assert ready_at(standing(done, longer={"bridge clamp": -HOUR}), "G40") == MONDAY + HOUR
    assert ready_at(standing(done, longer={"string load": HOUR}), "G40") == MONDAY + HOUR


def test_a_noted_wait_is_said_and_keeps_nothing_back() -> None:
    laid = datetime(2031, 3, 5, 10, 0, tzinfo=BERLIN)
    done = (*through("I10")[:10], Done("A10", "P-22", laid), *through("I10")[11:])
    (finding,) = why(standing(done), "I20", at=laid + 5 * HOUR)
    assert finding.severity is Severity.NOTE
    assert finding.words == "adhesive: Ready Thu 10:00."
    assert why(standing(done), "I20", at=laid + 24 * HOUR) == ()
    assert ready_at(standing(done), "I20") == laid
    longer = standing(done, longer={"adhesive": 2 * HOUR})
    assert [one.severity for one in why(longer, "I20", at=laid + HOUR)] == [Severity.NOTE]
    (finding,) = why(longer, "I20", at=laid + 5 * HOUR)
    assert finding.words == "adhesive: Ready Thu 12:00."


def test_a_wait_ends_with_the_same_elapsed_time_when_the_clocks_change() -> None:
    """Against zoneinfo, that is the IANA time zone database: 2031-03-30 has 23 h in Berlin."""
    glued = datetime(2031, 3, 29, 14, 10, tzinfo=BERLIN)
    done = (*(one for one in through("A10") if one.operation != "G30"), Done("G30", "P-18", glued))
    (finding,) = why(standing(done), "A30", at=glued + HOUR)
    assert finding.words.startswith("Ready Sun 15:10.")


# Rest.


def test_a_body_rests_in_the_room_before_work_on_it_begins() -> None:
    saturday = datetime(2031, 3, 1, 10, 0, tzinfo=BERLIN)
    sunday = saturday + 24 * HOUR
    now = standing(arrived={"body": saturday, "neck": saturday - 90 * HOUR})
    (finding,) = why(now, "B10", at=sunday)
    assert finding.rule == "rest"
    assert plain(finding.words) == "Q-1043 came in Sat 10:00 and rests 48 h: Ready Mon 10:00."
    assert finding.then == "Take another instrument and come back Mon 10:00."
    assert ready_at(now, "B10") == saturday + 48 * HOUR
    assert why(now, "N10", at=sunday) == ()
    assert rules(why(now, "B10", at=saturday + 48 * HOUR - SECOND)) == ["rest"]
    assert why(now, "B10", at=saturday + 48 * HOUR) == ()


def test_a_neck_rests_too_and_is_called_the_neck() -> None:
    (finding,) = why(standing(arrived={"neck": MONDAY}), "N10", at=MONDAY + HOUR)
    assert plain(finding.words).startswith("The neck of Q-1043 came in Mon 14:10 and rests 48 h")


def test_a_part_that_came_in_unnoticed_has_no_rest_to_wait_for() -> None:
    assert why(standing(), "B10") == ()
    assert ready_at(standing(), "B10") is None


# The hold.


def test_a_hold_says_when_it_is_ready_and_what_is_left() -> None:
    (finding,) = why(cased(), "I30", "P-32", FRIDAY)
    assert finding.rule == "wait"
    assert plain(finding.words) == "Ready Fri 14:10. 3 h 10 min left of the hold."
    assert finding.then == "Take another instrument and come back Fri 14:10."
    assert finding.basis is not None
    assert finding.basis.sides == (("begun", "Mon 14:10"),)


def test_the_wait_for_the_hold_is_told_from_another_that_ends_in_the_same_minute() -> None:
    """The repair dries a few seconds longer: it reads the same by the clock."""
    ready = MONDAY + FOUR_DAYS
    (of_hold,) = why(cased(), "I30", "P-32", FRIDAY)
    drying = replace(cased(), rework=loop("redo", "I30", dry_until=ready + 10 * SECOND))
    (of_repair,) = why(drying, "I30", "P-32", FRIDAY)
    assert of_repair.words.startswith("Ready Fri 14:1")
    assert "after the repair" in of_repair.words
    assert (is_of_the_hold(of_hold), is_of_the_hold(of_repair)) == (True, False)
    halted = cased(Happening(What.OUT, FRIDAY - HOUR))
    assert [is_of_the_hold(one) for one in why(halted, "I30", "P-32", FRIDAY)] == [True]


def test_a_hold_ends_on_the_very_second() -> None:
    ready = MONDAY + FOUR_DAYS
    assert rules(why(cased(), "I30", "P-32", ready - SECOND)) == ["wait"]
    assert why(cased(), "I30", "P-32", ready) == ()


def test_a_case_opened_by_mistake_makes_the_hold_later_and_why_tells_it() -> None:
    tuesday = datetime(2031, 3, 4, 10, 0, tzinfo=BERLIN)
    now = cased(Happening(What.OUT, tuesday, tuesday + 40 * MINUTE))
    (finding,) = why(now, "I30", "P-32", FRIDAY)
    assert plain(finding.words) == "Ready Fri 14:50. 3 h 50 min left of the hold."
    assert finding.basis is not None
    assert plain(finding.basis.reckoning) == (
        "Out of the case 40 min from Tue 10:00: ready 40 min later."
    )
    assert [plain(value) for _, value in finding.basis.sides] == ["Mon 14:10", "40 min"]
    assert ready_at(now, "I30") == MONDAY + FOUR_DAYS + 40 * MINUTE


def test_a_touch_up_of_26_h_makes_the_hold_26_h_later() -> None:
    tuesday = datetime(2031, 3, 4, 10, 0, tzinfo=BERLIN)
    now = cased(Happening(What.TOUCHED_UP, tuesday, tuesday + 26 * HOUR))
    (finding,) = why(now, "I30", "P-32", FRIDAY)
    assert finding.words.startswith("Ready Sat 16:10.")


def test_out_of_its_case_it_is_not_ready_and_nobody_knows_when() -> None:
    now = cased(Happening(What.OUT, FRIDAY - HOUR))
    (finding,) = why(now, "I30", "P-32", FRIDAY)
    assert finding.rule == "wait"
    assert finding.words.startswith("Out of the case since Fri 10:00")
    assert ready_at(now, "I30") is None


def test_a_hold_begun_again_keeps_what_comes_after_it_back_too() -> None:
    """It was inspected again on Friday and dropped an hour later."""
    dropped = Happening(What.DROPPED, FRIDAY + 5 * HOUR)
    done = (*cased().done, Done("I30", "P-32", FRIDAY + 4 * HOUR))
    now = replace(cased(dropped), done=done)
    (finding,) = why(now, "I50", "P-32", FRIDAY + 6 * HOUR)
    assert finding.rule == "wait"
    assert ready_at(now, "I50") == FRIDAY + 5 * HOUR + FOUR_DAYS


def test_a_hold_keeps_nothing_back_that_comes_before_its_end() -> None:
    halted = Held(None, MONDAY, halted="Out of the case.")
    now = standing(through("A30"), held=halted)
    assert why(now, "I10") == ()


def test_a_hold_nobody_worked_out_lasts_its_least() -> None:
    short = Precedence("I20", "I30", wait=HOUR, clock=HOLD)
    kept = tuple(step for step in ROUTE.precedences if step.clock != HOLD)
    line = replace(ROUTE, precedences=(*kept, short))
    now = replace(cased(), route=line, held=None)
    assert rules(why(now, "I30", "P-32", MONDAY + FOUR_DAYS - SECOND)) == ["wait"]
    assert why(now, "I30", "P-32", MONDAY + FOUR_DAYS) == ()
    later = replace(now, longer={HOLD: 24 * HOUR})
    assert ready_at(later, "I30") == MONDAY + FOUR_DAYS + 24 * HOUR


def test_dry_or_damp_air_asks_for_a_look_at_the_end_of_the_hold() -> None:
    after = MONDAY + FOUR_DAYS
    now = replace(cased(), held=Held(after, MONDAY, crack_check=True))
    (finding,) = why(now, "I30", "P-32", after)
    assert finding.rule == "crack check"
    assert finding.severity is Severity.WARN
    done = (*now.done, Done("I30", "P-32", after))
    assert why(replace(now, done=done), "I50", "P-32", after) == ()


# People.


@pytest.mark.parametrize(
    ("badge", "did"), [("P-31", "I10 final inspection"), ("P-22", "A30 string and set up")]
)
def test_who_did_the_work_may_not_inspect_it_again(badge: str, did: str) -> None:
    """Another person than who did the work or the first look: common practice, no source."""
    set_up = Done("A30", "P-22", MONDAY - HOUR)
    done = (*through("A10"), set_up, Done("I10", "P-31", MONDAY), Done("I20", "P-31", MONDAY))
    now = standing(done, held=Held(FRIDAY, MONDAY))
    (finding,) = why(now, "I30", badge, FRIDAY)
    assert finding.rule == "person"
    assert finding.words == f"You did {did} on this guitar. I30 re-inspection needs other eyes."
    assert why(now, "I30", "P-32", FRIDAY) == ()


def test_a_helper_and_a_trainer_did_the_work_as_well() -> None:
    set_up = Done("A30", "P-22", MONDAY - HOUR, others=("P-23", "P-25"))
    now = standing((*through("A10"), set_up))
    for badge in ("P-22", "P-23", "P-25"):
        assert rules(why(now, "I10", badge)) == ["person"]
    assert why(now, "I10", "P-31") == ()


def test_everybody_who_ever_did_the_work_counts() -> None:
    twice = (Done("A30", "P-22", MONDAY - 3 * HOUR), Done("A30", "P-23", MONDAY - 2 * HOUR))
    now = standing((*through("A10"), *twice))
    assert rules(why(now, "I10", "P-22")) == ["person"]
    assert rules(why(now, "I10", "P-23")) == ["person"]


def test_who_did_the_work_a_week_ago_may_look_at_it() -> None:
    now = standing((*through("A10"), Done("A30", "P-22", MONDAY)))
    week = timedelta(days=7)
    (finding,) = why(now, "I10", "P-22", MONDAY + week - SECOND)
    assert finding.rule == "person"
    assert finding.then == ("Hand it to another person who may do I10, or come back Mon 14:10.")
    assert why(now, "I10", "P-22", MONDAY + week) == ()


def test_who_inspected_it_first_never_inspects_it_again() -> None:
    now = replace(cased(), held=Held(FRIDAY, MONDAY))
    (finding,) = why(now, "I30", "P-31", FRIDAY + timedelta(days=300))
    assert finding.words.startswith("You did I10 final inspection")
    assert finding.then == "Hand it to another person who may do I30, or ask the lead for one."


def test_who_repaired_it_this_week_may_not_inspect_it() -> None:
    repaired = Done("bridge lift", "P-61", MONDAY, others=("P-31",))
    now = standing(through("A30"), repairs=(repaired,))
    for badge in ("P-61", "P-31"):
        (finding,) = why(now, "I10", badge, MONDAY + HOUR)
        assert finding.rule == "person"
        assert finding.words == (
            "You repaired this guitar Mon 14:10. I10 final inspection needs other eyes."
        )
    assert why(now, "I10", "P-32", MONDAY + HOUR) == ()
    assert rules(why(now, "I10", "P-61", MONDAY + timedelta(days=7) - SECOND)) == ["person"]
    assert why(now, "I10", "P-61", MONDAY + timedelta(days=7)) == ()


def test_hands_on_work_that_is_done_again_by_others_still_count() -> None:
    """A loop has the set-up done again; who did it the first time is no other eyes yet."""
    now = standing(through("A30"), past=(Done("A30", "P-31", MONDAY - HOUR),))
    assert rules(why(now, "I10", "P-31", MONDAY + HOUR)) == ["person"]
    assert rules(why(replace(now, past=()), "I10", "P-31", MONDAY + HOUR)) == []


def test_who_judged_work_that_is_done_anew_does_not_do_it() -> None:
    """It was struck since, and the looks that judged it still count: common practice, no
    source."""
    done = (*cased().done, Done("I30", "P-32", FRIDAY))
    struck = tuple(one for one in done if one.operation != "I10")
    now, at = standing(struck, held=Held(FRIDAY, MONDAY)), FRIDAY + HOUR
    (finding,) = why(now, "I10", "P-32", at)
    assert finding.words == (
        "You did I30 re-inspection on this guitar. I10 final inspection needs other eyes."
    )
    assert why(now, "I10", "P-31", at) == ()
    assert kept_apart(now, FACTS["I10"], at) >= {"P-32"}


def test_set_up_anew_by_who_judged_it_waits_until_their_look_is_a_week_old() -> None:
    done = (*cased().done, Done("I30", "P-32", FRIDAY))
    struck = tuple(one for one in done if one.operation != "A30")
    now, week = standing(struck, held=Held(FRIDAY, MONDAY)), FRIDAY + timedelta(days=7)
    assert rules(why(now, "A30", "P-32", week - SECOND)) == ["person"]
    assert why(now, "A30", "P-32", week) == ()
    assert why(now, "A30", "P-22", FRIDAY + HOUR) == ()
    assert kept_apart(now, FACTS["A30"], FRIDAY + HOUR) == {"P-32"}


def test_nobody_releases_their_own_work() -> None:
    """Who set it up or repaired it this week; whoever looked may: common practice, no source."""
    done = (*through("A10"), Done("A30", "P-22", MONDAY - HOUR), Done("I10", "P-31", MONDAY))
    done = (*done, Done("I20", "P-31", MONDAY), Done("I30", "P-32", FRIDAY))
    repaired = Done("cosmetic", "P-61", MONDAY + HOUR)
    now = standing(done, held=Held(FRIDAY, MONDAY), repairs=(repaired,))
    (finding,) = why(now, "I50", "P-22", FRIDAY + HOUR)
    assert finding.words == (
        "You did A30 string and set up on this guitar. I50 release needs other eyes."
    )
    assert rules(why(now, "I50", "P-61", FRIDAY + HOUR)) == ["person"]
    for badge in ("P-31", "P-32"):
        assert why(now, "I50", badge, FRIDAY + HOUR) == ()


def test_who_repaired_it_may_do_what_needs_no_other_eyes() -> None:
    now = standing(through("G30"), repairs=(Done("finish chip", "P-61", MONDAY),))
    assert why(now, "G40", "P-61", MONDAY + HOUR) == ()


def test_a_witness_who_did_the_work_is_no_other_eyes() -> None:
    now = standing((*through("A10"), Done("A30", "P-22", MONDAY - HOUR)))
    (finding,) = why(now, "I10", "P-31", beside=Person("P-22"))
    assert finding.words.startswith("P-22 beside you did A30 string and set up on this guitar.")
    assert finding.then == "Have another sign beside you, or come back 2031-03-10."
    assert rules(why(now, "I10", "P-22", beside=Person("P-22"))) == ["person"]
    assert why(now, "I10", "P-31", beside=Person("P-32")) == ()


@pytest.mark.parametrize(
    ("until", "words"),
    [
        (None, "P-11 is not signed off for Joint."),
        (date(2031, 3, 2), "P-11's training for Joint expired 2 March."),
        (date(2030, 5, 3), "P-11's training for Joint expired 3 May 2030."),
    ],
)
def test_only_signed_off_people_work_at_the_joint(until: date | None, words: str) -> None:
    person = Person("P-11", {"J": until} if until else {"G": date(2031, 12, 31)})
    (finding,) = why(standing(through("B10")), "J10", person)
    assert finding.rule == "training"
    assert finding.words == words
    assert finding.then == "Work with a trained badge beside you, or ask the lead."


def test_training_counts_through_its_last_day_on_the_shops_clock() -> None:
    person = Person("P-11", {"J": date(2031, 3, 3)})
    now = standing(through("B10"))
    last = datetime(2031, 3, 3, 23, 59, tzinfo=BERLIN)
    assert why(now, "J10", person, last) == ()
    assert rules(why(now, "J10", person, last + MINUTE)) == ["training"]


def test_training_is_asked_for_only_where_it_is_needed() -> None:
    assert why(standing(through("J10")), "F20", Person("P-12")) == ()


def test_somebody_trained_beside_makes_up_for_it() -> None:
    now, untrained = standing(through("B10")), Person("P-11")
    assert why(now, "J10", untrained, beside=Person("P-16", TRAINED)) == ()
    for nobody in (
        Person("P-16"),
        Person("P-16", {"J": date(2031, 3, 2)}),
        Person("P-16", TRAINED, learns=True),
        Person("P-11", TRAINED),
    ):
        assert rules(why(now, "J10", untrained, beside=nobody)) == ["training"]


def test_who_learns_records_with_a_trainer_beside() -> None:
    now, trainee = standing(through("J10")), Person("P-25", learns=True)
    (finding,) = why(now, "F20", trainee)
    assert finding.rule == "beside"
    assert finding.words == "P-25 is learning: a trainer signs beside you."
    assert why(now, "F20", trainee, beside=Person("P-12")) == ()
    assert rules(why(now, "F20", trainee, beside=Person("P-26", learns=True))) == ["beside"]
    assert rules(why(now, "F20", trainee, beside=Person("P-25"))) == ["beside"]


def test_the_lead_does_not_release_alone() -> None:
    """Common practice, no source."""
    now, lead = standing(through("I30")), Person("P-01", leads=True)
    (finding,) = why(now, "I50", lead)
    assert finding.rule == "beside"
    assert finding.words == "I50 release is never done by the lead alone: P-01 leads."
    assert finding.then == "Ask an inspector to sign beside you, or to do it."
    assert why(now, "I50", lead, beside=Person("P-32")) == ()
    assert why(now, "I50", "P-32", beside=lead) == ()
    for nobody in (Person("P-02", leads=True), Person("P-25", learns=True), lead):
        assert rules(why(now, "I50", lead, beside=nobody)) == ["beside"]
    assert why(standing(through("I20")), "I30", lead, MONDAY) == ()


def test_who_learns_at_the_joint_needs_a_trainer_signed_off_there() -> None:
    now, trainee = standing(through("B10")), Person("P-25", learns=True)
    assert rules(why(now, "J10", trainee)) == ["training", "beside"]
    assert rules(why(now, "J10", trainee, beside=Person("P-12"))) == ["training"]
    assert why(now, "J10", trainee, beside=Person("P-16", TRAINED)) == ()


# What is open, parked, cut off.

OPEN = OpenStep("F20", "P-12", datetime(2031, 3, 3, 9, 40, tzinfo=BERLIN))


def test_one_step_is_open_at_a_time() -> None:
    now = standing(through("G30"), open=OPEN)
    for operation, badge in (("Q10", "P-15"), ("G40", "P-18"), ("F20", "P-13")):
        finding = why(now, operation, badge)[0]
        assert finding.rule == "open"
        assert finding.words == "P-12 has F20 open since Mon 09:40."
        assert finding.then == "Join as helper, or wait until it is recorded."
        assert finding.call == ""


def test_who_opened_a_step_and_who_joined_may_record_it() -> None:
    now = standing(through("G30"), open=replace(OPEN, helpers=("P-13",)))
    assert why(now, "F20", "P-12") == ()
    assert why(now, "F20", "P-13") == ()
    assert rules(why(now, "F20", "P-15")) == ["open"]
    assert rules(why(now, "G40", "P-13")) == ["open"]


def test_who_has_a_step_open_is_told_to_record_or_park_it() -> None:
    (finding,) = why(standing(through("G30"), open=OPEN), "G40", "P-12")
    assert finding.words == "You have F20 open since Mon 09:40."
    assert finding.then == "Record F20, or park it first."


def test_a_parked_step_is_taken_over_first_by_whoever_goes_on() -> None:
    now = standing(through("G30"), open=replace(OPEN, parked=True, note="Waits for files."))
    for operation, badge in (("F20", "P-12"), ("F20", "P-13"), ("G40", "P-18")):
        (finding,) = why(now, operation, badge)
        assert finding.rule == "parked"
        assert finding.words == "F20 is parked by P-12 since Mon 09:40: Waits for files."
        assert finding.then == "Take it over first."
    bare = standing(through("G30"), open=replace(OPEN, parked=True))
    assert why(bare, "F20", "P-12")[0].words == "F20 is parked by P-12 since Mon 09:40."


def test_after_a_power_cut_somebody_looks_at_the_cut() -> None:
    at_the_machine = OpenStep("J10", "P-16", MONDAY, unsure=True)
    (finding,) = why(standing(through("B10"), open=at_the_machine), "J10", "P-16")
    assert finding.rule == "power cut"
    assert finding.words == (
        "The power went while J10 was open: the cut is unknown until somebody looks."
    )
    by_hand = standing(through("G30"), open=replace(OPEN, unsure=True, parked=True))
    (finding,) = why(by_hand, "F20", "P-12")
    assert "how far it came is unknown" in finding.words


# What waits for the lead.


def test_what_has_come_to_its_end_has_that_one_reason() -> None:
    now = standing(ended="scrapped, the pocket is cut through", open=OPEN)
    (finding,) = why(now, "I10", Person("P-25", learns=True))
    assert finding.rule == "ended"
    assert finding.words == "Q-1043 has come to its end: scrapped, the pocket is cut through."


def test_what_is_frozen_waits_for_the_lead() -> None:
    frozen = Frozen("its tag hung on another body.", "P-11", MONDAY - HOUR)
    finding = why(standing(through("G30"), frozen=frozen), "G40")[0]
    assert finding.rule == "frozen"
    assert finding.words == ("Q-1043 was frozen Mon 13:10 by P-11: its tag hung on another body.")
    assert finding.then == "Leave it as it is. The lead looks and frees it."
    assert finding.call == "lead"


def test_what_is_to_be_proven_waits_for_the_lead() -> None:
    late = Done("U10", "P-20", LONG_AGO + HOUR, doubt="recorded late, nobody saw it")
    now = standing((*through("A30"), late))
    (finding,) = why(now, "I10", "P-31")
    assert finding.rule == "doubt"
    assert finding.words == "U10 is not proven: recorded late, nobody saw it."
    assert finding.then == "The lead confirms or strikes it."


def test_a_doubt_keeps_nothing_back_before_all_is_to_be_proven() -> None:
    done = (*through("J10"), Done("G30", "P-18", LONG_AGO, doubt="recorded late"))
    assert why(standing(done), "G40") == ()


def test_a_doubt_is_gone_when_the_work_is_done_again() -> None:
    doubted = Done("U10", "P-20", LONG_AGO + HOUR, doubt="recorded late")
    again = Done("U10", "P-20", LONG_AGO + 2 * HOUR)
    assert why(standing((*through("A30"), again, doubted)), "I10", "P-31") == ()


# Defects of which nobody has decided. That a mere note keeps nothing back is common practice,
# no source.


def noted(grade: int, disposition: str = "", zone: int = 1) -> Undecided:
    return Undecided(9, "finish", "chip", grade, zone, disposition, MONDAY, "A30", "P-22")


@pytest.mark.parametrize("grade", [1, 2, 3])
def test_what_proves_waits_until_a_defect_is_decided(grade: int) -> None:
    now = standing(through("A30"), undecided=(noted(grade),))
    (finding,) = why(now, "I10", "P-31")
    assert (finding.rule, finding.severity) == ("undecided", Severity.STOP)
    assert finding.words == (
        f"chip, class {grade}, zone 1, noted 2031-03-03 14:10, is not decided: I10 waits."
    )
    assert finding.then == "Decide what becomes of it, or ask the lead."


@pytest.mark.parametrize(("last", "next_up"), [("I10", "I20"), ("I20", "I30"), ("I30", "I50")])
def test_all_after_what_proves_waits_too(last: str, next_up: str) -> None:
    now = standing(through(last), undecided=(noted(2),))
    assert [one.rule for one in why(now, next_up, "P-32")] == ["undecided"]


def test_work_before_the_first_that_proves_goes_on() -> None:
    assert why(standing(through("J10"), undecided=(noted(1),)), "G30") == ()


def test_what_is_held_is_told_as_the_leads_to_decide() -> None:
    now = standing(through("A30"), undecided=(noted(2, "hold for decision", zone=0),))
    (finding,) = why(now, "I10", "P-31")
    assert finding.words == (
        "chip, class 2, noted 2031-03-03 14:10, is held for decision: I10 waits."
    )
    assert (finding.then, finding.call) == ("The lead decides what becomes of it.", "lead")


def test_a_mere_note_is_told_and_keeps_nothing_back() -> None:
    now = standing(through("A30"), undecided=(noted(4),))
    (finding,) = why(now, "I10", "P-31")
    assert (finding.severity, finding.words) == (
        Severity.NOTE, "chip, class 4, zone 1, noted 2031-03-03 14:10, is not decided.",
    )  # fmt: skip


def test_a_second_look_is_not_told_of_a_mere_note() -> None:
    now = standing(through("I20"), undecided=(noted(4),))
    assert why(now, "I30", "P-32") == ()


def test_each_of_several_defects_is_told_worst_first() -> None:
    now = standing(through("A30"), undecided=(noted(4), noted(3), noted(1)))
    found = why(now, "I10", "P-31")
    assert [one.words.split(", ")[1] for one in found] == ["class 3", "class 1", "class 4"]


# The second inspector sees nothing of the first list until their own is entered: common practice,
# no source.


def of_first(grade: int = 2, disposition: str = "", at: str = "I10", by: str = "P-31") -> Undecided:
    return replace(noted(grade, disposition), found_at=at, found_by=by)


@pytest.mark.parametrize("found_at", ["I10", "I"])
def test_a_defect_of_the_first_look_is_not_told_to_who_may_take_the_second(found_at: str) -> None:
    now = standing(through("I20", "P-31"), undecided=(of_first(at=found_at), of_first(3)))
    (finding,) = why(now, "I30", "P-32")
    assert finding.severity is Severity.STOP
    assert finding.words == "A defect of the first look waits for a decision: I30 waits."
    assert finding.then == "Whoever found it decides, or the lead."
    waiting = replace(now, undecided=(of_first(2, "hold for decision"),))
    assert why(waiting, "I30", "P-32")[0].then == "The lead decides what becomes of it."


def test_it_is_told_to_who_found_it_and_once_the_second_look_is_taken() -> None:
    now = standing(through("I20", "P-31"), undecided=(of_first(),))
    assert any("chip" in one.words for one in why(now, "I30", "P-31"))
    own = standing(through("I20", "P-31"), undecided=(of_first(at="I30", by="P-32"),))
    assert "chip" in why(own, "I30", "P-32")[0].words
    assert "chip" in why(standing(through("I30"), undecided=(of_first(),)), "I50", "P-32")[0].words


def test_one_that_was_kept_without_its_finder_is_not_told_either() -> None:
    before = replace(noted(2), found_at="", found_by="")
    now = standing(through("I20", "P-31"), undecided=(before,))
    assert "chip" not in why(now, "I30", "P-32")[0].words


@pytest.mark.parametrize(
    ("trained", "station", "is_told"),
    [(False, "I", False), (False, "H", True), (True, "I", True), (True, "R", False)],
)
def test_where_the_second_look_takes_no_signed_off_hand_who_inspects_could_take_it(
    *, trained: bool, station: str, is_told: bool
) -> None:
    facts = replace(FACTS["I30"], trained=trained)
    route = replace(ROUTE, operations=tuple(facts if o.code == "I30" else o for o in OPERATIONS))
    now = standing(through("I20", "P-31"), route=route, undecided=(of_first(),))
    told = [one.words for one in may_start(now, "I50", Asking(Person("P-77"), station, MONDAY))]
    assert any("chip" in words for words in told) is is_told


def test_what_it_is_frozen_for_is_not_told_where_the_first_look_found_it() -> None:
    one = Frozen("chip, class 2: held for your decision, odd.", "P-31", MONDAY, "I10", "P-31")
    now = standing(through("I20", "P-31"), frozen=one)
    told = {who: why(now, "I30", who)[0].words for who in ("P-31", "P-32")}
    assert "chip" in told["P-31"]
    assert told["P-32"].endswith("by P-31 for a defect of the first look.")
    fallen = replace(now, frozen=Frozen("Dropped", "P-31", MONDAY))
    assert "Dropped" in why(fallen, "I30", "P-32")[0].words


# Rework.


def loop(stage: str, *redo: str, dry_until: datetime | None = None) -> Rework:
    return Rework("bridge lift", "a feeler goes in at the rear", MONDAY, stage, redo, dry_until)  # type: ignore[arg-type]


def test_at_repair_nothing_else_is_done() -> None:
    now = standing(through("A30"), rework=loop("repair", "G30", "G40", "A30"))
    for operation in ("G30", "I10"):
        finding = why(now, operation, at=MONDAY + HOUR)[0]
        assert finding.rule == "rework"
        assert finding.words == "At Repair since Mon 14:10: a feeler goes in at the rear."


def test_a_repair_dries_before_the_work_goes_on() -> None:
    drying = loop("redo", "Q10", dry_until=MONDAY + 24 * HOUR)
    now = standing(through("A30"), rework=drying)
    (finding,) = why(now, "Q10", at=MONDAY + HOUR)
    assert finding.rule == "wait"
    assert plain(finding.words) == "Ready Tue 14:10. 23 h left after the repair."
    assert why(now, "Q10", at=MONDAY + 24 * HOUR) == ()
    assert ready_at(now, "Q10") == MONDAY + 24 * HOUR
    repair = standing(through("A30"), rework=replace(drying, stage="repair"))
    assert rules(why(repair, "Q10", at=MONDAY + HOUR)) == ["rework", "wait"]


def test_what_a_loop_does_again_may_start_again_and_only_that() -> None:
    now = standing(through("A30"), rework=loop("redo", "G30", "A30"))
    assert why(now, "G30", at=MONDAY + HOUR) == ()
    assert rules(why(now, "G40", at=MONDAY + HOUR)) == ["done"]
    last = replace(now, done=(*now.done, Done("G30", "P-18", MONDAY)))  # as the loop began
    assert why(last, "G30", at=MONDAY + HOUR) == ()
    again = replace(now, done=(*now.done, Done("G30", "P-18", MONDAY + HOUR)))
    assert rules(why(again, "G30", at=MONDAY + 2 * HOUR)) == ["done"]
    assert rules(why(again, "A30", at=MONDAY + 2 * HOUR)) == ["wait"]
    assert why(again, "A30", at=MONDAY + 25 * HOUR) == ()


def test_what_a_loop_does_again_is_done_before_all_that_follows_it() -> None:
    """Of bridge and inspection, both to be done again, the bridge is not right before it."""
    now = standing(through("A30"), rework=loop("redo", "G30", "I10"))
    (finding,) = why(now, "I10", at=MONDAY + HOUR)
    assert finding.rule == "order"
    assert "comes after G30 glue bridge (Bridge), not recorded yet" in finding.words
    without = tuple(one for one in now.done if one.operation != "G30")
    assert rules(why(replace(now, done=without), "I10", at=MONDAY + HOUR)) == ["order"]
    assert rules(why(replace(now, done=without[:-4]), "U30", at=MONDAY + HOUR)) == ["order"]


# Where, and the work itself.

NO_TRAY = stop("tray scan", "The tray is not scanned here yet.", "Scan the tray's label.", "")


def test_an_operation_belongs_to_its_station() -> None:
    now = standing(through("G30"))
    (finding,) = may_start(now, "G40", Asking(ANYBODY, "Q", MONDAY), (NO_TRAY,))
    assert finding.rule == "station"
    assert finding.words == "G40 belongs to Bridge; this phone is at Q."
    assert finding.then == "Take Q-1043 to Bridge, or set your station."
    (finding,) = may_start(now, "G40", Asking(ANYBODY, "", MONDAY))
    assert finding.words.endswith("this phone is at no station.")


def test_what_is_recorded_late_may_be_recorded_anywhere() -> None:
    asking = Asking(ANYBODY, "Q", MONDAY, late=True)
    assert may_start(standing(through("G30")), "G40", asking, (NO_TRAY,)) == (NO_TRAY,)


def test_what_the_work_says_comes_last() -> None:
    now = standing(through("J10"))
    assert why(now, "F20", work=(NO_TRAY,)) == (NO_TRAY,)
    assert rules(why(now, "U10", work=(NO_TRAY,))) == ["order", "tray scan"]


def test_what_was_recorded_or_is_off_the_route_asks_for_no_tray() -> None:
    now = standing(through("J10"))
    assert rules(why(now, "J10", work=(NO_TRAY,))) == ["done"]
    assert rules(why(now, "X10", work=(NO_TRAY,))) == ["route"]


def test_every_reason_is_given_in_the_order_it_has_to_be_cleared() -> None:
    done = (
        *(one for one in through("A10") if one.operation != "U10"),
        Done("A30", "P-25", MONDAY, doubt="recorded late"),
    )
    now = standing(
        done,
        open=OPEN,
        frozen=Frozen("two necks", "P-16", MONDAY),
        rework=loop("repair"),
    )
    line = replace(ROUTE, operations=tuple(
        replace(one, trained=True) if one.code == "I10" else one for one in OPERATIONS
    ))  # fmt: skip
    trainee = Asking(Person("P-25", learns=True), "I", MONDAY + MINUTE)
    findings = may_start(replace(now, route=line), "I10", trainee, (NO_TRAY,))
    assert rules(findings) == [
        "frozen", "open", "rework", "order", "wait", "person", "training", "beside", "doubt",
        "tray scan",
    ]  # fmt: skip
    for one in findings:
        assert one.severity is Severity.STOP
        assert one.words.endswith(".")
        assert one.then.endswith(".")
    elsewhere = may_start(
        replace(now, route=line), "I10", replace(trainee, station="Q"), (NO_TRAY,)
    )
    assert rules(elsewhere)[5:] == ["station", "person", "training", "beside", "doubt"]


def test_a_moment_without_a_time_zone_is_turned_away() -> None:
    naive = datetime(2031, 3, 3, 7, 0)
    with pytest.raises(ValueError, match="has no time zone"):
        why(standing(), "N10", at=naive)
    with pytest.raises(ValueError, match="has no time zone"):
        why(standing(through("J10", at=naive)), "G30")


# Ready at.


def test_what_is_not_done_or_not_on_the_route_has_no_ready_moment() -> None:
    assert ready_at(standing(), "N10") is None
    assert ready_at(standing(through("N10")), "J10") is None
    assert ready_at(standing(), "X10") is None


def test_the_ready_moment_is_the_last_of_all_clocks() -> None:
    moments = {"G30": MONDAY, "A10": MONDAY + HOUR}
    done = tuple(replace(one, at=moments.get(one.operation, one.at)) for one in through("A10"))
    assert ready_at(standing(done), "A30") == (MONDAY + 24 * HOUR).astimezone(UTC)
