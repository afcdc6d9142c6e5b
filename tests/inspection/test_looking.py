"""The screens of a look: its areas one by one, and its values beside those of the first look."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

from shop.craft.inspecting.progress import Answer
from shop.floor.models import AreaLook
from tests.bench.screens import Screen, classes, key, seen, signed_in, tag
from tests.floor.casing import CASED, HOUR, MINUTE, READY, SERIAL, cased, did
from tests.floor.gauged import gauge
from tests.floor.looking import answers, asks_for_areas, kept, look_at_all, looked, note_one
from tests.floor.morning import step
from tests.people.phones import Clock

pytestmark = pytest.mark.usefixtures("today")

LOOK = CASED - HOUR
AGAIN = READY + HOUR
DEFECT = Answer.DEFECT.value
FIRST = {"relief 7": "0.21", "action bass": "2.43", "action treble": "1.57"}
SECOND = {"relief 7": "0.26", "action bass": "2.81", "action treble": "1.65"}


@pytest.fixture
def phone(today: Clock) -> Client:
    """The first inspector's, at the look."""
    today.now = LOOK
    return signed_in("P-31", "I")


@pytest.fixture
def second(today: Clock) -> Client:
    """The second inspector's, once the days in the case are over; the first look has measured."""
    assert gauge(SERIAL, FIRST, "I10", "P-31", "I", LOOK).done
    assert step(SERIAL, "I10", "P-31", "I", LOOK).done
    did(SERIAL, "I20", "P-31", "H", CASED)
    today.now = AGAIN
    return signed_in("P-32", "R")


def way(more: str = "") -> str:
    return f"/{tag(SERIAL)}/look/{more}"


def page(phone: Client, more: str = "") -> Screen:
    return seen(phone.get(way(more)))


def send(phone: Client, area: int, operation: str = "I10", **fields: str) -> Any:
    given = {name.replace("__", "."): word for name, word in fields.items()}
    return phone.post(way(f"{area}/"), {"key": key(), "operation": operation} | given)


def chosen(screen: Screen) -> dict[str, str]:
    """The answer that is tapped of each item."""
    return {
        one.get("name", ""): one.get("value", "")
        for one in screen.root.iter("input")
        if one.get("type") == "radio" and "checked" in one.attrib
    }


def offered(screen: Screen) -> list[str]:
    """The defects that may be tapped as what is wrong in the area, by their rows."""
    return [
        one.get("value", "") for one in screen.root.iter("button") if one.get("name") == "told_by"
    ]


# --- the list ---


def test_the_list_names_every_area_and_leads_to_the_first_open_one(phone: Client) -> None:
    screen = page(phone)
    assert f"0 of {len(kept().rows)} areas" in screen.words
    assert screen.links["1 Peghead face"] == way("1/")
    assert len([one for one in screen.root.iter("li") if "Not looked at" in _said(one)]) == len(
        kept().rows
    )


def _said(element: Any) -> str:
    return " ".join("".join(element.itertext()).split())


def test_what_is_open_stands_first_and_each_area_says_whose_it_was(phone: Client) -> None:
    looked(1, LOOK)
    screen = page(phone)
    rows = [_said(one) for one in screen.root.iter("li")]
    areas = [row for row in rows if "looked at" in row.lower() or "OK" in row]
    assert areas[0].startswith("2")
    assert areas[-1].startswith("1")
    assert "All OK" in areas[-1]
    assert "P-31" in areas[-1]


def test_an_area_with_a_defect_says_so_by_word_and_mark(phone: Client) -> None:
    note_one(LOOK)
    looked(7, LOOK, marks=DEFECT)
    screen = page(phone)
    assert "1 item with a defect" in screen.words
    assert "1 defect noted at this look." in screen.words
    marks = {name for one in screen.root.iter("svg") for name in classes(one)}
    assert "mark-warn" in marks


def test_all_looked_at_it_leads_on_to_the_record(phone: Client) -> None:
    look_at_all(LOOK)
    screen = page(phone)
    assert screen.links["On to recording I10"] == f"/{tag(SERIAL)}"


def test_where_no_look_is_taken_the_page_says_which_one_is_and_where(today: Clock) -> None:
    screen = page(signed_in("P-22", "A"))
    assert "I10 Inspect is taken at Inspection." in screen.words
    assert "I am at Inspection" in screen.buttons


def test_whoever_took_the_first_look_is_told_why_they_do_not_take_the_second(
    second: Client,
) -> None:
    screen = page(signed_in("P-31", "R"))
    assert "needs other eyes" in screen.words
    assert "1 Peghead face" not in screen.links


def test_a_tag_of_nothing_has_no_look(phone: Client) -> None:
    assert phone.get("/B000000/look/").status_code == 404


# --- one area ---


def test_an_area_says_its_light_and_how_and_asks_every_item(phone: Client) -> None:
    screen = page(phone, "3/")
    assert screen.heading == "3 Nut"
    assert "Normal light" in screen.words
    assert "Look along the board from the tip" in screen.words
    names = {one.get("name") for one in screen.root.iter("input") if one.get("type") == "radio"}
    assert names == set(answers(3))


def test_only_what_a_guitar_may_be_without_can_be_left_out(phone: Client) -> None:
    assert "Not applicable" not in page(phone, "3/").words
    assert "Not applicable" in page(phone, "1/").words


def test_all_ok_is_one_tap_and_leads_to_the_next_area(phone: Client) -> None:
    assert "All OK" in page(phone, "1/").buttons
    answer = send(phone, 1, all="ok")
    assert (answer.status_code, answer["Location"]) == (302, way("2/?kept=1"))
    assert AreaLook.objects.get().answers == answers(1)
    assert "Area 1 Peghead face is kept." in seen(phone.get(answer["Location"])).words


def test_where_something_was_answered_all_is_not_answered_by_one_tap(phone: Client) -> None:
    looked(1, LOOK)
    screen = page(phone, "1/")
    assert "All OK" not in screen.buttons
    assert "Keep these answers" in screen.buttons
    assert chosen(screen) == answers(1)


def test_an_item_left_out_is_told_and_what_was_tapped_is_still_there(phone: Client) -> None:
    answer = send(phone, 3, nut__seat="ok", nut__ends="ok")
    screen = seen(answer)
    assert answer.status_code == 422
    assert "2 of 4 items are still open" in screen.words
    assert chosen(screen) == {"nut.seat": "ok", "nut.ends": "ok"}


def test_what_another_area_tells_of_is_taken_overall_without_noting_it_twice(
    phone: Client,
) -> None:
    note_one(LOOK)
    looked(1, LOOK, overlay=DEFECT)
    answer = send(phone, 16, overall__look=DEFECT, overall__metal="ok")
    assert answer.status_code == 302
    assert "Note the defect" not in page(phone, "16/").links


def test_a_defect_leads_to_noting_it_and_the_answers_are_there_when_one_comes_back(
    phone: Client,
) -> None:
    given = answers(7, marks=DEFECT)
    answer = send(phone, 7, **given)
    screen = seen(answer)
    assert answer.status_code == 422
    assert "answered as defect 1, defects noted 0" in screen.words
    assert screen.links["Note the defect"] == f"/{tag(SERIAL)}/defects/new/?area=7"
    note_one(LOOK)
    back = page(phone, "7/")
    assert chosen(back) == given
    assert "Note the defect" not in back.links
    assert send(phone, 7, **chosen(back)).status_code == 302
    row = kept().row(7)
    assert row is not None
    assert row.standing == "defect"


def test_a_defect_noted_before_is_chosen_by_one_tap_where_none_stands_for_the_area(
    phone: Client,
) -> None:
    one = note_one(LOOK)
    assert offered(page(phone, "7/")) == [], "it stands for the first area that tells of one"
    looked(7, LOOK, marks=DEFECT)
    assert offered(page(phone, "9/")) == [str(one)], "shown once an item is tapped as a defect"
    given = answers(9, scrapes=DEFECT)
    refused = seen(send(phone, 9, **given))
    assert offered(refused) == [str(one)]
    assert "It is this one" in refused.words
    assert "Swirl, class 4, zone 6 lower bout · P-31" in refused.words
    assert "Note the defect" in refused.links
    assert send(phone, 9, **given, told_by=str(one)).status_code == 302
    assert kept().faults == ()


def test_what_was_chosen_stays_so_while_its_area_has_a_defect(phone: Client) -> None:
    one = note_one(LOOK)
    looked(7, LOOK, marks=DEFECT)
    looked(9, LOOK, told_by=one, scrapes=DEFECT)
    screen = page(phone, "9/")
    (field,) = (it for it in screen.root.iter("input") if it.get("name") == "told_by")
    assert field.get("value") == str(one)
    assert "Swirl, class 4" in screen.words
    assert "Note the defect" not in screen.links
    assert offered(screen) == []
    assert send(phone, 9, **answers(9), told_by=str(one)).status_code == 302
    row = kept().row(9)
    assert row is not None
    assert (row.standing, row.told_by) == ("ok", 0)


@pytest.mark.parametrize("told_by", ["x", "9" * 12, "-3", "²"])
def test_what_is_no_row_is_no_choice(phone: Client, told_by: str) -> None:
    note_one(LOOK)
    answer = send(phone, 7, **answers(7, marks=DEFECT), told_by=told_by)
    assert answer.status_code == 422
    assert "is no defect that may be chosen here" in seen(answer).words


def test_a_choice_kept_on_the_phone_is_taken_when_it_is_sent(phone: Client) -> None:
    one, by = note_one(LOOK), key()
    looked(7, LOOK, marks=DEFECT)
    headers = {"Idempotency-Key": f'"{by}"', "X-Phone-Badge": "P-31", "X-Phone-Station": "I"}
    sent = {"key": by, "operation": "I10", "told_by": str(one)} | answers(9, scrapes=DEFECT)
    assert phone.post(way("9/"), sent, headers=headers)["X-Outcome"] == "recorded"
    assert AreaLook.objects.get(area=9).told_by == one


def test_the_second_inspector_is_not_offered_what_the_first_found(second: Client) -> None:
    note_one(CASED + MINUTE)
    refused = seen(send(second, 7, "I30", **answers(7, marks=DEFECT)))
    assert "defects noted 0" in refused.words
    assert offered(refused) == []


def test_the_last_area_leads_back_to_the_list(phone: Client) -> None:
    look_at_all(LOOK)
    assert send(phone, 16, **answers(16))["Location"] == way("?kept=16")


def test_the_same_tap_sent_twice_is_kept_once(phone: Client) -> None:
    sent = {"key": key(), "operation": "I10", "all": "ok"}
    for _twice in range(2):
        assert phone.post(way("1/"), sent).status_code == 302
    assert AreaLook.objects.count() == 1


def test_the_form_may_wait_on_the_phone(phone: Client) -> None:
    form = page(phone, "1/").one(".//form[@id='area']")
    assert "data-outbox" in form.attrib
    assert form.get("data-says") == "Area 1 Peghead face"


def test_sent_by_a_phone_that_kept_it_the_way_on_is_told(phone: Client) -> None:
    by = key()
    sent = {"key": by, "operation": "I10", "all": "ok"}
    headers = {"Idempotency-Key": f'"{by}"', "X-Phone-Badge": "P-31", "X-Phone-Station": "I"}
    answer = phone.post(way("1/"), sent, headers=headers)
    assert answer["X-Outcome"] == "recorded"
    assert answer["X-Next"] == way("2/?kept=1")


def test_an_area_that_its_spec_has_not_is_no_page(phone: Client) -> None:
    assert phone.get(way("12/")).status_code == 404


def test_an_operation_that_is_no_look_is_refused_with_the_way_to_the_look(phone: Client) -> None:
    answer = send(phone, 3, "A30", all="ok")
    assert answer.status_code == 422
    assert "A30 is no look" in seen(answer).words
    assert AreaLook.objects.count() == 0


# --- from the instrument ---


def test_where_the_look_asks_for_the_checklist_it_is_the_one_act(phone: Client) -> None:
    asks_for_areas()
    assert gauge(SERIAL, FIRST, "I10", "P-31", "I", LOOK).done
    screen = seen(phone.get(f"/{tag(SERIAL)}"))
    assert screen.links["Look at its areas"] == way()
    assert "Record I10" not in screen.buttons
    look_at_all(LOOK)
    assert "Record I10" in seen(phone.get(f"/{tag(SERIAL)}")).buttons


def test_where_it_does_not_ask_the_areas_are_one_tap_beside(phone: Client) -> None:
    assert gauge(SERIAL, FIRST, "I10", "P-31", "I", LOOK).done
    screen = seen(phone.get(f"/{tag(SERIAL)}"))
    assert "Record I10" in screen.buttons
    assert screen.links["Look at its areas"] == way()


def test_the_page_that_a_phone_carries_says_that_areas_are_looked_at_where_the_shop_is_reached(
    phone: Client,
) -> None:
    asks_for_areas()
    words = seen(phone.get(f"/{tag(SERIAL)}/carried/")).words
    assert "Its areas are looked at first." in words


# --- its values ---


def test_values_are_told_against_what_is_wanted(phone: Client) -> None:
    assert "Not measured yet" in page(phone, "values/").words
    assert gauge(SERIAL, FIRST | {"action bass": "2.60"}, "I10", "P-31", "I", LOOK).done
    screen = page(phone, "values/")
    assert "0.21" in screen.words
    assert "Inside" in screen.words
    assert "Outside" in screen.words
    assert "Since the first look" not in screen.words
    marks = {name for one in screen.root.iter("svg") for name in classes(one)}
    assert {"mark-clear", "mark-stop"} <= marks


def test_measured_values_lead_to_them(phone: Client) -> None:
    sent = {"key": key(), "operation": "I10", "unit": "mm"} | FIRST
    answer = phone.post(f"/{tag(SERIAL)}/gauge/", sent)
    assert (answer.status_code, answer["Location"]) == (302, way("values/"))


def test_before_the_second_look_has_measured_no_page_of_it_tells_what_the_first_read(
    second: Client,
) -> None:
    for more in ("", "1/", "14/", "values/"):
        words = page(second, more).words
        for value in FIRST.values():
            assert value not in words, more


def test_nor_at_the_station_of_the_first_look(second: Client) -> None:
    second.post("/station/", {"station": "I"})
    words = page(second, "values/").words
    for value in FIRST.values():
        assert value not in words


def test_once_it_has_measured_both_values_are_told_with_what_moved_and_a_verdict(
    second: Client,
) -> None:
    assert gauge(SERIAL, SECOND, "I30", "P-32", "R", AGAIN).done
    screen = page(second, "values/")
    assert "First look 0.21 mm This look 0.26 mm Moved +0.05 mm" in screen.words.replace(
        "\u202f", " "
    )
    assert "moved +0.38" in screen.words
    kinds = [name for one in screen.root.iter("section") for name in classes(one)]
    assert [one for one in kinds if one.startswith("moved-")] == [
        "moved-stop", "moved-stop", "moved-usual",
    ]  # fmt: skip


def test_where_one_place_is_measured_the_others_stay_kept_back(second: Client) -> None:
    assert gauge(SERIAL, {"relief 7": "0.24"}, "I30", "P-32", "R", AGAIN).done
    words = page(second, "values/").words
    assert "0.21" in words
    assert "2.43" not in words
    assert "2 values are still to be measured." in words


def test_who_learns_is_let_in_and_told_that_a_trainer_signs_beside(today: Clock) -> None:
    cased()
    today.now = AGAIN + MINUTE
    screen = page(signed_in("P-25", "R"))
    assert "is learning" in screen.words
