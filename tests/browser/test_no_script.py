"""The shop on a phone whose browser runs no script."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser import books
from tests.browser.conftest import hand_over
from tests.browser.shop import Shop


@pytest.fixture
def plain(context_of: Callable[..., BrowserContext]) -> Page:
    """A phone without script, signed in as P-11 of the neck bench by typing the PIN."""
    page = context_of(java_script_enabled=False).new_page()
    page.goto("/sign-in/")
    page.locator("button[name=badge][value=P-11]").click()
    page.get_by_label("PIN", exact=True).fill("1111")
    page.get_by_role("button", name="Enter", exact=True).click()
    expect(page.get_by_role("heading", name="Scan the tag on the body")).to_be_visible()
    return page


def type_code(page: Page, code: str) -> None:
    page.get_by_label("Code printed beside the square").fill(code)
    page.get_by_role("button", name="Look up").click()


def test_a_step_is_recorded_by_typed_codes_alone(plain: Page, shop: Shop) -> None:
    body = books.body_tag(shop, "Q-1043")
    before = books.journal(shop, "Q-1043")
    type_code(plain, f"{body[:4]}-{body[4:]}".lower())
    plain.wait_for_url(f"{shop.address}/{body}")
    plain.get_by_role("link", name="Scan the tray").click()
    type_code(plain, books.tray_label(shop, "Q-1043"))
    expect(plain.locator(".finding-clear")).to_contain_text("Fits")
    plain.get_by_role("link", name="Measure").click()
    # The places are counted only once all of the page is there.
    expect(plain.get_by_role("button", name="Record these values")).to_be_visible()
    for place in plain.locator("main input[type=text]").all():
        place.fill("8,73")
    plain.get_by_role("button", name="Record these values").click()
    plain.get_by_role("button", name="Record N40").click()
    expect(plain.get_by_role("heading", level=1)).to_contain_text("N50")
    expect(plain.get_by_role("status")).to_contain_text("Recorded.")
    assert books.journal(shop, "Q-1043")[len(before) :] == [
        ("tray", "recorded", "P-11", "N"),
        ("readings", "recorded", "P-11", "N"),
        ("step", "recorded", "P-11", "N"),
    ]
    assert books.steps(shop, "Q-1043")[-1] == "N40"


def test_a_typed_code_of_another_tray_is_stopped(plain: Page, shop: Shop) -> None:
    plain.goto(f"/{books.body_tag(shop, 'Q-1061')}/tray/")
    type_code(plain, books.tray_label(shop, "Q-1055"))
    stopped = plain.get_by_role("alert")
    expect(stopped).to_contain_text("is for Q-1055. The body in front of you is Q-1061.")
    assert books.journal(shop, "Q-1061")[-1] == ("tray", "refused", "P-11", "N")


def test_the_head_is_turned_over(plain: Page, shop: Shop) -> None:
    plain.goto(f"/{books.body_tag(shop, 'Q-1043')}")
    expect(plain.locator(".view-front")).to_be_visible()
    plain.locator("label", has_text="BACK").click()
    expect(plain.locator(".view-back")).to_be_visible()
    expect(plain.locator(".view-front")).to_be_hidden()


def signed_in(context_of: Callable[..., BrowserContext], shop: Shop, badge: str) -> Page:
    """Another phone without script."""
    page = context_of(java_script_enabled=False).new_page()
    hand_over(page, shop, badge, badge.removeprefix("P-") * 2)
    return page


def test_a_step_is_begun_joined_handed_over_and_recorded(
    context_of: Callable[..., BrowserContext], shop: Shop
) -> None:
    first, second = (signed_in(context_of, shop, badge) for badge in ("P-16", "P-17"))
    body = books.body_tag(shop, "Q-1050")
    before = books.journal(shop, "Q-1050")
    first.goto(f"/{body}")
    first.get_by_role("button", name="Start J20").click()
    expect(first.get_by_role("status")).to_contain_text("J20 is begun.")
    second.goto(f"/{body}")
    second.get_by_role("button", name="Join as helper").click()
    expect(second.get_by_role("status")).to_contain_text("You help with J20.")
    first.get_by_role("link", name="Hand over").click()
    first.get_by_label("Half done").check()
    first.get_by_role("button", name="P-17").click()
    expect(first.get_by_role("status")).to_contain_text("P-17 has J20 in hand now.")
    second.goto(f"/{body}")
    second.get_by_role("button", name="Record J20").click()
    expect(second.get_by_role("status")).to_contain_text("Recorded.")
    assert books.journal(shop, "Q-1050")[len(before) :] == [
        ("start", "recorded", "P-16", "J"),
        ("join", "recorded", "P-17", "J"),
        ("handed", "recorded", "P-16", "J"),
        ("step", "recorded", "P-17", "J"),
    ]


def test_what_was_done_before_is_recorded_late(
    context_of: Callable[..., BrowserContext], shop: Shop
) -> None:
    phone = signed_in(context_of, shop, "P-11")
    phone.goto(f"/{books.body_tag(shop, 'Q-1055')}")
    phone.get_by_role("link", name="Done earlier").click()
    phone.get_by_label("15\u202fmin ago").check()
    phone.get_by_label("I forgot to scan").check()
    phone.get_by_role("button", name="Done: record N30 late").click()
    expect(phone.get_by_role("status")).to_contain_text("Recorded late.")
    assert books.steps(shop, "Q-1055")[-1] == "N30"


def test_tags_are_scanned_laid_on_a_sheet_and_printed(
    context_of: Callable[..., BrowserContext], shop: Shop
) -> None:
    phone = signed_in(context_of, shop, "P-41")
    phone.goto("/paper/?form=neck_tag")
    phone.get_by_label("Q-1058").check()
    phone.get_by_role("button", name="Scanned one after another").click()
    type_code(phone, books.body_tag(shop, "Q-1038"))
    expect(phone.get_by_role("status")).to_contain_text("Q-1038 is on the list, 2 in all.")
    phone.get_by_role("link", name="Go on: neck tag").click()
    phone.get_by_text("Printer and paper").click()
    phone.get_by_label("16 on a sheet of A4").check()
    phone.get_by_role("button", name="Work it out again").click()
    phone.get_by_text("Printer and paper").click()
    phone.get_by_text("16", exact=True).click()
    phone.get_by_role("button", name="Work it out again").click()
    phone.get_by_role("button", name="Print", exact=True).click()
    # One of both is a pair by now, and its neck has no tag of its own any more.
    expect(phone.get_by_role("status")).to_contain_text("1 of 2 printed, on 2 pages.")
    expect(phone.get_by_text("its tag has retired")).to_be_visible()
    assert books.journal(shop, "Q-1058")[-1] == ("print", "recorded", "P-41", "K")
