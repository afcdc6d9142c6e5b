"""The measuring tool in hand: taken by a scan or a tap, remembered, and sent with its values.

Gauges are those of the demo workshop; G-06 is overdue.
"""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client

from shop.craft.code import pretty
from shop.floor import board, door
from shop.floor.models import Gauge, Reading
from tests.bench.screens import Screen, key, said, seen, signed_in, tag
from tests.floor.gauged import holes, measures
from tests.floor.morning import act, check_tray, now
from tests.people.phones import Clock
from tests.phone.test_once import send as by_phone

pytestmark = pytest.mark.usefixtures("today", "gauging_at_n40")

GOOD, OVERDUE = "G-02", "G-06"


@pytest.fixture
def gauging_at_n40(today: Clock) -> None:
    """N40 gauges the post holes, and the tray of Q-1043 was scanned there."""
    measures("N40", "hole")
    assert check_tray("Q-1043").done


@pytest.fixture
def phone(gauging_at_n40: None) -> Client:
    return signed_in("P-11")


def code_of(name: str) -> str:
    return Gauge.objects.get(name=name).code


def ask(phone: Client) -> Screen:
    return seen(phone.get(f"/{tag('Q-1043')}/gauge/"))


def send(phone: Client, values: dict[str, str], **more: Any) -> Any:
    sent = {"key": key(), "operation": "N40", "unit": "mm"} | values | more
    return phone.post(f"/{tag('Q-1043')}/gauge/", sent)


def take(phone: Client, name: str, **sent: str) -> Screen:
    return seen(phone.post(f"/{code_of(name)}/in-hand/", sent, follow=True))


def chosen(screen: Screen) -> str:
    field = screen.one(".//select[@name='tool']")
    return next((one.get("value", "") for one in field if "selected" in one.attrib), "")


def in_hand(screen: Screen) -> str:
    [words] = screen.of_class("in-hand")
    return words


# --- taken ---


@pytest.mark.parametrize("written", [str, pretty, str.lower])
def test_the_scanned_tag_of_a_gauge_leads_to_taking_it(phone: Client, written: Any) -> None:
    answer = phone.post("/scan/", {"code": written(code_of(GOOD))})
    assert answer["Location"] == f"/{code_of(GOOD)}/in-hand/"
    screen = seen(phone.get(answer["Location"]))
    assert screen.heading == "G-02 fret height dial"
    assert "Take it in hand" in screen.buttons


def test_the_phones_own_camera_leads_there_too(phone: Client) -> None:
    assert phone.get(f"/{code_of(GOOD)}")["Location"] == f"/{code_of(GOOD)}/in-hand/"


def test_looking_at_a_gauge_takes_nothing_in_hand(phone: Client) -> None:
    phone.get(f"/{code_of(GOOD)}/in-hand/")
    assert chosen(ask(phone)) == ""


def test_a_gauge_taken_once_stands_on_every_page_that_measures(phone: Client) -> None:
    assert "It is in hand at this phone." in take(phone, GOOD).words
    for _ in range(2):
        screen = ask(phone)
        assert chosen(screen) == GOOD
        assert "In hand: G-02 fret height dial, checked until 2031-05-20." in in_hand(screen)


def test_a_gauge_is_put_down_by_one_tap(phone: Client) -> None:
    take(phone, GOOD)
    assert "Take it in hand" in take(phone, GOOD, down="1").buttons
    assert chosen(ask(phone)) == ""


def test_all_gauges_in_use_are_there_to_choose_with_how_they_stand(phone: Client) -> None:
    options = [said(one) for one in ask(phone).root.iter("option")]
    assert options[0] == "not said"
    assert options[-1] == "G-06 room sensor, overdue since 2031-01-31"
    assert len(options) == 7


def test_a_gauge_put_away_cannot_be_taken_and_is_not_offered(phone: Client) -> None:
    away = door.GaugeKept("G-05", "caliper", None, 90, retired=True)
    assert door.record(act("P-01", ""), away).done
    screen = take(phone, "G-05")
    assert "G-05 caliper is put away." in screen.of_class("finding-stop")[0]
    assert "Take it in hand" not in screen.buttons
    assert "G-05" not in " ".join(said(one) for one in ask(phone).root.iter("option"))


def test_a_whole_code_that_no_gauge_carries_is_said_to_be_none(phone: Client) -> None:
    [told] = seen(phone.post("/scan/", {"code": "G123456"})).of_class("finding-stop")
    assert "G123-456 does not add up" in told or "no gauge here carries it" in told
    assert phone.get("/G000000/in-hand/").status_code == 404


def test_the_clerk_takes_no_gauge_in_hand() -> None:
    assert signed_in("P-41").get(f"/{code_of(GOOD)}/in-hand/").status_code == 403


# --- sent with what it read ---


def test_values_are_kept_with_the_gauge_that_was_chosen(phone: Client) -> None:
    assert send(phone, holes(), tool=GOOD).status_code == 302
    assert set(Reading.objects.values_list("tool__name", "overdue")) == {(GOOD, False)}
    assert chosen(ask(phone)) == GOOD


def test_a_form_that_says_nothing_of_a_gauge_leaves_the_one_in_hand(phone: Client) -> None:
    take(phone, GOOD)
    assert send(phone, holes()).status_code == 302
    assert chosen(ask(phone)) == GOOD


def test_an_overdue_gauge_says_so_in_words_and_shape_and_is_taken(phone: Client) -> None:
    take(phone, OVERDUE)
    screen = ask(phone)
    [told] = screen.of_class("finding-warn")
    assert "In hand: G-06 room sensor, overdue since 2031-01-31." in told
    assert [one.get("class") for one in screen.root.findall(".//*[@class='in-hand']//svg")] == [
        "mark mark-warn"
    ]
    answer = send(phone, holes(), tool=OVERDUE)
    after = seen(phone.get(answer["Location"]))
    assert "31 days overdue" in " ".join(after.of_class("finding-warn"))
    assert now("Q-1043").readings.at("hole", "6") is not None


def test_a_value_of_an_overdue_gauge_says_so_where_it_stands(phone: Client) -> None:
    send(phone, holes(), tool=OVERDUE)
    screen = ask(phone)
    assert screen.of_class("earlier")[0].endswith("P-11 G-06 overdue")
    assert screen.root.findall(".//p[@id='hole-6-earlier']/svg") != []


def test_a_value_of_a_checked_gauge_names_it(phone: Client) -> None:
    send(phone, holes(), tool=GOOD)
    assert ask(phone).of_class("earlier")[0].endswith("P-11, G-02")


def test_the_history_tells_what_it_was_read_with(phone: Client) -> None:
    send(phone, holes(), tool=OVERDUE)
    words = seen(phone.get(f"/{tag('Q-1043')}/history/")).words
    assert "G-06 room sensor, overdue since 2031-01-31" in words


def test_a_gauge_nobody_knows_is_refused_and_what_was_typed_stays(phone: Client) -> None:
    screen = seen(send(phone, holes(), tool="G-99"))
    assert "There is no gauge G-99 here." in screen.of_class("finding-stop")[0]
    assert screen.one(".//input[@name='hole 6']").get("value") == "8.73"
    assert not Reading.objects.exists()


def test_what_a_phone_sends_at_once_carries_its_gauge_and_is_remembered(phone: Client) -> None:
    sent: dict[str, Any] = {"tool": GOOD, "unit": "mm", **holes()}
    answer = by_phone(phone, "Q-1043", "N40", path="gauge", **sent)
    assert answer["X-Outcome"] == "recorded", answer.content.decode()
    assert set(Reading.objects.values_list("tool__name", flat=True)) == {GOOD}
    assert chosen(ask(phone)) == GOOD


def test_what_a_phone_kept_says_nothing_of_the_gauge_in_hand_now(phone: Client) -> None:
    take(phone, GOOD)
    sent: dict[str, Any] = {"tool": OVERDUE, "unit": "mm", **holes()}
    waited = timedelta(minutes=20)
    answer = by_phone(phone, "Q-1043", "N40", path="gauge", waited=waited, **sent)
    assert answer["X-Outcome"] == "recorded", answer.content.decode()
    assert set(Reading.objects.values_list("tool__name", "overdue")) == {(OVERDUE, True)}
    assert now("Q-1043").standing.get("readings", ()) == ()
    assert chosen(ask(phone)) == GOOD


# --- without the network ---


def test_the_page_a_phone_carries_asks_for_the_gauge_and_has_none_in_hand(phone: Client) -> None:
    take(phone, GOOD)
    screen = seen(phone.get(f"/{tag('Q-1043')}/carried/"))
    field = screen.one(".//form[@class='gauge']//select[@name='tool']")
    options = [one.get("value", "") for one in field]
    assert options == ["", *(one.name for one in board.tools())]
    assert chosen(screen) == ""
