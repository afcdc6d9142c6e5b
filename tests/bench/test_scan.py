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
from tests.bench.screens import Screen, key, seen, signed_in, tag
from tests.floor.morning import act, now, ready_for
from tests.floor.printed import paper

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


# --- a printed paper ---


def scanned_paper(phone: Client, serial: str, text: str = "") -> Screen:
    """Print a traveller, or take the code given, scan it and go where it leads."""
    answer = phone.post("/scan/", {"code": text or paper(serial)})
    return seen(phone.get(answer["Location"]))


def test_a_traveller_leads_to_the_page_of_its_body_and_takes_its_code_along(
    phone: Client,
) -> None:
    code = paper("Q-1043")
    for written in (code, pretty(code), f"http://testserver/{code}"):
        answer = phone.post("/scan/", {"code": written})
        assert answer["Location"] == f"/{tag('Q-1043')}?paper={code}"
    assert phone.get(f"/{code}")["Location"] == f"/{tag('Q-1043')}?paper={code}"


def test_the_page_says_on_top_that_what_the_traveller_says_still_stands(phone: Client) -> None:
    page = scanned_paper(phone, "Q-1043")
    assert page.of_class("finding")[0] == (
        "Note This traveller is copy 1, printed 2031-03-03 09:30, and what it says still stands."
    )
    assert "Print it again" not in page.links


def neck_parts(serial: str) -> None:
    parted = door.PairBroken(now(serial).id, "store")
    assert door.record(act("P-01", "", reason="Heel split"), parted).done


def test_a_traveller_that_is_out_of_date_says_what_changed(phone: Client) -> None:
    code = paper("Q-1043")
    neck_parts("Q-1043")
    page = scanned_paper(phone, "Q-1043", code)
    assert page.of_class("finding")[0] == (
        "Check This traveller is copy 1, printed 2031-03-03 09:30. Since then: Neck none, on paper "
        "K-2081. Go by this screen. Have it printed again."
    )
    assert "Print it again" not in page.links, "an operator prints nothing"


def test_who_may_print_is_led_to_print_it_again() -> None:
    lead, code = signed_in("P-01"), paper("Q-1043")
    neck_parts("Q-1043")
    page = scanned_paper(lead, "Q-1043", code)
    assert page.links["Print it again"] == "/paper/?form=traveller&serial=Q-1043"


def test_an_older_copy_sends_to_the_newer_one_and_is_not_printed_again() -> None:
    lead, code = signed_in("P-01"), paper("Q-1043")
    paper("Q-1043")
    page = scanned_paper(lead, "Q-1043", code)
    assert "Copy 2 was printed" in page.of_class("finding-warn")[0]
    assert "Print it again" not in page.links


def test_a_paper_in_the_address_that_is_of_no_instrument_or_of_another_is_passed_over(
    phone: Client,
) -> None:
    other = paper("Q-1050")
    for code in (other, "P000000", "P'--"):
        assert "traveller" not in seen(phone.get(f"/{tag('Q-1043')}", {"paper": code})).words


def test_a_traveller_of_a_scrapped_instrument_is_told_like_its_tag(phone: Client) -> None:
    code = paper("Q-1050")
    assert door.record(act("P-01", "", reason="Split"), door.Scrapped(now("Q-1050").id)).done
    [told] = seen(phone.post("/scan/", {"code": code})).of_class("finding-stop")
    assert "This is the traveller of Q-1050, which was scrapped 2031-03-03." in told


# A paper can lie anywhere: it proves no body. Common practice, no source.


NOT_THE_BODY = "This is the traveller of Q-1061. Scan the tag on the body."


def linked(phone: Client, way: str) -> Screen:
    """A page of the shop, come to by a link."""
    return seen(phone.get(way, headers={"Referer": "http://testserver/scan/"}))


def test_behind_a_traveller_no_neck_is_scanned_before_the_body(phone: Client) -> None:
    joint, way = signed_in("P-16"), f"/{tag('Q-1061')}"
    page = scanned_paper(joint, "Q-1061")
    assert f"Stop {NOT_THE_BODY}" in page.of_class("finding-stop")
    assert page.links["Scan the tag on the body"] == "/scan/"
    assert "Scan the neck" not in page.links
    assert f"Stop {NOT_THE_BODY}" in linked(joint, f"{way}/neck/").of_class("finding-stop")
    sent = {"code": tag("Q-1061", "neck"), "key": key()}
    assert f"Stop {NOT_THE_BODY}" in seen(joint.post(f"{way}/neck/", sent)).words
    assert "Scan the neck" not in linked(joint, way).links, "it is remembered behind a link"


@pytest.mark.parametrize("written", [str, lambda code: f"http://testserver/{code}"])
def test_once_the_body_was_scanned_too_its_neck_is_as_ever(written: Callable[[str], str]) -> None:
    joint, body = signed_in("P-16"), tag("Q-1061")
    scanned_paper(joint, "Q-1061")
    way = joint.post("/scan/", {"code": written(body)})["Location"]
    page = linked(joint, way)
    assert "Scan the neck" in page.links
    sent = {"code": tag("Q-1061", "neck"), "key": key()}
    assert joint.post(f"{way}/neck/", sent)["Location"].startswith(f"{way}?neck=")


def test_a_body_read_by_the_phones_own_camera_is_scanned_as_well(phone: Client) -> None:
    joint = signed_in("P-16")
    scanned_paper(joint, "Q-1061")
    assert "Scan the neck" in seen(joint.get(f"/{tag('Q-1061')}")).links


@pytest.mark.parametrize("part", ["neck", "tray"])
def test_a_neck_or_a_tray_scanned_after_the_traveller_is_no_body_either(part: str) -> None:
    joint = signed_in("P-16")
    scanned_paper(joint, "Q-1061")
    code = now("Q-1061").tray_code if part == "tray" else tag("Q-1061", "neck")
    way = joint.post("/scan/", {"code": code})["Location"]
    assert "Scan the tag on the body" in linked(joint, way).links


def test_behind_a_traveller_no_tray_is_scanned_before_the_body() -> None:
    bench, way = signed_in("P-11"), f"/{tag('Q-1043')}"
    assert "Scan the tray" in linked(bench, way).links
    page = scanned_paper(bench, "Q-1043")
    assert "Scan the tray" not in page.links
    assert "Scan the tag on the body" in page.links
    sent = {"code": now("Q-1043").tray_code, "key": key()}
    told = seen(bench.post(f"{way}/tray/", sent)).words
    assert "This is the traveller of Q-1043. Scan the tag on the body." in told
    assert now("Q-1043").checked_version is None


def test_behind_a_traveller_ordinary_work_is_recorded_as_ever() -> None:
    ready_for("Q-1044", "N10")
    bench = signed_in("P-11")
    page = scanned_paper(bench, "Q-1044")
    assert "Record N10" in page.buttons


def test_a_traveller_scanned_for_a_neck_or_a_tray_says_what_to_scan(phone: Client) -> None:
    code, body, bench = paper("Q-1061"), tag("Q-1043"), signed_in("P-11")
    told = seen(bench.post(f"/{body}/tray/", {"code": code, "key": key()})).words
    assert "This is the traveller of Q-1061. Scan the label at the tray's end." in told
    joint = signed_in("P-16")
    told = seen(joint.post(f"/{tag('Q-1061')}/neck/", {"code": code, "key": key()})).words
    assert "This is the traveller of Q-1061. Scan the tag on the neck." in told


def test_four_travellers_are_remembered_as_three(phone: Client) -> None:
    for serial in ("Q-1061", "Q-1043", "Q-1044", "Q-1049"):
        scanned_paper(phone, serial)
    assert list(phone.session["by_paper"]) == [tag(one) for one in ("Q-1043", "Q-1044", "Q-1049")]
