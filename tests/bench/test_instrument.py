"""The page of an instrument: whose it is, what to do now, and with what."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client

from shop.catalogue import revising
from shop.catalogue.models import Item
from tests.bench.screens import Screen, said, seen, signed_in, tag
from tests.floor.morning import ready_for
from tests.people.phones import Clock

pytestmark = pytest.mark.usefixtures("today")


def page(serial: str, badge: str = "P-11", station: str = "") -> Screen:
    return seen(signed_in(badge, station).get(f"/{tag(serial)}"))


def order_of(screen: Screen, *words: str) -> list[int]:
    places = [screen.words.find(one) for one in words]
    assert -1 not in places, f"{words} at {places} in: {screen.words}"
    return places


# --- whose it is ---


def test_the_last_four_of_the_serial_stand_out_from_its_head() -> None:
    serial = page("Q-1043").one(".//p[@class='serial']")
    head = serial.find("span[@class='serial-head']")
    assert head is not None
    assert (said(head), (head.tail or "").strip()) == ("Q-", "1043")


def test_model_hand_strings_and_due_date_stand_under_the_serial() -> None:
    assert "TARN · right-handed · 6 strings Due Fri 2031-03-14" in page("Q-1043").words


def test_a_left_handed_guitar_says_so() -> None:
    assert "WOLD · left-handed · 6 strings" in page("Q-1055").words


def test_an_urgent_instrument_says_so() -> None:
    assert "Due Thu 2031-03-20 · urgent" in page("Q-1065").words


def test_deviations_are_boxed_before_the_operation_with_who_agreed() -> None:
    screen = page("Q-1044")
    box = said(screen.one(".//section[@class='boxed']"))
    assert "Gold tuning machines instead of nickel, one lot: T02 in place of T01." in box
    assert "Gold strap button instead of nickel: E07 in place of E04." in box
    assert box.count("Agreed: buyer, order C-0417.") == 2
    places = order_of(screen, "1044", "Departs from the spec", "N10", "Kit of TARN")
    assert places == sorted(places)


def test_an_instrument_as_the_spec_says_has_no_box() -> None:
    assert page("Q-1043").of_class("boxed") == []


# --- what to do now ---


def test_the_operation_at_this_station_stands_in_words_with_caution_and_limits() -> None:
    screen = page("Q-1043")
    assert screen.heading == "N40 Gauge the post holes and clear the lacquer"
    assert "Now at this station" in screen.words
    assert screen.of_class("caution") == [
        "Caution: Eye protection. Stop at the size: wood does not grow back."
    ]
    assert screen.of_class("limits") == ["Hole as the spec; reamer from the face, 45° chamfer."]


def test_work_that_cannot_be_undone_says_so() -> None:
    assert "This cannot be undone." in page("Q-1043").words


def test_work_that_can_be_repeated_does_not_threaten() -> None:
    assert "cannot be undone" not in page("Q-1055").words


def test_the_station_chooses_among_the_open_operations() -> None:
    assert page("Q-1043", "P-14").heading == "B30 Open the tail hole"


def test_progress_has_a_sentence_for_a_screen_reader() -> None:
    progress = page("Q-1043").one(".//a[@class='progress']/svg")
    assert (progress.get("aria-label") or "").startswith("5 of 32 done, now: N40 ")


def test_one_large_button_records_what_needs_no_scan() -> None:
    screen = page("Q-1055")
    assert [one for one in screen.buttons if one.startswith("Record")] == ["Record N30"]
    assert screen.one(".//button[@form='record']").get("class") == "act"


def test_an_operation_of_another_station_says_where_to_take_the_instrument() -> None:
    screen = page("Q-1061")
    assert "Next, at Joint" in screen.words
    told, *_ = screen.of_class("finding-stop")
    assert "J10 belongs to Joint; this phone is at N." in told
    assert "Take Q-1061 to Joint, or set your station." in told


def test_an_operation_of_another_station_is_not_offered_for_recording() -> None:
    assert [one for one in page("Q-1061").buttons if "Record" in one] == []


def test_an_instrument_in_its_hold_says_when_it_is_ready_and_whom_to_call() -> None:
    """It was cased on Thursday at 10:30; 96 h on is Monday 10:30 (both invented)."""
    screen = page("Q-1040", "P-32")
    told = screen.of_class("reason")[0]
    assert told.startswith("Wait Ready Mon 10:30.")
    assert "1 h left of the hold" in told
    assert "come back Mon 10:30" in told
    assert "Call the lead" in screen.buttons
    assert [one for one in screen.buttons if "Record" in one] == []


def test_when_the_hold_is_over_the_same_page_offers_to_record(today: Clock) -> None:
    today.now += timedelta(hours=1)
    ready_for("Q-1040", "I30", "P-32", "R", today.now)
    assert "Record I30" in page("Q-1040", "P-32").buttons


def test_who_did_the_work_is_asked_to_hand_the_inspection_on(today: Clock) -> None:
    """The demo lets P-31 inspect at I10; I30 takes another pair of eyes, of a signed-off hand."""
    today.now += timedelta(hours=1)
    told, untrained = page("Q-1040", "P-31", "R").of_class("finding-stop")
    assert "needs other eyes" in told
    assert "Hand it to another person" in told
    assert "P-31 is not signed off for Re-inspection." in untrained


def test_the_route_tells_what_is_done_by_whom_and_when() -> None:
    route = seen(signed_in("P-11").get(f"/{tag('Q-1043')}/route/"))
    assert "N30 Oil or stain the fingerboard Neck bench · P-11 · Sun 2031-03-02" in route.words
    assert "N40 Gauge the post holes and clear the lacquer Neck bench · not done yet" in route.words


# --- with what ---


def test_the_kit_lists_each_article_with_its_number_and_the_step_that_uses_it() -> None:
    kit = page("Q-1043").of_class("kit-lines")[0]
    assert "T01 open-gear individual set, nickel tuning machines · N60 or T16" in kit
    assert "fits the same holes. 3 L + 3 R" in kit
    assert "N01 bone nut, slotted, 44.5 nut · U10 1" in kit
    assert (
        "G01 self-adhesive pickguard, right pickguard · A10 · at the bench, not in the tray" in kit
    )


def test_the_kit_of_a_deviating_instrument_has_the_other_item_and_marks_it() -> None:
    kit = page("Q-1044").of_class("kit-lines")[0]
    assert "T02 open-gear individual set, gold (departs)" in kit
    assert "T01" not in kit


def test_every_line_of_the_kit_has_its_drawing() -> None:
    rows = page("Q-1043").one(".//table[@class='kit-lines']").findall("tbody/tr")
    assert len(rows) == 9
    assert [row.find("td/svg") is None for row in rows] == [False] * 9


def told_of_view(screen: Screen, side: str) -> tuple[str, list[str]]:
    """Title of the position diagram and its posts in words, for whoever does not see it."""
    view = screen.one(f".//div[@class='view view-{side}']")
    drawing = view.find("svg")
    assert drawing is not None
    posts = [one for one in view.iter() if one.get("id", "").startswith(f"said-{side}-")]
    return drawing.findtext("title") or "", [said(one) for one in posts]


def test_front_and_back_are_drawn_and_said_in_words() -> None:
    screen = page("Q-1043")
    views = screen.one(".//fieldset[@class='views']")
    assert [said(one) for one in views.iter("label")] == ["FRONT", "BACK"]
    front, back = told_of_view(screen, "front"), told_of_view(screen, "back")
    assert "front" in front[0].lower()
    assert "back" in back[0].lower()
    assert len(front[1]) == len(back[1]) == 6
    assert set(front[1]).isdisjoint(back[1])  # sides and turns are each view's own


def test_an_approved_substitute_stands_beside_what_is_ordered_with_its_approval() -> None:
    kit = page("Q-1043").of_class("kit-lines")[0]
    assert "or T16, approved: P-01, 2026-02-16: The same set but for its ratio" in kit
    assert "T16" not in page("Q-1058").of_class("kit-lines")[0]


def test_limits_of_bushing_post_and_setup_stand_in_mm() -> None:
    limits = " ".join(page("Q-1043").of_class("ledger"))
    assert "bushing, hole 8.80 mm, 8.73 mm" in limits
    assert "post, hole 6.00 mm, 6.40 mm" in limits
    assert "action bass, fret 12 2.40 mm" in limits


def test_a_slotted_head_has_no_line_for_bushings() -> None:
    assert "bushing" not in " ".join(page("Q-1040").of_class("ledger"))


def test_a_changed_item_is_drawn_anew_on_the_next_page() -> None:
    phone = signed_in("P-11")
    phone.get(f"/{tag('Q-1043')}")
    item = Item.objects.get(key="N01")
    Item.objects.filter(pk=item.pk).update(name="bone nut, by other words")
    revising.item_changed(item.pk)
    assert "bone nut, by other words" in seen(phone.get(f"/{tag('Q-1043')}")).words


def test_a_phone_that_holds_nothing_shows_no_instrument() -> None:
    answer = Client().get(f"/{tag('Q-1043')}")
    assert answer.status_code == 401
    assert "1043" not in answer.content.decode().split("<main")[1].split('name="next"')[0]
