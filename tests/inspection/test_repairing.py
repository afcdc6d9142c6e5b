"""The repairer's list on a screen: age, minutes, what is checked after it. Instruments are
invented."""

from __future__ import annotations

import csv
import io
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop.craft.words import THIN
from shop.floor import door
from shop.floor.models import Instrument
from tests.bench.screens import Screen, key, seen, signed_in, tag
from tests.floor.casing import HOUR, MINUTE, SERIAL, done, number, said
from tests.floor.morning import NOW, rules
from tests.people.phones import Clock

pytestmark = pytest.mark.usefixtures("today")

OTHER = "Q-1041"


def sent(
    serial: str = SERIAL, word: str = "chip", loop: str = "finish chip", at: Any = NOW
) -> None:
    deed = door.DefectFound(number(serial), word, loop, words="Treble side")
    done(deed, at, "P-22", "I")


def page(query: str = "", badge: str = "P-61", station: str = "X") -> Screen:
    return seen(signed_in(badge, station).get(f"/repairs/{query}"))


def test_an_empty_list_says_what_would_be_there() -> None:
    assert "Nothing waits for a repair." in page().words


def test_each_says_what_is_done_how_long_it_waits_and_what_is_done_again(today: Clock) -> None:
    sent()
    today.now = NOW + 26 * HOUR
    words = page().words.replace(THIN, " ")
    for one in (
        "1 instrument, about 40 min", "Finish chip", "Repair", "chip, Treble side",
        "About 40 min", "then again: Q10", "26 h old, since Mon 09:30",
    ):  # fmt: skip
        assert one in words, one


def test_the_longest_wait_comes_first(today: Clock) -> None:
    sent(OTHER, "lift", "bridge lift", NOW + MINUTE)
    sent()
    today.now = NOW + HOUR
    words = page().words
    assert words.index(SERIAL[-4:]) < words.index(OTHER[-4:])


def test_a_row_leads_to_its_instrument() -> None:
    sent()
    ways = page().links.values()
    assert f"/{tag(SERIAL)}" in ways


def test_what_was_spent_before_is_told(today: Clock) -> None:
    sent()
    done(door.RepairDone(number()), NOW + HOUR, "P-61", "X")
    sent(word="lift", loop="bridge lift", at=NOW + 2 * HOUR)
    today.now = NOW + 3 * HOUR
    words = page().words.replace(THIN, " ")
    assert "About 60 min, 40 min spent before" in words


def test_what_is_repaired_is_on_the_list_no_more() -> None:
    sent()
    done(door.RepairDone(number()), NOW + HOUR, "P-61", "X")
    assert SERIAL[-4:] not in page().words


def test_it_is_filtered_by_the_station_by_a_tap() -> None:
    sent()
    assert SERIAL[-4:] in page("?station=Repair").words
    assert SERIAL[-4:] in page("?station=Nowhere").words, "a station of none shows all"


def test_one_that_is_frozen_says_so() -> None:
    sent()
    done(door.Frozen(number(), "Look at it"), NOW + MINUTE, "P-01", "")
    assert "Frozen until the lead has looked" in page().words


def test_it_keeps_itself_fresh_and_is_asked_again_at_no_cost(today: Clock) -> None:
    sent()
    phone = signed_in("P-61", "X")
    first: Any = phone.get("/repairs/")
    again: Any = phone.get("/repairs/", headers={"If-None-Match": first["ETag"]})
    assert again.status_code == 304
    sent(OTHER, "lift", "bridge lift", NOW + MINUTE)
    assert phone.get("/repairs/", headers={"If-None-Match": first["ETag"]}).status_code == 200
    first = phone.get("/repairs/")
    today.now = NOW + 15 * MINUTE
    phone = signed_in("P-61", "X")  # its lock has shut meanwhile
    again = phone.get("/repairs/", headers={"If-None-Match": first["ETag"]})
    assert again.status_code == 200, "ages went on"


def test_the_list_can_be_had_as_csv(today: Clock) -> None:
    sent()
    today.now = NOW + 2 * HOUR
    answer: Any = signed_in("P-61", "X").get("/repairs/list.csv")
    head, row = csv.reader(io.StringIO(answer.content.decode()))
    found = dict(zip(head, row, strict=True))
    assert (found["serial"], found["age h"], found["usual min"]) == (SERIAL, "2.0", "40")
    assert (found["stations"], found["repairs"]) == ("Repair", "Finish chip")
    assert found["done again after it"] == "Q10"


def test_it_takes_as_many_statements_for_one_as_for_several() -> None:
    phone = signed_in("P-61", "X")
    sent()
    phone.get("/repairs/")
    few = _statements(phone)
    serials = Instrument.objects.filter(ended="").values_list("body__serial", flat=True)
    for minute, serial in enumerate([one for one in serials if one != SERIAL][:5], 1):
        sent(serial, "dust nib", "cosmetic", NOW + minute * MINUTE)
    assert _statements(phone) == few


def _statements(phone: Any) -> int:
    with CaptureQueriesContext(connection) as caught:
        phone.get("/repairs/")
    return len(caught)


def test_the_repairers_station_leads_to_it() -> None:
    assert seen(signed_in("P-61", "X").get("/here/")).links["All repairs"] == "/repairs/"
    assert "All repairs" not in seen(signed_in("P-31", "I").get("/here/")).links


def test_what_the_first_look_found_is_kept_from_who_could_take_the_second(today: Clock) -> None:
    """Two looks are worth more than one where neither knows what the other found."""
    sent()
    today.now = NOW + HOUR
    words = page(badge="P-32", station="R").words
    assert SERIAL[-4:] in words
    for told in ("chip", "Treble side", "Finish chip"):
        assert told not in words, told
        assert told not in _list("P-32", "R"), told
        assert told in page(badge="P-61", station="X").words
        assert told in _list("P-61", "X")
    assert "opens once you have entered" in words


def test_what_a_bench_found_is_nobodys_look() -> None:
    done(door.DefectFound(number(), "chip", "finish chip"), NOW, "P-61", "X")
    assert "Finish chip" in page(badge="P-32", station="R").words


def test_one_phone_that_is_handed_on_is_asked_again(today: Clock) -> None:
    """What the first badge may read must not be shown to the second out of the phone's memory."""
    sent()
    first: Any = signed_in("P-61", "X").get("/repairs/")
    second: Any = signed_in("P-32", "R").get("/repairs/", headers={"If-None-Match": first["ETag"]})
    assert second.status_code == 200


def _list(badge: str, station: str) -> str:
    answer: Any = signed_in(badge, station).get("/repairs/list.csv")
    return str(answer.content.decode())


def test_the_minutes_that_a_repair_took_count_instead_of_the_usual_ones(today: Clock) -> None:
    sent()
    today.now = NOW + HOUR
    phone = signed_in("P-61", "X")
    way = f"/{tag(SERIAL)}/repair/"
    assert "Minutes of work it took, if you know" in seen(phone.get(way)).words
    wrong: Any = phone.post(way, {"key": key(), "minutes": "4x"})
    assert (wrong.status_code, 'value="4x"' in wrong.content.decode()) == (422, True)
    assert "4x is no whole number of minutes." in seen(wrong).words
    assert phone.post(way, {"key": key(), "minutes": "75"}).status_code == 302
    sent(word="lift", loop="bridge lift", at=NOW + 2 * HOUR)
    today.now = NOW + 3 * HOUR
    assert "75 min spent before" in page().words.replace(THIN, " ")


def test_a_repair_of_many_days_of_work_was_mistyped() -> None:
    sent()
    refused = said(door.RepairDone(number(), 961), NOW + HOUR, "P-61", "X")
    assert (refused.result, rules(refused)) == ("refused", ["minutes"])


def test_whoever_sees_the_floor_reads_it() -> None:
    assert signed_in("P-41", "K").get("/repairs/").status_code == 200
