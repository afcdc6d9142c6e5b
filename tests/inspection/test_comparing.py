"""Both looks side by side, the touch-up from there, and all that stands against release.

Badges, serials and values are invented; what is asked here is common practice, no source,
unless a test names one.
"""

from __future__ import annotations

from datetime import datetime

import pytest

from shop.floor import board, door
from shop.inspection.touching import touching_up
from tests.bench.screens import Screen, classes, key, seen, signed_in, tag
from tests.floor.casing import CASED, HOUR, MINUTE, READY, SERIAL, cased, did, looked, number
from tests.floor.morning import act, asking, measured, now, ready_for, rules, step, words
from tests.people.phones import Clock

pytestmark = pytest.mark.usefixtures("today")

FIRST, SECOND = ("P-31", "I"), ("P-32", "R")
AT_FIRST = CASED - HOUR


def note(
    word: str, at: datetime, who: tuple[str, str] = FIRST, zone: int = 6, grade: int = 4
) -> None:
    """A defect is noted, and accepted as it is where it is slight."""
    deed = door.DefectNoted(number(), "finish", word, grade, zone)
    assert (outcome := door.record(act(*who, at), deed)).done, words(outcome)
    if grade == 4:
        last = now(SERIAL).undecided[-1].number
        decided = door.DefectDecided(number(), last, "accept as is")
        outcome = door.record(act(*who, at, reason="Below the limit"), decided)
        assert outcome.done, words(outcome)


def first_look() -> None:
    """Two slight ones were found at it, then it was cased."""
    ready_for(SERIAL, "I10", *FIRST, AT_FIRST)
    note("swirl", AT_FIRST)
    note("pit", AT_FIRST, zone=3)
    assert step(SERIAL, "I10", *FIRST, AT_FIRST).done
    did(SERIAL, "I20", "P-31", "H", CASED)


def second_look() -> None:
    """It finds one of the two again, and one that nobody had noted."""
    note("swirl", READY, SECOND)
    note("haze", READY, SECOND, zone=10)
    assert (outcome := looked(READY + MINUTE)).done, words(outcome)


def looks(clock: Clock, badge: str, at: datetime, station: str = "R") -> Screen:
    clock.now = at
    return seen(signed_in(badge, station).get(f"/{tag(SERIAL)}/looks/"))


def said(screen: Screen) -> str:
    return screen.words.replace("\u202f", " ")


# --- before and after one's own ---


def test_before_their_own_the_second_inspector_is_told_that_it_opens_after(today: Clock) -> None:
    first_look()
    screen = looks(today, "P-32", READY)
    assert screen.heading == "Not open yet"
    assert "I30 Inspect again is taken with fresh eyes" in screen.words
    assert "once all of your own is entered" in screen.words
    for kept in ("swirl", "pit", "2.4"):
        assert kept not in screen.words


def test_half_of_their_own_does_not_open_it(today: Clock) -> None:
    first_look()
    note("haze", READY, SECOND, zone=10)
    screen = looks(today, "P-32", READY)
    assert screen.heading == "Not open yet"
    assert "swirl" not in screen.words


def test_all_of_their_own_opens_it_before_the_record(today: Clock) -> None:
    first_look()
    ready_for(SERIAL, "I30", *SECOND, READY)
    screen = looks(today, "P-32", READY)
    assert screen.heading == "Both looks"
    assert "swirl" in screen.words


def test_whoever_took_the_first_look_is_told_in_words_why_not(today: Clock) -> None:
    """Another person is required: common practice, no source."""
    first_look()
    screen = looks(today, "P-31", READY)
    assert "You did I10 Inspect on this guitar." in screen.words
    assert "needs other eyes" in screen.words


def test_before_the_first_look_there_is_nothing_to_compare(today: Clock) -> None:
    screen = looks(today, "P-32", AT_FIRST)
    assert "I10 Inspect is not recorded yet." in screen.words


def test_an_operator_is_not_let_in(today: Clock) -> None:
    assert signed_in("P-11").get(f"/{tag(SERIAL)}/looks/").status_code == 403


# --- what each found ---


def test_each_defect_stands_under_the_look_that_found_it(today: Clock) -> None:
    first_look()
    second_look()
    twice = board.compare(now(SERIAL))
    assert twice is not None
    assert [(one.kind, one.row.word) for one in twice.found] == [
        ("second", "haze"),
        ("both", "swirl"),
        ("first", "pit"),
    ]
    assert twice.escapes == 1


def test_what_is_noted_at_the_second_looks_station_after_it_is_of_the_second_look(
    today: Clock,
) -> None:
    """Found at the second look and there at the first: common practice, no source."""
    first_look()
    second_look()
    today.now = READY + HOUR
    way = f"/{tag(SERIAL)}/defects/new/"
    phone = signed_in(*SECOND)
    told = {"family": "finish", "word": "run", "zone": "5"}
    asked = seen(phone.get(way, told))
    sent = asked.form(way) | told | {"class": "4"}
    assert sent["found_at"] == "I30"
    assert phone.post(way, sent).status_code == 302
    twice = board.compare(now(SERIAL))
    assert twice is not None
    assert ("second", "run") in [(one.kind, one.row.word) for one in twice.found]
    assert twice.escapes == 2


def test_an_escape_is_called_one(today: Clock) -> None:
    first_look()
    second_look()
    text = said(looks(today, "P-32", READY + HOUR))
    assert "1 escape : the first look let it through" in text or "1 escape: the first" in text
    assert "Escape: at the second look only haze" in text
    assert "At both looks swirl" in text
    assert "At the first look only pit" in text


def test_the_same_word_at_another_place_is_another_defect(today: Clock) -> None:
    first_look()
    note("swirl", READY, SECOND, zone=10)
    assert looked(READY + MINUTE).done
    twice = board.compare(now(SERIAL))
    assert twice is not None
    assert sorted(one.kind for one in twice.found) == ["first", "first", "second"]


def test_one_withdrawn_is_in_no_column(today: Clock) -> None:
    first_look()
    deed = door.DefectNoted(number(), "finish", "haze", 4, 10)
    assert door.record(act(*SECOND, READY), deed).done
    last = now(SERIAL).undecided[-1].number
    gone = door.DefectWithdrawn(number(), last)
    assert door.record(act(*SECOND, READY, reason="A reflection"), gone).done
    assert looked(READY + MINUTE).done
    twice = board.compare(now(SERIAL))
    assert twice is not None
    assert [one.row.word for one in twice.found] == ["swirl", "pit"]


def test_two_looks_that_found_nothing_say_so(today: Clock) -> None:
    cased()
    assert looked(READY).done
    assert "Neither look found a defect." in said(looks(today, "P-32", READY + HOUR))


# --- what each measured ---


def test_values_of_both_looks_stand_side_by_side_with_what_they_moved(today: Clock) -> None:
    cased()
    assert looked(READY).done
    screen = looks(today, "P-32", READY + HOUR)
    heads = [one.get("data-head") for one in screen.root.iter("td") if one.get("data-head")]
    assert heads[:3] == ["First look", "Second look", "Moved"]
    twice = board.compare(now(SERIAL))
    assert twice is not None
    assert twice.values
    assert all(one.first is not None and one.value is not None for one in twice.values)


def test_a_move_out_of_what_is_allowed_is_a_stop_in_words_and_shape(today: Clock) -> None:
    """2.40 at the first look, 2.65 at the second: common practice, no source."""
    cased()
    measured(SERIAL, "I30", *SECOND, READY, action="2.65")
    twice = board.compare(now(SERIAL))
    assert twice is not None
    verdicts = {one.place.key: one.verdict for one in twice.values if one.quantity.key == "action"}
    kinds = {place: one.kind for place, one in verdicts.items() if one is not None}
    assert "stop" in kinds.values()


# --- the touch-up ---


def test_the_clocks_part_is_said_before_it_is_taken_out_for_touch_up() -> None:
    cased()
    at = CASED + 2 * HOUR
    found = door.DefectFound(number(), "chip", "finish chip", "", "finish, zone 1")
    assert (outcome := door.record(act("P-22", "R", at), found)).done, words(outcome)
    way = touching_up(now(SERIAL), at)
    assert way is not None
    text = " ".join(way.costs).replace("\u202f", " ")
    assert way.state == "may"
    assert "up to 72 h out of its case the days stand still" in text
    assert "Out for longer, the 96 h in the case begin again." in text


def test_once_out_the_way_leads_back_into_the_case(today: Clock) -> None:
    cased()
    at = CASED + 2 * HOUR
    found = door.DefectFound(number(), "chip", "finish chip", "", "finish, zone 1")
    assert door.record(act("P-22", "R", at), found).done
    today.now = at
    phone = signed_in("P-32", "R")
    answer = phone.post(f"/{tag(SERIAL)}/case/", {"key": key(), "do": "touch-up"})
    assert answer.status_code == 302
    way = touching_up(now(SERIAL), at + MINUTE)
    assert way is not None
    assert way.state == "out"


def test_decided_at_the_second_look_the_way_to_its_touch_up_is_on_the_defects_page(
    today: Clock,
) -> None:
    """What a touch-up does again has to be done again once it is decided. Out of the case for it
    for up to 72 h is a pause: common practice, no source."""
    first_look()
    at = CASED + HOUR
    note("haze", at, SECOND, zone=10, grade=3)
    last = now(SERIAL).undecided[-1].number
    deed = door.DefectDecided(number(), last, "touch-up", "cosmetic")
    assert door.record(act(*SECOND, at, reason="It polishes out"), deed).done
    assert "I10" not in now(SERIAL).done_codes
    today.now = at + MINUTE
    phone = signed_in(*SECOND)
    screen = seen(phone.get(f"/{tag(SERIAL)}/defects/"))
    text = said(screen)
    assert "Then again: Q10 and I10." in text
    assert "Nothing is done again." not in text
    assert "Out for longer, the 96 h in the case begin again." in text
    assert "Touch up" in screen.buttons
    sent = screen.form(f"/{tag(SERIAL)}/case/")
    assert phone.post(f"/{tag(SERIAL)}/case/", sent).status_code == 302
    assert "Back in its case" in seen(phone.get(f"/{tag(SERIAL)}/defects/")).links


def test_a_paper_is_not_touched_up() -> None:
    cased()
    at = CASED + HOUR
    deed = door.DefectNoted(number(), "paper", "wrong label", 3, 16)
    assert (outcome := door.record(act(*SECOND, at), deed)).done, words(outcome)
    assert touching_up(now(SERIAL), at) is None
    last = now(SERIAL).undecided[-1].number
    decided = door.DefectDecided(number(), last, "touch-up", "paper")
    assert door.record(act(*SECOND, at, reason="Another guitar's"), decided).done
    assert touching_up(now(SERIAL), at) is None


def test_a_slight_defect_still_undecided_asks_for_its_decision_first() -> None:
    cased()
    note("swirl", CASED + HOUR, SECOND, grade=3)
    way = touching_up(now(SERIAL), CASED + HOUR)
    assert way is not None
    assert way.state == "decide"


def test_where_nothing_is_to_be_touched_up_nothing_is_offered() -> None:
    cased()
    assert touching_up(now(SERIAL), CASED + HOUR) is None


# --- offered ---


def test_only_whoever_may_compare_is_led_there(today: Clock) -> None:
    first_look()
    today.now = READY
    links = seen(signed_in("P-32", "R").get(f"/{tag(SERIAL)}")).links
    assert links["Both looks"] == f"/{tag(SERIAL)}/looks/"
    assert "Both looks" not in seen(signed_in("P-11").get(f"/{tag(SERIAL)}")).links


def test_the_list_of_the_station_offers_no_look_at_ones_own_work(today: Clock) -> None:
    def row(badge: str) -> str:
        screen = seen(signed_in(badge, "R").get("/here/"))
        text = "".join(screen.words.split("Q-1038")[1:2])
        return text.split("Q-10")[0]

    assert "You worked on this one or looked at it: it needs other eyes." in row("P-31")
    assert "it needs other eyes" not in row("P-32")


# --- release ---


def release(clock: Clock, at: datetime, badge: str = "P-32", station: str = "R") -> Screen:
    clock.now = at
    return seen(signed_in(badge, station).get(f"/{tag(SERIAL)}/release/"))


def test_all_that_stands_against_release_is_on_one_page(today: Clock) -> None:
    first_look()
    deed = door.DefectNoted(number(), "finish", "haze", 3, 10)
    assert door.record(act(*SECOND, CASED + HOUR), deed).done
    screen = release(today, CASED + HOUR)
    text = said(screen)
    assert "Waits for a decision: haze." in text
    assert "Ready Fri 14:10" in text
    assert "I30 Inspect again is not recorded yet." in text
    assert "I10 Inspect: P-31" in text
    assert "Papers It needs none where it goes." in text
    assert f"Release {SERIAL}" not in screen.buttons


def test_the_last_check_that_keeps_it_back_is_told_after_the_second_look(today: Clock) -> None:
    """A saddle lowered asks for a check of 24 h: common practice, no source."""
    first_look()
    second_look()
    at = READY + HOUR
    assert door.record(act(*SECOND, at), door.Happened(number(), "trimmed")).done
    screen = release(today, at + HOUR)
    assert "wait" in marks_of(screen, "Days in the case")
    assert "Days in the case Ready Sat 15:10" in said(screen)
    assert f"Release {SERIAL}" not in screen.buttons
    assert looked(at + 25 * HOUR).done
    after = release(today, at + 25 * HOUR)
    assert "clear" in marks_of(after, "Days in the case")
    assert f"Release {SERIAL}" in after.buttons


def test_what_is_below_the_limit_is_no_stop(today: Clock) -> None:
    """Class 4 is below the limit and counts for the trend alone: common practice, no source."""
    first_look()
    second_look()
    deed = door.DefectNoted(number(), "finish", "run", 4, 10)
    assert door.record(act(*SECOND, READY + HOUR), deed).done
    screen = release(today, READY + HOUR)
    assert "Below the limit and not decided: run. Nothing waits for it." in said(screen)
    assert "note" in marks_of(screen, "Defects")
    assert f"Release {SERIAL}" in screen.buttons


def marks_of(screen: Screen, title: str) -> set[str]:
    """How the line with this title is marked."""
    lines = [one for one in screen.root.iter("div") if "finding" in classes(one)]
    texts = {" ".join("".join(one.itertext()).split()): one for one in lines}
    found = next(one for text, one in texts.items() if text.startswith(title))
    return {name.removeprefix("finding-") for name in classes(found)}


def test_one_act_releases_it_and_freezes_the_record(today: Clock) -> None:
    first_look()
    second_look()
    at = READY + HOUR
    screen = release(today, at)
    assert f"Release {SERIAL}" in screen.buttons, said(screen)
    here = f"/{tag(SERIAL)}/release/"
    phone = signed_in("P-32", "R")
    sent = screen.form(here)
    assert phone.post(here, sent)["Location"] == here
    kept = board.as_built(number())
    assert kept is not None
    assert sorted(one["word"] for one in kept["defects"]) == ["haze", "pit", "swirl", "swirl"]
    after = seen(phone.get(here))
    assert after.heading == "Released"
    assert "Box it with its papers" in after.links


def test_the_act_at_another_station_is_refused_and_says_why(today: Clock) -> None:
    first_look()
    second_look()
    today.now = READY + HOUR
    phone = signed_in("P-32", "I")
    here = f"/{tag(SERIAL)}/release/"
    answer = phone.post(here, {"key": key()})
    assert answer.status_code == 422
    assert board.as_built(number()) is None


def test_nothing_is_released_while_a_defect_waits(today: Clock) -> None:
    first_look()
    second_look()
    deed = door.DefectNoted(number(), "finish", "run", 3, 10)
    assert door.record(act(*SECOND, READY + HOUR), deed).done
    outcome = step(SERIAL, "I50", *SECOND, READY + HOUR)
    assert "undecided" in rules(outcome)


def test_a_look_that_is_kept_from_this_person_is_kept_by_the_floor_too() -> None:
    first_look()
    assert not board.may_compare(now(SERIAL), asking("P-32", "R", READY))
    assert not board.may_compare(now(SERIAL), asking("P-31", "R", READY))
