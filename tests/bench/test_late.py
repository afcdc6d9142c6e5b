"""What was done and not recorded: the guitar that came without a scan, the step told late.

The way it is told is common practice, no source; times and instruments are invented.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.test import Client

from shop.bench.late import moments
from shop.floor import board
from shop.floor.demo.loading import pin_of
from shop.floor.models import Entry, Step
from tests.bench.screens import Screen, key, seen, signed_in, tag
from tests.floor.morning import asking, now, ready_for, step
from tests.people.phones import Clock

pytestmark = pytest.mark.usefixtures("today")

SERIAL = "Q-1050"  # at Joint: J20 is next, then J30 and J40, then Bridge
NINE = "2031-03-03T09:00:00+00:00"
FORGOT = "I forgot to scan"


@pytest.fixture
def bridge() -> Client:
    """A joiner's phone that was set to Bridge: who carried the guitar there."""
    return signed_in("P-16", "G")


def page(phone: Client, serial: str = SERIAL) -> Screen:
    return seen(phone.get(f"/{tag(serial)}"))


def late(phone: Client, operation: str, serial: str = SERIAL, **fields: str) -> Any:
    sent = {"key": key(), "operation": operation, "when": NINE, "reason": FORGOT} | fields
    return phone.post(f"/{tag(serial)}/late/", sent)


def asked(phone: Client, more: str = "", serial: str = SERIAL) -> Screen:
    return seen(phone.get(f"/{tag(serial)}/late/{more}"))


def live(operation: str, serial: str = SERIAL) -> Step:
    return Step.objects.get(
        instrument_id=now(serial).id, operation__code=operation, void_at__isnull=True
    )


def witness(phone: Client, badge: str) -> None:
    assert phone.post("/beside/", {"badge": badge, "pin": pin_of(badge)}).status_code == 302


# --- the gap ---


def codes(serial: str, station: str) -> list[str]:
    return [one.code for one in board.gap(now(serial), station)]


def test_the_gap_is_what_is_not_recorded_before_the_first_thing_to_do_here() -> None:
    assert codes(SERIAL, "G") == ["J20", "J30", "J40"]


def test_where_the_next_operation_belongs_there_is_no_gap() -> None:
    assert codes(SERIAL, "J") == []


def test_a_station_that_has_nothing_left_to_do_has_no_gap() -> None:
    assert codes(SERIAL, "N") == []
    assert codes(SERIAL, "") == []


def test_a_guitar_that_came_without_a_scan_says_where_it_is_expected(bridge: Client) -> None:
    screen = page(bridge)
    assert "Expected at Joint. You are at Bridge." in screen.of_class("reason")[0]
    assert "3 operations are not recorded, first J20." in screen.words
    assert screen.links["Was it done?"] == f"/{tag(SERIAL)}/late/"


def test_while_glue_dries_the_wait_comes_first_and_nobody_is_asked() -> None:
    screen = page(signed_in("P-15"), "Q-1049")
    assert screen.of_class("reason")[0].startswith("Wait Ready Mon 11:25.")
    assert "Was it done?" not in screen.buttons


def test_the_first_one_is_asked_first(bridge: Client) -> None:
    screen = asked(bridge)
    assert screen.heading == "J20 Dry-fit the neck: was it done?"
    assert "3 operations are not recorded" in screen.words
    assert screen.links["Not done: take it to Joint"] == f"/{tag(SERIAL)}"


def test_one_after_the_other_is_recorded_until_the_gap_is_closed(
    bridge: Client, today: Clock
) -> None:
    """The neck is bolted and glued: its clamps stay an hour, so J40 comes an hour later."""
    answer = late(bridge, "J20")
    assert answer["Location"] == f"/{tag(SERIAL)}/late/"
    assert asked(bridge).heading.startswith("J30")
    ready_for(SERIAL, "J30", "P-16", "J", today.now)
    by_now = seen(bridge.get(f"/{tag(SERIAL)}/late/")).one(".//input[@name='when']")
    late(bridge, "J30", when=by_now.get("value", ""))
    today.now += timedelta(hours=1)
    again = signed_in("P-16", "G")  # the first phone has locked itself meanwhile
    answer = late(again, "J40", when=today.now.isoformat())
    assert answer["Location"].startswith(f"/{tag(SERIAL)}?after=")
    assert now(SERIAL).done_codes >= {"J20", "J30", "J40"}
    assert [row.reason for row in Entry.objects.filter(subject=SERIAL, reason=FORGOT)] == [
        FORGOT
    ] * 3


def test_what_is_recorded_late_says_so_on_the_page(bridge: Client) -> None:
    answer = late(bridge, "J20", only="J20")
    screen = seen(bridge.get(answer["Location"]))
    assert screen.of_class("finding-clear")[0].startswith("Done Recorded late.")


# --- when ---


def told(serial: str, operation: str, at: datetime) -> list[tuple[str, str]]:
    found = moments(now(serial), operation, asking("P-16", "G", at))
    return [(one.clock, one.words.replace("\u202f", " ")) for one in found]


def test_the_moments_to_tap_are_clocks_with_how_long_ago() -> None:
    assert told("Q-1044", "N10", datetime(2031, 3, 3, 9, 30, tzinfo=UTC)) == [
        ("Mon 09:30", "by now, not sure when"),
        ("Mon 09:15", "15 min ago"),
        ("Mon 09:00", "30 min ago"),
        ("Mon 08:30", "1 h ago"),
        ("Mon 07:30", "2 h ago"),
        ("Mon 05:30", "4 h ago"),
        ("Sun 15:00", "yesterday"),
        ("Sun 10:00", "yesterday"),
    ]


def test_no_moment_is_offered_before_what_comes_before_it() -> None:
    at = datetime(2031, 3, 3, 9, 30, tzinfo=UTC)
    assert step(SERIAL, "J20", "P-16", "J", at - timedelta(minutes=40)).done
    assert [clock for clock, _ in told(SERIAL, "J30", at)] == [
        "Mon 09:30",
        "Mon 09:15",
        "Mon 09:00",
    ]


def test_a_moment_entered_wins_over_a_tap(bridge: Client) -> None:
    late(bridge, "J20", time="2031-03-03T08:12")
    assert live("J20").claimed_at == datetime(2031, 3, 3, 8, 12, tzinfo=UTC)


@pytest.mark.parametrize("when", ["", "soon", "2031-02-31T09:00"])
def test_without_a_moment_it_is_asked_for_and_the_reason_is_kept(bridge: Client, when: str) -> None:
    answer = late(bridge, "J20", when=when)
    assert answer.status_code == 422
    screen = seen(answer)
    assert "Nobody has said yet when J20 was done." in screen.words
    chosen = [one.get("value") for one in screen.root.iter("input") if "checked" in one.attrib]
    assert chosen == [FORGOT]
    assert "J20" not in now(SERIAL).done_codes


def test_a_moment_still_to_come_is_refused_with_its_clock(bridge: Client) -> None:
    answer = late(bridge, "J20", time="2031-03-03T17:00")
    assert answer.status_code == 422
    assert "J20 done Mon 17:00: that moment is still to come." in seen(answer).words


def test_without_a_reason_it_is_asked_for(bridge: Client) -> None:
    answer = late(bridge, "J20", reason="")
    assert answer.status_code == 422
    assert "Say why it comes late." in seen(answer).words


# --- which clock ---


def test_late_it_counts_from_now_and_both_times_are_kept(bridge: Client, today: Clock) -> None:
    assert "It counts from now" in asked(bridge).words
    late(bridge, "J20")
    kept = live("J20")
    assert (kept.at, kept.claimed_at) == (today.now, datetime(2031, 3, 3, 9, tzinfo=UTC))


def test_with_a_witness_beside_it_counts_from_when_it_was_done(bridge: Client) -> None:
    witness(bridge, "P-17")
    assert "P-17 signs beside you: it counts from when it was done." in asked(bridge).words
    late(bridge, "J20")
    kept = live("J20")
    assert (kept.at, kept.others) == (datetime(2031, 3, 3, 9, tzinfo=UTC), ["P-17"])


def test_the_way_to_a_witness_leads_back(bridge: Client) -> None:
    address = f"/beside/?next=/{tag(SERIAL)}/late/"
    assert asked(bridge).links["A witness signs beside you"] == address


# --- at its own station, and out of order ---


def test_at_its_own_station_a_step_may_have_been_done_earlier() -> None:
    joint = signed_in("P-16")
    assert page(joint).links["Done earlier"] == f"/{tag(SERIAL)}/late/?only=J20"
    screen = asked(joint, "?only=J20")
    assert screen.heading == "J20 Dry-fit the neck: was it done?"
    assert "Not done" in screen.buttons
    answer = late(joint, "J20", only="J20")
    assert answer["Location"].startswith(f"/{tag(SERIAL)}?after=")


def test_out_of_order_leads_to_what_is_missing_before_it() -> None:
    bench = signed_in("P-18")
    sent = {"key": key(), "operation": "G10"}
    answer = bench.post(f"/{tag(SERIAL)}/record/", sent, headers={"HX-Request": "true"})
    screen = seen(answer)
    address = screen.links["It was done: record it late"]
    assert address == f"/{tag(SERIAL)}/late/?before=G10"
    assert seen(bench.get(address)).heading.startswith("J20")


def test_nothing_missing_leads_back_to_the_instrument() -> None:
    joint = signed_in("P-16")
    for more in ("", "?only=J10", "?only=X99", "?before=J20", "?before=X99"):
        answer = joint.get(f"/{tag(SERIAL)}/late/{more}")
        assert (answer.status_code, answer["Location"]) == (302, f"/{tag(SERIAL)}")


def test_a_pair_is_not_made_from_memory() -> None:
    bench = signed_in("P-16", "G")
    screen = asked(bench, serial="Q-1061")
    assert screen.heading.startswith("J10")
    assert "the neck is not scanned yet" in screen.of_class("reason")[0]
    assert [one for one in screen.buttons if "late" in one] == []


def test_a_trainee_needs_the_trainer_here_too() -> None:
    trainee = signed_in("P-25", "J")
    screen = asked(trainee, "?only=N30", "Q-1055")
    assert "A trainer signs beside you" in screen.buttons
    assert [one for one in screen.buttons if "late" in one] == []


def test_the_same_answer_sent_twice_is_one_record(bridge: Client) -> None:
    by = key()
    for _ in range(2):
        late(bridge, "J20", key=by)
    assert Entry.objects.filter(subject=SERIAL, kind="step", data__operation="J20").count() == 1
