"""The page that a phone carries along: the same for everybody, and all that a bench needs."""

from __future__ import annotations

import json
import re
from datetime import timedelta
from urllib.parse import unquote

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop.craft.rework import WORDS
from shop.floor import board, door
from shop.people.models import Badge
from tests.bench.screens import Screen, seen, signed_in, tag
from tests.floor.morning import act, now
from tests.people.phones import Clock

pytestmark = pytest.mark.usefixtures("today")

# However much is to be done at the station.
STATEMENTS = 13


def ask(serial: str, badge: str = "P-11", station: str = "N", how: str = "") -> Screen:
    return seen(signed_in(badge, station).get(f"/{tag(serial)}/carried/{how}"))


def posts(screen: Screen) -> list[str]:
    """Where the forms of the page that wait on the phone are sent, in their order."""
    forms = [one for one in screen.root.iter("form") if one.get("data-outbox") is not None]
    return [one.get("action", "").split("/")[2] for one in forms]


def turns(screen: Screen) -> list[str]:
    return [one.split()[0] for one in screen.of_class("op-code")]


# --- it is nobody's ---


def test_it_is_the_same_page_byte_for_byte_whoever_asks() -> None:
    pages = {ask("Q-1043", badge).answer.content for badge in ("P-11", "P-14", "P-01")}
    assert len(pages) == 1


def test_it_names_no_badge_whatever_was_done_and_said() -> None:
    """An open step, a frozen guitar, an approval: each has a badge in its words."""
    door.record(act(), door.StepStarted(now("Q-1043").id, "N40"))
    door.record(act("P-01"), door.Frozen(now("Q-1055").id, "P-11 saw a crack at the heel"))
    codes = list(Badge.objects.values_list("code", flat=True))
    phone = signed_in("P-11", "N")
    for one in board.all_open():
        page = phone.get(f"/{tag(one.serial)}/carried/").content.decode()
        found = [code for code in codes if re.search(rf"(?<![\w-]){code}(?!\w)", page)]
        assert found == [], one.serial


def test_it_says_that_it_may_be_kept_and_is_asked_again() -> None:
    """RFC 9111, 5.2.2: no-cache lets it be kept and has it asked again; no-store would not."""
    answer = ask("Q-1043").answer
    assert answer["X-Offline"] == "shared"
    assert answer["Cache-Control"] == "no-cache,private"
    assert "Set-Cookie" not in answer.headers


def test_it_carries_no_form_token_and_no_key() -> None:
    page = ask("Q-1043").answer.content.decode()
    assert "csrfmiddlewaretoken" not in page
    keys = re.findall(r'name="key" value="([^"]*)"', page)
    assert len(keys) > 4
    assert set(keys) == {""}


def test_asked_for_by_nobody_it_is_no_page_to_keep() -> None:
    answer = Client().get(f"/{tag('Q-1043')}/carried/")
    assert answer.status_code == 401
    assert "X-Offline" not in answer.headers


def test_a_tag_of_nothing_is_not_there() -> None:
    assert signed_in("P-11").get("/B000000/carried/").status_code == 404


# --- what it holds ---


def test_it_tells_what_the_bench_needs() -> None:
    screen = ask("Q-1043")
    words = screen.words
    wanted = (
        "Q-1043", "TARN · right-handed · 6 strings", "Due Fri 2031-03-14", "As of Mon 09:30.",
        "N40 Gauge the post holes", "Caution: Eye protection.", "Hole as the spec;", "Kit of TARN",
        "T01 open-gear individual set", "Which string on which post",
    )  # fmt: skip
    assert [one for one in wanted if one not in words] == []
    assert screen.root.find(".//div[@class='progress']/svg") is not None


def test_the_slot_in_which_its_case_lies_stands_on_it() -> None:
    assert "Rack slot H-027" in ask("Q-1040", "P-31", "H").words
    assert "Rack slot" not in ask("Q-1043").words


def test_deviations_are_boxed() -> None:
    assert "T02 in place of T01" in ask("Q-1044").of_class("boxed")[0]


def test_a_list_of_what_is_carried_is_told_by_its_header() -> None:
    told = json.loads(unquote(ask("Q-1043").answer["X-Carried"]))
    assert told == {
        "serial": "Q-1043",
        "spec": "TARN",
        "operation": "N40",
        "name": "Gauge the post holes and clear the lacquer",
        "made": "2031-03-03T09:30:00+00:00",
    }


def test_it_speaks_the_language_and_the_units_that_were_asked_for() -> None:
    screen = ask("Q-1043", how="?units=inch&language=es")
    assert screen.answer["Content-Language"] == "es"
    assert screen.one(".").find("html").get("lang") == "es"  # type: ignore[union-attr]
    assert screen.one(".//input[@name='unit']").get("value") == "in"
    assert " in" in " ".join(screen.of_class("ledger"))


def test_what_was_asked_for_in_no_known_way_is_in_millimetres() -> None:
    screen = ask("Q-1043", how="?units=ell&language=xx")
    assert screen.one(".//input[@name='unit']").get("value") == "mm"


# --- what is done on it ---


def test_operations_of_the_station_come_in_their_turn_each_with_what_it_needs() -> None:
    screen = ask("Q-1043")
    assert turns(screen) == ["N40", "N50", "N60"]
    assert posts(screen)[:4] == ["tray", "gauge", "record", "record"]


def test_where_posts_are_to_be_photographed_nothing_is_offered_to_record() -> None:
    screen = ask("Q-1043")
    assert "Record N60" not in screen.buttons
    assert "The posts are checked and photographed first." in screen.words


def test_the_tray_that_is_expected_goes_along() -> None:
    root = ask("Q-1043").one(".//div[@data-carried]")
    assert root.get("data-tray") == now("Q-1043").tray_code
    assert root.get("data-neck") == tag("Q-1043", "neck")


def test_a_tray_scanned_here_already_is_not_asked_for_again() -> None:
    it = now("Q-1043")
    assert door.record(act(), door.TrayChecked(it.id, it.tray_code)).done
    assert posts(ask("Q-1043"))[:2] == ["gauge", "record"]


def test_places_to_measure_have_the_names_that_the_page_of_measures_has() -> None:
    def names(screen: Screen) -> list[str]:
        boxes = [one for one in screen.root.iter("input") if one.get("data-figure") is not None]
        return [one.get("name", "") for one in boxes]

    it = now("Q-1043")
    door.record(act(), door.TrayChecked(it.id, it.tray_code))
    own = names(seen(signed_in("P-11", "N").get(f"/{tag('Q-1043')}/gauge/")))
    assert own == ["hole 6", "hole 5", "hole 4", "hole 3", "hole 2", "hole 1"]
    assert names(ask("Q-1043")) == own


def test_a_begun_step_is_recorded_by_whoever_has_it_in_hand() -> None:
    door.record(act(), door.StepStarted(now("Q-1055").id, "N30"))
    screen = ask("Q-1055", "P-14")
    assert "N30 is begun since Mon 09:30." in screen.words
    assert "Record N30" in screen.buttons


def test_what_a_clock_holds_says_until_when_and_offers_no_record(today: Clock) -> None:
    """It was cased on Thursday at 10:30; 96 h on is Monday 10:30 (both invented)."""
    screen = ask("Q-1040", "P-32", "R")
    assert "Ready Mon 10:30." in screen.words
    assert [one for one in screen.buttons if one.startswith("Record")] == []
    today.now += timedelta(hours=1)
    assert "Record I30" in ask("Q-1040", "P-32", "R").buttons


def test_a_frozen_guitar_says_so_and_offers_no_record() -> None:
    door.record(act("P-01"), door.Frozen(now("Q-1055").id, "Look at the heel"))
    screen = ask("Q-1055")
    assert "Q-1055 was frozen Mon 09:30 by a badge: Look at the heel." in screen.words
    assert [one for one in screen.buttons if one.startswith("Record")] == []


def test_at_another_station_it_says_where_the_work_is_and_nothing_of_sign_offs() -> None:
    screen = ask("Q-1061")
    assert "Next, at Joint" in screen.words
    assert "signed off" not in screen.words
    assert [one for one in screen.buttons if one.startswith("Record")] == []


def test_every_word_for_a_defect_is_there_and_leads_to_a_loop_that_is() -> None:
    screen = ask("Q-1043")
    boxes = list(screen.root.iter("input"))
    told = {(one.get("data-family"), one.get("value")) for one in boxes if one.get("data-loops")}
    assert told == {(family, word) for family, words in WORDS.items() for word in words}
    loops = {one.get("value") for one in boxes if one.get("name") == "loop"}
    led = {key for one in boxes for key in one.get("data-loops", "").split("|") if key}
    assert led
    assert led <= loops


@pytest.mark.parametrize(
    ("serial", "badge", "station"),
    [("Q-1043", "P-11", "N"), ("Q-1044", "P-11", "N"), ("Q-1061", "P-11", "N"),
     ("Q-1058", "P-14", "B")],
)  # fmt: skip
def test_it_takes_as_many_statements_however_much_there_is_to_do(
    serial: str, badge: str, station: str
) -> None:
    phone, address = signed_in(badge, station), f"/{tag(serial)}/carried/"
    phone.get(address)  # the sheet of its spec is kept from then on
    with CaptureQueriesContext(connection) as asked:
        assert phone.get(address).status_code == 200
    told = "\n".join(one["sql"] for one in asked)
    assert len(asked) == STATEMENTS, told
