"""What is at the station of a phone: what can be done next at the head.

What is asked here is common practice, no source, unless a test names one.
"""

from __future__ import annotations

import csv
import io
from datetime import timedelta
from typing import Any

import pytest
from django.conf import settings
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop.floor import board, door
from shop.floor.models import Instrument, Tag
from shop.people.models import Badge
from tests.bench.crowd import add_instruments
from tests.bench.screens import Screen, said, seen, signed_in, tag
from tests.floor.morning import NOW, act, forget, now, ready_for, step, words
from tests.people.phones import Clock

pytestmark = pytest.mark.usefixtures("today")

POLL = {"X-Fresh": "1"}
HERE = 8  # instruments with something next at the neck bench
ETAG, NONE_MATCH = "ETag", "If-None-Match"


@pytest.fixture
def phone() -> Client:
    """At the neck bench."""
    return signed_in("P-11")


def here(phone: Client) -> Screen:
    return seen(phone.get("/here/"))


def rows(screen: Screen) -> dict[str, str]:
    """The words of each row, by serial, in the order of the list."""
    return {
        one.get("data-key", ""): said(one) for one in screen.root.iter("li") if one.get("data-key")
    }


def at(station: str, badge: str = "P-11") -> dict[str, str]:
    return rows(here(signed_in(badge, station)))


def begun(serial: str, operation: str, by: str, station: str) -> None:
    outcome = door.record(act(by, station), door.StepStarted(now(serial).id, operation))
    assert outcome.done, words(outcome)


# --- the list ---


def test_every_instrument_with_something_next_at_this_station_is_there_and_no_other(
    phone: Client,
) -> None:
    screen = here(phone)
    assert screen.heading == "At Neck bench"
    at_necks = (
        one for one in board.all_open() if set(one.next_codes) & {"N10", "N20", "N30", "N40"}
    )
    assert set(rows(screen)) == {one.serial for one in at_necks} > {"Q-1043", "Q-1044", "Q-1062"}
    assert f"{HERE} instruments" in screen.words


def test_a_row_says_what_comes_next_until_when_and_that_it_can_start(phone: Client) -> None:
    assert rows(here(phone))["Q-1043"] == (
        "Q-1043 N40 Gauge the post holes and clear the lacquer TARN · due 2031-03-14 Ready now"
    )


def test_a_row_is_one_link_that_tells_the_offline_phone_what_to_carry(phone: Client) -> None:
    [link] = [one for one in here(phone).root.iter("a") if said(one).startswith("Q-1043")]
    assert link.get("href") == f"/{tag('Q-1043')}"
    assert link.get("data-carry") == tag("Q-1043")


def test_an_instrument_whose_tag_is_void_stands_there_without_a_link(phone: Client) -> None:
    Tag.objects.filter(code=tag("Q-1043")).update(void_at=NOW)
    screen = here(phone)
    assert "Q-1043" in rows(screen)
    assert [one for one in screen.links if one.startswith("Q-1043")] == []


def test_what_can_start_stands_before_what_waits_the_soonest_due_first(phone: Client) -> None:
    Instrument.objects.update(urgent=False)
    Instrument.objects.filter(body__serial="Q-1063").update(due_on=NOW.date())
    outcome = door.record(act("P-31", "I"), door.Frozen(now("Q-1044").id, "Heel split seen"))
    assert outcome.done
    found = list(rows(here(phone)))
    assert (found[0], found[-1]) == ("Q-1063", "Q-1044")


def test_the_urgent_stand_before_all_else_that_can_start(phone: Client) -> None:
    Instrument.objects.update(urgent=False)
    Instrument.objects.filter(body__serial="Q-1062").update(urgent=True)
    first, words = next(iter(rows(here(phone)).items()))
    assert first == "Q-1062"
    assert "· urgent Ready now" in words


def test_what_is_in_hand_here_stands_first_with_who_has_it(phone: Client) -> None:
    begun("Q-1063", "N10", "P-11", "N")
    first, told = next(iter(rows(here(phone)).items()))
    assert first == "Q-1063"
    assert told.endswith("P-11 has N10 open since Mon 09:30.")


def test_what_is_in_hand_at_another_station_waits_here(phone: Client) -> None:
    begun("Q-1043", "B30", "P-14", "B")
    last, told = list(rows(here(phone)).items())[-1]
    assert last == "Q-1043"
    assert told.endswith("P-14 has B30 open since Mon 09:30.")


def test_a_clock_says_when_it_is_ready_and_lets_it_go_then(today: Clock) -> None:
    """At least 96 h in the case: Q-1040 was cased on Thursday at 10:30."""
    found = at("R", "P-32")
    assert found["Q-1040"].endswith("Ready Mon 10:30")
    assert list(found) == ["Q-1038", "Q-1040"]
    today.now += timedelta(hours=1)
    assert at("R", "P-32")["Q-1040"].endswith("Ready now")


def test_an_instrument_with_two_branches_open_stands_at_both_benches_each_with_its_own() -> None:
    assert " B30 " in at("B", "P-14")["Q-1043"]
    assert " N40 " in at("N")["Q-1043"]


def test_an_instrument_on_a_loop_is_at_repair_until_that_is_recorded() -> None:
    serial = "Q-1037"
    deed = door.DefectFound(now(serial).id, "lift", "bridge lift", "I10", "rear edge")
    assert door.record(act("P-22", "I"), deed).done
    [(first, told)] = at("X").items()
    assert first == serial
    assert told.startswith("Q-1037 Bridge lift ")
    assert told.endswith("At Repair since Mon 09:30: lift, rear edge.")
    assert door.record(act("P-61", "X"), door.RepairDone(now(serial).id)).done
    assert serial not in at("X")


def test_a_late_row_says_by_how_many_days(today: Clock) -> None:
    today.now += timedelta(days=4)
    assert "2 d late" in at("R", "P-32")["Q-1040"]
    assert "late" not in at("N")["Q-1043"]


def test_a_station_where_nothing_waits_says_how_instruments_come_to_it() -> None:
    screen = here(signed_in("P-11", "K"))
    assert "Nothing waits here." in screen.words
    assert "0 instruments" in screen.words


def test_the_rows_are_the_same_for_everybody_at_the_station(phone: Client) -> None:
    """A learner, the lead and an operator who is not signed off there."""
    lists = [rows(here(signed_in(badge, "N"))) for badge in ("P-11", "P-25", "P-01", "P-16")]
    assert lists[1:] == lists[:1] * 3


def test_nothing_on_the_page_is_of_the_badge_that_looks(phone: Client) -> None:
    main = here(phone).one(".//main")
    assert "P-11" not in said(main)
    assert main.find(".//form") is None


# --- the ways to it ---


def test_the_scan_screen_leads_there_and_tells_how_many_as_far_as_that_is_known(
    phone: Client,
) -> None:
    assert seen(phone.get("/scan/")).links["At Neck bench"] == "/here/"
    here(phone)
    with CaptureQueriesContext(connection) as captured:
        screen = seen(phone.get("/scan/"))
    assert screen.links[f"At Neck bench ({HERE})"] == "/here/"
    assert len(captured) == 2, "who asks, and what they may do"


def test_the_card_of_this_station_leads_there(phone: Client) -> None:
    assert seen(phone.get("/AT/N")).links["What is here"] == "/here/"


def test_a_phone_without_a_station_is_asked_where_it_is() -> None:
    Badge.objects.filter(code="P-11").update(home_station="")
    phone = signed_in("P-11")
    assert phone.get("/here/")["Location"] == "/station/"
    assert "/here/" not in seen(phone.get("/scan/")).links.values()


# --- as CSV ---


def table(phone: Client) -> list[dict[str, str]]:
    answer = phone.get("/here/list.csv")
    assert answer["Content-Type"].startswith("text/csv")
    return list(csv.DictReader(io.StringIO(answer.content.decode())))


def test_the_csv_has_a_line_for_each_row_in_the_same_order(phone: Client) -> None:
    lines = table(phone)
    assert [one["serial"] for one in lines] == list(rows(here(phone)))
    assert lines[[one["serial"] for one in lines].index("Q-1043")] == {
        "serial": "Q-1043",
        "spec": "TARN",
        "operation": "N40",
        "words": "Gauge the post holes and clear the lacquer",
        "due": "2031-03-14",
        "days late": "0",
        "urgent": "",
        "state": "free",
        "ready": "",
        "why": "",
    }


def test_moments_in_the_csv_are_iso_8601() -> None:
    [line] = [one for one in table(signed_in("P-32", "R")) if one["serial"] == "Q-1040"]
    assert line["ready"].startswith("2031-03-03T10:30")
    assert (line["state"], line["why"]) == ("clock", "Ready Mon 10:30")


# --- asked again and again ---


def poll(phone: Client, etag: str = "") -> Any:
    headers = POLL | ({NONE_MATCH: etag} if etag else {})
    return phone.get("/here/", headers=headers)


def test_the_page_carries_the_mark_it_is_asked_by(phone: Client) -> None:
    answer = phone.get("/here/")
    part = seen(answer).one(".//div[@data-fresh]")
    assert part.get("data-fresh") == answer[ETAG]
    assert part.get("data-at") == "09:30"
    assert part.get("id")


def test_what_did_not_change_is_said_in_three_statements_and_no_word(phone: Client) -> None:
    """RFC 9110, 15.4.5: 304 Not Modified has no content and carries the ETag."""
    etag = phone.get("/here/")[ETAG]
    with CaptureQueriesContext(connection) as captured:
        answer = poll(phone, etag)
    assert (answer.status_code, answer.content, answer[ETAG]) == (304, b"", etag)
    assert len(captured) <= 3, [one["sql"] for one in captured]


def test_a_step_recorded_anywhere_changes_the_mark(phone: Client) -> None:
    etag = phone.get("/here/")[ETAG]
    ready_for("Q-1062", "N10")
    assert step("Q-1062", "N10").done
    answer = poll(phone, etag)
    assert answer.status_code == 200
    assert " N20 " in rows(seen(answer))["Q-1062"]


def test_the_next_minute_changes_the_mark(phone: Client, today: Clock) -> None:
    """What waits for a clock says another word then."""
    etag = phone.get("/here/")[ETAG]
    today.now += timedelta(seconds=59)
    assert poll(phone, etag).status_code == 304
    today.now += timedelta(seconds=1)
    answer = poll(phone, etag)
    assert answer.status_code == 200
    assert seen(answer).one(".//div[@data-fresh]").get("data-at") == "09:31"


def test_another_station_language_or_unit_is_another_page(phone: Client) -> None:
    etag = phone.get("/here/")[ETAG]
    for changed in ({"units": "inch"}, {"language": "es"}):
        Badge.objects.filter(code="P-11").update(**changed)
        assert poll(phone, etag).status_code == 200, changed
        Badge.objects.filter(code="P-11").update(units="mm", language="en")
    assert poll(phone, etag).status_code == 304
    phone.post("/station/", {"station": "B"})
    assert poll(phone, etag).status_code == 200


def test_the_second_phone_asks_who_it_is_and_for_the_mark_and_no_more(phone: Client) -> None:
    """What everything waits for is asked once for all phones, whatever their stations."""
    here(phone)
    other = signed_in("P-14", "B")
    with CaptureQueriesContext(connection) as captured:
        assert len(rows(seen(other.get("/here/")))) > 1
    assert len(captured) == 3, [one["sql"] for one in captured]


def test_two_hundred_more_instruments_take_no_more_statements(phone: Client) -> None:
    def asked() -> int:
        forget()
        with CaptureQueriesContext(connection) as captured:
            assert phone.get("/here/").status_code == 200
        return len(captured)

    few = asked()
    add_instruments(200)
    assert len(rows(here(phone))) == HERE + 200
    assert asked() == few


# --- and nobody's work ---


def test_a_page_that_asks_by_itself_keeps_no_phone_signed_in(phone: Client, today: Clock) -> None:
    etag = phone.get("/here/")[ETAG]
    for _ in range(settings.IDLE_SECONDS // 60):
        today.pass_s(60)
        answer = poll(phone, etag)
        assert answer.status_code == 200
        assert settings.SESSION_COOKIE_NAME not in answer.cookies
    today.pass_s(1)
    assert poll(phone, etag).status_code == 401


def test_a_person_who_asks_for_the_same_page_does(phone: Client, today: Clock) -> None:
    for _ in range(settings.IDLE_SECONDS // 60 + 1):
        today.pass_s(60)
        assert phone.get("/here/").status_code == 200


def test_nobody_signed_in_gets_the_pad_and_never_the_word_that_nothing_changed(
    phone: Client, today: Clock
) -> None:
    etag = phone.get("/here/")[ETAG]
    today.pass_s(settings.IDLE_SECONDS + 1)
    answer = phone.get("/here/", headers=POLL | {NONE_MATCH: etag, "HX-Request": "true"})
    assert (answer.status_code, answer["HX-Retarget"]) == (401, "#lock")
