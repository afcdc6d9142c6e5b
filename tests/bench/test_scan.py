"""A scan, however it is read or typed, leads to the instrument or says why not."""

from __future__ import annotations

from collections.abc import Callable
from random import Random

import pytest
from django.test import Client

from shop.craft.code import SYMBOLS, Kind, check_character, mint, pretty
from shop.floor import door
from shop.floor.models import Tag
from shop.people.models import Badge
from tests.bench.screens import key, seen, signed_in, tag
from tests.floor.morning import act, now

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def phone() -> Client:
    return signed_in("P-11")


def give_tag(serial: str, code: str) -> None:
    """Let the body's tag bear this code: codes are drawn at random, this test wants its own."""
    Tag.objects.filter(body__serial=serial, void_at__isnull=True).update(code=code)


def with_look_alikes() -> str:
    """A body code with a 0 and a 1 in it, which somebody will type as O and I."""
    symbols = "B01M9" + next(one for one in SYMBOLS if check_character("B01M9" + one) in SYMBOLS)
    return symbols + check_character(symbols)


def never_hung() -> str:
    """A whole code that no tag of this floor carries."""
    code = mint(Kind.BODY, Random(1043).randrange)
    assert not Tag.objects.filter(code=code).exists()
    return code


def one_symbol_wrong(code: str) -> str:
    """The code as read off a scratched tag."""
    return code[:3] + SYMBOLS[(SYMBOLS.index(code[3]) + 1) % len(SYMBOLS)] + code[4:]


@pytest.mark.parametrize(
    "written",
    [
        str,
        str.lower,
        pretty,
        lambda code: f"  {code[:2]} {code[2:5]} {code[5:]} ",
        lambda code: code.replace("0", "O").replace("1", "I"),
        lambda code: code.replace("0", "o").replace("1", "l"),
        lambda code: f"http://testserver/{code}",
        lambda code: f"HTTP://LOCALHOST:8000/{code}",
    ],
    ids=["bare", "small", "hyphen", "spaces", "O and I", "o and l", "address", "address of tags"],
)
def test_a_body_is_found_by_its_code_however_it_is_written(
    phone: Client, written: Callable[[str], str]
) -> None:
    code = with_look_alikes()
    give_tag("Q-1043", code)
    answer = phone.post("/scan/", {"code": written(code)})
    assert (answer.status_code, answer["Location"]) == (302, f"/{code}")


def test_a_hand_scanner_that_gets_a_page_finds_the_body_too(phone: Client) -> None:
    code = tag("Q-1043")
    assert phone.get("/scan/", {"code": code})["Location"] == f"/{code}"


def test_a_phones_own_camera_lands_on_the_page_of_the_instrument(phone: Client) -> None:
    assert "1043" in seen(phone.get(f"/{tag('Q-1043')}")).of_class("serial")[0]


def test_the_address_of_a_neck_tag_leads_on_to_the_page_of_its_body(phone: Client) -> None:
    answer = phone.get(f"/{tag('Q-1043', 'neck')}")
    assert answer["Location"] == f"/{tag('Q-1043')}"


def test_a_neck_tag_leads_to_the_page_of_its_body(phone: Client) -> None:
    answer = phone.post("/scan/", {"code": tag("Q-1043", "neck")})
    assert answer["Location"] == f"/{tag('Q-1043')}"


def test_a_tray_label_leads_to_the_page_of_its_body(phone: Client) -> None:
    answer = phone.post("/scan/", {"code": now("Q-1043").tray_code})
    assert answer["Location"] == f"/{tag('Q-1043')}"


# --- no instrument, and why not ---


def void() -> str:
    code = tag("Q-1043")
    assert door.record(act("P-01", reason="lost"), door.TagReplaced(code)).done
    return code


def neck_in_store() -> str:
    return Tag.objects.get(neck__serial="K-2103").code


def badge_card() -> str:
    return Badge.objects.get(code="P-11").card or ""


# What was scanned, with words of the sentence and of the next step.
TOLD = {
    "unknown": (never_hung, "no tag here carries it", "Read the serial on the neck block"),
    "void": (void, "hung on Q-1043 and is void since 2031-03-03", "scan the tag in use"),
    "foreign": (
        lambda: "https://elsewhere.example/B0000000",
        "is an address outside this workshop",
        "Scan the square on the tag",
    ),
    "damaged": (
        lambda: one_symbol_wrong(tag("Q-1043")),
        "a symbol is misread or two are swapped",
        "the lead prints a new one",
    ),
    "neck in store": (
        neck_in_store,
        "K-2103 waits in store: no instrument is released with it yet",
        "Ask the lead to release it",
    ),
    "badge card": (badge_card, "is a badge card, not a tag", "Scan the tag on the body"),
}


@pytest.mark.parametrize("case", TOLD)
def test_a_code_that_leads_nowhere_is_told_with_its_reason_and_the_next_step(
    phone: Client, case: str
) -> None:
    code, reason, step = TOLD[case]
    [told] = seen(phone.post("/scan/", {"code": code()})).of_class("finding-stop")
    assert told.startswith("Stop ")
    assert reason in told
    assert step in told


def test_no_two_reasons_are_told_alike(phone: Client) -> None:
    screens = [seen(phone.post("/scan/", {"code": code()})) for code, _, _ in TOLD.values()]
    told = {one.of_class("finding-stop")[0] for one in screens}
    steps = {one.of_class("then")[0] for one in screens}
    assert len(told) == len(steps) == len(TOLD)


@pytest.mark.parametrize("case", ["unknown", "void", "damaged", "neck in store"])
def test_the_address_of_a_tag_that_leads_nowhere_tells_the_same(phone: Client, case: str) -> None:
    code = TOLD[case][0]()
    answer = phone.get(f"/{code}")
    assert answer.status_code == 404
    asked = seen(phone.post("/scan/", {"code": code})).of_class("finding-stop")
    assert seen(answer).of_class("finding-stop") == asked


def test_the_address_of_a_badge_card_leads_to_the_scan_screen(phone: Client) -> None:
    """Somebody who signed in by the phone's own camera arrives here with their card's address."""
    assert phone.get(f"/{badge_card()}")["Location"] == "/scan/"


def test_a_code_that_leads_nowhere_leaves_the_scan_screen_ready_for_the_next(
    phone: Client,
) -> None:
    answer = seen(phone.post("/scan/", {"code": never_hung()}))
    assert answer.one(".//input[@name='code']").get("required") is not None


def test_an_empty_scan_says_that_nothing_was_read(phone: Client) -> None:
    [told] = seen(phone.post("/scan/", {"code": " "})).of_class("finding-stop")
    assert "Nothing was read" in told


def test_words_that_were_scanned_are_shown_as_words(phone: Client) -> None:
    answer = phone.post("/scan/", {"code": "<b>hello</b>"})
    assert "<b>hello</b>" not in answer.content.decode()


# --- what the phone remembers ---


def test_the_last_three_instruments_seen_stand_under_the_scanner_newest_first(
    phone: Client,
) -> None:
    serials = ["Q-1043", "Q-1044", "Q-1049", "Q-1050", "Q-1044"]
    for serial in serials:
        phone.get(f"/{tag(serial)}")
    links = seen(phone.get("/scan/")).links
    assert [one for one in links if one.startswith("Q-")] == ["Q-1044", "Q-1050", "Q-1049"]
    assert links["Q-1044"] == f"/{tag('Q-1044')}"


def test_a_phone_starts_at_the_station_of_its_badge() -> None:
    assert "Frets" in seen(signed_in("P-12").get("/scan/")).links


def test_a_tap_moves_the_phone_to_another_station(phone: Client) -> None:
    assert phone.post("/station/", {"station": "J"})["Location"] == "/scan/"
    assert "Joint" in seen(phone.get("/scan/")).links


def test_a_station_that_does_not_exist_leaves_the_phone_where_it_is(phone: Client) -> None:
    phone.post("/station/", {"station": "?"})
    assert "Neck bench" in seen(phone.get("/scan/")).links


def test_nobody_scans_before_signing_in() -> None:
    answer = Client().post("/scan/", {"code": tag("Q-1043"), "key": key()})
    assert answer.status_code == 401
