"""The clerk takes lists along; the lead brings lists in, looks, and takes them over.

The demo's items; everything else invented: common practice, no source.
"""

from __future__ import annotations

import csv
import io
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from shop.stock.models import Delivery, Intake
from tests.bench.screens import Screen, seen, signed_in
from tests.floor.morning import undone
from tests.stock.listed import last, lines

pytestmark = pytest.mark.usefixtures("today")

HEAD = "item,quantity,due,order number"
GOOD = lines(HEAD, "T01,10,2031-03-17,4711", "T02,4,2031-03-17,4711")


@pytest.fixture
def lead() -> Client:
    return signed_in("P-01")


@pytest.fixture
def clerk() -> Client:
    return signed_in("P-41")


def bring(phone: Client, content: bytes, what: str = "receipts", name: str = "march.csv") -> Screen:
    sent = {"what": what, "file": SimpleUploadedFile(name, content)}
    return seen(phone.post("/lists/bring/", sent, follow=True))


def take(phone: Client) -> Screen:
    return seen(phone.post(f"/lists/{last().pk}/take/", follow=True))


def counts(screen: Screen) -> dict[str, int]:
    names = [one.text or "" for one in screen.root.iter("dt")]
    return dict(zip(names, [int(one.text or "") for one in screen.root.iter("dd")], strict=True))


def ordered() -> int:
    return Delivery.objects.filter(order="4711").count()


# --- out ---


def test_every_list_can_be_had_as_csv_and_as_xlsx(clerk: Client) -> None:
    screen = seen(clerk.get("/lists/"))
    ways = [where for where in screen.links.values() if "/lists/file/" in where]
    assert len(ways) == 8
    for way in ways:
        answer = clerk.get(way)
        assert answer.status_code == 200
        assert way.rpartition("/")[2] in answer["Content-Disposition"]
    [items] = [way for way in ways if way.endswith("items.csv")]
    rows = list(csv.DictReader(io.StringIO(clerk.get(items).content.decode())))
    [row] = [one for one in rows if one["key"] == "T01"]
    assert (row["family"], row["bushing_od_mm"], row["width_mm"]) == ("tuners", "8.8", "")


def test_a_list_that_is_none_is_not_found(clerk: Client) -> None:
    for name in ("wishes.csv", "items.pdf", "items", "R06.least"):
        assert clerk.get(f"/lists/file/{name}").status_code == 404


def test_the_clerk_brings_nothing_in(clerk: Client, lead: Client) -> None:
    assert "Read the list" not in seen(clerk.get("/lists/")).buttons
    assert "Read the list" in seen(lead.get("/lists/")).buttons
    sent = {"what": "receipts", "file": SimpleUploadedFile("a.csv", GOOD)}
    assert clerk.post("/lists/bring/", sent).status_code == 403
    assert not Intake.objects.exists()


def test_an_operator_sees_no_lists() -> None:
    phone = signed_in("P-11")
    assert phone.get("/lists/").status_code == 403
    assert phone.get("/lists/file/items.csv").status_code == 403


# --- in ---


def test_a_good_list_shows_what_it_would_do_and_does_it_once_taken_over(lead: Client) -> None:
    screen = bring(lead, GOOD)
    assert screen.heading == "march.csv"
    assert counts(screen) == {"new": 2, "changed": 0, "the same": 0, "bad": 0}
    assert "T01 4711 new: 10 due 2031-03-17" in screen.words
    assert (ordered(), "Take the list over" in screen.buttons) == (0, True)
    done = take(lead)
    assert "Taken over: 2 new, 0 changed." in done.of_class("finding-clear")[0]
    assert "Take the list over" not in done.buttons
    assert "By P-01" in done.words
    assert ordered() == 2
    assert "taken over already" in take(lead).of_class("finding-clear")[0]
    assert ordered() == 2


def test_bad_rows_come_first_and_nothing_can_be_taken_over(lead: Client) -> None:
    content = lines(HEAD, "T01,10,2031-03-17,4711", "T77,ten,soon,4711")
    screen = bring(lead, content)
    assert counts(screen) == {"new": 1, "changed": 0, "the same": 0, "bad": 1}
    assert "2 things to put right." in screen.of_class("finding-stop")[0]
    assert "Take the list over" not in screen.buttons
    assert screen.words.index("ten is no whole number") < screen.words.index("T01 4711")
    assert "2 things are wrong in it" not in screen.words
    told = take(lead).of_class("finding-stop")[0]
    assert "Nothing is taken over: 2 things are wrong in it." in told
    assert "Read the rows again" not in screen.buttons
    assert ordered() == 0


def test_what_is_here_by_now_is_seen_when_the_rows_are_read_again(lead: Client) -> None:
    screen = bring(lead, lines(HEAD, "G77,10,2031-03-17,4711"))
    assert "Read the rows again" in screen.buttons
    bring(lead, lines("family,key,name,hand", "guard,G77,clear,RH"), "items")
    take(lead)
    first = Intake.objects.earliest("id").pk
    again = seen(lead.post(f"/lists/{first}/take/", follow=True))
    assert "1 row changed meanwhile. Line 2, " in again.of_class("finding-stop")[0]
    assert "Take the list over" in again.buttons


def test_a_list_that_is_here_already_has_nothing_to_take_over(lead: Client) -> None:
    bring(lead, GOOD)
    take(lead)
    screen = bring(lead, GOOD)
    assert counts(screen)["the same"] == 2
    assert "Nothing to take over." in screen.of_class("finding-clear")[0]
    assert "Take the list over" not in screen.buttons


def test_letters_of_windows_are_read_and_said(lead: Client) -> None:
    content = "family,key,name,hand\r\nguard,G77,größer,RH\r\n".encode("cp1252")
    screen = bring(lead, content, "items")
    assert "Line 2 is not UTF-8" in screen.of_class("finding-warn")[0]
    assert "new: größer" in screen.words


@pytest.mark.parametrize(
    ("sent", "told"),
    [
        ({"what": "receipts"}, "There is no file yet. Choose the list."),
        ({"file": GOOD}, "Say what kind of list it is."),
        ({"what": "wishes", "file": GOOD}, "Say what kind of list it is."),
        ({"what": "orders", "file": lines("a,b", "1,2")}, "This is no list of orders"),
        ({"what": "items", "file": b""}, "There is nothing in this file."),
        ({"what": "items", "file": b"x" * (5 * 1024 * 1024 + 1)}, "larger than 5 MB"),
    ],
)
def test_what_cannot_be_read_says_so_on_the_page_of_lists(
    lead: Client, sent: dict[str, Any], told: str
) -> None:
    if "file" in sent:
        sent = sent | {"file": SimpleUploadedFile("a.csv", sent["file"])}
    screen = seen(lead.post("/lists/bring/", sent, follow=True))
    assert (screen.heading, told in screen.of_class("finding-stop")[0]) == ("Lists", True)
    chosen = [one.get("value") for one in screen.root.iter("input") if "checked" in one.attrib]
    assert chosen == [one for one in [sent.get("what")] if one in {"receipts", "orders", "items"}]
    assert not Intake.objects.exists()


def test_a_long_list_is_shown_in_part_and_whole_as_csv(lead: Client) -> None:
    bad = [f"=T{number},1,2031-03-17,4711" for number in range(250)]
    screen = bring(lead, lines(HEAD, *bad))
    assert screen.words.count("There is no item") == 200
    assert "50 more in the CSV below." in screen.words
    answer = lead.get(screen.links["All of this as CSV"])
    rows = list(csv.DictReader(io.StringIO(answer.content.decode())))
    assert len(rows) == 250
    assert (rows[0]["line"], rows[0]["column"], rows[0]["what"]) == ("2", "item", "bad")
    assert rows[0]["row"] == "'=T0 4711"


def test_a_list_that_never_was_is_not_found(lead: Client) -> None:
    assert lead.get("/lists/0/").status_code == 404
    assert lead.get("/lists/0/read.csv").status_code == 404
    assert lead.post("/lists/0/take/").status_code == 404


@pytest.mark.parametrize("rows", [5, 40])
def test_the_pages_take_three_statements_for_any_number_of_rows(lead: Client, rows: int) -> None:
    """Badge and rights, and the lists; badge and rights, and the one list."""
    content = lines(HEAD, *(f"T01,1,2031-03-17,{one}" for one in range(rows)))
    for _ in range(rows):
        bring(lead, content)
    for path in ("/lists/", f"/lists/{last().pk}/"):
        lead.get(path)
        with CaptureQueriesContext(connection) as asked:
            lead.get(path)
        assert len(asked) == 3, path


@settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(
    what=st.sampled_from(["items", "stock", "receipts", "orders"]),
    content=st.one_of(
        st.binary(max_size=200),
        st.text(max_size=80).map(lambda text: f"{HEAD}\r\n{text}".encode()),
        st.text(max_size=80).map(lambda text: f"family;key;name\r\n{text}".encode()),
    ),
    name=st.text(max_size=150),
)
def test_whatever_is_sent_the_answer_is_a_page(
    lead: Client, what: str, content: bytes, name: str
) -> None:
    with undone():
        answer = lead.post(
            "/lists/bring/",
            {"what": what, "file": SimpleUploadedFile(f"{name}.csv", content)},
            follow=True,
        )
        assert answer.status_code == 200
        assert seen(answer).heading
