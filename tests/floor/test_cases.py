"""The case: opened, shut, and what moves the days in it. The instruments and their days are
invented; what each happening does to the hold is common practice, no source."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.utils.timezone import localtime

from shop.catalogue.models import Loop
from shop.craft.clocks import Happening, What
from shop.craft.words import THIN
from shop.floor import board, course, door, following
from shop.floor.deeds.reopening import looked_too_soon
from shop.floor.models import Entry, Instrument, Tag
from shop.people import badges
from shop.people.models import Badge
from tests.floor.casing import (
    CASED,
    HOUR,
    MINUTE,
    READY,
    SERIAL,
    cased,
    did,
    done,
    held,
    looked,
    moment,
    number,
    ready,
    said,
)
from tests.floor.morning import act, asking, now, rules, step, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

TUE = moment(4, 9)
DAY = 24 * HOUR


@pytest.fixture
def in_its_case(morning: None, db: None) -> None:
    cased()


def room(temp_c: str, rh_pct: str, at: datetime) -> None:
    done(door.RoomRead(Decimal(temp_c), Decimal(rh_pct)), at)


def frozen() -> None:
    done(door.Frozen(number(), "The lead looks first"), TUE, "P-01", "")


def ended() -> None:
    Instrument.objects.filter(pk=number()).update(ended="scrapped: back crushed")


# --- the days themselves ---


@pytest.mark.usefixtures("in_its_case")
def test_a_guitar_cased_on_monday_is_not_inspected_again_on_friday_morning() -> None:
    """Four whole days: common practice, no source."""
    outcome = looked(moment(7, 11))
    assert rules(outcome) == ["wait"]
    assert words(outcome) == f"Ready Fri 14:10. 3{THIN}h 10{THIN}min left of the hold."


@pytest.mark.usefixtures("in_its_case")
def test_it_is_inspected_again_once_its_days_are_over() -> None:
    assert looked(READY - timedelta(seconds=1)).result == "refused"
    assert looked(READY).result == "recorded"


@pytest.mark.usefixtures("in_its_case")
def test_the_hold_is_told_by_when_it_is_over() -> None:
    view = board.hold(now(SERIAL), moment(7, 11))
    assert view is not None
    assert (view.words, view.ready, view.passed) == ("Ready Fri 14:10", READY, False)
    assert (view.because, view.halted, view.out_words) == ((), "", "")
    later = board.hold(now(SERIAL), READY)
    assert later is not None
    assert later.passed


def test_an_instrument_that_was_not_cased_has_no_hold_to_tell() -> None:
    assert board.hold(now("Q-1043"), TUE) is None


@pytest.mark.parametrize(
    ("zone", "start"),
    [
        # Europe/Berlin puts its clocks forward on 30 March 2031, America/New_York back on
        # 2 November 2031: tz database.
        ("Europe/Berlin", datetime(2031, 3, 28, 14, 10, tzinfo=UTC)),
        ("America/New_York", datetime(2031, 10, 31, 14, 10, tzinfo=UTC)),
    ],
)
def test_the_hold_is_96_hours_long_when_the_clocks_change(
    settings: Any, zone: str, start: datetime
) -> None:
    settings.TIME_ZONE = zone
    for code, station in (("P-31", "I"), ("P-32", "R")):  # a year after they were signed off last
        inspector, lead = (Badge.objects.get(code=one) for one in (code, "P-01"))
        badges.train(inspector, station, lead, start.date())
    cased(start)
    over = start + timedelta(hours=96)
    assert ready(over) == over
    assert localtime(over).utcoffset() != localtime(start).utcoffset()
    early = looked(over - MINUTE)
    assert rules(early) == ["wait"]
    assert f"{localtime(over):%H:%M}" in words(early)
    assert looked(over).done


# --- out of the case ---


@pytest.mark.usefixtures("in_its_case")
def test_a_case_open_for_40_minutes_makes_it_ready_40_minutes_later() -> None:
    done(door.CaseOpened(number()), TUE)
    done(door.CaseShut(number()), TUE + 40 * MINUTE, reason="Opened the wrong case")
    assert ready() == READY + 40 * MINUTE
    late = looked(READY + 39 * MINUTE)
    assert words(late).startswith("Ready Fri 14:50. ")
    assert looked(READY + 40 * MINUTE).done


@pytest.mark.usefixtures("in_its_case")
def test_a_case_open_for_40_minutes_is_shut_for_a_reason() -> None:
    done(door.CaseOpened(number()), TUE)
    outcome = said(door.CaseShut(number()), TUE + 40 * MINUTE)
    assert (outcome.result, rules(outcome)) == ("refused", ["case"])
    assert words(outcome) == f"It was out of its case for 40{THIN}min."
    assert outcome.findings[0].then == "Say why it was out."


@pytest.mark.usefixtures("in_its_case")
def test_an_opening_that_nobody_noted_is_told_afterwards_for_a_reason() -> None:
    deed = door.CaseShut(number(), out_since=TUE)
    assert rules(said(deed, TUE + 40 * MINUTE)) == ["case"]
    assert ready() == READY
    done(deed, TUE + 40 * MINUTE, reason="Opened by mistake")
    assert ready() == READY + 40 * MINUTE
    newest = board.journal(number())[0]
    assert (newest["kind"], newest["reason"]) == ("case shut", "Opened by mistake")


@pytest.mark.usefixtures("in_its_case")
def test_a_glance_into_the_case_moves_nothing_and_asks_nothing() -> None:
    done(door.CaseOpened(number()), TUE)
    done(door.CaseShut(number()), TUE + 14 * MINUTE)
    assert ready() == READY


@pytest.mark.usefixtures("in_its_case")
def test_more_than_two_hours_out_of_the_case_begin_the_days_again() -> None:
    done(door.CaseOpened(number()), TUE)
    back = TUE + 2 * HOUR + MINUTE
    done(door.CaseShut(number()), back, reason="Shown to a buyer")
    assert ready() == back + 96 * HOUR
    assert held(READY).because[0].endswith(f"the 96{THIN}h begin again.")


@pytest.mark.usefixtures("in_its_case")
def test_while_it_is_out_of_its_case_it_has_no_moment_to_be_ready() -> None:
    done(door.CaseOpened(number()), TUE)
    assert ready(TUE + HOUR) is None
    view = board.hold(now(SERIAL), TUE + HOUR)
    assert view is not None
    assert view.ready is None
    assert view.words == view.halted != ""
    assert (view.out_since, view.out_words) == (TUE, "Out of its case since Tue 09:00")
    assert rules(looked(TUE + HOUR)) == ["wait"]


@pytest.mark.usefixtures("in_its_case")
def test_a_case_that_is_open_is_not_opened_again() -> None:
    done(door.CaseOpened(number()), TUE)
    outcome = said(door.CaseOpened(number()), TUE + 5 * MINUTE)
    assert words(outcome) == f"{SERIAL} is out of its case since Tue 09:00."


@pytest.mark.usefixtures("in_its_case")
def test_a_case_that_nobody_opened_asks_since_when_it_was_open() -> None:
    outcome = said(door.CaseShut(number()), TUE)
    assert words(outcome) == f"Nobody noted that {SERIAL} was out of its case."
    assert outcome.findings[0].then == "Say since when it was out."


@pytest.mark.usefixtures("in_its_case")
def test_an_opening_that_was_noted_is_not_told_a_second_time() -> None:
    done(door.CaseOpened(number()), TUE)
    deed = door.CaseShut(number(), out_since=TUE - HOUR)
    outcome = said(deed, TUE + HOUR, reason="Earlier than noted")
    assert (outcome.result, rules(outcome)) == ("refused", ["case"])


@pytest.mark.usefixtures("in_its_case")
@pytest.mark.parametrize(
    ("since", "said_so"),
    [
        (CASED - MINUTE, "it was cased only Mon 14:10."),
        (TUE + 41 * MINUTE, "that is still to come."),
    ],
)
def test_an_opening_lies_between_the_casing_and_now(since: datetime, said_so: str) -> None:
    deed = door.CaseShut(number(), out_since=since)
    outcome = said(deed, TUE + 40 * MINUTE, reason="By mistake")
    assert (outcome.result, rules(outcome)) == ("refused", ["moment"])
    assert words(outcome).endswith(said_so)
    assert now(SERIAL).happened == ()


@pytest.mark.parametrize("deed", [door.CaseOpened, door.CaseShut])
def test_a_case_is_opened_and_shut_only_once_there_is_one(deed: Any) -> None:
    outcome = said(deed(number("Q-1043")), TUE)
    assert rules(outcome) == ["uncased"]


@pytest.mark.usefixtures("in_its_case")
def test_the_same_opening_sent_twice_is_one() -> None:
    sent = act("P-32", "R", TUE)
    deed = door.CaseOpened(number())
    assert [door.record(sent, deed).result for _ in range(2)] == ["recorded", "already"]
    assert len(now(SERIAL).happened) == 1


@pytest.mark.usefixtures("in_its_case")
def test_an_outcome_shows_the_case_as_it_is_then() -> None:
    outcome = done(door.CaseOpened(number()), TUE)
    assert outcome.after is not None
    assert outcome.after.happened == now(SERIAL).happened
    assert outcome.after.seq == now(SERIAL).seq


# --- out for the finish ---


def chipped(at: datetime = TUE) -> None:
    done(door.DefectFound(number(), "chip", "finish chip", "I30", "Treble bushing"), at, "P-22")


@pytest.mark.usefixtures("in_its_case")
def test_it_is_out_for_its_finish_only_with_a_card_that_says_so() -> None:
    outcome = said(door.CaseOpened(number(), touch_up=True), TUE)
    assert (outcome.result, rules(outcome)) == ("refused", ["touch-up"])


@pytest.mark.usefixtures("in_its_case")
def test_26_hours_out_for_a_drop_fill_make_it_ready_26_hours_later() -> None:
    """Out of its case for a repair the days stand still: common practice, no source."""
    chipped()
    done(door.CaseOpened(number(), touch_up=True), TUE)
    done(door.RepairDone(number()), TUE + HOUR, "P-61", "X")
    did(SERIAL, "Q10", "P-15", "Q", TUE + 25 * HOUR)
    did(SERIAL, "I10", "P-31", "I", TUE + 25 * HOUR + 30 * MINUTE)
    done(door.CaseShut(number()), TUE + 26 * HOUR)
    assert held(READY).started == CASED
    assert ready() == READY + 26 * HOUR
    assert rules(looked(READY + 25 * HOUR)) == ["wait"]
    assert looked(READY + 26 * HOUR).done


@pytest.mark.usefixtures("in_its_case")
@pytest.mark.parametrize(("hours", "again"), [(72, False), (73, True)])
def test_more_than_72_hours_out_for_its_finish_begin_the_days_again(
    hours: int, again: bool
) -> None:
    chipped()
    done(door.CaseOpened(number(), touch_up=True), TUE)
    back = TUE + hours * HOUR
    done(door.CaseShut(number()), back)
    assert ready(back) == (back + 96 * HOUR if again else READY + hours * HOUR)


# --- what happens to it ---


@pytest.mark.usefixtures("in_its_case")
@pytest.mark.parametrize("what", ["restrung", "glued", "recut"])
def test_new_strings_a_joint_or_a_cut_begin_the_days_again(what: str) -> None:
    done(door.Happened(number(), what), TUE)
    assert ready() == TUE + 96 * HOUR


@pytest.mark.usefixtures("in_its_case")
def test_a_joint_dries_before_the_days_begin_again() -> None:
    done(door.Happened(number(), "glued", cure_h=24), TUE)
    assert ready() == TUE + 24 * HOUR + 96 * HOUR


@pytest.mark.usefixtures("in_its_case")
def test_one_new_string_asks_for_a_day_or_what_is_left_if_that_is_more() -> None:
    done(door.Happened(number(), "string"), TUE)
    assert ready() == READY
    friday = moment(7, 12)
    done(door.Happened(number(), "string"), friday)
    assert ready() == friday + DAY


@pytest.mark.usefixtures("in_its_case")
def test_a_move_between_racks_changes_nothing() -> None:
    done(door.Happened(number(), "rack"), TUE)
    assert (ready(), held(READY).because) == (READY, ())


@pytest.mark.usefixtures("in_its_case")
def test_a_new_tag_changes_nothing() -> None:
    code = Tag.objects.get(body__serial=SERIAL, void_at__isnull=True).code
    done(door.TagReplaced(code), TUE, "P-01", reason="Spoilt")
    assert (ready(), held(READY).because) == (READY, ())


@pytest.mark.usefixtures("in_its_case")
def test_a_power_cut_changes_nothing() -> None:
    done(door.PowerCut(TUE - HOUR, TUE), TUE + HOUR, "P-01")
    assert (ready(), held(READY).because) == (READY, ())


@pytest.mark.usefixtures("in_its_case")
def test_a_saddle_lowered_after_the_second_look_asks_for_a_day_and_another_look() -> None:
    did(SERIAL, "I30", "P-32", "R", READY)
    trimmed = READY + HOUR
    done(door.Happened(number(), "trimmed"), trimmed)
    assert ready(trimmed) == trimmed + DAY
    outcome = step(SERIAL, "I30", "P-32", "R", at=trimmed + DAY - MINUTE)
    assert "wait" in rules(outcome)
    assert "Ready Sat 15:10. " in words(outcome)
    did(SERIAL, "I30", "P-32", "R", trimmed + DAY)
    assert step(SERIAL, "I50", "P-32", "R", at=trimmed + DAY).done


@pytest.mark.usefixtures("in_its_case")
def test_what_happened_earlier_counts_from_then() -> None:
    done(door.Happened(number(), "restrung", at=TUE), TUE + 5 * HOUR)
    assert ready() == TUE + 96 * HOUR


@pytest.mark.usefixtures("in_its_case")
@pytest.mark.parametrize("at", [CASED - MINUTE, TUE + MINUTE], ids=["before", "to come"])
def test_what_happened_lies_between_the_casing_and_now(at: datetime) -> None:
    assert rules(said(door.Happened(number(), "restrung", at=at), TUE)) == ["moment"]
    assert ready() == READY


@pytest.mark.usefixtures("in_its_case")
@pytest.mark.parametrize("what", ["", "sneezed", "out", "touched up", "dropped", "tag", "power"])
def test_what_is_no_report_of_its_own_is_refused_with_what_can_be(what: str) -> None:
    outcome = said(door.Happened(number(), what), TUE)
    assert rules(outcome) == ["happened"]
    assert "restrung, string, trimmed, rack, glued and recut" in outcome.findings[0].then
    assert now(SERIAL).happened == ()


@pytest.mark.usefixtures("in_its_case")
@pytest.mark.parametrize(("what", "hours"), [("glued", -1), ("glued", 337), ("string", 5)])
def test_hours_that_nothing_dries_for_are_refused(what: str, hours: int) -> None:
    assert rules(said(door.Happened(number(), what, cure_h=hours), TUE)) == ["cure"]


def test_before_it_is_cased_nothing_is_noted_for_its_hold() -> None:
    outcome = said(door.Happened(number(), "restrung"), TUE)
    assert rules(outcome) == ["uncased"]
    assert "it was not cased yet" in words(outcome)


# --- the room ---


@pytest.mark.usefixtures("in_its_case")
def test_hours_in_a_damp_room_make_it_ready_so_much_later() -> None:
    room("21", "62", TUE)
    room("21", "48", TUE + 5 * HOUR)
    assert ready() == READY + 5 * HOUR


@pytest.mark.usefixtures("in_its_case")
def test_more_than_a_day_of_a_cold_room_in_all_begins_the_days_again() -> None:
    room("15", "48", TUE)
    room("20", "48", TUE + 20 * HOUR)
    room("15", "48", TUE + 24 * HOUR)
    room("20", "48", TUE + 29 * HOUR)
    assert ready() == TUE + 29 * HOUR + 96 * HOUR


@pytest.mark.usefixtures("in_its_case")
def test_a_room_dry_enough_to_crack_wood_begins_the_days_again_and_asks_for_a_look() -> None:
    room("21", "36", TUE)
    room("21", "48", TUE + 4 * HOUR + MINUTE)
    back = TUE + 4 * HOUR + MINUTE
    assert ready() == back + 96 * HOUR
    view = board.hold(now(SERIAL), READY)
    assert view is not None
    assert view.crack_check


# --- a look that turns out to have been too early ---


def looked_at_once() -> None:
    """The second look is taken as soon as the days are over, and all is on it."""
    did(SERIAL, "I30", "P-32", "R", READY)


def opened_again(outcome: door.Outcome) -> bool:
    """Whether the second look is to be taken again, and the answer says so."""
    told = any(one.words == "After that again: I30." for one in outcome.findings)
    opened = "I30" not in now(SERIAL).done_codes
    assert told == opened
    assert following.differences()[1] == []
    return opened


@pytest.mark.usefixtures("in_its_case")
@pytest.mark.parametrize("out", [40 * MINUTE, 3 * HOUR])
def test_out_of_its_case_before_the_look_and_told_after_it_opens_the_look_again(
    out: timedelta,
) -> None:
    """Out of its case 15 min to 2 h the days stand still, beyond that they begin again: common
    practice, no source."""
    looked_at_once()
    back = READY + HOUR
    deed = door.CaseShut(number(), out_since=READY - out)
    asked = said(deed, back)
    assert [one.rule for one in asked.findings] == ["case", "again"], "told before it is confirmed"
    outcome = done(deed, back, reason="Opened by mistake")
    assert opened_again(outcome)
    assert ready(back) == back + (96 * HOUR if out + HOUR > 2 * HOUR else out)
    assert "Done again" in dict(
        board.history(now(SERIAL), asking("P-01", "", back)).rows[0].details
    )


@pytest.mark.usefixtures("in_its_case")
def test_out_of_its_case_since_the_days_were_over_leaves_the_look_as_it_is() -> None:
    did(SERIAL, "I30", "P-32", "R", READY + 2 * HOUR)
    deed = door.CaseShut(number(), out_since=READY + MINUTE)
    assert not opened_again(done(deed, READY + 5 * HOUR, reason="Opened by mistake"))


@pytest.mark.usefixtures("in_its_case")
@pytest.mark.parametrize(("before", "opened"), [(MINUTE, False), (30 * MINUTE, True)])
def test_the_case_opened_for_the_look_takes_nothing_from_the_days_before(
    before: timedelta, opened: bool
) -> None:
    """One string asks for 24 h, and out of its case for less than 15 min does nothing, however
    long the case stays open after the look: common practice, no source."""
    look = READY + 24 * HOUR
    done(door.CaseOpened(number()), look - before)
    did(SERIAL, "I30", "P-32", "R", look)
    told = said(door.Happened(number(), "string", at=READY), look + 6 * HOUR)
    assert told.done
    assert opened_again(told) == opened


@pytest.mark.usefixtures("in_its_case")
def test_out_of_a_case_before_it_was_cased_anew_takes_nothing_from_the_days() -> None:
    """Nobody told that the case was shut again; that it was cased since says so."""
    looked_at_once()
    out = course.happening_row(Happening(What.OUT, CASED - HOUR))
    before = replace(now(SERIAL), happened_kept=[out])
    assert looked_too_soon(before, replace(before, longer_kept={"hold": 1})) == ("I30",)


@pytest.mark.usefixtures("in_its_case")
def test_an_opening_that_a_phone_sends_after_the_look_opens_it_again() -> None:
    """The act is judged at the moment of its tap, which may lie before a look since recorded."""
    looked_at_once()
    assert opened_again(said(door.CaseOpened(number()), READY - 30 * MINUTE))
    assert held(READY).halted


@pytest.mark.usefixtures("in_its_case")
def test_longer_days_that_were_not_over_at_the_look_open_it_again() -> None:
    did(SERIAL, "I30", "P-32", "R", READY + 5 * HOUR)
    at = READY + 6 * HOUR
    assert board.again_if_longer(now(SERIAL), "hold")[0] == 6
    five = said(door.WaitLengthened(number(), "hold", 5), at, "P-01", "", "Damp week")
    assert not opened_again(five), "they were over just then"
    assert board.again_if_longer(now(SERIAL), "hold")[0] == 1
    one = said(door.WaitLengthened(number(), "hold", 1), at, "P-01", "", "Damp week")
    assert opened_again(one)
    assert ready(at) == READY + 6 * HOUR
    assert board.again_if_longer(now(SERIAL), "hold") == (0, ())


@pytest.mark.usefixtures("in_its_case")
def test_another_wait_made_longer_leaves_the_look_as_it_is() -> None:
    looked_at_once()
    (clock, *_) = (one.name for one in board.clocks_of(now(SERIAL)) if one.name != "hold")
    at = READY + HOUR
    assert board.again_if_longer(now(SERIAL), clock) == (0, ())
    longer = said(door.WaitLengthened(number(), clock, 24), at, "P-01", "", "Damp week")
    assert longer.done
    assert not opened_again(longer)


@pytest.mark.usefixtures("in_its_case")
def test_dropped_in_a_workshop_without_a_loop_for_it_opens_the_look_again() -> None:
    """A fall begins the days again: common practice, no source."""
    Loop.objects.filter(key="dropped").delete()
    looked_at_once()
    assert board.again_if(now(SERIAL), What.DROPPED, READY + HOUR)[0] == "After that again: I30."
    assert opened_again(said(door.Dropped(number(), "From the bench"), READY + HOUR))
    assert now(SERIAL).frozen
    assert ready(READY + HOUR) == READY + 97 * HOUR


# --- longer ---


def lengthened(clock: str = "hold", hours: int = 24, reason: str = "Damp week") -> door.Outcome:
    return said(door.WaitLengthened(number(), clock, hours), TUE, "P-01", "", reason)


@pytest.mark.usefixtures("in_its_case")
def test_a_hold_that_the_lead_makes_longer_is_over_so_much_later() -> None:
    assert lengthened(hours=24).done
    assert ready() == READY + DAY
    assert lengthened(hours=6).done
    assert ready() == READY + 30 * HOUR


def test_any_wait_of_the_route_is_made_longer_by_its_name() -> None:
    did(SERIAL, "I10", "P-31", "I", moment(3, 10))
    assert lengthened("string load", 8).done
    assert now(SERIAL).longer == {"string load": timedelta(hours=8)}


@pytest.mark.parametrize(
    ("clock", "hours", "reason", "rule"),
    [
        ("lunch", 24, "Damp week", "clock"),
        ("", 24, "Damp week", "clock"),
        ("hold", 0, "Damp week", "hours"),
        ("hold", -24, "Too long", "hours"),
        ("hold", 721, "Damp week", "hours"),
        ("hold", 24, "", "reason"),
    ],
)
def test_a_wait_is_not_made_longer_without_a_name_hours_and_a_reason(
    clock: str, hours: int, reason: str, rule: str
) -> None:
    outcome = lengthened(clock, hours, reason)
    assert (outcome.result, rules(outcome)) == ("refused", [rule])
    assert now(SERIAL).longer == {}


def test_a_wait_is_made_720_hours_longer_at_most_in_all() -> None:
    assert lengthened(hours=700).done
    outcome = lengthened(hours=21)
    assert (outcome.result, rules(outcome)) == ("refused", ["hours"])
    assert lengthened(hours=20).done


# --- frozen, ended ---


@pytest.mark.usefixtures("in_its_case")
def test_what_happens_is_noted_on_a_frozen_instrument_too() -> None:
    frozen()
    done(door.CaseOpened(number()), TUE)
    done(door.CaseShut(number()), TUE + 5 * MINUTE)
    done(door.Happened(number(), "restrung"), TUE + HOUR)
    assert ready() == TUE + HOUR + 96 * HOUR


@pytest.mark.usefixtures("in_its_case")
@pytest.mark.parametrize(
    "deed",
    [
        lambda pk: door.CaseOpened(pk),
        lambda pk: door.CaseShut(pk, TUE - HOUR),
        lambda pk: door.Happened(pk, "restrung"),
        lambda pk: door.WaitLengthened(pk, "hold", 24),
    ],
    ids=["opened", "shut", "happened", "longer"],
)
def test_nothing_more_is_noted_of_what_came_to_its_end(deed: Any) -> None:
    ended()
    outcome = said(deed(number()), TUE, "P-01", reason="Late note")
    assert (outcome.result, rules(outcome)) == ("refused", ["ended"])


@pytest.mark.usefixtures("in_its_case")
def test_the_journal_says_all_that_moved_a_hold() -> None:
    done(door.Happened(number(), "glued", cure_h=24), TUE)
    row = Entry.objects.filter(instrument_id=number()).latest("seq")
    assert row.data["what"] == "glued"
    assert row.data["happened"] == [["glued", TUE.isoformat(), None, 24]]
