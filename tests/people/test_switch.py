"""One phone, many hands: from one badge to the next in two taps and a PIN."""

from __future__ import annotations

import pytest
from django.test import Client

from shop.people import badges
from shop.people.models import Badge
from tests.bench.screens import Screen, seen
from tests.people.phones import PIN, enter, form_to

pytestmark = pytest.mark.usefixtures("operator", "other", "clock")


@pytest.fixture
def shared(phone: Client, other: Badge) -> Client:
    """A phone that P-14 held, and P-11 holds now."""
    for badge in (other.code, "P-11"):
        assert enter(phone, badge).status_code == 302
    return phone


def last(screen: Screen) -> list[str]:
    """The badges that are a tap away."""
    forms = [one for one in screen.root.iter("form") if "badges" in one.get("class", "")]
    found = [button.get("value", "") for button in forms[0].iter("button")]
    return [one for one in found if one]


def switch(phone: Client, path: str) -> Screen:
    """Tap the badge in the strip of a page."""
    return seen(phone.get(seen(phone.get(path)).one(".//header/a").get("href", "")))


def test_two_taps_and_a_pin_lead_to_another_badge_on_the_same_page(shared: Client) -> None:
    pad = switch(shared, "/screens/?at=N")
    assert last(pad) == ["P-11", "P-14"]
    carried = pad.form("/sign-in/choose/")
    asked = shared.post("/sign-in/choose/", carried | {"badge": "P-14"})
    sent = dict(form_to(asked, "/sign-in/").fields)
    answer = shared.post("/sign-in/", sent | {"pin": PIN})
    assert answer["Location"] == "/screens/?at=N"
    assert seen(shared.get("/screens/")).one(".//header//b").text == "P-14"


def test_tapping_the_badge_signs_nobody_out(shared: Client) -> None:
    switch(shared, "/screens/")
    assert seen(shared.get("/screens/")).one(".//header//b").text == "P-11"


def test_a_page_that_came_by_a_form_is_not_gone_back_to(shared: Client) -> None:
    """Its address may take nothing but that form."""
    page = seen(shared.post("/screens/", {"units": "furlong"}))
    assert "next=" not in page.one(".//header/a").get("href", "")


def test_the_newest_badge_comes_first_and_six_are_kept(phone: Client, db: None) -> None:
    codes = [f"P-{number}" for number in range(51, 59)]
    for code in codes:
        badges.issue(code, PIN, ["operator"])
        enter(phone, code)
    enter(phone, codes[-3])
    kept = phone.cookies["badges"].value.split(".")
    assert kept == [codes[-3], codes[-1], codes[-2], codes[-4], codes[-5], codes[-6]]


def test_a_refused_pin_leaves_no_badge_on_the_phone(phone: Client) -> None:
    enter(phone, "P-11", "0000")
    assert "badges" not in phone.cookies


def test_the_phone_keeps_codes_alone_and_its_own_script_reads_them(shared: Client) -> None:
    cookie = shared.cookies["badges"]
    assert cookie.value == "P-11.P-14"
    assert not cookie["httponly"]
    assert cookie["samesite"] == "Lax"


@pytest.mark.parametrize(
    "kept", ["<script>alert(1)</script>", "P-11'\"><b>", "P-", "...", "P-123456789", "p-1"]
)
def test_what_is_no_badge_code_is_not_offered(phone: Client, kept: str) -> None:
    phone.cookies["badges"] = kept
    answer = phone.get("/sign-in/?another=1")
    assert "Last at this phone" not in seen(answer).words
    assert "<script>alert" not in answer.content.decode()


def test_every_badge_stands_on_the_page_once(shared: Client) -> None:
    buttons = [one.get("value") for one in switch(shared, "/screens/").root.iter("button")]
    found = [one for one in buttons if one]
    assert sorted(found) == ["P-11", "P-14"]


def test_where_the_phone_knows_nobody_any_more_the_pad_asks_whose_it_is(shared: Client) -> None:
    del shared.cookies["sessionid"]
    headers = {"HX-Request": "true", "Referer": "http://testserver/screens/?at=N"}
    answer = shared.post("/sign-in/pad/", headers=headers)
    pad = seen(answer)
    assert (answer.status_code, answer["HX-Retarget"]) == (401, "#lock")
    assert sorted(last(pad)) == ["P-11", "P-14"]
    assert pad.form("/sign-in/") == {"next": "/screens/?at=N"}
    assert b'name="pin"' not in answer.content


def test_the_pad_over_a_page_offers_the_others_and_leads_back_to_it(shared: Client) -> None:
    pad = seen(shared.post("/sign-in/pad/", headers={"Referer": "http://testserver/screens/?at=N"}))
    assert last(pad) == ["P-14"]
    assert pad.form("/sign-in/") == {"next": "/screens/?at=N"}
    asked = shared.get("/sign-in/", {"badge": "P-14", "next": "/screens/?at=N"})
    sent = dict(form_to(asked, "/sign-in/").fields)
    assert shared.post("/sign-in/", sent | {"pin": PIN})["Location"] == "/screens/?at=N"


@pytest.mark.parametrize("referer", ["", "http://evil.example/screens/", "nonsense"])
def test_the_pad_leads_nowhere_else(shared: Client, referer: str) -> None:
    pad = seen(shared.post("/sign-in/pad/", headers={"Referer": referer}))
    assert pad.form("/sign-in/") == {"next": ""}


def test_the_sign_in_page_has_a_place_for_whose_work_waits(phone: Client) -> None:
    assert seen(phone.get("/sign-in/")).root.find(".//div[@data-waits]") is not None


def test_what_is_done_while_the_shop_is_away_is_named_on_every_page(shared: Client) -> None:
    page = shared.get("/screens/").content.decode()
    text = page.partition("<template data-away>")[2].partition("</template>")[0]
    assert "Without the network no PIN can be checked." in text
    assert "Go on as {badge} without the network" in text
