"""What the pages do not tell of a first look to somebody who could still take the second.

The second inspector sees nothing of the first list until their own is entered: common practice, no
source.
"""

from __future__ import annotations

import pytest

from shop.craft.inspecting.progress import Answer
from shop.floor import door
from shop.people import badges
from shop.people.models import Badge
from shop.stock.models import Lot
from tests.bench.screens import Screen, seen, signed_in, tag
from tests.floor.casing import CASED, HOUR, MINUTE, READY, SERIAL, cased, done, number
from tests.floor.gauged import gauge
from tests.floor.looking import looked, note_one
from tests.floor.morning import act, prepared, ready_for, rules, step, words
from tests.people.phones import Clock

pytestmark = pytest.mark.usefixtures("today")

LOOK = CASED - HOUR
SECOND = ("P-32", "R")
WHY = "The limit is not clear"


def page(badge: str, station: str, more: str = "") -> Screen:
    return seen(signed_in(badge, station).get(f"/{tag(SERIAL)}{more}"))


def noted(grade: int = 3) -> int:
    """P-31 notes a chip at the first look; the number of its row."""
    deed = door.DefectNoted(number(), "finish", "chip", grade, 1, found_at="I10")
    seq = done(deed, LOOK, "P-31", "I").seq
    assert seq is not None
    return seq


def sent() -> None:
    """It goes to repair for what was found at the first look."""
    deed = door.DefectDecided(number(), noted(), "touch-up", "cosmetic")
    done(deed, LOOK + MINUTE, "P-31", "I", reason="It polishes out")


def test_release_does_not_say_what_it_is_at_repair_for(today: Clock) -> None:
    sent()
    today.now = LOOK + HOUR
    kept = page(*SECOND, "/release/").words
    assert "found at the first look" in kept
    assert "chip" not in kept
    assert "chip" in page("P-61", "X", "/release/").words


def test_the_repair_does_not_say_what_it_is_for(today: Clock) -> None:
    sent()
    today.now = LOOK + HOUR
    screen = page(*SECOND, "/repair/")
    assert "opens once you have entered" in screen.words
    assert "chip" not in screen.words.lower()
    assert "Repair done" not in screen.buttons
    assert "chip" in page("P-61", "X", "/repair/").words.lower()


def test_who_repairs_it_after_all_says_so_and_is_told(today: Clock) -> None:
    """Whoever repairs it takes no look at it that week: common practice, no source."""
    sent()
    today.now = LOOK + HOUR
    screen = page("P-32", "X", "/repair/")
    assert "chip" not in screen.words.lower()
    assert "does not inspect it in the same week" in screen.words
    shown = seen(signed_in("P-32", "X").get(screen.links["I repair it: show what was found"]))
    assert "chip" in shown.words.lower()
    assert "Repair done" in shown.buttons


def test_what_is_held_for_the_lead_does_not_tell_it_by_what_it_is_frozen_for(today: Clock) -> None:
    deed = door.DefectDecided(number(), noted(), "hold for decision")
    done(deed, LOOK + MINUTE, "P-31", "I", reason=WHY)
    today.now = LOOK + HOUR
    for way in ("", "/release/", "/look/"):
        assert "chip" not in page(*SECOND, way).words, way
    assert "for a defect of the first look." in page(*SECOND).words
    assert "chip, class 3" in page("P-31", "I").words


def test_one_that_waits_is_not_named_on_the_page_of_its_record(today: Clock) -> None:
    ready_for(SERIAL, "I10", "P-31", "I", LOOK)
    noted()
    today.now = LOOK + HOUR
    words = page("P-32", "I").words
    assert "A defect of the first look waits for a decision: I10 waits." in words
    assert "chip" not in words
    assert "chip, class 3" in page("P-31", "I").words


@pytest.mark.parametrize(("operation", "told"), [("I20", True), ("I30", False)])
def test_what_is_refused_at_repair_does_not_say_what_for(operation: str, told: bool) -> None:
    """Nor does the row that a phone sends late, and the journal keeps."""
    sent()
    by, station = ("P-31", "I") if told else SECOND
    outcome = step(SERIAL, operation, by, station, LOOK + HOUR)
    assert "rework" in rules(outcome)
    assert ("chip" in words(outcome)) is told
    assert ("found at the first look" in words(outcome)) is not told


# --- what names nobody, and the shelf ---


def carried(station: str) -> str:
    return page("P-32", station, "/carried/").words


def test_what_a_phone_carries_does_not_say_what_it_is_at_repair_for(today: Clock) -> None:
    """Whoever holds the phone reads it, and nobody is asked who they are."""
    sent()
    today.now = LOOK + HOUR
    for station in ("R", "I", "X"):
        assert "chip" not in carried(station).lower().partition("report a defect")[0], station
    assert "found at the first look" in carried("R")


@pytest.mark.parametrize("by", ["P-31", "P-32"])
def test_nor_what_is_to_be_decided_though_who_found_it_has_it_in_hand(
    today: Clock, by: str
) -> None:
    done(door.StepStarted(number(), "I10"), LOOK - MINUTE, by, "I")
    deed = door.DefectNoted(number(), "finish", "chip", 3, 1, found_at="I10")
    done(deed, LOOK, by, "I")
    list(prepared(SERIAL, "I10", by, "I", LOOK))
    today.now = LOOK + HOUR
    told = carried("I").partition("Report a defect")[0]
    assert "A defect of the first look waits for a decision" in told
    assert "chip" not in told


def test_nor_how_far_a_value_moved_since_the_first_look(today: Clock) -> None:
    refused()
    door.record(act("P-24", "R", READY + 3 * MINUTE), door.StepStarted(number(), "I30"))
    today.now = READY + HOUR
    assert "it is outside what is allowed since the first look." in carried("R")
    assert BOTH not in carried("R")


def test_who_draws_a_part_for_its_repair_is_not_told_where_they_could_look_again(
    today: Clock,
) -> None:
    sent()
    today.now = LOOK + HOUR
    single = Lot.objects.filter(item__key="T03").values_list("pk", flat=True)[0]

    def draws(badge: str) -> str:
        return seen(signed_in(badge).get(f"/lots/{single}/draw/")).words

    assert "chip" in draws("P-41")
    lead = Badge.objects.get(code="P-01")
    badges.train(lead, "R", Badge.objects.get(code="P-32"), LOOK.date())
    kept = draws("P-01")
    assert SERIAL in kept
    assert "found at the first look" in kept
    assert "chip" not in kept


# --- what others were told at the second look ---

MOVED = {"action bass": "2.95"}  # the spec wants 2.40
BOTH = "between the looks,"  # what the first one read and what the second one


def refused() -> None:
    """Another inspector measures for the second look, and what moved since the first one keeps
    them from recording it: they are told so with what that one read."""
    cased()
    lead = Badge.objects.get(code="P-01")
    badges.train(Badge.objects.get(code="P-24"), "R", lead, LOOK.date())
    list(prepared(SERIAL, "I30", "P-24", "R", READY))
    assert gauge(SERIAL, MOVED, "I30", "P-24", "R", READY + MINUTE, sure=tuple(MOVED)).done
    outcome = step(SERIAL, "I30", "P-24", "R", READY + 2 * MINUTE)
    assert not outcome.done
    assert f"{BOTH} 2.4 to 2.95." in words(outcome)


def test_a_refused_second_look_does_not_tell_another_what_the_first_one_read(
    today: Clock,
) -> None:
    refused()
    today.now = READY + HOUR
    kept = page(*SECOND, "/history/").words
    assert "tried to record I30" not in kept
    assert BOTH not in kept
    assert "kept back until you have entered your own" in kept
    told = page("P-24", "R", "/history/").words
    assert "tried to record I30" in told
    assert BOTH in told
    lead = seen(signed_in("P-01", "").get(f"/record/{SERIAL}/")).words
    assert "tried to record I30" in lead


def test_it_is_told_once_the_second_look_is_recorded(today: Clock) -> None:
    refused()
    again = gauge(SERIAL, {"action bass": "2.42"}, "I30", "P-24", "R", READY + 3 * MINUTE)
    assert again.done, words(again)
    taken = step(SERIAL, "I30", "P-24", "R", READY + 4 * MINUTE, reason="Measured twice")
    assert taken.done, words(taken)
    today.now = READY + HOUR
    assert "tried to record I30" in page(*SECOND, "/history/").words


def test_it_is_told_to_who_has_measured_all_of_it_themselves(today: Clock) -> None:
    refused()
    list(prepared(SERIAL, "I30", "P-32", "R", READY + HOUR))
    today.now = READY + 2 * HOUR
    assert "tried to record I30" in page(*SECOND, "/history/").words


# --- the areas ---


def test_areas_of_the_first_look_are_answered_to_others_and_no_more(today: Clock) -> None:
    note_one(LOOK)
    looked(7, LOOK, marks=Answer.DEFECT.value)
    looked(8, LOOK)
    today.now = LOOK + MINUTE
    screen = page("P-32", "I", "/look/")
    assert screen.words.count("Answered") == 2
    for told in ("item with a defect", "All OK", "defect noted at this look"):
        assert told not in screen.words, told
        assert told in page("P-31", "I", "/look/").words, told
    opened = page("P-32", "I", "/look/7/")
    assert "Area 7 Top is answered by P-31. What they found is kept from you" in opened.words
    assert "Keep these answers" not in opened.buttons
    assert "Keep these answers" in page("P-31", "I", "/look/7/").buttons


def test_what_one_answered_oneself_is_shown(today: Clock) -> None:
    looked(8, LOOK, "P-32")
    today.now = LOOK + MINUTE
    assert "All OK" in page("P-32", "I", "/look/").words
    assert "Keep these answers" in page("P-32", "I", "/look/8/").buttons


def test_who_has_the_first_look_in_hand_reads_on(today: Clock) -> None:
    """They are of the first look then, and the second is another's."""
    looked(7, LOOK)
    done(door.StepStarted(number(), "I10"), LOOK, "P-32", "I")
    today.now = LOOK + MINUTE
    assert "Keep these answers" in page("P-32", "I", "/look/7/").buttons
