"""A second badge at the bench: a trainer beside whoever learns, a trained one beside another.

That each record of a trainee carries the trainer's badge is common practice, no source.
"""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

from shop.floor.demo.loading import pin_of
from shop.floor.models import Entry, Reading
from tests.bench.screens import Screen, key, seen, signed_in, tag
from tests.floor.morning import check_tray, now

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def trainee() -> Client:
    return signed_in("P-25")


def stand(phone: Client, badge: str = "P-11") -> None:
    assert phone.post("/beside/", {"badge": badge, "pin": pin_of(badge)}).status_code == 302


def page(phone: Client, serial: str = "Q-1055") -> Screen:
    return seen(phone.get(f"/{tag(serial)}"))


def send(phone: Client, way: str, serial: str = "Q-1055", **fields: str) -> Any:
    return phone.post(f"/{tag(serial)}/{way}/", {"key": key()} | fields, follow=True)


def test_alone_a_trainee_is_led_to_a_trainer_and_back(trainee: Client) -> None:
    screen = page(trainee)
    address = f"/beside/?next=/{tag('Q-1055')}"
    assert screen.links["A trainer signs beside you"] == address
    assert "P-25 is learning" in screen.of_class("reason")[0]
    assert [one for one in screen.buttons if "N30" in one] == []


def test_with_a_trainer_beside_a_trainee_records_under_both_badges(trainee: Client) -> None:
    stand(trainee)
    assert "Record N30" in page(trainee).buttons
    screen = seen(send(trainee, "record", operation="N30"))
    assert screen.of_class("finding-clear")[0].startswith("Done Recorded.")
    [done] = [one for one in now("Q-1055").done if one.operation == "N30"]
    assert done.hands == ("P-25", "P-11")


def test_who_stands_beside_is_shown_with_the_way_to_end_it(trainee: Client) -> None:
    assert page(trainee).of_class("beside") == []
    stand(trainee)
    screen = page(trainee)
    assert screen.of_class("beside") == ["P-11 beside you Done"]
    assert screen.form("/beside/end/") == {"next": f"/{tag('Q-1055')}"}


def test_after_done_the_trainer_is_asked_for_again(trainee: Client) -> None:
    stand(trainee)
    trainee.post("/beside/end/")
    assert "A trainer signs beside you" in page(trainee).buttons


def test_a_trainee_begins_a_step_with_the_trainers_hand_in_it(trainee: Client) -> None:
    stand(trainee)
    send(trainee, "start", operation="N30")
    one = now("Q-1055").open
    assert one is not None
    assert (one.by, one.helpers) == ("P-25", ("P-11",))


def test_a_trainee_may_say_that_it_was_begun_by_mistake_and_hands_nothing_over(
    trainee: Client,
) -> None:
    stand(trainee)
    send(trainee, "start", operation="N30")
    screen = page(trainee)
    assert "Begun by mistake" in screen.buttons
    assert "Hand over" not in screen.buttons
    assert trainee.get(f"/{tag('Q-1055')}/hand/").status_code == 403


def test_whoever_is_not_signed_off_works_with_a_trained_badge_beside() -> None:
    phone = signed_in("P-12", "J")
    screen = page(phone, "Q-1061")
    assert "P-12 is not signed off for Joint." in screen.of_class("reason")[0]
    assert "A trained badge signs beside you" in screen.buttons
    stand(phone, "P-16")
    assert "Scan the neck" in page(phone, "Q-1061").buttons


def test_values_of_a_trainee_left_alone_are_not_taken_and_stay_on_the_page(
    trainee: Client,
) -> None:
    """The trainer goes when the phone was idle; what was typed stays."""
    assert check_tray("Q-1043").done
    answer = send(trainee, "gauge", "Q-1043", operation="N40", unit="mm", **{"hole 3": "8.73"})
    screen = seen(answer)
    assert "P-25 is learning: nobody signs beside you now." in screen.words
    assert screen.one(".//input[@name='hole 3']").get("value") == "8.73"
    assert not Reading.objects.filter(by__code="P-25")


def test_with_a_trainer_beside_the_values_are_taken_under_both_badges(trainee: Client) -> None:
    assert check_tray("Q-1043").done
    stand(trainee)
    send(trainee, "gauge", "Q-1043", operation="N40", unit="mm", **{"hole 3": "8.73"})
    kept = Entry.objects.get(kind="readings", who="P-25")
    assert (kept.outcome, kept.beside) == ("recorded", "P-11")
