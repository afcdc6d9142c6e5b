"""What becomes of a defect, by taps; and one that was noted by mistake. Instruments are
invented; which class allows what, and the second badge, are common practice, no source."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client

from shop.craft.inspecting.classes import DefectClass
from shop.craft.inspecting.disposing import Decider, Disposition, choices
from shop.craft.rework import suggested
from shop.craft.words import THIN
from shop.floor import board, door
from shop.floor.demo.loading import pin_of
from shop.floor.models import Defect, Entry
from shop.inspection.deciding import WHY
from tests.bench.screens import Screen, key, seen, signed_in, tag
from tests.floor.casing import CASED, HOUR, MINUTE, SERIAL, cased, done, moment, number
from tests.floor.morning import NOW, now
from tests.people.phones import Clock

pytestmark = pytest.mark.usefixtures("today")

FREE_OF_PAIR = "Q-1061"  # neck and body wait for the cut that makes them a pair


def note_it(serial: str = SERIAL, at: Any = NOW, **differs: Any) -> int:
    said: dict[str, Any] = {"family": "finish", "word": "chip", "grade": 2, "zone": 1}
    outcome = done(door.DefectNoted(number(serial), **(said | differs)), at, "P-31", "I")
    assert outcome.seq is not None
    return outcome.seq


def way(row: int, what: str = "decide/", serial: str = SERIAL) -> str:
    return f"/{tag(serial)}/defects/{row}/{what}"


def page(
    row: int, query: str = "", badge: str = "P-31", beside: str = "", serial: str = SERIAL
) -> Screen:
    return seen(phone(badge, beside).get(f"{way(row, serial=serial)}{query}"))


def phone(badge: str = "P-31", beside: str = "") -> Client:
    """A phone at the inspection, with a second badge beside or without."""
    one = signed_in(badge, "I")
    if beside:
        answer: Any = one.post("/beside/", {"badge": beside, "pin": pin_of(beside)})
        assert answer.status_code == 302
    return one


def decided(row: int, badge: str = "P-31", beside: str = "P-32", **fields: str) -> Any:
    usual = {"what": "rework", "loop": "set-up", "why": "A buyer would return it"}
    return phone(badge, beside).post(way(row), usual | {"key": key()} | fields)


def standing() -> list[str]:
    return [one.standing for one in board.defects_of(number())]


def costs(screen: Screen) -> str:
    return " ".join(screen.of_class("costs")).replace(THIN, " ")


# --- what ---


@pytest.mark.parametrize("grade", [1, 2, 3, 4])
@pytest.mark.parametrize(("badge", "lead"), [("P-31", False), ("P-01", True)])
def test_each_choice_stands_in_its_place_open_or_with_why_not(
    grade: int, badge: str, lead: bool
) -> None:
    row = note_it(grade=grade)
    screen = page(row, badge=badge)
    by = Decider(badge, may_accept=lead, may_approve=lead)
    offered = choices(DefectClass(grade), by, joined=True)
    places = [screen.words.index(one.disposition.words) for one in offered]
    assert places == sorted(places)
    for one in offered:
        assert (one.disposition.words in screen.links) == one.possible
        if one.why_not:
            assert one.why_not.words in screen.words


def test_the_defect_itself_is_told_where_one_decides() -> None:
    screen = page(note_it(words="Treble bushing"))
    assert screen.heading == "Chip: what becomes of it?"
    for words in ("Class 2, Major", "zone 1 peghead face", "Treble bushing", "Found by P-31"):
        assert words in screen.words


def test_one_that_is_decided_leads_back_to_the_list() -> None:
    row = note_it(grade=4)
    done(
        door.DefectDecided(number(), row, "accept as is"), NOW + MINUTE, "P-31", "I",
        reason="Below the limit",
    )  # fmt: skip
    answer: Any = phone().get(way(row))
    assert answer.url == f"/{tag(SERIAL)}/defects/"


def test_a_number_that_is_no_defect_is_not_found() -> None:
    assert phone().get(way(9999)).status_code == 404


@pytest.mark.parametrize("badge", ["P-11", "P-61", "P-41"])
def test_who_decides_nothing_is_told_so(badge: str) -> None:
    row = note_it()
    assert signed_in(badge, "I").get(way(row)).status_code == 403


# --- which repair ---


def test_a_word_with_one_usual_repair_asks_for_none() -> None:
    screen = page(note_it(), "?what=rework", beside="P-32")
    assert screen.heading == "Chip: Rework"
    assert "Finish chip" in screen.words


def test_a_word_with_several_offers_them_likeliest_first_with_what_each_costs() -> None:
    row = note_it(family="setup", word="buzz", zone=0)
    screen = page(row, "?what=rework")
    assert screen.heading == "Buzz: what makes it good?"
    to = [one for one in screen.links.values() if "loop=" in one]
    for usual, found in zip(suggested("buzz", "setup"), to, strict=False):
        assert found.endswith(f"loop={usual.replace(' ', '+')}")
    assert "Then again" in screen.words
    assert "Dropped" not in screen.links


def test_something_else_may_make_it_good() -> None:
    row = note_it()
    screen = page(row, "?what=rework", beside="P-32")
    other = screen.links["Something else makes it good"]
    assert "Bridge lift" in seen(phone().get(other)).links


def test_a_slight_one_is_polished_first() -> None:
    row = note_it(grade=3, word="pit")
    links = [one for one in page(row, "?what=touch-up").links.values() if "loop=" in one]
    assert links[0].endswith("loop=cosmetic")


# --- what it costs is told before it is confirmed ---


def test_what_a_repair_costs_the_days_in_the_case_is_told_before(today: Clock) -> None:
    cased()
    today.now = CASED + HOUR
    lift = note_it(family="joint", word="lift", zone=5, grade=1, at=CASED + MINUTE)
    said = costs(page(lift, "?what=rework", beside="P-32"))
    assert "The 96 h in the case begin again." in said
    assert "Goes to Repair, about 60 min" in said
    nib = note_it(word="swirl", grade=3, zone=6, at=CASED + 2 * MINUTE)
    said = costs(page(nib, "?what=touch-up&loop=cosmetic"))
    assert "the days in the case stand still while it is out" in said


def test_a_step_that_is_open_is_said_to_be_put_down() -> None:
    row = note_it(grade=4)
    done(door.StepStarted(number(), "I10"), NOW + MINUTE, "P-31", "I")
    said = costs(page(row, "?what=touch-up&loop=cosmetic"))
    assert "I10, begun by P-31, is put down." in said


def test_to_hold_it_stops_the_work_and_says_so_before() -> None:
    screen = page(note_it(grade=3), "?what=hold+for+decision")
    assert "Work on it stops until the lead has decided." in screen.words


# --- the second badge ---


@pytest.mark.parametrize("grade", [1, 2])
def test_a_serious_one_asks_for_a_second_badge_and_comes_back_to_the_same_page(
    grade: int,
) -> None:
    row = note_it(grade=grade)
    screen = page(row, "?what=rework")
    assert f"Class {grade} takes 2 badges, and here is 1." in screen.words
    assert "Decide: Rework" not in screen.buttons
    to = screen.links["A second badge signs beside you"]
    one = phone()
    asked = seen(one.get(to))
    back = next(
        field.get("value", "") for field in asked.root.iter("input") if field.get("name") == "next"
    )
    answer: Any = one.post("/beside/", {"badge": "P-32", "pin": pin_of("P-32"), "next": back})
    screen = seen(one.get(answer.url))
    assert screen.heading == "Chip: Rework"
    assert "P-32 decides with you" in screen.words
    assert "Decide: Rework" in screen.buttons


def test_a_slight_one_asks_for_none() -> None:
    screen = page(note_it(grade=3), "?what=touch-up&loop=cosmetic")
    assert "A second badge signs beside you" not in screen.links
    assert "Decide: Touch-up" in screen.buttons


def test_a_badge_that_decides_no_defects_does_not_count_beside() -> None:
    row = note_it()
    screen = page(row, "?what=rework&loop=set-up", beside="P-11")
    assert "P-11 decides about no defects." in screen.words  # told before a reason is tapped
    assert "P-11 decides with you" not in screen.words
    assert "A second badge signs beside you" in screen.links
    assert "Decide: Rework" not in screen.buttons
    answer = decided(row, beside="P-11", loop="set-up")
    assert answer.status_code == 422
    assert "P-11 decides about no defects." in seen(answer).words
    assert standing() == ["open"]


# --- decided ---


def test_rework_with_two_badges_takes_the_guitar_to_repair() -> None:
    row = note_it()
    answer = decided(row)
    assert answer.status_code == 302
    one = Defect.objects.get()
    assert (one.disposition, one.second, one.reason) == (
        "rework", "P-32", "A buyer would return it",
    )  # fmt: skip
    rework = now(SERIAL).rework
    assert rework is not None
    assert (rework.loop, rework.stage) == ("set-up", "repair")
    screen = seen(phone().get(answer.url))
    assert "Decided: chip." in screen.words
    assert "Being made good: 1" in screen.words
    assert "Decided by P-31 with P-32, Mon 09:30." in screen.words


def test_a_fill_is_asked_how_deep_and_recorded_with_it() -> None:
    row = note_it()
    answer = decided(row, loop="finish chip")
    assert answer.status_code == 422
    assert "Tap the depth." in seen(answer).words
    assert decided(row, loop="finish chip", depth="0.4").status_code == 302
    assert Entry.objects.get(kind="decided").data["depth_mm"] == "0.4"


def test_without_a_reason_nothing_is_decided_and_what_was_tapped_is_kept() -> None:
    row = note_it()
    answer = decided(row, why="")
    assert answer.status_code == 422
    screen = seen(answer)
    assert "No reason is given." in screen.words
    assert screen.form(way(row))["loop"] == "set-up"
    assert standing() == ["open"]


def test_a_reason_of_ones_own_stands_beside_the_tapped_one() -> None:
    row = note_it()
    decided(row, own="Two on the face")
    assert Defect.objects.get().reason == "A buyer would return it: Two on the face"


def test_the_lead_accepts_a_minor_one() -> None:
    row = note_it(grade=3)
    answer = decided(row, "P-01", "", what="accept as is", loop="", why="Below the limit")
    assert answer.status_code == 302
    assert standing() == ["closed"]


def test_an_inspector_is_refused_what_only_a_lead_decides() -> None:
    row = note_it(grade=3)
    answer = decided(row, what="accept as is", loop="", why="Below the limit")
    assert answer.status_code == 422
    assert "A lead accepts class 3 as it is." in seen(answer).words
    screen = page(row, "?what=accept+as+is")
    assert "A lead accepts class 3 as it is." in screen.words
    assert not any(one.startswith("Decide:") for one in screen.buttons)


def test_a_lead_who_signs_beside_an_inspector_approves_what_only_a_lead_decides() -> None:
    row = note_it(grade=2)
    screen = page(row)
    assert "A lead approves seconds." in screen.words
    assert "/beside/?next=" in screen.links["A lead signs beside you"]
    screen = page(row, "?what=seconds", beside="P-01")
    assert "P-01 decides with you" in screen.words
    answer = decided(row, beside="P-01", what="seconds", loop="", why="A repair would show")
    assert answer.status_code == 302
    found = Defect.objects.values_list("disposition", "decided_by__code", "second")
    assert found.get() == ("seconds", "P-31", "P-01")


def test_another_inspector_beside_approves_no_seconds() -> None:
    row = note_it(grade=2)
    answer = decided(row, what="seconds", loop="", why="A repair would show")
    assert "A lead approves seconds." in seen(answer).words
    assert standing() == ["open"]


def test_whoever_decides_after_another_one_is_told_by_whom_it_was_and_as_what() -> None:
    row = note_it(grade=3)
    first = {"what": "accept as is", "loop": "", "why": "Below the limit"}
    assert decided(row, "P-01", "", **first).status_code == 302
    later = decided(row, beside="", what="touch-up", loop="cosmetic", why="It polishes out")
    assert later.status_code == 422
    assert "by P-01: accept as is." in seen(later).words
    withdrawn: Any = phone().post(
        f"/{tag(SERIAL)}/defects/{row}/withdraw/", {"key": key(), "why": "Noted twice"}
    )
    assert withdrawn.status_code == 422
    assert Defect.objects.get().disposition == "accept as is"


def test_what_goes_back_names_its_department() -> None:
    row = note_it(serial=FREE_OF_PAIR)
    asked = page(row, "?what=return", serial=FREE_OF_PAIR)
    assert asked.heading == "Which part goes back?"
    screen = page(row, "?what=return&department=neck", beside="P-32", serial=FREE_OF_PAIR)
    assert "The neck goes back with this reason, and work on it stops." in screen.words
    fields = {"key": key(), "what": "return", "department": "neck", "why": "It came so"}
    answer: Any = phone(beside="P-32").post(way(row, serial=FREE_OF_PAIR), fields)
    assert answer.status_code == 302
    assert Defect.objects.get().department == "neck"
    assert now(FREE_OF_PAIR).frozen is not None


def test_one_that_is_held_is_decided_by_the_lead_afterwards() -> None:
    row = note_it(grade=3)
    fields = {"what": "hold for decision", "loop": "", "why": "The limit is not clear"}
    assert decided(row, beside="", **fields).status_code == 302
    assert standing() == ["held"]
    screen = seen(phone("P-01").get(f"/{tag(SERIAL)}/defects/"))
    assert "Held for the lead by P-31, Mon 09:30" in screen.words
    assert screen.links["Decide: chip"] == way(row)
    assert "Decide: chip" not in seen(phone("P-31").get(f"/{tag(SERIAL)}/defects/")).links
    alone = seen(phone("P-31").get(way(row)))
    assert "A lead signs beside you" in alone.links
    assert not any("?what=" in to for to in alone.links.values())
    signed = seen(phone("P-31", beside="P-01").get(way(row)))
    assert any("?what=touch-up" in to for to in signed.links.values())
    again = decided(row, beside="", what="touch-up", loop="cosmetic", why="It polishes out")
    assert again.status_code == 422
    assert "is held for the lead." in seen(again).words


def test_the_same_decision_sent_twice_is_one() -> None:
    row, by = note_it(), key()
    first = decided(row, key=by)
    again = decided(row, key=by)
    assert first.status_code == again.status_code == 302
    assert Entry.objects.filter(kind="decided").count() == 1


@pytest.mark.parametrize("query", ["?what=melt", "?what=", "?loop=fret"])
def test_what_an_address_cannot_mean_is_asked_from_the_start(query: str) -> None:
    assert page(note_it(), query).heading == "Chip: what becomes of it?"


def test_each_disposition_has_reasons_to_tap() -> None:
    assert set(WHY) == set(Disposition)
    assert all(len(reasons) >= 2 for reasons in WHY.values())


# --- withdrawn ---


def test_whoever_noted_it_withdraws_it_with_a_reason() -> None:
    row = note_it()
    fields = {"key": key(), "why": "Noted twice"}
    answer: Any = phone().post(way(row, "withdraw/"), fields)
    assert answer.status_code == 302
    assert standing() == ["withdrawn"]
    screen = seen(phone().get(answer.url))
    assert "Withdrawn: chip." in screen.words
    assert "Why: Noted twice" in screen.words


def test_without_a_reason_it_is_not_withdrawn() -> None:
    row = note_it()
    answer: Any = phone().post(way(row, "withdraw/"), {"key": key()})
    assert answer.status_code == 422
    assert "is withdrawn for a reason" in seen(answer).words
    assert standing() == ["open"]


def test_it_is_offered_to_whoever_noted_it_and_to_the_lead(today: Clock) -> None:
    row = note_it()
    today.now = NOW + timedelta(hours=1)
    other = phone("P-32")
    assert way(row, "withdraw/") not in other.get(f"/{tag(SERIAL)}/defects/").content.decode()
    own = seen(phone().get(f"/{tag(SERIAL)}/defects/")).links.values()
    assert way(row, "withdraw/") in own
    lead = seen(phone("P-01").get(f"/{tag(SERIAL)}/defects/")).links.values()
    assert way(row, "withdraw/") in lead


def test_the_next_day_it_takes_the_lead(today: Clock) -> None:
    row = note_it()
    today.now = moment(4, 9, 30)
    fields = {"key": key(), "why": "Noted twice"}
    refused: Any = phone().post(way(row, "withdraw/"), fields)
    assert refused.status_code == 422
    assert "They withdraw it in the same shift, or the lead does." in seen(refused).words
    fields["key"] = key()
    answer: Any = phone("P-01").post(way(row, "withdraw/"), fields)
    assert answer.status_code == 302
    assert standing() == ["withdrawn"]
